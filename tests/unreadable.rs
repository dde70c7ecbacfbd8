//! Files that cannot be read, or are no text: refused by name, before anything is made of them.
#![allow(clippy::print_stdout)] // what could not be tried is said

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
        let Some(mut nobody) = system::unprivileged(folder.path()) else {
            println!("root cannot become another user here: nothing was tried");
            return;
        };
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
