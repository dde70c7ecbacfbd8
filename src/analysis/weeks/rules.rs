//! Every number by which weeks are judged, and that a plan's own rules do not set.
//!
//! All of them come from judgement and simulation (tests/plan_simulation.rs), none from a source:
//! no swimmer has been measured. Speeds are natural logarithms, so 0.01 is one percent.

/// One step of a path as the model counts them: so much of the rate.
pub const STEP: f64 = 0.02;

/// What is taken of a swimmer before the first swim: a spread of the first speed; of a slope
/// common to all steps, about none; of a wander from step to step beside it.
pub const LEVEL_SD: f64 = 0.10;
/// See [`LEVEL_SD`].
pub const SLOPE_SD: f64 = 0.010;
/// See [`LEVEL_SD`].
pub const WANDER_SD: f64 = 0.010;

/// Day-to-day scatter before a day is swum, and how many days that weighs.
pub const DAY_SD: f64 = 0.010;
/// See [`DAY_SD`].
pub const DAY_WEIGHT: usize = 4;
/// Squares from swim to swim before one is swum (a default, no source), and its weight in swims.
pub const SWIM_SD: f64 = 0.010;
/// See [`SWIM_SD`].
pub const SWIM_WEIGHT: usize = 8;
/// Form that a whole week shares.
pub const WEEK_SD: f64 = 0.004;
/// How much less a week says for every week since.
pub const FORGET_SD: f64 = 0.003;
/// What a same-day difference keeps beside the scatter of its swims.
pub const SAME_DAY_SD: f64 = 0.002;
/// A week farther off than so many of its standard deviations weighs less.
pub const WILD: f64 = 2.0;
/// A swim counts in the scatter as no farther off than so many spreads of its day.
pub const FAR_SWIM: f64 = 3.0;

/// It goes on unless a loss here, or at the next rate, is likelier than this.
pub const HOLD_ABOVE: f64 = 0.40;
/// Beyond it a loss here is more likely than not: one step back.
pub const BACK_ABOVE: f64 = 0.50;
/// A gain is looked for against the rate so many rates of the path below,
pub const GAIN_LEVELS: usize = 3;
/// or so many steps, whichever is nearer.
pub const GAIN_STEPS: f64 = 2.9;
/// The least gain that is one,
pub const GAIN: f64 = 0.005;
/// how likely it must be,
pub const GAIN_ABOVE: f64 = 0.70;
/// and how likely once "no gain" was told at this rate.
pub const GAIN_AGAIN_ABOVE: f64 = 0.80;
/// Held for so many weeks, with a loss here less likely than this, the next rate is tried.
pub const TRY_AFTER: usize = 4;
/// See [`TRY_AFTER`].
pub const TRY_BELOW: f64 = 0.3;
/// A rate that was stepped back from is left alone for so many weeks.
pub const NOT_AGAIN_FOR: usize = 3;
/// A week so far below what was foretold, by this and by so many standard deviations, is an off
/// week: illness that nobody noted, say.
pub const OFF_DROP: f64 = 0.025;
/// See [`OFF_DROP`].
pub const OFF_SDS: f64 = 2.5;
/// So many off weeks running are no off weeks.
pub const OFF_MOST: usize = 3;
/// A fall since the first weeks that is so likely holds,
pub const DECLINE_HOLD: f64 = 0.80;
/// and steps back. Looked for from this week on.
pub const DECLINE_BACK: f64 = 0.95;
/// See [`DECLINE_BACK`].
pub const DECLINE_FROM: usize = 5;

/// A rate short of the cue by more than the rule allows: so likely it holds, and steps back.
pub const RATE_HOLD: f64 = 0.80;
/// See [`RATE_HOLD`].
pub const RATE_BACK: f64 = 0.95;
/// Squares of the rate swum from day to day before a day is swum, strokes/min; weighs as
/// [`DAY_WEIGHT`].
pub const RATE_SD: f64 = 0.4;
/// Distance per stroke lost beyond the swimmer's own line: so likely it holds, and steps back.
pub const LENGTH_HOLD: f64 = 0.80;
/// See [`LENGTH_HOLD`].
pub const LENGTH_BACK: f64 = 0.95;

/// Squares of effort from day to day before a day is swum; weighs as [`DAY_WEIGHT`].
pub const EFFORT_SD: f64 = 0.5;
/// Effort up by more than this on the first weeks, so likely, holds,
pub const EFFORT_RISE: f64 = 0.75;
/// See [`EFFORT_RISE`].
pub const EFFORT_ABOVE: f64 = 0.90;
/// for so many weeks running at most; then it is the measure.
pub const EFFORT_WEEKS: usize = 2;
/// Up by more than this since the first weeks it holds without limit.
pub const EFFORT_TOTAL: f64 = 2.0;
/// Down by more than this, so likely as [`EFFORT_ABOVE`], it is clearly lower.
pub const EFFORT_LOWER: f64 = 0.5;
/// A day whose comparison swims felt so much easier or harder than the others gives no difference.
pub const EFFORT_APART: f64 = 2.0;
/// Nor does a week while the mean of that, over the weeks about it, is so much,
pub const EFFORT_MEAN: f64 = 0.6;
/// so many weeks to either side.
pub const EFFORT_ABOUT: usize = 2;

/// A swim belongs to a rate that its cue is no farther from, strokes/min: half of half a stroke.
pub const SAME_RATE: f64 = 0.25;
