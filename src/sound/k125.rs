//! How loud a short sound is: its K125 level.
//!
//! Integrated loudness takes blocks of 400 ms, longer than any cue. A cue is told by the largest
//! mean of its K-weighted power over 125 ms instead (the filters are those of BS.1770-5, annex 1;
//! an exponential mean of 125 ms is the "fast" one of sound level meters, IEC 61672-1, from memory).

use super::k_weighting::{FilterMemory, KWeighting, OFFSET_DB};

/// The time constant of the mean, s.
const FAST_S: f64 = 0.125;
/// A sound in both ears lies so much above the same sound in one: the powers of the ears add up, dB.
pub const BOTH_EARS_DB: f64 = 3.010_299_956_639_812;

/// The K125 level of a sound in one ear, LUFS: the largest exponential mean over 125 ms of its
/// K-weighted power. In both ears it is [`BOTH_EARS_DB`] more. Silence is negative infinity.
///
/// `samples` are mono at `rate_hz` (8 kHz to 192 kHz), from silence to silence.
pub fn k125(samples: &[f32], rate_hz: u32) -> f64 {
    let rate = f64::from(rate_hz);
    let (filters, mut memory) = (KWeighting::new(rate_hz), FilterMemory::default());
    let share = 1.0 - (-1.0 / (FAST_S * rate)).exp();
    // What the filters still ring with after the last sample counts too.
    let silence = std::iter::repeat_n(&0.0, (FAST_S * rate) as usize);
    let (mut mean, mut largest) = (0.0, 0.0_f64);
    for sample in samples.iter().chain(silence) {
        let [weighted, _] = filters.next(&mut memory, [*sample, 0.0]);
        mean += (weighted * weighted - mean) * share;
        largest = largest.max(mean);
    }
    OFFSET_DB + 10.0 * largest.log10()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ebur128::{EbuR128, Mode};

    fn sine(hz: f64, seconds: f64, rate_hz: u32) -> Vec<f32> {
        let step = std::f64::consts::TAU * hz / f64::from(rate_hz);
        let frames = (seconds * f64::from(rate_hz)) as u32;
        (0..frames)
            .map(|n| (step * f64::from(n)).sin() as f32)
            .collect()
    }

    #[test]
    fn a_steady_tone_is_as_loud_as_the_library_of_loudness_says() {
        // A steady sound has one mean over 125 and over 400 ms: the crate `ebur128` says which.
        for rate_hz in [8000, 16_000, 22_050, 44_100, 48_000, 96_000, 192_000] {
            for hz in [100.0, 680.0, 997.0, 1410.0, 2300.0, 3450.0] {
                let tone = sine(hz, 2.0, rate_hz);
                let mut library = EbuR128::new(1, rate_hz, Mode::M).expect("a rate that it takes");
                library.add_frames_f32(&tone).expect("whole frames");
                let expected = library.loudness_momentary().expect("two seconds");
                let found = k125(&tone, rate_hz);
                let off = found - expected;
                // The mean of a low tone ripples: by 4 % of it at 100 Hz at most.
                assert!(
                    (-0.01..0.06).contains(&off),
                    "{hz} Hz at {rate_hz}: {found}, {expected}"
                );
            }
        }
    }

    #[test]
    fn a_burst_counts_by_its_share_of_the_mean() {
        // After t the mean has come up to 1 - e^(-t / 125 ms) of a tone's power: IEC 61672-1,
        // table of tone bursts, fast: 200 ms -1.0 dB, 50 ms -4.8 dB, 20 ms -8.3 dB (from memory).
        let steady = k125(&sine(4000.0, 2.0, 48_000), 48_000);
        for (seconds, expected) in [(0.2, -1.0), (0.05, -4.8), (0.02, -8.3)] {
            let found = k125(&sine(4000.0, seconds, 48_000), 48_000) - steady;
            assert!((found - expected).abs() < 0.1, "{seconds} s: {found} dB");
        }
    }

    #[test]
    fn silence_has_no_level() {
        assert_eq!(k125(&[0.0; 100], 48_000), f64::NEG_INFINITY);
        assert_eq!(k125(&[], 48_000), f64::NEG_INFINITY);
    }
}
