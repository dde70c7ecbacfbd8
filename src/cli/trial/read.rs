//! `trial read`: from a filled-in log to a sentence.

use super::choose::{Chosen, choose, of_trials};
use super::read_view::{TrialRead, TrialReport};
use crate::analysis::paired::{DRAWS, DRAWS_SEED, MOST_PAIRS};
use crate::analysis::trial::{Aside, Conditions, Pair, Paired, TrialSwim, pairs, read};
use crate::analysis::trial_verdict::decide;
use crate::cli::shared::out;
use crate::cli::shared::report::tell;
use crate::cli::shared::swum::{Swam, WaterArgs};
use crate::error::{Error, Result};
use crate::model::log::{Broken, Kept, Log, LogLine, Strokes, Water};
use crate::model::trial_looks::TrialLooks;
use crate::units::to_f64;

#[derive(Debug, clap::Args)]
pub struct ReadTrialArgs {
    /// The log, filled in (- is standard input)
    log: String,
    /// Which trial, where the log holds several
    #[arg(long, value_name = "NAME")]
    trial: Option<String>,
    /// Whose swims, where the log holds several: the name in the log, or the swimmer's file
    #[arg(long, value_name = "NAME|FILE")]
    swimmer: Option<String>,
    /// The pool, for strokes noted by the length [default: that of the swimmer's file, or 25 m]
    #[arg(long, value_name = "LENGTH")]
    pool: Option<String>,
    /// Add every pair, the tests' figures, and what is held to how many chances
    #[arg(long, conflicts_with = "json")]
    detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

/// So many notes are shown one by one: a log full of faults must not bury the result.
const NOTES_SHOWN: usize = 20;

/// Runs `trial read`.
pub fn run(args: &ReadTrialArgs) -> Result<()> {
    let Swam { name, water, .. } = Swam::new(&WaterArgs {
        swimmer: args.swimmer.clone(),
        pool: args.pool.clone(),
        push_off: None,
        glide: None,
    })?;
    let (log, near) = of_trials(&args.log, &water.pool)?;
    let chosen = choose(&log, args.trial.as_deref(), name.as_deref())?;
    let mut swims: Vec<TrialSwim> = chosen.lines.iter().map(|line| swim(line, &water)).collect();
    swims.extend(broken_swims(&log.broken, &near, &chosen));
    swims.sort_by_key(|swim| swim.line);
    let paired = pairs(&swims);
    let count = paired.pairs.len();
    if count > MOST_PAIRS {
        return Err(Error::input(format!("found {count} pairs in one trial"))
            .at(&args.log)
            .accepted(format!("at most {MOST_PAIRS}")));
    }
    let reading = read(&paired.pairs);
    let drawn = drawn(&chosen);
    let decision = decide(&paired.pairs, &drawn, &reading);
    let mut notes = notes(&log, &chosen, &paired, &water);
    if !reading.exact() {
        notes.push(format!(
            "with {count} pairs P is no longer counted: {DRAWS} ways to set the signs were drawn \
             (seed {DRAWS_SEED})"
        ));
    }
    notes.extend(of_all(&chosen, paired.open));
    for note in notes.iter().take(NOTES_SHOWN) {
        out::note(&format!("note: {note}"));
    }
    if notes.len() > NOTES_SHOWN {
        let more = notes.len() - NOTES_SHOWN;
        out::note(&format!("note: and {more} more, all of them in --json"));
    }
    let read = TrialRead {
        chosen: &chosen,
        paired: &paired,
        reading: &reading,
        drawn: &drawn,
        decision: &decision,
    };
    tell(&TrialReport::new(read, &notes, args.detail), args.json)
}

/// What the rows say about looks, each once.
fn drawn(chosen: &Chosen) -> Vec<TrialLooks> {
    let mut drawn: Vec<TrialLooks> = Vec::new();
    for looks in chosen
        .lines
        .iter()
        .filter_map(|line| line.row.trial_looks.as_ref())
    {
        if !drawn.contains(looks) {
            drawn.push(looks.clone());
        }
    }
    drawn
}

/// What is worth a word of the swims as a whole, of which so many pairs are not filled in.
fn of_all(chosen: &Chosen, open: usize) -> impl Iterator<Item = String> {
    let day = "all swims are of one day: over two days or more, a day's form cannot pass for a \
               pairing's";
    let open = match open {
        0 => None,
        1 => Some("1 pair is not filled in".into()),
        n => Some(format!("{n} pairs are not filled in")),
    };
    let day = one_day(chosen).then(|| day.to_string());
    day.into_iter().chain(open)
}

/// Whether several swims were timed, and all on one date.
fn one_day(chosen: &Chosen) -> bool {
    let timed = chosen.lines.iter().filter(|line| line.row.time.is_some());
    let mut dates: Vec<_> = timed.map(|line| line.row.date).collect();
    let swims = dates.len();
    dates.sort_unstable();
    dates.dedup();
    swims > 2 && matches!(dates[..], [Some(_)])
}

fn swim(line: &LogLine, water: &Water) -> TrialSwim {
    let row = &line.row;
    let text = |shown: Option<String>| shown.unwrap_or_default();
    // Equal lengths and rates are equal in whatever unit they were written.
    let metres = row
        .distance
        .as_ref()
        .map(|distance| distance.metres().to_string());
    let lengths = row
        .distance
        .as_ref()
        .map(|distance| water.lengths(distance));
    let strokes = row.strokes.as_ref().and_then(|strokes| {
        let by_length = matches!(strokes, Strokes::PerLength(_));
        match (lengths, by_length) {
            (Some(lengths), _) => Some(to_f64(&strokes.total(lengths))),
            (None, true) => None,
            (None, false) => Some(to_f64(&strokes.total(1))),
        }
    });
    TrialSwim {
        line: line.line,
        pairing: row.pairing,
        conditions: Conditions {
            distance: text(metres),
            rate: text(row.rate_cued.as_ref().map(|rate| rate.spm().to_string())),
            kick: text(row.kick.map(|kick| kick.word().to_string())),
        },
        date: text(row.date.map(|date| date.to_string())),
        noted: [
            row.time.as_ref().map(|time| to_f64(time.s())),
            strokes,
            row.effort.as_ref().map(to_f64),
        ],
        kept: matches!(row.kept, Some(Kept::Yes | Kept::Part)),
    }
}

/// Broken lines right behind a swim of this trial, or before the log's first row: they are taken
/// for swims of the trial of which nothing could be read.
fn broken_swims(broken: &[Broken], near: &[Option<usize>], chosen: &Chosen) -> Vec<TrialSwim> {
    let ours = |near: &Option<usize>| {
        near.is_some_and(|near| {
            let found = chosen.lines.binary_search_by_key(&near, |line| line.line);
            found.is_ok()
        })
    };
    let unread = |broken: &Broken| TrialSwim {
        line: broken.line,
        pairing: None,
        conditions: Conditions::default(),
        date: String::new(),
        noted: [None; 3],
        kept: false,
    };
    (broken.iter().zip(near))
        .filter(|(_, near)| ours(near))
        .map(|(broken, _)| unread(broken))
        .collect()
}

/// What was set aside or is worth a word.
fn notes(log: &Log, chosen: &Chosen, paired: &Paired, water: &Water) -> Vec<String> {
    let mut notes = log.notes.clone();
    notes.extend(
        log.broken.iter().map(|Broken { line, why }| {
            format!("line {line} does not hold and is left out: {why}")
        }),
    );
    notes.extend(
        (paired.aside.iter())
            .map(|Aside { line, why }| format!("line {line} is in no pair: {why}")),
    );
    for Pair { same, opposite } in &paired.pairs {
        if same.date != opposite.date {
            notes.push(format!(
                "lines {} and {} are a pair on two days; it counts, but days differ",
                same.line.min(opposite.line),
                same.line.max(opposite.line)
            ));
        }
    }
    let by_length = |line: &&LogLine| matches!(line.row.strokes, Some(Strokes::PerLength(_)));
    if chosen.lines.iter().any(by_length) {
        notes.push(format!(
            "strokes by the length are counted over lengths of {}",
            water.pool
        ));
    }
    notes
}
