//! The fine look: the sound of each instant against the film, to a small part of a sample.
//!
//! The film is whitened (its spectrum divided by most of its own size, so that no loud tone or hum
//! decides), and each label's sound is correlated with it. Correlations of many instants are then
//! laid over each other for every drift that two clocks may have.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use realfft::num_complex::Complex32;

use super::fourier::{Back, Forward, hann};
use super::ranks::first_greatest;
use super::track::{RATE_HZ, Track};

/// How far around a place the film is looked at, s.
const AROUND_S: f64 = 0.045;
/// What is taken of a label's sound: before its onset and from it on, s.
const BEFORE_S: f64 = 0.008;
const AFTER_S: f64 = 0.06;
/// The band that is looked at, Hz, and how much of its size the spectrum loses.
const BAND_HZ: (f64, f64) = (400.0, 5200.0);
const WHITENED: f32 = 0.8;
/// The transform's length: what is taken and twice [`AROUND_S`] fit in, so nothing comes round.
pub const TRANSFORM: usize = 2560;
/// The film that one instant is looked for in, samples, and its tapers.
const SEGMENT: usize = 2528;
const TAPER: usize = 80;
/// Samples from the start of a correlation to its middle, where a cue stands that is where it should.
pub const MIDDLE: usize = 720;
/// Samples of a correlation.
pub const WIDE: usize = 2 * MIDDLE + 1;
/// A sum is looked at between the samples too: so many places a sample.
const FINER: usize = 2;
/// Drifts between two clocks that are tried: up to so much, in steps no smaller than this, or by
/// what moves the film's ends by so many s.
const MOST_DRIFT: f64 = 1.3e-4;
const LEAST_STEP: f64 = 5e-6;
const STEP_S: f64 = 1.2e-4;
/// One instant's correlation, over its own mean size, counts at most so much in a sum.
const MOST_OF_ONE: f32 = 5.0;
/// Fewer instants than this fit anywhere.
const FEWEST: usize = 4;
/// A cue is heard within so many samples of its place.
const NEAR: usize = 4;
/// Film times that are nearer than this share of a second are one.
const TICKS_HZ: f64 = 4000.0;

/// A line between the clocks of film and track, and how well it fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedLine {
    /// What line it is.
    pub line: Line,
    /// The height of the summed correlation: about 1 to 5.9 where no cue is.
    pub strength: f64,
}

/// Track time = start + film time * (1 + drift); s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    pub start_s: f64,
    pub drift: f64,
}

impl Line {
    /// The film's time of a track's time, s.
    pub fn film_s(self, track_s: f64) -> f64 {
        (track_s - self.start_s) / (1.0 + self.drift)
    }

    /// The track's time of a film's time, s.
    pub fn track_s(self, film_s: f64) -> f64 {
        self.start_s + film_s * (1.0 + self.drift)
    }
}

/// The film around one place, whitened: the bins of the band, and what whitening did to each.
pub struct Window {
    pub bins: Vec<Complex32>,
    pub gains: Vec<f32>,
}

impl Window {
    /// The bins of the correlation with a sound.
    pub fn against(&self, sound: &[Complex32]) -> impl ExactSizeIterator<Item = Complex32> {
        (self.bins.iter().zip(sound)).map(|(bin, sound)| bin * sound.conj())
    }
}

/// A film beside a track.
pub struct Fine<'a> {
    pub track: &'a Track,
    pub film: &'a [f32],
    /// The length of the film, s.
    pub seconds: f64,
    /// The bins of a transform that lie in the band.
    pub band: Range<usize>,
    forward: Forward,
    back: Back,
    finer: Back,
    taper: Vec<f32>,
    /// By label, the bins of its sound; made when first asked for.
    sounds: Vec<Option<Arc<[Complex32]>>>,
    heights: HashMap<(usize, i64), f32>,
}

impl<'a> Fine<'a> {
    pub fn new(track: &'a Track, film: &'a [f32]) -> Self {
        let bin_hz = f64::from(RATE_HZ) / TRANSFORM as f64;
        let first = (BAND_HZ.0 / bin_hz).floor() as usize + 1;
        let end = (BAND_HZ.1 / bin_hz).ceil() as usize;
        let slope = hann(2 * TAPER);
        let mut taper = vec![1.0; SEGMENT];
        taper[..TAPER].copy_from_slice(&slope[..TAPER]);
        taper[SEGMENT - TAPER..].copy_from_slice(&slope[TAPER..]);
        Self {
            track,
            film,
            seconds: film.len() as f64 / f64::from(RATE_HZ),
            band: first..end,
            forward: Forward::new(TRANSFORM),
            back: Back::new(TRANSFORM, first),
            finer: Back::new(TRANSFORM * FINER, first),
            taper,
            sounds: vec![None; track.labels.len()],
            heights: HashMap::new(),
        }
    }

    /// The instants that the film holds whole, with all that is looked at around them.
    pub fn inside(&self, line: Line) -> Range<usize> {
        let margin = AROUND_S + 1e-3;
        let range = self.track.between(
            line.track_s(margin + BEFORE_S),
            line.track_s(self.seconds - margin - AFTER_S),
        );
        if range.end > range.start { range } else { 0..0 }
    }

    /// The bins of a label's sound, of equal energy for all labels.
    pub fn sound(&mut self, label: usize) -> Arc<[Complex32]> {
        if let Some(bins) = &self.sounds[label] {
            return Arc::clone(bins);
        }
        let length = ((BEFORE_S + AFTER_S) * f64::from(RATE_HZ)) as usize;
        let first = (self.track.instants.iter()).find(|instant| instant.label == label);
        let from_s = first.map_or(0.0, |instant| instant.at_s - BEFORE_S);
        let sound = self.track.sound(from_s, length);
        let fall = &hann(4 * TAPER)[2 * TAPER..];
        let level = |at: usize| {
            at.checked_sub(length - fall.len())
                .map_or(1.0, |at| fall[at])
        };
        let shaped = sound
            .iter()
            .enumerate()
            .map(|(at, sample)| sample * level(at));
        let bins = &self.forward.of(shaped)[self.band.clone()];
        let size = bins.iter().map(Complex32::norm_sqr).sum::<f32>().sqrt();
        let bins: Arc<[Complex32]> = bins
            .iter()
            .map(|bin| bin / size.max(f32::MIN_POSITIVE))
            .collect();
        self.sounds[label] = Some(Arc::clone(&bins));
        bins
    }

    /// The film around a time of it, s, which lies inside.
    pub fn window(&mut self, film_s: f64) -> Window {
        let at = (film_s - BEFORE_S - AROUND_S) * f64::from(RATE_HZ);
        let whole = at.floor();
        let turn = std::f64::consts::TAU * (at - whole) / TRANSFORM as f64;
        let heard = &self.film[whole as usize..whole as usize + SEGMENT];
        let shaped = heard
            .iter()
            .zip(&self.taper)
            .map(|(sample, level)| sample * level);
        let bins = &self.forward.of(shaped)[self.band.clone()];
        let gains: Vec<f32> = (bins.iter())
            .map(|bin| (bin.norm_sqr() / SEGMENT as f32 + 1e-12).powf(-WHITENED / 2.0))
            .collect();
        let turned = |bin: usize| {
            let (sin, cos) = (turn * bin as f64).sin_cos();
            Complex32::new(cos as f32, sin as f32)
        };
        let whitened = bins.iter().zip(&gains).zip(self.band.clone());
        let bins = whitened
            .map(|((bin, gain), at)| bin * gain * turned(at))
            .collect();
        Window { bins, gains }
    }

    /// The line near `start_s` on which the film's instants lie best; none where it holds too few.
    pub fn fit(&mut self, start_s: f64) -> Option<FittedLine> {
        let near = Line {
            start_s,
            drift: 0.0,
        };
        let inside = self.inside(near);
        if inside.len() < FEWEST {
            return None;
        }
        let middle = 0.5 * self.seconds;
        let wide = WIDE * FINER;
        let mut after: Vec<f64> = Vec::new();
        let mut heard: Vec<Vec<f32>> = Vec::new();
        for at in inside {
            let instant = self.track.instants[at];
            let film_s = near.film_s(instant.at_s);
            let (window, sound) = (self.window(film_s), self.sound(instant.label));
            let correlation = &self.finer.of(window.against(&sound))[..wide];
            let size = rms(correlation);
            heard.push(
                (correlation.iter())
                    .map(|one| (one / size).clamp(-MOST_OF_ONE, MOST_OF_ONE))
                    .collect(),
            );
            after.push(film_s - middle);
        }
        let (height, place, drift) = best_sum(&heard, &after);
        let rate = f64::from(RATE_HZ) * FINER as f64;
        Some(FittedLine {
            line: Line {
                start_s: start_s - (place / rate - AROUND_S) - middle * drift,
                drift,
            },
            strength: f64::from(height) / (heard.len() as f64).sqrt(),
        })
    }

    /// How loud a label is at a time of the film in s: the largest whitened correlation near its
    /// place, over the mean size of the correlation around it, which is 1 in noise.
    pub fn height(&mut self, label: usize, film_s: f64) -> f32 {
        let key = (label, (film_s * TICKS_HZ).round_ties_even() as i64);
        if let Some(height) = self.heights.get(&key) {
            return *height;
        }
        let (window, sound) = (self.window(film_s), self.sound(label));
        let correlation = self.correlation(window.against(&sound));
        let near = &correlation[MIDDLE - NEAR..=MIDDLE + NEAR];
        let height = near.iter().copied().fold(f32::NEG_INFINITY, f32::max) / rms(correlation);
        self.heights.insert(key, height);
        height
    }

    /// The heights of all instants inside, by their indexes.
    pub fn heights(&mut self, line: Line) -> Vec<(usize, f32)> {
        let track = self.track;
        let inside = self.inside(line);
        let cues = inside.map(|at| (at, track.instants[at]));
        cues.map(|(at, cue)| (at, self.height(cue.label, line.film_s(cue.at_s))))
            .collect()
    }

    /// [`WIDE`] samples of the correlation that a product of bins is.
    pub fn correlation(&mut self, products: impl ExactSizeIterator<Item = Complex32>) -> &[f32] {
        &self.back.of(products)[..WIDE]
    }
}

/// The root of the mean square, never quite 0.
pub fn rms(values: &[f32]) -> f32 {
    let sum: f32 = values.iter().map(|value| value * value).sum();
    (sum / values.len() as f32).sqrt() + 1e-20
}

/// The largest sum of correlations over all drifts: its height, its place (in places of the
/// correlation, between them by a parabola) and its drift. `after` is each instant's time after
/// the film's middle, s.
fn best_sum(heard: &[Vec<f32>], after: &[f64]) -> (f32, f64, f64) {
    let rate = f64::from(RATE_HZ) * FINER as f64;
    let span = after
        .iter()
        .fold(1.0_f64, |most, after| most.max(after.abs()));
    let step = (STEP_S / span).max(LEAST_STEP);
    let steps = (2.0 * MOST_DRIFT / step).floor() as usize + 2;
    let wide = heard[0].len();
    let mut sum = vec![0.0; wide];
    let mut best = (f32::NEG_INFINITY, 0.0, 0.0);
    for drift in (0..steps).map(|at| -MOST_DRIFT + at as f64 * step) {
        sum.fill(0.0);
        for (one, after) in heard.iter().zip(after) {
            let shift = (-after * drift * rate).round_ties_even() as i64;
            add_shifted(&mut sum, one, shift);
        }
        let (place, height) = first_greatest(sum.iter().copied()).unwrap_or((0, 0.0));
        if height > best.0 {
            best = (height, place as f64 + off_the_middle(&sum, place), drift);
        }
    }
    best
}

/// Adds what stands `shift` places later to each place.
fn add_shifted(sum: &mut [f32], one: &[f32], shift: i64) {
    let skip = |count: i64| usize::try_from(count).unwrap_or(0).min(one.len());
    let moved = one[skip(shift)..].iter();
    for (sum, value) in sum[skip(-shift)..].iter_mut().zip(moved) {
        *sum += value;
    }
}

/// How far the top of the parabola through a place and its neighbours lies from it.
fn off_the_middle(sum: &[f32], place: usize) -> f64 {
    if place == 0 || place + 1 >= sum.len() {
        return 0.0;
    }
    let [before, here, after] = [place - 1, place, place + 1].map(|at| f64::from(sum[at]));
    0.5 * (before - after) / (before - 2.0 * here + after - 1e-12)
}
