//! True peak (ITU-R BS.1770-5, annex 2): the largest magnitude between the samples as well.

use std::f64::consts::PI;

/// Points a sample: itself, and three between it and the next.
const POINTS: usize = 4;
/// Samples that a point between them is made of.
const TAPS: usize = 12;
/// Samples before a stretch that its first points are made of.
pub const BEFORE: usize = TAPS - 1;
/// Frames that are looked at together.
const STRETCH: usize = 16;

/// Looks for the largest magnitude of two ears.
#[derive(Debug, Clone)]
pub struct TruePeak {
    /// The weights of the samples of each of the three points, the oldest sample's first.
    weights: [[f32; TAPS]; POINTS - 1],
    /// No point is larger than so many times the largest sample that it is made of.
    overshoot: f32,
    /// The largest magnitude so far, as a factor of full scale.
    pub largest: f32,
}

impl TruePeak {
    /// Nothing heard yet. The weights are a sinc under a Hann window of 49, as libebur128 has them.
    pub fn new() -> Self {
        let points = POINTS as f64;
        let half = points * TAPS as f64 / 2.0;
        let weights = std::array::from_fn(|point| {
            std::array::from_fn(|tap| {
                // How far the sample lies from the point, in quarters of a sample.
                let far = (BEFORE - tap) as f64 * points + (point + 1) as f64 - half;
                let window = 0.5 * (1.0 + (PI * far / half).cos());
                let turn = PI * far / points;
                (window * turn.sin() / turn) as f32
            })
        });
        let most = |point: &[f32; TAPS]| point.iter().map(|weight| weight.abs()).sum::<f32>();
        Self {
            overshoot: weights.iter().map(most).fold(1.0, f32::max),
            weights,
            largest: 0.0,
        }
    }

    /// Looks at frames, of which the first [`BEFORE`] are known already. A stretch whose samples
    /// are too small for a point above the largest one so far is passed over.
    pub fn add(&mut self, window: &[[f32; 2]]) {
        let loudest = |frames: &[[f32; 2]]| {
            (frames.as_flattened().iter()).fold(0.0_f32, |most, sample| most.max(sample.abs()))
        };
        for from in (BEFORE..window.len()).step_by(STRETCH) {
            let stretch = &window[from - BEFORE..window.len().min(from + STRETCH)];
            let sample = loudest(stretch);
            self.largest = self.largest.max(sample);
            if sample * self.overshoot > self.largest {
                stretch
                    .windows(TAPS)
                    .for_each(|made_of| self.between(made_of));
            }
        }
    }

    /// Looks at the three points that are made of twelve frames.
    fn between(&mut self, frames: &[[f32; 2]]) {
        for weights in &self.weights {
            let mut point = [0.0_f32; 2];
            for (weight, frame) in weights.iter().zip(frames) {
                point[0] += weight * frame[0];
                point[1] += weight * frame[1];
            }
            self.largest = self.largest.max(point[0].abs()).max(point[1].abs());
        }
    }
}

/// The largest magnitude of a mono sound between its samples as well.
pub fn true_peak(samples: &[f32]) -> f32 {
    let silence = [[0.0; 2]; BEFORE];
    let mut window = silence.to_vec();
    window.extend(samples.iter().map(|sample| [*sample, 0.0]));
    window.extend(silence);
    let mut peak = TruePeak::new();
    peak.add(&window);
    peak.largest
}
