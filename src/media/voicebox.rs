//! Everything that can be said: shipped clips, own recordings, sentences of a speech program.

use std::collections::{BTreeMap, BTreeSet};

use super::clips;
use super::decode::DecodedSound;
use super::program::{self, Program};
use super::resample::resample;
use crate::error::{Error, Result};
use crate::model::phrases::{Phrases, slug};
use crate::model::track_format::Fold;
use crate::sound::{BOTH_EARS_DB, CEILING, clear, k125, true_peak};

/// What a session's speech is made of.
#[derive(Debug, Clone)]
pub struct Voicebox {
    /// What is said.
    pub phrases: Phrases,
    /// Clips of the coach's own and of a speech program, made as clear as the shipped, by their names.
    own: BTreeMap<String, DecodedSound>,
    /// What a person should know of how it speaks.
    pub notes: Vec<String>,
}

/// The K125 level of every clip in both ears, LUFS, the same in every session: 0.4 dB under that of
/// the start signal, by which people set the volume. Clips that follow each other at once add up to
/// 0.8 dB to it, so that the loudest sentence is as loud as the start.
const WORDS_K125: f64 = -19.7;
/// On deck words are so much louder: there they come from afar, and no cue sounds with them, dB.
const LOUDER_ON_DECK_DB: f64 = 6.0;
/// Softer than the loudest sample by this factor (-36 dB) is silence at the ends of a clip.
const SILENCE: f32 = 0.016;
/// Kept before and after what sounds, s: soft consonants begin and end there.
const KEPT_S: f64 = 0.03;
/// Fades at both ends, s.
const FADE_S: f64 = 0.01;

/// For whom words are said, and so how loud.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WordsFor {
    /// Who wears a player: as loud as the start signal.
    Tracks,
    /// Who stands about a loudspeaker.
    Deck,
}

impl WordsFor {
    /// What brings a clip of mono samples to its level without a peak over the ceiling.
    fn factor(self, samples: &[f32], rate_hz: u32) -> f32 {
        let (louder_db, most) = match self {
            // A track of one channel holds both ears at once.
            Self::Tracks => {
                let mono = Fold::Balanced;
                (0.0, CEILING / mono.single([mono.both_ears(); 2]))
            }
            Self::Deck => (LOUDER_ON_DECK_DB, CEILING),
        };
        let missing_db = WORDS_K125 + louder_db - BOTH_EARS_DB - k125(samples, rate_hz);
        let wanted = 10_f64.powf(missing_db / 20.0) as f32;
        wanted.min(most / true_peak(samples).max(f32::MIN_POSITIVE))
    }
}

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

    /// Where no program is there: says in the notes what installs one, if a sentence needs it.
    pub fn miss<'a>(&mut self, mut sentences: impl Iterator<Item = &'a str>) {
        if sentences.any(|sentence| !self.has(&slug(sentence))) {
            let line = program::installed_by();
            (self.notes).push(format!(
                "to have own words spoken, install a program: {line}"
            ));
        }
    }

    /// Takes a clip from outside, trimmed and made clear. Silence is no clip.
    pub fn add(&mut self, name: String, sound: &DecodedSound) {
        if let Some(sound) = ready(sound) {
            self.own.insert(name, sound);
        }
    }

    /// Whether there is a clip of this name.
    pub fn has(&self, name: &str) -> bool {
        self.own.contains_key(name) || clips::is_there(name)
    }

    /// How long each clip lasts, ms, rounded up.
    pub fn lengths_ms(&self) -> BTreeMap<String, u64> {
        let own = self.own.iter().map(|(name, sound)| {
            let ms = (sound.frames.len() as u64 * 1000).div_ceil(u64::from(sound.rate_hz));
            (name.clone(), ms)
        });
        clips::lengths_ms().chain(own).collect()
    }

    /// A clip as mono samples at a track's rate, from silence to silence, as loud as all others.
    pub fn clip(&self, name: &str, rate_hz: u32, to: WordsFor) -> Option<Vec<f32>> {
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
        let factor = to.factor(&mono, rate_hz);
        mono.iter_mut().for_each(|sample| *sample *= factor);
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

/// A clip without the silence at its ends, made clear, faded; none where it is silent.
fn ready(sound: &DecodedSound) -> Option<DecodedSound> {
    let mono = |frame: &[f32; 2]| (frame[0] + frame[1]) * 0.5;
    let mut samples: Vec<f32> = sound.frames.iter().map(mono).collect();
    let loudest = samples.iter().fold(0.0_f32, |max, s| max.max(s.abs()));
    let sounds = |sample: &f32| sample.abs() > loudest * SILENCE;
    let (first, last) = (
        samples.iter().position(sounds)?,
        samples.iter().rposition(sounds)?,
    );
    let rate = f64::from(sound.rate_hz);
    let kept = (KEPT_S * rate) as usize;
    samples.truncate((last + kept).min(samples.len()));
    samples.drain(..first.saturating_sub(kept));
    let mut samples = clear(&samples, sound.rate_hz);
    let length = samples.len();
    let fade = ((FADE_S * rate) as usize).min(length / 2).max(1);
    for n in 0..fade.min(length) {
        let rise = n as f32 / fade as f32;
        samples[n] *= rise;
        samples[length - 1 - n] *= rise;
    }
    Some(DecodedSound {
        rate_hz: sound.rate_hz,
        frames: samples.iter().map(|sample| [*sample; 2]).collect(),
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
        let [soft, loud] =
            ["soft", "loud"].map(|name| box_.clip(name, 16_000, WordsFor::Tracks).expect("added"));
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
        let before = box_
            .clip("left", 44_100, WordsFor::Tracks)
            .expect("shipped");
        box_.add("left".into(), &tone(0.5));
        assert_ne!(
            box_.clip("left", 44_100, WordsFor::Tracks).expect("own"),
            before
        );
        box_.add("right".into(), &tone(0.0));
        assert!(
            box_.clip("right", 44_100, WordsFor::Tracks).is_some(),
            "silence is no clip"
        );
        assert!(
            box_.clip("no-such-words", 44_100, WordsFor::Tracks)
                .is_none()
        );
    }

    #[test]
    fn every_clip_is_about_as_loud_as_the_start_and_6_db_louder_on_deck() {
        let bank = crate::sound::Bank::new(&crate::files::voices::shipped(), 48_000);
        let start = crate::model::cue::Voice {
            kind: crate::model::cue::CueKind::Start,
            side: None,
        };
        let start = k125(bank.voice(start), 48_000) + BOTH_EARS_DB;
        assert!(
            (start - WORDS_K125 - 0.4).abs() < 0.1,
            "the start is at {start}"
        );
        let mut box_ = Voicebox::new(phrases::shipped());
        // A coach's word of one click after another: its peaks are far above its level.
        let mut clicks = tone(0.0);
        clicks
            .frames
            .iter_mut()
            .step_by(1600)
            .for_each(|frame| *frame = [0.9; 2]);
        box_.add("clicks".into(), &clicks);
        box_.add("soft".into(), &tone(0.01));
        for (to, louder_db) in [(WordsFor::Tracks, 0.0), (WordsFor::Deck, 6.0)] {
            for name in box_.lengths_ms().into_keys() {
                let clip = box_.clip(&name, 48_000, to).expect("it is there");
                let level = k125(&clip, 48_000) + BOTH_EARS_DB;
                let off = level - WORDS_K125 - louder_db;
                if name == "clicks" {
                    assert!(off < -1.0, "{off} dB");
                } else {
                    assert!(off.abs() < 0.1, "{name}: {off} dB off for {to:?}");
                }
                // One channel has both ears at 2 x 0.7071 x 0.955 times their level.
                let most = if to == WordsFor::Deck { 1.0 } else { 1.3506 };
                let peak = true_peak(&clip) * most;
                assert!(peak <= CEILING * 1.0001, "{name}: {peak} for {to:?}");
            }
        }
    }
}
