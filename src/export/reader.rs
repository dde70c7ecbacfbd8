//! WAV in: whatever a person may hand to `check`, as stereo frames.

use std::fs::File;
use std::io::{BufReader, Chain, Cursor, Read};
use std::path::Path;

use hound::{SampleFormat, WavReader, WavSpec};

use crate::error::{Error, Result};
use crate::media::{Decoder, open_sound};
use crate::model::track_format::Format;

/// An open track: PCM of 8, 16, 24 or 32 bits or 32-bit float, one or two channels.
pub struct TrackReader<R> {
    sound: Sound<R>,
    spec: WavSpec,
    name: String,
    /// Whether the format keeps no sample as it was.
    lossy: bool,
    /// Frames in the whole track, as its header says.
    frames: u64,
    /// Frames not yet read.
    left: u64,
}

/// What comes after the header.
enum Sound<R> {
    /// Samples of 16 bits in two bytes, as nearly every track has: read many at a time, in a
    /// tenth of the time that the library takes to give them one by one.
    Bytes {
        from: Chain<Cursor<Vec<u8>>, R>,
        block: Vec<u8>,
    },
    /// Samples of any other form.
    Samples(WavReader<R>),
    /// A packed format, decoded packet by packet.
    Packed {
        decoder: Box<Decoder>,
        ready: Vec<[f32; 2]>,
        given: usize,
    },
}

/// How far a sample of a lossy format may be from what was mixed, 1 for full scale: 3 dB above the
/// largest noise of LAME at 96 kbit/s a channel, the exported form, about cues and signals. That is
/// 0.018 in shipped sessions in stereo and 0.0325 in one channel: measured with ffmpeg as decoder,
/// the worst of them again by `tests/formats.rs`. Words are noisier, and may be others anyway.
pub const LOSSY_TOLERANCE: f32 = 0.0459;

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
        let file = open_sound(path).map_err(unreadable)?;
        let about = file.metadata().map_err(unreadable)?;
        if about.is_dir() {
            return Err(Error::failed("this is a folder, not a track").at(&name));
        }
        if Format::of_name(&name).is_some_and(|format| format != Format::Wav) {
            return Self::packed(file, &name);
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

impl<R> TrackReader<R> {
    /// Opens a FLAC or MP3 file.
    fn packed(file: File, name: &str) -> Result<Self> {
        let again = || Error::failed("corrupt, or no track").at(name);
        let decoder = Decoder::open(Box::new(file), name).map_err(Error::into_failed)?;
        let frames = decoder.frames().ok_or_else(again)?;
        let channels = decoder.channels();
        if !(1..=2).contains(&channels) || !SAMPLE_RATES_HZ.contains(&decoder.rate_hz()) {
            return Err(Error::failed(format!(
                "found {channels} channels, {} Hz",
                decoder.rate_hz()
            ))
            .at(name)
            .accepted("1 or 2 channels, 8000 to 192000 Hz"));
        }
        let lossy = Format::of_name(name) == Some(Format::Mp3);
        Ok(Self {
            spec: WavSpec {
                channels: channels as u16,
                sample_rate: decoder.rate_hz(),
                bits_per_sample: 16,
                sample_format: SampleFormat::Int,
            },
            sound: Sound::Packed {
                decoder: Box::new(decoder),
                ready: Vec::new(),
                given: 0,
            },
            name: name.to_string(),
            lossy,
            frames,
            left: frames,
        })
    }
}

impl<R: Read> TrackReader<R> {
    /// Reads the header of a track.
    ///
    /// # Errors
    /// When it is no WAV file of an accepted form.
    pub fn new(from: R, name: &str) -> Result<Self> {
        let mut wav = WavReader::new(from).map_err(|error| corrupt(name, &error))?;
        let (spec, frames) = (wav.spec(), u64::from(wav.duration()));
        let float = spec.sample_format == SampleFormat::Float;
        let known_bits = if float {
            spec.bits_per_sample == 32
        } else {
            [8, 16, 24, 32].contains(&spec.bits_per_sample)
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
        let sound = match (spec.sample_format, spec.bits_per_sample) {
            (SampleFormat::Int, 16) => {
                // The library refuses the first of samples that take more room than their bits.
                let first = wav.samples::<i16>().next().transpose();
                let first = first.map_err(|error| corrupt(name, &error))?;
                let first = first.map(|sample| sample.to_le_bytes().to_vec());
                Sound::Bytes {
                    from: Cursor::new(first.unwrap_or_default()).chain(wav.into_inner()),
                    block: Vec::new(),
                }
            }
            _ => Sound::Samples(wav),
        };
        Ok(Self {
            sound,
            spec,
            name: name.to_string(),
            lossy: false,
            frames,
            left: frames,
        })
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.spec.sample_rate
    }

    /// Whether the track has one channel.
    pub fn is_mono(&self) -> bool {
        self.spec.channels == 1
    }

    /// Frames in the whole track, as its header says.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// How far a sample may be from what was mixed by rounding and dither alone: two and a half
    /// steps of this file, or a step of the 16-bit file it was made from.
    pub fn tolerance(&self) -> f32 {
        if self.lossy {
            return LOSSY_TOLERANCE;
        }
        let spec = self.spec;
        let step = match spec.sample_format {
            SampleFormat::Float => 0.0,
            SampleFormat::Int => 0.5_f32.powi(i32::from(spec.bits_per_sample) - 1),
        };
        (2.5 * step).max(1.0 / 32_768.0)
    }

    fn frame_bytes(&self) -> u64 {
        let spec = self.spec;
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
        let spec = self.spec;
        let stereo = spec.channels == 2;
        let name = &self.name;
        let scale = 0.5_f32.powi(i32::from(spec.bits_per_sample) - 1);
        let wav = match &mut self.sound {
            Sound::Packed {
                decoder,
                ready,
                given,
            } => {
                return unpack(decoder, ready, given, sound);
            }
            Sound::Bytes { from, block } => {
                block.resize(frames * usize::from(spec.channels) * 2, 0);
                from.read_exact(block)
                    .map_err(|error| corrupt(name, &error.into()))?;
                decode_16(block, stereo, sound, scale);
                return Ok(());
            }
            Sound::Samples(wav) => wav,
        };
        match (spec.sample_format, spec.bits_per_sample) {
            (SampleFormat::Float, _) => {
                gather(sound, stereo, wav.samples::<f32>(), name, |sample| sample)?;
                let lost = sound.iter().flatten().any(|sample| !sample.is_finite());
                if lost {
                    return Err(Error::failed("corrupt: a sample is no number").at(name));
                }
                Ok(())
            }
            (SampleFormat::Int, 8) => gather(sound, stereo, wav.samples::<i16>(), name, |sample| {
                f32::from(sample) * scale
            }),
            (SampleFormat::Int, _) => gather(sound, stereo, wav.samples::<i32>(), name, |sample| {
                sample as f32 * scale
            }),
        }
    }
}

/// The next frames of a packed track; silence where it ends before its header says, which the
/// decoder itself refuses where it is more than an encoder's padding.
fn unpack(
    decoder: &mut Decoder,
    ready: &mut Vec<[f32; 2]>,
    given: &mut usize,
    out: &mut [[f32; 2]],
) -> Result<()> {
    let mut done = 0;
    while done < out.len() {
        if *given == ready.len() {
            ready.clear();
            *given = 0;
            if !decoder.next(ready).map_err(Error::into_failed)? {
                out[done..].fill([0.0; 2]);
                return Ok(());
            }
        }
        let now = (out.len() - done).min(ready.len() - *given);
        out[done..done + now].copy_from_slice(&ready[*given..*given + now]);
        *given += now;
        done += now;
    }
    Ok(())
}

/// Samples of 16 bits, the lower byte first, as frames.
fn decode_16(bytes: &[u8], stereo: bool, out: &mut [[f32; 2]], scale: f32) {
    let value = |low, high| f32::from(i16::from_le_bytes([low, high])) * scale;
    if stereo {
        let (frames, _) = bytes.as_chunks::<4>();
        for (frame, [a, b, c, d]) in out.iter_mut().zip(frames) {
            *frame = [value(*a, *b), value(*c, *d)];
        }
    } else {
        let (frames, _) = bytes.as_chunks::<2>();
        for (frame, [a, b]) in out.iter_mut().zip(frames) {
            *frame = [value(*a, *b); 2];
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

#[cfg(test)]
mod tests {
    use super::*;
    use hound::WavWriter;

    /// Every 16-bit value once, from the least on, in frames of so many channels.
    fn every_value(channels: u16) -> Vec<u8> {
        let spec = WavSpec {
            channels,
            sample_rate: 8000,
            bits_per_sample: 16,
            sample_format: SampleFormat::Int,
        };
        let mut file = Cursor::new(Vec::new());
        let mut writer = WavWriter::new(&mut file, spec).expect("a format of the library");
        for sample in i16::MIN..=i16::MAX {
            writer.write_sample(sample).expect("memory has room");
        }
        writer.finalize().expect("whole frames");
        file.into_inner()
    }

    fn open(bytes: &[u8]) -> TrackReader<&[u8]> {
        TrackReader::new(bytes, "track.wav").expect("a whole file")
    }

    /// What is wrong with a track that is read to its end.
    fn refusal(bytes: &[u8]) -> String {
        let outcome = TrackReader::new(bytes, "track.wav").and_then(|mut track| {
            let mut sound = vec![[0.0; 2]; track.frames() as usize];
            track.read(&mut sound)
        });
        outcome.expect_err("it does not hold").to_string()
    }

    #[test]
    fn sixteen_bits_come_as_the_library_gives_them() {
        // hound, sample by sample.
        for channels in [1, 2] {
            let file = every_value(channels);
            let mut theirs = WavReader::new(&file[..]).expect("a whole file");
            let mut theirs = theirs.samples::<i16>().map(|sample| {
                let sample = sample.expect("a whole file");
                f32::from(sample) / 32_768.0
            });
            let mut track = open(&file);
            let mut left = track.frames();
            for size in [1, 2, 1000, usize::MAX] {
                let mut block = vec![[0.0; 2]; size.min(left as usize)];
                track.read(&mut block).expect("a whole file");
                left -= block.len() as u64;
                for frame in block {
                    let mut next = || theirs.next().expect("as many samples");
                    let first = next();
                    let second = if channels == 2 { next() } else { first };
                    assert_eq!(frame, [first, second]);
                }
            }
            assert_eq!((left, theirs.next()), (0, None));
        }
    }

    #[test]
    fn silence_follows_the_end_of_a_track() {
        let file = every_value(2);
        let mut track = open(&file);
        let mut block = vec![[1.0; 2]; track.frames() as usize + 100];
        track.read(&mut block).expect("a whole file");
        assert!(
            block[track.frames() as usize..]
                .iter()
                .all(|frame| *frame == [0.0; 2])
        );
    }

    #[test]
    fn a_track_cut_anywhere_in_its_sound_is_called_truncated() {
        let file = every_value(2);
        for end in (44..54).chain(file.len() - 10..file.len()) {
            let message = refusal(&file[..end]);
            assert!(message.contains("truncated"), "{end} bytes: {message}");
        }
    }

    #[test]
    fn samples_with_room_to_spare_are_refused() {
        // 16 bits in frames of 8 bytes: four bytes a sample.
        let mut file = every_value(2);
        file[32] = 8;
        let message = refusal(&file);
        assert!(message.contains("corrupt, or no WAV file"), "{message}");
    }
}
