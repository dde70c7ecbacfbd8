//! A rate step test: what happens to speed and to distance per stroke as the rate rises.
//!
//! speed = rate x distance per stroke (Craig & Pendergast 1979, from memory):
//! speed rises with rate up to a best one, beyond which the stroke shortens faster than the rate
//! rises. The parabola only describes the rates swum; it is never read outside them.

use super::Estimate;
use super::stats::{Fit, Parabola, Vertex, line, parabola, theil_sen};
use crate::model::log::Swum;

/// One swim of the test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Rate swum, strokes/min, both arms.
    pub rate_spm: f64,
    /// Speed, m/s.
    pub speed_m_s: f64,
    /// Distance per stroke, m.
    pub stroke_length_m: f64,
}

impl Step {
    /// A swim of which rate and speed are known: one stroke is what they leave.
    pub fn new(rate_spm: f64, speed_m_s: f64) -> Self {
        Self {
            rate_spm,
            speed_m_s,
            stroke_length_m: speed_m_s * 60.0 / rate_spm,
        }
    }

    /// A row's swim, where the row says enough.
    pub fn of(swum: &Swum) -> Option<Self> {
        Some(Self {
            rate_spm: swum.rate_spm?,
            speed_m_s: swum.speed_m_s?,
            stroke_length_m: swum.stroke_length_m?,
        })
    }
}

/// What the swims say together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepTest {
    /// Speed on rate: none with fewer than three different rates.
    pub speed: Option<Parabola>,
    /// Distance per stroke on rate: none with fewer than two different rates.
    pub length: Option<Fit>,
    /// The slope of that line again, unmoved by a few wild swims, m a stroke/min.
    pub robust_length_slope: Option<f64>,
    /// The rate of best speed, or why there is none.
    pub best: Best,
}

/// The rate of best speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Best {
    /// Within the rates swum; the speed bends down beyond it more than chance explains.
    Reached {
        /// strokes/min.
        rate_spm: Estimate,
        /// m/s.
        speed_m_s: Estimate,
    },
    /// Speed was still rising at the highest rate.
    StillRising,
    /// Speed was falling from the lowest rate on.
    AlreadyFalling,
    /// The swims scatter too much, or are too few or too alike, to see speed bend.
    CannotBeTold,
}

/// Reads a step test.
pub fn step_test(steps: &[Step]) -> StepTest {
    let on_rate = |of: fn(&Step) -> f64| -> Vec<(f64, f64)> {
        steps.iter().map(|step| (step.rate_spm, of(step))).collect()
    };
    let (speeds, lengths) = (
        on_rate(|step| step.speed_m_s),
        on_rate(|step| step.stroke_length_m),
    );
    let speed = parabola(&speeds);
    StepTest {
        speed,
        length: line(&lengths),
        robust_length_slope: theil_sen(&lengths),
        best: best(&speeds, speed.and_then(|fit| fit.vertex)),
    }
}

fn best(speeds: &[(f64, f64)], vertex: Option<Vertex>) -> Best {
    let slowest = speeds
        .iter()
        .map(|(rate, _)| *rate)
        .fold(f64::INFINITY, f64::min);
    let fastest = speeds.iter().map(|(rate, _)| *rate).fold(0.0, f64::max);
    // A bend that chance does not explain, or three swims that can only be taken as they are.
    let bends =
        |vertex: &Vertex| vertex.highest && (vertex.x.interval.is_some() || speeds.len() == 3);
    match vertex.filter(bends) {
        Some(vertex) if (slowest..=fastest).contains(&vertex.x.value) => {
            return Best::Reached {
                rate_spm: vertex.x,
                speed_m_s: vertex.y,
            };
        }
        Some(vertex) if vertex.x.value > fastest => return Best::StillRising,
        Some(_) => return Best::AlreadyFalling,
        None => {}
    }
    // No bend: a straight line that rises or falls beyond doubt still says something.
    match line(speeds).and_then(|fit| fit.slope.interval) {
        Some((lo, _)) if lo > 0.0 => Best::StillRising,
        Some((_, hi)) if hi < 0.0 => Best::AlreadyFalling,
        _ => Best::CannotBeTold,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(speeds: &[(f64, f64)]) -> Vec<Step> {
        (speeds.iter())
            .map(|&(rate_spm, speed_m_s)| Step {
                rate_spm,
                speed_m_s,
                stroke_length_m: speed_m_s * 60.0 / rate_spm,
            })
            .collect()
    }

    #[test]
    fn a_best_rate_is_found_only_where_the_rates_hold_it() {
        let hump = |x: f64| 1.2 - 0.0004 * (x - 62.0).powi(2);
        let swum = |rates: &[f64]| {
            // Half a centimetre a second up and down: as a stopwatch scatters.
            let jitter = |i: usize| if i & 1 == 0 { 0.002 } else { -0.002 };
            let points: Vec<_> = (rates.iter().enumerate())
                .map(|(i, &rate)| (rate, hump(rate) + jitter(i)))
                .collect();
            step_test(&steps(&points)).best
        };
        match swum(&[50.0, 54.0, 58.0, 62.0, 66.0, 70.0, 74.0]) {
            Best::Reached {
                rate_spm,
                speed_m_s,
            } => {
                let (lo, hi) = rate_spm.interval.expect("seven swims");
                assert!(lo < 62.0 && 62.0 < hi && hi - lo < 4.0, "{lo} {hi}");
                assert!((speed_m_s.value - 1.2).abs() < 0.01);
            }
            other => panic!("{other:?}"),
        }
        assert_eq!(
            swum(&[44.0, 47.0, 50.0, 53.0, 56.0, 59.0]),
            Best::StillRising
        );
        assert_eq!(
            swum(&[66.0, 70.0, 74.0, 78.0, 82.0, 86.0]),
            Best::AlreadyFalling
        );
    }

    #[test]
    fn scatter_and_too_few_swims_cannot_tell() {
        let scattered = [
            (50.0, 1.1),
            (54.0, 1.0),
            (58.0, 1.12),
            (62.0, 1.02),
            (66.0, 1.1),
            (70.0, 1.03),
        ];
        assert_eq!(step_test(&steps(&scattered)).best, Best::CannotBeTold);
        for few in [&scattered[..0], &scattered[..1], &scattered[..2]] {
            assert_eq!(step_test(&steps(few)).best, Best::CannotBeTold);
        }
        let alike = step_test(&steps(&[(54.0, 1.0), (54.0, 1.1), (54.0, 1.05)]));
        assert_eq!(
            (alike.length, alike.speed, alike.best),
            (None, None, Best::CannotBeTold)
        );
    }

    #[test]
    fn length_falls_by_the_swimmers_own_line() {
        let steps: Vec<Step> = (0..5)
            .map(|i| 50.0 + 4.0 * f64::from(i))
            .map(|rate| Step {
                rate_spm: rate,
                speed_m_s: 1.0,
                stroke_length_m: 1.6 - 0.01 * rate,
            })
            .collect();
        let test = step_test(&steps);
        let slope = test.length.expect("five rates").slope.value;
        assert!((slope + 0.01).abs() < 1e-12);
        assert!((test.robust_length_slope.expect("five rates") + 0.01).abs() < 1e-12);
    }
}
