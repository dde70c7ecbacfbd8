//! Student's t: means with intervals from few cycles.

use libm::{exp, lgamma, log, sqrt};

use super::Estimate;

/// P(T <= t) with `df` degrees of freedom, by the incomplete beta function.
pub fn cdf(t: f64, df: f64) -> f64 {
    let tail = 0.5 * incomplete_beta(df / 2.0, 0.5, df / (df + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// The two-sided 95 % factor for `df` degrees of freedom.
pub fn factor_95(df: f64) -> f64 {
    const Z: f64 = 1.959_963_984_540_054;
    if df > 1000.0 {
        // The first term of the expansion in 1/df; the next is below 1e-6 here.
        return Z + (Z * Z * Z + Z) / (4.0 * df);
    }
    quantile(0.975, df)
}

/// The t below which Student's distribution with `df` degrees of freedom has a share of a half or
/// more; by halving.
pub fn quantile(share: f64, df: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e4);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if cdf(middle, df) < share {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

/// Mean and squared standard error of a sample; the variance is at least `floor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// The variance of one value.
    pub variance: f64,
    /// The squared standard error of the mean.
    pub error2: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// How many values.
    pub n: usize,
}

impl Mean {
    /// Nothing of an empty sample. `floor` is a variance that each value has by the way it was
    /// read, such as the rounding to frames: a sample of equal values is not exact.
    pub fn of(sample: &[f64], floor: f64) -> Option<Self> {
        let n = sample.len();
        if n == 0 {
            return None;
        }
        let count = n as f64;
        let value = sample.iter().sum::<f64>() / count;
        let squares: f64 = sample.iter().map(|x| (x - value) * (x - value)).sum();
        let variance = (squares / (count - 1.0).max(1.0)).max(floor);
        Some(Self {
            value,
            variance,
            error2: variance / count,
            df: count - 1.0,
            n,
        })
    }

    /// A weighted sum of independent means, with degrees of freedom after Welch and Satterthwaite.
    /// `n` is the smallest of theirs.
    pub fn sum(parts: &[(f64, Self)]) -> Self {
        let total =
            |f: &dyn Fn(f64, &Self) -> f64| parts.iter().map(|(w, m)| f(*w, m)).sum::<f64>();
        let error2 = total(&|w, mean| w * w * mean.error2);
        let below = total(&|w, mean| {
            let part = w * w * mean.error2;
            part * part / mean.df.max(0.5)
        });
        Self {
            value: total(&|w, mean| w * mean.value),
            variance: total(&|w, mean| w * w * mean.variance),
            error2,
            df: if below > 0.0 {
                error2 * error2 / below
            } else {
                f64::INFINITY
            },
            n: parts.iter().map(|(_, mean)| mean.n).min().unwrap_or(0),
        }
    }

    /// The same with a further error, known as such: of all values together, so that more of them
    /// do not lessen it. The degrees of freedom are Welch's and Satterthwaite's.
    #[must_use]
    pub fn with(self, further_error2: f64) -> Self {
        let error2 = self.error2 + further_error2;
        let df = if further_error2 > 0.0 && self.error2 > 0.0 {
            self.df * (error2 / self.error2).powi(2)
        } else if further_error2 > 0.0 {
            f64::INFINITY
        } else {
            self.df
        };
        Self { error2, df, ..self }
    }

    /// Half the width of the 95 % interval; none from fewer than three values.
    pub fn half_width(&self) -> Option<f64> {
        (self.n >= 3).then(|| factor_95(self.df) * sqrt(self.error2))
    }

    /// The mean with its interval.
    pub fn estimate(&self) -> Estimate {
        Estimate {
            value: self.value,
            interval: (self.half_width()).map(|half| (self.value - half, self.value + half)),
            n: self.n,
        }
    }
}

/// The regularised incomplete beta function I_x(a, b), by its continued fraction
/// (Abramowitz & Stegun 26.5.8, from memory; held against scipy in a test).
fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return x.clamp(0.0, 1.0);
    }
    let front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(1.0 - x));
    if x < (a + 1.0) / (a + b + 2.0) {
        front * continued_fraction(a, b, x) / a
    } else {
        1.0 - front * continued_fraction(b, a, 1.0 - x) / b
    }
}

/// Evaluated from the front by Lentz's method.
fn continued_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for m in 1..500 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for term in [even, odd] {
            d = 1.0 / away(1.0 + term * d);
            c = away(1.0 + term / c);
            step = c * d;
            fraction *= step;
        }
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    fraction
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factors_are_those_of_the_tables() {
        // scipy 1.10.1: stats.t.ppf(0.975, df).
        for (df, factor) in [
            (1.0, 12.706_204_736_432_095),
            (2.0, 4.302_652_729_911_275),
            (5.0, 2.570_581_836_614_74),
            (29.0, 2.045_229_642_132_703),
            (5000.0, 1.960_438_551_706_507),
        ] {
            assert!(
                (factor_95(df) - factor).abs() < 1e-6,
                "{df}: {}",
                factor_95(df)
            );
        }
        assert!(
            (cdf(1.5, 7.0) - 0.911_350_756_505_015).abs() < 1e-9,
            "{}",
            cdf(1.5, 7.0)
        );
    }

    #[test]
    fn a_sample_of_equal_values_is_only_as_exact_as_its_reading() {
        let mean = Mean::of(&[2.0; 9], 0.09).expect("nine values");
        assert_eq!(mean.error2, 0.01);
        assert!(mean.half_width().is_some_and(|half| half > 0.2));
    }

    #[test]
    fn two_values_have_no_interval() {
        let mean = Mean::of(&[1.0, 2.0], 0.0).expect("two values");
        assert_eq!(mean.estimate().interval, None);
        assert_eq!(Mean::of(&[], 0.0), None);
    }
}
