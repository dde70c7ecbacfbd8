//! Exported tracks read by readers that are not ours: Python's `wave` and numpy, sox, ffmpeg,
//! aubio. What is due comes from `show --events`, which `events.rs` holds against docs/rules.md.

use std::fs;

use cuelane::files::voices::shipped as recipes;
use cuelane::model::cue::Voice;
use cuelane::sound::Bank;

use super::{folder, script, shipped};

#[test]
fn three_readers_agree_on_rate_channels_bits_and_length() {
    // Sizes: RIFF/WAVE arithmetic (docs/sources.md).
    let told = script("tracks.py", &["headers"]);
    assert!(told.starts_with("16 files"), "{told}");
}

#[test]
fn an_odd_number_of_bytes_is_padded_to_an_even_one() {
    script("tracks.py", &["padding"]);
}

#[test]
fn files_joined_end_to_end_are_the_one_file_track() {
    // Cuts, names and order: docs/rules.md, "Files".
    script("tracks.py", &["joined"]);
}

#[test]
fn every_onset_is_where_the_table_says_and_in_the_right_ear() {
    script("tracks.py", &["onsets"]);
}

#[test]
fn a_track_is_one_gain_times_the_sum_of_its_voices_and_silence_between() {
    // The voices are given as data; voices.py measures them. The sum is numpy's.
    let voices = folder();
    for hz in [44_100, 48_000] {
        let bank = Bank::new(&recipes(), hz);
        for voice in Voice::ALL {
            let bytes: Vec<u8> = bank
                .voice(voice)
                .iter()
                .flat_map(|s| s.to_le_bytes())
                .collect();
            let file = voices.path().join(format!("{voice}-{hz}.f32"));
            fs::write(file, bytes).expect("the test's own folder can be written");
        }
    }
    let place = voices
        .path()
        .to_str()
        .expect("temporary folders have plain names");
    script("tracks.py", &["sums", place]);
}

#[test]
fn one_ear_is_that_ear_alone_and_swapped_is_the_other_way_round() {
    script("tracks.py", &["folds"]);
}

#[test]
#[cfg_attr(windows, ignore = "MSYS2 has no package of aubio")]
fn aubio_hears_the_same_number_of_sounds_at_the_same_rate() {
    script("tracks.py", &["aubio"]);
}

#[test]
fn every_preset_checks_and_stays_under_minus_1_dbfs_for_the_first_swimmer() {
    presets_hold(0);
}

#[test]
fn every_preset_checks_and_stays_under_minus_1_dbfs_for_the_second_swimmer() {
    presets_hold(1);
}

/// Peaks by sox and numpy; stereo, mono, 24 bits, 48 kHz and swapped ears in rotation.
fn presets_hold(swimmer: usize) {
    let (presets, swimmers) = shipped();
    let told = script(
        "tracks.py",
        &["peaks", &swimmers[swimmer], &swimmer.to_string()],
    );
    assert!(
        told.starts_with(&format!("{} presets", presets.len())),
        "{told}"
    );
}

#[test]
fn the_loudest_session_that_a_search_finds_stays_under_minus_1_dbfs() {
    script("tracks.py", &["loudest", "lane three", "40"]);
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_the_search_for_the_loudest_session() {
    script("tracks.py", &["loudest", "lane three", "2000"]);
}

#[test]
fn cues_that_begin_again_at_a_wall_stay_under_minus_1_dbfs() {
    script("tracks.py", &["restarts"]);
}
