//! An hour of sound against others that write an hour of sound: a copy of the same bytes, a
//! looped click, a beep.
//!
//! The export syncs its track and so does the copy. The other two leave that to the system; their
//! files are synced after them, on a clock of its own, and both sums are given.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::machine;
use crate::run::{Spread, cuelane, run, run_short, settle, sync};
use crate::shared;

const ROUNDS: usize = 7;
const HOUR_S: u64 = 3600;
/// 44.1 kHz, two channels of 16 bits.
const SOUND_BYTES: u64 = HOUR_S * 44_100 * 4;
/// More than any header of these tools.
const HEADER_BYTES: u64 = 1024;

/// A command that writes an hour of sound.
struct Rival {
    what: &'static str,
    program: &'static str,
    words: Vec<String>,
    file: PathBuf,
    /// Whether the command itself syncs what it wrote.
    syncs: bool,
}

impl Rival {
    fn command(&self) -> Command {
        let mut command = Command::new(self.program);
        command.args(&self.words);
        command
    }
}

/// Seconds of one run: of the command, and of the sync after it where there is one.
#[derive(Clone, Copy)]
struct Seconds {
    bare: f64,
    synced: f64,
}

/// Runs all of them in turn, round after round, and prints what each took.
pub fn table(folder: &Path) {
    let rivals = rivals(folder);
    let taken = in_turn(&rivals, folder);
    println!(
        "An hour of 44.1 kHz stereo 16-bit, six-beat kick, every cue ({:.0} MB); median of \
         {ROUNDS} rounds, each command once a round; ratios pair by pair, least and most in brackets.\n",
        SOUND_BYTES as f64 / 1e6
    );
    println!("| command | time | with its file synced | `export` against it |");
    println!("|---|---|---|---|");
    let ours = &taken[0];
    for (rival, theirs) in rivals.iter().zip(&taken) {
        let synced = Spread::of(theirs.iter().map(|one| one.synced));
        let bare = match rival.syncs {
            true => "syncs by itself".into(),
            false => format!(
                "{:.2} s",
                Spread::of(theirs.iter().map(|one| one.bare)).median
            ),
        };
        let pairs = || ours.iter().zip(theirs);
        let against = match (rival.tool, rival.syncs) {
            ("cuelane", _) => "1".into(),
            (_, true) => times(
                pairs().map(|(ours, theirs)| ours.synced / theirs.synced),
                "the time",
            ),
            (_, false) => format!(
                "{}; {}",
                times(
                    pairs().map(|(ours, theirs)| theirs.bare / ours.synced),
                    "faster"
                ),
                times(
                    pairs().map(|(ours, theirs)| theirs.synced / ours.synced),
                    "with the sync"
                ),
            ),
        };
        println!(
            "| {} | {bare} | {:.2} s | {against} |",
            rival.what, synced.median
        );
    }
    println!("\n{}\n", machine::load());
}

fn times(ratios: impl Iterator<Item = f64>, what: &str) -> String {
    let ratio = Spread::of(ratios);
    format!(
        "{:.2} times {what} ({:.2} to {:.2})",
        ratio.median, ratio.least, ratio.most
    )
}

/// Stands for the file to write among the words of a command.
const OUT: &str = "OUT";
/// What the looped click and the beep share with the export.
const FORM: &str = "-r 44100 -c 2 -b 16";
/// One short click and silence, a second in all.
const CLICK: &str = "synth 0.01 sine 1000 fade 0.002 0.01 pad 0 0.99";

/// The export, and of the others those that are there.
fn rivals(folder: &Path) -> Vec<Rival> {
    let path = |name: &str| folder.join(name).display().to_string();
    let rival = |what, program, name: &str, words: &str, syncs| Rival {
        what,
        program,
        words: (words.split(' '))
            .map(|word| word.replace(OUT, &path(name)))
            .collect(),
        file: folder.join(name),
        syncs,
    };
    let sox = |what, words: &str| rival(what, "sox", "click.wav", words, false);
    let (session, track, whole, beat) = (
        folder.join("hour.toml"),
        folder.join("track"),
        folder.join("whole.wav"),
        folder.join("beat.wav"),
    );
    fs::write(&session, shared::hour()).expect("the target folder can be written");
    let export = ["export", &path("hour.toml"), "--quiet", "--files", "one", "--out"];
    let ours = Rival {
        what: "`cuelane export`",
        program: PROGRAM,
        words: export.map(str::to_string).into_iter().chain([path("track")]).collect(),
        file: track.join("an-hour.wav"),
        syncs: true,
    };
    // What `dd` copies stays there from a first run.
    run_short(&mut ours.command());
    fs::rename(&ours.file, &whole).expect("the export was just made");
    fs::remove_dir_all(&track).expect("it was just made");
/// The click on its own, for the loop that only copies it.
fn make_beat(beat: &Path) {
    let mut command = Command::new("sox");
    run_short(command.arg("-n").args(FORM).arg(beat).args(CLICK));
}

/// Every command once a round, after a round that does not count.
fn in_turn(rivals: &[Rival], folder: &Path) -> Vec<Vec<Seconds>> {
    let mut taken = vec![Vec::with_capacity(ROUNDS); rivals.len()];
    for round in 0..=ROUNDS {
        for (rival, taken) in rivals.iter().zip(&mut taken) {
            settle(folder, SOUND_BYTES);
            let bare = run_short(&mut (rival.command)());
            let after = if rival.syncs { 0.0 } else { sync(&rival.file) };
            if round > 0 {
                taken.push(Seconds {
                    bare,
                    synced: bare + after,
                });
            }
            let bytes = fs::metadata(&rival.file)
                .expect("it was just written")
                .len();
            let whole = SOUND_BYTES..SOUND_BYTES + HEADER_BYTES;
            assert!(whole.contains(&bytes), "{} wrote {bytes} bytes", rival.tool);
            remove(rival, folder);
        }
    }
    taken
}

fn remove(rival: &Rival, folder: &Path) {
    let removed = match rival.file.parent() {
        Some(parent) if parent != folder => fs::remove_dir_all(parent),
        _ => fs::remove_file(&rival.file),
    };
    removed.expect("it was just written");
}
