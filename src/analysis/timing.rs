//! Stroke timing of one swimmer from the marks of a film.

use libm::sqrt;

use super::arm_shares::{ArmShares, Reading, crossed_hands};
use super::beats::Beats;
use super::doubts::{self, Doubt, DoubtKind};
use super::kicks::{LegKick, RelativePhase, arm_moment, estimates, lag, on_circle};
use super::marked_twice::Habits;
use super::pairing::{Feet, NearerTo, Nearest};
use super::pass::Pass;
use super::passes::{BelievedSides, MixedHands, tidy};
use super::slope::cycle_times;
use super::student::Mean;
use super::{Estimate, Sides, for_sides};
use crate::error::Result;
use crate::model::cue::Side;
use crate::model::kick::{Kick, Pairing};
use crate::model::record::{Marks, StrokeMoment};
use crate::units::Rate;

/// What the marks say. Everything that they do not is absent.
#[derive(Debug, Clone)]
pub struct Timing {
    /// The passes as folded.
    pub passes: Vec<Pass>,
    /// Cycles without a gap, over all passes.
    pub cycles: usize,
    /// Strokes a minute, of the cycles filmed.
    pub rate_spm: Estimate,
    /// Strokes a minute of the swimmer, whose other cycles would be a little longer or shorter.
    pub own_rate_spm: Option<Estimate>,
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
    /// Kicks a cycle.
    pub beats: Beats,
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
    /// What speaks against the marks.
    pub doubts: Vec<Doubt>,
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

impl Timing {
    /// Reads the marks.
    ///
    /// # Errors
    /// When no hand has two entries in one pass, or all marks are at one time.
    pub fn of(marks: &Marks) -> Result<Self> {
        Self::with_habits(marks, &Habits::default())
    }

    /// Reads the marks, with what a second marking tells of the first.
    ///
    /// # Errors
    /// As [`Timing::of`].
    pub fn with_habits(marks: &Marks, habits: &Habits) -> Result<Self> {
        let tidy = tidy(marks, BelievedSides::Checked)?;
        let passes = tidy.passes;
        // A mark is rounded to its frame.
        let of_frames = marks.frame_rate_hz.map_or(0.0, |hz| 1.0 / (12.0 * hz * hz));
        let cycle = Cycle::of(&passes, of_frames);
        let reading = Reading {
            of_frames,
            habits,
            cycle_s: cycle.filmed.value,
        };
        let arms = ArmShares::of(&passes, &reading);
        let beats = Beats::of(&passes);
        let feet = Feet::of(&passes, &beats, &arms, &reading);
        let (same, opposite) = (
            lags(&passes, Pairing::SameSide, &beats, &reading),
            lags(&passes, Pairing::OppositeSide, &beats, &reading),
        );
        let relative =
            |pairing| for_sides(|leg| RelativePhase::of(&passes, pairing, leg, beats.if_sure()?));
        let rate_spm = cycle.filmed.map(|s| 120.0 / s);
        let crossed = crossed_hands(&passes, arms.right_entry());
        let as_marked = rate_as_marked(marks, &tidy.hands, of_frames);
        let mut doubts = doubts::of_hands(&tidy.hands, crossed, &rate_spm, as_marked.as_ref());
        if crossed.is_none() {
            doubts.extend(doubts::of_feet(&feet, &passes, &beats, &arms, &reading));
        }

        let delay_variance = delay_variance(&same, &opposite, &arms, reading.cycle_s);
        let mut notes = marks.notes.clone();
        if tidy.sorted {
            notes.push("Marks were not in order of time; they are put in order.".into());
        }
        let mut timing = Self {
            cycles: cycle.filmed.n,
            rate_spm,
            own_rate_spm: cycle.own.map(|s| s.map(|s| 120.0 / s)),
            cycle_s: cycle.filmed,
            cycle_sd_s: cycle_sd(&passes),
            right_entry: estimates(arms.right),
            catch_after_entry: for_sides(|side| estimates(*arms.catches.of(side))),
            propulsive: for_sides(|side| estimates(*arms.pulls.of(side))),
            idc_percent: arms.idc_percent,
            idc_mean_percent: mean_idc(&arms.pulls),
            beats,
            nearest: feet.nearest,
            kicks: feet.kicks,
            lag_same_s: for_sides(|leg| estimates(*same.of(leg))),
            lag_opposite_s: for_sides(|leg| estimates(*opposite.of(leg))),
            relative_same: relative(Pairing::SameSide),
            relative_opposite: relative(Pairing::OppositeSide),
            pairings_apart_s: feet.apart.map(|cycles| cycles * reading.cycle_s),
            frames: (marks.frame_rate_hz).and_then(|hz| FrameUncertainty::new(hz, delay_variance)),
            doubts,
            set_aside: tidy.set_aside,
            missing: tidy.missing,
            notes,
            passes,
        };
        timing.notes.extend(timing.not_told());
        Ok(timing)
    }

    /// The kick that was seen; none where no kick is marked, or so few that it is not sure which.
    pub fn kick(&self) -> Option<Kick> {
        Kick::of_beats(self.beats.if_sure()?)
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

    /// What is doubted of a kind, where anything is.
    pub fn doubt(&self, kind: DoubtKind) -> Option<&Doubt> {
        self.doubts.iter().find(|doubt| doubt.kind == kind)
    }

    /// The doubt that left and right foot are crossed, where no pairing is told for it: nothing that
    /// hangs on the sides of the feet is measured then.
    pub fn feet_crossed(&self) -> Option<&Doubt> {
        self.doubt(DoubtKind::FeetCrossed)
            .filter(|_| !self.tells_pairing())
    }

    /// Whether a pairing is told.
    pub fn tells_pairing(&self) -> bool {
        let answer = self.nearest.map(|nearest| nearest.answer);
        matches!(answer, Some(NearerTo::Pairing(_)))
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

    /// What this film cannot show, in sentences.
    fn not_told(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if !(self.passes.iter()).any(|pass| pass.shows(StrokeMoment::Catch)) {
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
        if self.beats.a_cycle == 0 {
            notes.push("No kick is marked: a pull, or the feet were not seen.".into());
        }
        if !self.beats.sure {
            notes.push(
                "How many kicks a cycle has is not sure: too few are marked, one after the other, of \
                 one foot. No kick is named, and no pairing told."
                    .into(),
            );
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

/// The length of a cycle, s.
struct Cycle {
    /// Of the cycles filmed.
    filmed: Estimate,
    /// Of the swimmer, of whom these are a sample.
    own: Option<Estimate>,
}

impl Cycle {
    fn of(passes: &[Pass], of_frames: f64) -> Self {
        let runs: Vec<_> = passes.iter().flat_map(Pass::points).collect();
        let cycles = passes.iter().map(|pass| pass.cycles(pass.lead)).sum();
        let (filmed, own) = cycle_times(&runs, cycles, of_frames)
            .expect("a pass has two entries, and these a slope");
        Self { filmed, own }
    }
}

/// The rate with every mark believed, where marks of entries were taken out.
fn rate_as_marked(marks: &Marks, hands: &MixedHands, of_frames: f64) -> Option<Estimate> {
    let all = hands
        .entries
        .then(|| tidy(marks, BelievedSides::AsMarked))?
        .ok()?;
    let cycle = Cycle::of(&all.passes, of_frames).filmed;
    Some(cycle.map(|s| 120.0 / s))
}

/// How far each foot comes behind the moment of a pairing, s.
fn lags(passes: &[Pass], pairing: Pairing, beats: &Beats, reading: &Reading) -> Sides<Mean> {
    for_sides(|leg| {
        let (from, to) = (arm_moment(pairing, leg).0, StrokeMoment::Kick);
        let floor = reading.floor_s2(from, to);
        let mean = lag(
            passes,
            pairing,
            leg,
            beats.if_sure()?,
            reading.cycle_s,
            floor,
        )?;
        Some(mean.with(reading.habits.apart_s2(from, to)))
    })
}

/// Variance of one delay between two marks, s²: of the first lag that was seen three times, else
/// of the first such share of a cycle of `scale` seconds.
fn delay_variance(
    same: &Sides<Mean>,
    opposite: &Sides<Mean>,
    arms: &ArmShares,
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
