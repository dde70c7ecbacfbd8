//! What a track says, and how loud it is: rows, places, levels, speech programs; ffmpeg as the ear.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

#[cfg(unix)]
use crate::support::system::copy_program;
use crate::support::{ok, refused, run, write};
use cuelane::files::{PRESETS, SWIMMERS, parse_session, phrases};
use cuelane::model::phrases::slug;
use cuelane::timeline::sentences;
use serde_json::Value;
use tempfile::tempdir;

const SESSION: &str = "title = \"Evening\"\nlead_in = \"60 s\"\n\
    [defaults]\nrate = \"54 spm\"\npace = \"2:05 / 100 m\"\nrest = \"30 s\"\n\
    [[set]]\nname = \"Settle\"\nrepeats = 3\nswim = \"25 m\"\n\
    [[set]]\nname = \"Odd name\"\nswim = \"25 m\"\nsay = \"Easy now. Finish the kick.\"\n";

/// What is said, by `show --json`.
fn says(folder: &Path, more: &[&str]) -> Vec<Value> {
    let shown = ok(
        folder,
        &[&["show", "evening.toml", "--json"], more].concat(),
    );
    let shown: Value = serde_json::from_str(&shown).unwrap();
    shown["says"].as_array().unwrap().clone()
}

/// Integrated loudness (LUFS) and true peak (dBTP) of a stretch of a file, by ffmpeg's ebur128, to
/// a thousandth: what it says of each 100 ms is read, not its summary of tenths.
fn ffmpeg(file: &Path, from_s: f64, to_s: f64) -> (f64, f64) {
    let told = "ebur128=peak=true:metadata=1,ametadata=print:file=-";
    let filter = format!("atrim={from_s}:{to_s},{told}");
    let output = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(file)
        .args(["-af", &filter, "-f", "null", "-"])
        .output()
        .expect("ffmpeg is there: .ci/setup test installs it");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let last = |name: &str| {
        let line = text.lines().rev().find_map(|line| line.strip_prefix(name));
        line.expect("a value").parse::<f64>().unwrap()
    };
    let peak = last("lavfi.r128.true_peak=");
    (last("lavfi.r128.I="), 20.0 * peak.log10())
}

#[test]
fn show_tells_what_will_be_said_and_when() {
    let folder = tempdir().unwrap();
    write(folder.path(), "evening.toml", SESSION);
    let said = says(folder.path(), &[]);
    let texts: Vec<&str> = said
        .iter()
        .map(|say| say["text"].as_str().unwrap())
        .collect();
    assert_eq!(texts.len(), 5, "{texts:#?}");
    assert!(texts[0].starts_with("left, right, a hand"), "{}", texts[0]);
    assert!(texts[1].starts_with("Settle, three times twenty-five metres, rate fifty-four"));
    assert_eq!(texts[2], "two to go, late? rest, take the next one");
    assert_eq!(texts[3], "the last one");
    // No clip has that name and no program is there to speak it.
    assert!(
        texts[4].starts_with("set two, twenty-five metres"),
        "{}",
        texts[4]
    );
    let events = ok(folder.path(), &["show", "evening.toml", "--events"]);
    let rows: Vec<&str> = events.lines().filter(|row| row.contains(",say,")).collect();
    assert_eq!(rows.len(), 5);
    for (row, say) in rows.iter().zip(&said) {
        let cells: Vec<&str> = row.split(',').collect();
        let at_s = say["at_s"].as_f64().unwrap();
        let frame: f64 = cells[0].parse().unwrap();
        assert!((frame - at_s * 44_100.0).abs() <= 0.5, "{row}");
        assert_eq!((cells[3], cells[6], cells[7]), ("both", "", ""));
    }
    let shown = ok(folder.path(), &["show", "evening.toml"]);
    let missing =
        "own words are left out, as nothing here speaks them: \"Easy now.\" \"Finish the kick.\"";
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(shown.matches(missing).count(), 1, "{shown}");
}

#[test]
fn every_word_of_every_preset_is_said_to_both_invented_swimmers_without_a_speech_program() {
    let folder = tempdir().unwrap();
    for preset in PRESETS {
        for swimmer in SWIMMERS {
            let asked = ["show", preset.name, "--swimmer", swimmer.name, "--json"];
            let shown: Value = serde_json::from_str(&ok(folder.path(), &asked)).unwrap();
            let about = format!("{} for {}", preset.name, swimmer.name);
            assert_eq!(shown["speech_notes"], serde_json::json!([]), "{about}");
            let session = parse_session(preset.name, preset.text).unwrap();
            for (set, wishes) in session.sets.iter().enumerate() {
                let say = &wishes.value.say.as_ref().expect("a preset speaks").value;
                let says = shown["says"].as_array().unwrap().iter();
                let mut before = says.filter(|say| say["set"] == set + 1 && say["repeat"] == 1);
                let said = before.next_back().unwrap()["text"].as_str().unwrap();
                let sentences = sentences(say).0;
                assert!(said.contains(&sentences.join(" ")), "{about}: {said}");
            }
        }
    }
}

#[test]
fn every_word_of_table_and_presets_is_a_clip_spoken_as_written() {
    let sounds = Path::new(env!("CARGO_MANIFEST_DIR")).join("sounds/en");
    let mut rows = csv::Reader::from_path(sounds.join("clips.csv")).unwrap();
    let spoken: BTreeMap<String, String> = (rows.records().map(Result::unwrap))
        .map(|row| (row[0].to_string(), row[1].to_string()))
        .collect();
    let phrases = phrases::shipped();
    let mut wanted: BTreeSet<&str> = phrases.clips().into_iter().collect();
    let sessions = PRESETS.iter();
    let sessions: Vec<_> = sessions
        .map(|one| parse_session(one.name, one.text).unwrap())
        .collect();
    for set in sessions.iter().flat_map(|session| &session.sets) {
        wanted.extend(set.value.name.as_ref().map(|name| name.value.as_str()));
        wanted.extend(sentences(&set.value.say.as_ref().unwrap().value).0);
    }
    assert!(wanted.len() > 150, "{}", wanted.len());
    // A phrase and a sentence may be one clip: a capital and a full stop are not heard.
    let heard = |words: &str| words.to_lowercase().trim_end_matches('.').to_string();
    for words in &wanted {
        let clip = slug(words);
        let spoken = spoken.get(&clip).map(|spoken| heard(spoken));
        assert_eq!(spoken, Some(heard(words)), "make-clips.py speaks it");
        assert!(sounds.join(format!("{clip}.ogg")).is_file(), "{clip}");
    }
    let wanted: BTreeSet<String> = wanted.into_iter().map(slug).collect();
    let clips = std::fs::read_dir(&sounds).unwrap().flatten();
    let clips = clips.filter(|file| file.path().extension().is_some_and(|ogg| ogg == "ogg"));
    assert_eq!(clips.count(), wanted.len(), "and no clip that nothing says");
}

#[test]
fn without_speech_the_track_is_the_plain_one() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    assert!(says(here, &["--speech", "off"]).is_empty());
    let events = ok(here, &["show", "evening.toml", "--events"]);
    let plain = ok(
        here,
        &["show", "evening.toml", "--events", "--speech", "off"],
    );
    let cues: Vec<&str> = events
        .lines()
        .filter(|row| !row.contains(",say,"))
        .collect();
    assert_eq!(cues, plain.lines().collect::<Vec<_>>());
    let export = [
        "export",
        "evening.toml",
        "--quiet",
        "--files",
        "one",
        "--out",
    ];
    ok(here, &[&export[..], &["plain", "--speech", "off"]].concat());
    ok(here, &[&export[..], &["spoken"]].concat());
    let [plain, spoken] = ["plain", "spoken"].map(|name| {
        let mut file = hound::WavReader::open(here.join(name).join("evening.wav")).unwrap();
        file.samples::<i16>()
            .map(Result::unwrap)
            .collect::<Vec<i16>>()
    });
    // They differ where something is said, and nowhere else.
    let said: Vec<(usize, usize)> = (says(here, &[]).iter())
        .map(|say| {
            let at = say["at_s"].as_f64().unwrap();
            let end = at + say["length_s"].as_f64().unwrap();
            (
                (at * 88_200.0) as usize - 2,
                (end * 88_200.0) as usize + 200,
            )
        })
        .collect();
    let mut differ = 0;
    for (at, (plain, spoken)) in plain.iter().zip(&spoken).enumerate() {
        if plain != spoken {
            differ += 1;
            let inside = said.iter().any(|(from, to)| (*from..*to).contains(&at));
            assert!(inside, "sample {at} differs");
        }
    }
    assert_eq!(plain.len(), spoken.len());
    assert!(differ > 1_000_000, "{differ} samples of speech");
    // Each holds for a check that expects the other.
    ok(here, &["check", "plain", "evening.toml"]);
    ok(here, &["check", "spoken", "evening.toml"]);
    ok(here, &["check", "plain", "evening.toml", "--speech", "off"]);
}

#[test]
fn left_is_said_in_the_left_ear_and_files_join_to_the_whole() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    ok(
        here,
        &[
            "export",
            "evening.toml",
            "--quiet",
            "--files",
            "one",
            "--out",
            "one",
        ],
    );
    ok(
        here,
        &[
            "export",
            "evening.toml",
            "--quiet",
            "--files",
            "per-repeat",
            "--out",
            "many",
        ],
    );
    let samples = |path: &Path| {
        let mut file = hound::WavReader::open(path).unwrap();
        file.samples::<i16>()
            .map(Result::unwrap)
            .collect::<Vec<i16>>()
    };
    let whole = samples(&here.join("one/evening.wav"));
    let mut names: Vec<_> = std::fs::read_dir(here.join("many"))
        .unwrap()
        .flatten()
        .collect();
    names.retain(|entry| {
        entry
            .path()
            .extension()
            .is_some_and(|ending| ending == "wav")
    });
    names.sort_by_key(std::fs::DirEntry::path);
    let joined: Vec<i16> = names
        .iter()
        .flat_map(|entry| samples(&entry.path()))
        .collect();
    assert!(joined == whole, "the files joined are the one file");
    let at_s = says(here, &[])[0]["at_s"].as_f64().unwrap();
    let energy = |from_s: f64, to_s: f64, ear: usize| -> f64 {
        let frames = (from_s * 44_100.0) as usize..(to_s * 44_100.0) as usize;
        frames
            .map(|frame| f64::from(whole[2 * frame + ear]).powi(2))
            .sum()
    };
    // "left" lasts 0.39 s, and "right" begins half a second after it.
    assert!(energy(at_s, at_s + 0.35, 0) > 0.0);
    assert_eq!(energy(at_s, at_s + 0.35, 1), 0.0);
    assert!(energy(at_s + 0.95, at_s + 1.15, 1) > 0.0);
    assert_eq!(energy(at_s + 0.95, at_s + 1.15, 0), 0.0);
}

#[test]
fn loudness_and_true_peak_are_those_of_ffmpeg() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    for (more, speech) in [
        (&["--files", "one"][..], true),
        (
            &[
                "--files",
                "per-set",
                "--channels",
                "mono",
                "--speech",
                "off",
            ],
            false,
        ),
        (
            &[
                "--files",
                "one",
                "--channels",
                "right",
                "--sample-rate",
                "48000",
            ],
            true,
        ),
    ] {
        let export = [
            "export",
            "evening.toml",
            "--json",
            "--force",
            "--out",
            "tracks",
        ];
        let told = ok(here, &[&export[..], more].concat());
        let told: Value = serde_json::from_str(&told).unwrap();
        assert_eq!(told["speech"], speech);
        for file in told["files"].as_array().unwrap() {
            let path = here.join("tracks").join(file["name"].as_str().unwrap());
            let (lufs, dbtp) = ffmpeg(&path, 0.0, 1e6);
            let ours = |key: &str| file[key].as_f64().unwrap();
            assert!(
                (ours("loudness_lufs") - lufs).abs() <= 0.05,
                "{file}, ffmpeg {lufs}"
            );
            assert!(
                (ours("true_peak_dbtp") - dbtp).abs() <= 0.05,
                "{file}, ffmpeg {dbtp}"
            );
            assert!(ours("true_peak_dbtp") <= -1.0, "{file}");
        }
    }
    let told = ok(
        here,
        &[
            "export",
            "evening.toml",
            "--json",
            "--force",
            "--out",
            "tracks",
            "--no-loudness",
        ],
    );
    assert!(!told.contains("loudness_lufs"), "{told}");
}

/// A program of a few lines, called as PROGRAM TEXT-FILE WAV-FILE.
#[cfg(unix)]
fn program(folder: &Path, name: &str, lines: &str) -> String {
    let text = write(folder, "program.txt", format!("#!/bin/sh\n{lines}\n"));
    copy_program(&text, &folder.join(name));
    format!("./{name}")
}

#[cfg(unix)]
#[test]
fn a_speech_program_speaks_what_no_clip_holds() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    let clip = Path::new(env!("CARGO_MANIFEST_DIR")).join("sounds/en/look-ahead.ogg");
    std::fs::copy(clip, here.join("clip.ogg")).unwrap();
    let speaks = program(
        here,
        "speaks",
        "/bin/cat \"$1\" >> heard.txt; /bin/cp clip.ogg \"$2\"",
    );
    let said = says(here, &["--speech", &speaks]);
    let text = said[4]["text"].as_str().unwrap();
    assert!(
        text.starts_with("Easy now. Finish the kick. twenty-five metres"),
        "{text}"
    );
    let heard = std::fs::read_to_string(here.join("heard.txt")).unwrap();
    let mut heard: Vec<&str> = heard.lines().collect();
    heard.sort_unstable();
    assert_eq!(heard, ["Easy now.", "Finish the kick."]);
    let export = [
        "export",
        "evening.toml",
        "--quiet",
        "--out",
        "tracks",
        "--speech",
        &speaks,
    ];
    ok(here, &export);
    ok(
        here,
        &["check", "tracks", "evening.toml", "--speech", &speaks],
    );
    // Where that program is not there, the words are others, and the cues still hold.
    ok(here, &["check", "tracks", "evening.toml"]);
}

#[cfg(unix)]
#[test]
fn a_speech_program_that_fails_or_hangs_is_named() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    for (name, lines, expected) in [
        ("fails", "exit 3", "failed (exit status: 3)"),
        ("silent", "exit 0", "wrote no sound"),
        ("text", "echo hello > \"$2\"", "wrote no sound"),
        ("empty", ": > \"$2\"", "wrote no sound"),
        ("hangs", "exec /bin/sleep 60", "took longer than 10 s"),
    ] {
        let path = program(here, name, lines);
        let message = refused(here, &["show", "evening.toml", "--speech", &path], 1);
        assert!(
            message.contains(expected) && message.contains(name),
            "{message}"
        );
    }
    let message = refused(here, &["show", "evening.toml", "--speech", "no-such"], 2);
    assert!(
        message.contains("no such program is installed"),
        "{message}"
    );
}

#[test]
fn words_that_cannot_be_spoken_are_left_out_and_said() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    for say in ["🏊🏊", "...", "日本", "-rf $(reboot) `x`"] {
        write(
            here,
            "evening.toml",
            SESSION.replace("Easy now. Finish the kick.", say),
        );
        let output = run(
            here,
            &[
                "export",
                "evening.toml",
                "--out",
                "out",
                "--force",
                "--no-loudness",
            ],
        );
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(
            output.status.success() && told.contains("own words are left out"),
            "{say}: {told}"
        );
        // What has no word in it no program speaks either.
        let is_words = say.chars().any(char::is_alphanumeric);
        assert_eq!(
            told.contains("install a program"),
            is_words,
            "{say}: {told}"
        );
    }
}
