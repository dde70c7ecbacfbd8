//! From one audio rate to another, once, when a sound is loaded.

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Async, FixedAsync, Resampler, SincInterpolationParameters, WindowFunction};

use super::decode::DecodedSound;

/// Input frames taken at a time.
const CHUNK: usize = 1024;
/// Taps of the filter: flat to 0.93 of the lower Nyquist frequency, far more than speech needs.
const TAPS: usize = 128;

/// A sound at another rate; its first frame stays its first.
///
/// # Panics
/// Never at the rates that the decoder lets through.
pub fn resample(sound: &DecodedSound, rate_hz: u32) -> Vec<[f32; 2]> {
    if sound.rate_hz == rate_hz || sound.frames.is_empty() {
        return sound.frames.clone();
    }
    let mut resampler = resampler(sound.rate_hz, rate_hz, 2);
    let flat = all_of(&mut resampler, sound.frames.as_flattened(), 2);
    flat.as_chunks::<2>().0.to_vec()
}

/// One channel at another rate. Its first sample stays its first to half a sample of the rate
/// that it had: for sound that is measured.
///
/// # Panics
/// Never at the rates that the decoder lets through.
pub fn resample_mono(samples: &[f32], from_hz: u32, to_hz: u32) -> Vec<f32> {
    if from_hz == to_hz || samples.is_empty() {
        return samples.to_vec();
    }
    let mut resampler = resampler(from_hz, to_hz, 1);
    // The filter delays by half its taps, and the first frame that it gives stands one step into
    // the sound. Whole frames are cut for the delay: silence before the sound evens that out.
    let cut = (resampler.output_delay() + 1) as f64 * f64::from(from_hz) / f64::from(to_hz);
    let mut input = vec![0.0; (cut - 0.5 * TAPS as f64).round() as usize];
    input.extend_from_slice(samples);
    all_of(&mut resampler, &input, 1)
}

fn resampler(from_hz: u32, to_hz: u32, channels: usize) -> Async<f32> {
    let ratio = f64::from(to_hz) / f64::from(from_hz);
    let filter = SincInterpolationParameters::new(TAPS, WindowFunction::BlackmanHarris2);
    Async::new_sinc(ratio, 1.0, &filter, CHUNK, channels, FixedAsync::Input)
        .expect("a ratio of two audio rates")
}

fn all_of(resampler: &mut Async<f32>, samples: &[f32], channels: usize) -> Vec<f32> {
    let frames = samples.len() / channels;
    let input =
        InterleavedSlice::new(samples, channels, frames).expect("one sample a channel and frame");
    let output = resampler
        .process_all(&input, frames, None)
        .expect("buffers of the sizes that it asks for");
    output.take_data()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sine(hz: f64, rate_hz: u32, frames: usize) -> DecodedSound {
        let step = std::f64::consts::TAU * hz / f64::from(rate_hz);
        let frames = (0..frames).map(|n| [(step * n as f64).sin() as f32; 2]);
        DecodedSound {
            rate_hz,
            frames: frames.collect(),
        }
    }

    /// Amplitude of a sine of 700 Hz, and by how many µs it is off: by least squares over whole
    /// periods away from the ends.
    fn place(found: impl Iterator<Item = f32>, rate_hz: u32) -> (f64, f64) {
        let (mut along, mut across) = (0.0_f64, 0.0_f64);
        let periods = rate_hz as usize / 7..2 * (rate_hz as usize / 7);
        let step = std::f64::consts::TAU * 700.0 / f64::from(rate_hz);
        for (n, value) in found.enumerate().take(periods.end).skip(periods.start) {
            along += f64::from(value) * (step * n as f64).sin();
            across += f64::from(value) * (step * n as f64).cos();
        }
        let scale = 2.0 / periods.len() as f64;
        let off_us = across.atan2(along) / step / f64::from(rate_hz) * 1e6;
        ((along * scale).hypot(across * scale), off_us)
    }

    #[test]
    fn a_tone_keeps_its_pitch_its_place_and_its_level() {
        for (from, to) in [
            (16_000, 44_100),
            (48_000, 44_100),
            (8_000, 48_000),
            (96_000, 48_000),
        ] {
            let found = resample(&sine(700.0, from, from as usize / 2), to);
            assert_eq!(found.len(), to as usize / 2, "{from} to {to}");
            let (amplitude, off_us) = place(found.iter().map(|frame| frame[0]), to);
            assert!(
                (amplitude - 1.0).abs() < 0.001,
                "{from} to {to}: {amplitude}"
            );
            assert!(off_us.abs() <= 25.0, "{from} to {to}: {off_us} us");
        }
    }

    #[test]
    fn sound_that_is_measured_stays_in_its_place() {
        for from in [8_000, 22_050, 24_000, 32_000, 44_100, 48_000, 96_000] {
            let one: Vec<f32> = (sine(700.0, from, from as usize).frames.iter())
                .map(|frame| frame[0])
                .collect();
            let found = resample_mono(&one, from, 16_000);
            let (_, off_us) = place(found.into_iter(), 16_000);
            let half_us = 0.5e6 / f64::from(from);
            assert!(off_us.abs() < half_us, "{from} Hz: {off_us} us");
        }
    }

    #[test]
    fn what_the_lower_rate_cannot_carry_is_gone() {
        let found = resample(&sine(15_000.0, 48_000, 24_000), 16_000);
        let loudest = found[200..7800]
            .iter()
            .flatten()
            .fold(0.0_f32, |max, s| max.max(s.abs()));
        assert!(loudest < 0.001, "{loudest}");
    }
}
