//! Marks that know where their film lies in a session, and among which cues.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::film_sync::{TIMING, json, with_examples};
use crate::support::filmed::filmed_in_track;
use crate::support::{ok, refused, write};

/// The words of a command without their line breaks.
fn words(folder: &Path, command: &str) -> String {
    let told = ok(folder, &command.split(' ').collect::<Vec<_>>());
    told.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn error(folder: &Path, command: &str) -> String {
    refused(folder, &command.split(' ').collect::<Vec<_>>(), 2)
}

/// Rows with some columns more, alike on each.
fn with_columns(rows: &str, names: &str, fields: &str) -> String {
    let more = |(at, row)| format!("{row},{}\n", if at == 0 { names } else { fields });
    rows.lines().enumerate().map(more).collect()
}

/// What the program writes into the page for the example's film.
fn written_into_the_page(folder: &Path) -> Value {
    let make = "mark --film cued-film.ogg --session evening.toml --swimmer alex.toml --out -";
    let page = ok(folder, &make.split(' ').collect::<Vec<_>>());
    let begin = "id=\"cues\">";
    let (_, rest) = page.split_once(begin).expect("a place for the cues");
    let (cues, _) = rest.split_once("</script>").expect("its end");
    serde_json::from_str(cues).expect("JSON")
}

/// The example's marks as its page saves them.
fn saved_by_the_page(folder: &Path) -> String {
    let page = written_into_the_page(folder);
    let text = |key: &str| page["sync"][key].to_string();
    let end = |at: usize| page["sync"]["interval_ms"][at].to_string();
    let fields = [
        page["sync"]["answer"].as_str().expect("an answer"),
        &text("track_s_at_film_0"),
        &text("drift_ppm"),
        &end(0),
        &end(1),
        if page["sync"]["several_paths"] == true {
            "yes"
        } else {
            "no"
        },
        page["sync_cues"].as_str().expect("a fingerprint"),
    ];
    let marks = fs::read_to_string(folder.join("cued.csv")).expect("text");
    let names = "sync,track_s_at_film_0,drift_ppm,sync_low_ms,sync_high_ms,several_paths,sync_cues";
    with_columns(&marks, names, &fields.join(","))
}

#[test]
fn marks_that_know_where_their_film_lies_need_neither_film_nor_time() {
    let folder = with_examples();
    let found = json(folder.path(), TIMING, &["--film", "cued-film.ogg"]);
    let (sync, lags) = (&found["sync"], &found["behind_sound"]);
    let marks = std::fs::read_to_string(folder.path().join("cued.csv")).expect("text");
    let known = format!(
        ",cycles,{},{}\n",
        sync["track_s_at_film_0"], sync["drift_ppm"]
    );
    let with_place =
        marks
            .replace('\n', &known)
            .replacen(&known, ",sync,track_s_at_film_0,drift_ppm\n", 1);
    write(folder.path(), "cued.csv", &with_place);
    let told = json(folder.path(), TIMING, &[]);
    assert_eq!(told["sync"]["answer"], "cycles");
    for limb in ["hand_ms", "foot_ms"] {
        let of = |lags: &serde_json::Value| lags[limb]["left"]["value"].as_f64().expect("a lag");
        assert!(
            (of(&told["behind_sound"]) - of(lags)).abs() < 0.001,
            "{limb}: {told}"
        );
    }
    // How far off the place may be widens what is told of hands and feet, and the leads to try.
    let locked = with_place.replace(",cycles,", ",locked,");
    let columns = "sync,track_s_at_film_0,drift_ppm";
    let with_interval =
        (locked.replacen(columns, &format!("{columns},sync_low_ms,sync_high_ms"), 1))
            .lines()
            .enumerate()
            .map(|(at, line)| format!("{line}{}\n", if at == 0 { "" } else { ",-20,30" }))
            .collect::<String>();
    write(folder.path(), "cued.csv", locked);
    let told = json(folder.path(), TIMING, &[]);
    write(folder.path(), "cued.csv", with_interval);
    let wider = json(folder.path(), TIMING, &[]);
    for path in [
        "/behind_sound/hand_ms/left",
        "/behind_sound/foot_ms/left",
        "/came/hands/with_sound/lag_ms",
    ] {
        let end = |told: &serde_json::Value, end: &str| {
            let told = told.pointer(path).and_then(|lag| lag[end].as_f64());
            told.unwrap_or_else(|| panic!("{path} has {end}"))
        };
        for (which, by) in [("value", 0.0), ("lo", -30.0), ("hi", 20.0)] {
            let off = end(&wider, which) - end(&told, which) - by;
            assert!(off.abs() < 0.01, "{path} {which}: {off}");
        }
    }
    let lead = |told: &serde_json::Value, end: usize| {
        let ends = &told["behind_sound"]["lead_interval_ms"]["arm"];
        ends[end].as_i64().expect("a lead")
    };
    assert!(
        (lead(&told, 0) - lead(&wider, 0) - 30).abs() <= 1,
        "{wider}"
    );
    assert!(
        (lead(&wider, 1) - lead(&told, 1) - 20).abs() <= 1,
        "{wider}"
    );
    // A cue that was heard by ear is known with its arm: the right one's is half a cycle off, which is
    // no lag of a swimmer's.
    let by_ear = |arm: &str| {
        let marks = format!("{marks}4.20,{arm}_cue\n");
        write(folder.path(), "cued.csv", marks);
        json(folder.path(), TIMING, &[])
    };
    let (left, right) = (by_ear("left"), by_ear("right"));
    let hand_ms = left["behind_sound"]["hand_ms"]["left"]["value"].as_f64();
    assert!(hand_ms.is_some_and(|ms| ms.abs() < 300.0), "{left}");
    assert_eq!(left["doubts"], serde_json::json!([]));
    assert_eq!(right["doubts"][0]["kind"], "hands_crossed", "{right}");
    assert!(right.get("behind_sound").is_none() && right.get("came").is_none());
}

#[test]
fn marks_are_held_against_the_cues_among_which_they_have_their_place() {
    let folder = with_examples();
    let here = folder.path();
    let found = json(here, TIMING, &["--film", "cued-film.ogg"]);
    write(here, "cued.csv", saved_by_the_page(here));
    let told = json(here, TIMING, &[]);
    // The file has millionths.
    let as_found = |told: &Value| {
        for path in [
            "/hand_ms/left/value",
            "/hand_ms/left/lo",
            "/foot_ms/left/hi",
        ] {
            let [told, found] = [told, &found].map(|told| {
                let lag = told["behind_sound"].pointer(path).and_then(Value::as_f64);
                lag.unwrap_or_else(|| panic!("{path} has a number"))
            });
            assert!((told - found).abs() < 0.001, "{path}: {told}, {found}");
        }
    };
    as_found(&told);
    assert_eq!(told["notes"], found["notes"]);
    // Names, words, and all that moves no cue.
    let session = fs::read_to_string(here.join("evening.toml")).expect("text");
    let renamed = session.replace("Hold", "Stay").replace("Easy.", "Easily.");
    write(here, "evening.toml", renamed);
    as_found(&json(here, TIMING, &[]));
    write(here, "evening.toml", &session);
    let swimmer = fs::read_to_string(here.join("alex.toml")).expect("text");
    write(here, "faster.toml", swimmer.replace("54 spm", "56 spm"));
    write(
        here,
        "other.toml",
        session.replace("[defaults]", "[defaults]\npairing = \"opposite-side\""),
    );
    write(here, "faded.toml", session.replace("off = 4", "off = 5"));
    for (session, swimmer) in [
        ("evening.toml", "faster.toml"),
        ("other.toml", "alex.toml"),
        ("faded.toml", "alex.toml"),
        ("hold-the-rate", "alex.toml"),
    ] {
        let message = error(
            here,
            &format!("timing cued.csv --session {session} --swimmer {swimmer}"),
        );
        for due in [
            "error: cued.csv: sync_cues: found ".to_string(),
            format!("these are not the cues of {session}"),
            "accepted: session and swimmer's file as they were".into(),
            format!(
                "example: cuelane timing cued.csv --session {session} --swimmer {swimmer} --film clip.mp4"
            ),
        ] {
            assert!(message.contains(&due), "no {due:?} in {message}");
        }
    }
    // The film finds its place anew, whatever the marks say.
    as_found(&json(here, TIMING, &["--film", "cued-film.ogg"]));
}

#[test]
fn a_cue_heard_by_ear_is_one_of_the_page_s_session_as_well() {
    let folder = with_examples();
    let here = folder.path();
    let page = written_into_the_page(here);
    let cues = page["sync_cues"].as_str().expect("a fingerprint");
    let marks = fs::read_to_string(here.join("cued.csv")).expect("text");
    let marks = format!("{marks}4.20,left_cue\n");
    let note = |told: &Value| told["notes"].to_string().contains("cannot be told");
    write(here, "cued.csv", with_columns(&marks, "sync_cues", cues));
    assert!(!note(&json(here, TIMING, &[])));
    write(
        here,
        "cued.csv",
        with_columns(&marks, "sync_cues", "abcdefghijklmnop"),
    );
    let message = error(
        here,
        "timing cued.csv --session evening.toml --swimmer alex.toml",
    );
    assert!(
        message.contains("cued.csv: sync_cues: found abcdefghijklmnop"),
        "{message}"
    );
    // Marks of before say nothing, and are read.
    write(here, "cued.csv", marks);
    assert!(note(&json(here, TIMING, &[])));
}

/// A session with the swim of [`filmed_in_track`].
const SWUM: &str = "[[set]]\nname = \"Hold\"\nswim = \"60 s\"\nrate = \"60 spm\"\n\
                    pairing = \"same-side\"\ncatch_after_entry = 0.3\nright_entry = 0.5\n";

fn with_swim(marks: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "swum.toml", SWUM);
    write(folder.path(), "marks.csv", marks);
    folder
}

#[test]
fn marks_without_a_word_on_their_cues_are_read_and_it_is_said() {
    let folder = with_swim(&filmed_in_track("locked", |_| 0.02));
    let told = json(
        folder.path(),
        "timing marks.csv --session ./swum.toml --json",
        &[],
    );
    let notes = told["notes"].as_array().expect("notes");
    assert_eq!(notes.len(), 1, "{notes:?}");
    let note = notes[0].as_str().expect("words");
    assert!(
        note.contains("./swum.toml") && note.contains("cannot be told"),
        "{note}"
    );
}

#[test]
fn a_place_outside_every_cue_is_refused() {
    let marks = filmed_in_track("locked", |_| 0.02);
    // Before the lead-in's end, in it, and an hour after the last cue.
    for start in ["-5", "20", "3600"] {
        let folder = with_swim(&marks.replacen(",60", &format!(",{start}"), 1));
        let message = error(folder.path(), "timing marks.csv --session ./swum.toml");
        let due =
            format!("marks.csv: track_s_at_film_0: found {start}, and no arm cue of ./swum.toml");
        assert!(message.contains(&due), "{message}");
    }
}

#[test]
fn how_sure_the_place_is_stands_beside_what_hangs_on_it_with_marks_as_with_a_film() {
    let timing = "timing marks.csv --session ./swum.toml";
    let whole = filmed_in_track("locked", |_| 0.02);
    let at = |columns: &str, fields: &str| {
        // The place is on the first row.
        let (head, rest) = whole.split_once('\n').expect("a header");
        let (first, rest) = rest.split_once('\n').expect("a row");
        with_swim(&format!("{head},{columns}\n{first},{fields}\n{rest}"))
    };
    let columns = "drift_ppm,sync_low_ms,sync_high_ms,several_paths";
    let folder = at(columns, "-12,-0.1,0.1,no");
    let told = words(folder.path(), timing);
    for due in [
        "As the marks have it: The film most likely begins at 1:00 of the session, in swim 1 (set 1, \
         repeat 1).",
        "Cues lie within 0.1 ms of what is told. The clocks of track and film differ by 12 millionths.",
        "Against the cues of set 1 (Hold, 60 spm): hands",
    ] {
        assert!(told.contains(due), "no {due:?} in {told}");
    }
    let sync = json(folder.path(), timing, &["--json"])["sync"].clone();
    let due = serde_json::json!({
        "answer": "locked", "track_s_at_film_0": 60.0, "drift_ppm": -12.0, "interval_ms": [-0.1, 0.1],
        "several_paths": false, "places": [60.0],
    });
    assert_eq!(sync, due);
    let folder = at(columns, "-12,-21,0.5,yes");
    let told = words(folder.path(), timing);
    let due = "The sound came by several paths: a cue may be up to 21.0 ms earlier or 0.5 ms later than \
               told. Film in sight of the loudspeaker.";
    assert!(told.contains(due), "{told}");
    assert_eq!(
        json(folder.path(), timing, &["--json"])["sync"]["several_paths"],
        true
    );
    // Of several places the marks know one.
    let folder = with_swim(&filmed_in_track("cycles", |_| 0.02));
    let told = words(folder.path(), timing);
    let due = "As the marks have it: The cues are heard. The moment inside the cycle is known";
    assert!(told.contains(due), "{told}");
    let sync = json(folder.path(), timing, &["--json"])["sync"].clone();
    let due = serde_json::json!({"answer": "cycles", "track_s_at_film_0": 60.0, "drift_ppm": 0.0});
    assert_eq!(sync, due);
}

#[test]
fn an_interval_that_does_not_hold_the_place_is_refused() {
    let columns = "sync_low_ms,sync_high_ms";
    for (fields, due) in [
        ("5,1", "marks.csv:2: sync_low_ms: found \"5\""),
        ("-5,-1", "marks.csv:2: sync_high_ms: found \"-1\""),
    ] {
        let marks = with_columns(&filmed_in_track("locked", |_| 0.02), columns, fields);
        let marks = marks.replace(&format!(",,{fields}"), ",");
        let folder = with_swim(&marks);
        let message = error(folder.path(), "timing marks.csv --session ./swum.toml");
        assert!(message.contains(due), "{message}");
    }
}

#[test]
fn a_cue_heard_far_from_all_marks_is_refused() {
    let whole = filmed_in_track("", |_| 0.02).replacen(",60", ",", 1);
    let folder = with_swim(&whole);
    let message = error(
        folder.path(),
        "timing marks.csv --session ./swum.toml --sync 500",
    );
    let due = "--sync: found 500.00 s, and the marks lie from 3.00 s to 34.62 s of the film";
    assert!(message.contains(due), "{message}");
    assert!(
        words(
            folder.path(),
            "timing marks.csv --session ./swum.toml --sync 3.6"
        )
        .contains("hands 0 ms")
    );
    let folder = with_swim(&format!("{whole}500,left_cue,,\n"));
    let message = error(folder.path(), "timing marks.csv --session ./swum.toml");
    assert!(
        message.contains("marks.csv: left_cue: found 500.00 s"),
        "{message}"
    );
}

#[test]
fn a_set_that_is_assumed_is_not_told_as_known() {
    let whole = filmed_in_track("", |_| 0.02).replacen(",60", ",", 1);
    let timing = "timing marks.csv --session ./swum.toml --sync 3.6";
    let folder = with_swim(&whole);
    let told = words(folder.path(), timing);
    assert!(
        told.contains("set 1 (Hold, 60 spm), assumed by its rate: hands"),
        "{told}"
    );
    let faster = SWUM.replace("60 spm", "64 spm");
    write(
        folder.path(),
        "swum.toml",
        format!("{SWUM}{SWUM}{faster}{SWUM}"),
    );
    let due = "set 1 (Hold, 60 spm), assumed by its rate (sets 2 and 4 have the same): hands";
    let told = words(folder.path(), timing);
    assert!(told.contains(due), "{told}");
    write(
        folder.path(),
        "marks.csv",
        filmed_in_track("cycles", |_| 0.02),
    );
    let told = words(
        folder.path(),
        timing.split(" --sync").next().expect("words"),
    );
    assert!(told.contains(due), "{told}");
}
