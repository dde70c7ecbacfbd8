//! MP3 out, by LAME, which the feature `mp3` builds.

use std::io::{self, Seek, SeekFrom, Write};

use mp3lame_encoder::{Bitrate, Builder, DualPcm, FlushGap, Mode, MonoPcm, Quality};
use mp3lame_encoder::{Encoder, max_required_buffer_size};

use super::quantize::{nearest, quiet_block};
use super::tags::Tags;
use super::wav::{TrackForm, WriteError};
use crate::error::Error;
use crate::render::FrameSource;

/// Frames encoded at a time.
const CHUNK: usize = 1 << 16;
/// Full scale of 16 bits.
const FULL: f32 = 32_768.0;
/// What the last call may still give, bytes (LAME's own documentation).
const LAST_BYTES: usize = 7200;

/// Writes `frames` frames of a source as MP3 of a constant bit rate, and goes back to its first
/// frame, which says how much silence the encoder has put before and after the sound.
///
/// # Errors
/// Of the sink, or of `progress`.
pub fn write_mp3<W: Write + Seek>(
    sink: &mut W,
    form: TrackForm,
    source: &mut impl FrameSource,
    frames: u64,
    tags: &Tags,
    progress: &mut dyn FnMut(u64) -> Result<(), Error>,
) -> Result<(), WriteError> {
    let mut encoder = encoder(form)?;
    sink.write_all(&tags.id3())?;
    let start = sink.stream_position()?;
    let mut left = frames;
    let mut bytes = Vec::new();
    let (mut first, mut second) = (Vec::new(), Vec::new());
    while left > 0 {
        let now = left.min(CHUNK as u64);
        first.clear();
        second.clear();
        let mut open = now as usize;
        while open > 0 {
            open -= quiet_block(source, open, |block, silent| {
                first.resize(first.len() + silent, 0);
                second.resize(second.len() + silent, 0);
                for frame in block {
                    match form.channels.fold() {
                        None => {
                            first.push(sample(frame[0]));
                            second.push(sample(frame[1]));
                        }
                        Some(fold) => first.push(sample(fold.single(*frame))),
                    }
                }
            });
        }
        bytes.clear();
        bytes.reserve(max_required_buffer_size(first.len()));
        let encoded = match form.channels.count() {
            2 => {
                let pcm = DualPcm {
                    left: &first,
                    right: &second,
                };
                encoder.encode_to_vec(pcm, &mut bytes)
            }
            _ => encoder.encode_to_vec(MonoPcm(&first), &mut bytes),
        };
        encoded.map_err(odd)?;
        sink.write_all(&bytes)?;
        left -= now;
        progress(now).map_err(WriteError::Stopped)?;
    }
    bytes.clear();
    bytes.reserve(LAST_BYTES);
    encoder.flush_to_vec::<FlushGap>(&mut bytes).map_err(odd)?;
    sink.write_all(&bytes)?;
    let mut tag = Vec::with_capacity(encoder.lame_tag_size());
    if encoder.lame_tag_encode_to_vec(&mut tag).is_some() {
        sink.seek(SeekFrom::Start(start))?;
        sink.write_all(&tag)?;
        sink.seek(SeekFrom::End(0))?;
    }
    sink.flush()?;
    Ok(())
}

/// 96 kbit/s for each channel: cues are sharp, and their onsets must stay so. The channels are
/// kept apart, since each is another ear.
fn encoder(form: TrackForm) -> io::Result<Encoder> {
    let (bitrate, mode) = match form.channels.count() {
        2 => (Bitrate::Kbps192, Mode::Stereo),
        _ => (Bitrate::Kbps96, Mode::Mono),
    };
    let builder = Builder::new().ok_or_else(|| io::Error::other("LAME has no memory"))?;
    (builder.with_num_channels(form.channels.count() as u8))
        .and_then(|builder| builder.with_sample_rate(form.sample_rate_hz))
        .and_then(|builder| builder.with_brate(bitrate))
        .and_then(|builder| builder.with_mode(mode))
        .and_then(|builder| builder.with_quality(Quality::Good))
        .and_then(|builder| builder.with_to_write_vbr_tag(true))
        .and_then(Builder::build)
        .map_err(odd)
}

fn sample(value: f32) -> i16 {
    nearest(value, FULL) as i16
}

fn odd(error: impl std::fmt::Display) -> io::Error {
    io::Error::other(error.to_string())
}
