//! What speech, loudness and FLAC cost for an hour of sound, against the plain export, ffmpeg's
//! meter and the `flac` program.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::machine;
use crate::run::{Spread, Taken, cuelane, mib, run, settle};
use crate::shared;

const ROUNDS: usize = 3;
/// An hour at 44.1 kHz, two channels of 16 bits.
const SOUND_BYTES: u64 = 3600 * 44_100 * 4;

/// A way of exporting the hour, and what it adds.
const OURS: [(&str, &[&str]); 5] = [
    ("plain, no loudness", &["--speech", "off", "--no-loudness"]),
    ("speech, no loudness", &["--no-loudness"]),
    ("speech and loudness", &[]),
    (
        "plain FLAC, no loudness",
        &["--speech", "off", "--no-loudness", "--format", "flac"],
    ),
    ("FLAC, speech and loudness", &["--format", "flac"]),
];

/// Runs all of them in turn and prints what each took.
pub fn table(folder: &Path) {
    fs::write(folder.join("hour.toml"), shared::hour()).expect("the target folder can be written");
    let ours = |flags: &[&str], out: &str| {
        let mut command = cuelane();
        let words = [
            "export",
            "hour.toml",
            "--quiet",
            "--files",
            "one",
            "--force",
        ];
        command.current_dir(folder).args(words).args(["--out", out]);
        command.args(flags);
        command
    };
    run(&mut ours(OURS[0].1, "whole"));
    let whole = folder.join("whole/an-hour.wav");
    let mut commands: Vec<(&str, Command)> = (OURS.iter())
        .map(|(what, flags)| (*what, ours(flags, "track")))
        .collect();
    if machine::has("ffmpeg") {
        let mut meter = Command::new("ffmpeg");
        meter.args(["-nostdin", "-v", "quiet", "-i"]).arg(&whole);
        meter.args(["-af", "ebur128=peak=true", "-f", "null", "-"]);
        commands.push(("`ffmpeg` ebur128=peak=true", meter));
    }
    if machine::has("flac") {
        let mut flac = Command::new("flac");
        flac.args(["-s", "-f"]).arg(&whole).arg("-o");
        flac.arg(folder.join("out.flac"));
        commands.push(("`flac`, its default", flac));
    }
    let mut taken: Vec<Vec<Taken>> = vec![Vec::new(); commands.len()];
    for _ in 0..ROUNDS {
        for ((_, command), taken) in commands.iter_mut().zip(&mut taken) {
            settle(folder, SOUND_BYTES);
            taken.push(run(command));
        }
    }
    println!("An hour, six-beat kick, every cue; median of {ROUNDS} rounds.\n");
    println!("| command | time | least and most | peak memory |\n|---|---|---|---|");
    for ((what, _), taken) in commands.iter().zip(&taken) {
        let spread = Spread::of(taken.iter().map(|taken| taken.seconds));
        println!(
            "| {what} | {:.2} s | {:.2} to {:.2} s | {} |",
            spread.median,
            spread.least,
            spread.most,
            mib(taken)
        );
    }
    println!(
        "\nWanted: speech at most 1.5 times plain; speech and loudness at most 3 times plain; \
         FLAC at most `flac`'s time. {}\n",
        machine::load()
    );
}
