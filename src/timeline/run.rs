//! Evenly phased events: from one to the next, and the frame of each, without allocating.

use super::tempo::{Curve, Tempo};
use crate::units::{Fix, ceil_u64, exact, to_f64};

/// The frame nearest to a time, halves up, and how far the time is past where that frame begins to
/// be the nearest. What is nearer than [`Fix::NEAR`] below a half is rounded up with it, and has
/// a rest below that.
fn nearest(time: Fix, sample_rate_hz: u32) -> (i64, Fix) {
    let (whole, part) = time.in_frames(sample_rate_hz);
    let (rest, carries) = part.part_sum(Fix::HALF + Fix::NEAR);
    (whole + i64::from(carries), rest)
}

/// The frame nearest to a time in s, halves up; 0 for what is before the track.
pub(super) fn nearest_frame(time: Fix, sample_rate_hz: u32) -> u64 {
    nearest(time, sample_rate_hz).0.max(0) as u64
}

/// Events at even distances in time. Adding is exact on the grid: event n is the first one and n
/// steps, however many there were.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Even {
    /// When the first falls on its moment, in s, and seconds from one to the next.
    first: Fix,
    step: Fix,
    /// Which one is the present, from 0.
    number: u64,
    /// The frame on which it sounds, and the rest of [`nearest`].
    pub frame: i64,
    rest: Fix,
    frame_step: i64,
    rest_step: Fix,
}

impl Even {
    /// The first of events every `step` s, which sound `lead` s before their moments.
    pub fn new(first: Fix, step: Fix, lead: Fix, sample_rate_hz: u32) -> Self {
        let (frame, rest) = nearest(first - lead, sample_rate_hz);
        let (frame_step, rest_step) = step.in_frames(sample_rate_hz);
        Self {
            first,
            step,
            number: 0,
            frame,
            rest,
            frame_step,
            rest_step,
        }
    }

    /// Goes to the next.
    #[inline]
    pub fn advance(&mut self) {
        let (rest, carries) = self.rest.part_sum(self.rest_step);
        self.rest = rest;
        self.frame += self.frame_step + i64::from(carries);
        self.number += 1;
    }

    /// When the present event falls on its moment, in s.
    fn time(&self) -> Fix {
        self.first + self.step.times(self.number.into())
    }

    /// Whether the grid cannot tell a half of a frame from a hair below it.
    #[inline]
    pub fn is_close(&self) -> bool {
        self.rest < Fix::NEAR
    }
}

/// Events inside a bend of the tempo.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bent {
    curve: Curve,
    /// The anchor, in s; and on the frames of what sounds, whole and part.
    at: Fix,
    whole: i64,
    part: f64,
    sample_rate_hz: f64,
    /// Cycles from the anchor to the present event, and from one to the next.
    on: f64,
    step: f64,
    /// Seconds from the anchor to the present event, and to where they end.
    after_s: f64,
    end_s: f64,
}

impl Bent {
    fn new(tempo: &Tempo, on: Fix, every: u64, lead: Fix, end: Fix, sample_rate_hz: u32) -> Self {
        let (whole, part) = (tempo.at - lead).in_frames(sample_rate_hz);
        let (curve, on) = (tempo.curve(), to_f64(&on));
        Self {
            curve,
            at: tempo.at,
            whole,
            part: to_f64(&part),
            sample_rate_hz: sample_rate_hz.into(),
            on,
            step: every as f64,
            after_s: curve.time_s(on),
            // A ramp to the end has its events counted by their phases.
            end_s: if tempo.bent_at().exceeds(end) {
                to_f64(&(end - tempo.at))
            } else {
                f64::INFINITY
            },
        }
    }

    /// Whether the end comes first. A NaN is a phase that a falling ramp never reaches.
    #[inline]
    fn is_over(&self) -> bool {
        self.after_s >= self.end_s || self.after_s.is_nan()
    }

    #[inline]
    fn advance(&mut self) {
        self.on += self.step;
        self.after_s = self.curve.time_s(self.on);
    }

    #[inline]
    fn frame(&self) -> i64 {
        // None of it is negative, so that cutting off rounds down.
        self.whole + (self.part + self.after_s * self.sample_rate_hz + 0.5) as i64
    }
}

/// The events of a cue from one on.
#[derive(Debug, Clone, Copy)]
pub(super) enum Run {
    Even(Even),
    Bent(Bent),
}

impl Run {
    /// The run that begins at `phase`, one event every `every` cycles, and how many events it
    /// has at least before it must be made anew; none at `end` s or later.
    pub fn new(
        tempo: &Tempo,
        phase: Fix,
        every: u64,
        lead: Fix,
        end: Fix,
        sample_rate_hz: u32,
    ) -> (Self, u64) {
        let on = phase - tempo.phase;
        if tempo.bends(on) {
            let bent = Bent::new(tempo, on, every, lead, end, sample_rate_hz);
            let count = ceil_u64(&((tempo.bend - on) / exact(every as i64)));
            return (
                Self::Bent(bent),
                if bent.is_over() {
                    0
                } else {
                    count.unwrap_or(0)
                },
            );
        }
        let step = tempo.to.cycle_s.times(every.into());
        let first = tempo.time_of(phase);
        let count = match end {
            Fix::MAX => u64::MAX,
            _ if end.exceeds(first) => ceil_u64(&((end - first) / step)).unwrap_or(u64::MAX),
            _ => 0,
        };
        // Before a bend the rate is another one.
        let is_alone = on.is_negative() && tempo.from != tempo.to;
        let count = if is_alone { count.min(1) } else { count };
        (
            Self::Even(Even::new(first, step, lead, sample_rate_hz)),
            count,
        )
    }

    /// Goes to the next event.
    #[inline]
    pub fn advance(&mut self) {
        match self {
            Self::Even(even) => even.advance(),
            Self::Bent(bent) => bent.advance(),
        }
    }

    /// Whether it has come to its end before its count has.
    #[inline]
    pub fn is_over(&self) -> bool {
        match self {
            Self::Even(_) => false,
            Self::Bent(bent) => bent.is_over(),
        }
    }

    /// When the event falls on its moment, in s.
    pub fn time(&self) -> Fix {
        match self {
            Self::Even(even) => even.time(),
            Self::Bent(bent) => bent.at + Fix::from_f64(bent.after_s),
        }
    }

    /// The frame on which it sounds.
    #[inline]
    pub fn frame(&self) -> i64 {
        match self {
            Self::Even(even) => even.frame,
            Self::Bent(bent) => bent.frame(),
        }
    }

    /// Whether [`Even::is_close`].
    #[inline]
    pub fn is_close(&self) -> bool {
        match self {
            Self::Even(even) => even.is_close(),
            Self::Bent(_) => false,
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
        // 1/2 s at 1 Hz, 3/2 s, ...; and a hair below the half of a frame, which is that half.
        let mut even = Even::new(fraction(1, 2), exact(1), exact(0), 1);
        for frame in 1..4 {
            assert_eq!((even.frame, even.is_close()), (frame, false));
            even.advance();
        }
        let third = fraction(1, 6).times(3);
        assert_eq!(nearest_frame(third, 1), 1);
        assert_eq!(nearest_frame(fraction(499_999_999, 1_000_000_000), 1), 0);
        assert_eq!(nearest_frame(exact(-1), 8000), 0);
    }

    proptest! {
        #[test]
        fn the_nth_event_is_the_first_and_n_steps(
            first in 0i64..40_000_000_000_000, step in 1i64..3_000_000_000, lead in -300i64..300,
            n in 1usize..2000, sample_rate in prop::sample::select(vec![44_100u32, 48_000, 192_000]),
        ) {
            // Against whole numbers: billionths of a second.
            let billion = 1_000_000_000_i128;
            let of = |value: i64| fraction(value, 1_000_000_000);
            let mut even = Even::new(of(first), of(step), fraction(lead, 1000), sample_rate);
            for _ in 0..n {
                even.advance();
            }
            let nanos = i128::from(first) + n as i128 * i128::from(step) - i128::from(lead) * 1_000_000;
            let twice = 2 * nanos * i128::from(sample_rate) + billion;
            prop_assert_eq!(i128::from(even.frame), twice.div_euclid(2 * billion));
        }
    }
}
