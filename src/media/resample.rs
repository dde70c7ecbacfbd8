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
    let ratio = f64::from(rate_hz) / f64::from(sound.rate_hz);
    let filter = SincInterpolationParameters::new(TAPS, WindowFunction::BlackmanHarris2);
    let mut resampler = Async::<f32>::new_sinc(ratio, 1.0, &filter, CHUNK, 2, FixedAsync::Input)
        .expect("a ratio of two audio rates");
    let flat = sound.frames.as_flattened();
    let input =
        InterleavedSlice::new(flat, 2, sound.frames.len()).expect("two samples for every frame");
    let output = resampler
        .process_all(&input, sound.frames.len(), None)
        .expect("buffers of the sizes that it asks for");
    output.take_data().as_chunks::<2>().0.to_vec()
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
            // Its amplitude and phase, by least squares over whole periods away from the ends.
            let (mut along, mut across) = (0.0_f64, 0.0_f64);
            let periods = to as usize / 7..2 * (to as usize / 7);
            let step = std::f64::consts::TAU * 700.0 / f64::from(to);
            for n in periods.clone() {
                let value = f64::from(found[n][0]);
                along += value * (step * n as f64).sin();
                across += value * (step * n as f64).cos();
            }
            let scale = 2.0 / periods.len() as f64;
            let amplitude = (along * scale).hypot(across * scale);
            let off_us = across.atan2(along) / step / f64::from(to) * 1e6;
            assert!(
                (amplitude - 1.0).abs() < 0.001,
                "{from} to {to}: {amplitude}"
            );
            assert!(off_us.abs() <= 25.0, "{from} to {to}: {off_us} us");
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
