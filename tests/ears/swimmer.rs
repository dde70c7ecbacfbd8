//! A swimmer's file: written, read back, and what was measured beside what is cued.

use std::fs;

use super::folder;
use crate::support::{ok, refused, run, write};

const NEW: [&str; 15] = [
    "swimmer",
    "new",
    "alex.toml",
    "--name",
    "Alex",
    "--pool",
    "25 yd",
    "--rate",
    "27.5 cpm",
    "--pace",
    "1:50 / 100 yd",
    "--pairing",
    "opposite-side",
    "--kick",
    "six-beat",
];

#[test]
fn a_written_swimmer_reads_back() {
    let folder = folder();
    ok(folder.path(), &NEW);
    // As TOML by the `toml` crate, and as a swimmer by the program.
    let text = fs::read_to_string(folder.path().join("alex.toml")).expect("it was written");
    let table: toml::Table = text.parse().expect("TOML");
    for (key, value) in [
        ("name", "Alex"),
        ("pool", "25 yd"),
        ("rate", "27.5 cpm"),
        ("pace", "1:50 / 100 yd"),
        ("pairing", "opposite-side"),
        ("kick", "six-beat"),
    ] {
        assert_eq!(table[key].as_str(), Some(value), "{text}");
    }
    let shown = ok(folder.path(), &["swimmer", "show", "alex.toml"]);
    for due in [
        "Alex",
        "55 spm (27.5 cycles/min)",
        "25 yd",
        "1:50 / 100 yd",
        "opposite-side",
        "six-beat",
    ] {
        assert!(shown.contains(due), "no {due}:\n{shown}");
    }
    let session = ok(
        folder.path(),
        &["show", "hold-the-rate", "--swimmer", "alex.toml"],
    );
    assert!(session.contains("55 spm (27.5 cycles/min)"), "{session}");
}

#[test]
fn an_odd_name_is_written_so_that_it_reads_back() {
    let folder = folder();
    let name = "A \"quoted\" \\ näme, # no comment";
    ok(
        folder.path(),
        &[
            "swimmer", "new", "odd.toml", "--name", name, "--rate", "54 spm",
        ],
    );
    let shown = ok(folder.path(), &["swimmer", "show", "odd.toml"]);
    assert_eq!(shown.lines().next(), Some(name));
}

#[test]
fn an_existing_file_is_kept_unless_forced() {
    let folder = folder();
    write(folder.path(), "alex.toml", "name = \"Old\"\n");
    let message = refused(folder.path(), &NEW, 1);
    assert!(
        message.contains("alex.toml") && message.contains("--force"),
        "{message}"
    );
    let kept = fs::read_to_string(folder.path().join("alex.toml")).expect("it is there");
    assert_eq!(kept, "name = \"Old\"\n");
    ok(folder.path(), &[&NEW[..], &["--force"]].concat());
    let text = fs::read_to_string(folder.path().join("alex.toml")).expect("it is there");
    assert!(text.contains("Alex") && !text.contains("Old"), "{text}");
}

#[test]
fn a_value_that_could_not_be_read_back_is_refused_and_nothing_written() {
    let folder = folder();
    for (flag, value) in [
        ("--rate", "54"),
        ("--rate", "+2 spm"),
        ("--pool", "25"),
        ("--pace", "2:05"),
        ("--pairing", "both"),
        ("--kick", "three-beat"),
    ] {
        refused(
            folder.path(),
            &["swimmer", "new", "new.toml", "--name", "Alex", flag, value],
            2,
        );
        assert!(!folder.path().join("new.toml").exists(), "{flag} {value}");
    }
    // Rivals on one level (docs/session.md).
    let both = ["--pace", "2:05 / 100 m", "--stroke-length", "0.9 m/stroke"];
    let words = [&["swimmer", "new", "new.toml", "--name", "Alex"], &both[..]].concat();
    assert_eq!(run(folder.path(), &words).status.code(), Some(2));
    assert!(!folder.path().join("new.toml").exists());
}

/// A swimmer whose catch was measured at 50 spm, and not what is cued.
const MEASURED: &str = "name = \"Nobody (invented)\"\nrate = \"50 spm\"\npace = \"2:00 / 100 m\"\n\
    CATCH[measured]\ndate = \"2026-10-04\"\nrate = \"50 spm\"\n\
    catch_after_entry = { left = 0.36, right = 0.32 }\nright_entry = 0.47\n";

#[test]
fn measured_stands_beside_cued() {
    let folder = folder();
    for (file, catch) in [
        ("own.toml", "catch_after_entry = \"measured\"\n"),
        ("coach.toml", "catch_after_entry = 0.28\n"),
        ("old.toml", ""),
    ] {
        write(folder.path(), file, MEASURED.replace("CATCH", catch));
    }
    // Cued: what a person says, and the mean of the measured two, (0.36 + 0.32) / 2, only where
    // they ask for it (docs/swimmer.md). At 50 spm a cycle has 2400 ms: 0.06 of it are 144 ms,
    // 0.04 are 96 ms (arithmetic).
    for (file, cued, moves) in [
        ("own.toml", "0.34", ""),
        (
            "coach.toml",
            "0.28",
            "the cues on the catch would come 144 ms later",
        ),
        (
            "old.toml",
            "0.3",
            "the cues on the catch would come 96 ms later",
        ),
    ] {
        let swimmer = ok(folder.path(), &["swimmer", "show", file]);
        let session = ok(folder.path(), &["show", "hold-the-rate", "--swimmer", file]);
        let flat = session.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(moves), "{file}:\n{session}");
        assert_eq!(
            flat.contains("would come"),
            !moves.is_empty(),
            "{file}:\n{session}"
        );
        for text in [swimmer, session] {
            let flat: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
            for due in [
                &format!("{cued} of a cycle"),
                "left 0.36, right 0.32",
                "2026-10-04",
            ] {
                assert!(flat.contains(due), "{file}: no {due} in\n{text}");
            }
            assert_eq!(
                flat.contains("guess"),
                file == "old.toml",
                "{file}:\n{text}"
            );
        }
        // The arms stay half a cycle apart whatever was measured (docs/swimmer.md).
        let words = ["show", "hold-the-rate", "--swimmer", file, "--json"];
        let json: serde_json::Value =
            serde_json::from_str(&ok(folder.path(), &words)).expect("JSON");
        assert_eq!(json["sets"][0]["right_entry_cycle"], 0.5);
    }
}

#[test]
fn a_rate_more_than_10_percent_from_the_measured_one_is_warned_of() {
    let folder = folder();
    write(folder.path(), "own.toml", MEASURED.replace("CATCH", ""));
    let warned = |rate: &str| {
        let words = [
            "show",
            "hold-the-rate",
            "--swimmer",
            "own.toml",
            "--stroke-rate",
            rate,
        ];
        ok(folder.path(), &words).contains("10 %")
    };
    // 50 spm ± 10 % is 45 to 55 spm, both still within (arithmetic).
    for rate in ["45 spm", "50 spm", "55 spm"] {
        assert!(!warned(rate), "{rate}");
    }
    for rate in ["44.999999999 spm", "55.000000001 spm", "70 spm"] {
        assert!(warned(rate), "{rate}");
    }
}

#[test]
fn nobody_is_warned_who_was_never_measured() {
    let folder = folder();
    write(
        folder.path(),
        "plain.toml",
        "name = \"N\"\nrate = \"50 spm\"\npace = \"2:00 / 100 m\"\n",
    );
    let words = [
        "show",
        "hold-the-rate",
        "--swimmer",
        "plain.toml",
        "--stroke-rate",
        "80 spm",
    ];
    assert!(!ok(folder.path(), &words).contains("10 %"));
}
