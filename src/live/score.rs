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
