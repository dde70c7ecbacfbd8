//! Words made clear: the steps of `sounds/make-clips.py`, for words that come from elsewhere.
//!
//! A high-pass and a high shelf lift the consonants, which noise and a leaky earpiece take first; a
//! compressor brings soft syllables up to loud ones; a limiter keeps the peaks within reach of what
//! stands beside them. All of it is done to clips, when they are loaded, and never to a track.

use std::f64::consts::{PI, SQRT_2, TAU};

use super::biquad::Biquad;
use super::k_weighting::OFFSET_DB;
use super::k125::k125;

/// Below it there is rumble and no word, Hz.
const HIGH_PASS_HZ: f64 = 180.0;
/// Above it consonants are lifted, Hz, by so much, dB, so steeply.
const SHELF_HZ: f64 = 1500.0;
const SHELF_DB: f64 = 6.0;
const SHELF_SLOPE: f64 = 0.7;
/// The compressor's threshold under the loud parts, dB, and what is left of a step above it.
const UNDER_LOUD_DB: f64 = 15.0;
const RATIO: f64 = 3.0;
/// The loud parts: so much of all levels within [`HEARD_DB`] of the loudest lies below them.
const LOUD: f64 = 0.95;
const HEARD_DB: f64 = 30.0;
/// The levels are means over this, s; the gain falls and comes back within these, s.
const MEAN_S: f64 = 0.01;
const DOWN_S: f64 = 0.003;
const BACK_S: f64 = 0.08;
/// No peak lies farther above the loudest 125 ms in one ear, dB.
const PEAK_OVER_DB: f64 = 8.0;
/// How far ahead the limiter looks, s.
const AHEAD_S: f64 = 0.004;

/// Words made clear; how loud they are is not said here.
///
/// `samples` are mono at `rate_hz` (4 kHz to 384 kHz). As many come out as went in.
pub fn clear(samples: &[f32], rate_hz: u32) -> Vec<f32> {
    let rate = f64::from(rate_hz);
    let (mut high_pass, mut shelf) = (high_pass(rate), shelf(rate));
    let lifted: Vec<f64> = (samples.iter())
        .map(|sample| shelf.next(high_pass.next(f64::from(*sample))))
        .collect();
    let even = limited(&compressed(&lifted, rate), rate_hz);
    even.iter().map(|sample| *sample as f32).collect()
}

/// The K125 level in one ear, LUFS; none for silence.
fn level(samples: &[f64], rate_hz: u32) -> Option<f64> {
    let samples: Vec<f32> = samples.iter().map(|sample| *sample as f32).collect();
    Some(k125(&samples, rate_hz)).filter(|level| level.is_finite())
}

fn from_db(db: f64) -> f64 {
    10_f64.powf(db / 20.0)
}

/// Butterworth's of second order, by the bilinear transform.
fn high_pass(rate: f64) -> Biquad {
    let k = (PI * HIGH_PASS_HZ / rate).tan();
    let over = 1.0 + SQRT_2 * k + k * k;
    Biquad::new(
        [1.0 / over, -2.0 / over, 1.0 / over],
        [
            2.0 * (k * k - 1.0) / over,
            (1.0 - SQRT_2 * k + k * k) / over,
        ],
    )
}

/// The high shelf that audio equalisers have, from its analogue form with a slope; at the lowest
/// rates it stands below the highest tone there is.
fn shelf(rate: f64) -> Biquad {
    let a = 10_f64.powf(SHELF_DB / 40.0);
    let (sin, cos) = (TAU * SHELF_HZ / rate).sin_cos();
    let root = a.sqrt() * sin * ((a + 1.0 / a) * (1.0 / SHELF_SLOPE - 1.0) + 2.0).sqrt();
    let (more, less) = (a + 1.0, a - 1.0);
    let over = more - less * cos + root;
    Biquad::new(
        [
            a * (more + less * cos + root) / over,
            -2.0 * a * (less + more * cos) / over,
            a * (more + less * cos - root) / over,
        ],
        [
            2.0 * (less - more * cos) / over,
            (more - less * cos - root) / over,
        ],
    )
}

/// Means of the power about each sample, dB.
fn levels_db(samples: &[f64], rate: f64) -> Vec<f64> {
    let half = ((MEAN_S * rate) as usize / 2).max(1);
    let mut sums = vec![0.0];
    for sample in samples {
        sums.push(sums[sums.len() - 1] + sample * sample);
    }
    (0..samples.len())
        .map(|at| {
            let to = (at + half).min(samples.len());
            let mean = (sums[to] - sums[at.saturating_sub(half)]) / (2 * half) as f64;
            10.0 * (mean + 1e-12).log10()
        })
        .collect()
}

/// Without so much between loud syllables and soft ones.
fn compressed(samples: &[f64], rate: f64) -> Vec<f64> {
    let levels = levels_db(samples, rate);
    let loudest = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut heard: Vec<f64> = levels.clone();
    heard.retain(|level| *level > loudest - HEARD_DB);
    heard.sort_by(f64::total_cmp);
    let Some(loud) = heard.get((heard.len() as f64 * LOUD) as usize) else {
        return samples.to_vec();
    };
    let threshold = loud - UNDER_LOUD_DB;
    let keep = |seconds: f64| (-1.0 / (seconds * rate)).exp();
    let (down, back) = (keep(DOWN_S), keep(BACK_S));
    let mut gain_db = 0.0;
    let levelled = samples.iter().zip(levels).map(|(sample, level)| {
        let wanted_db = -(level - threshold).max(0.0) * (1.0 - 1.0 / RATIO);
        let kept = if wanted_db < gain_db { down } else { back };
        gain_db = kept * gain_db + (1.0 - kept) * wanted_db;
        sample * from_db(gain_db)
    });
    levelled.collect()
}

/// Without peaks far above the loudest 125 ms: the gain is down before a peak comes, and softly.
fn limited(samples: &[f64], rate_hz: u32) -> Vec<f64> {
    let Some(level) = level(samples, rate_hz) else {
        return samples.to_vec();
    };
    let ceiling = from_db(level - OFFSET_DB + PEAK_OVER_DB);
    let ahead = ((AHEAD_S * f64::from(rate_hz)) as usize).max(1);
    let needed: Vec<f64> = (samples.iter())
        .map(|sample| (ceiling / sample.abs().max(1e-9)).min(1.0))
        .collect();
    let about = |at: usize| at.saturating_sub(ahead)..(at + ahead + 1).min(samples.len());
    let least: Vec<f64> = (0..samples.len())
        .map(|at| needed[about(at)].iter().copied().fold(1.0, f64::min))
        .collect();
    // A window of Hann over the same stretch: what it takes into the mean is low enough everywhere.
    let window: Vec<f64> = (0..=2 * ahead)
        .map(|n| 0.5 - 0.5 * (PI * n as f64 / ahead as f64).cos())
        .collect();
    let whole: f64 = window.iter().sum();
    let last = samples.len() - 1;
    let smoothed = samples.iter().enumerate().map(|(at, sample)| {
        let terms = window.iter().enumerate();
        let gain: f64 = terms
            .map(|(n, weight)| weight * least[(at + n).saturating_sub(ahead).min(last)])
            .sum();
        sample * gain / whole
    });
    smoothed.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: u32 = 48_000;

    fn tone(hz: f64, seconds: f64, level: f64) -> Vec<f64> {
        let step = TAU * hz / f64::from(RATE_HZ);
        let frames = (seconds * f64::from(RATE_HZ)) as u32;
        (0..frames)
            .map(|n| (step * f64::from(n)).sin() * level)
            .collect()
    }

    fn rms_db(samples: &[f64]) -> f64 {
        10.0 * (samples.iter().map(|s| s * s).sum::<f64>() / samples.len() as f64).log10()
    }

    /// What a filter does to a steady tone, dB.
    fn gain_db(mut filter: Biquad, hz: f64) -> f64 {
        let tone = tone(hz, 1.0, 1.0);
        let out: Vec<f64> = tone.iter().map(|sample| filter.next(*sample)).collect();
        rms_db(&out[24_000..]) - rms_db(&tone[24_000..])
    }

    #[test]
    fn the_high_pass_is_butterworths() {
        // Its power response in closed form, 1 / (1 + (180 Hz / f)^4); the bilinear transform
        // bends it by less than 0.1 dB so far below the audio rate.
        for hz in [60.0, 90.0, 180.0, 360.0, 1000.0_f64] {
            let expected = -10.0 * (1.0 + (180.0 / hz).powi(4)).log10();
            let found = gain_db(high_pass(f64::from(RATE_HZ)), hz);
            assert!((found - expected).abs() < 0.1, "{hz} Hz: {found} dB");
        }
    }

    #[test]
    fn the_shelf_lifts_consonants_and_leaves_vowels() {
        // A shelf's gain is none far below its corner, half of it (in dB) there, all far above.
        for (hz, expected) in [(60.0, 0.0), (1500.0, 3.0), (20_000.0, 6.0)] {
            let found = gain_db(shelf(f64::from(RATE_HZ)), hz);
            assert!((found - expected).abs() < 0.1, "{hz} Hz: {found} dB");
        }
    }

    #[test]
    fn a_step_above_the_threshold_is_a_third_of_it_afterwards() {
        // 12 dB apart, both above the threshold, 3 to 1: 4 dB apart.
        let mut samples = tone(1000.0, 1.0, 0.5);
        samples.extend(tone(1000.0, 1.0, 0.5 * from_db(-12.0)));
        let out = compressed(&samples, f64::from(RATE_HZ));
        let step = rms_db(&out[24_000..43_200]) - rms_db(&out[72_000..91_200]);
        assert!((step - 4.0).abs() < 0.1, "{step} dB");
    }

    #[test]
    fn silence_stays_silence_and_nothing_is_nothing() {
        assert_eq!(clear(&[0.0; 1000], RATE_HZ), [0.0; 1000]);
        assert!(clear(&[], RATE_HZ).is_empty());
    }

    #[test]
    fn no_peak_is_left_far_above_the_loudest_stretch() {
        // Clicks that stand 30 dB above a soft tone.
        let mut samples = tone(700.0, 1.0, 0.03);
        for at in (1000..47_000).step_by(9000) {
            samples[at] = 1.0;
        }
        let before = level(&samples, RATE_HZ).expect("sound");
        let out = limited(&samples, RATE_HZ);
        let peak = out.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
        let over = 20.0 * peak.log10() - before + OFFSET_DB;
        assert!(over <= PEAK_OVER_DB + 1e-9, "{over} dB");
        assert!(20.0 * peak.log10() < -5.0, "the clicks are smaller: {peak}");
    }
}
