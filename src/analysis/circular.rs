//! Circular statistics of phases. All phases and distances here are in cycles (1 = a full turn).
//!
//! Formulas: Zar, Biostatistical Analysis, 5th ed. 2010, ch. 26-27, and Fisher, Statistical
//! Analysis of Circular Data, 1993, as given with their examples in the tests below.

use std::f64::consts::TAU;

use libm::{acos, asin, erfc, exp, log, sqrt};

use super::student::factor_95;
use super::wrap_half;

/// A sample of phases, summarised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circular {
    /// How many.
    pub n: usize,
    /// Mean direction, 0 to 1 (excluded).
    pub mean: f64,
    /// Length of the mean vector, 0 (no direction) to 1 (all equal).
    pub r: f64,
    /// Length of the mean vector of the doubled angles, along the mean.
    second: f64,
}

/// Above this concentration the interval of the mean comes from the dispersion and Student's t.
const CONCENTRATED: f64 = 0.9;
/// The 95 % point of chi-squared with one degree of freedom.
const CHI2: f64 = 3.841_458_820_694_124;

impl Circular {
    /// Summarises phases; nothing of an empty sample.
    pub fn of(phases: &[f64]) -> Option<Self> {
        if phases.is_empty() {
            return None;
        }
        let n = phases.len() as f64;
        let (mut sines, mut cosines) = (0.0, 0.0);
        for phase in phases {
            let (sine, cosine) = libm::sincos(phase * TAU);
            sines += sine;
            cosines += cosine;
        }
        let turn = libm::atan2(sines, cosines) / TAU;
        let mean = turn - turn.floor();
        let second: f64 = (phases.iter())
            .map(|phase| libm::cos(2.0 * TAU * (phase - mean)))
            .sum();
        Some(Self {
            n: phases.len(),
            mean: if mean >= 1.0 { 0.0 } else { mean },
            r: (sines.hypot(cosines) / n).min(1.0),
            second: second / n,
        })
    }

    /// Circular variance, 1 - r.
    pub fn variance(&self) -> f64 {
        1.0 - self.r
    }

    /// Angular deviation √(2 (1 - r)), in cycles.
    pub fn angular_deviation(&self) -> f64 {
        sqrt(2.0 * self.variance()) / TAU
    }

    /// Circular standard deviation √(-2 ln r), in cycles; none where there is no direction.
    pub fn sd(&self) -> Option<f64> {
        let sd = sqrt((-2.0 * log(self.r)).max(0.0)) / TAU;
        sd.is_finite().then_some(sd)
    }

    /// Rayleigh's z = n r².
    pub fn rayleigh_z(&self) -> f64 {
        self.n as f64 * self.r * self.r
    }

    /// P of Rayleigh's test that there is no direction: exp(√(1 + 4n + 4(n² - R²)) - (1 + 2n))
    /// (Zar, eq. 27.4).
    pub fn rayleigh_p(&self) -> f64 {
        let n = self.n as f64;
        let across = n * n * (1.0 - self.r * self.r);
        exp(sqrt(1.0 + 4.0 * n + 4.0 * across) - (1.0 + 2.0 * n)).min(1.0)
    }

    /// The V test towards an expected phase: V, u, and its one-sided P (normal approximation).
    pub fn v_test(&self, expected: f64) -> (f64, f64, f64) {
        let n = self.n as f64;
        let v = n * self.r * libm::cos(TAU * (self.mean - expected));
        let u = v * sqrt(2.0 / n);
        (v, u, 0.5 * erfc(u / std::f64::consts::SQRT_2))
    }

    /// Fisher's circular dispersion (1 - ρ₂) / (2 r²), in squared radians.
    pub fn dispersion(&self) -> f64 {
        (1.0 - self.second) / (2.0 * self.r * self.r)
    }

    /// Fisher's standard error of the mean, √(dispersion / n), in cycles.
    pub fn standard_error(&self) -> f64 {
        sqrt(self.dispersion() / self.n as f64) / TAU
    }

    /// Half of the 95 % interval of the mean, in cycles, by Zar's formulas (26.23 and 26.25);
    /// none where the sample is too scattered for one.
    pub fn zar_half_width(&self) -> Option<f64> {
        let (n, r) = (self.n as f64, self.n as f64 * self.r);
        let cosine = if self.r <= CONCENTRATED {
            sqrt(2.0 * n * (2.0 * r * r - n * CHI2) / (4.0 * n - CHI2)) / r
        } else {
            sqrt(n * n - (n * n - r * r) * exp(CHI2 / n)) / r
        };
        let half = acos(cosine) / TAU;
        half.is_finite().then_some(half)
    }

    /// Half of the 95 % interval of the mean, in cycles; none from fewer than three phases or
    /// where the sample is too scattered.
    ///
    /// Zar's formulas rest on large samples: for the concentrated kicks of six swum cycles they
    /// cover 91 % instead of 95 %. There it is Fisher's standard error, made unbiased by
    /// n / (n - 1), times Student's t. `floor` is a variance (squared cycles) that each phase
    /// has by the way it was read.
    pub fn half_width(&self, floor: f64) -> Option<f64> {
        if self.n < 3 {
            return None;
        }
        if self.r <= CONCENTRATED {
            return self.zar_half_width();
        }
        let n = self.n as f64;
        let unbiased = self.dispersion() / (TAU * TAU) * n / (n - 1.0);
        let error = sqrt(unbiased.max(floor) / n);
        let half = asin((factor_95(n - 1.0) * error * TAU).min(1.0)) / TAU;
        half.is_finite().then_some(half)
    }

    /// How far a phase lies after the mean, -1/2 to 1/2.
    pub fn from_mean(&self, phase: f64) -> f64 {
        wrap_half(phase - self.mean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circular(degrees: &[f64]) -> Circular {
        let phases: Vec<f64> = degrees.iter().map(|degrees| degrees / 360.0).collect();
        Circular::of(&phases).expect("a sample")
    }

    fn near(value: f64, printed: f64, digit: f64) {
        assert!(
            (value - printed).abs() <= digit / 2.0 * 1.0001,
            "{value} for {printed}"
        );
    }

    const ZAR_26: [f64; 8] = [45.0, 55.0, 81.0, 96.0, 110.0, 117.0, 132.0, 154.0];

    #[test]
    fn zars_example_26_comes_out_to_its_digits() {
        // Zar 26.2/26.4 and 27.1 (computed with numpy, scipy and pycircstat2: docs/sources.md).
        let sample = circular(&ZAR_26);
        near(sample.mean * 360.0, 98.98775, 1e-5);
        near(sample.r, 0.8252177, 1e-7);
        near(sample.variance(), 0.1747823, 1e-7);
        near(sample.angular_deviation() * 360.0, 33.87555, 1e-5);
        near(sample.sd().expect("a direction") * 360.0, 35.51488, 1e-5);
        near(sample.rayleigh_z(), 5.447875, 1e-6);
        near(sample.rayleigh_p(), 0.00185164, 1e-8);
        let half = sample.half_width(0.0).expect("eight phases");
        near((sample.mean - half) * 360.0, 68.05, 0.01);
        near((sample.mean + half) * 360.0, 129.92, 0.01);
    }

    #[test]
    fn zars_example_27_comes_out_to_its_digits() {
        // Zar 27.2, V test, expected 90 degrees (computed as above).
        let sample = circular(&[
            66.0, 75.0, 86.0, 88.0, 88.0, 93.0, 97.0, 101.0, 118.0, 130.0,
        ]);
        near(sample.mean * 360.0, 94.04817, 1e-5);
        near(sample.r, 0.9521367, 1e-7);
        let (v, u, p) = sample.v_test(0.25);
        near(v, 9.497612, 1e-6);
        near(u, 4.247461, 1e-6);
        near(p, 1.08e-5, 1e-7);
    }

    #[test]
    fn fishers_ants_come_out_to_their_digits() {
        // Fisher 1993, data B.10 set 1 (computed as above).
        let sample = circular(&[
            11.0, 3.0, -22.0, -1.0, -7.0, 27.0, -2.0, 15.0, 14.0, -13.0, 0.0,
        ]);
        near(sample.mean * 360.0, 2.26957, 1e-5);
        near(sample.r, 0.9735658, 1e-7);
        near(sample.dispersion(), 0.0539728, 1e-7);
        near(sample.standard_error() * 360.0, 4.01341, 1e-5);
    }

    #[test]
    fn the_edges_hold() {
        assert_eq!(Circular::of(&[]), None);
        let equal = circular(&[90.0; 5]);
        near(equal.r, 1.0, 1e-12);
        assert!(equal.sd().is_some_and(|sd| sd < 1e-6));
        assert!(equal.half_width(0.0).is_some_and(|half| half < 1e-6));
        let spread = circular(&[0.0, 90.0, 180.0, 270.0]);
        assert!(spread.r < 1e-12);
        assert_eq!(spread.half_width(0.0), None);
        assert!(spread.rayleigh_p() > 0.9);
        near(circular(&[350.0, 10.0]).from_mean(0.5), 0.5, 1e-9);
    }
}
