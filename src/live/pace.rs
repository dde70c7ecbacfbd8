//! The tempo that a hand has set: phase at a frame and frame at a phase, both in closed form.
//!
//! One bend from a past phase to a frequency that then holds. Every change begins at the present
//! phase, so that nothing jumps and nothing repeats.

use crate::timeline::ramp_time_s;

/// A tempo: from frame `frame` and phase `phase` on, a straight change of frequency over `bend`
/// cycles, then steady; before `frame` steady too. Frames and cycles are floats; frequencies are in
/// cycles a frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    frame: f64,
    phase: f64,
    from: f64,
    to: f64,
    /// Cycles over which the frequency changes; 0 for a step.
    bend: f64,
}

impl Pace {
    /// A steady tempo that is at `phase` at `frame`.
    pub fn steady(frame: f64, phase: f64, frequency: f64) -> Self {
        Self {
            frame,
            phase,
            from: frequency,
            to: frequency,
            bend: 0.0,
        }
    }

    /// From the frequency at `frame` to another one, over `bend` cycles from there; 0 is at once.
    #[must_use]
    pub fn to_frequency(self, frame: f64, frequency: f64, bend: f64) -> Self {
        Self {
            frame,
            phase: self.phase_at(frame),
            from: match bend > 0.0 {
                true => self.frequency_at(frame),
                false => frequency,
            },
            to: frequency,
            bend,
        }
    }

    /// Change of frequency a frame inside the bend: f² - f0² = 2 s x, from the closed form.
    fn slope(&self) -> f64 {
        match self.bend > 0.0 {
            true => (self.to * self.to - self.from * self.from) / (2.0 * self.bend),
            false => 0.0,
        }
    }

    /// Frames that the bend takes: its cycles at the mean frequency.
    fn bend_frames(&self) -> f64 {
        2.0 * self.bend / (self.from + self.to)
    }

    /// The frame at which a phase is reached.
    pub fn frame_at(&self, phase: f64) -> f64 {
        let on = phase - self.phase;
        if on <= 0.0 {
            self.frame + on / self.from
        } else if on <= self.bend {
            self.frame + ramp_time_s(self.from, self.slope(), on)
        } else {
            self.frame + self.bend_frames() + (on - self.bend) / self.to
        }
    }

    /// The phase at a frame.
    pub fn phase_at(&self, frame: f64) -> f64 {
        let t = frame - self.frame;
        let bend = self.bend_frames();
        if t < 0.0 {
            self.phase + self.from * t
        } else if t < bend {
            self.phase + self.from * t + 0.5 * self.slope() * t * t
        } else {
            self.phase + self.bend + self.to * (t - bend)
        }
    }

    /// Cycles a frame at a frame.
    pub fn frequency_at(&self, frame: f64) -> f64 {
        let t = frame - self.frame;
        match t < self.bend_frames() {
            true => self.from + self.slope() * t.max(0.0),
            false => self.to,
        }
    }

    /// Cycles a frame where the tempo is going.
    pub fn goal(&self) -> f64 {
        self.to
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn frame_and_phase_are_inverse_and_a_change_is_continuous(
            from in 10.0..160.0f64, to in 10.0..160.0f64, at in 0.0..4e9f64, bend in prop::sample::select(vec![0.0, 2.0]),
            on in 0.0..6.0f64,
        ) {
            let cycles = |spm: f64| spm / 120.0 / 48_000.0;
            let old = Pace::steady(at, 1234.25, cycles(from));
            let change = at + 0.3 / cycles(from);
            let new = old.to_frequency(change, cycles(to), bend);
            prop_assert!((new.phase_at(change) - old.phase_at(change)).abs() < 1e-9);
            let phase = new.phase_at(change) + on;
            let frame = new.frame_at(phase);
            prop_assert!(frame >= change);
            prop_assert!((new.phase_at(frame) - phase).abs() < 1e-8, "{} {}", new.phase_at(frame), phase);
        }

        #[test]
        fn a_bend_agrees_with_numerical_integration(from in 30.0..120.0f64, to in 30.0..120.0f64) {
            // Simpson's rule on the frequency, against the closed form.
            let cycles = |spm: f64| spm / 120.0 / 8000.0;
            let pace = Pace::steady(0.0, 0.0, cycles(from)).to_frequency(0.0, cycles(to), 2.0);
            let end = pace.frame_at(2.0);
            let steps = 2000;
            let h = end / f64::from(steps);
            let f = |t: f64| pace.frequency_at(t.min(end * (1.0 - 1e-12)));
            let sum: f64 = (0..steps)
                .map(|k| f64::from(k) * h)
                .map(|t| h / 6.0 * (f(t) + 4.0 * f(t + h / 2.0) + f(t + h)))
                .sum();
            prop_assert!((sum - 2.0).abs() < 1e-9, "{}", sum);
            prop_assert!((pace.frequency_at(end + 1.0) - cycles(to)).abs() < 1e-15);
        }
    }
}
