//! One voice: from its recipe to samples.

use std::f64::consts::{LN_10, PI};

use crate::model::voice::{Partial, Recipe};

/// Partials that reach this share of the sample rate are left out: half of it is the limit of
/// what samples can carry, and a player's own filter takes the rest.
const HIGHEST_SHARE: f64 = 0.45;
/// 60 dB as an exponent of e: an amplitude of one part in a thousand.
const SIXTY_DB: f64 = 3.0 * LN_10;

/// Renders a voice as mono samples at `sample_rate_hz` (8 kHz to 192 kHz).
///
/// The first and the last sample are exactly zero, and the largest one lies `peak_db` below
/// full scale. A voice of which every partial is left out for the sample rate is silence.
///
/// All arithmetic is in f64 with functions in portable code (`libm`), not the platform's own,
/// so the same bytes come out everywhere. Allocates; meant for set-up.
pub fn render(recipe: &Recipe, sample_rate_hz: u32) -> Vec<f32> {
    let rate = f64::from(sample_rate_hz);
    let frames = (recipe.length_ms / 1000.0 * rate).round() as usize;
    let mut sum = vec![0.0; frames];
    for partial in &recipe.partials {
        if partial.hz.max(partial.to_hz) <= HIGHEST_SHARE * rate {
            add(&mut sum, partial, recipe, rate);
        }
    }
    let last = frames.saturating_sub(1);
    for (frame, sample) in sum.iter_mut().enumerate() {
        *sample *= rise((last - frame) as f64 / rate, recipe.release_ms / 1000.0);
    }
    let loudest = sum
        .iter()
        .fold(0.0, |max: f64, sample| max.max(sample.abs()));
    let gain = if loudest > 0.0 {
        amplitude(recipe.peak_db) / loudest
    } else {
        0.0
    };
    sum.iter().map(|sample| (sample * gain) as f32).collect()
}

/// Adds one partial, with its own attack and decay, from the moment it comes in.
fn add(sum: &mut [f64], partial: &Partial, recipe: &Recipe, rate: f64) {
    let level = amplitude(partial.level_db);
    let (after, decay) = (partial.after_ms / 1000.0, partial.decay_ms / 1000.0);
    let attack = recipe.attack_ms / 1000.0;
    // A glide reaches its end with the voice.
    let sounding = recipe.length_ms / 1000.0 - after;
    let slope = (partial.to_hz - partial.hz) / sounding;
    for (frame, sample) in sum.iter_mut().enumerate() {
        let t = frame as f64 / rate - after;
        if t < 0.0 {
            continue;
        }
        // The integral of the frequency, so the phase has no step wherever the pitch goes.
        let cycles = t * (partial.hz + 0.5 * slope * t);
        let sine = libm::sin(2.0 * PI * (cycles - cycles.floor()));
        *sample += level * rise(t, attack) * libm::exp(-SIXTY_DB * t / decay) * sine;
    }
}

/// A raised cosine: 0 at `t` = 0, even for no `length`, 1 from `t` = `length` on; in seconds.
fn rise(t: f64, length: f64) -> f64 {
    if t <= 0.0 {
        0.0
    } else if t < length {
        0.5 - 0.5 * libm::cos(PI * t / length)
    } else {
        1.0
    }
}

/// Decibels as a factor of amplitude.
fn amplitude(db: f64) -> f64 {
    libm::pow(10.0, db / 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RATES_HZ: [u32; 7] = [8000, 22_050, 44_100, 48_000, 88_200, 96_000, 192_000];

    /// A tone that hardly decays, 100 ms long.
    fn tone(hz: f64, to_hz: f64) -> Recipe {
        Recipe {
            about: "a tone".into(),
            length_ms: 100.0,
            attack_ms: 2.0,
            release_ms: 10.0,
            peak_db: -3.0,
            partials: vec![Partial {
                hz,
                to_hz,
                level_db: 0.0,
                decay_ms: 1e6,
                after_ms: 0.0,
            }],
        }
    }

    fn peak(samples: &[f32]) -> f64 {
        samples
            .iter()
            .fold(0.0, |max, sample| max.max(f64::from(sample.abs())))
    }

    fn decibels(amplitude: f64) -> f64 {
        20.0 * amplitude.log10()
    }

    /// Times in s at which the signal crosses zero upwards, on a straight line between samples.
    fn upward_crossings(samples: &[f32], rate_hz: u32) -> Vec<f64> {
        (samples.windows(2).enumerate())
            .filter(|(_, pair)| pair[0] <= 0.0 && pair[1] > 0.0)
            .map(|(frame, pair)| {
                let part = f64::from(pair[0]) / f64::from(pair[0] - pair[1]);
                (frame as f64 + part) / f64::from(rate_hz)
            })
            .collect()
    }

    prop_compose! {
        fn any_partial()(
            hz in 100.0..8000.0, to_hz in 100.0..8000.0, level_db in -40.0..0.0,
            decay_ms in 5.0..2000.0, after_ms in prop_oneof![Just(0.0), 0.0..20.0],
        ) -> Partial {
            Partial { hz, to_hz, level_db, decay_ms, after_ms }
        }
    }

    prop_compose! {
        fn any_recipe()(
            length_ms in 25.0..Recipe::LONGEST_MS, attack_ms in prop_oneof![Just(0.0), 0.0..5.0],
            release_ms in prop_oneof![Just(0.0), 0.0..25.0], peak_db in -40.0..0.0,
            partials in prop::collection::vec(any_partial(), 1..5),
        ) -> Recipe {
            Recipe { about: "any".into(), length_ms, attack_ms, release_ms, peak_db, partials }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn any_voice_goes_from_silence_to_silence_at_its_peak(
            recipe in any_recipe(),
            rate_hz in prop::sample::select(&RATES_HZ[2..]),
        ) {
            let samples = render(&recipe, rate_hz);
            prop_assert_eq!(samples[0], 0.0);
            prop_assert_eq!(samples[samples.len() - 1], 0.0);
            let error_db = decibels(peak(&samples)) - recipe.peak_db;
            prop_assert!(error_db.abs() < 0.01, "off by {} dB", error_db);
        }

        #[test]
        fn any_voice_is_as_long_in_ms_at_every_rate(recipe in any_recipe()) {
            for rate_hz in RATES_HZ {
                let frames = render(&recipe, rate_hz).len() as f64;
                let asked = recipe.length_ms * f64::from(rate_hz) / 1000.0;
                prop_assert!((frames - asked).abs() <= 0.5, "{} frames of {}", frames, asked);
            }
        }
    }

    #[test]
    fn a_level_falls_by_60_db_in_the_decay_time() {
        let mut recipe = tone(1000.0, 1000.0);
        recipe.partials[0].decay_ms = 60.0;
        let samples = render(&recipe, 48_000);
        // The loudest sample of one whole period, 48 frames, 20 ms and 80 ms in.
        let early = decibels(peak(&samples[960..1008]));
        let late = decibels(peak(&samples[3840..3888]));
        assert!((early - late - 60.0).abs() < 0.01, "{}", early - late);
    }

    #[test]
    fn a_tone_has_the_frequency_of_its_recipe() {
        for rate_hz in RATES_HZ {
            let crossings = upward_crossings(&render(&tone(997.0, 997.0), rate_hz), rate_hz);
            let first = crossings[0];
            for (cycle, time) in crossings.iter().enumerate() {
                let error_cycles = (time - first) * 997.0 - cycle as f64;
                assert!(error_cycles.abs() < 0.02, "{rate_hz} Hz, cycle {cycle}");
            }
        }
    }

    #[test]
    fn a_glide_goes_on_a_straight_line_without_a_jump_in_phase() {
        let rate_hz = 192_000;
        let crossings = upward_crossings(&render(&tone(600.0, 1800.0), rate_hz), rate_hz);
        // 600 to 1800 Hz in 100 ms: 0.1 s x 1200 Hz on average.
        assert_eq!(crossings.len(), 120);
        for pair in crossings.windows(2) {
            let middle_s = (pair[0] + pair[1]) / 2.0;
            let expected_hz = 600.0 + 12_000.0 * middle_s;
            let found_hz = 1.0 / (pair[1] - pair[0]);
            assert!(
                (found_hz / expected_hz - 1.0).abs() < 0.005,
                "{found_hz} Hz for {expected_hz} Hz"
            );
        }
    }

    #[test]
    fn a_late_partial_is_silent_and_then_comes_in_softly() {
        let mut recipe = tone(1500.0, 1500.0);
        recipe.partials[0].after_ms = 40.0;
        let samples = render(&recipe, 48_000);
        assert_eq!(peak(&samples[..=1920]), 0.0);
        assert!(peak(&samples[1920..1924]) < 0.01, "a step");
        assert!(peak(&samples[2016..2064]) > 0.7, "full level 2 ms later");
    }

    #[test]
    fn a_partial_too_high_for_the_rate_is_left_out() {
        let mut recipe = tone(700.0, 700.0);
        let low = render(&recipe, 8000);
        let high = tone(3000.0, 3601.0).partials.remove(0);
        recipe.partials.push(high.clone());
        assert_eq!(render(&recipe, 8000), low);
        assert_ne!(render(&recipe, 48_000), render(&tone(700.0, 700.0), 48_000));
        recipe.partials = vec![high];
        assert_eq!(render(&recipe, 8000), vec![0.0; 800]);
    }

    #[test]
    fn the_bytes_are_the_recorded_ones() {
        let mut recipe = tone(640.0, 1810.0);
        recipe.partials[0].decay_ms = 75.0;
        recipe.partials.extend(tone(2093.0, 2093.0).partials);
        // FNV-1a over the little-endian bytes, as recorded on x86-64: another platform that
        // rendered anything else would export other tracks.
        let bytes = render(&recipe, 44_100)
            .into_iter()
            .flat_map(f32::to_le_bytes);
        let hash = bytes.fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
        assert_eq!(hash, 0xc2bb_8a53_7c2e_a24a, "{hash:#x}");
    }
}
