//! WAV out: sizes known before the first byte, blocks written as they are mixed.

use std::io::{Seek, SeekFrom, Write};

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

    /// The size of a file of so many frames, with the pad byte after an odd number of them.
    pub fn file_bytes(&self, frames: u64) -> u64 {
        let sound = frames * self.frame_bytes();
        self.header_bytes() + sound + sound % 2
    }

    /// The most frames that fit into one file: the chunk's size counts all but its first 8 bytes.
    pub fn most_frames(&self) -> u64 {
        (LARGEST_BYTES - 1 - self.header_bytes()) / self.frame_bytes()
    }
}

/// Frames mixed and written at a time: small enough to stay in the cache.
const BLOCK: usize = 4096;

/// Writes `frames` frames of a mixer. `progress` hears of every block and may stop the work.
///
/// # Errors
/// Of the sink, or of `progress`.
pub fn write_wav<'b, W: Write + Seek, E: Iterator<Item = Event>>(
    mut sink: W,
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
    let mut writer = WavWriter::new(&mut sink, spec)?;
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
    if (frames * form.frame_bytes()) % 2 == 1 {
        pad(&mut sink, form.file_bytes(frames)).map_err(WriteError::Io)?;
    }
    sink.flush().map_err(WriteError::Io)
}

/// RIFF pads a chunk of odd size with one byte, which the file's size counts and the chunk's does
/// not (from memory, standard). The WAV library leaves it out.
fn pad<W: Write + Seek>(sink: &mut W, file_bytes: u64) -> std::io::Result<()> {
    sink.seek(SeekFrom::End(0))?;
    sink.write_all(&[0])?;
    sink.seek(SeekFrom::Start(4))?;
    // Sizes are checked before the first byte: the file is below 4 GiB.
    sink.write_all(&((file_bytes - 8) as u32).to_le_bytes())
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

#[cfg(test)]
mod tests {
    use std::io::{self, Cursor};

    use super::*;
    use crate::files::voices;
    use crate::sound::Bank;

    const FORM: Form = Form {
        sample_rate_hz: 8000,
        bits: 16,
        channels: Channels::Stereo,
    };

    /// A disk with room for so many bytes.
    struct SmallDisk {
        room: u64,
        file: Cursor<Vec<u8>>,
    }

    impl Write for SmallDisk {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            if self.file.position() + bytes.len() as u64 > self.room {
                return Err(io::ErrorKind::StorageFull.into());
            }
            self.file.write(bytes)
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    impl Seek for SmallDisk {
        fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
            self.file.seek(to)
        }
    }

    fn silence(bank: &Bank) -> Mixer<'_, std::iter::Empty<Event>> {
        Mixer::new(bank, 0.4, false, 0, std::iter::empty())
    }

    #[test]
    fn a_full_disk_is_told_wherever_it_fills() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let whole = FORM.file_bytes(10_000);
        for room in [0, 10, 43, 44, 45, 5000, whole - 1] {
            let disk = SmallDisk {
                room,
                file: Cursor::default(),
            };
            let error = write_wav(disk, FORM, &mut silence(&bank), 10_000, &mut |_| Ok(()));
            let full = matches!(&error, Err(WriteError::Io(error)) if error.kind() == io::ErrorKind::StorageFull);
            assert!(full, "room for {room} bytes: {error:?}");
        }
        let disk = SmallDisk {
            room: whole,
            file: Cursor::default(),
        };
        write_wav(disk, FORM, &mut silence(&bank), 10_000, &mut |_| Ok(())).expect("there is room");
    }

    #[test]
    fn the_size_is_known_before_the_first_byte() {
        let bank = Bank::new(&voices::shipped(), 8000);
        for (bits, channels) in [
            (16, Channels::Stereo),
            (16, Channels::Mono),
            (24, Channels::Stereo),
            (24, Channels::Mono),
        ] {
            let form = Form {
                bits,
                channels,
                ..FORM
            };
            let mut file = Cursor::new(Vec::new());
            write_wav(&mut file, form, &mut silence(&bank), 5001, &mut |_| Ok(()))
                .expect("memory has room");
            assert_eq!(
                file.into_inner().len() as u64,
                form.file_bytes(5001),
                "{form:?}"
            );
        }
    }

    #[test]
    fn an_hour_has_the_bytes_that_arithmetic_gives() {
        // published-values 6: 44.1 kHz stereo 16-bit is 176 400 bytes/s, an hour 605.6 MiB.
        let form = Form {
            sample_rate_hz: 44_100,
            ..FORM
        };
        let hour = form.file_bytes(3600 * 44_100);
        assert_eq!(hour, 44 + 3600 * 176_400);
        assert_eq!((hour as f64 / 1_048_576.0 * 10.0).round(), 6056.0);
        // The last whole frame that leaves room for the header and a pad byte within 32 bits.
        assert_eq!(form.file_bytes(form.most_frames()), 4_294_967_292);
    }

    #[test]
    fn stopping_is_passed_on() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let mut stop = |_| Err(Error::failed("stopped"));
        let error = write_wav(
            Cursor::new(Vec::new()),
            FORM,
            &mut silence(&bank),
            9000,
            &mut stop,
        );
        assert!(matches!(error, Err(WriteError::Stopped(_))));
    }

    #[test]
    fn samples_round_to_the_nearest_step() {
        for (value, step) in [
            (0.0, 0),
            (0.49, 0),
            (0.5, 1),
            (-0.5, -1),
            (-0.49, 0),
            (1.6, 2),
            (-1.6, -2),
        ] {
            assert_eq!(nearest(value), step, "{value}");
        }
    }
}
