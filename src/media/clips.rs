//! The clips inside the binary.

use include_dir::{Dir, include_dir};

use super::decode::{DecodedSound, decode};

static ENGLISH: Dir = include_dir!("$CARGO_MANIFEST_DIR/sounds/en");

/// Every clip is mono Ogg Vorbis at this rate: a test decodes them all.
const RATE_HZ: u64 = 24_000;

/// The names of the shipped clips and how long each lasts, ms, rounded up. None is decoded for it.
pub fn lengths_ms() -> impl Iterator<Item = (String, u64)> {
    ENGLISH.files().filter_map(|file| {
        let name = file.path().file_name()?.to_str()?.strip_suffix(".ogg")?;
        let frames = frames_of_ogg(file.contents())?;
        Some((name.to_string(), (frames * 1000).div_ceil(RATE_HZ)))
    })
}

/// Whether there is a shipped clip of this name.
pub fn is_there(name: &str) -> bool {
    ENGLISH.contains(format!("{name}.ogg"))
}

/// A shipped clip.
///
/// # Panics
/// Never: a test decodes every shipped clip.
pub fn clip(name: &str) -> Option<DecodedSound> {
    let file = ENGLISH.get_file(format!("{name}.ogg"))?;
    let bytes = std::io::Cursor::new(file.contents());
    let mut sound = decode(Box::new(bytes), name, 60.0).expect("a shipped clip");
    // In a stream of one page the decoder does not see where the last block is to end.
    let frames = frames_of_ogg(file.contents()).expect("a shipped clip");
    sound.frames.truncate(frames as usize);
    Some(sound)
}

/// How many frames an Ogg Vorbis stream holds: its last page says where it ends (RFC 3533,
/// section 6: the granule position is eight bytes, lowest first, from byte 6 of a page on).
fn frames_of_ogg(bytes: &[u8]) -> Option<u64> {
    let last_page = bytes.windows(4).rposition(|four| four == b"OggS")?;
    let position = bytes.get(last_page + 6..last_page + 14)?;
    Some(u64::from_le_bytes(position.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::phrases;
    use crate::model::phrases::slug;

    #[test]
    fn every_phrase_of_the_table_has_its_clip() {
        for words in phrases::shipped().clips() {
            assert!(is_there(&slug(words)), "no clip of {words:?}");
        }
    }

    #[test]
    fn every_clip_decodes_to_the_length_that_its_last_page_tells() {
        for (name, length_ms) in lengths_ms() {
            let sound = clip(&name).expect("it is there");
            assert_eq!(u64::from(sound.rate_hz), RATE_HZ, "{name}");
            let ms = (sound.frames.len() as u64 * 1000).div_ceil(RATE_HZ);
            assert_eq!(ms, length_ms, "{name}");
            assert!((100..9000).contains(&ms), "{name}: {ms} ms");
        }
    }

    #[test]
    fn clips_begin_and_end_in_silence_without_a_step() {
        for (name, _) in lengths_ms() {
            let sound = clip(&name).expect("it is there").frames;
            // A step of -40 dB at either end would be heard as a click.
            let at_the_ends = sound[..16].iter().chain(&sound[sound.len() - 16..]);
            let loudest = at_the_ends.fold(0.0_f32, |most, frame| most.max(frame[0].abs()));
            assert!(loudest < 0.01, "{name}: {loudest}");
        }
    }

    #[test]
    fn the_clips_take_little_room() {
        let bytes: usize = ENGLISH.files().map(|file| file.contents().len()).sum();
        assert!(bytes < 8_000_000, "{bytes} bytes in the program");
    }
}
