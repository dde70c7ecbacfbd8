//! Onsets in bands: where a sound grows louder, and at which pitches.

use super::fourier::{Forward, hann};
use super::track::RATE_HZ;

/// A frame every so many samples: 8 ms.
pub const HOP: usize = 128;
/// Frames a second.
pub const FRAMES_HZ: f64 = RATE_HZ as f64 / HOP as f64;
/// What a transform takes, and what of it is sound: 20 ms.
pub const TRANSFORM: usize = 512;
const WINDOW: usize = 320;
/// An onset is a change over so many frames, and counts at most so many nepers of power.
const STEP: usize = 2;
const MOST: f32 = 3.0;
/// Edges of the bands: from, to, apart, Hz.
const EDGES_HZ: [(u32, u32, u32); 3] = [(480, 1500, 80), (1500, 3000, 120), (3000, 5001, 250)];

/// The same number for each band, by frames: one row after another.
pub struct BandRows {
    /// Numbers a row.
    pub bands: usize,
    /// Row after row.
    pub values: Vec<f32>,
}

impl BandRows {
    /// How many rows there are.
    pub fn len(&self) -> usize {
        self.values.len() / self.bands
    }

    /// Row after row.
    pub fn rows(&self) -> impl Iterator<Item = &[f32]> {
        self.values.chunks_exact(self.bands)
    }

    /// One band through all rows.
    pub fn band(&self, band: usize) -> impl Iterator<Item = f32> {
        self.values.iter().skip(band).step_by(self.bands).copied()
    }
}

/// Finds the power in bands.
pub struct Bands {
    edges: Vec<usize>,
    window: Vec<f32>,
    forward: Forward,
}

impl Bands {
    pub fn new() -> Self {
        let bin_hz = f64::from(RATE_HZ) / TRANSFORM as f64;
        let hz =
            (EDGES_HZ.into_iter()).flat_map(|(from, to, apart)| (from..to).step_by(apart as usize));
        let mut edges: Vec<usize> = hz
            .map(|hz| (f64::from(hz) / bin_hz).round_ties_even() as usize)
            .collect();
        edges.dedup();
        Self {
            edges,
            window: hann(WINDOW),
            forward: Forward::new(TRANSFORM),
        }
    }

    /// The power in each band, a frame every [`HOP`] samples.
    pub fn power(&mut self, sound: &[f32]) -> BandRows {
        let frames = sound.len().saturating_sub(TRANSFORM) / HOP;
        let bands = self.edges.len() - 1;
        let mut values = Vec::with_capacity(frames * bands);
        for frame in 0..frames {
            let heard = &sound[frame * HOP..frame * HOP + WINDOW];
            let shaped = heard
                .iter()
                .zip(&self.window)
                .map(|(sample, weight)| sample * weight);
            let bins = self.forward.of(shaped);
            let of_band = |edge: &[usize]| {
                bins[edge[0]..edge[1]]
                    .iter()
                    .map(|bin| bin.norm_sqr())
                    .sum()
            };
            values.extend(self.edges.windows(2).map(of_band).collect::<Vec<f32>>());
        }
        BandRows { bands, values }
    }
}

/// How much the power grows, over a floor for each band; the mean over the bands is taken off, which
/// leaves little of a splash. The first [`STEP`] rows are nothing.
pub fn onsets(power: &BandRows, floor: &[f32]) -> BandRows {
    let bands = power.bands;
    let logs: Vec<f32> = (power.rows())
        .flat_map(|row| {
            row.iter()
                .zip(floor)
                .map(|(power, floor)| (power + floor).ln())
        })
        .collect();
    let mut values = vec![0.0; logs.len()];
    for at in STEP * bands..logs.len() {
        values[at] = (logs[at] - logs[at - STEP * bands]).clamp(0.0, MOST);
    }
    for row in values.chunks_exact_mut(bands) {
        let mean = row.iter().sum::<f32>() / bands as f32;
        row.iter_mut().for_each(|value| *value -= mean);
    }
    BandRows { bands, values }
}
