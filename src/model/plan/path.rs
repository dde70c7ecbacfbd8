//! The rate of every week, and the share of its cycles that have cues.

use super::rules::Rules;
use crate::units::{Fix, Rate, exact};

/// The longest plan, in weeks.
pub const MOST_WEEKS: usize = 104;

/// The rates that a path may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grid {
    /// Half strokes a minute: what is planned is what is cued, shown and said.
    Halves,
    /// Any, shown in tenths: paths that were written so.
    Any,
}

impl Grid {
    /// The last rate of the grid that is not above one.
    fn below(self, rate: Fix) -> Fix {
        match self {
            Self::Halves => (rate * exact(2)).floor() / exact(2),
            Self::Any => rate,
        }
    }

    /// The first rate of the grid that is not below one.
    fn above(self, rate: Fix) -> Fix {
        match self {
            Self::Halves => exact(0) - self.below(exact(0) - rate),
            Self::Any => rate,
        }
    }
}

/// Whether a rate is a whole number of half strokes a minute.
pub fn is_half(rate: Fix) -> bool {
    Grid::Halves.below(rate) == rate
}

/// Rates and shares by place: place w is week w as planned, place 0 is one step below the first
/// rate, for who has to step back from there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Path {
    rates: Vec<Fix>,
    shares: Vec<Fix>,
    hold_every: u64,
}

impl Path {
    /// Week 1 = from; week w holds if w is a multiple of `hold_every`, else min(to, r + step), r the
    /// week before, step = max(least, share of r), each the last rate of the grid that is not above
    /// that. The share of cued cycles falls in a straight
    /// line from the first to the last week.
    pub fn new(from: &Rate, to: &Rate, weeks: usize, rules: &Rules, grid: Grid) -> Self {
        let below = grid.above(from.spm() - step(from.spm(), rules));
        let lowest = exact(10);
        let mut rates = vec![below.max(lowest)];
        rates.extend(rates_from(from, to, rules, grid).take(weeks));
        let share = |week: usize| match weeks {
            0 | 1 => rules.cued_first,
            _ => {
                let part = Fix::new((week as i64 - 1).into(), (weeks as i64 - 1).into());
                rules.cued_first + (rules.cued_last - rules.cued_first) * part
            }
        };
        Self {
            rates,
            shares: (1..=weeks).map(share).collect(),
            hold_every: rules.hold_every,
        }
    }

    /// How many weeks there are.
    pub fn weeks(&self) -> usize {
        self.shares.len()
    }

    /// The rate at a place, strokes/min; beyond the last it stays.
    pub fn rate(&self, place: usize) -> &Fix {
        &self.rates[place.min(self.weeks())]
    }

    /// The share of cycles with cues at a place from 1, 0 to 1.
    pub fn share(&self, place: usize) -> &Fix {
        &self.shares[place.clamp(1, self.weeks()) - 1]
    }

    /// Whether a place holds the rate of the one before by rule.
    pub fn holds(&self, place: usize) -> bool {
        place > 0 && (place as u64).is_multiple_of(self.hold_every)
    }

    /// The highest place whose rate is below that of `place`: one step down.
    pub fn step_down(&self, place: usize) -> usize {
        let lower = |below: &usize| self.rate(*below) < self.rate(place);
        (0..place).rev().find(lower).unwrap_or(0)
    }

    /// The first place with the last rate.
    pub fn goal(&self) -> usize {
        let last = self.rate(self.weeks());
        (1..=self.weeks())
            .find(|place| self.rate(*place) == last)
            .unwrap_or(self.weeks())
    }

    /// The weeks that a path to the goal takes; none if it is not there within [`MOST_WEEKS`].
    pub fn weeks_needed(from: &Rate, to: &Rate, rules: &Rules, grid: Grid) -> Option<usize> {
        let mut rates = rates_from(from, to, rules, grid).take(MOST_WEEKS);
        rates.position(|rate| rate >= *to.spm()).map(|at| at + 1)
    }
}

fn step(rate: &Fix, rules: &Rules) -> Fix {
    (rules.step_share * rate).max(rules.step_least)
}

/// The rates of weeks 1, 2, ... without end.
fn rates_from<'a>(
    from: &Rate,
    to: &Rate,
    rules: &'a Rules,
    grid: Grid,
) -> impl Iterator<Item = Fix> + 'a {
    let to = *to.spm();
    let mut week = 0_u64;
    let mut rate = *from.spm();
    std::iter::from_fn(move || {
        week += 1;
        if week > 1 && !week.is_multiple_of(rules.hold_every) {
            // A step smaller than the grid leaves the rate where it is.
            rate = grid.below(rate + step(&rate, rules)).max(rate).min(to);
        }
        Some(rate)
    })
}

/// A rate as it is shown and sounded: to 0.1 spm, halves up.
pub fn shown(rate: &Fix) -> Fix {
    let tenths = rate * exact(10) + Fix::new(1.into(), 2.into());
    tenths.floor() / exact(10)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Quantity, fraction, to_f64};
    use proptest::prelude::*;

    fn rate(text: &str) -> Rate {
        Rate::parse(text).expect(text)
    }

    #[test]
    fn the_path_is_that_of_the_rules_by_hand() {
        let ends = [rate("52 spm"), rate("60 spm")];
        let halves = Path::new(&ends[0], &ends[1], 12, &Rules::default(), Grid::Halves);
        // By hand: 53.04, 54.06, hold, 55.08, 56.1, 57.12, hold, 58.14, 59.16, 60, hold; each the
        // last half not above that.
        let rates: Vec<f64> = (0..=12).map(|w| to_f64(halves.rate(w))).collect();
        assert_eq!(
            rates,
            [
                51.0, 52.0, 53.0, 54.0, 54.0, 55.0, 56.0, 57.0, 57.0, 58.0, 59.0, 60.0, 60.0
            ]
        );
        let path = Path::new(&ends[0], &ends[1], 12, &Rules::default(), Grid::Any);
        // By hand: 52, x 1.02 = 53.04, x 1.02 = 54.1008, hold, 55.182816, 56.28647, 57.4122, hold,
        // 58.56045, 59.73166, 60, hold.
        let rates: Vec<f64> = (1..=12).map(|w| to_f64(&shown(path.rate(w)))).collect();
        assert_eq!(
            rates,
            [
                52.0, 53.0, 54.1, 54.1, 55.2, 56.3, 57.4, 57.4, 58.6, 59.7, 60.0, 60.0
            ]
        );
        assert_eq!(path.goal(), 11);
        assert_eq!(*path.share(1), exact(1));
        assert_eq!(*path.share(12), fraction(1, 4));
        assert_eq!(path.step_down(4), 2, "week 4 holds week 3's rate");
        assert_eq!(to_f64(path.rate(0)), 50.96);
        assert!(path.holds(8) && !path.holds(9) && !path.holds(0));
    }

    #[test]
    fn below_50_spm_the_least_step_is_a_whole_stroke() {
        let ends = [rate("40 spm"), rate("44 spm")];
        let path = Path::new(&ends[0], &ends[1], 6, &Rules::default(), Grid::Halves);
        let rates: Vec<f64> = (1..=6).map(|w| to_f64(path.rate(w))).collect();
        assert_eq!(rates, [40.0, 41.0, 42.0, 42.0, 43.0, 44.0]);
    }

    #[test]
    fn the_weeks_that_a_goal_takes_are_counted_with_the_holds() {
        let needed =
            |from, to| Path::weeks_needed(&rate(from), &rate(to), &Rules::default(), Grid::Halves);
        assert_eq!(needed("64 spm", "72 spm"), Some(11));
        assert_eq!(needed("54 spm", "60 spm"), Some(9));
        assert_eq!(needed("52 spm", "60 spm"), Some(11));
        assert_eq!(needed("52 spm", "52 spm"), Some(1));
        assert_eq!(needed("40 spm", "43 spm"), Some(5));
        let slow = Rules {
            step_least: fraction(1, 1000),
            step_share: exact(0),
            ..Rules::default()
        };
        assert_eq!(
            Path::weeks_needed(&rate("40 spm"), &rate("48 spm"), &slow, Grid::Halves),
            None
        );
    }

    proptest! {
        #[test]
        fn no_step_is_larger_than_the_rule_and_none_goes_down(
            from in 20_i64..100, more in 0_i64..30, weeks in 1_usize..60, hold in 2_u64..9,
        ) {
            let rules = Rules { hold_every: hold, ..Rules::default() };
            let [from, to] = [from, from + more].map(|spm| rate(&format!("{spm} spm")));
            let path = Path::new(&from, &to, weeks, &rules, Grid::Halves);
            prop_assert_eq!(path.rate(1), from.spm());
            for week in 2..=weeks {
                let (before, now) = (path.rate(week - 1), path.rate(week));
                prop_assert!(now >= before && now <= to.spm());
                prop_assert!(*now <= before + step(before, &rules));
                prop_assert!(is_half(*now));
                prop_assert!(!path.holds(week) || now == before);
                prop_assert!(path.share(week) <= path.share(week - 1));
            }
            if let Some(needed) = Path::weeks_needed(&from, &to, &rules, Grid::Halves) {
                prop_assert_eq!(needed <= weeks, path.rate(weeks) == to.spm());
            }
        }
    }
}
