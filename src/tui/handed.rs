//! What the screen hands to the rest of the program, as plain data.

use super::results::Entered;
use crate::live::CuedLast;
use crate::timeline::{Schedule, Since};
use crate::units::Time;

/// The schedule as it goes, to be laid out anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Laying {
    /// The schedule.
    pub course: Schedule,
    /// From where on something is to be said.
    pub since: Since,
}

/// A result, or that there is none any more.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptResult {
    /// The swim's id and the swimmer, by the order of leaving: what tells it from all others.
    pub of: (u32, usize),
    /// What is to be kept.
    pub swum: Option<SwumResult>,
}

/// What was measured of a swim, and what was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct SwumResult {
    /// Index of its set.
    pub set: usize,
    /// Which repeat of it, from 1.
    pub repeat: u64,
    /// Whether the repeat had been swum before.
    pub again: bool,
    /// Whether it was ended before the swimmer was in.
    pub stopped: bool,
    /// The time that was taken or entered.
    pub time: Option<Time>,
    /// Splits, s.
    pub splits: Vec<f64>,
    /// What was sounded last.
    pub cued: CuedLast,
    /// What a coach has entered.
    pub entered: Entered,
}
