//! Stroke timing as a whole command: against scipy, published examples and bad input.

use std::fmt::Write;
use std::path::Path;

use crate::support::filmed::filmed_in_track;
use crate::support::{cuelane, ok, python_script, refused, run, write};
use serde_json::Value;

fn timing(folder: &Path, marks: &str, more: &[&str]) -> Value {
    write(folder, "marks.csv", marks);
    let text = ok(folder, &[&["timing", "marks.csv", "--json"], more].concat());
    serde_json::from_str(&text).expect("JSON")
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn near(value: &Value, expected: f64, within: f64) {
    let found = value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} for {expected}"));
    assert!((found - expected).abs() <= within, "{found} for {expected}");
}

/// Cycles of `cycle_s` with each event at its phase, as a file.
fn even(cycles: usize, cycle_s: f64, events: &[(&str, f64)]) -> String {
    let mut text = String::from("time,event\n");
    for cycle in 0..cycles {
        for (event, phase) in events {
            let time = 10.0 + (cycle as f64 + phase) * cycle_s;
            writeln!(text, "{time:.6},{event}").expect("a string");
        }
    }
    text
}

const BOTH: [(&str, f64); 8] = [
    ("left_entry", 0.0),
    ("left_catch", 0.3),
    ("left_kick", 0.35),
    ("right_entry", 0.5),
    ("left_exit", 0.75),
    ("right_catch", 0.8),
    ("right_kick", 0.85),
    ("right_exit", 1.25),
];

#[test]
fn random_marks_come_out_as_scipy_has_them() {
    let folder = folder();
    let mut rng = fastrand::Rng::with_seed(6);
    let mut text = String::from("time,event\n");
    for cycle in 0..25 {
        let start = 3.0 + 2.0 * f64::from(cycle);
        let mut mark = |event, phase: f64| {
            writeln!(text, "{:.9},{event}", start + 2.0 * phase).expect("a string");
        };
        mark("left_entry", 0.0);
        mark("left_catch", 0.25 + 0.1 * rng.f64());
        mark("left_kick", 0.2 + 0.4 * rng.f64());
        mark("right_kick", 0.6 + 0.3 * rng.f64());
    }
    let json = timing(folder.path(), &text, &["--chart", "cycle.svg"]);
    write(folder.path(), "result.json", json.to_string());
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (result, marks, chart) = (path("result.json"), path("marks.csv"), path("cycle.svg"));
    assert_eq!(
        python_script("timing.py", &[&result, &marks, &chart]).trim(),
        "holds"
    );
}

#[test]
fn zars_example_comes_out_of_a_film() {
    // Zar 26.2/26.4 and 27.1 (computed with numpy, scipy, pycircstat2: docs/sources.md).
    let mut text = String::from("time,event\n");
    for (cycle, degrees) in [45.0, 55.0, 81.0, 96.0, 110.0, 117.0, 132.0, 154.0]
        .iter()
        .enumerate()
    {
        let start = 3.6 * cycle as f64;
        writeln!(text, "{start:.6},left_entry").expect("a string");
        writeln!(text, "{:.6},left_kick", start + 3.6 * degrees / 360.0).expect("a string");
    }
    let kick = &timing(folder().path(), &text, &[])["kick_phase"]["left"];
    near(&kick["mean_cycle"], 98.98775 / 360.0, 1e-6);
    near(&kick["resultant"], 0.8252177, 1e-6);
    near(&kick["sd_cycle"], 35.51488 / 360.0, 1e-6);
    near(&kick["rayleigh_p"], 0.00185164, 1e-7);
    near(&kick["ci95_cycle"][0], 68.05 / 360.0, 2e-5);
    near(&kick["ci95_cycle"][1], 129.92 / 360.0, 2e-5);
}

#[test]
fn an_even_stroke_comes_out_as_it_went_in() {
    let json = timing(folder().path(), &even(8, 2.0, &BOTH), &[]);
    near(&json["rate_spm"]["value"], 60.0, 1e-6);
    near(&json["right_entry_cycle"]["value"], 0.5, 1e-6);
    near(
        &json["catch_after_entry_cycle"]["right"]["value"],
        0.3,
        1e-6,
    );
    // Arithmetic: with symmetrical arms half a cycle apart, 100 x (propulsive share - 0.5).
    near(&json["propulsive_cycle"]["left"]["value"], 0.45, 1e-6);
    for arm in ["left", "right", "mean"] {
        near(&json["idc_percent"][arm]["value"], -5.0, 1e-4);
    }
    assert_eq!(json["beats_per_cycle"], 2);
    assert_eq!(json["nearest_pairing"], "same-side");
    near(&json["lag_ms"]["same_side"]["left"]["value"], 100.0, 1e-3);
    near(
        &json["lag_ms"]["opposite_side"]["left"]["value"],
        -300.0,
        1e-3,
    );
    near(
        &json["lag_ms"]["opposite_side"]["right"]["value"],
        -300.0,
        1e-3,
    );
    near(&json["pairings_apart_ms"], 400.0, 1e-3);
    // The catch at 0.3 after a kick at 0.35 of the cycle before: 342 degrees.
    near(
        &json["relative_phase_deg"]["same_side"]["left"]["mean"],
        342.0,
        1e-2,
    );
    assert_eq!(
        json["relative_phase_deg"]["same_side"]["left"]["class"],
        "in phase"
    );
}

#[test]
fn a_six_beat_kick_is_counted_and_its_paired_beats_found() {
    let (third, late) = (1.0 / 3.0, 0.02);
    let mut events = vec![
        ("left_entry", 0.0),
        ("right_entry", 0.5),
        ("left_catch", 0.3),
        ("right_catch", 0.8),
    ];
    for beat in 0..3 {
        let wrap = |phase: f64| phase - phase.floor();
        events.push(("left_kick", wrap(0.3 + late + third * f64::from(beat))));
        events.push(("right_kick", wrap(0.8 + late + third * f64::from(beat))));
    }
    let json = timing(folder().path(), &even(10, 2.0, &events), &[]);
    assert_eq!(json["beats_per_cycle"], 6);
    assert_eq!(json["kick"], "six-beat");
    near(&json["kick_phase"]["left"]["mean_cycle"], 0.32, 1e-6);
    near(&json["lag_ms"]["same_side"]["right"]["value"], 40.0, 1e-3);
    assert_eq!(json["nearest_pairing"], "same-side");
}

#[test]
fn a_four_beat_kick_is_counted_and_its_paired_beats_found() {
    // Design 3: paired left, a third of the gap on the right foot, two thirds on the left,
    // then paired right; nothing in the other gap. All of them 0.02 of a cycle late.
    let (gap, late) = (0.5, 0.02);
    let events = [
        ("left_entry", 0.0),
        ("right_entry", 0.5),
        ("left_catch", 0.3),
        ("right_catch", 0.8),
        ("left_kick", 0.3 + late),
        ("right_kick", 0.3 + late + gap / 3.0),
        ("left_kick", 0.3 + late + 2.0 * gap / 3.0),
        ("right_kick", 0.8 + late),
    ];
    let json = timing(folder().path(), &even(10, 2.0, &events), &[]);
    assert_eq!(json["beats_per_cycle"], 4);
    assert_eq!(json["kick"], "four-beat");
    near(&json["kick_phase"]["left"]["mean_cycle"], 0.32, 1e-6);
    near(&json["kick_phase"]["right"]["mean_cycle"], 0.82, 1e-6);
    near(&json["lag_ms"]["same_side"]["left"]["value"], 40.0, 1e-3);
    near(&json["lag_ms"]["same_side"]["right"]["value"], 40.0, 1e-3);
    assert_eq!(json["nearest_pairing"], "same-side");
}

#[test]
fn passes_of_one_side_are_folded_each_on_its_own_entries() {
    let mut text = String::from("time,event,pass\n");
    for (pass, side, kick) in [(1, "left", 0.32), (2, "right", 0.28)] {
        for cycle in 0..7 {
            let start = 5.0 + 2.0 * f64::from(cycle);
            for (event, phase) in [("entry", 0.0), ("catch", 0.3), ("kick", kick)] {
                let time = start + 2.0 * phase;
                writeln!(text, "{time:.6},{side}_{event},{pass}").expect("a string");
            }
        }
    }
    let json = timing(folder().path(), &text, &[]);
    near(&json["kick_phase"]["left"]["mean_cycle"], 0.32, 1e-6);
    near(&json["kick_phase"]["right"]["mean_cycle"], 0.78, 1e-6);
    near(&json["lag_ms"]["same_side"]["left"]["value"], 40.0, 1e-3);
    near(&json["lag_ms"]["same_side"]["right"]["value"], -40.0, 1e-3);
    assert_eq!(json["beats_per_cycle"], 2);
    assert_eq!(json["nearest_pairing"], "same-side");
    assert!(json.get("right_entry_cycle").is_none(), "{json}");
    assert!(json["lag_ms"].get("opposite_side").is_none(), "{json}");
}

#[test]
fn film_from_above_gives_the_rate_and_entry_lags_only() {
    let events = [
        ("left_entry", 0.0),
        ("right_kick", 0.02),
        ("right_entry", 0.5),
        ("left_kick", 0.52),
    ];
    let folder = folder();
    let json = timing(folder.path(), &even(8, 2.0, &events), &[]);
    assert!(json.get("catch_after_entry_cycle").is_none(), "{json}");
    assert!(json["lag_ms"].get("same_side").is_none(), "{json}");
    near(
        &json["lag_ms"]["opposite_side"]["left"]["value"],
        40.0,
        1e-3,
    );
    assert_eq!(json["nearest_pairing"], "undecided");
    let screen = ok(folder.path(), &["timing", "marks.csv"]);
    assert!(screen.contains("No catch is marked"), "{screen}");
}

#[test]
fn the_screen_is_plain_and_fits_80_columns() {
    let folder = folder();
    let mut text = even(9, 2.0, &BOTH);
    text.push_str("10.4,left_entry\n10.71,left_kick\n");
    write(folder.path(), "marks.csv", text);
    let screen = ok(folder.path(), &["timing", "marks.csv", "--fps", "60"]);
    for word in ["κ", "ε", "resultant", "Rayleigh"] {
        assert!(!screen.contains(word), "{word}: {screen}");
    }
    assert!(screen.contains("left foot with left catch"), "{screen}");
    assert!(screen.contains("marked twice"), "{screen}");
    assert_eq!(screen.matches("A rate is a wish").count(), 1, "{screen}");
    write(folder.path(), "again.csv", even(8, 2.0, &BOTH));
    for more in [&[][..], &["--detail"], &["--again", "again.csv"]] {
        let screen = ok(folder.path(), &[&["timing", "marks.csv"], more].concat());
        let widest = screen.lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(80), "{screen}");
    }
}

#[test]
fn saving_writes_what_was_measured_and_nothing_else() {
    let folder = folder();
    let before = "# lane 3\nname = \"Alex\"\nrate = \"54 spm\"  # cued\ncatch_after_entry = 0.33\n";
    write(folder.path(), "alex.toml", before);
    timing(
        folder.path(),
        &even(8, 2.0, &BOTH),
        &["--swimmer", "alex.toml", "--save"],
    );
    let after = std::fs::read_to_string(folder.path().join("alex.toml")).expect("the file");
    assert!(after.starts_with(before), "{after}");
    let shown = ok(folder.path(), &["swimmer", "show", "alex.toml", "--json"]);
    let shown: Value = serde_json::from_str(&shown).expect("JSON");
    near(&shown["rate_spm"], 54.0, 0.0);
    near(&shown["measured"]["rate_spm"], 60.0, 1e-9);
    near(
        &shown["measured"]["catch_after_entry_cycle"]["left"],
        0.3,
        1e-9,
    );
    assert_eq!(shown["measured"]["pairing"], "same-side");
    assert_eq!(shown["measured"]["kick"], "two-beat");
    refused(
        folder.path(),
        &[
            "timing",
            "marks.csv",
            "--swimmer",
            "adult-learner",
            "--save",
        ],
        2,
    );
}

#[test]
fn saving_says_what_stood_there_before_and_whether_a_cue_moves() {
    let folder = folder();
    let here = folder.path();
    write(here, "marks.csv", even(8, 2.0, &BOTH));
    let own = "name = \"Alex\"\nrate = \"54 spm\"\ncatch_after_entry = \"measured\"\n[measured]\n\
        date = \"2026-05-04\"\nrate = \"60 spm\"\ncatch_after_entry = { left = 0.24, right = 0.26 }\n";
    let save = |text: &str| {
        write(here, "alex.toml", text);
        let told = ok(
            here,
            &["timing", "marks.csv", "--swimmer", "alex.toml", "--save"],
        );
        told.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    // The marks have a cycle of 2 s and catches at 0.3 of it: 0.05 of a cycle later (arithmetic).
    let told = save(own);
    for due in [
        "before 2026-05-04; 60 spm; catch left 0.24, right 0.26",
        "catch 0.3; kick same-side",
        "from 0.25 to 0.3 of a cycle, 100 ms later at 60 spm",
    ] {
        assert!(told.contains(due), "no {due} in\n{told}");
    }
    let told = save(&own.replace("catch_after_entry = \"measured\"\n", ""));
    assert!(told.contains("What is cued stays as it was."), "{told}");
}

#[test]
fn a_track_older_than_the_swimmers_file_is_told_where_it_differs() {
    let folder = folder();
    let here = folder.path();
    let session = "[[set]]\nswim = \"10 s\"\nrate = \"60 spm\"\n";
    let check = ["check", "tracks", "s.toml", "--swimmer", "alex.toml"];
    write(here, "s.toml", HOLD);
    write(here, "alex.toml", "name = \"Alex\"\n");
    let export = [
        "export",
        "s.toml",
        "--swimmer",
        "alex.toml",
        "--out",
        "tracks",
        "--quiet",
    ];
    ok(here, &export);
    assert!(!String::from_utf8_lossy(&run(here, &check).stderr).contains("newer"));
    write(here, "s.toml", session.replace("60", "58"));
    let other = run(here, &check);
    assert_eq!(
        other.status.code(),
        Some(1),
        "the session changed, and not the swimmer"
    );
    assert!(!String::from_utf8_lossy(&other.stderr).contains("newer"));
    write(here, "s.toml", HOLD);
    write(
        here,
        "alex.toml",
        "name = \"Alex\"\ncatch_after_entry = 0.2\n",
    );
    let newer = run(here, &check);
    let note = String::from_utf8_lossy(&newer.stderr).into_owned();
    assert_eq!(newer.status.code(), Some(1));
    assert!(
        note.contains("alex.toml is newer than what differs"),
        "{note}"
    );
}

/// A swim to a session of 60 spm whose kick comes `lag_s` behind each cue: hands on theirs.
fn cued_swim(lag_s: impl Fn(u32) -> f64) -> String {
    let mut text = String::from("time,event\n");
    for cycle in 0..10 {
        // Same-side: each kick on the catch of its side, 0.3 of 2 s after the entry.
        for (side, entry_s) in [("left", 0.0), ("right", 1.0)] {
            let entry_s = 2.0 + 2.0 * f64::from(cycle) + entry_s;
            let _ = writeln!(text, "{entry_s:.3},{side}_entry");
            let _ = writeln!(text, "{:.3},{side}_catch", entry_s + 0.6);
            let _ = writeln!(text, "{:.3},{side}_kick", entry_s + 0.6 + lag_s(cycle));
        }
    }
    text
}

#[test]
fn a_film_of_a_cued_swim_writes_kept_into_its_row_and_nothing_else() {
    let folder = folder();
    let here = folder.path();
    write(
        here,
        "s.toml",
        "[[set]]\nname = \"Hold\"\nswim = \"40 s\"\nrate = \"60 spm\"\n",
    );
    let log = "date;swimmer;set;repeat;distance;note;kept;time\n2026-10-04;Alex;Hold;1;50 m;\"a; b\";;48,1\n\
        2026-10-04;Alex;Hold;2;50 m;;;48,4\n";
    let words = [
        "timing",
        "marks.csv",
        "--session",
        "s.toml",
        "--sync",
        "2.6",
    ];
    let row = ["--log", "log.csv", "--row", "date=2026-10-04, repeat=1"];
    let logged = [&words[..], &row].concat();
    // The pairings lie 0.2 of a cycle apart: a window of 0.08 of 2 s, 160 ms.
    for (lag_s, kept, kicks) in [
        ((|_| 0.06) as fn(u32) -> f64, "yes", 20),
        (|cycle| if cycle % 5 < 3 { 0.06 } else { 0.56 }, "part", 12),
        // Most at another place, farther than half the way to the other pairing: no lag is taken out.
        (|cycle| if cycle % 5 < 2 { 0.06 } else { 0.56 }, "no", 8),
    ] {
        write(here, "marks.csv", cued_swim(lag_s));
        write(here, "log.csv", log);
        let told: Value =
            serde_json::from_str(&ok(here, &[&logged[..], &["--json"]].concat())).expect("JSON");
        assert_eq!(told["came"]["kept"]["kept"], kept, "{told}");
        assert_eq!(told["came"]["kept"]["kicks"], kicks, "{told}");
        assert_eq!(told["log_line"], 2);
        near(&told["came"]["kept"]["window_ms"], 160.0, 1e-6);
        let written = std::fs::read_to_string(here.join("log.csv")).expect("the log");
        assert_eq!(written, log.replacen("b\";;", &format!("b\";{kept};"), 1));
    }
    write(here, "marks.csv", cued_swim(|_| 0.06));
    let told = ok(here, &[&logged[..], &["--chart", "came.svg"]].concat());
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for due in [
        "Feet with sound: 60 ms behind the cue",
        "Kept: yes. 20 of 20 kicks within 160 ms of the cue, the steady lag of +60 ms taken out.",
        "Wrote kept = yes into log.csv, line 2 (2026-10-04, Alex, Hold, repeat 1); it was no.",
    ] {
        assert!(told.contains(due), "no {due} in\n{told}");
    }
    let picture = std::fs::read_to_string(here.join("came.svg")).expect("a picture");
    assert!(
        picture.contains("left foot behind its cue, ms"),
        "{picture}"
    );
    // Two rows, no row, no session: refused, and the log is as it was.
    let before = std::fs::read_to_string(here.join("log.csv")).expect("the log");
    for (row, what) in [
        ("date=2026-10-04", "2 rows of the log are so named"),
        ("repeat=9", "no row of the log is so named"),
        ("lane=4", "--row: found"),
    ] {
        let message = refused(
            here,
            &[&words[..], &["--log", "log.csv", "--row", row]].concat(),
            2,
        );
        assert!(message.contains(what), "{message}");
    }
    refused(
        here,
        &[
            "timing",
            "marks.csv",
            "--log",
            "log.csv",
            "--row",
            "repeat=1",
        ],
        2,
    );
    let after = std::fs::read_to_string(here.join("log.csv")).expect("the log");
    assert_eq!(after, before);
}

/// The session of the swim that `filmed_in_track` films.
const HOLD: &str = "[[set]]\nname = \"Hold\"\nswim = \"60 s\"\nrate = \"60 spm\"\n";

/// The sides of a cued swim's marks, exchanged: of hands, of feet, or of all as in a mirror.
fn exchanged(marks: &str, which: &[&str]) -> String {
    let exchange = |line: &str| match which.iter().find(|one| line.contains(*one)) {
        Some(_) if line.contains(",left_") => line.replace(",left_", ",right_"),
        Some(_) => line.replace(",right_", ",left_"),
        None => line.to_string(),
    };
    marks.lines().map(|line| exchange(line) + "\n").collect()
}

#[test]
fn sides_that_do_not_go_with_their_cues_are_named_and_nothing_is_measured() {
    let folder = folder();
    let here = folder.path();
    write(here, "s.toml", HOLD);
    let log = "date,set,repeat,distance,time,kept\n2026-10-04,Hold,1,50 m,48.1,\n";
    write(here, "log.csv", log);
    let words = ["timing", "marks.csv", "--session", "s.toml"];
    let right = filmed_in_track("locked", |_| 0.06);
    let hands: [&str; 2] = ["_entry", "_catch"];
    for (which, kind, who) in [
        (
            vec!["_entry", "_catch", "_kick"],
            "hands_crossed",
            "Hands and feet keep",
        ),
        (hands.to_vec(), "hands_crossed", "The hands keep"),
        (vec!["_kick"], "feet_crossed", "The feet keep"),
    ] {
        write(here, "marks.csv", exchanged(&right, &which));
        let told: Value =
            serde_json::from_str(&ok(here, &[&words[..], &["--json"]].concat())).expect("JSON");
        let doubts = told["doubts"].as_array().expect("doubts");
        let named = doubts.iter().any(|doubt| {
            let text = doubt["text"].as_str().unwrap_or_default();
            doubt["kind"] == kind && text.starts_with(who)
        });
        assert!(named, "{which:?}: {told}");
        assert!(
            told.get("came").is_none() && told.get("behind_sound").is_none(),
            "{told}"
        );
        // The report is told all the same, and the log is as it was.
        let row = [
            "--log", "log.csv", "--row", "repeat=1", "--chart", "came.svg",
        ];
        let (told, message) = told_and_refused(here, &[&words[..], &row].concat());
        assert!(message.contains("nothing is written"), "{message}");
        for due in [
            "60.0 spm",
            "Nothing is told beside the cues: came.svg shows the cycle.",
        ] {
            assert!(told.contains(due), "no {due} in\n{told}");
        }
        assert!(!told.contains("behind the cue"), "{told}");
        assert_eq!(
            std::fs::read_to_string(here.join("log.csv")).expect("the log"),
            log
        );
    }
}

/// What was told before a refusal, with its lines joined, and the refusal.
fn told_and_refused(here: &std::path::Path, words: &[&str]) -> (String, String) {
    let output = run(here, words);
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    let told = String::from_utf8_lossy(&output.stdout);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    (told, String::from_utf8_lossy(&output.stderr).into_owned())
}

#[test]
fn the_row_of_another_swim_is_refused_or_asked_about() {
    let folder = folder();
    let here = folder.path();
    write(here, "s.toml", HOLD);
    write(here, "alex.toml", "name = \"Alex\"\n");
    let log = "date,swimmer,set,repeat,distance,time,pairing,kept\n2026-10-04,Bo,Hold,1,50 m,48.1,same-side,\n\
        2026-10-04,Alex,Hold,2,50 m,48.1,opposite-side,\n2026-10-04,Alex,Main,3,50 m,48.1,same-side,\n";
    write(here, "log.csv", log);
    write(here, "marks.csv", filmed_in_track("locked", |_| 0.06));
    let words = [
        "timing",
        "marks.csv",
        "--session",
        "s.toml",
        "--swimmer",
        "alex.toml",
    ];
    let with = |row| [&words[..], &["--log", "log.csv", "--row", row]].concat();
    for (row, what) in [
        (
            "repeat=1",
            "log.csv:2: it is a row of another swim: its swimmer is Bo",
        ),
        (
            "repeat=2",
            "log.csv:3: it is a row of another swim: its pairing is opposite-side",
        ),
    ] {
        let (told, message) = told_and_refused(here, &with(row));
        assert!(message.contains(what), "{message}");
        assert!(told.contains("Kept: yes"), "{told}");
        assert_eq!(
            std::fs::read_to_string(here.join("log.csv")).expect("the log"),
            log
        );
    }
    // Logs that people keep name sets as they like.
    let told = ok(here, &with("repeat=3"));
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    let due = "Is it the right row? The film most likely shows set 1 (Hold), repeat 1.";
    assert!(told.contains(due), "{told}");
}

#[test]
fn a_file_that_cannot_be_saved_takes_nothing_from_the_report_or_the_log() {
    let folder = folder();
    let here = folder.path();
    write(here, "s.toml", HOLD);
    write(here, "marks.csv", filmed_in_track("locked", |_| 0.06));
    write(
        here,
        "log.csv",
        "date,set,repeat,distance,time,kept\n2026-10-04,Hold,1,50 m,48.1,\n",
    );
    let words = "timing marks.csv --session s.toml --swimmer - --save --log log.csv --row repeat=1";
    let words: Vec<&str> = words.split(' ').collect();
    write(here, "alex.toml", "name = \"Alex\"\n");
    let swimmer = std::fs::File::open(here.join("alex.toml")).expect("a file");
    let output = (cuelane(here).args(&words).stdin(swimmer).output()).expect("the program starts");
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    let told = String::from_utf8_lossy(&output.stdout);
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(
        message.contains("no file of yours to write into"),
        "{message}"
    );
    assert!(
        told.contains("Kept: yes") && told.contains("Wrote kept = yes"),
        "{told}"
    );
    let log = std::fs::read_to_string(here.join("log.csv")).expect("the log");
    assert_eq!(
        log,
        "date,set,repeat,distance,time,kept\n2026-10-04,Hold,1,50 m,48.1,yes\n"
    );
}

/// A second marking in which the kicks lie 40 ms later: what came of the cues may be so far off.
#[test]
fn a_habit_of_the_marker_is_in_what_came_of_the_cues() {
    let folder = folder();
    let here = folder.path();
    write(
        here,
        "s.toml",
        "[[set]]\nswim = \"40 s\"\nrate = \"60 spm\"\n",
    );
    write(here, "again.csv", cued_swim(|_| 0.1));
    let words = ["--session", "s.toml", "--sync", "2.6"];
    let half = |more: &[&str], limb: &str| {
        let json = timing(here, &cued_swim(|_| 0.06), &[&words[..], more].concat());
        let lag = &json["came"][limb]["with_sound"]["lag_ms"];
        let end = |end: &str| lag[end].as_f64().expect("a number");
        (end("hi") - end("lo")) / 2.0
    };
    let again = ["--again", "again.csv"];
    assert!(half(&[], "feet") < 1.0);
    // 1.96 x 40 ms; and of the hands, whose marks stayed, by the scatter of the three kinds, shifted by
    // 0, 0 and 40 ms: 1.96 x 23.09 ms / √2.
    near(&half(&again, "feet").into(), 78.4, 0.1);
    near(&half(&again, "hands").into(), 32.01, 0.1);
}

/// A copy says nothing of how exact the marking is, and took the warning about habits away.
#[test]
fn a_second_marking_that_is_the_first_is_refused() {
    let folder = folder();
    let here = folder.path();
    let marks = even(8, 2.0, &BOTH);
    let (header, rows) = marks.split_once('\n').expect("a header");
    let backwards: Vec<&str> = rows.lines().rev().collect();
    write(here, "marks.csv", &marks);
    write(here, "copy.csv", &marks);
    let sorted = format!("{header}\n{}\n", backwards.join("\n"));
    write(here, "sorted.csv", sorted);
    for again in ["marks.csv", "./marks.csv", "copy.csv", "sorted.csv"] {
        let message = refused(here, &["timing", "marks.csv", "--again", again], 2);
        let what = format!("{again}: it has the very marks of marks.csv");
        assert!(message.contains(&what), "{message}");
        assert!(message.contains("accepted: a second marking"), "{message}");
    }
    // One frame off in one mark is a second marking.
    let last = rows.lines().last().expect("a mark");
    let (time, event) = last.split_once(',').expect("two fields");
    let time: f64 = time.parse().expect("a time");
    let other = marks.replace(last, &format!("{:.3},{event}", time + 0.016));
    write(here, "other.csv", other);
    ok(here, &["timing", "marks.csv", "--again", "other.csv"]);
}

/// Two rows so named: at a terminal the one is asked for, its number answered, or nothing.
#[cfg(unix)]
#[test]
fn at_a_terminal_the_row_is_asked_for() {
    let folder = folder();
    let here = folder.path();
    let set = "[[set]]\nname = \"Hold\"\nswim = \"40 s\"\nrate = \"60 spm\"\n";
    let log = "date,set,repeat,distance,kept,time\n2026-10-04,Hold,1,50 m,,48.1\n\
        2026-10-04,Hold,2,50 m,no,48.4\n2026-10-05,Hold,1,50 m,,48.0\n";
    write(here, "s.toml", set);
    write(here, "marks.csv", cued_swim(|_| 0.06));
    let [marks, session, file] =
        ["marks.csv", "s.toml", "log.csv"].map(|name| here.join(name).display().to_string());
    let answered = |answers: &str| {
        write(here, "log.csv", log);
        let row = "date=2026-10-04";
        let command = [
            answers,
            env!("CARGO_BIN_EXE_cuelane"),
            "timing",
            &marks,
            "--session",
            &session,
            "--sync",
            "2.6",
            "--log",
            &file,
            "--row",
            row,
        ];
        let said = python_script("answers.py", &command);
        let written = std::fs::read_to_string(here.join("log.csv")).expect("the log");
        (said, written)
    };
    // The last row comes first; what is no number of a row is asked again.
    let (said, written) = answered("3|one|2");
    for due in [
        "Kept: yes. 20 of 20 kicks",
        "   1  line 3: 2026-10-04, Hold, repeat 2; 50 m, 48.4 s, kept no\n",
        "   2  line 2: 2026-10-04, Hold, repeat 1; 50 m, 48.1 s\n",
        "Which one, 1 to 2? (empty: none)",
        "found \"3\", which is no number of a row",
    ] {
        assert!(said.contains(due), "no {due} in\n{said}");
    }
    assert!(said.trim_end().ends_with("\n0"), "{said}");
    assert_eq!(written, log.replacen("50 m,,48.1", "50 m,yes,48.1", 1));
    let (said, written) = answered("");
    assert!(said.contains("log.csv stays as it is."), "{said}");
    assert!(said.trim_end().ends_with("\n0"), "{said}");
    assert_eq!(written, log);
}

#[test]
fn cycles_with_sound_and_in_silence_are_told_apart_where_it_is_known_which_sounded() {
    let folder = folder();
    let here = folder.path();
    // The first entry is 60 s of lead-in and 3 s of push-off into the track (docs/session.md).
    write(
        here,
        "s.toml",
        "[[set]]\nswim = \"60 s\"\nrate = \"60 spm\"\nfade = { on = 4, off = 4 }\n",
    );
    // 60 ms behind the sound, and in the silence 10 ms more with each cycle.
    let lag_s = |cycle: u32| 0.06 + 0.01 * f64::from(u32::saturating_sub(cycle % 8, 3));
    let marks = |place: &str| filmed_in_track(place, lag_s);
    let words = ["timing", "marks.csv", "--session", "s.toml"];
    write(here, "marks.csv", marks("locked"));
    let told: Value =
        serde_json::from_str(&ok(here, &[&words[..], &["--json"]].concat())).expect("JSON");
    let feet = &told["came"]["feet"];
    near(&feet["with_sound"]["lag_ms"]["value"], 60.0, 1e-3);
    // The mean of 70, 80, 90 and 100 ms.
    near(&feet["without_sound"]["lag_ms"]["value"], 85.0, 1e-3);
    near(
        &feet["without_sound"]["drift_ms_per_cycle"]["value"],
        10.0,
        1e-3,
    );
    let told = ok(here, &words);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains("Feet in silence: 85 ms behind the cue"),
        "{told}"
    );
    assert!(
        told.contains("10.0 ms later with each silent cycle"),
        "{told}"
    );
    write(here, "marks.csv", marks("cycles"));
    let told = ok(here, &words);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains("Which of these cycles sounded is not known"),
        "{told}"
    );
    assert!(!told.contains("in silence:"), "{told}");
}

/// `swimmer new` leaves what is not yet known in comments; saving must not put them out of reach,
/// and a file in which they were put out of reach is mended by saving again.
#[test]
fn what_a_new_swimmers_file_leaves_open_can_still_be_filled_in_after_saving() {
    let folder = folder();
    let here = folder.path();
    let save = |marks: &str| {
        timing(here, marks, &["--swimmer", "alex.toml", "--save"]);
        std::fs::read_to_string(here.join("alex.toml")).expect("the file")
    };
    let marks = even(8, 2.0, &BOTH);
    ok(here, &["swimmer", "new", "alex.toml", "--name", "Alex"]);
    let new = std::fs::read_to_string(here.join("alex.toml")).expect("the file");
    let saved = save(&marks);
    assert!(saved.starts_with(&new), "{saved}");
    // As it was once written: what is open comes after [measured].
    let (known, open) = new.split_at(new.find("# pool").expect("an open line"));
    let (open, _) = open.split_at(open.find("\n[player]").expect("the player"));
    let measured = &saved[new.len()..];
    let mut texts = vec![saved.clone()];
    for wrong in [
        format!("{known}{measured}{open}"),
        format!("{known}{measured}{open}\n[player]\nbits = 16\n"),
    ] {
        write(here, "alex.toml", wrong);
        texts.push(save(&marks));
    }
    let hints: Vec<&str> = open.lines().collect();
    assert_eq!(hints.len(), 6, "{open}");
    for text in &texts {
        for hint in &hints {
            let said = hint.trim_start_matches("# ");
            assert_eq!(text.matches(hint).count(), 1, "{text}");
            write(here, "alex.toml", text.replace(hint, said));
            ok(here, &["swimmer", "show", "alex.toml"]);
        }
    }
}

#[test]
fn a_cued_swim_comes_out_behind_its_sound() {
    let folder = folder();
    let session = "[[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\npairing = \"same-side\"\n";
    write(folder.path(), "cued.toml", session);
    // A left arm cue at 10.5 s, heard 20 m from the loudspeaker: it sounded 58 ms earlier.
    // Catches fall at 10.6 s, so the hands come 158 ms behind; the kicks another 100 ms.
    let json = timing(
        folder.path(),
        &even(12, 2.0, &BOTH),
        &[
            "--session",
            "./cued.toml",
            "--sync",
            "10.5",
            "--distance",
            "20 m",
        ],
    );
    let behind = &json["behind_sound"];
    near(&behind["hand_ms"]["left"]["value"], 158.309, 0.01);
    near(&behind["foot_ms"]["right"]["value"], 258.309, 0.01);
    assert_eq!(behind["lead_ms"]["arm"], 160);
    assert_eq!(behind["lead_ms"]["kick"], 260);
}

#[test]
fn the_arms_are_compared_with_the_moment_and_the_arm_that_are_cued() {
    let folder = folder();
    let session = |keys: &str| {
        let set = "[[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\npairing = \"same-side\"\n";
        write(folder.path(), "cued.toml", format!("{set}{keys}"));
    };
    let film = ["--session", "./cued.toml", "--sync", "10.5"];
    // A cue at 10.5 s: of an entry at 10 s or 11 s, of a catch at 10.6 s or 11.6 s.
    session("arm_cue = \"entry\"\n");
    let json = timing(folder.path(), &even(12, 2.0, &BOTH), &film);
    let hand = &json["behind_sound"]["hand_ms"]["left"]["value"];
    near(&hand.as_f64().map(f64::abs).into(), 500.0, 0.01);
    // Only the right arm swims: the heard cue is its own, and its catch comes 900 ms before it.
    session("arms = \"right\"\n");
    let json = timing(folder.path(), &even(12, 2.0, &BOTH), &film);
    let hands = &json["behind_sound"]["hand_ms"];
    near(&hands["right"]["value"], -900.0, 0.01);
    assert!(hands.get("left").is_none_or(Value::is_null), "{hands}");
}

#[test]
fn a_swim_of_a_set_that_rises_by_repeat_is_held_against_the_rate_of_its_own_repeat() {
    let folder = folder();
    let session = |by: &str| {
        let rate = format!("rate = {{ from = \"58 spm\", to = \"62 spm\", by = \"{by}\" }}");
        let set = format!("[[set]]\nrepeats = 3\nswim = \"45 s\"\n{rate}\narm_cue = \"entry\"\n");
        write(folder.path(), "rising.toml", set);
    };
    let film = ["--session", "./rising.toml", "--sync", "10.1"];
    // Swum at 60 spm, as the second repeat is cued; a hand goes in at 10 s.
    session("repeat");
    let json = timing(folder.path(), &even(12, 2.0, &BOTH), &film);
    let hand = &json["behind_sound"]["hand_ms"]["left"];
    for told in ["value", "lo", "hi"] {
        near(&hand[told], -100.0, 0.01);
    }
    // Within a swim no cycle is as long as another.
    session("time");
    write(folder.path(), "marks.csv", even(12, 2.0, &BOTH));
    let message = refused(
        folder.path(),
        &[&["timing", "marks.csv"], &film[..]].concat(),
        2,
    );
    assert!(
        message.contains("rising.toml: no swim of this session has arm cues at one rate"),
        "{message}"
    );
}

#[test]
fn a_film_of_a_rate_that_rises_within_the_swim_is_held_against_each_of_its_cues() {
    let folder = folder();
    let here = folder.path();
    let rate = "rate = { from = \"50 spm\", to = \"66 spm\", by = \"time\" }";
    let set = format!("[[set]]\nswim = \"45 s\"\n{rate}\narm_cue = \"entry\"\n");
    write(here, "rising.toml", set);
    // A film that begins 60 s into the track: hands 50 ms behind their cues, feet 80 ms.
    let mut marks = String::from("time,event,sync,track_s_at_film_0\n");
    for row in ok(here, &["show", "./rising.toml", "--events"])
        .lines()
        .skip(1)
    {
        let cells: Vec<&str> = row.split(',').collect();
        let time_s: f64 = cells[1].parse().expect("a time");
        let (moment, late_s) = match cells[2] {
            "arm" => ("entry", 0.05),
            "kick" => ("kick", 0.08),
            _ => continue,
        };
        let film_s = time_s - 60.0 + late_s;
        writeln!(marks, "{film_s:.6},{}_{moment},locked,60", cells[3]).expect("a string");
    }
    write(here, "rising.csv", marks);
    let words = ["timing", "rising.csv", "--session", "./rising.toml"];
    let json: Value =
        serde_json::from_str(&ok(here, &[&words[..], &["--json"]].concat())).expect("JSON");
    let behind = &json["behind_sound"];
    assert_eq!(behind["follows"], true, "{json}");
    for side in ["left", "right"] {
        near(&behind["hand_ms"][side]["value"], 50.0, 0.1);
        near(&behind["foot_ms"][side]["value"], 80.0, 0.1);
    }
    let came = &json["came"];
    assert_eq!(came["kept"]["kept"], "yes", "{came}");
    near(&came["hands"]["with_sound"]["scatter_ms"], 0.0, 0.1);
    near(
        &came["feet"]["with_sound"]["side_ms"]["right"]["value"],
        80.0,
        0.1,
    );
    let told = ok(here, &words).replace('\n', " ");
    assert!(told.contains("50 spm to 66 spm"), "{told}");
    assert!(told.contains("left +80 ms, right +80 ms"), "{told}");
}

#[test]
fn a_swim_that_does_not_follow_the_cues_gets_no_lead_to_try() {
    let folder = folder();
    let session = "[[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\npairing = \"same-side\"\n";
    write(folder.path(), "cued.toml", session);
    // Cues every 2 s, and hands that go their own way: 2.17 s round. Twelve cycles drift right
    // round the cue.
    let film = ["--session", "./cued.toml", "--sync", "10.5"];
    let json = timing(folder.path(), &even(12, 2.17, &BOTH), &film);
    assert_eq!(json["behind_sound"]["follows"], false);
    assert!(json["behind_sound"].get("lead_ms").is_none(), "{json}");
    let text = ok(
        folder.path(),
        &[&["timing", "marks.csv"], &film[..]].concat(),
    );
    let words: Vec<&str> = text.split_whitespace().collect();
    assert!(words.join(" ").contains("so no lead is advised"), "{text}");
}

#[test]
fn bad_marks_are_refused_by_place() {
    let folder = folder();
    for (text, words) in [
        (
            "time,event\n1,left_entry\n1,left_entry\n1,left_kick\n",
            "at one time",
        ),
        ("time,event\n1,left_kick\n2,left_kick\n", "no cycle"),
        ("time,event\n1,left_entry\nNaN,left_entry\n", "marks.csv:3"),
        ("time,event\n-1,left_entry\n", "marks.csv:2"),
        (
            "time,event\n1,left_entrance\n",
            "did you mean \"left_entry\"",
        ),
        (
            "time,event\n1,left_entry\n0:03.0,left_entry\n",
            "line 2 has seconds",
        ),
        ("frame,event\n30,left_entry\n", "--fps"),
        ("", "empty"),
    ] {
        write(folder.path(), "marks.csv", text);
        let message = refused(folder.path(), &["timing", "marks.csv"], 2);
        assert!(message.contains(words), "{text}: {message}");
    }
    refused(folder.path(), &["timing", "nowhere.csv"], 2);
}

#[test]
fn odd_but_honest_marks_are_read() {
    let folder = folder();
    // Out of order, two cycles, decimal commas, semicolons, a byte-order mark, CRLF.
    let text = "\u{feff}time;event\r\n14,0;left_entry\r\n10,0;left_entry\r\n12,0;left_entry\r\n";
    let json = timing(folder.path(), text, &[]);
    near(&json["rate_spm"]["value"], 60.0, 1e-9);
    assert!(json["rate_spm"].get("lo").is_none(), "{json}");
    let notes = json["notes"].to_string();
    assert!(
        notes.contains("order of time") && notes.contains("commas"),
        "{notes}"
    );
    // Drop-frame code with its semicolon: ten minutes are 17 982 frames (SMPTE ST 12-1, from memory).
    let text =
        "time,event\n00:00:00;00,left_entry\n00:10:00;00,left_entry\n00:20:00;00,left_entry\n";
    let json = timing(folder.path(), text, &[]);
    near(
        &json["cycle_time_s"]["value"],
        17_982.0 * 1001.0 / 30_000.0,
        1e-6,
    );
}

#[test]
fn a_hundred_thousand_marks_are_counted_to_the_last() {
    // How long it takes stands in benches/commands.
    let json = timing(folder().path(), &even(12_500, 2.0, &BOTH), &[]);
    assert_eq!(json["rate_spm"]["n"], 12_499);
    near(&json["rate_spm"]["value"], 60.0, 1e-6);
    assert_eq!(json["kick_phase"]["left"]["n"], 12_500);
}
