//! A squad's week: thirty swimmers with three sessions each, one track at a time and on all cores.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use crate::machine;
use crate::run::{Spread, cuelane, mib, run, settle};

const ROUNDS: usize = 3;
const SWIMMERS: usize = 30;
/// What a week of the squad takes, nearly: 90 sessions of 4 x 50 m in one channel.
const WEEK_BYTES: u64 = 3_000_000_000;

/// Exports the week in turn by one worker and by all, beside a plain copy of the same files.
pub fn table(folder: &Path) {
    let home = folder.join("squad");
    fs::create_dir_all(&home).expect("the target folder can be written");
    let mut squad = String::new();
    for number in 1..=SWIMMERS {
        let write = |name: String, text: String| {
            fs::write(home.join(name), text).expect("the target folder can be written");
        };
        write(
            format!("s{number}.toml"),
            format!(
                "name = \"Swimmer {number}\"\npool = \"25 m\"\npace = \"2:{number:02} / 100 m\"\n\
                 [player]\nchannels = \"mono\"\n"
            ),
        );
        write(
            format!("p{number}.toml"),
            format!(
                "swimmer = \"s{number}.toml\"\nfrom = \"52 spm\"\nto = \"60 spm\"\nweeks = 12\n\
                 days = [\"mon\", \"wed\", \"fri\"]\nstart = \"2027-03-01\"\n\
                 [session]\nrepeats = 4\n"
            ),
        );
        let _ = writeln!(
            squad,
            "[[swimmer]]\nplan = \"p{number}.toml\"\nfolder = \"tracks/s{number}\""
        );
    }
    let file = home.join("squad.toml");
    fs::write(&file, squad).expect("the target folder can be written");
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let (mut alone, mut together, mut copied) = (Vec::new(), Vec::new(), Vec::new());
    for round in 0..=ROUNDS {
        for (workers, taken) in [(1, &mut alone), (cores, &mut together)] {
            settle(folder, WEEK_BYTES);
            let mut export = cuelane();
            export
                .args(["plan", "export", "--week", "5", "--squad"])
                .arg(&file);
            export.args(["--cores", &workers.to_string()]);
            let one = run(&mut export);
            if round > 0 {
                taken.push(one);
            }
            if workers == cores && round > 0 {
                copied.push(plain_writes(&home.join("tracks"), folder));
            }
            fs::remove_dir_all(home.join("tracks")).expect("it was just made");
        }
    }
    let ratio = Spread::of((alone.iter().zip(&together)).map(|(a, b)| a.seconds / b.seconds));
    let seconds =
        |taken: &[crate::run::Taken]| Spread::of(taken.iter().map(|one| one.seconds)).median;
    println!(
        "Thirty swimmers, three sessions each, mono 16-bit at 44.1 kHz, every file synced; median of \
         {ROUNDS} rounds in turn; the disk's own limit is the same bytes in as many files, written \
         from memory and synced one after another.\n"
    );
    println!("| | one at a time | {cores} at a time | faster by | the disk alone | peak |");
    println!("|---|---|---|---|---|---|");
    println!(
        "| `cuelane plan export --squad` | {:.2} s | {:.2} s | {:.2} ({:.2} to {:.2}) | {:.2} s | {}, {} |",
        seconds(&alone),
        seconds(&together),
        ratio.median,
        ratio.least,
        ratio.most,
        Spread::of(copied).median,
        mib(&alone),
        mib(&together),
    );
    println!(
        "\nWanted: 1.6 times faster on two cores, or the disk's limit. {}\n",
        machine::load()
    );
}

/// Seconds that the disk takes for files of the same sizes, without making a sound.
fn plain_writes(tracks: &Path, folder: &Path) -> f64 {
    let mut sizes = Vec::new();
    let mut folders = vec![tracks.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("it was just made").flatten() {
            match entry.metadata().expect("it is there") {
                about if about.is_dir() => folders.push(entry.path()),
                about => sizes.push(about.len()),
            }
        }
    }
    let copies = folder.join("copies");
    fs::create_dir_all(&copies).expect("the target folder can be written");
    let block = vec![1; 1 << 20];
    let start = std::time::Instant::now();
    for (at, size) in sizes.iter().enumerate() {
        use std::io::Write;
        let mut file = fs::File::create(copies.join(at.to_string())).expect("writable");
        let mut left = *size as usize;
        while left > 0 {
            let now = left.min(block.len());
            file.write_all(&block[..now]).expect("the disk has room");
            left -= now;
        }
        file.sync_all().expect("the disk can be synced");
    }
    let seconds = start.elapsed().as_secs_f64();
    fs::remove_dir_all(&copies).expect("it was just made");
    seconds
}
