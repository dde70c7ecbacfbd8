//! How long a person waits: commands that only print, and the check of an hour.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use cuelane::files::PRESETS;
use serde_json::Value;

use crate::machine;
use crate::run::{Spread, cuelane, processor_s, run_short};
use crate::shared;

const SHORT_RUNS: usize = 101;
const CHECKS: usize = 7;
const MARKS: usize = 100_000;
const SWIMMER: [&str; 2] = ["--swimmer", "adult-learner"];

/// Prints what each command takes, from its start to its end.
pub fn table(folder: &Path) {
    let longest = longest_preset();
    let show = [&["show", &longest], &SWIMMER[..]].concat();
    let detail = [&show[..], &["--detail"]].concat();
    println!(
        "From start to end, {SHORT_RUNS} runs each ({CHECKS} of the last two): median time, least and \
         most in brackets; mean processor time, the system's own share included.\n"
    );
    println!("| command | time | processor time |");
    println!("|---|---|---|");
    for args in [&[][..], &["list", "presets"], &show, &detail] {
        let line = format!("cuelane {}", args.join(" "));
        row(&format!("`{}`", line.trim_end()), SHORT_RUNS, || {
            run_short(cuelane().args(args))
        });
    }
    let (session, out) = (folder.join("checked.toml"), folder.join("checked"));
    fs::write(&session, shared::hour()).expect("the target folder can be written");
    run_short(
        cuelane()
            .arg("export")
            .arg(&session)
            .arg("--quiet")
            .arg("--out")
            .arg(&out),
    );
    row("`cuelane check` of an hour of stereo", CHECKS, || {
        run_short(cuelane().arg("check").arg(&out).arg(&session))
    });
    fs::remove_dir_all(&out).expect("it was just made");
    let marks = folder.join("many-marks.csv");
    fs::write(&marks, marks_file()).expect("the target folder can be written");
    row(
        &format!("`cuelane timing` of {MARKS} marks"),
        CHECKS,
        || run_short(cuelane().arg("timing").arg(&marks)),
    );
    println!("\n{}\n", machine::load());
}

/// A film of an even stroke, eight marks a cycle, so many in all.
fn marks_file() -> String {
    let moments = [
        ("left_entry", 0.0),
        ("left_catch", 0.3),
        ("left_kick", 0.35),
        ("right_entry", 0.5),
        ("left_exit", 0.75),
        ("right_catch", 0.8),
        ("right_kick", 0.85),
        ("right_exit", 0.95),
    ];
    let mut text = String::from("time,event\n");
    for cycle in 0..MARKS / moments.len() {
        for (event, phase) in moments {
            let _ = writeln!(text, "{:.3},{event}", 2.0 * (cycle as f64 + phase));
        }
    }
    text
}

/// Runs a command so many times and prints its row.
fn row(what: &str, runs: usize, mut command: impl FnMut() -> f64) {
    let before = processor_s();
    let times: Vec<f64> = (0..runs).map(|_| command()).collect();
    let used = match (before, processor_s()) {
        (Some(before), Some(after)) => in_ms((after - before) / runs as f64),
        _ => "not told by this system".into(),
    };
    let time = Spread::of(times);
    let [median, least, most] = [time.median, time.least, time.most].map(in_ms);
    println!("| {what} | {median} ({least} to {most}) | {used} |");
}

fn in_ms(seconds: f64) -> String {
    format!("{:.1} ms", seconds * 1000.0)
}

/// The preset whose track is longest.
fn longest_preset() -> String {
    let length_s = |name: &str| {
        let output = cuelane()
            .args(["show", name, "--json"])
            .args(SWIMMER)
            .output()
            .expect("the program starts");
        let shown: Value = serde_json::from_slice(&output.stdout).expect("show prints JSON");
        shown["total_s"].as_f64().expect("a number of seconds")
    };
    let longest = PRESETS
        .iter()
        .max_by(|one, other| length_s(one.name).total_cmp(&length_s(other.name)));
    longest.expect("there are presets").name.to_string()
}
