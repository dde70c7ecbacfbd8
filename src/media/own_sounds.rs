//! A coach's own sounds and words: a folder of files, each named after what it stands in for.

use std::fs::File;
use std::path::{Path, PathBuf};

use super::decode::{DecodedSound, decode, open_sound};
use super::resample::resample;
use crate::error::{Error, Result};
use crate::model::cue::{Side, Voice};
use crate::model::voice::Recipe;
use crate::sound::{Bank, k125, true_peak};

/// What a folder holds.
#[derive(Debug, Clone, Default)]
pub struct OwnSounds {
    /// Sounds of cues and signals.
    pub cues: Vec<(Voice, DecodedSound)>,
    /// Spoken words, by the names of their clips.
    pub words: Vec<(String, DecodedSound)>,
    /// The files that all of them came from, in the order of their names.
    pub files: Vec<PathBuf>,
    /// What a person should know of the folder.
    pub notes: Vec<String>,
}

/// Endings of files that are taken for sounds.
const ENDINGS: [&str; 5] = ["wav", "mp3", "flac", "ogg", "oga"];
/// The longest sound of a cue, and the longest words, s.
const LONGEST_CUE_S: f64 = 10.0;
const LONGEST_WORDS_S: f64 = 60.0;
/// The most sound files in a folder: memory stays bounded.
const MOST_FILES: usize = 500;

/// The audible onset of a sound: where it first reaches this share of its peak (-30 dB).
const ONSET: f32 = 0.0316;
/// Kept before the onset, faded in, s: the start of an attack, and no click.
const RISE_S: f64 = 0.001;
/// A sound that is cut fades out over so many seconds.
const FALL_S: f64 = 0.02;

/// Reads a folder; `is_word` says which names are words of the phrase table or the session.
///
/// # Errors
/// When the folder or a sound in it cannot be read; each is named with what was expected.
pub fn own_sounds(folder: &Path, is_word: impl Fn(&str) -> bool) -> Result<OwnSounds> {
    let mut own = OwnSounds::default();
    for path in sounds_in(folder)? {
        let stem = path
            .file_stem()
            .map(|stem| stem.to_string_lossy().to_lowercase());
        let stem = stem.unwrap_or_default();
        let voice = Voice::ALL
            .into_iter()
            .find(|voice| voice.to_string() == stem);
        let longest_s = match (voice, is_word(&stem)) {
            (Some(_), _) => LONGEST_CUE_S,
            (None, true) => LONGEST_WORDS_S,
            (None, false) => {
                own.notes.push(format!(
                    "{}: not used; no sound and no words of this session have that name (sounds are {})",
                    path.display(),
                    cue_names()
                ));
                continue;
            }
        };
        let name = path.display().to_string();
        let sound = decode(Box::new(open_own(&path)?), &name, longest_s)?;
        if !sound
            .frames
            .iter()
            .flatten()
            .any(|sample| sample.abs() > 1e-4)
        {
            return Err(refuse(
                Error::input("silence: there is no sound in this file").at(&name),
            ));
        }
        match voice {
            Some(voice) => own.cues.push((voice, sound)),
            None => own.words.push((stem, sound)),
        }
        own.files.push(path);
    }
    own.notes.extend(lonely(&own.cues));
    Ok(own)
}

/// The sound files of a folder, by name: one at least, and no more than memory has room for.
fn sounds_in(folder: &Path) -> Result<Vec<PathBuf>> {
    let refused = |what: String| refuse(Error::input(what).at(folder.display()));
    let entries = std::fs::read_dir(folder)
        .map_err(|error| refused(format!("the folder of sounds cannot be read: {error}")))?;
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.retain(|path| is_sound(path));
    paths.sort();
    match paths.len() {
        0 => Err(refused("there is no sound in this folder".into())),
        n if n > MOST_FILES => Err(refused(format!("found {n} sounds, more than {MOST_FILES}"))),
        _ => Ok(paths),
    }
}

/// An error that says what a folder of sounds is.
fn refuse(error: Error) -> Error {
    error
        .accepted(format!(
            "a folder of WAV, MP3, FLAC or OGG files named {} or after words that are said",
            cue_names()
        ))
        .example("sounds = \"my-sounds\", with my-sounds/kick-left.wav in it")
}

/// The names of all sounds that are no words.
fn cue_names() -> String {
    Voice::ALL.map(|voice| voice.to_string()).join(", ")
}

/// Opens the file of an own sound.
///
/// # Errors
/// When it cannot be read, or is no file.
pub fn open_own(path: &Path) -> Result<File> {
    open_sound(path).map_err(|error| Error::io("cannot be read", path.display(), &error))
}

fn is_sound(path: &Path) -> bool {
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    !path.is_dir() && ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
}

/// Sounds whose other side is not there: left and right must be a pair.
fn lonely(cues: &[(Voice, DecodedSound)]) -> Vec<String> {
    let has = |voice: Voice| cues.iter().any(|(own, _)| *own == voice);
    let other = |voice: &Voice| {
        let side = voice.side.map(Side::other)?;
        let other = Voice {
            side: Some(side),
            ..*voice
        };
        (!has(other)).then(|| format!("there is a {voice}, and no {other}: the shipped one sounds"))
    };
    cues.iter().filter_map(|(voice, _)| other(voice)).collect()
}

/// A bank in which a person's own sounds stand in for the shipped ones: trimmed so that what is
/// heard first falls on the event, as loud as the sound they replace, and as short as cues are.
/// None peaks higher than that sound, which has its share of what may sound at once.
pub fn with_own(mut bank: Bank, own: &OwnSounds) -> Bank {
    for (voice, sound) in &own.cues {
        let rate_hz = bank.sample_rate_hz();
        let samples = ready(sound, bank.voice(*voice), rate_hz);
        bank = bank.with(*voice, samples);
    }
    bank
}

fn ready(sound: &DecodedSound, shipped: &[f32], rate_hz: u32) -> Vec<f32> {
    let rate = f64::from(rate_hz);
    let mut samples: Vec<f32> = (resample(sound, rate_hz).iter())
        .map(|[left, right]| (left + right) * 0.5)
        .collect();
    // Two channels that cancel each other are one of them.
    if peak(&samples) < 1e-4 {
        samples = resample(sound, rate_hz)
            .iter()
            .map(|frame| frame[0])
            .collect();
    }
    let floor = peak(&samples) * ONSET;
    let onset = (samples.iter()).position(|sample| sample.abs() >= floor);
    let rise = (RISE_S * rate) as usize;
    samples.drain(..onset.unwrap_or(0).saturating_sub(rise));
    let longest = (Recipe::LONGEST_MS / 1000.0 * rate) as usize - 1;
    samples.truncate(longest);
    let last = (samples.iter()).rposition(|sample| sample.abs() >= floor * 0.1);
    samples.truncate(last.map_or(1, |last| last + 1));
    let fall = ((FALL_S * rate) as usize).min(samples.len());
    let length = samples.len();
    for (n, sample) in samples.iter_mut().take(rise).enumerate() {
        *sample *= n as f32 / rise as f32;
    }
    for n in 0..fall {
        samples[length - 1 - n] *= n as f32 / fall as f32;
    }
    let louder_db = k125(shipped, rate_hz) - k125(&samples, rate_hz);
    let as_loud = 10_f64.powf(louder_db / 20.0) as f32;
    let as_high = true_peak(shipped) / true_peak(&samples).max(f32::MIN_POSITIVE);
    let gain = as_loud.min(as_high).min(f32::MAX);
    samples.iter().map(|sample| sample * gain).collect()
}

fn peak(samples: &[f32]) -> f32 {
    samples
        .iter()
        .fold(0.0, |max, sample| max.max(sample.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::voices;

    #[test]
    fn what_is_heard_first_falls_on_the_event_however_it_was_recorded() {
        for rate_hz in [44_100, 48_000] {
            // 300 ms of noise 50 dB down, then a tone of 1 s.
            let quiet = |n: u32| ((n * 7919 % 1000) as f32 / 500.0 - 1.0) * 0.002;
            let mut frames: Vec<[f32; 2]> = (0..6600).map(|n| [quiet(n); 2]).collect();
            frames.extend((0..22_000).map(|n| [(n as f32 * 0.2).sin() * 0.7; 2]));
            let sound = DecodedSound {
                rate_hz: 22_050,
                frames,
            };
            let bank = Bank::new(&voices::shipped(), rate_hz);
            let voice = Voice::ALL[2];
            let own = OwnSounds {
                cues: vec![(voice, sound)],
                ..OwnSounds::default()
            };
            let shipped = bank.voice(voice).to_vec();
            let bank = with_own(bank, &own);
            let samples = bank.voice(voice);
            let loud = peak(samples) * 0.5;
            let onset = samples.iter().position(|sample| sample.abs() > loud);
            let onset_ms = onset.expect("it sounds") as f64 * 1000.0 / f64::from(rate_hz);
            assert!(onset_ms < 2.5, "{onset_ms} ms");
            assert_eq!((samples[0], samples[samples.len() - 1]), (0.0, 0.0));
            assert!((samples.len() as f64) < 0.5 * f64::from(rate_hz));
            let apart_db = k125(samples, rate_hz) - k125(&shipped, rate_hz);
            assert!(apart_db.abs() < 0.1, "{apart_db} dB");
        }
    }

    #[test]
    fn a_click_peaks_no_higher_than_the_sound_it_stands_in_for() {
        let mut frames = vec![[0.0; 2]; 4410];
        frames[100..140].fill([0.9; 2]);
        frames[140..2000].fill([0.02; 2]);
        let click = DecodedSound {
            rate_hz: 44_100,
            frames,
        };
        let bank = Bank::new(&voices::shipped(), 44_100);
        for voice in Voice::ALL {
            let shipped = bank.voice(voice);
            let samples = ready(&click, shipped, 44_100);
            let peaks = [&samples, shipped].map(true_peak);
            assert!(
                (peaks[0] / peaks[1] - 1.0).abs() < 1e-3,
                "{voice}: {peaks:?}"
            );
            assert!(k125(&samples, 44_100) < k125(shipped, 44_100), "{voice}");
        }
    }

    #[test]
    fn two_channels_that_cancel_are_heard_all_the_same() {
        let frames = (0..9000).map(|n| (n as f32 * 0.2).sin() * 0.5);
        let sound = DecodedSound {
            rate_hz: 44_100,
            frames: frames.map(|sample| [sample, -sample]).collect(),
        };
        let bank = Bank::new(&voices::shipped(), 44_100);
        let samples = ready(&sound, bank.voice(Voice::ALL[0]), 44_100);
        assert!(peak(&samples) > 0.05);
    }
}
