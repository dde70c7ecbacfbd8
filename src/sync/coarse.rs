//! The coarse search: every label's pattern of onsets, laid over the film at every event.
//!
//! A pattern is correlated with the film once; that row is then added up at each event's lag. So
//! the silence of a track costs nothing, and no transform is longer than a frame.

use super::onsets::{BandRows, Bands, FRAMES_HZ, HOP, TRANSFORM, onsets};
use super::ranks::{first_greatest, median};
use super::track::{RATE_HZ, Track};

/// Frames of a pattern, and how many of them come before the event's own.
const PATTERN: usize = 14;
const BEFORE: i64 = 3;
/// So many instants of a label make its pattern.
const EXAMPLES: usize = 4;
/// So many places are looked at more closely, so far apart, s.
const PLACES: usize = 40;
const APART_S: f64 = 0.1;
/// Floors of the power: share of a band's largest in a track, and in a film.
const TRACK_FLOOR: f32 = 1e-3;
const FILM_FLOOR: f32 = 1e-9;

/// The patterns of a track and where each is laid.
struct Patterns {
    /// One after another, each [`PATTERN`] rows.
    rows: Vec<BandRows>,
    /// The first frame of each instant that has a pattern, and which one; in order.
    laid: Vec<(i64, usize)>,
}

/// Likely places: what the track's time is at the film's time 0, s, the likeliest first.
pub fn candidates(track: &Track, film: &[f32]) -> Vec<f64> {
    let mut bands = Bands::new();
    let patterns = Patterns::new(track, &mut bands);
    let onsets = film_onsets(&bands.power(film));
    let (Some((first, _)), Some((last, _))) = (patterns.laid.first(), patterns.laid.last()) else {
        return Vec::new();
    };
    let frames = onsets.len();
    let row = frames + PATTERN;
    let lowest = first - row as i64;
    let mut sums = vec![0.0_f32; (last + 2 * PATTERN as i64 - lowest + 1) as usize];
    let correlated: Vec<Vec<f32>> = (patterns.rows.iter())
        .map(|pattern| correlation(&onsets, pattern))
        .collect();
    for (frame, pattern) in &patterns.laid {
        let from = (frame - (frames as i64 - 1) - lowest) as usize;
        for (sum, value) in sums[from..from + row].iter_mut().zip(&correlated[*pattern]) {
            *sum += value;
        }
    }
    let likeness = patterns.likeness(&sums, lowest, &onsets);
    let allowed = |lag: i64| {
        let middle_s = lag as f64 / FRAMES_HZ + 0.5 * film.len() as f64 / f64::from(RATE_HZ);
        track.during.contains(&middle_s)
    };
    peaks(likeness, lowest, allowed)
}

/// The onsets of a film; what a band has on average is taken off.
fn film_onsets(power: &BandRows) -> BandRows {
    let most = power
        .values
        .iter()
        .copied()
        .fold(f32::MIN_POSITIVE, f32::max);
    let floor: Vec<f32> = (0..power.bands)
        .map(|band| {
            let of_band: Vec<f32> = power.band(band).collect();
            median(&of_band) + FILM_FLOOR * most + f32::MIN_POSITIVE
        })
        .collect();
    let mut onsets = onsets(power, &floor);
    for band in 0..onsets.bands {
        let sum: f64 = onsets.band(band).map(f64::from).sum();
        let mean = (sum / onsets.len().max(1) as f64) as f32;
        let places = onsets.values.iter_mut().skip(band).step_by(power.bands);
        places.for_each(|value| *value -= mean);
    }
    onsets
}

/// A pattern against the film, from the latest place of the film to the earliest.
fn correlation(film: &BandRows, pattern: &BandRows) -> Vec<f32> {
    let frames = film.len() as i64;
    let bands = film.bands;
    let at = |start: i64| {
        let from = start.clamp(0, frames);
        let to = (start + PATTERN as i64).clamp(from, frames);
        let heard = &film.values[from as usize * bands..to as usize * bands];
        let skipped = (from - start).clamp(0, PATTERN as i64) as usize * bands;
        let products = heard.iter().zip(&pattern.values[skipped..]);
        products.map(|(one, other)| one * other).sum()
    };
    (-(PATTERN as i64)..frames).rev().map(at).collect()
}

impl Patterns {
    fn new(track: &Track, bands: &mut Bands) -> Self {
        // Half frames are told apart: an onset looks otherwise there.
        let place = |at_s: f64| {
            let frames = at_s * FRAMES_HZ;
            let half = usize::from(frames - frames.floor() >= 0.5);
            (frames.floor() as i64 - BEFORE, half)
        };
        let fits = |frame: i64| frame > 2;
        let mut powers: Vec<BandRows> = Vec::new();
        let mut known: Vec<Option<usize>> = vec![None; 2 * track.labels.len()];
        for label in 0..track.labels.len() {
            for half in [0, 1] {
                let of_both = (track.instants.iter()).filter(|instant| instant.label == label);
                let starts: Vec<i64> = of_both
                    .map(|instant| place(instant.at_s))
                    .filter(|(frame, of)| *of == half && fits(*frame))
                    .map(|(frame, _)| frame)
                    .take(EXAMPLES)
                    .collect();
                if !starts.is_empty() {
                    known[2 * label + half] = Some(powers.len());
                    powers.push(mean_power(track, &starts, bands));
                }
            }
        }
        let count = powers.first().map_or(0, |rows| rows.bands);
        let all = powers.iter().flat_map(BandRows::rows);
        let most = all.fold(vec![f32::MIN_POSITIVE; count], |most, row| {
            most.iter()
                .zip(row)
                .map(|(most, value)| most.max(*value))
                .collect()
        });
        let floor: Vec<f32> = most.iter().map(|most| most * TRACK_FLOOR).collect();
        let rows = powers.iter().map(|power| {
            let mut onsets = onsets(power, &floor);
            onsets.values.drain(..2 * count);
            onsets
        });
        let laid = track.instants.iter().filter_map(|instant| {
            let (frame, half) = place(instant.at_s);
            let pattern = known[2 * instant.label + half].filter(|_| fits(frame))?;
            Some((frame, pattern))
        });
        Self {
            rows: rows.collect(),
            laid: laid.collect(),
        }
    }

    /// Sums of correlation as a share of what the onsets there could have at most.
    fn likeness(&self, sums: &[f32], lowest: i64, film: &BandRows) -> Vec<f32> {
        let energy = |rows: &BandRows| {
            rows.values
                .iter()
                .map(|value| f64::from(*value).powi(2))
                .sum::<f64>()
        };
        let of_patterns: Vec<f64> = self.rows.iter().map(energy).collect();
        let of_film = energy(film);
        let frames = film.len() as i64;
        let mut so_far = vec![0.0];
        for (_, pattern) in &self.laid {
            so_far.push(so_far[so_far.len() - 1] + of_patterns[*pattern]);
        }
        let all = so_far[so_far.len() - 1];
        let (mut from, mut to) = (0, 0);
        let under: Vec<f64> = (0..sums.len() as i64)
            .map(|at| {
                let lag = at + lowest;
                from += self.laid[from..]
                    .iter()
                    .take_while(|(frame, _)| *frame < lag)
                    .count();
                to += self.laid[to..]
                    .iter()
                    .take_while(|(frame, _)| *frame < lag + frames)
                    .count();
                so_far[to] - so_far[from]
            })
            .collect();
        let usual = f64::from(median(
            &under.iter().map(|one| *one as f32).collect::<Vec<f32>>(),
        ));
        let track_frames = self
            .laid
            .last()
            .map_or(1, |(frame, _)| frame + BEFORE)
            .max(1);
        let floor = 0.02 * frames as f64 / track_frames as f64 * all + 0.2 * usual;
        (sums.iter().zip(&under))
            .map(|(sum, under)| {
                (f64::from(*sum) / ((under + floor) * of_film + 1e-9).sqrt()) as f32
            })
            .collect()
    }
}

/// The mean power around some instants of a label, two frames early for the onsets' step.
fn mean_power(track: &Track, starts: &[i64], bands: &mut Bands) -> BandRows {
    let length = (PATTERN + 2) * HOP + TRANSFORM;
    let each = starts.iter().map(|frame| {
        let from_s = (frame - 2) as f64 / FRAMES_HZ;
        bands.power(&track.sound(from_s, length))
    });
    let share = 1.0 / starts.len() as f32;
    let sum = each.reduce(|mut sum, one| {
        sum.values
            .iter_mut()
            .zip(&one.values)
            .for_each(|(sum, value)| *sum += value);
        sum
    });
    let mut mean = sum.expect("a pattern has an example");
    mean.values.iter_mut().for_each(|value| *value *= share);
    mean
}

/// The largest likenesses, apart from one another.
fn peaks(mut likeness: Vec<f32>, lowest: i64, allowed: impl Fn(i64) -> bool) -> Vec<f64> {
    let wide = (APART_S * FRAMES_HZ) as usize;
    for (at, value) in likeness.iter_mut().enumerate() {
        if !allowed(at as i64 + lowest) {
            *value = 0.0;
        }
    }
    let mut found = Vec::new();
    while found.len() < PLACES {
        let Some((best, _)) = first_greatest(likeness.iter()).filter(|(_, most)| **most > 0.0)
        else {
            break;
        };
        found.push((best as i64 + lowest) as f64 / FRAMES_HZ);
        let to = (best + wide + 1).min(likeness.len());
        likeness[best.saturating_sub(wide)..to].fill(0.0);
    }
    found
}
