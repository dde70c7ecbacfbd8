//! Speed at each rate of a path, from all weeks together.
//!
//! Rates of the path are levels. Before the first swim their speeds are tied together: one slope
//! for all steps, about none, and a wander from step to step beside it. Each week then tells of
//! its own level, and its comparison swims of the difference between two. All of it is normal, so
//! one row of the covariance a week says what has been learnt (Kalman 1960, from memory).
//! Held against numpy in the tests.

use super::days::{OF_MIDDLE, Squares};
use super::rules::{
    DAY_SD, DAY_WEIGHT, FORGET_SD, LEVEL_SD, SAME_DAY_SD, SLOPE_SD, STEP, SWIM_SD, SWIM_WEIGHT,
    WANDER_SD, WEEK_SD, WILD,
};
use crate::analysis::Estimate;
use crate::analysis::student::{cdf, quantile};

/// A week as the levels see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Its level.
    pub level: usize,
    /// How many weeks ago it was.
    pub ago: usize,
    /// The logarithm of its speed, and on how many days; none where it is left out.
    pub speed: Option<(f64, usize)>,
    /// Against which level it was compared on the same days, and how it came out.
    pub same_day: Option<(usize, SameDay)>,
}

/// The others of a day less its comparison swims, the mean over a week's days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SameDay {
    /// The difference in the logarithm of speed.
    pub difference: f64,
    /// Its variance over that of one swim: the sum over days of 1/n + 1/m, over days squared.
    pub share: f64,
}

/// A difference that is not known exactly: Student's t about a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The likeliest.
    pub value: f64,
    /// Its standard error; above zero.
    pub error: f64,
    /// Degrees of freedom.
    pub df: f64,
}

impl Difference {
    /// How likely it is more than a limit, 0 to 1.
    pub fn above(&self, limit: f64) -> f64 {
        cdf((self.value - limit) / self.error, self.df)
    }

    /// The interval in which it lies so likely, 0 to 1.
    pub fn interval(&self, share: f64) -> (f64, f64) {
        let half = quantile(f64::midpoint(1.0, share), self.df) * self.error;
        (self.value - half, self.value + half)
    }

    /// The value with its 95 % interval; `n` is how many swims it rests on.
    pub fn estimate(&self, n: usize) -> Estimate {
        Estimate {
            value: self.value,
            interval: Some(self.interval(0.95)),
            n,
        }
    }

    /// The other way round.
    #[must_use]
    pub fn turned(self) -> Self {
        Self {
            value: -self.value,
            ..self
        }
    }
}

/// What is thought of the levels.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    /// The logarithm of speed at each level.
    pub mean: Vec<f64>,
    /// Its covariance, row by row.
    pub covariance: Vec<Vec<f64>>,
    /// Variance from day to day.
    pub day_variance: f64,
    /// Degrees of freedom of that.
    pub df: f64,
}

impl Belief {
    /// From weeks in their order. `spm` has the rates of the levels, upwards, the plan's first one
    /// at `first`; `start` is the logarithm of the first speed; the squares are those of days about
    /// their week's mean and of swims about their day's middle, all weeks together.
    pub fn of(
        (spm, first): (&[f64], usize),
        weeks: &[Told],
        start: f64,
        days: Squares,
        swims: Squares,
    ) -> Self {
        let day_variance = days.variance_with(DAY_WEIGHT, DAY_SD);
        let before = Self {
            mean: vec![start; spm.len()],
            covariance: covariance(&steps(spm, first)),
            day_variance,
            df: (DAY_WEIGHT + days.df) as f64,
        };
        let swim_variance = swims.variance_with(SWIM_WEIGHT, SWIM_SD);
        let learnt = |weights: &[f64]| {
            let mut belief = before.clone();
            for (week, weight) in weeks.iter().zip(weights) {
                belief.learn(week, *weight, swim_variance);
            }
            belief
        };
        let first_look = learnt(&vec![1.0; weeks.len()]);
        let weight = |week: &Told| match week.speed {
            None => 1.0,
            Some((speed, days)) => {
                let off = (speed - first_look.mean[week.level]).abs();
                let sd = (day_error2(day_variance, days) + WEEK_SD * WEEK_SD).sqrt();
                (WILD * sd / off.max(1e-9)).min(1.0).powi(2)
            }
        };
        learnt(&weeks.iter().map(weight).collect::<Vec<_>>())
    }

    fn learn(&mut self, week: &Told, weight: f64, swim_variance: f64) {
        let level = week.level;
        if let Some((speed, days)) = week.speed {
            let forgotten = FORGET_SD * FORGET_SD * week.ago as f64;
            let variance = day_error2(self.day_variance, days) + WEEK_SD * WEEK_SD + forgotten;
            let row = self.covariance[level].clone();
            let (seen, spread) = (self.mean[level], row[level]);
            self.update(&row, speed - seen, spread + variance / weight);
        }
        if let Some((other, same_day)) = week.same_day {
            let variance = same_day_error2(swim_variance, same_day.share);
            let pairs = self.covariance[level].iter().zip(&self.covariance[other]);
            let row: Vec<f64> = pairs.map(|(one, other)| one - other).collect();
            let (seen, spread) = (self.mean[level] - self.mean[other], row[level] - row[other]);
            self.update(&row, same_day.difference - seen, spread + variance);
        }
    }

    /// One observation: its covariance with each level, how far it is from what was thought, and
    /// the variance of that.
    fn update(&mut self, row: &[f64], off: f64, variance: f64) {
        for (at, mine) in row.iter().enumerate() {
            let gain = mine / variance;
            self.mean[at] += gain * off;
            for (cell, theirs) in self.covariance[at].iter_mut().zip(row) {
                *cell -= gain * theirs;
            }
        }
    }

    /// How much faster one level is than another.
    pub fn difference(&self, one: usize, other: usize) -> Difference {
        let covariance = &self.covariance;
        let variance =
            covariance[one][one] + covariance[other][other] - 2.0 * covariance[one][other];
        Difference {
            value: self.mean[one] - self.mean[other],
            error: variance.max(1e-12).sqrt(),
            df: self.df,
        }
    }
}

/// Squared standard error of a week's value by so many days.
pub fn day_error2(day_variance: f64, days: usize) -> f64 {
    OF_MIDDLE * OF_MIDDLE * day_variance / days.max(1) as f64
}

/// Squared standard error of a week's same-day difference.
pub fn same_day_error2(swim_variance: f64, share: f64) -> f64 {
    OF_MIDDLE * OF_MIDDLE * swim_variance * share + SAME_DAY_SD * SAME_DAY_SD
}

/// How many steps of 2 % each rate lies above the first; below it less than none.
pub fn steps(spm: &[f64], first: usize) -> Vec<f64> {
    let above = |rate: &f64| libm::log(rate / spm[first]) / libm::log1p(STEP);
    spm.iter().map(above).collect()
}

/// What is taken of the levels before the first swim.
fn covariance(steps: &[f64]) -> Vec<Vec<f64>> {
    let between = |one: f64, other: f64| {
        // The way that both have in common, from the first rate on, up or down.
        let shared = if one * other > 0.0 {
            one.abs().min(other.abs())
        } else {
            0.0
        };
        LEVEL_SD.powi(2) + SLOPE_SD.powi(2) * one * other + WANDER_SD.powi(2) * shared
    };
    let row = |one: &f64| steps.iter().map(|other| between(*one, *other)).collect();
    steps.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPM: [f64; 7] = [54.0, 55.0, 56.0, 57.0, 58.0, 59.0, 60.0];

    fn close(found: &[f64], wanted: &[f64]) {
        assert_eq!(found.len(), wanted.len());
        for (found, wanted) in found.iter().zip(wanted) {
            assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
        }
    }

    fn week(level: usize, ago: usize, speed: Option<(f64, usize)>) -> Told {
        Told {
            level,
            ago,
            speed,
            same_day: None,
        }
    }

    // Reference values: the same model by a second program in numpy 2.4.6, matrix by matrix.

    #[test]
    fn three_weeks_are_believed_as_numpy_believes_them() {
        let weeks = [0.0, 0.01, 0.02].into_iter().enumerate();
        let weeks: Vec<Told> = weeks
            .map(|(level, speed)| week(level, 2 - level, Some((speed, 3))))
            .collect();
        let days = Squares {
            squares: 0.0,
            df: 6,
        };
        let belief = Belief::of((&SPM, 0), &weeks, 0.0, days, Squares::default());
        close(
            &belief.mean,
            &[
                0.001_528_263_345_308,
                0.010_141_352_119_433,
                0.018_924_357_624_389,
                0.024_405_967_448_932,
                0.029_792_240_080_188,
                0.035_086_435_151_691,
                0.040_291_647_929_822,
            ],
        );
        close(
            &belief.covariance[0],
            &[
                3.928_064_574_293_259e-5,
                8.762_994_566_646_203e-6,
                -1.049_492_112_106_002e-6,
                -1.375_775_158_372_749e-5,
                -2.624_498_660_662_463e-5,
                -3.851_875_413_396_709e-5,
                -5.058_623_005_925_567e-5,
            ],
        );
        assert_eq!((belief.df, belief.day_variance), (10.0, 4e-5));
    }

    #[test]
    fn wild_weeks_left_out_weeks_and_same_day_differences_are_taken_as_numpy_takes_them() {
        let told = |level, ago, speed, same_day: Option<(f64, f64)>| Told {
            same_day: same_day.map(|(difference, share)| (0, SameDay { difference, share })),
            ..week(level, ago, speed)
        };
        let weeks = [
            told(0, 4, Some((0.0015, 3)), None),
            told(1, 3, Some((0.00775, 3)), Some((0.011, 0.25))),
            told(2, 2, None, Some((0.002, 0.3))),
            told(2, 1, Some((0.0225, 2)), Some((0.017, 0.4))),
            told(3, 0, Some((0.09, 3)), Some((0.03, 0.25))),
        ];
        let days = Squares {
            squares: 0.000_435_166_666_666_666_66,
            df: 9,
        };
        let swims = Squares {
            squares: 0.0004 + 0.0011 + 0.0007 + 0.0009 + 0.0012,
            df: 15 + 13 + 14 + 10 + 16,
        };
        let belief = Belief::of((&SPM, 0), &weeks, 0.0015, days, swims);
        close(
            &belief.mean,
            &[
                0.014_923_729_558_492,
                0.022_583_055_083_094,
                0.025_656_895_831_633,
                0.046_598_635_443_703,
                0.054_056_100_488_899,
                0.061_386_081_236_453,
                0.068_592_863_180_700,
            ],
        );
        close(
            &belief.covariance[3],
            &[
                2.977_261_651_327_886e-5,
                2.648_908_663_728_123e-5,
                2.625_702_456_839_294e-5,
                4.356_706_644_400_558e-5,
                4.681_479_916_178_879e-5,
                5.000_701_235_357_408e-5,
                5.314_557_235_598_919e-5,
            ],
        );
    }

    #[test]
    fn a_level_below_the_first_changes_nothing_about_the_others() {
        let weeks = [week(0, 1, Some((0.0, 3))), week(1, 0, Some((0.01, 3)))];
        let days = Squares::default();
        let without = Belief::of((&SPM, 0), &weeks, 0.0, days, days);
        let spm: Vec<f64> = [53.0].into_iter().chain(SPM).collect();
        let higher = weeks.map(|week| Told {
            level: week.level + 1,
            ..week
        });
        let with = Belief::of((&spm, 1), &higher, 0.0, days, days);
        close(&with.mean[1..], &without.mean);
        close(&with.covariance[2][1..], &without.covariance[1]);
        assert!(with.mean[0] < with.mean[1]);
    }

    #[test]
    fn an_interval_is_students() {
        let found = Difference {
            value: 0.01,
            error: 0.002,
            df: 7.0,
        };
        // scipy 1.17.1: stats.t.ppf(0.9, 7).
        let (low, high) = found.interval(0.8);
        assert!((high - 0.01 - 0.002 * 1.414_923_927_650_508_6).abs() < 1e-9);
        assert!((found.above(high) - 0.1).abs() < 1e-9 && low < 0.01);
        assert!((found.turned().above(-0.01) - 0.5).abs() < 1e-12);
    }
}
