//! WAV out: sizes known before the first byte, blocks written as they are mixed.

use std::io::{Seek, Write};

use hound::{SampleFormat, WavSpec, WavWriter};

use crate::error::Error;
use crate::model::swimmer::Channels;
use crate::render::Mixer;
use crate::timeline::Event;

/// How samples are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Form {
    /// Frames a second.
    pub sample_rate_hz: u32,
    /// Bits a sample, 16 or 24.
    pub bits: u16,
    /// Channels.
    pub channels: Channels,
}

/// The largest size that a RIFF chunk and a FAT32 file can have (published-values 6).
pub const LARGEST_BYTES: u64 = u32::MAX as u64;

impl Form {
    /// Bytes a frame.
    pub fn frame_bytes(&self) -> u64 {
        u64::from(self.channels.count()) * u64::from(self.bits / 8)
    }

    /// Bytes before the first sample: 12 + 24 + 8 for 16 bits (published-values 6); a format of
    /// more bits is written as WAVE_FORMAT_EXTENSIBLE, 12 + 48 + 8.
    pub fn header_bytes(&self) -> u64 {
        if self.bits > 16 { 68 } else { 44 }
    }

    /// The size of a file of so many frames.
    pub fn file_bytes(&self, frames: u64) -> u64 {
        self.header_bytes() + frames * self.frame_bytes()
    }

    /// The most frames that fit into one file: the chunk's size counts all but its first 8 bytes.
    pub fn most_frames(&self) -> u64 {
        (LARGEST_BYTES - self.header_bytes()) / self.frame_bytes()
    }
}

/// Frames mixed and written at a time: small enough to stay in the cache.
const BLOCK: usize = 4096;

/// Writes `frames` frames of a mixer. `progress` hears of every block and may stop the work.
///
/// # Errors
/// Of the sink, or of `progress`.
pub fn write_wav<'b, W: Write + Seek, E: Iterator<Item = Event>>(
    sink: W,
    form: Form,
    mixer: &mut Mixer<'b, E>,
    frames: u64,
    progress: &mut dyn FnMut(u64) -> Result<(), Error>,
) -> Result<(), WriteError> {
    let spec = WavSpec {
        channels: form.channels.count(),
        sample_rate: form.sample_rate_hz,
        bits_per_sample: form.bits,
        sample_format: SampleFormat::Int,
    };
    let mut writer = WavWriter::new(sink, spec)?;
    let mut mixed = [[0.0_f32; 2]; BLOCK];
    let mut left = frames;
    while left > 0 {
        let now = left.min(BLOCK as u64) as usize;
        let block = &mut mixed[..now];
        let silent = mixer.silent_frames(now as u64) == now as u64;
        match silent {
            true => mixer.skip(now as u64),
            false => mixer.fill(block),
        }
        match (form.bits, silent) {
            (16, true) => write_16_silent(&mut writer, now, form.channels)?,
            (16, false) => write_16(&mut writer, block, form.channels)?,
            _ => {
                if silent {
                    block.fill([0.0; 2]);
                }
                write_24(&mut writer, block, form.channels)?;
            }
        }
        left -= now as u64;
        progress(now as u64).map_err(WriteError::Stopped)?;
    }
    writer.finalize()?;
    Ok(())
}

/// Why a track was not written.
#[derive(Debug)]
pub enum WriteError {
    /// The sink refused.
    Io(std::io::Error),
    /// The caller stopped it.
    Stopped(Error),
}

impl From<hound::Error> for WriteError {
    fn from(error: hound::Error) -> Self {
        match error {
            hound::Error::IoError(error) => Self::Io(error),
            other => Self::Io(std::io::Error::other(other)),
        }
    }
}

/// Full scale of 16 and of 24 bits.
const FULL_16: f32 = 32_768.0;
const FULL_24: f32 = 8_388_608.0;

fn fold(frame: [f32; 2]) -> f32 {
    (frame[0] + frame[1]) * 0.5
}

/// Nearest whole number, halves away from zero. Written out because `f32::round` is a call into
/// the maths library on machines without the instruction, which costs half the speed.
fn nearest(value: f32) -> i32 {
    (value + 0.5_f32.copysign(value)) as i32
}

fn write_16<W: Write + Seek>(
    writer: &mut WavWriter<W>,
    block: &[[f32; 2]],
    channels: Channels,
) -> hound::Result<()> {
    let samples = block.len() * usize::from(channels.count());
    let mut out = writer.get_i16_writer(samples as u32);
    let sample = |value: f32| nearest(value * FULL_16) as i16;
    match channels {
        Channels::Stereo => {
            for [left, right] in block {
                out.write_sample(sample(*left));
                out.write_sample(sample(*right));
            }
        }
        Channels::Mono => {
            for frame in block {
                out.write_sample(sample(fold(*frame)));
            }
        }
    }
    out.flush()
}

fn write_16_silent<W: Write + Seek>(
    writer: &mut WavWriter<W>,
    frames: usize,
    channels: Channels,
) -> hound::Result<()> {
    let samples = frames * usize::from(channels.count());
    let mut out = writer.get_i16_writer(samples as u32);
    for _ in 0..samples {
        out.write_sample(0_i16);
    }
    out.flush()
}

fn write_24<W: Write + Seek>(
    writer: &mut WavWriter<W>,
    block: &[[f32; 2]],
    channels: Channels,
) -> hound::Result<()> {
    let sample = |value: f32| nearest(value * FULL_24);
    for frame in block {
        match channels {
            Channels::Stereo => {
                writer.write_sample(sample(frame[0]))?;
                writer.write_sample(sample(frame[1]))?;
            }
            Channels::Mono => writer.write_sample(sample(fold(*frame)))?,
        }
    }
    Ok(())
}
