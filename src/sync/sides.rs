//! The sides: does each cue sound on the side that the track says?
//!
//! Narrow bands at the tones of the left voice against those of the right one. Left instants are
//! held against right instants, so that what hall and phone do to a tone cancels.

use std::f64::consts::TAU;

use super::fine::{Fine, Line};
use super::fourier::hann;
use super::ranks::{first_greatest, median};
use super::track::RATE_HZ;
use crate::model::cue::{CueKind, Side};

/// A tone is looked at through so many samples (30 ms), every so many.
const WINDOW: usize = 480;
const HOP: usize = 32;
/// The onset of a cue: the level so many s after its moment against that before it.
const AFTER_S: f64 = 0.018;
const BEFORE_S: f64 = -0.022;
/// One onset counts at most so many nats, and a tone by its place among the voice's.
const MOST: f64 = 5.0;
const WEIGHTS: [f64; 3] = [1.0, 0.6, 0.4];
/// Tones from here on are not looked at, Hz.
const HIGHEST_HZ: f64 = 5000.0;
/// The film holds all of an instant that is so far from its ends, s.
const MARGIN_S: (f64, f64) = (0.35, 0.4);
/// Fewer instants of a side tell nothing.
const FEWEST: usize = 3;
/// Other moments are tried up to so far off, in such steps; those nearer than this are no other, s.
const FARTHEST_S: f64 = 0.3;
const STEP_S: f64 = 0.01;
const NO_OTHER_S: f64 = 0.045;

/// What the sides of one kind of cue say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SidesHeard {
    /// How much likelier the sides are as the track says than not told apart, nats; below 0 where
    /// they are exchanged.
    pub likelihood: f64,
    /// The difference between left and right instants, nats a tone.
    pub difference: f64,
    /// The largest such difference at another moment.
    pub elsewhere: f64,
    /// At what distance from its moment the difference is the largest, s.
    pub largest_at_s: f64,
}

/// Looks at the sides of a kind of cue; none where too few are inside.
pub fn sides_heard(fine: &Fine, line: Line, kind: CueKind) -> Option<SidesHeard> {
    let tones: Vec<(f64, f64)> = (fine.track.tones(kind).into_iter())
        .filter(|(left, right)| left.max(*right) < HIGHEST_HZ)
        .take(WEIGHTS.len())
        .collect();
    let [left, right] = Side::BOTH.map(|side| moments(fine, line, kind, side));
    if left.len().min(right.len()) < FEWEST || tones.is_empty() {
        return None;
    }
    let levels = Levels::of(fine.film, &tones);
    let here = levels.onsets(&left, 0.0);
    let there = levels.onsets(&right, 0.0);
    let steps = (FARTHEST_S / STEP_S).round() as i64;
    let by_moment: Vec<(f64, f64)> = (-steps..=steps)
        .map(|step| {
            let off = step as f64 * STEP_S;
            let [left, right] = [&left, &right].map(|times| mean(&levels.onsets(times, off)));
            (off, (left - right) / levels.weight())
        })
        .collect();
    let elsewhere = (by_moment.iter()).filter(|(off, _)| off.abs() > NO_OTHER_S);
    let largest = first_greatest(by_moment.iter().map(|(_, difference)| *difference));
    Some(SidesHeard {
        likelihood: two_means_against_one(&here, &there),
        difference: (mean(&here) - mean(&there)) / levels.weight(),
        elsewhere: elsewhere.fold(f64::NEG_INFINITY, |most, (_, one)| most.max(*one)),
        largest_at_s: largest.map_or(0.0, |(at, _)| by_moment[at].0),
    })
}

/// The film times of a kind's cues on a side, s.
fn moments(fine: &Fine, line: Line, kind: CueKind, side: Side) -> Vec<f64> {
    let all = (fine.track.instants.iter())
        .filter(|instant| fine.track.label(instant).side_of(kind) == Some(side))
        .map(|instant| line.film_s(instant.at_s));
    all.filter(|film_s| *film_s > MARGIN_S.0 && *film_s < fine.seconds - MARGIN_S.1)
        .collect()
}

/// The level of the left voice's tones over that of the right voice's, through the film.
struct Levels {
    /// By tone, a value every [`HOP`] samples.
    by_tone: Vec<Vec<f64>>,
}

impl Levels {
    fn of(film: &[f32], tones: &[(f64, f64)]) -> Self {
        let size = deviation(film) + 1e-12;
        let mut padded = vec![0.0; WINDOW / 2];
        padded.extend(film.iter().map(|sample| sample / size));
        padded.resize(padded.len() + WINDOW, 0.0);
        let of_tone = |(left, right): &(f64, f64)| {
            let [left, right] = [left, right].map(|hz| log_levels(&padded, *hz));
            let pairs = left.iter().zip(&right);
            pairs.map(|(left, right)| f64::from(left - right)).collect()
        };
        Self {
            by_tone: tones.iter().map(of_tone).collect(),
        }
    }

    /// The weights of all tones together.
    fn weight(&self) -> f64 {
        WEIGHTS[..self.by_tone.len()].iter().sum()
    }

    /// How much the left voice comes up over the right one, so far from each of some film times, s.
    fn onsets(&self, times: &[f64], off: f64) -> Vec<f64> {
        let last = self.by_tone[0].len() as f64 - 1.0;
        let at = |time: f64| {
            let hops = (time * f64::from(RATE_HZ) / HOP as f64).round_ties_even();
            hops.clamp(0.0, last) as usize
        };
        let onset = |time: &f64| {
            let (after, before) = (at(time + off + AFTER_S), at(time + off + BEFORE_S));
            let tones = self.by_tone.iter().zip(WEIGHTS);
            tones
                .map(|(levels, weight)| {
                    weight * (levels[after] - levels[before]).clamp(-MOST, MOST)
                })
                .sum()
        };
        times.iter().map(onset).collect()
    }
}

/// The logarithm of the power at a tone, every [`HOP`] samples, over a floor of a fifth of its median.
fn log_levels(sound: &[f32], hz: f64) -> Vec<f32> {
    let window = hann(WINDOW);
    let wave = |of: fn(f64) -> f64| -> Vec<f32> {
        let turn = TAU * hz / f64::from(RATE_HZ);
        let points = window.iter().enumerate();
        points
            .map(|(at, weight)| weight * of(turn * at as f64) as f32)
            .collect()
    };
    let (cos, sin) = (wave(f64::cos), wave(f64::sin));
    let dot = |one: &[f32], other: &[f32]| one.iter().zip(other).map(|(a, b)| a * b).sum::<f32>();
    let powers: Vec<f32> = (sound.windows(WINDOW).step_by(HOP))
        .map(|heard| dot(heard, &cos).powi(2) + dot(heard, &sin).powi(2))
        .collect();
    let floor = 0.2 * median(&powers) + 1e-9;
    powers.iter().map(|power| (power + floor).ln()).collect()
}

fn deviation(film: &[f32]) -> f32 {
    let count = film.len() as f64;
    let mean = film.iter().map(|sample| f64::from(*sample)).sum::<f64>() / count;
    let square = film
        .iter()
        .map(|sample| (f64::from(*sample) - mean).powi(2))
        .sum::<f64>();
    (square / count).sqrt() as f32
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// How much likelier two means are than one, the spread unknown, nats; with the sign of their
/// difference. The likelihood ratio behind Student's t: n/2 ln(1 + t² / (n - 2)).
fn two_means_against_one(one: &[f64], other: &[f64]) -> f64 {
    let square = |values: &[f64]| {
        let mean = mean(values);
        values
            .iter()
            .map(|value| (value - mean).powi(2))
            .sum::<f64>()
    };
    let (n, m) = (one.len() as f64, other.len() as f64);
    let degrees = n + m - 2.0;
    // A spread of a tenth is what any film has.
    let spread = ((square(one) + square(other)) / degrees + 0.1).sqrt();
    let t = (mean(one) - mean(other)) / (spread * (1.0 / n + 1.0 / m).sqrt());
    t.signum() * (n + m) / 2.0 * (t * t / degrees).ln_1p()
}
