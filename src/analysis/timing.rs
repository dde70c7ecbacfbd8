//! Stroke timing of one swimmer from the marks of a film.

use libm::sqrt;

use super::kicks::{LegKick, RelativePhase, beats_per_cycle, estimates, lag, on_circle};
use super::pairing::{Nearest, TRUSTED_HALF_ERROR, Targets, nearest, paired_kicks};
use super::pass::Pass;
use super::passes::tidy;
use super::slope::cycle_time;
use super::student::Mean;
use super::{Estimate, Sides, for_sides};
use crate::error::Result;
use crate::model::circle::Stroke;
use crate::model::cue::{PerSide, Side};
use crate::model::kick::{Kick, Pairing, pairings_apart};
use crate::model::record::{Marks, StrokeMoment};
use crate::units::{Rate, fraction, to_f64};

/// What the marks say. Everything that they do not is absent.
#[derive(Debug, Clone)]
pub struct Timing {
    /// The passes as folded.
    pub passes: Vec<Pass>,
    /// Cycles without a gap, over all passes.
    pub cycles: usize,
    /// Strokes a minute.
    pub rate_spm: Estimate,
    /// Seconds a cycle.
    pub cycle_s: Estimate,
    /// Standard deviation of single cycles, s.
    pub cycle_sd_s: Option<f64>,
    /// ε, where one pass shows both hands.
    pub right_entry: Option<Estimate>,
    /// κ of each arm.
    pub catch_after_entry: Sides<Estimate>,
    /// From catch to exit, as a share of the cycle.
    pub propulsive: Sides<Estimate>,
    /// From the end of one arm's propulsion to the start of the other's, % of the cycle, by the
    /// arm that ends.
    pub idc_percent: Sides<Estimate>,
    /// The mean of both.
    pub idc_mean_percent: Option<Estimate>,
    /// 0, 2, 4 or 6.
    pub beats_per_cycle: u32,
    /// Whether any kick is marked: without, no beats may also mean hidden feet.
    pub kicks_marked: bool,
    /// Paired kicks.
    pub kicks: Sides<LegKick>,
    /// Lag of each foot behind the catch of its own side, s.
    pub lag_same_s: Sides<Estimate>,
    /// Lag of each foot behind the other hand's entry, s.
    pub lag_opposite_s: Sides<Estimate>,
    /// Discrete relative phase of the catch in the foot's kick cycle.
    pub relative_same: Sides<RelativePhase>,
    /// The same for the entry.
    pub relative_opposite: Sides<RelativePhase>,
    /// The pairing that the kick is nearer to.
    pub nearest: Option<Nearest>,
    /// How far the two pairings lie apart for this stroke and kick, s.
    pub pairings_apart_s: Option<f64>,
    /// What the film's frames add.
    pub frames: Option<FrameUncertainty>,
    /// Marks set aside, by name.
    pub set_aside: Vec<String>,
    /// Marks that a cycle lacks, by name.
    pub missing: Vec<String>,
    /// What was assumed, accepted or cannot be told.
    pub notes: Vec<String>,
}

/// The film's part in the uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameUncertainty {
    /// Frames a second.
    pub rate_hz: f64,
    /// Standard deviation that rounding to a frame gives a mark, s: 1 / (f √12).
    pub mark_sd_s: f64,
    /// The frames' part of the variance of one delay between two marks, 0 to 1.
    pub share: f64,
    /// A usual frame rate at which that part would be a tenth or less; none if even 240 is not enough.
    pub enough_hz: Option<f64>,
}

/// Frame rates that cameras have.
const USUAL_RATES_HZ: [f64; 6] = [25.0, 30.0, 50.0, 60.0, 120.0, 240.0];
/// The catch comes within this share of the cycle after its entry (docs/rules.md), with room for error.
const LATEST_CATCH: f64 = 0.6;
/// The exit comes within this share of the cycle after its catch.
const LATEST_EXIT: f64 = 0.9;

impl Timing {
    /// Reads the marks.
    ///
    /// # Errors
    /// When no hand has two entries in one pass, or all marks are at one time.
    pub fn of(marks: &Marks) -> Result<Self> {
        let tidy = tidy(marks)?;
        let passes = tidy.passes;
        // A delay is between two marks, each rounded to its frame.
        let mark_variance = marks.frame_rate_hz.map_or(0.0, |hz| 1.0 / (12.0 * hz * hz));
        let runs: Vec<_> = passes.iter().flat_map(Pass::points).collect();
        let cycles = passes.iter().map(|pass| pass.cycles(pass.lead)).sum();
        let cycle_s = cycle_time(&runs, cycles, mark_variance)
            .expect("a pass has two entries, and these a slope");
        let scale = cycle_s.value;
        let floor = 2.0 * mark_variance / (scale * scale);

        let arms = Arms::of(&passes, floor);
        let kicks_marked = (passes.iter()).any(|pass| {
            Side::BOTH
                .iter()
                .any(|leg| !pass.of(StrokeMoment::Kick, *leg).is_empty())
        });
        let beats = beats_per_cycle(&passes);
        let right_entry = arms.right.map_or(0.5, |mean| mean.value);
        let entry_error2 = (arms.right).map_or(TRUSTED_HALF_ERROR.powi(2), |mean| mean.error2);
        let targets = Targets::new(right_entry, entry_error2, &arms.catches);
        let kicks = paired_kicks(&passes, beats, right_entry, &targets, floor);
        let lags = |pairing| {
            for_sides(|leg| lag(&passes, pairing, leg, beats, scale, 2.0 * mark_variance))
        };
        let (same, opposite) = (lags(Pairing::SameSide), lags(Pairing::OppositeSide));
        let relative = |pairing| for_sides(|leg| RelativePhase::of(&passes, pairing, leg, beats));

        let delay_variance = delay_variance(&same, &opposite, &arms, scale);
        let mut notes = marks.notes.clone();
        if tidy.sorted {
            notes.push("Marks were not in order of time; they are put in order.".into());
        }
        let mut timing = Self {
            cycles,
            rate_spm: cycle_s.map(|s| 120.0 / s),
            cycle_s,
            cycle_sd_s: cycle_sd(&passes),
            right_entry: arms.right.map(|mean| mean.estimate()),
            catch_after_entry: for_sides(|side| estimates(*arms.catches.of(side))),
            propulsive: for_sides(|side| estimates(*arms.pulls.of(side))),
            idc_percent: arms.idc_percent,
            idc_mean_percent: mean_idc(&arms.pulls),
            beats_per_cycle: beats,
            kicks_marked,
            nearest: nearest(&kicks, beats, &targets),
            kicks,
            lag_same_s: for_sides(|leg| estimates(*same.of(leg))),
            lag_opposite_s: for_sides(|leg| estimates(*opposite.of(leg))),
            relative_same: relative(Pairing::SameSide),
            relative_opposite: relative(Pairing::OppositeSide),
            pairings_apart_s: None,
            frames: (marks.frame_rate_hz).and_then(|hz| FrameUncertainty::new(hz, delay_variance)),
            set_aside: tidy.set_aside,
            missing: tidy.missing,
            notes,
            passes,
        };
        timing.pairings_apart_s = timing.apart();
        timing.notes.extend(timing.not_told());
        Ok(timing)
    }

    /// The kick that was seen; none where no kick is marked.
    pub fn kick(&self) -> Option<Kick> {
        match self.beats_per_cycle {
            2 => Some(Kick::TwoBeat),
            4 => Some(Kick::FourBeat),
            6 => Some(Kick::SixBeat),
            _ if self.kicks_marked => Some(Kick::Pull),
            _ => None,
        }
    }

    /// κ, the mean of the arms that show it.
    pub fn mean_catch(&self) -> Option<f64> {
        let seen: Vec<f64> = (Side::BOTH.iter())
            .filter_map(|side| self.catch_after_entry.of(*side).map(|catch| catch.value))
            .collect();
        (!seen.is_empty()).then(|| seen.iter().sum::<f64>() / seen.len() as f64)
    }

    /// ε: measured, else half a cycle.
    pub fn right_entry_or_half(&self) -> f64 {
        self.right_entry.map_or(0.5, |estimate| estimate.value)
    }

    /// The scatter of one kick about its leg's mean, s; the larger leg's.
    pub fn kick_scatter_s(&self) -> Option<f64> {
        (Side::BOTH.iter())
            .filter_map(|leg| self.kicks.of(*leg).as_ref()?.circular.sd())
            .reduce(f64::max)
            .map(|sd| sd * self.cycle_s.value)
    }

    /// The phases of every mark of an event on the circle, for a picture.
    pub fn phases(&self, moment: StrokeMoment, side: Side) -> Vec<f64> {
        let right_entry = self.right_entry_or_half();
        (self.passes.iter())
            .flat_map(|pass| on_circle(pass, moment, side, right_entry))
            .collect()
    }

    fn apart(&self) -> Option<f64> {
        let micro = |value: f64| fraction((value * 1e6).round() as i64, 1_000_000);
        let catch = micro(self.mean_catch()?);
        let stroke = Stroke {
            right_entry: micro(self.right_entry_or_half()),
            catch_after_entry: PerSide {
                left: catch,
                right: catch,
            },
        };
        let cycles = pairings_apart(&stroke, self.kick()?)?;
        Some(to_f64(&cycles).abs() * self.cycle_s.value)
    }

    /// What this film cannot show, in sentences.
    fn not_told(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let none = |sides: &Sides<Estimate>| sides.left.is_none() && sides.right.is_none();
        if none(&self.catch_after_entry) {
            notes.push(
                "No catch is marked, as in film from above the water: only the rate and lags \
                 from the entries can be told."
                    .into(),
            );
        }
        if self.right_entry.is_none() {
            notes.push(
                "No pass shows both hands: the far hand is taken to enter half a cycle later, \
                 and no lag is measured from it."
                    .into(),
            );
        }
        if !self.kicks_marked {
            notes.push("No kick is marked: a pull, or the feet were not seen.".into());
        }
        if self.cycles < 3 {
            notes.push(
                "Fewer than three cycles: numbers without intervals. Mark six or more.".into(),
            );
        }
        if !Rate::RANGE_SPM.contains(&self.rate_spm.value) {
            notes.push(format!(
                "{} is no stroke rate: look at the time column and the frame rate.",
                Rate::outside(self.rate_spm.value)
            ));
        }
        notes
    }
}

/// What the marks of the hands say, in shares of the cycle.
struct Arms {
    /// From the left entry to the right one.
    right: Option<Mean>,
    /// From entry to catch.
    catches: Sides<Mean>,
    /// From catch to exit.
    pulls: Sides<Mean>,
    /// How far the arms lie apart, % of the cycle.
    idc_percent: Sides<Estimate>,
}

impl Arms {
    /// Of all passes; `floor` is the variance that a share has by the frames of the film.
    fn of(passes: &[Pass], floor: f64) -> Self {
        let share = |from, to, most| {
            let delays = passes.iter().flat_map(|pass| pass.delays(from, to, most));
            let shares: Vec<f64> = delays.map(|(s, cycle_s)| s / cycle_s).collect();
            Mean::of(&shares, floor)
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
                let shares: Vec<f64> = overlaps.map(|(s, cycle_s)| s / cycle_s).collect();
                Mean::of(&shares, floor).map(|mean| mean.estimate().map(|share| 100.0 * share))
            }),
        }
    }
}

/// Variance of one delay between two marks, s²: of the first lag that was seen three times, else
/// of the first such share of a cycle of `scale` seconds.
fn delay_variance(
    same: &Sides<Mean>,
    opposite: &Sides<Mean>,
    arms: &Arms,
    scale: f64,
) -> Option<f64> {
    let seen = |mean: Option<Mean>| Some(mean.filter(|mean| mean.n >= 3)?.variance);
    let lags = [same.left, same.right, opposite.left, opposite.right];
    let shares = [arms.catches.left, arms.catches.right, arms.right];
    let in_s = |variance: f64| variance * scale * scale;
    (lags.into_iter().find_map(seen)).or_else(|| shares.into_iter().find_map(seen).map(in_s))
}

/// Standard deviation of single cycles of the leading hands, s.
fn cycle_sd(passes: &[Pass]) -> Option<f64> {
    let intervals: Vec<f64> = passes
        .iter()
        .flat_map(|pass| pass.intervals(pass.lead))
        .collect();
    let mean = Mean::of(&intervals, 0.0)?;
    (mean.n >= 3).then(|| sqrt(mean.variance))
}

/// The mean index of coordination from both propulsive shares: the two gaps and the two pulls
/// make up the cycle, so the mean is 100 x (mean share - 0.5) however the arms lie to each other
/// (arithmetic: it follows from the definition). It needs no pass that shows both arms.
fn mean_idc(pulls: &Sides<Mean>) -> Option<Estimate> {
    let (left, right) = (pulls.left?, pulls.right?);
    let half_sum = Mean::sum(&[(0.5, left), (0.5, right)]);
    Some(half_sum.estimate().map(|share| 100.0 * (share - 0.5)))
}

impl FrameUncertainty {
    fn new(rate_hz: f64, delay_variance: Option<f64>) -> Option<Self> {
        let of_frames = |hz: f64| 2.0 / (12.0 * hz * hz);
        let all = delay_variance?.max(of_frames(rate_hz));
        let rest = all - of_frames(rate_hz);
        let is_enough = |hz: &f64| of_frames(*hz) <= 0.1 * (rest + of_frames(*hz));
        Some(Self {
            rate_hz,
            mark_sd_s: 1.0 / (rate_hz * sqrt(12.0)),
            share: of_frames(rate_hz) / all,
            enough_hz: USUAL_RATES_HZ.into_iter().find(is_enough),
        })
    }
}
