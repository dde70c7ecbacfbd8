//! The rows of a log that are one trial of one swimmer.

use crate::cli::shared::swum::say_broken;
use crate::cli::shared::words::count;
use crate::error::{Error, Result};
use crate::files::open_log;
use crate::model::log::{Log, LogLine};
use crate::units::Length;

/// A log's rows that belong to trials, swum in this pool; and for each broken line the row before it, or the first
/// row of all, where there is one.
///
/// # Errors
/// When the log cannot be read.
pub fn of_trials(file: &str, pool: &Length) -> Result<(Log, Vec<Option<usize>>)> {
    let mut rows = open_log(file)?.in_pool(pool);
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
        file: file.into(),
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
    pub lines: Vec<&'a LogLine>,
}

/// Picks the rows of the trial and the swimmer that were asked for, or of the only ones there are.
///
/// # Errors
/// When the log holds none of them, or several and none was asked for.
pub fn choose<'a>(log: &'a Log, trial: Option<&str>, swimmer: Option<&str>) -> Result<Chosen<'a>> {
    let mut lines: Vec<&LogLine> = log.rows.iter().collect();
    let mut only = |what, asked, name: fn(&'a LogLine) -> &'a str| {
        let mut names: Vec<&str> = Vec::new();
        for line in &lines {
            if !names.contains(&name(line)) {
                names.push(name(line));
            }
        }
        let one = one_of(what, names, asked, log)?;
        lines.retain(|line| name(line) == one);
        Ok(one)
    };
    Ok(Chosen {
        trial: only("trial", trial, |line| &line.row.trial)?,
        swimmer: only("swimmer", swimmer, |line| &line.row.swimmer)?,
        lines,
    })
}

/// The one name there is, or the one that was asked for.
fn one_of<'a>(what: &str, names: Vec<&'a str>, asked: Option<&str>, log: &Log) -> Result<&'a str> {
    let file = &log.file;
    let listed = || {
        let quoted: Vec<String> = names.iter().map(|name| format!("{name:?}")).collect();
        quoted.join(", ")
    };
    match (&names[..], asked) {
        ([], _) if !log.broken.is_empty() => {
            say_broken(file, &log.broken);
            let refused = count(log.broken.len(), "line");
            Err(Error::input(format!(
                "nothing that could be read: {refused} left out, see above"
            ))
            .at(file)
            .accepted("the same lines, mended"))
        }
        ([], _) => Err(Error::input("no row of this log belongs to a trial")
            .at(file)
            .accepted("rows whose column trial names one, as trial new writes them")
            .example("cuelane trial new --out trial-alex --swimmer alex.toml")),
        (names, Some(asked)) => {
            (names.iter().copied().find(|name| *name == asked)).ok_or_else(|| {
                Error::input(format!("no {what} {asked:?} in this log"))
                    .at(file)
                    .accepted(listed())
            })
        }
        ([one], None) => Ok(one),
        ([first, ..], None) => Err(Error::input(format!(
            "this log holds several: {what}s {}",
            listed()
        ))
        .at(file)
        .accepted(format!("--{what} with one of them"))
        .example(format!("--{what} {first:?}"))),
    }
}
