//! What a swimmer meets at the pool: ends at the wall, the sheet, room on the player, own numbers.

use std::fs;
use std::path::Path;

use crate::support::{ok, refused, write};
use serde_json::Value;

fn folder(session: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "pool.toml", session);
    folder
}

fn warnings(at: &Path) -> String {
    let shown = ok(at, &["show", "pool.toml", "--json"]);
    let shown: Value = serde_json::from_str(&shown).expect("JSON");
    shown["warnings"].to_string()
}

/// The sheet of an export, on one line.
fn sheet(at: &Path, more: &[&str]) -> String {
    let export = ["export", "pool.toml", "--out", "tracks", "--quiet"];
    ok(at, &[&export[..], more].concat());
    let sheet = fs::read_to_string(at.join("tracks/contents.txt")).expect("a sheet");
    sheet.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn set(pool: &str, swim: &str) -> String {
    format!(
        "[[set]]\npool = \"{pool}\"\nswim = \"{swim}\"\nrate = \"54 spm\"\npace = \"2:00 / 100 m\"\n"
    )
}

#[test]
fn an_end_away_from_the_wall_is_told_with_the_line_that_mends_it() {
    // 100 m are 4.374 lengths of 25 yd (22.86 m): 8.56 m past the fourth wall, 10.3 s at 1.2 s/m.
    // 25 m in a pool of 50 m: the middle, 25 m and 30 s from the far wall.
    for (pool, swim, apart, mended) in [
        ("25 yd", "100 m", "10 s", "4 lengths"),
        ("50 m", "25 m", "30 s", "1 length"),
        ("25 yd", "250 m", "2 s", ""),
        ("25 m", "100 m", "", ""),
    ] {
        let folder = folder(&set(pool, swim));
        let told = warnings(folder.path());
        let is_far = !mended.is_empty();
        assert_eq!(told.contains("from a wall"), is_far, "{told}");
        let sheet = sheet(folder.path(), &[]);
        assert_eq!(sheet.contains("from a wall"), is_far, "{sheet}");
        if is_far {
            let line = format!("swim = \"{mended}\"");
            let wanted =
                format!("{swim} in a pool of {pool} ends {apart} of swimming from a wall;");
            assert!(sheet.contains(&wanted) && sheet.contains(&line), "{sheet}");
            write(folder.path(), "pool.toml", set(pool, mended));
            let told = warnings(folder.path());
            assert!(!told.contains("from a wall"), "{told}");
        }
    }
}

#[test]
fn the_sheet_begins_with_the_volume_and_tells_what_to_do_early_and_late() {
    let folder = folder(&set("25 m", "50 m"));
    let sheet = sheet(folder.path(), &[]);
    assert!(sheet.starts_with("Louder than tracks of before by 4 to 8 dB: turn the player down"));
    for told in [
        "In before the end tone? Rest at the wall",
        "Late for a start? Rest",
        "tell the lifeguard who wears a player",
        "each swim is cued for",
    ] {
        assert!(sheet.contains(told), "{told} in {sheet}");
    }
}

#[test]
fn a_swim_without_cues_says_so_and_nothing_of_cues() {
    let folder = folder(&(set("25 m", "50 m") + "cues = []\n"));
    let sheet = sheet(folder.path(), &[]);
    assert!(sheet.contains("no cues: swim on your own"), "{sheet}");
    assert!(sheet.contains("each swim lasts 1:00"), "{sheet}");
    for cue in ["sounds:", "spm", "knock", "is cued for", "How to join in"] {
        assert!(!sheet.contains(cue), "{cue} in {sheet}");
    }
}

#[test]
fn tracks_over_older_ones_are_said_to_be_louder() {
    let folder = folder("[[set]]\nswim = \"10 s\"\nrate = \"54 spm\"\n");
    let export = ["export", "pool.toml", "--out", "tracks"];
    let told = ok(folder.path(), &export);
    assert!(!told.contains("Louder"), "{told}");
    let told = ok(folder.path(), &[&export[..], &["--force"]].concat());
    assert!(told.contains("Louder than tracks of before"), "{told}");
}

#[test]
fn one_length_counted_gives_the_rate_and_the_pace() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let new = [
        "swimmer",
        "new",
        "me.toml",
        "--pool",
        "25 m",
        "--one-length",
    ];
    for wrong in ["22", "22 in 30 m", "many in 30 s", "22 in 3 s", "2 in 59 s"] {
        let message = refused(folder.path(), &[&new[..], &[wrong]].concat(), 2);
        for told in ["--one-length", "accepted: ", "22 in 30 s"] {
            assert!(message.contains(told), "{wrong}: {message}");
        }
        assert!(!folder.path().join("me.toml").exists(), "{wrong}");
    }
    ok(folder.path(), &[&new[..], &["22 in 30 s"]].concat());
    let shown = ok(folder.path(), &["swimmer", "show", "me.toml", "--json"]);
    let shown: Value = serde_json::from_str(&shown).expect("JSON");
    // By hand: 22 strokes in the 27 s after a push-off of 3 s are 48.9 a minute, in halves 49.
    assert_eq!(shown["rate_spm"].as_f64(), Some(49.0));
    assert_eq!(shown["pace"], "30 s / 25 m");
}

#[test]
fn a_new_swimmer_gets_small_files_unless_their_player_wants_others() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (more, format) in [(&[][..], "mp3"), (&["--format", "flac"][..], "flac")] {
        let name = format!("{format}.toml");
        ok(folder.path(), &[&["swimmer", "new", &name], more].concat());
        let text = fs::read_to_string(folder.path().join(name)).expect("written");
        assert!(
            text.contains(&format!("format        = \"{format}\"")),
            "{text}"
        );
    }
}
