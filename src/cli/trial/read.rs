//! `trial read`: from a filled-in log to a sentence.

use super::ReadArgs;
use super::report::{as_json, in_words};
use crate::analysis::paired::{DRAWS_SEED, MOST_PAIRS};
use crate::analysis::trial::{Aside, Conditions, Pair, Paired, TrialSwim, pairs, read};
use crate::cli::shared::out;
use crate::cli::shared::swum::{Swam, WaterArgs};
use crate::error::{Error, Result};
use crate::files::open_log;
use crate::model::log::{Broken, Kept, Log, LogLine, Strokes, Water};
use crate::units::to_f64;

/// So many notes are shown one by one: a log full of faults must not bury the result.
const NOTES_SHOWN: usize = 20;

/// Runs `trial read`.
pub fn run(args: &ReadArgs) -> Result<()> {
    let Swam { name, water, .. } = Swam::new(&WaterArgs {
        swimmer: args.swimmer.clone(),
        pool: args.pool.clone(),
        push_off: None,
        glide: None,
    })?;
    let (log, near) = of_trials(&args.log)?;
    let chosen = choose(&log, args, name.as_deref())?;
    let mut swims: Vec<TrialSwim> = chosen.lines.iter().map(|line| swim(line, &water)).collect();
    swims.extend(broken_swims(&log.broken, &near, &chosen));
    swims.sort_by_key(|swim| swim.line);
    let Paired { pairs, aside, open } = pairs(&swims);
    if pairs.len() > MOST_PAIRS {
        return Err(
            Error::input(format!("found {} pairs in one trial", pairs.len()))
                .at(&args.log)
                .accepted(format!("at most {MOST_PAIRS}")),
        );
    }
    let reading = read(&pairs);
    let mut notes = notes(&log, &chosen, &pairs, &aside, &water);
    if !reading.exact {
        notes.push(format!(
            "with {} pairs P is no longer counted: {} ways to set the signs were drawn (seed \
             {DRAWS_SEED})",
            pairs.len(),
            reading.ways - 1
        ));
    }
    if one_day(&chosen) {
        notes.push(
            "all swims are of one day: over two days or more, a day's form cannot pass for a \
             pairing's"
                .into(),
        );
    }
    if open > 0 {
        let them = if open == 1 {
            "1 pair is"
        } else {
            &format!("{open} pairs are")
        };
        notes.push(format!("{them} not filled in"));
    }
    for note in notes.iter().take(NOTES_SHOWN) {
        out::note(&format!("note: {note}"));
    }
    if notes.len() > NOTES_SHOWN {
        let more = notes.len() - NOTES_SHOWN;
        out::note(&format!("note: and {more} more, all of them in --json"));
    }
    if args.json {
        out::json(&as_json(&chosen, &pairs, &reading, &aside, &notes))
    } else {
        out::result(&in_words(&chosen, &pairs, &reading, args.detail))
    }
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

/// A log's rows that belong to trials; and for each broken line the row before it, or the first
/// row of all, where there is one.
fn of_trials(file: &str) -> Result<(Log, Vec<Option<usize>>)> {
    let mut rows = open_log(file)?;
    let (mut kept, mut near, mut last) = (Vec::new(), Vec::new(), None);
    loop {
        let next = rows.read()?;
        let number = next.as_ref().map(|line| line.line);
        near.resize(rows.broken.len(), last.or(number));
        let Some(line) = next else { break };
        last = number;
        if !line.row.trial.is_empty() {
            kept.push(line);
        }
    }
    let log = Log {
        file: rows.file,
        rows: kept,
        broken: rows.broken,
        notes: rows.notes,
    };
    Ok((log, near))
}

/// The rows of one trial of one swimmer.
pub struct Chosen<'a> {
    pub trial: &'a str,
    pub swimmer: &'a str,
    lines: Vec<&'a LogLine>,
}

fn choose<'a>(log: &'a Log, args: &ReadArgs, swimmer: Option<&str>) -> Result<Chosen<'a>> {
    let lines: Vec<&LogLine> = log.rows.iter().collect();
    let names = |lines: &[&'a LogLine], name: fn(&'a LogLine) -> &'a str| {
        let mut names: Vec<&str> = Vec::new();
        for line in lines {
            if !names.contains(&name(line)) {
                names.push(name(line));
            }
        }
        names
    };
    let trial_of: fn(&'a LogLine) -> &'a str = |line| &line.row.trial;
    let swimmer_of: fn(&'a LogLine) -> &'a str = |line| &line.row.swimmer;
    let trial = one_of(
        "trial",
        names(&lines, trial_of),
        args.trial.as_deref(),
        &args.log,
    )?;
    let lines: Vec<&LogLine> = lines
        .into_iter()
        .filter(|line| trial_of(line) == trial)
        .collect();
    let swimmer = one_of("swimmer", names(&lines, swimmer_of), swimmer, &args.log)?;
    let lines = lines
        .into_iter()
        .filter(|line| swimmer_of(line) == swimmer)
        .collect();
    Ok(Chosen {
        trial,
        swimmer,
        lines,
    })
}

/// The one name there is, or the one that was asked for.
fn one_of<'a>(what: &str, names: Vec<&'a str>, asked: Option<&str>, log: &str) -> Result<&'a str> {
    let listed = || {
        let quoted: Vec<String> = names.iter().map(|name| format!("{name:?}")).collect();
        quoted.join(", ")
    };
    match (&names[..], asked) {
        ([], _) => Err(Error::input("no row of this log belongs to a trial")
            .at(log)
            .accepted("rows whose column trial names one, as trial new writes them")
            .example("cuelane trial new --out trial-alex --swimmer alex.toml")),
        (names, Some(asked)) => {
            (names.iter().copied().find(|name| *name == asked)).ok_or_else(|| {
                Error::input(format!("no {what} {asked:?} in this log"))
                    .at(log)
                    .accepted(listed())
            })
        }
        ([one], None) => Ok(one),
        ([first, ..], None) => Err(Error::input(format!(
            "this log holds several: {what}s {}",
            listed()
        ))
        .at(log)
        .accepted(format!("--{what} with one of them"))
        .example(format!("--{what} {first:?}"))),
    }
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
fn notes(
    log: &Log,
    chosen: &Chosen,
    pairs: &[Pair],
    aside: &[Aside],
    water: &Water,
) -> Vec<String> {
    let mut notes = log.notes.clone();
    for broken in &log.broken {
        notes.push(format!(
            "line {} does not hold and is left out: {}",
            broken.line, broken.why
        ));
    }
    for swim in aside {
        notes.push(format!("line {} is in no pair: {}", swim.line, swim.why));
    }
    for pair in pairs
        .iter()
        .filter(|pair| pair.same.date != pair.opposite.date)
    {
        let (one, other) = (pair.same.line, pair.opposite.line);
        notes.push(format!(
            "lines {} and {} are a pair on two days; it counts, but days differ",
            one.min(other),
            one.max(other)
        ));
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
