//! The clips inside the binary.

use include_dir::{Dir, include_dir};

use super::decode::{DecodedSound, decode};

static ENGLISH: Dir = include_dir!("$CARGO_MANIFEST_DIR/sounds/en");

/// Every clip is mono, 16 bits, at this rate, after a header of 44 bytes: a test decodes them all.
const RATE_HZ: u64 = 16_000;
const HEADER_BYTES: u64 = 44;

/// The names of the shipped clips and how long each lasts, ms, rounded up.
pub fn lengths_ms() -> impl Iterator<Item = (String, u64)> {
    ENGLISH.files().filter_map(|file| {
        let name = file.path().file_name()?.to_str()?.strip_suffix(".wav")?;
        let frames = (file.contents().len() as u64).saturating_sub(HEADER_BYTES) / 2;
        Some((name.to_string(), (frames * 1000).div_ceil(RATE_HZ)))
    })
}

/// A shipped clip.
///
/// # Panics
/// Never: a test decodes every shipped clip.
pub fn clip(name: &str) -> Option<DecodedSound> {
    let file = ENGLISH.get_file(format!("{name}.wav"))?;
    let bytes = file.contents().to_vec();
    Some(decode(Box::new(std::io::Cursor::new(bytes)), name, 60.0).expect("a shipped clip"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::phrases;
    use crate::model::phrases::slug;
    use crate::sound::Meter;

    #[test]
    fn every_phrase_of_the_table_has_its_clip_and_every_clip_decodes() {
        let clips: std::collections::BTreeMap<String, u64> = lengths_ms().collect();
        for words in phrases::shipped().clips() {
            assert!(clips.contains_key(&slug(words)), "no clip of {words:?}");
        }
        assert!(clips.len() > 80);
        for (name, length_ms) in clips {
            let sound = clip(&name).expect("it is there");
            assert_eq!(u64::from(sound.rate_hz), RATE_HZ, "{name}");
            let ms = (sound.frames.len() as u64 * 1000).div_ceil(RATE_HZ);
            assert_eq!(ms, length_ms, "{name}");
            assert!((100..4000).contains(&ms), "{name}: {ms} ms");
        }
    }

    #[test]
    fn clips_begin_and_end_in_silence_without_a_step() {
        for (name, _) in lengths_ms() {
            let sound = clip(&name).expect("it is there").frames;
            let ends = [sound[0], sound[sound.len() - 1]];
            assert_eq!(ends, [[0.0; 2]; 2], "{name}");
            // A step of -40 dB at either end would be heard as a click.
            let step = (sound[..16]
                .windows(2)
                .chain(sound[sound.len() - 16..].windows(2)))
            .map(|pair| (pair[1][0] - pair[0][0]).abs())
            .fold(0.0, f32::max);
            assert!(step < 0.01, "{name}: {step}");
        }
    }

    #[test]
    fn clips_are_equally_loud() {
        // BS.1770 over each clip of 0.8 s and more; shorter ones hold too few of its blocks.
        let mut levels = Vec::new();
        for (name, ms) in lengths_ms().filter(|(_, ms)| *ms >= 800) {
            let sound = clip(&name).expect("it is there");
            let mut meter = Meter::new(false, sound.rate_hz, false);
            meter.add(&sound.frames);
            let lufs = meter.read().lufs.expect("sound");
            levels.push((lufs, name, ms));
        }
        let mean = levels.iter().map(|(lufs, ..)| lufs).sum::<f64>() / levels.len() as f64;
        for (lufs, name, ms) in levels {
            assert!(
                (lufs - mean).abs() < 2.5,
                "{name}, {ms} ms: {lufs}, mean {mean}"
            );
        }
    }
}
