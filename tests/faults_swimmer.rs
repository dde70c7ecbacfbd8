//! What a person may write wrongly in a swimmer's file or a flag: the message says where, what
//! was found, what is accepted, and gives an example that works there.

use crate::support::message::{Message, check, check_examples, table};
use crate::support::{refused, run, write};

const SHOW: [&str; 3] = ["swimmer", "show", "alex.toml"];

/// The whole file for a faulty piece of text.
fn frame(name: &str, text: &str) -> String {
    match name {
        "top" => format!("{text}\n"),
        // Line 4.
        "player" => format!("name = \"Alex\"\n\n[player]\n{text}\n"),
        "measured" => format!("name = \"Alex\"\n\n[measured]\n{text}\n"),
        other => panic!("no frame {other}"),
    }
}

const KEYS: &str = r#"
top 1:1      | raet = "54 spm"            | unknown key "raet" ; "rate"?               | rate, pace
top 1:1      | pairng = "same-side"       | unknown key "pairng" ; "pairing"?          | pairing, kick
top 1:1      | repeats = 4                | unknown key "repeats"                      | player, measured
top 1:1      | cues = ["arm"]             | unknown key "cues"                         | player, measured
top 1:2      | [playr]                    | unknown key "playr" ; "player"?            | player, measured
player 4:1   | bit = 16                   | player: unknown key "bit" ; "bits"?        | sample_rate_hz, bits
player 4:1   | larges_mb = 16             | player: unknown key ; "largest_mb"?        | sample_rate_hz, bits
measured 4:1 | catch_afterentry = 0.3     | measured: unknown key ; "catch_after_entry"? | rate_interval
measured 4:35 | catch_after_entry = { left = 0.3, rigth = 0.3 } | unknown key "rigth" ; "right"? | left, right
top 1:12     | breath = { evry = 3 }      | breath: unknown key "evry" ; "every"?      | every, side
"#;

#[test]
fn unknown_keys_are_refused_with_the_nearest_known_one() {
    check(&SHOW, "alex.toml", &table(KEYS, frame));
}

const VALUES: &str = r#"
top 1:8       | name = 3                  | name: found 3                              | text in quotes
top 1:10      | player = 3                | player: found 3                            | a table
top 1:12      | measured = true           | measured: found true                       | a table
top 1:8       | rate = 54                 | 54, a bare number ; "54 spm" ; "54 cpm"    | 10 to 160 spm
top 1:8       | rate = "8 spm"            | rate: found 8 spm (4 cycles/min)           | 10 to 160 spm
top 1:8       | rate = "+2 spm"           | rate: found +2 spm ; own rate              | not relative
top 1:8       | rate = "96 %"             | rate: found 96 % ; own rate                | not relative
top 1:8       | rate = { from = "50 spm", to = "54 spm", by = "time" } | 50 spm to 54 spm ; own rate | one rate
top 1:8       | pool = 25                 | 25, a bare number ; "25 m" ; "25 yd"       | m or yd
top 1:8       | pace = 125                | 125, a bare number ; "125 s / 100 m"       | 2:05 / 100 m
top 1:17      | stroke_length = 0.95      | 0.95, a bare number ; "0.95 m/stroke"      | m/cycle
top 1:12      | push_off = 3              | 3, a bare number ; "3 s"                   | a time
top 1:9       | glide = 4                 | 4, a bare number ; "4 m" ; "4 yd"          | m or yd
top 1:11      | pairing = "left"          | pairing: found "left"                      | "same-side", "opposite-side"
top 1:21      | catch_after_entry = 0.7   | catch_after_entry: found 0.7               | 0 to 0.5
top 1:20      | breath = { every = 8 }    | found 8 ; breath-holding ; loss of consciousness | 2 to 5
player 4:8    | bits = 20                 | player, bits: found 20                     | 16 or 24
player 4:8    | bits = "16"               | player, bits: found "16"                   | 16 or 24
player 4:18   | sample_rate_hz = 22050    | player, sample_rate_hz: found 22050        | 44100 or 48000
player 4:18   | sample_rate_hz = 44.1     | player, sample_rate_hz: found 44.1         | 44100 or 48000
player 4:10   | format = "ogg"            | player, format: found "ogg"                | "wav"
player 4:12   | channels = 2              | player, channels: found 2                  | "stereo", "mono"
player 4:11   | swapped = "yes"           | player, swapped: found "yes"               | true or false
player 4:9    | files = "per-cycle"       | player, files: found "per-cycle"           | "per-set", "per-repeat", "one"
player 4:14   | largest_mb = 0            | player, largest_mb: found 0                | from 1
player 4:15   | name_length = 5           | player, name_length: found 5               | from 14 to 255
player 4:15   | name_length = 4000000000  | player, name_length: found 4000000000      | from 14 to 255
measured 4:8  | rate = 52                 | measured, rate: found 52, a bare number ; "52 spm" ; "52 cpm" | 10 to 160 spm
measured 4:17 | rate_interval = "51 spm"  | measured, rate_interval: found "51 spm"    | a list of two
measured 4:17 | rate_interval = ["51 spm"] | measured, rate_interval: found 1 value    | a list of two
measured 4:24 | right_entry_interval = [0.4, 0.5, 0.6] | right_entry_interval: found 3 values | a list of two
measured 4:15 | right_entry = 1.2         | measured, right_entry: found 1.2           | from 0 to 1
measured 4:11 | pairing = "none"          | measured, pairing: found "none"            | "undecided"
measured 4:8  | kick = 2                  | measured, kick: found 2                    | "two-beat"
"#;

#[test]
fn wrong_types_units_and_ranges_are_refused() {
    check(&SHOW, "alex.toml", &table(VALUES, frame));
}

const RIVALS: &str = r#"
top 2:17 | pace = "2:05 / 100 m"\nstroke_length = "1 m/stroke" | pace and stroke_length | farther level
top 2:8  | stroke_length = "1 m/stroke"\npace = "2:05 / 100 m" | pace and stroke_length | farther level
"#;

#[test]
fn rivals_in_a_swimmers_file_are_refused_at_the_later_of_them() {
    check(&SHOW, "alex.toml", &table(RIVALS, frame));
}

#[test]
fn every_example_works_where_the_fault_stood() {
    for rows in [KEYS, VALUES, RIVALS.lines().nth(1).expect("a row")] {
        check_examples(&SHOW, "alex.toml", &table(rows, frame));
    }
}

/// The example of an interval is of the interval that is wrong.
#[test]
fn an_intervals_example_is_of_its_own_key() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let keys = [
        "rate_interval",
        "right_entry_interval",
        "catch_after_entry_interval",
    ];
    for key in keys {
        let text = format!("[measured]\n{key} = [1, 2, 3]\n");
        write(folder.path(), "alex.toml", text);
        let message = Message::read(&refused(folder.path(), &SHOW, 2));
        let own = message.example.starts_with(&format!("{key} = "));
        assert!(own, "{message:?}");
    }
}

#[test]
fn a_session_with_a_faulty_swimmer_gives_the_same_message() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for fault in table(VALUES, frame) {
        write(folder.path(), "alex.toml", &fault.text);
        let alone = refused(folder.path(), &SHOW, 2);
        let with = refused(
            folder.path(),
            &["show", "pull", "--swimmer", "alex.toml"],
            2,
        );
        assert_eq!(with, alone);
    }
}

/// A flag has no place in a file: its name stands there, also where it fails only in a set.
#[test]
fn a_flag_out_of_range_is_named_with_what_is_accepted() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let session = "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n";
    write(folder.path(), "evening.toml", session);
    for (flag, value, found, accepted) in [
        (
            "--stroke-rate",
            "54",
            "\"54 spm\" (strokes/min",
            "10 to 160 spm",
        ),
        (
            "--stroke-rate",
            "54",
            "\"54 cpm\" (cycles/min",
            "10 to 160 spm",
        ),
        (
            "--stroke-rate",
            "170 spm",
            "170 spm (85 cycles/min)",
            "10 to 160 spm",
        ),
        ("--stroke-rate", "+2 spm", "\"+2 spm\"", "--swimmer FILE"),
        ("--stroke-rate", "-2 spm", "\"-2 spm\"", "--swimmer FILE"),
        ("--stroke-rate", "fast", "\"fast\"", "10 to 160 spm"),
        ("--pairing", "same", "\"same\"", "same-side, opposite-side"),
        (
            "--kick",
            "flutter",
            "\"flutter\"",
            "two-beat, four-beat, six-beat, pull",
        ),
    ] {
        let args = ["show", "evening.toml", "--events", flag, value];
        let message = Message::read(&refused(folder.path(), &args, 2));
        assert!(
            message.first.starts_with(&format!("{flag}: ")),
            "{message:?}"
        );
        assert!(message.first.contains(found), "{message:?}");
        assert!(message.accepted.contains(accepted), "{message:?}");
        let (example_flag, example) = message.example.split_once(' ').expect("a flag's example");
        assert_eq!(example_flag, flag, "{message:?}");
        let args = ["show", "evening.toml", flag, example.trim_matches('"')];
        assert!(run(folder.path(), &args).status.success(), "{message:?}");
    }
}

/// What a flag takes is told by its refusal, whichever of the program's parsers gives it.
#[test]
fn export_refuses_forms_that_it_does_not_write() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (flag, value, accepted) in [
        ("--bits", "8", "16, 24"),
        ("--bits", "32", "16, 24"),
        ("--bits", "-16", "16, 24"),
        ("--sample-rate", "22050", "44100, 48000"),
        ("--sample-rate", "44.1", "44100, 48000"),
        ("--channels", "2", "stereo, mono"),
        ("--files", "per-cycle", "per-set, per-repeat, one"),
    ] {
        let flag_and_value = format!("{flag}={value}");
        let args = [
            "export",
            "pull",
            "--swimmer",
            "triathlete",
            "--out",
            "tracks",
        ];
        let message = refused(folder.path(), &[&args[..], &[&flag_and_value]].concat(), 2);
        for word in [flag, value, accepted] {
            assert!(message.contains(word), "{word} in {message}");
        }
        assert!(
            !folder.path().join("tracks").exists(),
            "{flag}={value} made a folder"
        );
    }
    let message = refused(folder.path(), &["export", "pull"], 2);
    assert!(message.contains("--out <DIR>"), "{message}");
    let message = refused(folder.path(), &["show", "pull", "--sample-rate", "7999"], 2);
    assert!(message.contains("8000"), "{message}");
}

#[test]
fn a_new_swimmer_is_refused_as_its_file_would_be() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let new = ["swimmer", "new", "me.toml"];
    let message = refused(folder.path(), &[&new[..], &["--rate", "54"]].concat(), 2);
    let said = [
        "54, a bare number",
        "\"54 spm\"",
        "\"54 cpm\"",
        "accepted: ",
        "example: ",
    ];
    for word in said {
        assert!(message.contains(word), "{word} in {message}");
    }
    assert!(!folder.path().join("me.toml").exists());
    crate::support::ok(folder.path(), &[&new[..], &["--rate", "54 spm"]].concat());
    let message = refused(
        folder.path(),
        &[&new[..], &["--rate", "55 spm"]].concat(),
        1,
    );
    assert!(message.contains("me.toml: is there already"), "{message}");
    assert!(message.contains("--force"), "{message}");
    let message = refused(folder.path(), &["swimmer", "new", "nowhere/me.toml"], 1);
    assert!(
        message.contains("nowhere/me.toml: cannot be written"),
        "{message}"
    );
}
