//! Fourier transforms of one length each, planned once.

use std::ops::Range;
use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// From samples to bins.
pub struct Forward {
    plan: Arc<dyn RealToComplex<f32>>,
    samples: Vec<f32>,
    bins: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl Forward {
    /// A transform of `length` samples.
    pub fn new(length: usize) -> Self {
        let plan = RealFftPlanner::new().plan_fft_forward(length);
        Self {
            samples: plan.make_input_vec(),
            bins: plan.make_output_vec(),
            scratch: plan.make_scratch_vec(),
            plan,
        }
    }

    /// The bins of samples that `of` gives one by one; silence follows where there are fewer of
    /// them than the transform is long.
    pub fn of(&mut self, of: impl Iterator<Item = f32>) -> &[Complex32] {
        self.samples.fill(0.0);
        for (place, sample) in self.samples.iter_mut().zip(of) {
            *place = sample;
        }
        self.plan
            .process_with_scratch(&mut self.samples, &mut self.bins, &mut self.scratch)
            .expect("the plan made these buffers");
        &self.bins
    }
}

/// From bins to samples.
pub struct Back {
    plan: Arc<dyn ComplexToReal<f32>>,
    samples: Vec<f32>,
    bins: Vec<Complex32>,
    scratch: Vec<Complex32>,
    first: usize,
}

impl Back {
    /// A transform to `length` samples, whose bins below `first` are nothing.
    pub fn new(length: usize, first: usize) -> Self {
        let plan = RealFftPlanner::new().plan_fft_inverse(length);
        Self {
            samples: plan.make_output_vec(),
            bins: plan.make_input_vec(),
            scratch: plan.make_scratch_vec(),
            plan,
            first,
        }
    }

    /// The samples of the bins from `first` on; those above are nothing. Not divided by the length.
    pub fn of(&mut self, bins: impl ExactSizeIterator<Item = Complex32>) -> &[f32] {
        let band: Range<usize> = self.first..self.first + bins.len();
        self.bins.fill(Complex32::default());
        for (place, bin) in self.bins[band].iter_mut().zip(bins) {
            *place = bin;
        }
        self.plan
            .process_with_scratch(&mut self.bins, &mut self.samples, &mut self.scratch)
            .expect(
                "the plan made these buffers, and neither the first nor the last bin is in a band",
            );
        &self.samples
    }
}

/// A raised cosine of `length` points that is 0 at both ends.
pub fn hann(length: usize) -> Vec<f32> {
    let step = std::f64::consts::TAU / (length - 1) as f64;
    (0..length)
        .map(|at| (0.5 - 0.5 * (step * at as f64).cos()) as f32)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_transform_is_the_sum_of_its_definition_there_and_back() {
        let mut rng = fastrand::Rng::with_seed(3);
        let sound: Vec<f32> = (0..60).map(|_| rng.f32() - 0.5).collect();
        let bins = Forward::new(60).of(sound.iter().copied()).to_vec();
        for (bin, found) in bins.iter().enumerate() {
            let turn = -std::f64::consts::TAU * bin as f64 / 60.0;
            let sum = (sound.iter().enumerate()).fold((0.0, 0.0), |sum, (at, sample)| {
                let (sin, cos) = (turn * at as f64).sin_cos();
                let sample = f64::from(*sample);
                (sum.0 + sample * cos, sum.1 + sample * sin)
            });
            assert!((f64::from(found.re) - sum.0).abs() < 1e-5, "bin {bin}");
            assert!((f64::from(found.im) - sum.1).abs() < 1e-5, "bin {bin}");
        }
        let mean = sound.iter().sum::<f32>() / 60.0;
        let inner = bins[1..30].iter().copied();
        let back = Back::new(60, 1).of(inner).to_vec();
        // Without the first and the last bin: the mean, and what alternates from sample to sample.
        let last = bins[30].re / 60.0;
        for (at, (sample, found)) in sound.iter().zip(&back).enumerate() {
            let left_out = mean + if at % 2 == 0 { last } else { -last };
            assert!(
                (sample - left_out - found / 60.0).abs() < 1e-5,
                "sample {at}"
            );
        }
    }

    #[test]
    fn a_raised_cosine_is_that_of_numpy() {
        // numpy.hanning(5)
        let expected = [0.0, 0.5, 1.0, 0.5, 0.0];
        for (found, expected) in hann(5).iter().zip(expected) {
            assert!((found - expected).abs() < 1e-7);
        }
    }
}
