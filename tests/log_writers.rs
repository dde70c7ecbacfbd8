//! Who writes to a log: a row that was acknowledged is there, and none is half-written, whoever
//! is killed and whoever else writes.

use std::collections::HashSet;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::support::{cuelane, ok, write};
use cuelane::files::parse_log;
use cuelane::model::log::COLUMNS;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// Every row says who wrote it and is as long as the others: a half-written one shows.
fn whole_rows(folder: &Path) -> HashSet<String> {
    let bytes = fs::read(folder.join("log.csv")).expect("a log");
    if bytes.is_empty() {
        return HashSet::new();
    }
    assert!(bytes.ends_with(b"\n"), "the last line has its end");
    let log = parse_log("log.csv", &bytes).expect("a log");
    assert_eq!(log.broken, []);
    (log.rows.iter())
        .map(|line| {
            let name = &line.row.note;
            assert!(
                name.ends_with(&"x".repeat(60)),
                "half a row: {:?}",
                line.row
            );
            format!(
                "{} {}",
                name.trim_end_matches('x').trim(),
                line.row.repeat.expect("a repeat")
            )
        })
        .collect()
}

fn adding(folder: &Path, name: &str) -> Command {
    let mut command = cuelane(folder);
    let note = format!("{name} {}", "x".repeat(60));
    command.args([
        "log",
        "add",
        "2x50",
        "48.1",
        "48.4",
        "--date",
        "2026-03-14",
        "--note",
        &note,
    ]);
    command
}

#[test]
fn killed_at_a_thousand_random_moments_every_acknowledged_row_is_there_and_none_is_half() {
    let folder = folder();
    let mut rng = fastrand::Rng::with_seed(1);
    let begin = Instant::now();
    adding(folder.path(), "first").output().expect("it starts");
    // The window follows the machine's load, so that about half of the moments come too late.
    let mut window_s = 2.0 * begin.elapsed().as_secs_f64();
    let (mut acknowledged, mut killed) = (vec!["first".to_string()], 0);
    for index in 0..1000 {
        let name = format!("n{index}");
        let mut child = adding(folder.path(), &name)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        std::thread::sleep(Duration::from_secs_f64(window_s * rng.f64()));
        child.kill().expect("a child of ours");
        let mut said = String::new();
        (child
            .stdout
            .take()
            .expect("piped")
            .read_to_string(&mut said))
        .expect("UTF-8");
        killed += usize::from(!child.wait().expect("it ends").success());
        if said.starts_with("Added") {
            acknowledged.push(name);
            window_s *= 0.97;
        } else {
            window_s *= 1.03;
        }
        if index % 50 == 0 {
            whole_rows(folder.path());
        }
    }
    let rows = whole_rows(folder.path());
    for name in &acknowledged {
        for repeat in [1, 2] {
            assert!(
                rows.contains(&format!("{name} {repeat}")),
                "{name} was acknowledged and is lost"
            );
        }
    }
    for row in &rows {
        let (name, repeat) = row.split_once(' ').expect("name and repeat");
        let other = if repeat == "1" { 2 } else { 1 };
        assert!(
            rows.contains(&format!("{name} {other}")),
            "half of the set {name} was written"
        );
    }
    // The moments must reach both sides of the write for this to show anything.
    assert!(
        killed > 200 && acknowledged.len() > 200,
        "{killed} killed, {} acknowledged",
        acknowledged.len()
    );
    adding(folder.path(), "last").output().expect("it starts");
    let names: Vec<_> = fs::read_dir(folder.path())
        .expect("readable")
        .flatten()
        .map(|entry| entry.file_name())
        .collect();
    assert_eq!(
        names,
        ["log.csv"],
        "nothing unfinished stays once a writer has finished"
    );
}

#[test]
fn writers_at_once_lose_nothing() {
    let folder = folder();
    let writer = |who: usize| {
        let folder = folder.path().to_path_buf();
        std::thread::spawn(move || {
            for index in 0..25 {
                let output = adding(&folder, &format!("w{who}n{index}"))
                    .output()
                    .expect("it starts");
                assert!(
                    output.status.success(),
                    "{}",
                    String::from_utf8_lossy(&output.stderr)
                );
            }
        })
    };
    for writer in [0, 1, 2].map(writer) {
        writer.join().expect("the writer is content");
    }
    assert_eq!(whole_rows(folder.path()).len(), 3 * 25 * 2);
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_permissions_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = folder();
    fs::create_dir(folder.path().join("real")).expect("a folder");
    symlink("real/swims.csv", folder.path().join("log.csv")).expect("a link");
    write(
        &folder.path().join("real"),
        "swims.csv",
        COLUMNS.join(",") + "\n",
    );
    let real = folder.path().join("real/swims.csv");
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("ours");
    ok(
        folder.path(),
        &["log", "add", "4x50", "48.1", "48.4", "48.0", "49.2"],
    );
    assert!(folder.path().join("log.csv").is_symlink());
    assert_eq!(
        fs::metadata(&real).expect("there").permissions().mode() & 0o777,
        0o640
    );
    let bytes = fs::read(real).expect("there");
    let log = parse_log("real.csv", &bytes).expect("a log");
    assert_eq!(log.rows.len(), 4);
}
