//! Files that cannot be read, or are no text: refused by name, before anything is made of them.

use std::path::Path;

use crate::support::message::Message;
use crate::support::system::{self, names};
use crate::support::{ok, refused, run, write};
use tempfile::{TempDir, tempdir};

const SESSION: &str = "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n";

fn folder() -> TempDir {
    tempdir().expect("a temporary folder")
}

/// A command line must be refused with exit 2: the first line starts with `place` and says what
/// was `found`, the next what is `accepted`, and an example follows.
fn check(folder: &Path, line: &str, place: &str, found: &str, accepted: &str) {
    let args: Vec<&str> = line.split(' ').collect();
    let message = Message::read(&refused(folder, &args, 2));
    assert!(message.first.starts_with(place), "{line}: {message:?}");
    assert!(message.first.contains(found), "{line}: {message:?}");
    assert!(message.accepted.contains(accepted), "{line}: {message:?}");
    assert!(!message.accepted.is_empty(), "{line}: {message:?}");
    assert!(!message.example.is_empty(), "{line}: {message:?}");
}

#[test]
fn a_byte_that_is_no_utf8_is_refused_with_its_line_and_column() {
    let folder = folder();
    let here = folder.path();
    let text = b"title = \"\xc3\xa9\"\n# \xc3\xa9t\xe9\n";
    write(here, "latin.toml", text);
    check(here, "show latin.toml", "latin.toml:2:5: ", "0xe9", "UTF-8");
    write(here, "wide.toml", b"\xff\xfe[\0[\0s\0");
    let line = "show pull --swimmer wide.toml";
    check(here, line, "wide.toml:1:1: ", "0xff", "UTF-8");
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_accepted() {
    let folder = folder();
    let here = folder.path();
    let windows = SESSION.replace('\n', "\r\n");
    write(here, "plain.toml", SESSION);
    write(here, "crlf.toml", &windows);
    write(here, "bom.toml", format!("\u{feff}{SESSION}"));
    write(here, "both.toml", format!("\u{feff}{windows}"));
    let plain = ok(here, &["show", "plain.toml", "--events"]);
    for file in ["crlf.toml", "bom.toml", "both.toml"] {
        let same = ok(here, &["show", file, "--events"]);
        assert_eq!(same, plain, "{file}");
    }
    // Places count neither the mark nor the carriage returns.
    let tilte = format!("\u{feff}tilte = 3\r\n{windows}");
    write(here, "wrong.toml", tilte);
    let message = refused(here, &["show", "wrong.toml"], 2);
    assert!(message.contains("wrong.toml:1:1: "), "{message}");
    write(
        here,
        "wrong.toml",
        format!("\u{feff}{windows}rest = 20\r\n"),
    );
    let message = refused(here, &["show", "wrong.toml"], 2);
    assert!(message.contains("wrong.toml:4:8: "), "{message}");
}

#[test]
fn an_empty_file_is_refused_as_one_without_a_set() {
    let folder = folder();
    for text in ["", "\u{feff}", "\r\n\n"] {
        write(folder.path(), "e.toml", text);
        check(
            folder.path(),
            "show e.toml",
            "e.toml: ",
            "no set",
            "[[set]]",
        );
        // A swimmer who says nothing is one who wants nothing.
        ok(folder.path(), &["swimmer", "show", "e.toml"]);
    }
}

/// Brackets without end would exhaust the stack of a reader that follows them.
#[test]
fn a_text_that_nests_without_end_is_refused() {
    let folder = folder();
    for text in [
        format!("title = {}\n", "[".repeat(200_000)),
        format!("title = {}\n", "{a=".repeat(200_000)),
        format!("{}title = 1\n", "a.".repeat(200_000)),
    ] {
        write(folder.path(), "deep.toml", text);
        let line = "show deep.toml";
        check(
            folder.path(),
            line,
            "deep.toml:1:",
            "not TOML",
            "key = value",
        );
    }
}

#[test]
fn a_folder_is_refused_where_a_file_is_needed() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("dir.toml")).expect("a folder");
    for line in [
        "show dir.toml",
        "show pull --swimmer dir.toml",
        "export dir.toml --out tracks",
        "check x.wav dir.toml",
    ] {
        check(folder.path(), line, "dir.toml: ", "folder", "");
    }
    check(folder.path(), "show ./", "./: ", "folder", "");
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let folder = folder();
    let here = folder.path();
    let missing = "cannot be read: ";
    check(here, "show ./evening.toml", "./evening.toml: ", missing, "");
    check(here, "check x.wav no.toml", "no.toml: ", missing, "");
    check(
        here,
        "show pull --swimmer no.toml",
        "no.toml: ",
        missing,
        "",
    );
    let long = format!("show ./{}.toml", "x".repeat(300));
    check(
        here,
        &long,
        "./xxx",
        "cannot be read: File name too long",
        "",
    );
    write(here, "a.toml", SESSION);
    check(
        here,
        "show a.toml/b.toml",
        "a.toml/b.toml: ",
        "Not a directory",
        "",
    );
}

#[test]
fn a_track_that_is_not_there_is_named_as_such() {
    let folder = folder();
    write(folder.path(), "evening.toml", SESSION);
    for track in ["01-set-1-45s.wav", "x.wav", "nowhere"] {
        let output = run(folder.path(), &["check", track, "evening.toml"]);
        let said = [output.stdout, output.stderr].concat();
        let said = String::from_utf8(said).expect("messages are UTF-8");
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains(&format!("{track}: ")), "{said}");
        assert!(said.contains("no such file"), "{said}");
    }
}

/// A sparse file takes no room on the disk; read to its end, it would take 2 GiB of memory.
#[test]
fn a_file_of_2_gib_is_refused_by_its_size() {
    let folder = folder();
    let path = write(folder.path(), "large.toml", SESSION);
    let file = std::fs::OpenOptions::new().write(true).open(path);
    let file = file.expect("the test's own file");
    for bytes in [1 << 31, (1 << 20) + 1] {
        file.set_len(bytes).expect("a sparse file");
        let found = format!("{bytes} bytes");
        for line in ["show large.toml", "show pull --swimmer large.toml"] {
            check(folder.path(), line, "large.toml: ", &found, "1 MiB");
        }
    }
}

#[cfg(unix)]
#[test]
fn files_without_the_right_to_read_are_named() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder();
    write(folder.path(), "open.toml", SESSION);
    for name in ["evening.toml", "alex.toml", "01-set-1-45s.wav"] {
        let path = write(folder.path(), name, "");
        let closed = std::fs::Permissions::from_mode(0o000);
        std::fs::set_permissions(path, closed).expect("the file is ours");
    }
    for (line, name, code) in [
        ("show evening.toml", "evening.toml", 2),
        ("swimmer show alex.toml", "alex.toml", 2),
        ("show pull --swimmer alex.toml", "alex.toml", 2),
        ("check 01-set-1-45s.wav evening.toml", "evening.toml", 2),
        ("check 01-set-1-45s.wav open.toml", "01-set-1-45s.wav", 1),
    ] {
        let mut nobody = system::unprivileged(folder.path());
        let output = nobody.args(line.split(' ')).output().expect("it starts");
        let said = [output.stdout, output.stderr].concat();
        let said = String::from_utf8(said).expect("messages are UTF-8");
        assert_eq!(output.status.code(), Some(code), "{line}: {said}");
        let expected = format!("{name}: cannot be read: Permission denied");
        assert!(said.contains(&expected), "{line}: {said}");
    }
}

#[test]
fn an_unknown_preset_gets_a_suggestion() {
    let folder = folder();
    let here = folder.path();
    for (line, near) in [
        ("show hold-teh-rate", "hold-the-rate?"),
        ("export six-beats --out x", "six-beat?"),
        ("check x sixbeat", "six-beat?"),
    ] {
        check(here, line, "no preset", near, "cuelane list presets");
    }
    // A file without its ending is no preset.
    write(here, "evening", SESSION);
    check(here, "show evening", "no preset", "./evening", ".toml file");
    ok(here, &["show", "./evening"]);
}

#[test]
fn an_unknown_swimmer_is_refused_with_those_there_are() {
    let folder = folder();
    let line = "show pull --swimmer adult-lerner";
    check(
        folder.path(),
        line,
        "adult-lerner: ",
        "cannot be read",
        "adult-learner, triathlete",
    );
}

#[test]
fn an_unreadable_session_makes_nothing_and_ends_with_2() {
    let folder = folder();
    write(folder.path(), "evening.toml", "rate = 54\n");
    for line in [
        "export evening.toml --out tracks",
        "check tracks evening.toml --json",
        "show evening.toml --json",
    ] {
        let args: Vec<&str> = line.split(' ').collect();
        let message = refused(folder.path(), &args, 2);
        assert!(message.contains("evening.toml:1:1: "), "{message}");
    }
    assert_eq!(names(folder.path()), ["evening.toml"]);
}

/// Opening a pipe waits for whoever writes into it, and a device may never end.
#[cfg(unix)]
#[test]
fn a_pipe_or_a_device_is_no_file_of_sound_and_is_not_waited_for() {
    let folder = folder();
    let here = folder.path();
    for name in ["pipe.wav", "pipe.mp3"] {
        let made = std::process::Command::new("mkfifo")
            .arg(here.join(name))
            .status();
        assert!(made.expect("mkfifo is there").success());
    }
    for (folder, sound) in [("of-pipes", "../pipe.wav"), ("of-devices", "/dev/zero")] {
        std::fs::create_dir(here.join(folder)).expect("our own folder");
        let name = here.join(folder).join("kick-left.wav");
        std::os::unix::fs::symlink(sound, name).expect("our own folder");
        let session = format!("sounds = \"{folder}\"\n{SESSION}");
        write(here, &format!("{folder}.toml"), session);
    }
    for (name, bed) in [("bed-pipe", "pipe.wav"), ("bed-device", "/dev/zero")] {
        let session = format!("bed = \"{bed}\"\n{SESSION}");
        write(here, &format!("{name}.toml"), session);
    }
    write(here, "plain.toml", SESSION);
    for (line, code, place) in [
        ("export bed-pipe.toml --out tracks", 2, "pipe.wav: the bed"),
        (
            "export bed-device.toml --out tracks",
            2,
            "/dev/zero: the bed",
        ),
        ("show bed-pipe.toml --wav short.wav", 2, "pipe.wav: the bed"),
        (
            "check pipe.wav bed-device.toml --part 1",
            2,
            "/dev/zero: the bed",
        ),
        ("show of-pipes.toml", 1, "of-pipes/kick-left.wav: sounds:"),
        (
            "show of-devices.toml",
            1,
            "of-devices/kick-left.wav: sounds:",
        ),
        (
            "check pipe.wav plain.toml --part 1",
            1,
            "pipe.wav: cannot be read",
        ),
        (
            "check pipe.mp3 plain.toml --part 1",
            1,
            "pipe.mp3: cannot be read",
        ),
        ("play pipe.wav --silent", 1, "pipe.wav: cannot be read"),
        ("play pipe.mp3 --silent", 1, "pipe.mp3: cannot be read"),
    ] {
        let child = crate::support::cuelane(here)
            .args(line.split(' '))
            .stdin(std::process::Stdio::null())
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn();
        let output = system::in_time(child.expect("the program starts"));
        let said = [output.stdout, output.stderr].concat();
        let said = String::from_utf8(said).expect("messages are UTF-8");
        assert_eq!(output.status.code(), Some(code), "{line}: {said}");
        assert!(said.contains(place), "{line}: {said}");
        assert!(said.contains("it is a pipe or a device"), "{line}: {said}");
    }
    assert!(!here.join("tracks").exists());
}
