//! An export that is stopped: no half track under a real name, whatever stops it.
#![cfg(unix)]

use std::fs;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, SystemTime};

use crate::support::system::{ended, names, signal, wait_until};
use crate::support::{cuelane, ok, write};
use tempfile::{TempDir, tempdir};

/// 3 h in mono: 950 MB, were it written to the end. Its repeats are 4 min, 21 MB each.
const LONG: &str = "title = \"Long\"\nlead_in = \"5 s\"\n\n[[set]]\nname = \"Endless\"\n\
                    repeats = 40\nswim = \"4:00\"\nrest = \"30 s\"\nrate = \"54 spm\"\n";
/// 44 bytes of header; lead-in, swim, 1 s after the end signal at 44 100 mono frames of 16 bits.
const FIRST_BYTES: u64 = 44 + (5 + 240 + 1) * 44_100 * 2;
/// The same length, from the cut 1 s after an end signal to the next: rest and swim.
const NEXT_BYTES: u64 = 44 + (30 + 240) * 44_100 * 2;

fn folder() -> TempDir {
    let folder = tempdir().expect("a temporary folder");
    write(folder.path(), "long.toml", LONG);
    folder
}

fn start(folder: &Path, files: &str) -> Child {
    cuelane(folder)
        .args(["export", "long.toml", "--out", "tracks"])
        .args(["--channels", "mono", "--files", files])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

/// Waits until something is being written beside its place, that many tracks being finished.
fn wait_for(child: &mut Child, tracks: &Path, finished: usize) {
    wait_until(child, || {
        let entries: Vec<_> = fs::read_dir(tracks).ok()?.flatten().collect();
        let is_track = |entry: &&fs::DirEntry| {
            let name = entry.file_name();
            name.to_string_lossy().ends_with(".wav")
        };
        let (done, other): (Vec<_>, Vec<_>) = entries.iter().partition(is_track);
        let grows = |entry: &&fs::DirEntry| entry.metadata().is_ok_and(|about| about.len() > 0);
        (done.len() >= finished && other.iter().any(grows)).then_some(())
    });
}

/// Every track under a real name must be whole: its size, and `check`, which the others fail.
fn whole(folder: &Path, tracks: &[String]) {
    for (index, track) in tracks.iter().enumerate() {
        assert_eq!(track, &format!("01-endless-r{:02}-4min.wav", index + 1));
        let path = folder.join("tracks").join(track);
        let bytes = fs::metadata(path).expect("it is there").len();
        let expected = if index == 0 { FIRST_BYTES } else { NEXT_BYTES };
        assert_eq!(bytes, expected, "{track}");
        ok(folder, &["check", &format!("tracks/{track}"), "long.toml"]);
    }
}

#[test]
fn a_signal_stops_the_export_and_finished_tracks_stay() {
    for name in ["INT", "TERM", "HUP"] {
        let folder = folder();
        let tracks = folder.path().join("tracks");
        let mut child = start(folder.path(), "per-repeat");
        wait_for(&mut child, &tracks, 2);
        signal(&child, name);
        let (code, message) = ended(child);
        assert_eq!(code, Some(1), "{name}: {message}");
        let found = names(&tracks);
        assert!((2..40).contains(&found.len()), "{name}: {found:?}");
        let said = message.lines().last().expect("a message");
        let kept = format!("{} tracks are finished and stay", found.len());
        assert!(said.starts_with("error: "), "{name}: {message}");
        assert!(said.contains("stopped by a signal"), "{name}: {message}");
        assert!(said.contains(&kept), "{name}: {message}");
        whole(folder.path(), &found);
    }
}

#[test]
fn a_signal_before_the_first_track_leaves_nothing() {
    for name in ["INT", "TERM"] {
        let folder = folder();
        let mut child = start(folder.path(), "one");
        wait_for(&mut child, &folder.path().join("tracks"), 0);
        signal(&child, name);
        let (code, message) = ended(child);
        assert_eq!(code, Some(1), "{name}: {message}");
        assert!(message.contains("stopped by a signal"), "{name}: {message}");
        assert!(
            message.contains("no track was finished"),
            "{name}: {message}"
        );
        assert_eq!(
            names(folder.path()),
            ["long.toml"],
            "the folder made for it is gone"
        );
    }
}

/// A folder that was there before stays, with what was in it.
#[test]
fn a_signal_leaves_a_folder_as_it_was_found() {
    let folder = folder();
    let tracks = folder.path().join("tracks");
    fs::create_dir(&tracks).expect("a folder");
    write(&tracks, "other.txt", "mine");
    let mut child = start(folder.path(), "one");
    let unfinished = |name: &String| name.contains("unfinished");
    wait_until(&mut child, || {
        names(&tracks).iter().any(unfinished).then_some(())
    });
    signal(&child, "INT");
    let (code, message) = ended(child);
    assert_eq!(code, Some(1), "{message}");
    assert_eq!(names(&tracks), ["other.txt"]);
}

/// A killed program cleans nothing up, but no track is half there; a second export works, and
/// takes away what the first left, once that has lain idle.
#[test]
fn after_a_kill_no_half_track_stands_and_a_second_export_works() {
    for (files, finished) in [("one", 0), ("per-repeat", 1)] {
        let folder = folder();
        let tracks = folder.path().join("tracks");
        let mut child = start(folder.path(), files);
        wait_for(&mut child, &tracks, finished);
        signal(&child, "KILL");
        let (code, message) = ended(child);
        assert_eq!(code, None, "{message}");
        let (real, left): (Vec<String>, Vec<String>) =
            (names(&tracks).into_iter()).partition(|name| name.ends_with(".wav"));
        assert_eq!(left.len(), 1, "one unfinished file: {left:?}");
        assert!(left[0].starts_with('.'), "hidden: {left:?}");
        whole(folder.path(), &real);

        let unfinished = fs::File::options().write(true).open(tracks.join(&left[0]));
        let an_hour_ago = SystemTime::now() - Duration::from_secs(3600);
        let touched = unfinished.expect("it is ours").set_modified(an_hour_ago);
        touched.expect("it is ours");
        let short = LONG.replace("repeats = 40", "repeats = 2");
        write(folder.path(), "long.toml", short);
        let export = [
            "export",
            "long.toml",
            "--out",
            "tracks",
            "--channels",
            "mono",
        ];
        ok(
            folder.path(),
            &[&export[..], &["--files", files, "--force"]].concat(),
        );
        let expected: &[&str] = match files {
            "one" => &["contents.txt", "long.wav"],
            _ => &[
                "01-endless-r1-4min.wav",
                "01-endless-r2-4min.wav",
                "contents.txt",
            ],
        };
        let mut found = names(&tracks);
        // The session is shorter now, and its names have a digit less.
        found.retain(|name| !real.contains(name));
        assert_eq!(found, expected);
        ok(
            folder.path(),
            &["check", "tracks", "long.toml", "--files", files],
        );
    }
}
