//! The filters through which loudness is measured: K-weighting (ITU-R BS.1770-5, annex 1).

use std::f64::consts::PI;

/// Both filters of K-weighting for both ears at one rate.
#[derive(Debug, Clone)]
pub struct KWeighting {
    /// What of a sample, and of those before it, goes through the shelf; the high-pass has 1, -2, 1.
    b: [f64; 3],
    /// What comes back of what the shelf and the high-pass gave before.
    shelf: [f64; 2],
    high_pass: [f64; 2],
}

/// What the filters remember, by ear: all 0 at rest.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct FilterMemory {
    shelf: [[f64; 2]; 2],
    high_pass: [[f64; 2]; 2],
}

/// The offset of BS.1770, dB: a sine of 997 Hz in both ears at full scale reads 0 LUFS.
pub const OFFSET_DB: f64 = -0.691;
/// A memory below this, -140 dB of full scale, has nothing left to say.
const AT_REST: f64 = 1e-7;

impl KWeighting {
    /// The filters at a rate: the analogue ones behind the table of BS.1770 for 48 kHz, as
    /// libebur128 has them, by the bilinear transform.
    pub fn new(sample_rate_hz: u32) -> Self {
        let gain = 10_f64.powf(3.999_843_853_973_347 / 20.0);
        let band = gain.powf(0.499_666_774_154_541_6);
        let turn = |hz: f64| (PI * hz / f64::from(sample_rate_hz)).tan();
        let back = |k: f64, q: f64| {
            let over = 1.0 + k / q + k * k;
            [2.0 * (k * k - 1.0) / over, (1.0 - k / q + k * k) / over]
        };
        let (k, q) = (turn(1_681.974_450_955_533), 0.707_175_236_955_419_6);
        let over = 1.0 + k / q + k * k;
        Self {
            b: [
                (gain + band * k / q + k * k) / over,
                2.0 * (k * k - gain) / over,
                (gain - band * k / q + k * k) / over,
            ],
            shelf: back(k, q),
            high_pass: back(turn(38.135_470_876_024_44), 0.500_327_037_323_877_3),
        }
    }

    /// Passes frames through; the sum of the squares of what comes out, both ears together.
    pub fn energy(&self, memory: &mut FilterMemory, frames: &[[f32; 2]]) -> f64 {
        let mut here = *memory;
        let mut sums = [0.0; 2];
        for frame in frames {
            let out = self.next(&mut here, *frame);
            sums[0] += out[0] * out[0];
            sums[1] += out[1] * out[1];
        }
        *memory = here;
        sums[0] + sums[1]
    }

    /// Passes one frame through.
    ///
    /// Both filters are in the transposed direct form II, whose memory is as small as its sound.
    #[inline]
    pub fn next(&self, memory: &mut FilterMemory, frame: [f32; 2]) -> [f64; 2] {
        let FilterMemory { shelf, high_pass } = memory;
        let mut out = [0.0; 2];
        for ear in 0..2 {
            let sample = f64::from(frame[ear]);
            let bright = self.b[0] * sample + shelf[0][ear];
            shelf[0][ear] = (self.b[1] * sample + shelf[1][ear]) - self.shelf[0] * bright;
            shelf[1][ear] = self.b[2] * sample - self.shelf[1] * bright;
            out[ear] = bright + high_pass[0][ear];
            high_pass[0][ear] = (high_pass[1][ear] - 2.0 * bright) - self.high_pass[0] * out[ear];
            high_pass[1][ear] = bright - self.high_pass[1] * out[ear];
        }
        out
    }
}

impl FilterMemory {
    /// Comes to rest where nothing is left to say.
    pub fn settle(&mut self) {
        if self.values().all(|value| value.abs() < AT_REST) {
            *self = Self::default();
        }
    }

    /// All that is remembered.
    pub fn values(&self) -> impl Iterator<Item = f64> {
        [self.shelf, self.high_pass].into_iter().flatten().flatten()
    }
}
