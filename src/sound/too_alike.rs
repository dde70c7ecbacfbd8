//! Whether cues can be told apart by one ear, a mono player or a deck loudspeaker.
//!
//! There left and right differ by pitch alone, hand and foot by pitch and timbre, within the band
//! that bone conduction carries (common practice, no source: left and right a major third or more apart,
//! hand and foot a fifth, or in their envelopes).

use super::Bank;
use crate::model::cue::{CueKind, Side, Voice};

/// The band that is heard, Hz.
const BAND_HZ: (f64, f64) = (500.0, 4000.0);
/// Steps of the search for the strongest pitch: 48 an octave, a quarter of a semitone each.
const STEPS_AN_OCTAVE: f64 = 48.0;
/// A major third is 5 : 4 and a fifth 3 : 2; a step of the search may be lost on either side.
const THIRD: f64 = 5.0 / 4.0;
const FIFTH: f64 = 3.0 / 2.0;
const LEEWAY: f64 = 0.97;
/// One sound is plainly longer than another from this ratio on.
const LONGER: f64 = 1.5;
/// A sound lasts while it is within this factor of its peak (-20 dB).
const HEARD: f32 = 0.1;

/// Pairs of cues that one ear may take for each other.
pub fn too_alike(bank: &Bank) -> Vec<(Voice, Voice)> {
    let of = |kind, side| Voice {
        kind,
        side: Some(side),
    };
    let mut pairs = Vec::new();
    for kind in [CueKind::Arm, CueKind::Kick, CueKind::Fill, CueKind::Breath] {
        pairs.push((of(kind, Side::Left), of(kind, Side::Right), THIRD));
    }
    for hand in Side::BOTH {
        for foot in Side::BOTH {
            pairs.push((of(CueKind::Arm, hand), of(CueKind::Kick, foot), FIFTH));
        }
    }
    let alike = |(one, other, interval): &(Voice, Voice, f64)| {
        let [one, other] = [one, other].map(|voice| heard(bank.voice(*voice), bank));
        let pitch = (one.pitch_hz / other.pitch_hz).max(other.pitch_hz / one.pitch_hz);
        let length = (one.length_s / other.length_s).max(other.length_s / one.length_s);
        let timbre = *interval == FIFTH && length >= LONGER;
        pitch < interval * LEEWAY && !timbre
    };
    (pairs.into_iter().filter(alike))
        .map(|(one, other, _)| (one, other))
        .collect()
}

struct Heard {
    pitch_hz: f64,
    length_s: f64,
}

fn heard(samples: &[f32], bank: &Bank) -> Heard {
    let rate = f64::from(bank.sample_rate_hz());
    let steps = ((BAND_HZ.1 / BAND_HZ.0).log2() * STEPS_AN_OCTAVE) as u32;
    let pitches = (0..=steps).map(|step| BAND_HZ.0 * 2_f64.powf(f64::from(step) / STEPS_AN_OCTAVE));
    let strongest =
        pitches.max_by(|a, b| power(samples, *a, rate).total_cmp(&power(samples, *b, rate)));
    let peak = (samples.iter()).fold(0.0_f32, |max, sample| max.max(sample.abs()));
    let last = (samples.iter()).rposition(|sample| sample.abs() >= peak * HEARD);
    Heard {
        pitch_hz: strongest.unwrap_or(BAND_HZ.0),
        length_s: last.map_or(1, |last| last + 1) as f64 / rate,
    }
}

/// The power of a sound at one frequency, by Goertzel's recurrence (from memory).
fn power(samples: &[f32], hz: f64, rate: f64) -> f64 {
    let factor = 2.0 * (std::f64::consts::TAU * hz / rate).cos();
    let (mut one, mut two) = (0.0, 0.0);
    for sample in samples {
        let next = f64::from(*sample) + factor * one - two;
        (one, two) = (next, one);
    }
    one * one + two * two - factor * one * two
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::voices;

    #[test]
    fn the_shipped_voices_can_be_told_apart_by_one_ear() {
        for rate_hz in [44_100, 48_000] {
            let bank = Bank::new(&voices::shipped(), rate_hz);
            assert_eq!(too_alike(&bank), []);
        }
    }

    #[test]
    fn one_sound_for_two_cues_is_found() {
        let bank = Bank::new(&voices::shipped(), 44_100);
        let [arm, kick, other_kick] = [Voice::ALL[0], Voice::ALL[2], Voice::ALL[3]];
        let knock = bank.voice(kick).to_vec();
        let same = bank.clone().with(other_kick, knock.clone());
        assert_eq!(too_alike(&same), [(kick, other_kick)]);
        let hand_as_foot = bank.with(arm, knock);
        assert!(too_alike(&hand_as_foot).contains(&(arm, kick)));
    }
}
