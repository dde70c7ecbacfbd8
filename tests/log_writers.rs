//! Who writes to a log: a row that was acknowledged is there, and none is half-written, whoever
//! is killed and whoever else writes.

use std::collections::HashSet;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant, SystemTime};

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

/// Kills writers one after another, and knows what they had said.
struct Killer {
    folder: tempfile::TempDir,
    acknowledged: Vec<String>,
    killed: usize,
    /// How many died between the first byte of the new file and their word that it is in place.
    amid: usize,
}

impl Killer {
    fn new() -> Self {
        // Temporary folders may be in memory, where writing is over before a signal comes.
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("cargo's own");
        adding(folder.path(), "first").output().expect("it starts");
        Self {
            folder,
            acknowledged: vec!["first".into()],
            killed: 0,
            amid: 0,
        }
    }

    /// When a new file was begun beside the log, if one is there.
    fn begun(&self) -> Option<SystemTime> {
        let about = fs::metadata(self.folder.path().join(".log.csv.unfinished"));
        about.and_then(|about| about.modified()).ok()
    }

    /// Starts a writer and kills it after a wait; whether its row was acknowledged.
    fn kill(&mut self, name: &str, wait: impl FnOnce(&Self, &mut Child)) -> bool {
        let before = self.begun();
        let mut child = adding(self.folder.path(), name)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        wait(self, &mut child);
        child.kill().expect("a child of ours");
        let mut said = String::new();
        let mut from = child.stdout.take().expect("piped");
        from.read_to_string(&mut said).expect("UTF-8");
        self.killed += usize::from(!child.wait().expect("it ends").success());
        let acknowledged = said.starts_with("Added");
        if acknowledged {
            self.acknowledged.push(name.into());
        } else {
            let log = fs::read_to_string(self.folder.path().join("log.csv")).expect("a log");
            let unfinished = self.begun().is_some() && self.begun() != before;
            self.amid += usize::from(unfinished || log.contains(&format!("{name} ")));
        }
        if (self.killed + self.acknowledged.len()).is_multiple_of(50) {
            whole_rows(self.folder.path());
        }
        acknowledged
    }

    /// Whatever was acknowledged is there, and nothing is half.
    fn check(&self) {
        let rows = whole_rows(self.folder.path());
        for name in &self.acknowledged {
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
        let folder = self.folder.path();
        adding(folder, "last").output().expect("it starts");
        let names: Vec<_> = fs::read_dir(folder)
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
}

/// As many die amid writing as of a thousand that are killed at any moment: of those some 300 do
/// where the machine does nothing else, 180 where it is busy. The others were still starting, or
/// had written, and prove nothing here.
#[test]
fn killed_amid_writing_every_acknowledged_row_is_there_and_none_is_half() {
    let mut rng = fastrand::Rng::with_seed(1);
    let mut killer = Killer::new();
    // From the first byte on. It follows the machine, so that one moment in four comes too late.
    let mut window_s = 0.02;
    let mut tried = 0;
    while killer.amid < 300 && tried < 1000 {
        tried += 1;
        let before = killer.begun();
        let acknowledged = killer.kill(&format!("n{tried}"), |killer, child| {
            while killer.begun() == before && child.try_wait().expect("ours").is_none() {
                std::hint::spin_loop();
            }
            std::thread::sleep(Duration::from_secs_f64(window_s * rng.f64()));
        });
        window_s *= if acknowledged { 0.97 } else { 1.01 };
    }
    killer.check();
    let (amid, acknowledged) = (killer.amid, killer.acknowledged.len());
    // Where even the build is in memory, a thousand were tried.
    assert!(
        (amid == 300 && acknowledged > 50) || tried == 1000,
        "{amid} killed amid writing, {acknowledged} acknowledged"
    );
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_a_thousand_writers_killed_at_random_moments() {
    let mut rng = fastrand::Rng::with_seed(1);
    let begin = Instant::now();
    let mut killer = Killer::new();
    // The window follows the machine's load, so that about half of the moments come too late.
    let mut window_s = 2.0 * begin.elapsed().as_secs_f64();
    for index in 0..1000 {
        let acknowledged = killer.kill(&format!("n{index}"), |_, _| {
            std::thread::sleep(Duration::from_secs_f64(window_s * rng.f64()));
        });
        window_s *= if acknowledged { 0.97 } else { 1.03 };
    }
    killer.check();
    // The moments must reach both sides of the write for this to show anything.
    let (killed, acknowledged) = (killer.killed, killer.acknowledged.len());
    assert!(
        killed > 200 && acknowledged > 200,
        "{killed} killed, {acknowledged} acknowledged"
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
