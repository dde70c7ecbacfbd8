//! Figures of a week with intervals, from the middles of its days.
//!
//! The middle of some values is that of Hodges and Lehmann (1963): the median of the means of all
//! pairs, each value with itself included. Three wild values in ten do not move it far, and where
//! strokes are counted whole it moves by less than a stroke, which a median cannot.

use std::sync::OnceLock;

use jiff::civil::Date;

use super::LoggedSwim;
use crate::analysis::Estimate;
use crate::analysis::stats::{median, t_quantile};

/// Standard deviation of a normal sample from its median absolute deviation.
pub const FROM_MAD: f64 = 1.4826;
/// Standard error of the middle over that of a mean in normal samples: √(π/3) = 1.023 in large
/// ones, 0.99 to 1.045 for two to eight values (numpy, 20 000 samples each). The most is taken.
pub const OF_MIDDLE: f64 = 1.045;

/// The median of the means of all pairs; none of nothing.
pub fn middle(values: &[f64]) -> Option<f64> {
    let mut means = Vec::with_capacity(values.len() * (values.len() + 1) / 2);
    for (at, value) in values.iter().enumerate() {
        means.extend(values[at..].iter().map(|other| (value + other) / 2.0));
    }
    median(&means)
}

/// A figure of a swim, where it says enough.
pub type Figure<'a> = &'a dyn Fn(&LoggedSwim) -> Option<f64>;

/// One figure of one week: the middle of each day, and how the swims inside a day differ.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Days {
    /// The middle of each day.
    pub middles: Vec<f64>,
    /// Squared standard error of a day's middle by its own swims, the mean over days.
    pub inner: f64,
    /// How many swims.
    pub swims: usize,
}

impl Days {
    /// The days of some swims. Where a week has one training day, each swim stands for itself.
    pub fn of(swims: &[&LoggedSwim], figure: Figure, single: bool) -> Self {
        let mut by_day: Vec<(Date, Vec<f64>)> = Vec::new();
        let mut count = 0;
        for swim in swims {
            let Some(value) = figure(swim).filter(|value| value.is_finite()) else {
                continue;
            };
            count += 1;
            match by_day.last_mut() {
                Some((date, values)) if *date == swim.date && !single => values.push(value),
                _ => by_day.push((swim.date, vec![value])),
            }
        }
        let inner = |values: &[f64]| -> Option<f64> {
            let centre = median(values)?;
            let off: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
            let squares: f64 = off.iter().map(|off| off * off).sum();
            let sd = match FROM_MAD * median(&off)? {
                // Strokes counted whole: most swims are equal, and the others still scatter.
                0.0 => (squares / (values.len() as f64 - 1.0)).sqrt(),
                sd => sd,
            };
            (values.len() > 2).then(|| (OF_MIDDLE * sd).powi(2) / values.len() as f64)
        };
        let inners: Vec<f64> = by_day.iter().filter_map(|(_, all)| inner(all)).collect();
        Self {
            middles: by_day.iter().filter_map(|(_, all)| middle(all)).collect(),
            inner: crate::analysis::stats::mean(&inners).unwrap_or(0.0),
            swims: count,
        }
    }

    /// The week's value: the middle of its days.
    pub fn value(&self) -> Option<f64> {
        middle(&self.middles)
    }

    /// Squared standard error of the value for a day-to-day variance.
    pub fn error2(&self, variance: f64) -> f64 {
        let days = self.middles.len() as f64;
        OF_MIDDLE * OF_MIDDLE * variance.max(self.inner) / days
    }
}

/// The variance from day to day within weeks, pooled over weeks, with its degrees of freedom.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Squares {
    /// Squares about each week's mean.
    pub squares: f64,
    /// Degrees of freedom.
    pub df: usize,
}

impl Squares {
    /// With one more week. The squares are those about the week's mean: not robust, so that a wild
    /// day makes the interval wider and the verdict more careful.
    pub fn add(&mut self, days: &Days) {
        let Some(mean) = crate::analysis::stats::mean(&days.middles) else {
            return;
        };
        self.squares += days.middles.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
        self.df += days.middles.len() - 1;
    }

    fn variance(&self) -> f64 {
        self.squares / self.df.max(1) as f64
    }

    /// The variance where a default counts as much as so many values.
    pub fn variance_with(&self, weight: usize, sd: f64) -> f64 {
        (weight as f64 * sd * sd + self.squares) / (weight + self.df) as f64
    }

    /// These squares and others.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            squares: self.squares + other.squares,
            df: self.df + other.df,
        }
    }

    /// A week's value with its interval.
    pub fn estimate(&self, week: &Days) -> Option<Estimate> {
        let value = week.value()?;
        let error2 = week.error2(self.variance());
        let half = quantile(self.df).map(|t| t * error2.sqrt());
        Some(Estimate {
            value,
            interval: half.map(|half| (value - half, value + half)),
            n: week.swims,
        })
    }
}

/// The 97.5 % quantile of Student's t, remembered: a plan asks for the same few again and again.
fn quantile(df: usize) -> Option<f64> {
    static KNOWN: [OnceLock<Option<f64>>; 256] = [const { OnceLock::new() }; 256];
    match KNOWN.get(df) {
        Some(known) => *known.get_or_init(|| t_quantile(df)),
        None => t_quantile(df),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(middles: &[f64]) -> Days {
        Days {
            middles: middles.to_vec(),
            inner: 0.0,
            swims: middles.len() * 8,
        }
    }

    #[test]
    fn the_interval_is_students_with_the_pooled_scatter_by_hand() {
        let mut scatter = Squares::default();
        let (first, second) = (days(&[1.0, 1.1, 1.2]), days(&[1.3, 1.4, 1.5]));
        scatter.add(&first);
        scatter.add(&second);
        // By hand: variance (0.02 + 0.02) / 4 = 0.01; error of the middle of three days
        // 1.045 sqrt(0.01 / 3) = 0.060333; t with 4 degrees of freedom 2.77645.
        let found = scatter.estimate(&second).expect("it has days");
        assert!((found.value - 1.4).abs() < 1e-12);
        let half = found.half_width().expect("four degrees of freedom");
        assert!((half - 2.77645 * 0.060333).abs() < 1e-4, "{half}");
    }

    #[test]
    fn the_middle_is_that_of_hodges_and_lehmann() {
        // docs/sources.md, "Paired trials and trends": Hodges-Lehmann 0.0145 (scipy 1.17.1).
        let differences = [0.012, 0.034, -0.006, 0.021, 0.018, 0.009, 0.027, -0.002];
        assert!((middle(&differences).expect("eight") - 0.0145).abs() < 1e-12);
        assert_eq!(middle(&[]), None);
        assert_eq!(middle(&[3.0]), Some(3.0));
    }

    #[test]
    fn one_wild_swim_a_day_does_not_move_the_week() {
        let swim = |day: i8, speed: f64| LoggedSwim {
            date: Date::constant(2027, 3, day),
            distance_m: 50.0,
            cued_spm: None,
            strokes: None,
            rate_spm: None,
            speed_m_s: Some(speed),
            length_m: None,
            effort: None,
            kept: None,
            ill: false,
            pain: false,
        };
        let mut swims = Vec::new();
        for day in [1, 3, 5] {
            swims.extend([1.0, 1.01, 0.99, 9.0, 1.0].map(|speed| swim(day, speed)));
        }
        let all: Vec<&LoggedSwim> = swims.iter().collect();
        let week = Days::of(&all, &|swim| swim.speed_m_s, false);
        for middle in &week.middles {
            assert!((middle - 1.0).abs() < 0.0051, "{middle}");
        }
        assert_eq!(week.swims, 15);
        // By hand: the median distance from 1 is 0.01: sd 0.014826, error 1.045 sd / sqrt 5.
        assert!((week.inner.sqrt() - 0.014826 * 1.045 / 5_f64.sqrt()).abs() < 1e-9);
        // The days agree by chance; the swims inside them still give an interval.
        let mut scatter = Squares::default();
        scatter.add(&week);
        let half = scatter.estimate(&week).and_then(|found| found.half_width());
        assert!(half.expect("two degrees of freedom") > 0.01);
        let single = Days::of(&all, &|swim| swim.speed_m_s, true);
        assert_eq!(single.middles.len(), 15);
    }
}
