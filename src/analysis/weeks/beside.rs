//! What is asked beside speed: whether the rate was held, the length of the stroke, the effort.
//! None of it makes a week go on that speed holds.

use super::days::{Days, OF_MIDDLE, Squares};
use super::levels::Difference;
use super::rules::{
    DAY_WEIGHT, EFFORT_ABOVE, EFFORT_LOWER, EFFORT_RISE, EFFORT_SD, EFFORT_TOTAL, EFFORT_WEEKS,
    LENGTH_BACK, LENGTH_HOLD, RATE_BACK, RATE_HOLD, RATE_SD,
};
use super::verdict::{Finding, WeekVerdict};

/// Whether the rate was held: the rate swum less the rate cued, its scatter over all weeks so far,
/// and how many strokes/min a whole count is coarse by.
pub fn rate(
    error: &Days,
    scatter: Squares,
    grain_spm: f64,
    within: f64,
) -> (WeekVerdict, Finding, Option<Difference>) {
    let Some(value) = error.value() else {
        return (WeekVerdict::GoOn, Finding::RateUnknown, None);
    };
    let variance = scatter.variance_with(DAY_WEIGHT, RATE_SD).max(error.inner);
    // A swim's rounding spreads evenly, sd grain / sqrt 12; half of it never averages out.
    let rounding = 0.5 * grain_spm * grain_spm / 24.0;
    let found = Difference {
        value,
        error: (variance / error.middles.len() as f64 + rounding).sqrt(),
        df: (DAY_WEIGHT + scatter.df) as f64,
    };
    let short = found.turned().above(within);
    let (verdict, finding) = if short > RATE_BACK {
        (WeekVerdict::StepBack, Finding::RateShort)
    } else if short > RATE_HOLD {
        (WeekVerdict::Hold, Finding::RateDoubtful)
    } else if found.value > within + found.error {
        (WeekVerdict::Hold, Finding::RateOver)
    } else {
        (WeekVerdict::GoOn, Finding::RateHeld)
    };
    (verdict, finding, Some(found))
}

/// Distance per stroke against what the swimmer's own line foretells, as a logarithm.
pub fn length(change: Difference, loss: f64) -> (WeekVerdict, Finding) {
    let fell = change.turned().above(loss);
    if fell > LENGTH_BACK {
        (WeekVerdict::StepBack, Finding::LengthFell)
    } else if fell > LENGTH_HOLD {
        (WeekVerdict::Hold, Finding::LengthDoubtful)
    } else {
        (WeekVerdict::GoOn, Finding::LengthHeld)
    }
}

/// Effort over the weeks.
#[derive(Debug, Clone, Default)]
pub struct Efforts {
    scatter: Squares,
    weeks: usize,
    /// What is compared with: the mean of the first two weeks, or what was taken since.
    measure: f64,
    /// The mean of the first two weeks.
    first: f64,
    /// For how many weeks running it has held.
    held: usize,
    /// This week's less the measure, and less the first weeks.
    now: Option<(Difference, Difference)>,
}

impl Efforts {
    /// The next week. Effort up for good holds for a while, then becomes the measure; far up it
    /// holds for as long as it stays.
    pub fn judge(&mut self, days: &Days) -> (WeekVerdict, Option<Finding>) {
        self.scatter.add(days);
        self.now = None;
        let Some(effort) = days.value() else {
            self.held = 0;
            return (WeekVerdict::GoOn, Some(Finding::EffortUnknown));
        };
        match self.weeks {
            0 => (self.measure, self.first) = (effort, effort),
            1 => {
                self.measure = f64::midpoint(self.measure, effort);
                self.first = f64::midpoint(self.first, effort);
            }
            _ => {}
        }
        self.weeks += 1;
        let variance = self.scatter.variance_with(DAY_WEIGHT, EFFORT_SD);
        let less = |measure: f64| Difference {
            value: effort - measure,
            // The measure is of two weeks: half as much again.
            error: OF_MIDDLE * (variance * 1.5 / days.middles.len() as f64).sqrt(),
            df: (DAY_WEIGHT + self.scatter.df) as f64,
        };
        let (up, total) = (less(self.measure), less(self.first));
        self.now = Some((up, total));
        let is_up = up.above(EFFORT_RISE) > EFFORT_ABOVE;
        let holds = is_up && self.held < EFFORT_WEEKS;
        self.held = if holds { self.held + 1 } else { 0 };
        if is_up && !holds {
            self.measure = effort;
        }
        if total.above(EFFORT_TOTAL) > EFFORT_ABOVE {
            (WeekVerdict::Hold, Some(Finding::EffortFarHigher))
        } else if holds {
            (WeekVerdict::Hold, Some(Finding::EffortHigher))
        } else if is_up {
            (WeekVerdict::GoOn, Some(Finding::EffortTaken))
        } else {
            (WeekVerdict::GoOn, None)
        }
    }

    /// This week's effort less that of the first weeks.
    pub fn since_the_first(&self) -> Option<Difference> {
        self.now.map(|(_, total)| total)
    }

    /// Whether it is clearly lower than in the first weeks.
    pub fn is_lower(&self) -> bool {
        let lower = |total: Difference| total.turned().above(EFFORT_LOWER) > EFFORT_ABOVE;
        self.since_the_first().is_some_and(lower)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(effort: f64) -> Days {
        Days {
            middles: vec![effort; 3],
            inner: 0.0,
            swims: 24,
        }
    }

    fn verdicts(efforts: &[f64]) -> Vec<WeekVerdict> {
        let mut measure = Efforts::default();
        (efforts.iter().map(|effort| measure.judge(&days(*effort)).0)).collect()
    }

    #[test]
    fn one_point_of_effort_never_freezes_a_plan_and_more_than_two_that_stay_always_hold() {
        use WeekVerdict::{GoOn, Hold};
        let mut one = vec![5.0, 5.0];
        one.extend([6.5; 10]);
        let found = verdicts(&one);
        assert_eq!(found[..5], [GoOn, GoOn, Hold, Hold, GoOn]);
        assert!(
            found[5..].iter().all(|verdict| *verdict == GoOn),
            "{found:?}"
        );
        one[2..].fill(6.0);
        let holds = verdicts(&one)
            .iter()
            .filter(|verdict| **verdict == Hold)
            .count();
        assert!(holds <= 2);
        one[2..].fill(8.0);
        assert!(verdicts(&one)[2..].iter().all(|verdict| *verdict == Hold));
    }

    #[test]
    fn lower_effort_is_seen_once_it_is_clear() {
        let mut measure = Efforts::default();
        for effort in [6.0, 6.0, 5.5] {
            measure.judge(&days(effort));
            assert!(!measure.is_lower());
        }
        measure.judge(&days(4.5));
        assert!(measure.is_lower());
    }

    #[test]
    fn a_rate_is_held_unless_it_is_likely_short_and_coarse_counts_say_less() {
        let error = |value: f64| Days {
            middles: vec![value; 3],
            inner: 0.0,
            swims: 18,
        };
        let verdict = |value, grain| rate(&error(value), Squares::default(), grain, 1.0).1;
        assert_eq!(verdict(-0.9, 1.2), Finding::RateHeld);
        assert_eq!(verdict(-1.4, 1.2), Finding::RateDoubtful);
        assert_eq!(verdict(-2.0, 1.2), Finding::RateShort);
        assert_eq!(verdict(-1.4, 8.0), Finding::RateHeld);
        assert_eq!(verdict(1.6, 1.2), Finding::RateOver);
        assert_eq!(
            rate(&Days::default(), Squares::default(), 1.2, 1.0).1,
            Finding::RateUnknown
        );
    }

    #[test]
    fn a_shorter_stroke_than_the_line_foretells_holds_or_steps_back() {
        let change = |value| Difference {
            value,
            error: 0.01,
            df: 20.0,
        };
        assert_eq!(length(change(-0.02), 0.02).0, WeekVerdict::GoOn);
        assert_eq!(length(change(-0.03), 0.02).0, WeekVerdict::Hold);
        assert_eq!(length(change(-0.04), 0.02).0, WeekVerdict::StepBack);
    }
}
