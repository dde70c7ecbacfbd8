//! What the marks of the hands say of the arms, in shares of the cycle.

use super::circular::Circular;
use super::kicks::on_circle;
use super::marked_twice::Habits;
use super::pass::Pass;
use super::stats::mean;
use super::student::Mean;
use super::{Estimate, Sides, for_sides};
use crate::model::cue::Side;
use crate::model::record::StrokeMoment;

/// The catch comes within this share of the cycle after its entry (docs/rules.md), with room for error.
const LATEST_CATCH: f64 = 0.6;
/// The exit comes within this share of the cycle after its catch.
const LATEST_EXIT: f64 = 0.9;

/// What each mark has by the way it was read: the error of a share of the cycle between two marks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reading<'a> {
    /// Variance that the film's frames give one mark, s².
    pub of_frames: f64,
    /// What a second marking tells.
    pub habits: &'a Habits,
    /// The swimmer's cycle, s.
    pub cycle_s: f64,
}

impl Reading<'_> {
    /// The least variance of the time between two marks, s²: of the frames, or of the marking
    /// where that is known and more.
    pub fn floor_s2(&self, from: StrokeMoment, to: StrokeMoment) -> f64 {
        (2.0 * self.of_frames).max(self.habits.scatter_s2(from, to))
    }

    /// The same of a share of the cycle.
    pub fn floor(&self, from: StrokeMoment, to: StrokeMoment) -> f64 {
        self.floor_s2(from, to) / self.cycle_s.powi(2)
    }

    /// Squared error of every such share together, by a habit of the marker.
    pub fn habit2(&self, from: StrokeMoment, to: StrokeMoment) -> f64 {
        self.habits.apart_s2(from, to) / self.cycle_s.powi(2)
    }
}

/// What the marks of the hands say, in shares of the cycle.
pub(super) struct ArmShares {
    /// From the left entry to the right one.
    pub right: Option<Mean>,
    /// From entry to catch.
    pub catches: Sides<Mean>,
    /// From catch to exit.
    pub pulls: Sides<Mean>,
    /// How far the arms lie apart, % of the cycle.
    pub idc_percent: Sides<Estimate>,
}

impl ArmShares {
    /// Of all passes.
    pub fn of(passes: &[Pass], reading: &Reading) -> Self {
        let shares_mean = |found: Vec<(f64, f64)>, from, to| {
            let shares: Vec<f64> = found.into_iter().map(|(s, cycle_s)| s / cycle_s).collect();
            let mean = Mean::of(&shares, reading.floor(from, to))?;
            Some(mean.with(reading.habit2(from, to)))
        };
        let share = |from: (StrokeMoment, Side), to: (StrokeMoment, Side), most| {
            let delays = passes.iter().flat_map(|pass| pass.delays(from, to, most));
            shares_mean(delays.collect(), from.0, to.0)
        };
        Self {
            right: share(
                (StrokeMoment::Entry, Side::Left),
                (StrokeMoment::Entry, Side::Right),
                1.0,
            ),
            catches: for_sides(|side| {
                share(
                    (StrokeMoment::Entry, side),
                    (StrokeMoment::Catch, side),
                    LATEST_CATCH,
                )
            }),
            pulls: for_sides(|side| {
                share(
                    (StrokeMoment::Catch, side),
                    (StrokeMoment::Exit, side),
                    LATEST_EXIT,
                )
            }),
            idc_percent: for_sides(|side| {
                // From the other arm's catch on to this arm's exit: positive where they overlap.
                let (from, to) = (
                    (StrokeMoment::Catch, side.other()),
                    (StrokeMoment::Exit, side),
                );
                let overlaps = passes.iter().flat_map(|pass| pass.nearest(from, to, 1.0));
                shares_mean(overlaps.collect(), from.0, to.0)
                    .map(|mean| mean.estimate().map(|share| 100.0 * share))
            }),
        }
    }

    /// κ, the mean of the arms that show it.
    pub fn mean_catch(&self) -> Option<f64> {
        let seen: Vec<f64> = self.catches.known().map(|(_, catch)| catch.value).collect();
        mean(&seen)
    }

    /// ε: measured, else half a cycle.
    pub fn right_entry(&self) -> f64 {
        self.right.map_or(0.5, |mean| mean.value)
    }
}

/// The moment of the hands whose sides do not go with those of the entries, in all of the film:
/// the catches where they come before their entry rather than after it, the exits where they come
/// right after it. Both together speak against the entries. `right_entry` is ε.
pub(super) fn crossed_hands(passes: &[Pass], right_entry: f64) -> Option<StrokeMoment> {
    let crossed = |moment, from: f64, to: f64| {
        let after_entry = |side| {
            let entry = match side {
                Side::Left => 0.0,
                Side::Right => right_entry,
            };
            let phases: Vec<f64> = (passes.iter())
                .flat_map(|pass| on_circle(pass, moment, side, right_entry))
                .collect();
            let circular = Circular::of(&phases).filter(|circular| circular.n >= 3)?;
            let after = circular.mean - entry;
            Some(circular.r > 0.8 && (from..to).contains(&(after - after.floor())))
        };
        let seen: Vec<bool> = Side::BOTH.into_iter().filter_map(after_entry).collect();
        (!seen.is_empty()).then(|| seen.into_iter().all(|crossed| crossed))
    };
    // Half a cycle off from where they are (docs/rules.md; catch + press is 0.65 to 0.9).
    let catches = crossed(StrokeMoment::Catch, 0.6, 0.92);
    let exits = crossed(StrokeMoment::Exit, 0.1, 0.42);
    match (catches, exits) {
        (Some(true), Some(true)) => Some(StrokeMoment::Entry),
        (Some(true), _) => Some(StrokeMoment::Catch),
        (_, Some(true)) => Some(StrokeMoment::Exit),
        _ => None,
    }
}
