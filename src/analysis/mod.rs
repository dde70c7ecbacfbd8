//! What happened: marks read as phases, with honest intervals.
//!
//! In: plain data from `model`. Out: estimates, each with its 95 % interval where one can be
//! given, and with the number of cycles behind it. Nothing here reads a file or a clock; equal
//! marks give equal numbers. Phases are fractions of a cycle, times are seconds.

mod arm_shares;
mod beats;
pub mod behind;
pub mod came;
pub mod circular;
pub mod css;
mod doubts;
pub mod follow;
mod hands_mixed;
mod kicks;
pub mod locked;
pub mod marked_twice;
pub mod paired;
mod pairing;
mod pass;
mod passes;
pub mod random;
pub mod sequential;
mod slope;
pub mod stats;
pub mod steps;
pub mod student;
mod tapped_period;
pub mod taps;
pub mod timing;
pub mod trial;
pub mod trial_foreseen;
pub mod trial_verdict;
pub mod weeks;

pub use beats::{Beats, kick_period};
pub use doubts::{Doubt, DoubtKind, of_cues};
pub use kicks::{LegKick, RelativePhase};
pub use pairing::{NearerTo, Nearest};
pub use pass::Pass;

use crate::model::cue::{PerSide, Side};

/// A number with its 95 % interval, where there is one, and the number of units behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The number.
    pub value: f64,
    /// Low and high end of its 95 % interval.
    pub interval: Option<(f64, f64)>,
    /// How many cycles (or marks) it rests on.
    pub n: usize,
}

impl Estimate {
    /// The same in another unit.
    #[must_use]
    pub fn map(self, change: impl Fn(f64) -> f64) -> Self {
        let ends = |(low, high)| {
            let (a, b): (f64, f64) = (change(low), change(high));
            (a.min(b), a.max(b))
        };
        Self {
            value: change(self.value),
            interval: self.interval.map(ends),
            n: self.n,
        }
    }

    /// A lag behind a cue that may have come earlier or later than taken, by as much as `within` (below
    /// 0, above 0, both in the lag's unit): the interval holds either.
    #[must_use]
    pub fn behind_within(self, (earlier, later): (f64, f64)) -> Self {
        Self {
            interval: self
                .interval
                .map(|(low, high)| (low - later, high - earlier)),
            ..self
        }
    }

    /// Half the width of the interval.
    pub fn half_width(&self) -> Option<f64> {
        self.interval.map(|(low, high)| (high - low) / 2.0)
    }
}

/// One thing for each side, where it could be had.
pub type Sides<T> = PerSide<Option<T>>;

/// Makes a value for each side.
fn for_sides<T>(make: impl Fn(Side) -> T) -> PerSide<T> {
    PerSide {
        left: make(Side::Left),
        right: make(Side::Right),
    }
}

/// The same distance on the circle, from -1/2 (excluded) to 1/2 (included).
fn wrap_half(cycles: f64) -> f64 {
    let wrapped = cycles - cycles.round();
    if wrapped <= -0.5 {
        wrapped + 1.0
    } else {
        wrapped
    }
}
