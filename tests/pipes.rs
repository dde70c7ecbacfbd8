//! Standard input and output: files like any other, until the other end goes away.

use std::fs::{File, OpenOptions};
use std::process::Stdio;

use crate::support::message::Message;
use crate::support::system::ended;
use crate::support::{cuelane, refused, write};
use tempfile::tempdir;

const SESSION: &str = "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n";

#[test]
fn session_and_swimmer_cannot_both_be_standard_input() {
    let folder = tempdir().expect("a temporary folder");
    for args in [
        ["show", "-", "--swimmer", "-"].as_slice(),
        &["export", "-", "--swimmer", "-", "--out", "tracks"],
        &["check", "tracks", "-", "--swimmer", "-"],
    ] {
        let message = Message::read(&refused(folder.path(), args, 2));
        let both = "session and swimmer cannot both come from standard input";
        assert!(message.first.contains(both), "{message:?}");
        assert!(message.accepted.contains("one of them"), "{message:?}");
        assert!(message.example.contains(" - "), "{message:?}");
    }
}

#[test]
fn standard_input_is_read_and_refused_like_a_file() {
    let folder = tempdir().expect("a temporary folder");
    let show = |text: &str| {
        let path = write(folder.path(), "input", text);
        let mut command = cuelane(folder.path());
        command.args(["show", "-"]);
        command.stdin(File::open(path).expect("the test's own file"));
        let output = command.output().expect("the program starts");
        let message = String::from_utf8(output.stderr).expect("messages are UTF-8");
        (output.status.code(), message)
    };
    assert_eq!(show(SESSION), (Some(0), String::new()));
    let (code, message) = show(&format!("{SESSION}rest = 20\n"));
    assert_eq!(code, Some(2), "{message}");
    assert!(
        message.contains("standard input:4:8: set 1, rest: found 20"),
        "{message}"
    );
    let (code, message) = show(&"#".repeat((1 << 20) + 1));
    assert_eq!(code, Some(2), "{message}");
    assert!(
        message.contains("standard input: found more than 1 MiB"),
        "{message}"
    );
}

/// A device has no size to ask for.
#[cfg(unix)]
#[test]
fn an_endless_input_is_refused_once_it_is_too_long() {
    let folder = tempdir().expect("a temporary folder");
    let message = refused(folder.path(), &["show", "/dev/zero"], 2);
    assert!(
        message.contains("/dev/zero: found more than 1 MiB"),
        "{message}"
    );
    assert!(
        message.contains("accepted: a TOML file of at most 1 MiB"),
        "{message}"
    );
}

/// A reader that goes away, as `head` does, is no error.
#[test]
fn a_closed_pipe_ends_the_program_in_silence() {
    let folder = tempdir().expect("a temporary folder");
    write(folder.path(), "long.toml", SESSION.replace("45 s", "2 h"));
    for args in [
        ["show", "long.toml", "--events"].as_slice(),
        &["show", "long.toml", "--json"],
        &["show", "long.toml", "--detail"],
        &["list", "presets"],
        &["completions", "bash"],
        &["man"],
        &["help"],
    ] {
        let mut child = cuelane(folder.path())
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        drop(child.stdout.take());
        assert_eq!(ended(child), (Some(0), String::new()), "{args:?}");
    }
}

/// A result that cannot be written is an error, other than one that nobody wants.
#[cfg(target_os = "linux")]
#[test]
fn a_full_standard_output_is_said() {
    let folder = tempdir().expect("a temporary folder");
    write(folder.path(), "long.toml", SESSION);
    for args in [
        ["show", "long.toml", "--events"].as_slice(),
        &["show", "long.toml"],
        &["list", "presets"],
    ] {
        let full = OpenOptions::new().write(true).open("/dev/full");
        let child = cuelane(folder.path())
            .args(args)
            .stdout(full.expect("/dev/full can be opened"))
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let (code, message) = ended(child);
        assert_eq!(code, Some(1), "{args:?}: {message}");
        let full = "error: standard output: cannot be written: No space left";
        assert!(message.starts_with(full), "{args:?}: {message}");
    }
}
