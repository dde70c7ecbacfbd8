//! WAV in: whatever a person may hand to `check`, as stereo frames.

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

use hound::{SampleFormat, WavReader};

use crate::error::{Error, Result};

/// An open track: PCM of 8, 16, 24 or 32 bits or 32-bit float, one or two channels.
pub struct TrackReader<R> {
    wav: WavReader<R>,
    name: String,
    /// Frames not yet read.
    left: u64,
}

/// Audio rates that a track may have, Hz.
const SAMPLE_RATES_HZ: std::ops::RangeInclusive<u32> = 8_000..=192_000;

impl TrackReader<BufReader<File>> {
    /// Opens a file.
    ///
    /// # Errors
    /// When it cannot be read, or is no WAV file of an accepted form, or is truncated.
    pub fn open(path: &Path) -> Result<Self> {
        let name = path.display().to_string();
        let unreadable = |error| Error::io("cannot be read", &name, &error);
        let file = File::open(path).map_err(unreadable)?;
        let about = file.metadata().map_err(unreadable)?;
        if about.is_dir() {
            return Err(Error::failed("this is a folder, not a track").at(&name));
        }
        let reader = Self::new(BufReader::with_capacity(1 << 16, file), &name)?;
        let promised = reader.left * reader.frame_bytes();
        if promised > about.len() {
            return Err(Error::failed(format!(
                "truncated: its header promises {promised} bytes of sound, the whole file has {}",
                about.len()
            ))
            .at(&name)
            .accepted("a whole copy: copy or export the track again"));
        }
        Ok(reader)
    }
}

impl<R: Read> TrackReader<R> {
    /// Reads the header of a track.
    ///
    /// # Errors
    /// When it is no WAV file of an accepted form.
    pub fn new(from: R, name: &str) -> Result<Self> {
        let wav = WavReader::new(from).map_err(|error| corrupt(name, &error))?;
        let spec = wav.spec();
        let float = spec.sample_format == SampleFormat::Float;
        let known_bits = match float {
            true => spec.bits_per_sample == 32,
            false => [8, 16, 24, 32].contains(&spec.bits_per_sample),
        };
        if !known_bits
            || !(1..=2).contains(&spec.channels)
            || !SAMPLE_RATES_HZ.contains(&spec.sample_rate)
        {
            return Err(Error::failed(format!(
                "found {} channels, {} bits{}, {} Hz",
                spec.channels,
                spec.bits_per_sample,
                if float { " float" } else { "" },
                spec.sample_rate
            ))
            .at(name)
            .accepted(
                "1 or 2 channels of 8, 16, 24 or 32 bits or 32-bit float, 8000 to 192000 Hz",
            ));
        }
        Ok(Self {
            left: wav.duration().into(),
            name: name.to_string(),
            wav,
        })
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.wav.spec().sample_rate
    }

    /// Whether the track has one channel.
    pub fn is_mono(&self) -> bool {
        self.wav.spec().channels == 1
    }

    /// Frames in the whole track, as its header says.
    pub fn frames(&self) -> u64 {
        self.wav.duration().into()
    }

    /// How far a sample may be from what was mixed by rounding and dither alone: two and a half
    /// steps of this file, or a step of the 16-bit file it was made from.
    pub fn tolerance(&self) -> f32 {
        let spec = self.wav.spec();
        let step = match spec.sample_format {
            SampleFormat::Float => 0.0,
            SampleFormat::Int => 0.5_f32.powi(i32::from(spec.bits_per_sample) - 1),
        };
        (2.5 * step).max(1.0 / 32_768.0)
    }

    fn frame_bytes(&self) -> u64 {
        let spec = self.wav.spec();
        u64::from(spec.channels) * u64::from(spec.bits_per_sample / 8)
    }

    /// Reads the next frames into `out`, silence where the track has ended. A single channel
    /// comes in both.
    ///
    /// # Errors
    /// When the sound ends before its header says, or holds what is no number.
    pub fn read(&mut self, out: &mut [[f32; 2]]) -> Result<()> {
        let frames = self.left.min(out.len() as u64) as usize;
        let (sound, silence) = out.split_at_mut(frames);
        silence.fill([0.0; 2]);
        self.left -= frames as u64;
        let spec = self.wav.spec();
        let stereo = spec.channels == 2;
        let name = &self.name;
        let scale = 0.5_f32.powi(i32::from(spec.bits_per_sample) - 1);
        match (spec.sample_format, spec.bits_per_sample) {
            (SampleFormat::Float, _) => {
                let samples = self.wav.samples::<f32>();
                gather(sound, stereo, samples, name, |sample| sample)?;
                let lost = sound.iter().flatten().any(|sample| !sample.is_finite());
                if lost {
                    return Err(Error::failed("corrupt: a sample is no number").at(name));
                }
                Ok(())
            }
            (SampleFormat::Int, 8 | 16) => {
                let samples = self.wav.samples::<i16>();
                gather(sound, stereo, samples, name, |sample| {
                    f32::from(sample) * scale
                })
            }
            (SampleFormat::Int, _) => {
                let samples = self.wav.samples::<i32>();
                gather(sound, stereo, samples, name, |sample| sample as f32 * scale)
            }
        }
    }
}

fn gather<S>(
    out: &mut [[f32; 2]],
    stereo: bool,
    mut samples: impl Iterator<Item = hound::Result<S>>,
    name: &str,
    value: impl Fn(S) -> f32,
) -> Result<()> {
    let mut next = || match samples.next() {
        Some(Ok(sample)) => Ok(value(sample)),
        Some(Err(error)) => Err(corrupt(name, &error)),
        None => Err(Error::failed("truncated: the sound ends before its header says").at(name)),
    };
    for frame in out {
        let left = next()?;
        *frame = [left, if stereo { next()? } else { left }];
    }
    Ok(())
}

fn corrupt(name: &str, error: &hound::Error) -> Error {
    let why = match error {
        hound::Error::IoError(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => {
            "truncated: the file ends inside its header or its sound".to_string()
        }
        // The library reports a short read as a plain error of this text.
        hound::Error::IoError(error) if error.to_string().contains("enough bytes") => {
            "truncated: the file ends inside its header or its sound".to_string()
        }
        hound::Error::IoError(error) => format!("cannot be read: {error}"),
        other => format!("corrupt, or no WAV file: {other}"),
    };
    Error::failed(why)
        .at(name)
        .accepted("a whole copy of an exported WAV track: copy or export it again")
}
