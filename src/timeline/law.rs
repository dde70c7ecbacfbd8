//! Where evenly phased events fall: event number to frame, without allocating.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::ToPrimitive;

use super::tempo::{Segment, ramp_time_s};
use crate::units::{Exact, exact, to_f64};

/// The frames of events whose phases are evenly spaced.
#[derive(Debug, Clone, Copy)]
pub(super) enum Law {
    /// Frame = (first + j x step) / den, each a whole number; small enough for 64 bits throughout.
    Steady64 { first: u64, step: u64, den: u64 },
    /// The same in 128 bits.
    Steady128 { first: u128, step: u128, den: u128 },
    /// A rate that changes: seconds by the closed form, then frames.
    Ramp {
        whole: u64,
        part: f64,
        f0: f64,
        slope: f64,
        phase: f64,
        step: f64,
        sample_rate_hz: f64,
    },
}

/// Where the common denominator of nine-decimal inputs outgrows 128 bits, frames are kept on a
/// grid of 2^-80: over a million events that adds up to less than 10^-17 of a frame.
const GRID_BITS: u32 = 80;

impl Law {
    /// Events at `first_s + j x step_s` seconds, for j below `count`.
    pub fn even(first_s: &Exact, step_s: &Exact, count: u64, sample_rate_hz: u32) -> Self {
        let sample_rate = exact(sample_rate_hz.into());
        let (first, step) = (first_s * &sample_rate, step_s * &sample_rate);
        let den = first.denom().lcm(step.denom());
        let over = |value: &Exact, den: &BigInt| value.numer() * (den / value.denom());
        let (first_over, step_over) = (over(&first, &den), over(&step, &den));
        // The largest number met below: 2 (first + count x step) + den.
        let largest: BigInt = (&first_over + &step_over * count) * 2 + &den * 2;
        let parts = |first: &BigInt, step: &BigInt, den: &BigInt| {
            Some((first.to_u128()?, step.to_u128()?, den.to_u128()?))
        };
        if largest.bits() < 64
            && let Some((first, step, den)) = parts(&first_over, &step_over, &den)
        {
            return Self::Steady64 {
                first: first as u64,
                step: step as u64,
                den: den as u64,
            };
        }
        if largest.bits() < 128
            && let Some((first, step, den)) = parts(&first_over, &step_over, &den)
        {
            return Self::Steady128 { first, step, den };
        }
        let den = BigInt::from(1u32) << GRID_BITS;
        let on_grid = |value: &Exact| {
            (value * Exact::from_integer(den.clone()))
                .round()
                .to_integer()
        };
        let (first, step, den) = parts(&on_grid(&first), &on_grid(&step), &den)
            .expect("a session of 12 h has under 2^40 frames, and 40 + 80 bits fit");
        Self::Steady128 { first, step, den }
    }

    /// Events at phases `phase + j x step` of a tempo segment, `lead_s` earlier.
    pub fn on_segment(
        segment: &Segment,
        phase: &Exact,
        step: u64,
        count: u64,
        lead_s: &Exact,
        sample_rate_hz: u32,
    ) -> Self {
        let start_s = &segment.start_s - lead_s;
        let step = Exact::from_integer(step.into());
        if segment.is_steady() {
            let first_s = start_s + phase / &segment.frequency;
            return Self::even(
                &first_s,
                &(step / &segment.frequency),
                count,
                sample_rate_hz,
            );
        }
        let start = start_s * exact(sample_rate_hz.into());
        let whole = start.floor();
        Self::Ramp {
            part: to_f64(&(&start - &whole)),
            whole: whole.to_integer().to_u64().unwrap_or(0),
            f0: to_f64(&segment.frequency),
            slope: to_f64(&segment.slope),
            phase: to_f64(phase),
            step: to_f64(&step),
            sample_rate_hz: sample_rate_hz.into(),
        }
    }

    /// The frame of event `j`: the nearest, halves up.
    #[inline]
    pub fn frame(&self, j: u64) -> u64 {
        match *self {
            Self::Steady64 { first, step, den } => (2 * (first + j * step) + den) / (2 * den),
            Self::Steady128 { first, step, den } => {
                let frame = (2 * (first + u128::from(j) * step) + den) / (2 * den);
                // Bounded by the session's 12 h.
                frame as u64
            }
            Self::Ramp {
                whole,
                part,
                f0,
                slope,
                phase,
                step,
                sample_rate_hz,
            } => {
                let time_s = ramp_time_s(f0, slope, phase + j as f64 * step);
                // None of it is negative, so that cutting off rounds down.
                whole + (part + time_s * sample_rate_hz + 0.5) as u64
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;
    use proptest::prelude::*;

    #[test]
    fn halves_round_up() {
        // 1/2 s at 1 Hz, 3/2 s, ...
        let law = Law::even(&fraction(1, 2), &exact(1), 3, 1);
        assert_eq!([law.frame(0), law.frame(1), law.frame(2)], [1, 2, 3]);
    }

    proptest! {
        #[test]
        fn every_width_gives_the_nearest_frame(
            first in 0i64..20_000_000_000_000, step in 1i64..3_000_000_000, awkward in 1i64..2_000_000_000,
            j in 0u64..1_000_000, sample_rate in prop::sample::select(vec![44_100u32, 48_000]),
        ) {
            // Denominators of 10^9, of 10^9 x awkward, and of two unrelated large primes.
            let billion = 1_000_000_000;
            let cases = [
                (fraction(first, billion), fraction(step, billion)),
                (fraction(first, billion), fraction(step, billion) / fraction(awkward, 1_000_000)),
                (fraction(first, billion) + fraction(1, 2_147_483_647) / exact(awkward),
                 fraction(step, billion) + fraction(1, 998_244_353) / exact(awkward + 2)),
            ];
            for (first_s, step_s) in cases {
                let law = Law::even(&first_s, &step_s, 1_000_000, sample_rate);
                let exact_frame = (&first_s + &step_s * Exact::from_integer(j.into())) * exact(sample_rate.into());
                let off = exact_frame - Exact::from_integer(law.frame(j).into());
                let half = fraction(1, 2) + fraction(1, 1_000_000_000_000);
                prop_assert!(off <= half && off >= -half, "off by {}", to_f64(&off));
            }
        }
    }
}
