//! What the deck plays: a session, or one set without end, at one sample rate.

use std::sync::Arc;

use crate::model::cue::CueKind;
use crate::model::resolve::{Resolved, Set};
use crate::sound::{Bank, Speech};
use crate::timeline::{Schedule, Timeline};
use crate::units::{Fix, fraction};

/// A session, or one endless set, laid out at one sample rate: what an engine is made of.
#[derive(Debug, Clone)]
pub struct Score {
    /// What sounds when.
    pub timeline: Arc<Timeline>,
    pub(super) bank: Arc<Bank>,
    pub(super) speech: Arc<Speech>,
    /// Frames of the whole; none for an endless set.
    pub frames: Option<u64>,
    pub(super) swap: bool,
}

impl Score {
    /// A session from its first frame to its last, as loud as its exported track.
    pub fn session(session: &Resolved, schedule: &Schedule, bank: Bank, swap: bool) -> Self {
        let rate = bank.sample_rate_hz();
        let timeline = Arc::new(Timeline::new(session, schedule, rate));
        Self {
            frames: Some(timeline.frames()),
            timeline,
            bank: Arc::new(bank),
            speech: Arc::default(),
            swap,
        }
    }

    /// The same session with what its track says.
    #[must_use]
    pub fn saying(mut self, speech: Arc<Speech>) -> Self {
        self.speech = speech;
        self
    }

    /// One set without end, from its first entry on.
    pub fn endless(set: &Set, bank: Bank, swap: bool) -> Self {
        let rate = bank.sample_rate_hz();
        // A quarter of a second before the first entry: nothing with a lead is too late.
        let first_entry = fraction(1, 4) + most_lead(set);
        Self {
            timeline: Arc::new(Timeline::endless(set, rate, first_entry)),
            frames: None,
            bank: Arc::new(bank),
            speech: Arc::default(),
            swap,
        }
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.bank.sample_rate_hz()
    }

    /// The frame at which a repeat begins to be played: where the track would be cut before it.
    pub fn beginning_of(&self, repeat: usize) -> u64 {
        if repeat < self.timeline.repeats() {
            self.timeline.frames_of(&(repeat..repeat + 1)).start
        } else {
            0
        }
    }
}

fn most_lead(set: &Set) -> Fix {
    let leads = [CueKind::Arm, CueKind::Kick, CueKind::Breath].map(|kind| *set.lead.of(kind).s());
    leads.into_iter().fold(Fix::ZERO, Fix::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{PRESETS, parse_session, parse_swimmer, voices};
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;
    use crate::render::Mixer;
    use crate::sound::{CEILING, true_peak};
    use crate::timeline::Goes;

    const SWIMMER: &str = include_str!("../../presets/swimmers/adult-learner.toml");

    /// The largest true peak of a repeat from its start to a while after its last go.
    fn peak(score: &Score, repeat: usize, goes: Goes) -> f32 {
        let rate_hz = u64::from(score.sample_rate_hz());
        let start = score.timeline.laid(repeat).expect("a repeat").start;
        let start = start.in_frames(score.sample_rate_hz()).0 as u64;
        let share = goes.share_s().in_frames(score.sample_rate_hz()).0 as u64;
        let events = score.timeline.events_of(repeat..repeat + 1);
        let mut mixer = Mixer::new(&*score.bank, false, start - rate_hz, events);
        let mut frames = vec![[0.0; 2]; (share + 3 * rate_hz) as usize];
        mixer.fill(&mut frames);
        let ears = [0, 1].map(|ear| frames.iter().map(|frame| frame[ear]).collect::<Vec<f32>>());
        ears.iter().map(|ear| true_peak(ear)).fold(0.0, f32::max)
    }

    #[test]
    fn later_swimmers_goes_stay_under_the_ceiling_over_whatever_sounds() {
        let swimmer = parse_swimmer("adult-learner.toml", SWIMMER).expect("shipped");
        let mut most = 0.0_f32;
        for tenths in [10, 53] {
            let goes = Goes {
                swimmers: 6,
                apart_s: fraction(tenths, 10),
            };
            for preset in PRESETS {
                let session = parse_session("preset.toml", preset.text).expect("shipped");
                let session = resolve(&session, Some(&swimmer), &Wishes::default());
                let session = session.expect("shipped");
                let schedule = Schedule::for_all(&session, goes).expect("fits");
                let bank = Bank::new(&voices::shipped(), 44_100);
                let score = Score::session(&session, &schedule, bank, false);
                for set in 0..session.sets.len() {
                    let first = schedule.repeats.iter().position(|one| one.set == set);
                    let peak = peak(&score, first.expect("it is swum"), goes);
                    assert!(peak <= CEILING, "{}, {tenths}: {peak}", preset.name);
                    most = most.max(peak);
                }
            }
        }
        // Goes do fall on cues: a pair alone is lower.
        assert!(most > 0.69, "{most}");
    }

    #[test]
    fn swimmers_who_leave_together_have_one_go() {
        let text = "[[set]]\nswim = \"30 s\"\nrate = \"60 spm\"\n";
        let session = parse_session("set.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let goes = Goes {
            swimmers: 6,
            apart_s: Fix::ZERO,
        };
        let schedule = Schedule::for_all(&session, goes).expect("fits");
        let timeline = Timeline::new(&session, &schedule, 8000);
        let starts = timeline.events().filter(|one| one.kind == CueKind::Start);
        assert_eq!(starts.count(), 1);
    }
}
