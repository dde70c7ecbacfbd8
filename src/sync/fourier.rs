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
