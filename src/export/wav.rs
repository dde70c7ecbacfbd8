//! WAV out: sizes known before the first byte, blocks written as they are mixed.

use std::io::{Cursor, Write};

use hound::{SampleFormat, WavSpec, WavWriter};

use super::quantize::{nearest, quiet_block};
use crate::error::Error;
use crate::model::swimmer::Player;
use crate::model::track_format::{Channels, Format};
use crate::render::FrameSource;

/// How samples are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TrackForm {
    /// The file's format.
    pub format: Format,
    /// Frames a second.
    pub sample_rate_hz: u32,
    /// Bits a sample, 16 or 24.
    pub bits: u16,
    /// Channels.
    pub channels: Channels,
}

/// The largest size that a RIFF chunk and a FAT32 file can have (docs/sources.md, "Files and formats").
pub const LARGEST_BYTES: u64 = u32::MAX as u64;

impl TrackForm {
    /// What a player wants; 16-bit stereo WAV at 44 100 Hz where it wants nothing.
    pub fn of(player: &Player) -> Self {
        Self {
            format: player.format.unwrap_or(Format::Wav),
            sample_rate_hz: player.sample_rate_hz.unwrap_or(44_100),
            bits: player.bits.unwrap_or(16),
            channels: player.channels.unwrap_or(Channels::Stereo),
        }
    }

    /// Bytes a frame.
    pub fn frame_bytes(&self) -> u64 {
        u64::from(self.channels.count()) * u64::from(self.bits / 8)
    }

    /// Bytes before the first sample: 12 + 24 + 8 for 16 bits (docs/sources.md, "Files and formats"); a format of
    /// more bits is written as WAVE_FORMAT_EXTENSIBLE, 12 + 48 + 8.
    pub fn header_bytes(&self) -> u64 {
        if self.bits > 16 { 68 } else { 44 }
    }

    /// The size of a WAV file of so many frames, with the pad byte after an odd number of them;
    /// of other formats, what a file has at most.
    pub fn file_bytes(&self, frames: u64) -> u64 {
        let sound = frames * self.frame_bytes();
        match self.format {
            Format::Wav => self.header_bytes() + sound + sound % 2,
            // A block that cannot be packed is stored as it is, with a few bytes about it.
            Format::Flac => 8192 + sound + sound / 256,
            // 96 kbit/s a channel, with a second of room for tags and the encoder's own silence.
            Format::Mp3 => {
                let seconds = frames / u64::from(self.sample_rate_hz) + 2;
                8192 + seconds * 12_000 * u64::from(self.channels.count())
            }
        }
    }

    /// Whether the size of a file is known before it is written.
    pub fn size_is_known(&self) -> bool {
        self.format == Format::Wav
    }

    /// The most frames that fit into one file: the chunk's size counts all but its first 8 bytes.
    pub fn most_frames(&self) -> u64 {
        (LARGEST_BYTES - 1 - self.header_bytes()) / self.frame_bytes()
    }
}

/// Frames written at a time: few calls, each of a size that costs the system least a byte.
const CHUNK: usize = 1 << 18;

/// Writes `frames` frames of a mixer. `progress` hears of every chunk and may stop the work.
///
/// # Errors
/// Of the sink, or of `progress`.
pub fn write_wav<W: Write>(
    mut sink: W,
    form: TrackForm,
    mixer: &mut impl FrameSource,
    frames: u64,
    progress: &mut dyn FnMut(u64) -> Result<(), Error>,
) -> Result<(), WriteError> {
    sink.write_all(&header(form, frames)?)?;
    let frame_bytes = form.frame_bytes() as usize;
    let mut chunk = vec![0; CHUNK.min(frames as usize) * frame_bytes];
    let mut left = frames;
    while left > 0 {
        let now = left.min(CHUNK as u64);
        let bytes = &mut chunk[..now as usize * frame_bytes];
        match (form.bits, form.channels.fold()) {
            (16, None) => render(mixer, bytes, |[left, right]| {
                let (left, right) = (sample_16(left), sample_16(right));
                (u32::from(left) | u32::from(right) << 16).to_le_bytes()
            }),
            (16, Some(fold)) => render(mixer, bytes, |frame| {
                sample_16(fold.single(frame)).to_le_bytes()
            }),
            (_, None) => render(mixer, bytes, |[left, right]| {
                let ([a, b, c], [d, e, f]) = (sample_24(left), sample_24(right));
                [a, b, c, d, e, f]
            }),
            (_, Some(fold)) => render(mixer, bytes, |frame| sample_24(fold.single(frame))),
        }
        sink.write_all(bytes)?;
        left -= now;
        progress(now).map_err(WriteError::Stopped)?;
    }
    // RIFF pads a chunk of odd size with one byte, which the file's size counts and the chunk's
    // does not (from memory, standard).
    if frames * form.frame_bytes() % 2 == 1 {
        sink.write_all(&[0])?;
    }
    sink.flush()?;
    Ok(())
}

/// The bytes before the first sample: as the library writes them, with the sizes of a whole file.
fn header(form: TrackForm, frames: u64) -> hound::Result<Vec<u8>> {
    let mut header = Cursor::new(Vec::new());
    WavWriter::new(&mut header, spec(form))?.finalize()?;
    let mut header = header.into_inner();
    let sizes = [
        // The outer chunk counts all but its own first eight bytes.
        (4, form.file_bytes(frames) - 8),
        (header.len() - 4, frames * form.frame_bytes()),
    ];
    for (at, size) in sizes {
        header[at..at + 4].copy_from_slice(&(size as u32).to_le_bytes());
    }
    Ok(header)
}

fn spec(form: TrackForm) -> WavSpec {
    WavSpec {
        channels: form.channels.count(),
        sample_rate: form.sample_rate_hz,
        bits_per_sample: form.bits,
        sample_format: SampleFormat::Int,
    }
}

/// Mixes whole frames into `bytes`, each of them encoded as `N` bytes.
fn render<const N: usize>(
    source: &mut impl FrameSource,
    bytes: &mut [u8],
    encode: impl Fn([f32; 2]) -> [u8; N],
) {
    let (mut rest, _) = bytes.as_chunks_mut::<N>();
    while !rest.is_empty() {
        let room = std::mem::take(&mut rest);
        let mut done = 0;
        quiet_block(source, room.len(), |block, silent| {
            let (silence, sounding) = room.split_at_mut(silent);
            silence.fill([0; N]);
            for (bytes, frame) in sounding.iter_mut().zip(block) {
                *bytes = encode(*frame);
            }
            done = silent + block.len();
        });
        rest = &mut room[done..];
    }
}

/// Why a track was not written.
#[derive(Debug)]
pub enum WriteError {
    /// The sink refused.
    Io(std::io::Error),
    /// The caller stopped it.
    Stopped(Error),
}

impl From<std::io::Error> for WriteError {
    fn from(error: std::io::Error) -> Self {
        Self::Io(error)
    }
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

/// A sample of 16 bits, as the bits are.
fn sample_16(value: f32) -> u16 {
    nearest(value, FULL_16) as u16
}

/// A sample of 24 bits, the lowest byte first.
fn sample_24(value: f32) -> [u8; 3] {
    let [low, middle, high, _] = nearest(value, FULL_24).to_le_bytes();
    [low, middle, high]
}

#[cfg(test)]
mod tests {
    use std::io::{self, Cursor};

    use super::*;
    use crate::files::voices;
    use crate::render::Mixer;
    use crate::sound::Bank;
    use crate::timeline::Event;

    const FORM: TrackForm = TrackForm {
        format: Format::Wav,
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

    fn silence(bank: &Bank) -> Mixer<&Bank, std::iter::Empty<Event>> {
        Mixer::new(bank, false, 0, std::iter::empty())
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
            let form = TrackForm {
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
    fn a_file_has_the_header_that_the_library_writes() {
        // hound, sample by sample; an even number of them, since it does not pad an odd chunk.
        let bank = Bank::new(&voices::shipped(), 8000);
        for (bits, channels) in [
            (16, Channels::Stereo),
            (16, Channels::Mono),
            (24, Channels::Stereo),
            (24, Channels::Mono),
        ] {
            let form = TrackForm {
                bits,
                channels,
                ..FORM
            };
            let mut file = Cursor::new(Vec::new());
            write_wav(&mut file, form, &mut silence(&bank), 5002, &mut |_| Ok(()))
                .expect("memory has room");
            let mut theirs = Cursor::new(Vec::new());
            let mut writer = WavWriter::new(&mut theirs, spec(form)).expect("a known form");
            for _ in 0..5002 * u32::from(channels.count()) {
                writer.write_sample(0_i32).expect("memory has room");
            }
            writer.finalize().expect("whole frames");
            assert!(file.into_inner() == theirs.into_inner(), "{form:?}");
        }
    }

    #[test]
    fn an_odd_chunk_is_padded_and_only_the_outer_size_counts_it() {
        let bank = Bank::new(&voices::shipped(), 8000);
        let form = TrackForm {
            bits: 24,
            channels: Channels::Mono,
            ..FORM
        };
        let mut file = Cursor::new(Vec::new());
        write_wav(&mut file, form, &mut silence(&bank), 5001, &mut |_| Ok(())).expect("room");
        let bytes = file.into_inner();
        let size = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().expect("four"));
        assert_eq!(bytes.len() as u64, form.file_bytes(5001));
        assert_eq!(size(4) as usize, bytes.len() - 8);
        assert_eq!(size(64) as usize, bytes.len() - 68 - 1);
    }

    #[test]
    fn an_hour_has_the_bytes_that_arithmetic_gives() {
        // Arithmetic: 44.1 kHz stereo 16-bit is 176 400 bytes/s, an hour 605.6 MiB.
        let form = TrackForm {
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
            assert_eq!(nearest(value / FULL_16, FULL_16), step, "{value}");
        }
    }
}
