//! Tempo: one bend, then steady. Phase at a time and time at a phase, both in closed form.
//!
//! A set's rate, a ramp by time and a coach's change are all this. The anchor stands on the grid of
//! numbers, so that a phase goes on from a change exactly, however many there were. Floats are
//! used inside a bend only: it has roots in it.

use crate::units::{Fix, Rate, exact, to_f64};

/// A steady rate, as cycles a second and as seconds a cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SteadyRate {
    /// Cycles a second.
    pub hz: Fix,
    /// Seconds a cycle.
    pub cycle_s: Fix,
    /// Strokes a minute where that is a decimal: a frame can then be settled without rounding.
    pub spm: Option<Fix>,
}

impl SteadyRate {
    /// So many strokes a minute, above 0.
    pub fn spm(spm: Fix) -> Self {
        Self {
            hz: spm / exact(120),
            cycle_s: exact(120) / spm,
            spm: spm.is_decimal().then_some(spm),
        }
    }

    /// A rate.
    pub fn of(rate: &Rate) -> Self {
        Self::spm(*rate.spm())
    }

    /// This rate where somebody has said it; one that was followed, to half a stroke a minute.
    #[must_use]
    pub fn as_said(self) -> Self {
        if self.spm.is_some() {
            self
        } else {
            Self::spm(Rate::to_half(self.hz.times(120)))
        }
    }

    /// So many cycles a second, above 0.
    pub fn hz(hz: Fix) -> Self {
        Self {
            hz,
            cycle_s: exact(1) / hz,
            spm: None,
        }
    }
}

/// From an anchor on, a straight change of frequency over some cycles, then steady; steady before
/// the anchor too. Times in s of the track, phases in elapsed cycles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tempo {
    /// The anchor's time.
    pub at: Fix,
    /// The phase there.
    pub phase: Fix,
    /// The rate there.
    pub from: SteadyRate,
    /// The rate in the end.
    pub to: SteadyRate,
    /// Cycles over which the rate changes; 0 is at once.
    pub bend: Fix,
    /// Seconds that these take.
    bend_s: Fix,
    /// Change of frequency in them, cycles/s².
    slope: f64,
}

impl Tempo {
    /// A rate that does not change, at `phase` at time `at`.
    pub fn steady(at: Fix, phase: Fix, beat: SteadyRate) -> Self {
        Self {
            at,
            phase,
            from: beat,
            to: beat,
            bend: Fix::ZERO,
            bend_s: Fix::ZERO,
            slope: 0.0,
        }
    }

    /// A rate that changes from time `at` and `phase` on, over `bend` cycles, above 0.
    fn bent(at: Fix, phase: Fix, from: SteadyRate, to: SteadyRate, bend: Fix) -> Self {
        let (f, t) = (to_f64(&from.hz), to_f64(&to.hz));
        Self {
            bend,
            bend_s: bend.times(2) / (from.hz + to.hz),
            // f² - f0² = 2 s u, from the closed form.
            slope: (t * t - f * f) / (2.0 * to_f64(&bend)),
            from,
            ..Self::steady(at, phase, to)
        }
    }

    /// A rate that changes on a straight line from time `at` and `phase` on, up to time `end`.
    pub fn ramp(at: Fix, phase: Fix, from: SteadyRate, to: SteadyRate, end: Fix) -> Self {
        if from == to || end <= at {
            return Self::steady(at, phase, from);
        }
        let bend = (end - at).mul_div(from.hz + to.hz, exact(2));
        Self::bent(at, phase, from, to, bend)
    }

    /// Another rate from time `at` on, over `bend` cycles: the phase goes on where it is.
    #[must_use]
    pub fn change(&self, at: Fix, to: SteadyRate, bend: Fix) -> Self {
        let phase = self.phase_at(at);
        if bend.is_positive() {
            Self::bent(at, phase, self.beat_at(at), to, bend)
        } else {
            Self::steady(at, phase, to)
        }
    }

    /// The rate at a time.
    pub fn beat_at(&self, time: Fix) -> SteadyRate {
        let on = time - self.at;
        if !self.bend_s.exceeds(on) {
            self.to
        } else if on <= Fix::ZERO {
            self.from
        } else {
            let hz = to_f64(&self.from.hz) + self.slope * to_f64(&on);
            SteadyRate::hz(Fix::from_f64(hz))
        }
    }

    /// The phase at a time.
    pub fn phase_at(&self, time: Fix) -> Fix {
        let on = time - self.at;
        if on.is_negative() {
            self.phase + on * self.from.hz
        } else if !self.bend_s.exceeds(on) {
            self.phase + self.bend + (on - self.bend_s) * self.to.hz
        } else {
            let (f, t) = (to_f64(&self.from.hz), to_f64(&on));
            self.phase + Fix::from_f64(f * t + 0.5 * self.slope * t * t)
        }
    }

    /// The time at which a phase is reached.
    pub fn time_of(&self, phase: Fix) -> Fix {
        let on = phase - self.phase;
        if on.is_negative() {
            self.at + on * self.from.cycle_s
        } else if self.bend.exceeds(on) {
            self.at + Fix::from_f64(self.curve().time_s(to_f64(&on)))
        } else {
            self.at + self.bend_s + (on - self.bend) * self.to.cycle_s
        }
    }

    /// Whether the rate still changes at so many cycles after the anchor.
    pub fn bends(&self, on: Fix) -> bool {
        !on.is_negative() && self.bend.exceeds(on)
    }

    /// When the rate has come to its end.
    pub fn bent_at(&self) -> Fix {
        self.at + self.bend_s
    }

    /// What happens inside the bend.
    pub(super) fn curve(&self) -> Curve {
        Curve {
            f0: to_f64(&self.from.hz),
            slope: self.slope,
        }
    }
}

/// A frequency that changes on a straight line: from `f0` cycles/s by `slope` cycles/s².
#[derive(Debug, Clone, Copy)]
pub(super) struct Curve {
    f0: f64,
    slope: f64,
}

impl Curve {
    /// Seconds in which so many cycles go by: 2u / (f0 + sqrt(f0² + 2 s u)), the form without
    /// cancellation for small slopes.
    #[inline]
    pub fn time_s(&self, cycles: f64) -> f64 {
        2.0 * cycles / (self.f0 + (self.f0 * self.f0 + 2.0 * self.slope * cycles).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;
    use proptest::prelude::*;

    #[test]
    fn a_ramp_agrees_with_numerical_integration() {
        // Simpson's rule on f(t) = f0 + s t with 100 000 steps, against the closed form.
        let curve = Curve {
            f0: 0.45,
            slope: 0.0009,
        };
        let swim = 120.0_f64;
        let steps = 100_000;
        let h = swim / f64::from(steps);
        let mut phase = 0.0;
        for step in 0..steps {
            let t = f64::from(step) * h;
            let f = |t: f64| curve.f0 + curve.slope * t;
            phase += h / 6.0 * (f(t) + 4.0 * f(t + h / 2.0) + f(t + h));
            if step % 997 == 0 {
                assert!((curve.time_s(phase) - (t + h)).abs() < 1e-9, "step {step}");
            }
        }
    }

    fn beat() -> impl Strategy<Value = SteadyRate> {
        (10_000i64..=160_000).prop_map(|milli| SteadyRate::spm(fraction(milli, 1000)))
    }

    proptest! {
        #[test]
        fn time_and_phase_are_inverse_and_a_change_is_continuous(
            from in beat(), to in beat(), at in 0i64..100_000_000, after in 1i64..100_000,
            gentle: bool, on in 0i64..6_000_000,
        ) {
            let bend = if gentle { exact(2) } else { exact(0) };
            let old = Tempo::steady(fraction(at, 1000), fraction(1234, 10), from);
            let change = fraction(at + after, 1000);
            let new = old.change(change, to, bend);
            prop_assert_eq!(new.phase_at(change), old.phase_at(change));
            let phase = new.phase_at(change) + fraction(on, 1_000_000);
            let time = new.time_of(phase);
            prop_assert!(time >= change);
            let back = to_f64(&(new.phase_at(time) - phase)).abs();
            prop_assert!(back < if gentle { 1e-9 } else { 1e-20 }, "{}", back);
        }

        #[test]
        fn a_bend_agrees_with_numerical_integration(from in beat(), to in beat()) {
            // Simpson's rule on the frequency, against the closed form.
            let steady = Tempo::steady(exact(0), exact(0), from);
            let tempo = steady.change(exact(0), to, exact(2));
            let end = to_f64(&tempo.time_of(exact(2)));
            let steps = 2000;
            let h = end / f64::from(steps);
            let f = |t: f64| to_f64(&tempo.beat_at(Fix::from_f64(t.min(end * (1.0 - 1e-12)))).hz);
            let sum: f64 = (0..steps)
                .map(|k| f64::from(k) * h)
                .map(|t| h / 6.0 * (f(t) + 4.0 * f(t + h / 2.0) + f(t + h)))
                .sum();
            prop_assert!((sum - 2.0).abs() < 1e-9, "{}", sum);
            prop_assert_eq!(tempo.beat_at(Fix::from_f64(end + 1.0)), to);
        }

        #[test]
        fn a_ramp_by_time_ends_at_its_end(from in beat(), to in beat(), swim in 10i64..4000, share in 1i64..1000) {
            let tempo = Tempo::ramp(exact(63), exact(0), from, to, exact(63 + swim));
            let time = exact(63) + fraction(swim * share, 1000);
            let back = tempo.time_of(tempo.phase_at(time));
            prop_assert!((to_f64(&back) - to_f64(&time)).abs() < 1e-8);
            prop_assert!(tempo.bent_at().is_near(exact(63 + swim)) || from == to);
            prop_assert_eq!(tempo.beat_at(exact(64 + swim)), to);
        }
    }
}
