//! Ten times the length: how much more time, and no more memory.

use std::fs;
use std::path::Path;

use crate::machine;
use crate::run::{Spread, Taken, cuelane, mib, run, settle};
use crate::shared;

const ROUNDS: usize = 5;
/// An hour of one channel of 16 bits at 44.1 kHz.
const HOUR_BYTES: u64 = 3600 * 44_100 * 2;

/// Exports one hour and ten in turn, checks each, and prints what all that took.
pub fn table(folder: &Path) {
    let lengths = [
        ("1 h", 1, shared::hour()),
        ("10 h", 10, shared::ten_hours()),
    ];
    let sessions = lengths.map(|(name, hours, text)| {
        let session = folder.join(format!("mono-{hours}.toml"));
        fs::write(&session, text).expect("the target folder can be written");
        (name, hours, session)
    });
    let (mut exports, mut checks) = (sessions.each_ref().map(|_| Vec::new()), [vec![], vec![]]);
    let out = folder.join("mono");
    for round in 0..=ROUNDS {
        for (at, (_, hours, session)) in sessions.iter().enumerate() {
            settle(folder, hours * HOUR_BYTES);
            let mut export = cuelane();
            export.arg("export").arg(session).arg("--quiet");
            export.args(["--speech", "off", "--no-loudness", "--channels", "mono"]);
            let exported = run(export.arg("--out").arg(&out));
            let mut check = cuelane();
            check.arg("check").arg(&out).arg(session);
            let checked = run(check.args(["--speech", "off"]));
            if round > 0 {
                exports[at].push(exported);
                checks[at].push(checked);
            }
            fs::remove_dir_all(&out).expect("it was just made");
        }
    }
    println!(
        "Mono 16-bit at 44.1 kHz, six-beat kick, every cue, neither speech nor loudness; one hour and ten in turn, median of \
         {ROUNDS} rounds; ratios pair by pair, least and most in brackets; processor time is the \
         sum of all rounds, the system's own share included; peak memory the largest of all.\n"
    );
    println!(
        "| command | 1 h | 10 h | time, 10 h to 1 h | processor time | peak 1 h | peak 10 h |"
    );
    println!("|---|---|---|---|---|---|---|");
    for (name, [one, ten]) in [("export", &exports), ("check", &checks)] {
        let ratio = Spread::of((one.iter().zip(ten)).map(|(one, ten)| ten.seconds / one.seconds));
        println!(
            "| `cuelane {name}` | {:.2} s | {:.2} s | {:.1} ({:.1} to {:.1}) | {} | {} | {} |",
            median(one),
            median(ten),
            ratio.median,
            ratio.least,
            ratio.most,
            processor_ratio(one, ten),
            mib(one),
            mib(ten)
        );
    }
    println!(
        "\nWanted: 9 to 11 times the time, peaks under 24 MiB. {}\n",
        machine::load()
    );
}

fn median(taken: &[Taken]) -> f64 {
    Spread::of(taken.iter().map(|taken| taken.seconds)).median
}

/// How much more processor time ten hours took than one, over all rounds.
fn processor_ratio(one: &[Taken], ten: &[Taken]) -> String {
    let sum = |taken: &[Taken]| -> Option<f64> { taken.iter().map(|one| one.processor_s).sum() };
    match (sum(one), sum(ten)) {
        (Some(one), Some(ten)) => format!("{:.1}", ten / one),
        _ => "not told by this system".into(),
    }
}
