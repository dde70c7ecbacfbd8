//! The catch as a person asks for it: a coach's number, or the swimmer's own.

use super::cue::PerSide;
use crate::units::Fix;

/// The word that asks for the measured catch.
pub const MEASURED: &str = "measured";

/// A catch as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CatchWish {
    /// After each hand's entry, a share of a cycle, 0 to 0.5.
    Said(PerSide<Fix>),
    /// The mean of the two that the swimmer's marks gave: measured is cued only by this word, and
    /// one arm's limp never.
    Measured,
}
