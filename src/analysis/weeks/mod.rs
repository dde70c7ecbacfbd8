//! Where an athlete stands on a plan: each week planned against swum, and what follows from it.
//!
//! A week is judged by its days: the middle of each day's swims, and the middle of the days, so
//! that a wild swim or a wild day moves little. All weeks together say how fast each rate of the
//! path is (`levels`), and the rate goes up unless a loss is more likely than not (`gate`).

mod ahead;
mod beside;
mod course;
mod days;
mod gate;
mod levels;
mod observed;
mod path_walk;
pub mod rules;
mod standing;
mod swims;
mod verdict;
mod week;
mod weekly;

pub use ahead::Ahead;
pub use course::{CourseDay, CourseStanding, Outcome};
pub use levels::Difference;
pub use standing::{Standing, WhatIf, follow};
pub use swims::{LoggedSwim, OfLog, Untaken};
pub use verdict::{Figures, Finding, Timed, WeekVerdict, Weighed};
pub use week::{Week, WeekTense};
pub use weekly::{Weekly, weekly};
