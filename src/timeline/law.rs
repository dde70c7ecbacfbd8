//! Where evenly phased events fall: event number to frame, without allocating.

use super::schedule::nearest_frame;
use super::tempo::{Segment, ramp_time_s};
use crate::units::{Exact, exact, to_f64};

/// The frames of events whose phases are evenly spaced.
#[derive(Debug, Clone, Copy)]
pub(super) enum Law {
    /// At `first + j x step` seconds.
    Steady {
        first: Exact,
        step: Exact,
        sample_rate_hz: u32,
    },
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

impl Law {
    /// Events at phases `phase + j x step` of a tempo segment, `lead_s` earlier.
    pub fn on_segment(
        segment: &Segment,
        phase: &Exact,
        step: u64,
        lead_s: &Exact,
        sample_rate_hz: u32,
    ) -> Self {
        let start_s = &segment.start_s - lead_s;
        let step = Exact::from_integer(step.into());
        if segment.is_steady() {
            return Self::Steady {
                first: start_s + phase / segment.frequency,
                step: step / segment.frequency,
                sample_rate_hz,
            };
        }
        let start = start_s * exact(sample_rate_hz.into());
        let whole = start.floor();
        Self::Ramp {
            part: to_f64(&(&start - &whole)),
            whole: start.whole_below() as u64,
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
            Self::Steady {
                first,
                step,
                sample_rate_hz,
            } => nearest_frame(&(first + step.times(j.into())), sample_rate_hz),
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

    #[test]
    fn halves_round_up() {
        // 1/2 s at 1 Hz, 3/2 s, ...
        let law = Law::Steady {
            first: fraction(1, 2),
            step: exact(1),
            sample_rate_hz: 1,
        };
        assert_eq!([law.frame(0), law.frame(1), law.frame(2)], [1, 2, 3]);
    }
}
