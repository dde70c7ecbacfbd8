//! Everything that can be said: shipped clips, own recordings, sentences of a speech program.

use std::collections::{BTreeMap, BTreeSet};

use super::clips;
use super::decode::DecodedSound;
use super::program::Program;
use super::resample::resample;
use crate::error::{Error, Result};
use crate::model::phrases::{Phrases, slug};
use crate::sound::Meter;

/// What a session's speech is made of.
#[derive(Debug, Clone)]
pub struct Voicebox {
    /// What is said.
    pub phrases: Phrases,
    /// Clips of the coach's own and of a speech program, at one loudness, by their names.
    own: BTreeMap<String, DecodedSound>,
    /// What a person should know of how it speaks.
    pub notes: Vec<String>,
}

/// The loudness to which clips from outside are brought, LUFS in both ears: that of the shipped.
const LOUDNESS_LUFS: f64 = -20.5;
/// No clip is raised so far that its largest sample passes this.
const MOST: f32 = 0.98;
/// Softer than the loudest sample by this factor (-36 dB) is silence at the ends of a clip.
const SILENCE: f32 = 0.016;
/// Kept before and after what sounds, s: soft consonants begin and end there.
const KEPT_S: f64 = 0.03;
/// Fades at both ends, s.
const FADE_S: f64 = 0.01;

impl Voicebox {
    /// The shipped clips alone.
    pub fn new(phrases: Phrases) -> Self {
        Self {
            phrases,
            own: BTreeMap::new(),
            notes: Vec::new(),
        }
    }

    /// Has every sentence that has no clip yet spoken by a program. One that fails is given up at
    /// once, and said in the notes: a hundred sentences are not waited for one by one.
    ///
    /// # Errors
    /// What the program could not do, where the person asked for it by name.
    pub fn learn(&mut self, texts: &[&str], program: &Program, asked_for: bool) -> Result<()> {
        let wanted: BTreeSet<&str> = texts.iter().copied().collect();
        for text in wanted {
            if self.has(&slug(text)) {
                continue;
            }
            match program.speak(text) {
                Ok(sound) => self.add(slug(text), &sound),
                Err(error) if asked_for => return Err(error),
                Err(error) => {
                    self.notes.push(first_line(&error));
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    /// Takes a clip from outside, trimmed and brought to the common loudness. Silence is no clip.
    pub fn add(&mut self, name: String, sound: &DecodedSound) {
        if let Some(sound) = ready(sound) {
            self.own.insert(name, sound);
        }
    }

    /// Whether there is a clip of this name.
    pub fn has(&self, name: &str) -> bool {
        self.own.contains_key(name) || clips::lengths_ms().any(|(clip, _)| clip == name)
    }

    /// How long each clip lasts, ms, rounded up.
    pub fn lengths_ms(&self) -> BTreeMap<String, u64> {
        let own = self.own.iter().map(|(name, sound)| {
            let ms = (sound.frames.len() as u64 * 1000).div_ceil(u64::from(sound.rate_hz));
            (name.clone(), ms)
        });
        clips::lengths_ms().chain(own).collect()
    }

    /// A clip as mono samples at a track's rate, from silence to silence.
    pub fn clip(&self, name: &str, rate_hz: u32) -> Option<Vec<f32>> {
        let shipped;
        let sound = match self.own.get(name) {
            Some(sound) => sound,
            None => {
                shipped = clips::clip(name)?;
                &shipped
            }
        };
        let frames = resample(sound, rate_hz);
        let mut mono: Vec<f32> = frames.iter().map(|[l, r]| (l + r) * 0.5).collect();
        // The filter rings a little past the ends, which must be silence.
        if let [first, .., last] = &mut mono[..] {
            (*first, *last) = (0.0, 0.0);
        }
        Some(mono)
    }
}

/// An error without what is accepted and the example: here it is no refusal.
fn first_line(error: &Error) -> String {
    let text = error.to_string();
    text.lines().next().unwrap_or_default().to_string()
}

/// A clip without the silence at its ends, faded, at the common loudness; none where it is silent.
fn ready(sound: &DecodedSound) -> Option<DecodedSound> {
    let mono = |frame: &[f32; 2]| (frame[0] + frame[1]) * 0.5;
    let mut samples: Vec<f32> = sound.frames.iter().map(mono).collect();
    let loudest = |samples: &[f32]| samples.iter().fold(0.0_f32, |max, s| max.max(s.abs()));
    let floor = loudest(&samples) * SILENCE;
    let sounds = |sample: &f32| sample.abs() > floor;
    let (first, last) = (
        samples.iter().position(sounds)?,
        samples.iter().rposition(sounds)?,
    );
    let rate = f64::from(sound.rate_hz);
    let kept = (KEPT_S * rate) as usize;
    samples.truncate((last + kept).min(samples.len()));
    samples.drain(..first.saturating_sub(kept));
    let fade = ((FADE_S * rate) as usize).min(samples.len() / 2).max(1);
    let length = samples.len();
    for n in 0..fade.min(length) {
        let rise = n as f32 / fade as f32;
        samples[n] *= rise;
        samples[length - 1 - n] *= rise;
    }
    let mut meter = Meter::new(false, sound.rate_hz, false);
    let frames: Vec<[f32; 2]> = samples.iter().map(|sample| [*sample; 2]).collect();
    meter.add(&frames);
    // A word shorter than one block of 400 ms: with silence about it, it fills a part of one.
    meter.silence(u64::from(sound.rate_hz));
    let lufs = meter.read().lufs?;
    let gain = 10_f64.powf((LOUDNESS_LUFS - lufs) / 20.0) as f32;
    let gain = gain.min(MOST / loudest(&samples).max(f32::MIN_POSITIVE));
    Some(DecodedSound {
        rate_hz: sound.rate_hz,
        frames: frames.iter().map(|[l, r]| [l * gain, r * gain]).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::phrases;

    /// A tone with silence before and after it.
    fn tone(level: f32) -> DecodedSound {
        let mut frames = vec![[0.0; 2]; 8000];
        frames.extend((0..16_000).map(|n| [(n as f32 * 0.4).sin() * level; 2]));
        frames.extend(vec![[0.0; 2]; 4000]);
        DecodedSound {
            rate_hz: 16_000,
            frames,
        }
    }

    #[test]
    fn clips_from_outside_come_trimmed_and_equally_loud() {
        let mut box_ = Voicebox::new(phrases::shipped());
        box_.add("soft".into(), &tone(0.01));
        box_.add("loud".into(), &tone(0.9));
        let [soft, loud] = ["soft", "loud"].map(|name| box_.clip(name, 16_000).expect("added"));
        let ms = box_.lengths_ms()["soft"];
        assert!((1000..1070).contains(&ms), "{ms} ms");
        let energy = |clip: &[f32]| clip.iter().map(|s| f64::from(s * s)).sum::<f64>();
        let apart_db = 10.0 * (energy(&soft) / energy(&loud)).log10();
        assert!(apart_db.abs() < 0.1, "{apart_db} dB apart");
        assert_eq!((soft[0], soft[soft.len() - 1]), (0.0, 0.0));
    }

    #[test]
    fn a_recording_of_the_coach_stands_in_for_a_shipped_clip() {
        let mut box_ = Voicebox::new(phrases::shipped());
        let before = box_.clip("left", 44_100).expect("shipped");
        box_.add("left".into(), &tone(0.5));
        assert_ne!(box_.clip("left", 44_100).expect("own"), before);
        box_.add("right".into(), &tone(0.0));
        assert!(box_.clip("right", 44_100).is_some(), "silence is no clip");
        assert!(box_.clip("no-such-words", 44_100).is_none());
    }
}
