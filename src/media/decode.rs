//! A person's sound files, decoded: WAV, MP3, FLAC, OGG Vorbis, of any rate and channels; and
//! the sound of films: MP4, MOV, WebM, Matroska.
//!
//! symphonia itself, and not rodio, whose decoders it is: rodio gives samples and no faults, so a
//! file that is cut, damaged or cannot be read on would sound as if it ended there, unsaid.

use std::cell::Cell;
use std::fs::File;
use std::io::{self, ErrorKind};
use std::panic::{self, AssertUnwindSafe};
use std::path::Path;
use std::sync::Once;

use symphonia::core::audio::SampleBuffer;
use symphonia::core::codecs::{
    CODEC_TYPE_AAC, CODEC_TYPE_ALAC, CODEC_TYPE_NULL, CodecParameters, DecoderOptions,
};
use symphonia::core::errors::Error as Fault;
use symphonia::core::formats::{FormatOptions, FormatReader, Track};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::probe::Hint;
use symphonia::core::units::TimeBase;

use super::aac::{has_more_channels, is_he_aac};
use super::read_as::{MORE_CHANNELS, ReadAs, not_decoded};
use super::sound_track::SoundTrack;
use crate::error::{Error, Result};
use crate::units::apart;

/// A sound in memory, in two channels.
#[derive(Debug, Clone, PartialEq)]
pub struct DecodedSound {
    /// Frames a second.
    pub rate_hz: u32,
    /// Left and right; a single channel is in both.
    pub frames: Vec<[f32; 2]>,
}

/// Audio rates that a sound may have, Hz.
const RATES_HZ: std::ops::RangeInclusive<u32> = 4_000..=384_000;
/// The most channels that a sound may have.
const MOST_CHANNELS: usize = 32;
/// The largest packet that is taken, in frames: a damaged header may promise any number.
const LARGEST_PACKET: u64 = 1 << 22;
/// Damaged packets in a row after which a file is given up.
const MOST_DAMAGED: u32 = 8;
const SENSELESS: &str = "corrupt: its header or its sound makes no sense";

/// Opens a file of sound. One that is neither file nor folder is refused before it is opened: a
/// pipe would be waited for, and a device may never end; nor could either be read twice.
///
/// # Errors
/// When it cannot be read, or is a pipe or a device.
pub fn open_sound(path: &Path) -> io::Result<File> {
    let about = std::fs::metadata(path)?;
    if about.is_file() || about.is_dir() {
        File::open(path)
    } else {
        Err(io::Error::new(
            ErrorKind::InvalidInput,
            "it is a pipe or a device, and no file of sound",
        ))
    }
}

/// A file that is decoded packet by packet.
pub struct Decoder {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn symphonia::core::codecs::Decoder>,
    track: u32,
    time_base: Option<TimeBase>,
    read_as: ReadAs,
    name: String,
    rate_hz: u32,
    channels: usize,
    promised: Option<u64>,
    given: u64,
    at_s: Option<f64>,
    samples: Vec<f32>,
}

impl Decoder {
    /// Reads the header of a sound; `name` is what messages call it.
    ///
    /// # Errors
    /// When it is empty, or no sound of an accepted kind.
    pub fn open(source: Box<dyn MediaSource>, name: &str) -> Result<Self> {
        Self::open_as(source, name, ReadAs::Sound, &[])
    }

    /// Reads the header of a film, or of a sound, as `read_as` says; `tracks` is what is known of a
    /// film's already.
    ///
    /// # Errors
    /// When it is empty, or no sound of an accepted kind.
    pub fn open_as(
        source: Box<dyn MediaSource>,
        name: &str,
        read_as: ReadAs,
        tracks: &[SoundTrack],
    ) -> Result<Self> {
        guarded(|| Self::open_unguarded(source, name, read_as, tracks))
            .unwrap_or_else(|| Err(read_as.refuse(name, SENSELESS)))
    }

    fn open_unguarded(
        source: Box<dyn MediaSource>,
        name: &str,
        read_as: ReadAs,
        tracks: &[SoundTrack],
    ) -> Result<Self> {
        let refuse = |what: &str| read_as.refuse(name, what);
        if source.byte_len() == Some(0) {
            return Err(refuse("empty: a file of 0 bytes"));
        }
        let options = FormatOptions {
            enable_gapless: true,
            ..FormatOptions::default()
        };
        let stream = MediaSourceStream::new(source, Default::default());
        let probed = (read_as.probe())
            .format(&Hint::new(), stream, &options, &Default::default())
            .map_err(|fault| read_as.no_sound(name, &fault))?;
        let format = probed.format;
        let (id, params) = (format.tracks().iter())
            .map(|track| (track.id, params(track, tracks)))
            .find(|(_, params)| params.codec != CODEC_TYPE_NULL)
            .ok_or_else(|| read_as.nothing(name))?;
        let rate_hz = params.sample_rate.unwrap_or(0);
        if !RATES_HZ.contains(&rate_hz) {
            return Err(refuse(&format!("found {rate_hz} Hz")));
        }
        if params.codec == CODEC_TYPE_AAC {
            let header = params.extra_data.as_deref().unwrap_or_default();
            if is_he_aac(header) {
                return Err(not_decoded(name, "HE-AAC, not decoded here"));
            } else if has_more_channels(header) {
                return Err(not_decoded(name, MORE_CHANNELS));
            }
        }
        let decoder = symphonia::default::get_codecs()
            .make(&params, &DecoderOptions::default())
            .map_err(|fault| read_as.no_sound(name, &fault))?;
        Ok(Self {
            format,
            decoder,
            track: id,
            time_base: params.time_base,
            read_as,
            name: name.to_string(),
            rate_hz,
            channels: 0,
            promised: params.n_frames,
            given: 0,
            at_s: None,
            samples: Vec::new(),
        })
    }

    /// Frames a second.
    pub fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Frames in the whole file, where its header says so.
    pub fn frames(&self) -> Option<u64> {
        self.promised
    }

    /// How many channels there are; surely known once a packet was decoded.
    pub fn channels(&self) -> usize {
        let told = self.decoder.codec_params().channels;
        told.map_or(self.channels, |channels| channels.count())
    }

    /// The container's number of the track that is read.
    pub fn track(&self) -> u32 {
        self.track
    }

    /// When the first of the frames that [`Decoder::next`] gave last stands, s, by the container's
    /// own clock; what an encoder put before the sound counts.
    pub fn at_s(&self) -> Option<f64> {
        self.at_s
    }

    /// Forgets how much sound the header promised: the containers of films tell it in units of
    /// their own, with what an edit list takes away.
    pub fn expect_nothing(&mut self) {
        self.promised = None;
    }

    /// Adds the next frames to `out`, however many come at once; false where the file has ended.
    ///
    /// # Errors
    /// When the file is damaged, truncated, or changes its form within.
    pub fn next(&mut self, out: &mut Vec<[f32; 2]>) -> Result<bool> {
        let read = guarded(|| self.next_unguarded(out));
        read.unwrap_or_else(|| Err(self.refuse(SENSELESS)))
    }

    fn next_unguarded(&mut self, out: &mut Vec<[f32; 2]>) -> Result<bool> {
        let mut damaged = 0;
        loop {
            let packet = match self.format.next_packet() {
                Ok(packet) => packet,
                Err(Fault::IoError(error)) if error.kind() == ErrorKind::UnexpectedEof => {
                    return self.ended();
                }
                Err(fault) => return Err(self.refuse(&broken(&fault))),
            };
            if packet.track_id() != self.track {
                continue;
            }
            let decoded = match self.decoder.decode(&packet) {
                Ok(decoded) => decoded,
                // One damaged packet is passed over, as every player does.
                Err(Fault::DecodeError(_)) if damaged < MOST_DAMAGED => {
                    damaged += 1;
                    continue;
                }
                Err(Fault::IoError(error)) if error.kind() == ErrorKind::UnexpectedEof => {
                    return self.ended();
                }
                Err(fault) => return Err(self.refuse(&broken(&fault))),
            };
            let spec = *decoded.spec();
            let channels = spec.channels.count();
            if spec.rate != self.rate_hz || !(1..=MOST_CHANNELS).contains(&channels) {
                return Err(self.refuse(&format!(
                    "{channels} channels at {} Hz in the middle of it",
                    spec.rate
                )));
            }
            if decoded.capacity() as u64 > LARGEST_PACKET {
                return Err(self.refuse("corrupt: a packet of many minutes"));
            }
            let mut buffer = SampleBuffer::<f32>::new(decoded.capacity() as u64, spec);
            buffer.copy_interleaved_ref(decoded);
            self.samples.clear();
            self.samples.extend_from_slice(buffer.samples());
            let frames = self.samples.chunks_exact(channels);
            self.given += frames.len() as u64;
            self.channels = channels;
            self.at_s = self.time_base.map(|base| {
                let time = base.calc_time(packet.ts());
                time.seconds as f64 + time.frac
            });
            let finite = |sample: f32| if sample.is_finite() { sample } else { 0.0 };
            out.extend(frames.map(|frame| {
                let left = finite(frame[0]);
                [left, frame.get(1).map_or(left, |right| finite(*right))]
            }));
            if !self.samples.is_empty() {
                return Ok(true);
            }
        }
    }

    fn refuse(&self, what: &str) -> Error {
        self.read_as.refuse(&self.name, what)
    }

    /// The end of the file: what it promised must have been there, but for what an encoder adds
    /// at both ends of an MP3.
    fn ended(&self) -> Result<bool> {
        match self.promised {
            Some(promised) if self.given + 2 * 1152 < promised => Err(self.refuse(&format!(
                "truncated: its header promises {promised} frames of sound, {} are there",
                self.given
            ))),
            _ if self.given == 0 => Err(self.refuse("there is no sound in it")),
            _ => Ok(false),
        }
    }
}

/// Decodes a whole file of at most `longest_s` seconds.
///
/// # Errors
/// When it is no such file, damaged, or longer.
pub fn decode(source: Box<dyn MediaSource>, name: &str, longest_s: f64) -> Result<DecodedSound> {
    let mut decoder = Decoder::open(source, name)?;
    let most = (longest_s * f64::from(decoder.rate_hz)) as u64;
    let too_long = |frames: u64| {
        let seconds = frames as f64 / f64::from(decoder.rate_hz);
        ReadAs::Sound
            .refuse(
                name,
                &format!("{} s or more of sound", apart(seconds, longest_s, 1)),
            )
            .accepted(format!("a sound of at most {longest_s} s"))
    };
    if let Some(frames) = decoder.frames().filter(|frames| *frames > most) {
        return Err(too_long(frames));
    }
    let mut frames = Vec::new();
    let rate_hz = decoder.rate_hz;
    while decoder.next(&mut frames)? {
        if frames.len() as u64 > most {
            return Err(ReadAs::Sound
                .refuse(name, &format!("more than {longest_s} s of sound"))
                .accepted(format!("a sound of at most {longest_s} s")));
        }
    }
    Ok(DecodedSound { rate_hz, frames })
}

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
}

/// Reads, or gives nothing where the decoders panic: they do at some damaged headers, and a
/// person's file never ends the program.
fn guarded<T>(read: impl FnOnce() -> T) -> Option<T> {
    static QUIET: Once = Once::new();
    QUIET.call_once(|| {
        let usual = panic::take_hook();
        panic::set_hook(Box::new(move |about| {
            if !GUARDED.get() {
                usual(about);
            }
        }));
    });
    GUARDED.set(true);
    let read = panic::catch_unwind(AssertUnwindSafe(read));
    GUARDED.set(false);
    read.ok()
}

/// What a decoder must know of a track; where its reader does not know the form, what ours found.
fn params(track: &Track, tracks: &[SoundTrack]) -> CodecParameters {
    let mut params = track.codec_params.clone();
    let known = tracks.iter().find(|known| known.id == track.id);
    let alac = known.and_then(|known| known.alac.clone());
    if let Some(alac) = alac.filter(|_| params.codec == CODEC_TYPE_NULL) {
        params.for_codec(CODEC_TYPE_ALAC).with_extra_data(alac);
    }
    params
}

fn broken(fault: &Fault) -> String {
    format!("corrupt, or truncated: {fault}")
}
