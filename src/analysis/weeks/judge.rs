//! The verdict on a week, from its figures and the plan's rules.

use super::Figures;
use crate::analysis::Estimate;
use crate::model::plan::Rules;
use crate::units::to_f64;

/// What to do after a week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeekVerdict {
    /// On to the next place of the path.
    GoOn,
    /// The same rate again.
    Hold,
    /// One step down.
    StepBack,
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
    RateHeld,
    RateUnsure,
    RateShort,
    RateOver,
    FirstWeek,
    NothingToCompare,
    SpeedHeld,
    SpeedUnsure,
    SpeedFell,
    LengthHeld,
    LengthUnsure,
    LengthFell,
    EffortUnknown,
    EffortHigher,
    EffortRising,
    TimingNotMeasured,
    TimingNotKept,
}

/// What a week is judged by beside its figures.
#[derive(Debug, Clone, Copy, Default)]
pub struct Counts {
    /// Swims of any kind.
    pub all: usize,
    /// Usable swims with cues.
    pub cued: usize,
    /// Days with such swims.
    pub days: usize,
    /// Fewest days that are asked for in this plan.
    pub days_needed: usize,
    /// Swims whose strokes look like one arm's.
    pub one_arm: usize,
    /// Swims whose strokes look counted twice.
    pub twice: usize,
    /// A note tells of illness.
    pub ill: bool,
    /// A note tells of pain.
    pub pain: bool,
    /// Effort of this week less that of the week compared with.
    pub effort_more: Option<f64>,
    /// Effort has risen for as many weeks as the rules ask.
    pub effort_rising: bool,
    /// There is no earlier week to compare with at all.
    pub first: bool,
}

/// More effort than this, on a scale of ten, is not the same effort (common practice, no source).
const SAME_EFFORT: f64 = 0.5;

/// The verdict, and what it rests on in the order of reading.
pub fn judge(rules: &Rules, counts: &Counts, figures: &Figures) -> (WeekVerdict, Vec<Finding>) {
    let mut found = Vec::new();
    if let Some(verdict) = before_the_clock(rules, counts, &mut found) {
        return (verdict, found);
    }
    let mut worst = WeekVerdict::GoOn;
    let mut say = |verdict: WeekVerdict, finding: Finding| {
        found.push(finding);
        worst = match (worst, verdict) {
            (WeekVerdict::StepBack, _) | (_, WeekVerdict::StepBack) => WeekVerdict::StepBack,
            (WeekVerdict::Hold, _) | (_, WeekVerdict::Hold) => WeekVerdict::Hold,
            _ => WeekVerdict::GoOn,
        };
    };
    let within = to_f64(&rules.rate_within);
    match figures.rate_error_spm {
        Some(error) if error.value > within => say(WeekVerdict::Hold, Finding::RateOver),
        error => match loss(error, within) {
            Loss::None => say(WeekVerdict::GoOn, Finding::RateHeld),
            Loss::Possible => say(WeekVerdict::Hold, Finding::RateUnsure),
            Loss::Certain => say(WeekVerdict::StepBack, Finding::RateShort),
        },
    }
    match (counts.first, figures.compared_with) {
        (true, _) => say(WeekVerdict::GoOn, Finding::FirstWeek),
        (false, None) => say(WeekVerdict::Hold, Finding::NothingToCompare),
        (false, Some(_)) => {
            match loss(figures.speed_change, to_f64(&rules.speed_loss)) {
                Loss::None => say(WeekVerdict::GoOn, Finding::SpeedHeld),
                Loss::Possible => say(WeekVerdict::Hold, Finding::SpeedUnsure),
                Loss::Certain => say(WeekVerdict::StepBack, Finding::SpeedFell),
            }
            match loss(figures.length_change, to_f64(&rules.length_loss)) {
                Loss::None => say(WeekVerdict::GoOn, Finding::LengthHeld),
                Loss::Possible => say(WeekVerdict::Hold, Finding::LengthUnsure),
                Loss::Certain => say(WeekVerdict::StepBack, Finding::LengthFell),
            }
            match counts.effort_more {
                None => say(WeekVerdict::GoOn, Finding::EffortUnknown),
                Some(more) if more > SAME_EFFORT => say(WeekVerdict::Hold, Finding::EffortHigher),
                Some(_) => {}
            }
        }
    }
    if counts.effort_rising {
        say(WeekVerdict::Hold, Finding::EffortRising);
    }
    (worst, found)
}

/// The verdict where the swims must not or cannot be judged by their times.
fn before_the_clock(
    rules: &Rules,
    counts: &Counts,
    found: &mut Vec<Finding>,
) -> Option<WeekVerdict> {
    if counts.all == 0 {
        found.push(Finding::Missed);
        return Some(WeekVerdict::NotEnough);
    }
    if counts.one_arm > 0 {
        found.push(Finding::OneArm(counts.one_arm));
    }
    if counts.twice > 0 {
        found.push(Finding::CountedTwice(counts.twice));
    }
    let (verdict, finding) = if counts.ill {
        (WeekVerdict::StepBack, Finding::Ill)
    } else if counts.pain {
        (WeekVerdict::Hold, Finding::Pain)
    } else if (counts.cued as u64) < rules.fewest_swims {
        (WeekVerdict::NotEnough, Finding::TooFewSwims)
    } else if counts.days < counts.days_needed {
        (WeekVerdict::NotEnough, Finding::TooFewDays)
    } else {
        return None;
    };
    found.push(finding);
    Some(verdict)
}

enum Loss {
    None,
    Possible,
    Certain,
}

/// Whether a change is a loss beyond a limit; without an interval nothing is ruled out.
fn loss(change: Option<Estimate>, limit: f64) -> Loss {
    match change.and_then(|change| change.interval) {
        Some((_, high)) if high < -limit => Loss::Certain,
        Some((low, _)) if low >= -limit => Loss::None,
        _ => Loss::Possible,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn estimate(value: f64, half: f64) -> Option<Estimate> {
        Some(Estimate {
            value,
            interval: Some((value - half, value + half)),
            n: 20,
        })
    }

    fn counts() -> Counts {
        Counts {
            all: 24,
            cued: 20,
            days: 3,
            days_needed: 2,
            effort_more: Some(0.0),
            ..Counts::default()
        }
    }

    fn figures() -> Figures {
        Figures {
            rate_error_spm: estimate(-0.2, 0.3),
            speed_change: estimate(0.01, 0.01),
            length_change: estimate(0.0, 0.01),
            compared_with: Some(2),
            ..Figures::default()
        }
    }

    fn verdict(counts: Counts, figures: Figures) -> WeekVerdict {
        judge(&Rules::default(), &counts, &figures).0
    }

    #[test]
    fn it_goes_on_only_where_every_interval_leaves_no_room_for_a_loss() {
        assert_eq!(verdict(counts(), figures()), WeekVerdict::GoOn);
        for (change, wanted) in [
            (estimate(-0.2, 0.9), WeekVerdict::Hold),
            (estimate(-1.5, 0.4), WeekVerdict::StepBack),
            (estimate(1.2, 0.1), WeekVerdict::Hold),
            (None, WeekVerdict::Hold),
        ] {
            let rate_error_spm = change;
            assert_eq!(
                verdict(
                    counts(),
                    Figures {
                        rate_error_spm,
                        ..figures()
                    }
                ),
                wanted,
                "{change:?}"
            );
        }
        for (change, wanted) in [
            (estimate(0.0, 0.011), WeekVerdict::Hold),
            (estimate(0.0, 0.0099), WeekVerdict::GoOn),
            (estimate(-0.03, 0.01), WeekVerdict::StepBack),
        ] {
            let speed_change = change;
            assert_eq!(
                verdict(
                    counts(),
                    Figures {
                        speed_change,
                        ..figures()
                    }
                ),
                wanted
            );
        }
        let length_change = estimate(-0.015, 0.01);
        assert_eq!(
            verdict(
                counts(),
                Figures {
                    length_change,
                    ..figures()
                }
            ),
            WeekVerdict::Hold
        );
    }

    #[test]
    fn effort_illness_pain_and_few_swims_come_before_the_clock() {
        let with = |change: fn(&mut Counts)| {
            let mut counts = counts();
            change(&mut counts);
            verdict(counts, figures())
        };
        assert_eq!(with(|c| c.effort_more = Some(1.0)), WeekVerdict::Hold);
        assert_eq!(with(|c| c.effort_rising = true), WeekVerdict::Hold);
        assert_eq!(with(|c| c.ill = true), WeekVerdict::StepBack);
        assert_eq!(with(|c| c.pain = true), WeekVerdict::Hold);
        assert_eq!(with(|c| c.cued = 5), WeekVerdict::NotEnough);
        assert_eq!(with(|c| c.days = 1), WeekVerdict::NotEnough);
        assert_eq!(with(|c| c.all = 0), WeekVerdict::NotEnough);
        assert_eq!(with(|c| c.effort_more = None), WeekVerdict::GoOn);
    }

    #[test]
    fn the_first_week_has_only_its_rate_to_be_judged_by() {
        let first = Counts {
            first: true,
            ..counts()
        };
        let bare = Figures {
            rate_error_spm: estimate(0.0, 0.3),
            ..Figures::default()
        };
        assert_eq!(verdict(first, bare.clone()), WeekVerdict::GoOn);
        assert_eq!(verdict(counts(), bare), WeekVerdict::Hold);
    }
}
