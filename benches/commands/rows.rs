//! A log of a million rows, against Python's csv module reading the same file.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;
use std::process::Command;

use crate::machine;
use crate::run::{Spread, Taken, cuelane, mib, run};

const ROUNDS: usize = 5;
const ROWS: usize = 1_000_000;
/// Reads the rows and does nothing with them.
const PYTHON: &str = "import csv, sys\nfor row in csv.reader(open(sys.argv[1])): pass";

/// Lists the rows in turn with a reader that does nothing else, and prints what all that took.
pub fn table(folder: &Path) {
    let log = folder.join("million.csv");
    write(&log).expect("the target folder can be written");
    let bytes = fs::metadata(&log).expect("it was just written").len();
    let picture = folder.join("million.svg").display().to_string();
    let log = log.display().to_string();
    let ours = |words: &[&str]| {
        let words = [&["log"], words, &["--log", &log]].concat();
        words.into_iter().map(String::from).collect::<Vec<_>>()
    };
    let commands = [
        ("`cuelane log list`", ours(&["list"])),
        ("`cuelane log list --json`", ours(&["list", "--json"])),
        (
            "`cuelane log list --swimmer Sam`",
            ours(&["list", "--swimmer", "Sam"]),
        ),
        ("`cuelane log chart`", ours(&["chart", "--out", &picture])),
    ];
    let python = machine::has("python3");
    let mut taken = vec![Vec::new(); commands.len()];
    let mut theirs = Vec::new();
    for round in 0..=ROUNDS {
        let read = python.then(|| run(Command::new("python3").args(["-c", PYTHON, &log])));
        let listed = commands
            .each_ref()
            .map(|(_, words)| run(cuelane().args(words)));
        if round > 0 {
            theirs.extend(read);
            (taken.iter_mut().zip(listed)).for_each(|(taken, one)| taken.push(one));
        }
    }
    println!(
        "A log of {ROWS} rows ({} MB); median of {ROUNDS} rounds, each command once a round; ratios to \
         Python's csv module reading the same file and doing nothing with it, pair by pair, least and \
         most in brackets; peak memory the largest of all.\n",
        bytes / 1_000_000
    );
    println!("| command | time | times Python's csv | peak |");
    println!("|---|---|---|---|");
    for ((name, _), taken) in commands.iter().zip(&taken) {
        row(name, taken, &theirs);
    }
    if python {
        row("`python3`, `csv.reader`", &theirs, &theirs);
    }
    println!("\nWanted: 5 s and 200 MB for each. {}\n", machine::load());
}

fn row(name: &str, taken: &[Taken], theirs: &[Taken]) {
    let time = Spread::of(taken.iter().map(|one| one.seconds)).median;
    let ratio = if theirs.is_empty() {
        "Python is missing".into()
    } else {
        let pairs = taken.iter().zip(theirs);
        let ratio = Spread::of(pairs.map(|(one, other)| one.seconds / other.seconds));
        let Spread {
            median,
            least,
            most,
        } = ratio;
        format!("{median:.1} ({least:.1} to {most:.1})")
    };
    println!("| {name} | {time:.2} s | {ratio} | {} |", mib(taken));
}

/// Seven years of three invented swimmers who count every length.
fn write(log: &Path) -> io::Result<()> {
    let mut file = BufWriter::new(File::create(log)?);
    writeln!(file, "{}", cuelane::model::log::COLUMNS.join(","))?;
    let first: jiff::civil::Date = "2020-01-01".parse().expect("a date");
    for row in 0..ROWS {
        let days = jiff::Span::new().days((row * 2500 / ROWS) as i64);
        let swimmer = ["Alex", "Sam", "Kim"][row % 3];
        let pairing = ["same-side", "opposite-side"][row / 3 % 2];
        writeln!(
            file,
            "{},{swimmer},,,{},50 m,{}.{} s,{},54 spm,{pairing},,{},yes,,",
            first.saturating_add(days),
            1 + row % 8,
            45 + row * 7 % 5,
            row * 3 % 10,
            43 + row * 5 % 3,
            5 + row % 3,
        )?;
    }
    file.flush()
}
