//! An hour of sound against others that write an hour of sound: a copy of the same bytes, a
//! looped click, a beep.
//!
//! The export syncs its track and so does the copy. The others leave that to the system; their
//! files are synced after them, on a clock of its own, and both sums are given.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::machine;
use crate::run::{Spread, run_short, settle, sync};
use crate::shared;

const ROUNDS: usize = 7;
/// An hour at 44.1 kHz, two channels of 16 bits.
const SOUND_BYTES: u64 = 3600 * 44_100 * 4;
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
    /// `words` are parted by spaces, and `@` in them is the folder.
    fn new(what: &'static str, program: &'static str, words: &str, folder: &Path) -> Self {
        let place = folder.display().to_string();
        let words = words.split(' ').map(|word| word.replace('@', &place));
        Self {
            what,
            program,
            words: words.collect(),
            file: folder.join(OUT),
            syncs: false,
        }
    }

    fn syncing(self) -> Self {
        Self {
            syncs: true,
            ..self
        }
    }

    fn command(&self) -> Command {
        let mut command = Command::new(self.program);
        command.args(&self.words);
        command
    }
}

/// What every command but the export calls its file.
const OUT: &str = "out.wav";
/// What `dd` copies: the track of a first export.
const WHOLE: &str = "whole.wav";
/// One short click and silence, a second in all.
const CLICK: &str = "synth 0.01 sine 1000 fade 0.002 0.01 pad 0 0.99";
/// That second on its own.
const BEAT: &str = "-n -r 44100 -c 2 -b 16 @/beat.wav";

/// The export, and of the others those that are there.
fn rivals(folder: &Path) -> Vec<Rival> {
    fs::write(folder.join("hour.toml"), shared::hour()).expect("the target folder can be written");
    let mut ours = Rival::new(
        "`cuelane export`",
        env!("CARGO_BIN_EXE_cuelane"),
        "export @/hour.toml --quiet --files one --speech off --no-loudness --out @/track",
        folder,
    )
    .syncing();
    ours.file = folder.join("track/an-hour.wav");
    run_short(&mut ours.command());
    fs::rename(&ours.file, folder.join(WHOLE)).expect("the export was just made");
    remove(&ours, folder);

    let mut whole = Rival::new(
        "`cuelane export` with speech and loudness, as it is by default",
        env!("CARGO_BIN_EXE_cuelane"),
        "export @/hour.toml --quiet --files one --out @/default",
        folder,
    )
    .syncing();
    whole.file = folder.join("default/an-hour.wav");
    let mut rivals = vec![ours, whole];
    if machine::has("dd") {
        // A quarter of a MiB at a time: much less is slower, more is no faster.
        let copy = format!("if=@/{WHOLE} of=@/{OUT} bs=262144 conv=fsync status=none");
        let what = "`dd conv=fsync` of the same bytes";
        rivals.push(Rival::new(what, "dd", &copy, folder).syncing());
    }
    if machine::has("sox") {
        run_short(&mut Rival::new("", "sox", &format!("{BEAT} {CLICK}"), folder).command());
        let make = format!("-n -r 44100 -c 2 -b 16 @/{OUT} {CLICK} repeat 3599");
        for (what, words) in [
            ("`sox` making a click and looping it", make.clone()),
            ("the same without dither (`sox -D`)", format!("-D {make}")),
            (
                "`sox` looping a finished file of a second",
                format!("@/beat.wav @/{OUT} repeat 3599"),
            ),
        ] {
            rivals.push(Rival::new(what, "sox", &words, folder));
        }
    }
    if machine::has("ffmpeg") {
        let beep = format!(
            "-nostdin -v error -f lavfi \
             -i sine=frequency=1000:beep_factor=2:sample_rate=44100:duration=3600 \
             -ac 2 -c:a pcm_s16le @/{OUT}"
        );
        rivals.push(Rival::new("`ffmpeg` beep source", "ffmpeg", &beep, folder));
    }
    rivals
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
        "An hour of 44.1 kHz stereo 16-bit ({} MB), six-beat kick, every cue; median of {ROUNDS} \
         rounds, each command once a round; ratios pair by pair, least and most in brackets.\n",
        SOUND_BYTES / 1_000_000
    );
    println!("| command | time | and its file synced | times `export` | synced, times `export` |");
    println!("|---|---|---|---|---|");
    let ours = &taken[0];
    for (rival, theirs) in rivals.iter().zip(&taken) {
        let bare = Spread::of(theirs.iter().map(|one| one.bare)).median;
        let synced = Spread::of(theirs.iter().map(|one| one.synced)).median;
        let ratio = |seconds: fn(&Seconds) -> f64| {
            let pairs = ours.iter().zip(theirs);
            let ratio = Spread::of(pairs.map(|(ours, theirs)| seconds(theirs) / ours.synced));
            let Spread {
                median,
                least,
                most,
            } = ratio;
            format!("{median:.2} ({least:.2} to {most:.2})")
        };
        let (bare, against) = if rival.syncs {
            ("syncs by itself".into(), String::new())
        } else {
            (format!("{bare:.2} s"), ratio(|one| one.bare))
        };
        let against_synced = ratio(|one| one.synced);
        println!(
            "| {} | {bare} | {synced:.2} s | {against} | {against_synced} |",
            rival.what
        );
    }
    println!(
        "\nWanted: at least 0.77 for `dd` (an export of at most 1.3 times its time), 10 for `sox`, \
         2 for `ffmpeg`. {}\n",
        machine::load()
    );
}

/// Every command once a round, after a round that does not count.
fn in_turn(rivals: &[Rival], folder: &Path) -> Vec<Vec<Seconds>> {
    let mut taken = vec![Vec::with_capacity(ROUNDS); rivals.len()];
    for round in 0..=ROUNDS {
        for (rival, taken) in rivals.iter().zip(&mut taken) {
            settle(folder, SOUND_BYTES);
            let bare = run_short(&mut rival.command());
            let after = if rival.syncs { 0.0 } else { sync(&rival.file) };
            if round > 0 {
                let synced = bare + after;
                taken.push(Seconds { bare, synced });
            }
            let bytes = fs::metadata(&rival.file).map(|about| about.len());
            let bytes = bytes.expect("it was just written");
            let whole = SOUND_BYTES..SOUND_BYTES + HEADER_BYTES;
            assert!(whole.contains(&bytes), "{}: {bytes} bytes", rival.what);
            remove(rival, folder);
        }
    }
    taken
}

/// Takes away what a command wrote: its file, or the folder of its own.
fn remove(rival: &Rival, folder: &Path) {
    let removed = match rival.file.parent() {
        Some(parent) if parent != folder => fs::remove_dir_all(parent),
        _ => fs::remove_file(&rival.file),
    };
    removed.expect("it was just written");
}
