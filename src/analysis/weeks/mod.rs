//! Where an athlete stands on a plan: each week planned against swum, and what follows from it.
//!
//! A week is judged by its days: the middle of each day's swims, and the middle of the days, so
//! that a wild swim or a wild day moves little. The intervals come from how much the days of one
//! week differ, pooled over all weeks so far, never less than the swims inside a day allow. The
//! rate goes up only where those intervals leave no room for a loss beyond the rules' limits.

mod compare;
mod judge;
mod path_walk;
mod standing;
mod swims;
mod week;
mod weekly;

pub use compare::Figures;
pub use judge::{Finding, Timed, WeekVerdict};
pub use standing::{Standing, WhatIf, follow};
pub use swims::{LoggedSwim, OfLog, Untaken};
pub use week::{Week, WeekTense};
pub use weekly::{Weekly, weekly};

/// How distance per stroke falls with rate, for one swimmer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DpsLine {
    /// The slope of a step test, m a stroke/min.
    Steps(f64),
    /// None was tested: from the last held rate, at the speed held there.
    LastHeld,
}
