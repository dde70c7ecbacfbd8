//! How loud tracks are, by `hearing.py`, which shares nothing with the program: the table of
//! targets (docs/sources.md, "Loudness and hearing"), pass or fail.

use std::fs;

use cuelane::files::voices::shipped as recipes;
use cuelane::model::cue::Voice;
use cuelane::sound::Bank;

use super::{folder, script, shipped};

/// Runs a check that wants the shipped voices, at 48 kHz, in a folder.
fn with_voices(check: &str) -> String {
    let voices = folder();
    let bank = Bank::new(&recipes(), 48_000);
    for voice in Voice::ALL {
        let samples = bank.voice(voice).iter();
        let bytes: Vec<u8> = samples.flat_map(|s| s.to_le_bytes()).collect();
        fs::write(voices.path().join(format!("{voice}.f32")), bytes)
            .expect("the test's own folder can be written");
    }
    let place = voices.path().to_str();
    let place = place.expect("temporary folders have plain names");
    script("hearing.py", &[check, place])
}

#[test]
fn the_voices_have_the_levels_and_the_distances_of_the_table() {
    let told = with_voices("voices");
    assert!(told.contains("rows hold"), "{told}");
}

#[test]
fn what_show_says_of_hearing_is_what_the_model_makes_of_the_voices() {
    let told = with_voices("heard");
    assert!(told.starts_with("24 ways"), "{told}");
}

#[test]
fn short_sessions_have_the_levels_of_the_table_in_every_form() {
    let told = script("hearing.py", &["short"]);
    assert!(told.contains("rows hold"), "{told}");
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_the_levels_of_every_preset() {
    for swimmer in shipped().1 {
        let told = script(
            "hearing.py",
            &["presets", &swimmer, "own", "48 spm", "60 spm"],
        );
        assert!(told.contains("rows hold"), "{told}");
    }
}
