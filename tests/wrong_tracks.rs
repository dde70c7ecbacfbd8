//! Tracks that are whole and wrong: `check` counts and names what differs, and ends with 1.

use std::path::Path;
use std::sync::LazyLock;

use crate::support::{ok, run, write};
use tempfile::{TempDir, tempdir};

/// One arm cue a second, each alone: no voice is longer than half a second.
const SESSION: &str = "lead_in = \"5 s\"\n\n[[set]]\nname = \"One\"\nrepeats = 2\nswim = \"20 s\"\n\
                       rest = \"10 s\"\nrate = \"60 spm\"\ncues = [\"arm\"]\n";
const TRACK: &str = "01-one-2x20s.wav";
const RATE_HZ: usize = 44_100;
/// Longer than any voice, shorter than the time between two cues.
const CUE_FRAMES: usize = RATE_HZ / 2;

/// A 16-bit stereo track as frames, behind a header of 44 bytes
/// (docs/sources.md, "Files and formats").
struct Track {
    header: Vec<u8>,
    frames: Vec<[i16; 2]>,
}

impl Track {
    fn read(bytes: &[u8]) -> Self {
        let (header, sound) = bytes.split_at(44);
        let sample = |bytes: &[u8]| i16::from_le_bytes([bytes[0], bytes[1]]);
        Self {
            header: header.to_vec(),
            frames: (sound.chunks_exact(4))
                .map(|frame| [sample(&frame[..2]), sample(&frame[2..])])
                .collect(),
        }
    }

    /// Writes the frames; the header must still tell their number.
    fn write(&self, path: &Path) {
        let mut bytes = self.header.clone();
        let size = self.frames.len() as u32 * 4;
        bytes[4..8].copy_from_slice(&(size + 36).to_le_bytes());
        bytes[40..44].copy_from_slice(&size.to_le_bytes());
        bytes.extend(
            self.frames
                .iter()
                .flatten()
                .flat_map(|sample| sample.to_le_bytes()),
        );
        std::fs::write(path, bytes).expect("the test's own folder can be written");
    }

    /// Takes the sound of one cue away.
    fn take(&mut self, at: usize) -> Vec<[i16; 2]> {
        let cue = self.frames[at..at + CUE_FRAMES].to_vec();
        assert!(
            cue.iter().flatten().any(|sample| *sample != 0),
            "a cue sounds at {at}"
        );
        self.frames[at..at + CUE_FRAMES].fill([0, 0]);
        cue
    }

    /// Puts a cue where it is silent.
    fn put(&mut self, at: usize, cue: &[[i16; 2]]) {
        let place = &mut self.frames[at..at + cue.len()];
        assert!(
            place.iter().flatten().all(|sample| *sample == 0),
            "silence at {at}"
        );
        place.copy_from_slice(cue);
    }
}

/// An exported track beside its session, and the frames of its arm cues.
struct Stage {
    folder: TempDir,
    track: Track,
    arms: Vec<usize>,
    events: u64,
}

/// What was exported, once for all tests: the track, and the rows of its events.
static EXPORTED: LazyLock<(Vec<u8>, String)> = LazyLock::new(|| {
    let folder = tempdir().expect("a temporary folder");
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    ok(here, &["export", "evening.toml", "--out", ".", "--quiet"]);
    let track = std::fs::read(here.join(TRACK)).expect("the track is there");
    (
        track,
        ok(
            here,
            &["show", "evening.toml", "--events", "--speech", "off"],
        ),
    )
});

impl Stage {
    fn new() -> Self {
        let folder = tempdir().expect("a temporary folder");
        write(folder.path(), "evening.toml", SESSION);
        let (track, events) = &*EXPORTED;
        write(folder.path(), TRACK, track);
        let arm = |row: &str| {
            let cells: Vec<&str> = row.split(',').collect();
            (cells[2] == "arm").then(|| cells[0].parse().expect("a frame"))
        };
        Self {
            track: Track::read(track),
            arms: events.lines().filter_map(arm).collect(),
            events: events.lines().count() as u64 - 1,
            folder,
        }
    }

    /// Writes the changed track and checks it: exit code, counts, and what is said.
    fn check(&self, code: i32, missing: u64, extra: u64, worst: u64) -> String {
        let here = self.folder.path();
        self.track.write(&here.join(TRACK));
        let said = checked(here, &[TRACK, "evening.toml"], code);
        let json = checked(here, &[TRACK, "evening.toml", "--json"], code);
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        let found = self.events - missing;
        for (key, value) in [
            ("cues_expected", self.events),
            ("cues_found", found),
            ("missing", missing),
            ("extra", extra),
            ("worst_error_frames", worst),
        ] {
            assert_eq!(json[key], value, "{key}: {said}");
        }
        assert_eq!(json["ok"], code == 0, "{said}");
        let counts = format!(
            "{} expected, {found} found, {missing} missing, {extra} extra; worst error {worst} frame",
            self.events
        );
        assert!(said.contains(&counts), "{said}");
        said
    }
}

/// Runs `check`, which must end with `code`, and gives what it printed.
fn checked(folder: &Path, args: &[&str], code: i32) -> String {
    let output = run(folder, &[&["check"], args].concat());
    let said = String::from_utf8([output.stdout, output.stderr].concat()).expect("UTF-8");
    assert_eq!(output.status.code(), Some(code), "{args:?}: {said}");
    said
}

#[test]
fn a_track_as_exported_holds() {
    let said = Stage::new().check(0, 0, 0, 0);
    assert!(said.starts_with("holds"), "{said}");
}

#[test]
fn a_muted_cue_is_missing_by_name() {
    let mut stage = Stage::new();
    // The first arm is the left; cue 4 of the second repeat is a left one too.
    let half = stage.arms.len() / 2;
    stage.track.take(stage.arms[half + 4]);
    let said = stage.check(1, 1, 0, 0);
    assert!(said.contains("missing: arm-left at "), "{said}");
    assert!(said.contains("set 1, repeat 2"), "{said}");
    let at_s = stage.arms[half + 4] as f64 / RATE_HZ as f64;
    let place = format!("at {at_s:.1} s of this file");
    assert!(said.contains(&place), "{said}");
}

#[test]
fn an_added_cue_is_extra_by_name() {
    let mut stage = Stage::new();
    let cue = stage.track.frames[stage.arms[3]..][..CUE_FRAMES].to_vec();
    // In the lead-in, where nothing sounds before the first count.
    stage.track.put(RATE_HZ, &cue);
    let said = stage.check(1, 0, 1, 0);
    assert!(
        said.contains("extra: arm-right at 1 s of this file"),
        "{said}"
    );
}

#[test]
fn a_cue_a_little_off_is_found_with_its_error() {
    for off in [-200_i64, -20, -2, 2, 20, 200] {
        let mut stage = Stage::new();
        let at = stage.arms[5];
        let cue = stage.track.take(at);
        stage
            .track
            .put(at.checked_add_signed(off as isize).expect("later"), &cue);
        let said = stage.check(1, 0, 0, off.unsigned_abs());
        assert!(said.starts_with("differs"), "{off}: {said}");
    }
}

/// 5 ms are 220 frames: beyond them a cue is not the one that was expected.
#[test]
fn a_cue_far_off_is_missing_there_and_extra_here() {
    for off in [-400_i64, 400] {
        let mut stage = Stage::new();
        let at = stage.arms[6];
        let cue = stage.track.take(at);
        stage
            .track
            .put(at.checked_add_signed(off as isize).expect("later"), &cue);
        let said = stage.check(1, 1, 1, 0);
        assert!(said.contains("missing: arm-left at "), "{off}: {said}");
        assert!(said.contains("extra: arm-left at "), "{off}: {said}");
    }
}

#[test]
fn a_cue_of_the_wrong_side_is_missing_and_extra() {
    let mut stage = Stage::new();
    let right = stage.track.frames[stage.arms[7]..][..CUE_FRAMES].to_vec();
    let at = stage.arms[6];
    stage.track.take(at);
    stage.track.put(at, &right);
    let said = stage.check(1, 1, 1, 0);
    assert!(said.contains("missing: arm-left at "), "{said}");
    assert!(said.contains("extra: arm-right at "), "{said}");
}

/// The whole track late by 10 frames: every cue is found, none is where it should be.
#[test]
fn a_track_that_is_late_throughout_is_found_late() {
    let mut stage = Stage::new();
    stage.track.frames.rotate_right(10);
    stage.check(1, 0, 0, 10);
}

#[test]
fn a_track_of_another_length_differs() {
    let mut stage = Stage::new();
    let frames = stage.track.frames.len();
    stage.track.frames.extend([[0, 0]; 100]);
    let said = stage.check(1, 0, 0, 0);
    assert!(
        said.contains(&format!("{} frames long, {frames} expected", frames + 100)),
        "{said}"
    );
    stage.track.frames.truncate(frames - 100);
    let said = stage.check(1, 0, 0, 0);
    assert!(
        said.contains(&format!("{} frames long, {frames} expected", frames - 100)),
        "{said}"
    );
}

#[test]
fn exchanged_ears_differ_unless_they_are_meant() {
    let mut stage = Stage::new();
    for frame in &mut stage.track.frames {
        frame.swap(0, 1);
    }
    let here = stage.folder.path();
    stage.track.write(&here.join(TRACK));
    let said = checked(here, &[TRACK, "evening.toml"], 1);
    let missing = format!(" {} missing", stage.arms.len());
    assert!(said.contains(&missing), "{said}");
    checked(here, &[TRACK, "evening.toml", "--swap"], 0);
    let export = [
        "export",
        "evening.toml",
        "--out",
        "swapped",
        "--quiet",
        "--swap",
    ];
    ok(here, &export);
    checked(here, &["swapped", "evening.toml"], 1);
    checked(here, &["swapped", "evening.toml", "--swap"], 0);
}

#[test]
fn the_track_of_another_session_differs() {
    let stage = Stage::new();
    let here = stage.folder.path();
    for (name, from, to) in [
        ("rate.toml", "60 spm", "61 spm"),
        ("arm.toml", "cues = ", "first_arm = \"right\"\ncues = "),
        ("cues.toml", "[\"arm\"]", "[\"kick\"]"),
        (
            "pairing.toml",
            "cues = ",
            "pairing = \"opposite-side\"\ncues = ",
        ),
        ("lead.toml", "cues = ", "lead = \"40 ms\"\ncues = "),
        ("rest.toml", "10 s", "11 s"),
    ] {
        write(here, name, SESSION.replace(from, to));
        let said = checked(here, &[TRACK, name], 1);
        assert!(said.starts_with("differs"), "{name}: {said}");
    }
}

#[test]
fn the_track_of_another_repeat_differs() {
    let folder = tempdir().expect("a temporary folder");
    let here = folder.path();
    let rate = "{ from = \"60 spm\", to = \"64 spm\", by = \"repeat\" }";
    write(here, "evening.toml", SESSION.replace("\"60 spm\"", rate));
    let export = ["export", "evening.toml", "--out", "tracks", "--quiet"];
    ok(here, &[&export[..], &["--files", "per-repeat"]].concat());
    checked(here, &["tracks", "evening.toml"], 0);
    let (one, two) = ("tracks/01-one-r1-20s.wav", "tracks/01-one-r2-20s.wav");
    std::fs::rename(here.join(one), here.join("spare")).expect("it is ours");
    let said = checked(here, &["tracks", "evening.toml"], 1);
    assert!(
        said.contains(&format!("{one}: the track is not in the folder")),
        "{said}"
    );
    std::fs::copy(here.join("spare"), here.join(two)).expect("it is ours");
    let said = checked(here, &[two, "evening.toml"], 1);
    assert!(said.starts_with("differs"), "{said}");
    let part = ["spare", "evening.toml", "--files", "per-repeat", "--part"];
    checked(here, &[&part[..], &["1"]].concat(), 0);
    checked(here, &[&part[..], &["2"]].concat(), 1);
}
