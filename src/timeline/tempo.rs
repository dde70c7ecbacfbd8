//! Tempo: phase at a time and time at a phase, both in closed form.

use crate::units::{Exact, exact, to_f64};

/// A stretch of tempo: from `start_s` on, phase grows with a frequency that changes linearly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Segment {
    /// Where it starts, in s of the track; the phase there is 0.
    pub start_s: Exact,
    /// Frequency at the start in cycles/s, positive.
    pub frequency: Exact,
    /// Change of frequency in cycles/s²; 0 for a steady rate.
    pub slope: Exact,
}

impl Segment {
    /// Elapsed phase in cycles at a time in s: f t + s t² / 2.
    pub fn phase_at(&self, time_s: &Exact) -> Exact {
        let t = time_s - &self.start_s;
        &self.frequency * &t + &self.slope * &t * &t / exact(2)
    }

    /// Frequency in cycles/s at a time in s.
    pub fn frequency_at(&self, time_s: &Exact) -> Exact {
        &self.frequency + &self.slope * (time_s - &self.start_s)
    }

    /// Whether the rate does not change.
    pub fn is_steady(&self) -> bool {
        self.slope.is_zero()
    }

    /// Seconds after the start at which the phase is reached, for a ramp: a float, since a root
    /// is no fraction. Design 4: time(u) = 2u / (f0 + sqrt(f0² + 2 s u)).
    pub fn ramp(&self) -> impl Fn(f64) -> f64 {
        let (f0, slope) = (to_f64(&self.frequency), to_f64(&self.slope));
        move |phase| ramp_time_s(f0, slope, phase)
    }
}

/// The time in which a phase is gone through: see [`Segment::ramp`]. `f0` in cycles/s, `slope` in
/// cycles/s², `phase` in cycles; s. Any other unit of time does as well, if all three share it.
pub fn ramp_time_s(f0: f64, slope: f64, phase: f64) -> f64 {
    2.0 * phase / (f0 + (f0 * f0 + 2.0 * slope * phase).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;
    use proptest::prelude::*;

    #[test]
    fn a_ramp_agrees_with_numerical_integration() {
        // Simpson's rule on f(t) = f0 + s t with 100 000 steps, against the closed form.
        let (f0, slope, swim) = (0.45_f64, 0.0009_f64, 120.0_f64);
        let steps = 100_000;
        let h = swim / f64::from(steps);
        let mut phase = 0.0;
        for step in 0..steps {
            let t = f64::from(step) * h;
            let f = |t: f64| f0 + slope * t;
            phase += h / 6.0 * (f(t) + 4.0 * f(t + h / 2.0) + f(t + h));
            if step % 997 == 0 {
                assert!(
                    (ramp_time_s(f0, slope, phase) - (t + h)).abs() < 1e-9,
                    "step {step}"
                );
            }
        }
    }

    proptest! {
        #[test]
        fn time_and_phase_are_inverse(
            from in 10i64..=160, to in 10i64..=160, swim in 10i64..4000, share in 1i64..1000,
        ) {
            let segment = Segment {
                start_s: exact(63),
                frequency: fraction(from, 120),
                slope: fraction(to - from, 120 * swim),
            };
            let time = exact(63) + fraction(swim * share, 1000);
            let phase = segment.phase_at(&time);
            let back = segment.ramp()(to_f64(&phase));
            prop_assert!((back + 63.0 - to_f64(&time)).abs() < 1e-8);
            prop_assert!(segment.frequency_at(&exact(63 + swim)).is_near(fraction(to, 120)));
        }
    }
}
