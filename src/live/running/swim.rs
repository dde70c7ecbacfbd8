//! One swim by the clock: when each swimmer was sent off, when somebody came in.

use crate::model::kick::{Kick, Pairing};

/// What was sounded last in a swim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CuedLast {
    /// Strokes/min.
    pub spm: f64,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
}

/// A swim that has begun. Times are seconds on the clock of the keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Swim {
    /// Tells it from every other swim since the program began.
    pub id: u32,
    /// Its index in the order in which repeats are swum.
    pub repeat: usize,
    /// Index of its set.
    pub set: usize,
    /// Which repeat of the set, from 1.
    pub number: u64,
    /// Whether the repeat has been swum before.
    pub again: bool,
    /// How many were in when it was ended before its time, where not all were.
    pub stopped_with: Option<usize>,
    /// Whether the sound was paused in it.
    pub paused: bool,
    /// What was sounded last.
    pub cued: CuedLast,
    /// When each swimmer heard the go, in the order of leaving; none before it.
    pub went: Vec<Option<f64>>,
    /// When somebody came in, in that order.
    pub came: Vec<f64>,
    /// Who that was, by the order of leaving; as many as there are swimmers.
    pub order: Vec<usize>,
    /// Splits of the one swimmer, s after the go.
    pub splits: Vec<f64>,
}

impl Swim {
    /// The time of a swimmer, s after their own go; none where none was taken.
    pub fn time_s(&self, swimmer: usize) -> Option<f64> {
        let place = self.order.iter().position(|who| *who == swimmer)?;
        let (came, went) = (self.came.get(place)?, self.went.get(swimmer)?.as_ref()?);
        Some(hundredths(came - went)).filter(|time| *time > 0.0)
    }

    /// Whether a swimmer was still swimming when it was ended before its time.
    pub fn is_stopped(&self, swimmer: usize) -> bool {
        let place = self.order.iter().position(|who| *who == swimmer);
        (self.stopped_with.zip(place)).is_some_and(|(in_before, place)| place >= in_before)
    }

    /// Who comes in next, in the order of leaving; none once all are in.
    pub fn next_in(&self) -> Option<usize> {
        self.order.get(self.came.len()).copied()
    }

    /// Whether everybody is in.
    pub fn all_in(&self) -> bool {
        self.came.len() == self.order.len()
    }
}

/// To hundredths of a second, in which a clock by hand is read.
pub(super) fn hundredths(seconds: f64) -> f64 {
    (seconds * 100.0).round() / 100.0
}
