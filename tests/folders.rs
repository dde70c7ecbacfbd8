//! Output folders that do not take what is written: the message says so and what to do, exit 1,
//! and nothing half-written is left.

use std::fs;
use std::path::Path;
use std::process::{Child, Stdio};

use crate::support::message::Message;
use crate::support::system::{self, SmallDisk, ended, names, signal, wait_until};
use crate::support::{cuelane, ok, refused, write};
use tempfile::{TempDir, tempdir};

/// 18 s: 3.2 MB in stereo.
const SHORT: &str =
    "lead_in = \"5 s\"\n[[set]]\nname = \"One\"\nswim = \"10 s\"\nrate = \"60 spm\"\n";
const TRACK: &str = "01-one-10s.wav";

fn folder() -> TempDir {
    let folder = tempdir().expect("a temporary folder");
    write(folder.path(), "short.toml", SHORT);
    folder
}

/// A session of 20 repeats, 11 MB each in mono at 16 bits: long enough to be disturbed.
fn long() -> String {
    SHORT.replace("10 s", "2:00") + "repeats = 20\nrest = \"5 s\"\n"
}

/// The export must fail with exit 1; its message starts with `place`, says what was `found`, what
/// is accepted, and gives an example.
fn check(folder: &Path, args: &[&str], place: &str, found: &str) -> Message {
    let args = [&["export", "short.toml", "--quiet"], args].concat();
    let message = Message::read(&refused(folder, &args, 1));
    explained(&message, place, found);
    message
}

fn explained(message: &Message, place: &str, found: &str) {
    assert!(
        message.first.starts_with(&format!("{place}: ")),
        "{message:?}"
    );
    assert!(message.first.contains(found), "{message:?}");
    assert!(!message.accepted.is_empty(), "{message:?}");
    assert!(message.example.starts_with("--"), "{message:?}");
}

fn start_export(folder: &Path, args: &[&str]) -> Child {
    cuelane(folder)
        .args(["export", "long.toml", "--channels", "mono", "--quiet"])
        .args(args)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

#[test]
fn an_output_folder_that_is_a_file_is_refused() {
    let folder = folder();
    let here = folder.path();
    write(here, "tracks", "not a folder");
    check(here, &["--out", "tracks"], "tracks", "this is a file");
    check(
        here,
        &["--out", "tracks/of/mine"],
        "tracks/of/mine",
        "Not a directory",
    );
    assert_eq!(
        fs::read(here.join("tracks")).expect("it is there"),
        b"not a folder"
    );
}

/// A name on disk is bytes; it is shown as well as it can be, and used as it is.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_whose_name_is_no_utf8_takes_tracks() {
    use std::os::unix::ffi::OsStrExt;
    let folder = folder();
    let name = std::ffi::OsStr::from_bytes(b"tr\xe4cks");
    let run = |command: &str, args: &[&std::ffi::OsStr]| {
        let mut program = cuelane(folder.path());
        let output = program.arg(command).args(args).output();
        let output = output.expect("the program starts");
        let message = String::from_utf8(output.stderr).expect("messages are UTF-8");
        (output.status.code(), message)
    };
    let [short, out, quiet] = ["short.toml", "--out", "--quiet"].map(std::ffi::OsStr::new);
    let done = (Some(0), String::new());
    assert_eq!(run("export", &[short, out, name, quiet]), done);
    assert_eq!(names(&folder.path().join(name)), [TRACK, "contents.txt"]);
    assert_eq!(run("check", &[name, short]), done);
}

#[test]
fn tracks_that_are_there_stay_without_force() {
    let folder = folder();
    let here = folder.path();
    let args = ["export", "short.toml", "--out", "tracks", "--quiet"];
    ok(here, &args);
    let exported = fs::read(here.join("tracks").join(TRACK)).expect("a track");
    for there in [TRACK, "contents.txt"] {
        let out = tempdir().expect("a temporary folder");
        write(out.path(), there, "mine");
        let out = out.path().display().to_string();
        let place = format!("{out}/{there}");
        let message = check(here, &["--out", &out], &place, "is there already");
        assert!(message.accepted.contains("--force"), "{message:?}");
        assert_eq!(fs::read(&place).expect("it is there"), b"mine");
        assert_eq!(names(Path::new(&out)), [there]);
        ok(
            here,
            &["export", "short.toml", "--out", &out, "--force", "--quiet"],
        );
        let track = Path::new(&out).join(TRACK);
        assert_eq!(fs::read(track).expect("a track"), exported);
    }
}

/// The first is held up while its only track is half written; the second, of the same names, would
/// be done before it goes on.
#[cfg(unix)]
#[test]
fn a_second_export_into_a_folder_is_refused_until_the_first_has_ended() {
    let folder = folder();
    let here = folder.path();
    write(here, "long.toml", long());
    write(here, "other.toml", long().replace("60 spm", "70 spm"));
    let mut first = start_export(here, &["--out", "tracks"]);
    let tracks = here.join("tracks");
    let grows = |entry: fs::DirEntry| entry.metadata().is_ok_and(|about| about.len() > 0);
    wait_until(&mut first, || {
        let mut entries = fs::read_dir(&tracks).ok()?.flatten();
        entries.any(grows).then_some(())
    });
    signal(&first, "STOP");
    let other = ["export", "other.toml", "--quiet", "--channels", "mono"];
    std::os::unix::fs::symlink(&tracks, here.join("by-another-name")).expect("our own folder");
    for out in ["tracks", "by-another-name"] {
        for more in [&["--out", out][..], &["--out", out, "--force"]] {
            let refused = refused(here, &[&other[..], more].concat(), 1);
            let message = Message::read(&refused);
            explained(&message, out, "another export is writing into this folder");
            assert!(message.accepted.contains("another folder"), "{message:?}");
        }
    }
    ok(
        here,
        &["export", "short.toml", "--quiet", "--out", "elsewhere"],
    );
    signal(&first, "CONT");
    assert_eq!(ended(first), (Some(0), String::new()));
    assert_eq!(
        names(&tracks),
        ["01-one-20x2min.wav", "contents.txt"],
        "no lock is left among the tracks"
    );
    ok(here, &["check", "tracks", "long.toml"]);
    let sheet = fs::read_to_string(tracks.join("contents.txt"));
    assert!(sheet.is_ok_and(|sheet| sheet.contains("60 spm")));
    let short = ["export", "short.toml", "--quiet", "--force"];
    ok(here, &[&short[..], &["--out", "tracks"]].concat());
}

#[test]
fn a_folder_where_a_track_should_be_is_named() {
    let folder = folder();
    let here = folder.path();
    fs::create_dir_all(here.join("tracks").join(TRACK)).expect("a folder");
    let place = format!("tracks/{TRACK}");
    check(here, &["--out", "tracks"], &place, "is there already");
    check(here, &["--out", "tracks", "--force"], &place, "directory");
    assert_eq!(
        names(&here.join("tracks")),
        [TRACK],
        "nothing half-written is left"
    );
}

/// A file is put in the place of what has its name: not in that of a pipe or a device.
#[cfg(unix)]
#[test]
fn a_pipe_is_not_replaced_by_what_is_written() {
    use std::os::unix::fs::FileTypeExt;
    let folder = folder();
    let here = folder.path();
    let made = std::process::Command::new("mkfifo")
        .arg(here.join("pipe"))
        .status();
    assert!(made.expect("mkfifo is there").success());
    write(
        here,
        "steps.csv",
        "rate_spm,speed_m_s\n50,1.02\n54,1.06\n58,1.08\n62,1.07\n",
    );
    for line in [
        "show short.toml --svg pipe --force",
        "steps steps.csv --chart pipe",
        "swimmer new pipe --name Alex --force",
    ] {
        let args: Vec<&str> = line.split(' ').collect();
        let said = refused(here, &args, 1);
        assert!(
            said.contains("pipe: cannot be written: it is a pipe"),
            "{line}: {said}"
        );
        let about = fs::symlink_metadata(here.join("pipe")).expect("it is there");
        assert!(about.file_type().is_fifo(), "{line}");
    }
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_is_named() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    let here = folder.path();
    let closed = here.join("closed");
    fs::create_dir(&closed).expect("a folder");
    for (mode, out, found) in [
        (0o555, "closed", "cannot be written: Permission denied"),
        (0o555, "closed/tracks", "cannot be made: Permission denied"),
        (0o333, "closed", "cannot be read: Permission denied"),
        (0o000, "closed/tracks", "Permission denied"),
    ] {
        let mut nobody = system::unprivileged(here);
        let set = fs::set_permissions(&closed, fs::Permissions::from_mode(mode));
        set.expect("the folder is ours");
        nobody.args(["export", "short.toml", "--quiet", "--out", out]);
        let output = nobody.output().expect("the program starts");
        let stderr = String::from_utf8(output.stderr).expect("messages are UTF-8");
        assert_eq!(output.status.code(), Some(1), "{mode:o} {out}: {stderr}");
        let message = Message::read(&stderr);
        let place = if found.contains("written") {
            format!("{out}/{TRACK}")
        } else {
            out.to_string()
        };
        explained(&message, &place, found);
        let open = fs::set_permissions(&closed, fs::Permissions::from_mode(0o755));
        open.expect("the folder is ours");
        assert!(names(&closed).is_empty(), "{mode:o} {out}");
    }
}

/// The limit on a file's size stands for a disk that refuses in the middle, on any system.
#[cfg(unix)]
#[test]
fn a_disk_that_refuses_in_the_middle_leaves_nothing_half_written() {
    let folder = folder();
    let export = format!(
        "trap '' XFSZ; ulimit -f 1000; exec '{}' export short.toml --out tracks --quiet",
        env!("CARGO_BIN_EXE_cuelane")
    );
    let child = std::process::Command::new("sh")
        .args(["-c", &export])
        .current_dir(folder.path())
        .stderr(Stdio::piped())
        .spawn()
        .expect("sh starts");
    let (code, stderr) = ended(child);
    assert_eq!(code, Some(1), "{stderr}");
    let place = format!("tracks/{TRACK}");
    explained(&Message::read(&stderr), &place, "too large");
    assert_eq!(
        names(folder.path()),
        ["short.toml"],
        "the folder made for it is gone"
    );
}

#[cfg(target_os = "linux")]
#[test]
#[ignore = "mounts a disk: make test runs it where that may be done"]
fn a_disk_too_small_is_refused_before_the_first_byte() {
    let folder = folder();
    let disk = SmallDisk::mount(&folder.path().join("disk"), "size=1m");
    let message = check(folder.path(), &["--out", "disk"], "disk", "3.2 MB");
    assert!(message.first.contains("1.0 MB free"), "{message:?}");
    assert!(message.accepted.contains("a disk with room"), "{message:?}");
    assert!(names(&disk.path).is_empty());
}

/// Another program takes the room that was there when the export began.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "mounts a disk: make test runs it where that may be done"]
fn a_disk_that_fills_up_is_said_and_cleaned_up() {
    let folder = folder();
    let here = folder.path();
    write(here, "long.toml", long());
    let disk = SmallDisk::mount(&here.join("disk"), "size=300m");
    let mut child = start_export(here, &["--out", "disk", "--files", "per-repeat"]);
    let first = disk.path.join("01-one-r01-2min.wav");
    wait_until(&mut child, || first.exists().then_some(()));
    signal(&child, "STOP");
    let ballast = vec![0_u8; 1 << 20];
    let mut file = fs::File::create(disk.path.join("ballast")).expect("there is room yet");
    while std::io::Write::write_all(&mut file, &ballast).is_ok() {}
    signal(&child, "CONT");
    let (code, stderr) = ended(child);
    assert_eq!(code, Some(1), "{stderr}");
    let message = Message::read(&stderr);
    let place = message.first.split(": ").next().expect("a first part");
    let (before, after) = place.split_once("01-one-r").expect("a track's name");
    assert!(before == "disk/" && after.ends_with("-2min.wav"), "{place}");
    explained(&message, place, "the disk is full: this file needs 11.0 MB");
    let left = names(&disk.path);
    let tracks = left.iter().filter(|name| name.ends_with(".wav")).count();
    assert_eq!(left.len(), tracks + 1, "tracks and the ballast: {left:?}");
    let kept = match tracks {
        1 => "1 track is finished and stays".to_string(),
        n => format!("{n} tracks are finished and stay"),
    };
    assert!(message.first.contains(&kept), "{message:?}");
    fs::remove_file(disk.path.join("ballast")).expect("it is ours");
    for name in left.iter().filter(|name| name.ends_with(".wav")) {
        let track = format!("disk/{name}");
        ok(
            here,
            &["check", &track, "long.toml", "--files", "per-repeat"],
        );
    }
}

/// A disk may have room for bytes and none for another file.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "mounts a disk: make test runs it where that may be done"]
fn a_disk_without_room_for_another_file_keeps_the_tracks_before() {
    let folder = folder();
    let here = folder.path();
    write(here, "short.toml", SHORT.to_string() + "repeats = 3\n");
    // One for the disk's own folder, one for each of two tracks.
    let disk = SmallDisk::mount(&here.join("disk"), "size=20m,nr_inodes=3");
    let args = ["--out", "disk", "--files", "per-repeat"];
    let message = check(here, &args, "disk/01-one-r3-10s.wav", "the disk is full");
    assert!(
        message.first.contains("2 tracks are finished and stay"),
        "{message:?}"
    );
    assert_eq!(
        names(&disk.path),
        ["01-one-r1-10s.wav", "01-one-r2-10s.wav"]
    );
}

/// What stood in a folder that is gone does not stay; the message may not say so.
#[cfg(unix)]
#[test]
fn a_folder_that_vanishes_is_said() {
    for division in ["one", "per-repeat"] {
        let folder = folder();
        let here = folder.path();
        write(here, "long.toml", long().replace("One", "Two"));
        let mut child = start_export(here, &["--out", "tracks", "--files", division]);
        let tracks = here.join("tracks");
        wait_until(&mut child, || {
            let names = fs::read_dir(&tracks).ok()?.flatten();
            let started = |entry: fs::DirEntry| match division {
                "one" => entry
                    .metadata()
                    .ok()
                    .filter(|about| about.len() > 0)
                    .map(drop),
                _ => entry.file_name().to_str()?.ends_with(".wav").then_some(()),
            };
            names.filter_map(started).next()
        });
        signal(&child, "STOP");
        fs::remove_dir_all(&tracks).expect("the folder is ours");
        signal(&child, "CONT");
        let (code, stderr) = ended(child);
        assert_eq!(code, Some(1), "{stderr}");
        let message = Message::read(&stderr);
        assert!(message.first.starts_with("tracks/"), "{message:?}");
        assert!(message.first.contains("cannot be written"), "{message:?}");
        assert!(
            message.accepted.contains("a folder that exists"),
            "{message:?}"
        );
        assert!(!message.first.contains("and stay"), "{message:?}");
        assert!(!tracks.exists());
    }
}
