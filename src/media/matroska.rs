//! The elements of a WebM or Matroska (RFC 8794, RFC 9559) that say what its sound is. And that
//! no element promises more than there is, and no frame more than its block: the decoders' own reader
//! would take memory for it.

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom, Take};

use super::sound_track::{SoundTrack, Start};

/// The first bytes of such a file.
pub const FIRST: &[u8] = b"\x1a\x45\xdf\xa3";

/// Elements that hold elements, as far as they are read: what is within them comes next.
const HOLDERS: [u32; 24] = [
    0x1a45_dfa3, // EBML
    0x1853_8067, // Segment
    0x114d_9b74, // SeekHead
    0x4dbb,      // Seek
    0x1549_a966, // Info
    0x1f43_b675, // Cluster
    0xa0,        // BlockGroup
    0x75a1,      // BlockAdditions
    0xa6,        // BlockMore
    0x1654_ae6b, // Tracks
    TRACK,
    0xe0,        // Video
    0xe1,        // Audio
    0x6d80,      // ContentEncodings
    0x6240,      // ContentEncoding
    0x5034,      // ContentCompression
    0x5035,      // ContentEncryption
    0x1c53_bb6b, // Cues
    0xbb,        // CuePoint
    0xb7,        // CueTrackPositions
    0x1254_c367, // Tags
    0x7373,      // Tag
    0x63c0,      // Targets
    0x67c8,      // SimpleTag
];
const TRACK: u32 = 0xae;
const TRACK_NUMBER: u32 = 0xd7;
const TRACK_TYPE: u32 = 0x83;
const CODEC: u32 = 0x86;
const CODEC_DELAY: u32 = 0x56aa;
/// What holds frames: `SimpleBlock`, `Block`.
const BLOCKS: [u64; 2] = [0xa3, 0xa1];
/// The bits of a block's flags that say how frames are laced in it; all of them: the EBML way.
const LACING: u8 = 0x06;
/// `TRACK_TYPE` of sound.
const SOUND: u64 = 2;

/// What a track says of itself.
#[derive(Default)]
struct Told {
    number: u64,
    kind: u64,
    codec: String,
    delay_ns: u64,
}

/// Reads the tracks of sound, in the order of the file.
pub fn sound_tracks(file: &mut File) -> Result<Vec<SoundTrack>, String> {
    let cannot = |error: std::io::Error| format!("the film cannot be read: {error}");
    let length = file.seek(SeekFrom::End(0)).map_err(cannot)?;
    file.seek(SeekFrom::Start(0)).map_err(cannot)?;
    let mut reader = BufReader::new(file);
    let (mut at, mut tracks) = (0, Vec::new());
    while at < length {
        let (id, id_width) = sized(&mut reader, 4)?;
        let (size, size_width) = sized(&mut reader, 8)?;
        // The sign of a number's width belongs to an id, and not to a size.
        let mark = 1_u64 << (7 * size_width);
        at += id_width + size_width;
        // All ones: it goes on to the next of its kind.
        let unknown = size == 2 * mark - 1;
        let size = size & (mark - 1);
        if !unknown && size > length - at {
            return Err("truncated: its elements promise more than is there".into());
        }
        if id == u64::from(TRACK) {
            tracks.push(Told::default());
        }
        if HOLDERS.iter().any(|holder| u64::from(*holder) == id) {
            continue;
        }
        if unknown {
            return Err("corrupt: an element without a length".into());
        }
        if let (Some(track), 0..=64) = (tracks.last_mut(), size) {
            let mut held = vec![0; size as usize];
            reader.read_exact(&mut held).map_err(cannot)?;
            track.take(id as u32, &held);
        } else {
            let mut held = (&mut reader).take(size);
            if BLOCKS.contains(&id) {
                hold_frames(&mut held, size)?;
            }
            let left = held.limit();
            reader.seek_relative(left as i64).map_err(cannot)?;
        }
        at += size;
    }
    let of_sound = tracks.into_iter().filter(|track| track.kind == SOUND);
    Ok(of_sound.map(Told::into_track).collect())
}

/// That a block of `size` bytes holds the frames that it says it does. Where they are laced the EBML
/// way, each length but the first is told by how far it is from the one before (RFC 9559, EBML lacing).
fn hold_frames(block: &mut Take<impl Read>, size: u64) -> Result<(), String> {
    let _track = sized(block, 8)?;
    // When it is, in two bytes; flags; how many frames come before the last one.
    let mut head = [0; 4];
    let truncated = |_| "truncated in one of its blocks".to_string();
    block.read_exact(&mut head[..3]).map_err(truncated)?;
    if head[2] & LACING != LACING {
        return Ok(());
    }
    block.read_exact(&mut head[3..]).map_err(truncated)?;
    let size = size as i64;
    let (mut length, mut all) = (0, 0);
    for frame in 0..head[3] {
        let (number, width) = sized(block, 8)?;
        let mark = 1_i64 << (7 * width);
        let number = number as i64 & (mark - 1);
        length = match frame {
            0 => number,
            _ => length + number - (mark / 2 - 1),
        };
        all += length;
        // All ones is no number.
        if number == mark - 1 || length < 0 || all > size {
            return Err("corrupt: a frame in it is longer than its block".into());
        }
    }
    Ok(())
}

/// A number that tells its own width by its first bit set, which stays in it; and that width.
fn sized(reader: &mut impl Read, widest: u64) -> Result<(u64, u64), String> {
    let truncated = |_| "truncated in one of its elements".to_string();
    let mut first = [0];
    reader.read_exact(&mut first).map_err(truncated)?;
    let width = u64::from(first[0].leading_zeros()) + 1;
    if width > widest {
        return Err("corrupt: an element in it makes no sense".into());
    }
    let mut rest = [0; 7];
    let rest = &mut rest[..width as usize - 1];
    reader.read_exact(rest).map_err(truncated)?;
    Ok((big_endian(u64::from(first[0]), rest), width))
}

fn big_endian(first: u64, rest: &[u8]) -> u64 {
    (rest.iter()).fold(first, |number, byte| (number << 8) | u64::from(*byte))
}

impl Told {
    fn take(&mut self, id: u32, held: &[u8]) {
        match id {
            TRACK_NUMBER => self.number = big_endian(0, held),
            TRACK_TYPE => self.kind = big_endian(0, held),
            CODEC_DELAY => self.delay_ns = big_endian(0, held),
            CODEC => self.codec = String::from_utf8_lossy(held).into_owned(),
            _ => {}
        }
    }

    /// Its blocks are dated with what the encoder put before the sound, less what is told here.
    fn into_track(self) -> SoundTrack {
        SoundTrack {
            id: self.number as u32,
            form: self.codec,
            shift_s: -(self.delay_ns as f64) * 1e-9,
            start: Start::Exact,
            alac: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::*;

    /// An element: its id, its length in one byte, what it holds.
    fn element(id: &[u8], held: &[u8]) -> Vec<u8> {
        [id, &[0x80 | held.len() as u8], held].concat()
    }

    /// Reads a file of one block; its first bytes: track 1, at 0, frames laced the EBML way.
    fn read(block: &[u8]) -> Result<Vec<SoundTrack>, String> {
        let block = element(&[0xa3], &[&[0x81, 0, 0, LACING], block].concat());
        let cluster = element(b"\x1f\x43\xb6\x75", &block);
        let mut file = tempfile::tempfile().expect("a file");
        let whole = [element(FIRST, &[]), cluster].concat();
        file.write_all(&whole).expect("a disk");
        sound_tracks(&mut file)
    }

    #[test]
    fn a_block_holds_the_frames_that_it_says_it_holds() {
        // Two before the last one: of 4 bytes, and of one less.
        let held = |lengths: &[u8]| [&[2], lengths, &[0; 12]].concat();
        assert_eq!(read(&held(&[0x84, 0xbe])), Ok(Vec::new()));
        for wrong in [
            // 256; less than nothing; all ones; 2^55 in eight bytes; 4 and 63 more.
            &[0x41, 0x00, 0xbe][..],
            &[0x84, 0x80],
            &[0xff, 0xbe],
            &[0x01, 0x80, 0, 0, 0, 0, 0, 0, 0xbe],
            &[0x84, 0xfe],
        ] {
            let refused = read(&held(wrong)).expect_err("refused");
            assert!(refused.contains("longer than its block"), "{refused}");
        }
        assert!(read(&[200, 0x81]).is_err_and(|why| why.contains("truncated")));
    }
}
