//! The verdict on a week, and what it rests on.

use super::levels::Difference;
use crate::analysis::Estimate;

/// What to do after a week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WeekVerdict {
    /// One step down.
    StepBack,
    /// The same rate again.
    Hold,
    /// On to the next place of the path.
    GoOn,
    /// Nothing can be said; the rate stays.
    NotEnough,
}

impl WeekVerdict {
    /// The words of the screen and of JSON.
    pub fn words(self) -> &'static str {
        match self {
            Self::GoOn => "go on",
            Self::Hold => "hold",
            Self::StepBack => "step back",
            Self::NotEnough => "not enough swims",
        }
    }
}

/// Whether the kick's timing was seen to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Timed {
    /// On most of the swims that say.
    Kept,
    /// Not on most of them.
    NotKept,
    /// No swim says, and no film was given.
    NotMeasured,
}

impl Timed {
    /// The words of the screen and of JSON.
    pub fn words(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::NotKept => "not kept",
            Self::NotMeasured => "not measured",
        }
    }
}

/// What decided, or was found on the way. The numbers are in [`Figures`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)] // each says itself; the words are the command's
pub enum Finding {
    Missed,
    Ill,
    Pain,
    TooFewSwims,
    TooFewDays,
    OneArm(usize),
    CountedTwice(usize),
    OtherRate(usize),
    RateHeld,
    RateUnknown,
    RateDoubtful,
    RateShort,
    RateOver,
    FirstWeek,
    NothingToCompare,
    OffWeek,
    OffWeekAgain,
    SpeedHeld,
    LossLikely,
    LossLikelyNext,
    SpeedFell,
    NoGain,
    NoGainKnown,
    SameSpeedLessEffort,
    Try,
    TooSoon,
    Declining,
    Declined,
    NoComparison,
    ComparisonFelt,
    DaysApart(usize),
    LengthHeld,
    LengthDoubtful,
    LengthFell,
    EffortUnknown,
    EffortHigher,
    EffortTaken,
    EffortFarHigher,
    TimingNotMeasured,
    TimingNotKept,
}

impl Finding {
    /// What it makes of a week by itself.
    pub fn verdict(self) -> WeekVerdict {
        match self {
            Self::Missed | Self::TooFewSwims | Self::TooFewDays => WeekVerdict::NotEnough,
            Self::Ill
            | Self::RateShort
            | Self::OffWeekAgain
            | Self::SpeedFell
            | Self::Declined
            | Self::LengthFell => WeekVerdict::StepBack,
            Self::Pain
            | Self::RateDoubtful
            | Self::RateOver
            | Self::NothingToCompare
            | Self::OffWeek
            | Self::LossLikely
            | Self::LossLikelyNext
            | Self::NoGain
            | Self::TooSoon
            | Self::Declining
            | Self::LengthDoubtful
            | Self::EffortHigher
            | Self::EffortFarHigher => WeekVerdict::Hold,
            _ => WeekVerdict::GoOn,
        }
    }
}

/// What the speed of a week was weighed by.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Weighed {
    /// The fastest rate so far, strokes/min.
    pub fastest_spm: f64,
    /// Speed at it over speed at this week's rate, as a logarithm; none where they are one.
    pub below_fastest: Option<Difference>,
    /// How likely a loss beyond the limit is at this week's rate, 0 to 1.
    pub loss_here: f64,
    /// The same at the next rate; none where that is the same.
    pub loss_next: Option<f64>,
    /// Speed over that three rates below, and that rate, strokes/min.
    pub gain: Option<(f64, Difference)>,
    /// Speed of the first weeks over that of the last ones.
    pub decline: Option<Difference>,
    /// How far below what was foretold an off week was, as a logarithm.
    pub off: Option<f64>,
}

/// What a week swam, with intervals; nothing where the log does not say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Figures {
    /// Rate swum, strokes/min, swims at the week's rate.
    pub rate_spm: Option<Estimate>,
    /// Rate swum less the rate cued, strokes/min.
    pub rate_error_spm: Option<Estimate>,
    /// Rate swum without cues less the rate that was asked for.
    pub uncued_error_spm: Option<Estimate>,
    /// Speed by the clock, m/s, of the distance that is compared.
    pub speed_m_s: Option<Estimate>,
    /// Distance per stroke, m, of the same swims.
    pub length_m: Option<Estimate>,
    /// Effort, 0 to 10.
    pub effort: Option<Estimate>,
    /// The distance that is compared, m.
    pub distance_m: Option<f64>,
    /// How likely the rate swum is too low by more than the rule, 0 to 1.
    pub rate_short: Option<f64>,
    /// The others less the comparison swims of the same days, as a logarithm of speed.
    pub same_day: Option<Difference>,
    /// What the speed was weighed by; none where it was not.
    pub weighed: Option<Weighed>,
    /// Distance per stroke over what the swimmer's own line foretells, as a logarithm.
    pub length_change: Option<Difference>,
    /// Effort less that of the first weeks.
    pub effort_change: Option<Difference>,
}
