//! The sound device: which there are, what one offers, one stream on it.
//!
//! Kinds of error decide what happens next; their words are for people. A device's errors may
//! come by the thousand a second, so they are counted and never queued.

use std::sync::Arc;
use std::sync::mpsc::{Sender, SyncSender};
use std::time::Instant;

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, ErrorKind, FromSample, Sample, SampleFormat, SizedSample, StreamConfig};

use super::back_in_step::{Clock, follow};
use super::callback_state::Pulse;
use super::deck::Word;
use super::device_choice::{Choice, Offer, SampleType, choose};
use super::no_allocation::guarded;
use super::{Device, Play, nearest_names};
use crate::error::{Error, Result};

/// An open stream. The engine comes back over the channel when it is dropped.
pub struct Stream {
    /// Kept for its end: dropping it stops the sound.
    _stream: cpal::Stream,
    /// What it plays.
    pub choice: Choice,
    /// The name of its device.
    pub name: String,
    /// Frames a call, as granted.
    pub buffer_frames: u32,
}

/// The devices that can play, the usual one first.
///
/// # Errors
/// When the system's sound cannot be asked.
pub fn devices() -> Result<Vec<Device>> {
    let host = cpal::default_host();
    let usual = host
        .default_output_device()
        .and_then(|device| device.id().ok());
    let found = host.output_devices().map_err(|error| no_sound(&error))?;
    let mut devices: Vec<Device> = found
        .filter_map(|device| {
            let id = device.id().ok()?;
            Some(Device {
                is_usual: usual.as_ref() == Some(&id),
                name: short(&id.to_string()),
                about: device.to_string(),
            })
        })
        .collect();
    if let (Some(id), false) = (&usual, devices.iter().any(|device| device.is_usual)) {
        devices.push(Device {
            name: short(&id.to_string()),
            about: "the system's own choice".into(),
            is_usual: true,
        });
    }
    devices.sort_by_key(|device| !device.is_usual);
    Ok(devices)
}

/// Without the name of the system's sound in front, which is the same for all.
fn short(id: &str) -> String {
    id.split_once(':').map_or(id, |(_, name)| name).to_string()
}

fn find(name: Option<&str>) -> Result<cpal::Device> {
    let host = cpal::default_host();
    let Some(name) = name else {
        return host.default_output_device().ok_or_else(none);
    };
    let matches = |device: &cpal::Device| {
        let id = device.id().map(|id| id.to_string()).unwrap_or_default();
        id == name || short(&id) == name || device.to_string() == name
    };
    if let Some(usual) = host
        .default_output_device()
        .filter(|device| matches(device))
    {
        return Ok(usual);
    }
    let mut found = host.output_devices().map_err(|error| no_sound(&error))?;
    found.find(matches).ok_or_else(|| {
        let names: Vec<String> = devices()
            .map(|devices| devices.into_iter().map(|device| device.name).collect())
            .unwrap_or_default();
        nearest_names(name, &names)
    })
}

/// What has to be there for sound.
const WHAT_IS_NEEDED: &str = if cfg!(target_os = "linux") {
    "a speaker that is plugged in, and a sound server that runs and that ALSA knows (on Debian the \
     packages pulseaudio and libasound2-plugins, or pipewire-alsa); or --silent, the screen without sound"
} else {
    "a speaker that is plugged in and switched on; or --silent, the screen without sound"
};

fn none() -> Error {
    Error::failed("no sound device was found")
        .accepted(WHAT_IS_NEEDED)
        .example("cuelane list devices")
}

fn no_sound(error: &cpal::Error) -> Error {
    Error::failed(format!("the system's sound does not answer: {error}"))
        .accepted(WHAT_IS_NEEDED)
        .example("cuelane list devices")
}

/// What the default or the named device would be opened with.
///
/// # Errors
/// When there is no such device, or it offers nothing that can be played.
pub fn look(name: Option<&str>, rate_hz: Option<u32>) -> Result<Choice> {
    let device = find(name)?;
    choice_of(&device, rate_hz)
}

fn choice_of(device: &cpal::Device, rate_hz: Option<u32>) -> Result<Choice> {
    let configs = device
        .supported_output_configs()
        .map_err(|error| cannot(device, &error))?;
    let offers: Vec<Offer> = configs
        .filter_map(|config| {
            Some(Offer {
                channels: config.channels(),
                rates_hz: config.min_sample_rate()..=config.max_sample_rate(),
                form: match config.sample_format() {
                    SampleFormat::F32 => SampleType::Float,
                    SampleFormat::I16 => SampleType::Sixteen,
                    SampleFormat::I32 => SampleType::ThirtyTwo,
                    _ => return None,
                },
            })
        })
        .collect();
    choose(&offers, rate_hz).ok_or_else(|| {
        Error::failed("offers no form of sound that can be played")
            .at(device)
            .accepted("32-bit float, 16 or 32 bits, 8000 to 192000 Hz, one channel or more")
            .example("cuelane list devices")
    })
}

fn cannot(device: &cpal::Device, error: &cpal::Error) -> Error {
    let refusal = Error::failed(format!("cannot be opened: {error}")).at(device);
    match error.kind() {
        ErrorKind::DeviceBusy => {
            refusal.accepted("a device that no other program holds, or --silent")
        }
        _ => refusal.accepted(WHAT_IS_NEEDED),
    }
    .example("cuelane list devices")
}

/// The engine in the callback; it goes home when the stream is dropped.
struct Held {
    engine: Option<Box<dyn Play>>,
    home: Sender<Box<dyn Play>>,
}

impl Drop for Held {
    fn drop(&mut self) {
        if let Some(engine) = self.engine.take() {
            // Nobody waits for it only when the program ends.
            let _ = self.home.send(engine);
        }
    }
}

/// What a stream is opened with.
pub struct Opening<'a> {
    /// The device, or the system's own choice.
    pub name: Option<&'a str>,
    /// Frames a call, as wished.
    pub buffer_frames: u32,
    /// Where the engine goes afterwards.
    pub home: Sender<Box<dyn Play>>,
    /// What the callback tells.
    pub pulse: Arc<Pulse>,
    /// Whoever is woken by a failure.
    pub words: SyncSender<Word>,
    /// The session's clock, where time went on without a device.
    pub due: Option<Clock>,
}

/// Opens a stream that plays the engine.
///
/// # Errors
/// When there is no such device, or it does not open. The engine comes home then too.
pub fn open(engine: Box<dyn Play>, opening: Opening) -> Result<Stream> {
    // Whatever happens from here on, the engine is sent home.
    let held = Held {
        engine: Some(engine),
        home: opening.home.clone(),
    };
    let device = find(opening.name)?;
    let rate_hz = held.engine.as_ref().map(|engine| engine.sample_rate_hz());
    let choice = choice_of(&device, rate_hz)?;
    if rate_hz != Some(choice.rate_hz) {
        return Err(Error::failed(format!(
            "plays at {} Hz, and this session was begun at {} Hz",
            choice.rate_hz,
            rate_hz.unwrap_or_default()
        ))
        .at(&device));
    }
    let config = StreamConfig {
        channels: choice.channels,
        sample_rate: choice.rate_hz,
        buffer_size: BufferSize::Fixed(opening.buffer_frames),
    };
    let stream = match choice.form {
        SampleType::Float => build::<f32>(&device, config, held, &opening),
        SampleType::Sixteen => build::<i16>(&device, config, held, &opening),
        SampleType::ThirtyTwo => build::<i32>(&device, config, held, &opening),
    }
    .map_err(|error| cannot(&device, &error))?;
    stream.play().map_err(|error| cannot(&device, &error))?;
    Ok(Stream {
        buffer_frames: stream.buffer_size().unwrap_or(opening.buffer_frames),
        _stream: stream,
        choice,
        name: device.to_string(),
    })
}

/// Frames that are made at a time, whatever the device asks for.
const BLOCK: usize = 256;

fn build<T: SizedSample + FromSample<f32>>(
    device: &cpal::Device,
    config: StreamConfig,
    mut held: Held,
    opening: &Opening,
) -> Result<cpal::Stream, cpal::Error> {
    let channels = usize::from(config.channels);
    let (pulse, failing) = (Arc::clone(&opening.pulse), Arc::clone(&opening.pulse));
    let words = opening.words.clone();
    let mut due = opening.due;
    let mut goes_on = false;
    // The age of a stream counts from its first call: a busy server may take its time to open one.
    let mut first_call: Option<Instant> = None;
    let rate_hz = f64::from(config.sample_rate);
    device.build_output_stream::<T, _, _>(
        config,
        move |data: &mut [T], info| {
            guarded(|| {
                let Some(engine) = &mut held.engine else {
                    return;
                };
                let now = Instant::now();
                let age = now - *first_call.get_or_insert(now);
                let stamp = info.timestamp();
                let latency = stamp.playback.duration_since(stamp.callback);
                let followed = due.and_then(|clock| {
                    follow(
                        engine.as_mut(),
                        clock.frame_at(now + latency, rate_hz),
                        age,
                        rate_hz,
                    )
                });
                if followed.is_none() {
                    due = None;
                }
                let (heard, silent) = followed.unwrap_or_else(|| (engine.position(), 0));
                pulse.beat(heard, now, latency, rate_hz, goes_on);
                let first = engine.position();
                let silent = usize::try_from(silent).unwrap_or(usize::MAX);
                let silent = data.len().min(silent.saturating_mul(channels));
                let (silence, data) = data.split_at_mut(silent);
                silence.fill(T::EQUILIBRIUM);
                let mut block = [[0.0_f32; 2]; BLOCK];
                for part in data.chunks_mut(BLOCK * channels) {
                    let frames = &mut block[..part.len() / channels];
                    engine.fill(frames);
                    write(frames, part, channels);
                }
                let given = (data.len() / channels) as u64;
                goes_on = due.is_none() && engine.position() == first + given;
            });
        },
        move |error| match error.kind() {
            ErrorKind::Xrun => failing.underrun(),
            ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
            // Errors may come by the thousand: the first one wakes the keeper, where its queue is
            // full it is awake.
            _ => {
                if failing.fail() {
                    let _ = words.try_send(Word::Look);
                }
            }
        },
        None,
    )
}

/// Puts stereo frames into the channels of a device: one folds, more than two get the first two.
fn write<T: Sample + FromSample<f32>>(frames: &[[f32; 2]], out: &mut [T], channels: usize) {
    for ([left, right], out) in frames.iter().zip(out.chunks_mut(channels)) {
        match out {
            [one] => *one = T::from_sample((left + right) / 2.0),
            [first, second, rest @ ..] => {
                *first = T::from_sample(*left);
                *second = T::from_sample(*right);
                rest.fill(T::EQUILIBRIUM);
            }
            [] => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_channel_folds_and_a_third_is_silent() {
        let frames = [[0.5, -0.25], [1.0, 1.0]];
        let mut mono = [0.0_f32; 2];
        write(&frames, &mut mono, 1);
        assert_eq!(mono, [0.125, 1.0]);
        let mut four = [7_i16; 8];
        write(&frames, &mut four, 4);
        assert_eq!(four, [16384, -8192, 0, 0, 32767, 32767, 0, 0]);
    }
}
