//! A filter of second order, transposed direct form II.

/// A filter with what it remembers.
#[derive(Debug, Clone)]
pub(super) struct Biquad {
    /// What comes in, now and before.
    b: [f64; 3],
    /// What came out before.
    a: [f64; 2],
    state: [f64; 2],
}

impl Biquad {
    /// From the coefficients of its transfer function, each over the first of the denominator.
    pub(super) fn new(b: [f64; 3], a: [f64; 2]) -> Self {
        Self {
            b,
            a,
            state: [0.0; 2],
        }
    }

    /// One sample in, one out.
    pub(super) fn next(&mut self, sample: f64) -> f64 {
        let out = self.b[0] * sample + self.state[0];
        self.state[0] = self.b[1] * sample - self.a[0] * out + self.state[1];
        self.state[1] = self.b[2] * sample - self.a[1] * out;
        out
    }
}
