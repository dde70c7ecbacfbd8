//! What a swimmer's ear depends on, measured on the shipped voices by a Python script with
//! numpy (`voices.py`), which shares nothing with the renderer.
//!
//! Limits: docs/sources.md, "Voices that can be told apart", where
//! "Voices" is named; the others are common practice, no source.

use std::collections::HashMap;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::LazyLock;

use cuelane::files::voices::shipped;
use cuelane::model::cue::{CueKind, Side, Voice};
use cuelane::sound::Bank;

const RATES_HZ: [u32; 2] = [44_100, 48_000];
/// The cues of the body: one voice a side.
const SIDED: [CueKind; 4] = [CueKind::Arm, CueKind::Kick, CueKind::Fill, CueKind::Breath];

/// The measurements at each of [`RATES_HZ`], made once for all tests.
static MEASURED: LazyLock<[Measured; 2]> = LazyLock::new(|| RATES_HZ.map(Measured::at));

struct Measured {
    rate_hz: u32,
    /// By the name of the voice and the key.
    voices: HashMap<(String, String), f64>,
    /// Names of two voices and their largest correlation.
    pairs: Vec<(String, String, f64)>,
}

impl Measured {
    fn at(rate_hz: u32) -> Self {
        let bank = Bank::new(&shipped(), rate_hz);
        let folder = tempfile::tempdir().expect("a temporary folder");
        for voice in Voice::ALL {
            // (left + right) / 2: a voice in one ear comes out at half its level.
            let fold = if voice.side.is_some() { 0.5 } else { 1.0 };
            let bytes = bank.voice(voice).iter().map(|sample| fold * sample);
            let bytes: Vec<u8> = bytes.flat_map(f32::to_le_bytes).collect();
            let file = folder.path().join(format!("{voice}.f32"));
            fs::write(file, bytes).expect("the temporary folder can be written");
        }
        Self::read(rate_hz, &run(folder.path(), rate_hz))
    }

    fn read(rate_hz: u32, lines: &str) -> Self {
        let (mut voices, mut pairs) = (HashMap::new(), Vec::new());
        for line in lines.lines() {
            let words: Vec<&str> = line.split_whitespace().collect();
            let [what, name, second, value] = words[..] else {
                panic!("not four words: {line}");
            };
            let value: f64 = value.parse().expect("the last word is a number");
            assert!(value.is_finite(), "{line}");
            match what {
                "voice" => drop(voices.insert((name.into(), second.into()), value)),
                _ => pairs.push((name.into(), second.into(), value)),
            }
        }
        Self {
            rate_hz,
            voices,
            pairs,
        }
    }

    fn of(&self, voice: Voice, key: &str) -> f64 {
        let found = self.voices.get(&(voice.to_string(), key.to_string()));
        *found.unwrap_or_else(|| panic!("no {key} of {voice}"))
    }

    /// The pairs, least alike last, for a message.
    fn table(&self) -> String {
        let mut pairs = self.pairs.clone();
        pairs.sort_by(|a, b| b.2.total_cmp(&a.2));
        let line = |(a, b, value): &(String, String, f64)| format!("{value:6.3}  {a}, {b}\n");
        let lines: String = pairs.iter().map(line).collect();
        format!("{} Hz\n{lines}", self.rate_hz)
    }
}

/// What the script prints for the voices in `folder`.
fn run(folder: &Path, rate_hz: u32) -> String {
    let has_numpy = |python: &&str| {
        let output = Command::new(python).args(["-c", "import numpy"]).output();
        output.is_ok_and(|output| output.status.success())
    };
    let python = (["python3", "/usr/bin/python3"].into_iter())
        .find(has_numpy)
        .expect("these measurements need a python3 with numpy (Debian: python3-numpy)");
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/voices.py");
    let output = Command::new(python)
        .arg(script)
        .arg(folder)
        .arg(rate_hz.to_string())
        .output()
        .expect("python ran a moment ago");
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    String::from_utf8(output.stdout).expect("the script prints ASCII")
}

fn sided(kind: CueKind, side: Side) -> Voice {
    let side = Some(side);
    Voice { kind, side }
}

fn both_ears(kind: CueKind) -> Voice {
    Voice { kind, side: None }
}

/// Holds one figure of some voices against a limit, at every sample rate.
fn check(key: &str, holds: impl Fn(f64) -> bool, voices: impl IntoIterator<Item = Voice>) {
    for voice in voices {
        for measured in MEASURED.iter() {
            let value = measured.of(voice, key);
            let rate_hz = measured.rate_hz;
            assert!(holds(value), "{voice} at {rate_hz} Hz: {key} {value}");
        }
    }
}

fn sides_of(kinds: &[CueKind]) -> impl Iterator<Item = Voice> {
    (kinds.iter()).flat_map(|&kind| Side::BOTH.map(|side| sided(kind, side)))
}

#[test]
#[allow(clippy::print_stdout)] // the table is for people: cargo test -- --nocapture
fn every_pair_stays_apart_after_the_fold_to_mono_and_a_narrow_band() {
    for measured in MEASURED.iter() {
        println!("{}", measured.table());
        assert_eq!(measured.pairs.len(), 66, "12 voices make 66 pairs");
        let alike = measured.pairs.iter().any(|(_, _, value)| *value >= 0.5);
        assert!(!alike, "{}", measured.table());
    }
}

#[test]
fn the_left_side_is_lower_by_a_major_third_or_more() {
    // Voices: a major third is 5/4, or 1.26 in equal temperament.
    for measured in MEASURED.iter() {
        for kind in SIDED {
            let pitch = |side| measured.of(sided(kind, side), "pitch_hz");
            let ratio = pitch(Side::Right) / pitch(Side::Left);
            assert!(ratio >= 1.26, "{}: {ratio}", kind.word());
        }
    }
}

#[test]
fn hands_are_a_fifth_or_more_above_feet() {
    // Voices: a fifth is 3/2.
    for measured in MEASURED.iter() {
        for hand in sides_of(&[CueKind::Arm]) {
            for foot in sides_of(&[CueKind::Kick, CueKind::Fill]) {
                let ratio = measured.of(hand, "pitch_hz") / measured.of(foot, "pitch_hz");
                assert!(ratio >= 1.5, "{hand} over {foot}: {ratio}");
            }
        }
    }
}

#[test]
fn hand_and_foot_differ_in_envelope() {
    for measured in MEASURED.iter() {
        for hand in sides_of(&[CueKind::Arm]) {
            for foot in sides_of(&[CueKind::Kick]) {
                let [hand_ms, foot_ms] =
                    [hand, foot].map(|voice| measured.of(voice, "within_20_db_ms"));
                assert!(
                    foot_ms > 1.3 * hand_ms,
                    "{hand} {hand_ms}, {foot} {foot_ms}"
                );
            }
        }
    }
}

#[test]
fn onsets_are_sharp() {
    // Voices: at most 5 ms; here from 5 % to 90 % of the peak of the envelope.
    check("attack_ms", |ms| (0.0..=5.0).contains(&ms), Voice::ALL);
}

#[test]
fn no_voice_starts_or_ends_with_a_step() {
    // Voices: below -80 dBFS in the last sample; the first ones rise from there.
    for rate_hz in RATES_HZ {
        let bank = Bank::new(&shipped(), rate_hz);
        for voice in Voice::ALL {
            let samples = bank.voice(voice);
            let [.., before, last] = samples else {
                panic!("{voice} has no two samples");
            };
            assert!(samples[0] == 0.0 && last.abs() < 1e-4, "{voice}");
            assert!(
                samples[1].abs() < 1e-3,
                "{voice} begins with {}",
                samples[1]
            );
            assert!(before.abs() < 1e-3, "{voice} ends with {before}");
        }
    }
}

#[test]
fn four_fifths_of_the_energy_lie_where_bone_conduction_carries() {
    check("band_share", |share| share >= 0.8, Voice::ALL);
}

#[test]
fn the_main_tone_lies_between_500_hz_and_3_khz() {
    // Voices.
    check("pitch_hz", |hz| (500.0..=3000.0).contains(&hz), Voice::ALL);
}

#[test]
fn a_kick_is_20_db_down_before_the_next() {
    // Six beats at 160 strokes a minute leave 125 ms between kicks.
    let kicks = sides_of(&[CueKind::Kick, CueKind::Fill]);
    check("after_120_ms_db", |db| db <= -20.0, kicks);
}

#[test]
fn no_cue_is_longer_than_it_has_time() {
    check("length_ms", |ms| ms <= 200.0, sides_of(&SIDED));
    check("length_ms", |ms| ms < 450.0, Voice::ALL);
}

#[test]
fn hand_and_foot_are_about_equally_loud() {
    for measured in MEASURED.iter() {
        for hand in sides_of(&[CueKind::Arm]) {
            for foot in sides_of(&[CueKind::Kick]) {
                let [hand_db, foot_db] =
                    [hand, foot].map(|voice| measured.of(voice, "band_energy_db"));
                let apart_db = foot_db - hand_db;
                assert!(apart_db.abs() <= 4.0, "{foot} over {hand}: {apart_db} dB");
            }
        }
    }
}

#[test]
fn a_fill_is_softer_and_shorter_than_any_kick() {
    for measured in MEASURED.iter() {
        for fill in sides_of(&[CueKind::Fill]) {
            for kick in sides_of(&[CueKind::Kick]) {
                let apart = |key| measured.of(kick, key) - measured.of(fill, key);
                assert!(apart("band_energy_db") > 4.0, "{kick}, {fill}");
                assert!(apart("within_20_db_ms") > 4.0, "{kick}, {fill}");
            }
        }
    }
}

#[test]
fn breath_rises_and_the_end_signal_falls() {
    let rise = |measured: &Measured, voice| {
        measured.of(voice, "pitch_late_hz") / measured.of(voice, "pitch_early_hz")
    };
    for measured in MEASURED.iter() {
        for breath in sides_of(&[CueKind::Breath]) {
            let ratio = rise(measured, breath);
            assert!(ratio > 1.1, "{breath}: {ratio}");
        }
        let ratio = rise(measured, both_ears(CueKind::End));
        assert!(ratio < 1.0 / 1.26, "end: {ratio}");
        for steady in [CueKind::Count, CueKind::Start, CueKind::Wall].map(both_ears) {
            let ratio = rise(measured, steady);
            assert!((ratio - 1.0).abs() < 0.02, "{steady}: {ratio}");
        }
    }
}

#[test]
fn the_start_is_longer_and_higher_than_the_count() {
    for measured in MEASURED.iter() {
        let ratio = |key| {
            let [start, count] = [CueKind::Start, CueKind::Count].map(both_ears);
            measured.of(start, key) / measured.of(count, key)
        };
        assert!(ratio("pitch_hz") >= 1.26, "{}", ratio("pitch_hz"));
        assert!(ratio("within_20_db_ms") >= 2.0);
    }
}

#[test]
fn every_voice_sounds_at_its_level_at_every_sample_rate() {
    let recipes = shipped();
    for rate_hz in [8000, 11_025, 16_000, 22_050, 32_000, 96_000, 192_000] {
        let bank = Bank::new(&recipes, rate_hz);
        for (voice, recipe) in Voice::ALL.into_iter().zip(&recipes) {
            let loudest = (bank.voice(voice).iter()).fold(0.0_f32, |max, s| max.max(s.abs()));
            let error_db = 20.0 * f64::from(loudest).log10() - recipe.peak_db;
            assert!(
                error_db.abs() < 0.01,
                "{voice} at {rate_hz} Hz: {error_db} dB off"
            );
        }
    }
}
