//! How the cues come up to a stroke that they follow: never by a jump.
//!
//! Looked at once a stroke. The correction is spread over the next stroke, and neither it nor
//! the rate changes so fast that two intervals of one cue differ by more than 8 %.

use super::tempo::{SteadyRate, Tempo};
use crate::units::{Fix, to_f64};

/// What the cues follow: a phase at a frame, and how fast it goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// A frame.
    pub frame: f64,
    /// The phase there, in cycles; whole numbers are entries of the first arm.
    pub phase: f64,
    /// Cycles a frame.
    pub frequency: f64,
}

/// The largest change of frequency from one stroke to the next. A cue's interval is two strokes:
/// (1 + 0.035)² is 7.1 %, and the bound is 8 %.
const MOST_CHANGE: f64 = 0.035;
/// The largest share by which the frequency leaves the aim's to catch up with its phase.
const MOST_CATCHING_UP: f64 = 0.07;

/// The tempo from a stroke's beginning on, at time `at` in s and `phase` there, a multiple of a half.
pub(super) fn catch_up(
    tempo: &Tempo,
    at: Fix,
    phase: Fix,
    aim: &Aim,
    sample_rate_hz: u32,
) -> Tempo {
    let rate = f64::from(sample_rate_hz);
    let before = to_f64(&tempo.beat_at(at - Fix::new(1, sample_rate_hz.into())).hz) / rate;
    let theirs = aim.phase + aim.frequency * (to_f64(&at) * rate - aim.frame);
    let off = theirs - to_f64(&phase);
    // Which of their cycles is ours nobody knows: the nearest.
    let off = off - off.round();
    let wanted = aim.frequency * (1.0 + catching_up(off));
    let least = before * (1.0 - MOST_CHANGE);
    let most = before * (1.0 + MOST_CHANGE);
    let frequency = wanted.clamp(least, most);
    Tempo::steady(at, phase, SteadyRate::hz(Fix::from_f64(frequency * rate)))
}

/// The share by which to go faster for one stroke when `off` cycles behind. Slowing down again
/// by [`MOST_CHANGE`] a stroke from a share d takes d / a strokes of half a cycle, in which
/// d²/2a + d/2 strokes are caught up: the d for which that is what is left, so that nothing is
/// overshot; at most what one stroke needs.
fn catching_up(off: f64) -> f64 {
    let strokes = 2.0 * off.abs();
    let a = MOST_CHANGE;
    let in_time = a * (-0.5 + (0.25 + 2.0 * strokes / a).sqrt());
    in_time.min(MOST_CATCHING_UP).min(strokes).copysign(off)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Frames of the strokes from a start `off` cycles behind and at `share` of their rate.
    fn strokes(off: f64, share: f64) -> (Vec<f64>, Aim) {
        let aim = Aim {
            frame: 0.0,
            phase: off,
            frequency: 0.5 / 48_000.0,
        };
        let beat = SteadyRate::hz(Fix::from_f64(aim.frequency * share * 48_000.0));
        let mut tempo = Tempo::steady(Fix::ZERO, Fix::ZERO, beat);
        let mut frames = Vec::new();
        for stroke in 0..120 {
            let phase = Fix::HALF.times(stroke);
            let at = tempo.time_of(phase);
            frames.push(to_f64(&at) * 48_000.0);
            tempo = catch_up(&tempo, at, phase, &aim, 48_000);
        }
        (frames, aim)
    }

    #[test]
    fn any_start_comes_up_to_the_aim_without_a_jump() {
        for off in [-0.5, -0.2, -0.01, 0.0, 0.03, 0.25, 0.49] {
            for share in [0.7, 0.9, 1.0, 1.1, 1.4] {
                let (frames, aim) = strokes(off, share);
                let cycles: Vec<f64> = frames.windows(3).map(|w| w[2] - w[0]).collect();
                for pair in cycles.windows(3) {
                    let change = (pair[2] / pair[0] - 1.0).abs();
                    assert!(change < 0.08, "{off} {share}: {change}");
                }
                let last = frames[119];
                let theirs = aim.phase + aim.frequency * last;
                let left = theirs - 119.0 / 2.0;
                assert!((left - left.round()).abs() < 1e-3, "{off} {share}: {left}");
            }
        }
    }
}
