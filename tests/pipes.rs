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

/// `>&-` is no place for a result, whichever command prints it. What was opened for reading and
/// writing, as some programs open /dev/null for those that they start, is one.
#[cfg(unix)]
#[test]
fn a_closed_standard_output_is_said_by_every_command_that_prints() {
    let folder = tempdir().expect("a temporary folder");
    let here = folder.path();
    write(here, "a.toml", SESSION.replace("45 s", "8 s"));
    write(
        here,
        "alex.toml",
        "name = \"Alex\"\nrate = \"52 spm\"\npace = \"2:05 / 100 m\"\n",
    );
    write(
        here,
        "steps.csv",
        "rate_spm,speed_m_s\n50,1.02\n54,1.06\n58,1.08\n62,1.07\n",
    );
    write(
        here,
        "log.csv",
        "date,swimmer,distance,time\n2026-05-04,Alex,200 m,3:20\n2026-05-04,Alex,400 m,7:00\n",
    );
    write(
        here,
        "taps.txt",
        "0\n1.1\n2.2\n3.3\n4.4\n5.5\n6.6\n7.7\n8.8\n",
    );
    let marks: String = (0..8)
        .flat_map(|cycle| [(2 * cycle, "left_entry"), (2 * cycle + 1, "right_entry")])
        .map(|(s, event)| format!("{s},{event}\n"))
        .collect();
    write(here, "marks.csv", format!("time,event\n{marks}"));
    let run = |redirected: &str, line: &str| {
        let output = std::process::Command::new("sh")
            .args(["-c", &format!("exec \"$0\" \"$@\" {redirected}")])
            .arg(env!("CARGO_BIN_EXE_cuelane"))
            .args(line.split(' '))
            .current_dir(here)
            .stdin(Stdio::null())
            .output()
            .expect("sh starts");
        let message = String::from_utf8(output.stderr).expect("messages are UTF-8");
        (output.status.code(), message)
    };
    for line in [
        "show a.toml",
        "show a.toml --json",
        "show a.toml --events",
        "export a.toml --out tracks --force",
        "check tracks a.toml",
        "list presets",
        "swimmer show alex.toml",
        "swimmer new sam.toml --name Sam --force",
        "timing marks.csv",
        "tap --times taps.txt",
        "log list",
        "steps steps.csv",
        "css 200m=3:20 400m=7:00",
        "plan new --swimmer alex.toml --from 52spm --to 53spm --weeks 2 --days mon --start 2027-03-01 --out plan.toml --force",
        "plan show plan.toml",
        "plan export plan.toml --out weeks --week 1",
        "trial new --swimmer alex.toml --out trial --force",
        "mark --out mark.html --force",
        "completions bash",
        "man",
        "help",
        "--version",
    ] {
        let (code, said) = run(">/dev/null", line);
        assert_eq!(code, Some(0), "{line}: {said}");
        let (code, said) = run("1<>/dev/null", line);
        assert_eq!(code, Some(0), "{line}: {said}");
        let (code, said) = run(">&-", line);
        assert_eq!(code, Some(1), "{line}: {said}");
        let closed = "error: standard output: cannot be written: it is closed";
        assert!(said.contains(closed), "{line}: {said}");
    }
    // What prints nothing needs no place to print.
    let quiet = "export a.toml --out quiet --quiet";
    assert_eq!(run(">&-", quiet), (Some(0), String::new()));
}
