//! `timing --log --row`: whether the kick was kept, written into the swim's row.

use std::io::{IsTerminal, stderr, stdin};

use crate::analysis::came::KeptKicks;
use crate::analysis::timing::Timing;
use crate::cli::shared::came::kept_in_words;
use crate::cli::shared::cued::{ByCues, Cued};
use crate::cli::shared::out;
use crate::cli::shared::words::{Page, fill};
use crate::error::{Error, Result};
use crate::files::{RowName, in_words, rows_named, several_named, write_kept};
use crate::model::log::{Kept, LogLine, Row};

/// A row that was written into.
pub struct Logged<'a> {
    file: &'a str,
    /// As it was.
    pub was: LogLine,
    pub kept: Kept,
    /// The set's name and the repeat that the film most likely shows, where the row names another.
    shows: Option<String>,
}

const EXAMPLE: &str = "--log log.csv --row \"date=2026-10-04, set=Hold, repeat=3\"";

/// Reads what names the row: `date=2026-10-04, set=Hold, repeat=3`.
///
/// # Errors
/// At the first part that names nothing.
pub fn row_name(text: &str) -> Result<RowName> {
    let mut name = RowName::default();
    for part in text.split(',').map(str::trim) {
        let refuse = || {
            Error::input(format!("found {part:?}"))
                .at("--row")
                .accepted(
                    "some of date=, swimmer=, session=, set= and repeat=, with commas between",
                )
                .example(EXAMPLE)
        };
        let (key, value) = part.split_once('=').ok_or_else(refuse)?;
        let value = value.trim();
        match key.trim() {
            "date" => name.date = Some(value.parse().map_err(|_| refuse())?),
            "swimmer" => name.swimmer = Some(value.into()),
            "session" => name.session = Some(value.into()),
            "set" => name.set = Some(value.into()),
            "repeat" => name.repeat = Some(value.parse().map_err(|_| refuse())?),
            _ => return Err(refuse()),
        }
    }
    Ok(name)
}

impl<'a> Logged<'a> {
    /// Writes what the film says into the row. Where several rows are so named, the one is asked for;
    /// nothing is written without an answer.
    ///
    /// # Errors
    /// When it says nothing of the kick, no row is named, or several and there is no terminal to ask at.
    pub fn write(
        (file, row): (&'a str, &str),
        swimmer: Option<&str>,
        timing: &Timing,
        by_cues: &ByCues,
    ) -> Result<Option<Self>> {
        let name = row_name(row)?;
        if let Some(doubt) = timing.feet_crossed().or(by_cues.doubt.as_ref()) {
            return Err(Error::input(format!("nothing is written: {}", doubt.text)).at("--log"));
        }
        let told = by_cues
            .cued
            .as_ref()
            .and_then(|cued| Some((cued, cued.came.kept?)));
        let (cued, kept) = told.ok_or_else(|| {
            Error::input("whether the kick was kept cannot be told from this film")
                .at("--log")
                .accepted(
                    "a film whose cues have times, in a set with kick cues, with six marked kicks or more",
                )
        })?;
        let mut named = rows_named(file, &name)?;
        let one = match named.len() {
            1 => named.pop(),
            _ if stdin().is_terminal() && stderr().is_terminal() => ask(file, named, &kept)?,
            _ => return Err(several_named(file, &named)),
        };
        let Some(was) = one else {
            out::note(&format!("{file} stays as it is."));
            return Ok(None);
        };
        if let Some(differs) = other_swim(&was.row, swimmer, cued) {
            return Err(
                Error::input(format!("it is a row of another swim: {differs}"))
                    .at(format_args!("{file}:{}", was.line))
                    .accepted("the row of the swim that was filmed")
                    .example(EXAMPLE),
            );
        }
        write_kept(file, &was, kept.kept)?;
        Ok(Some(Self {
            file,
            shows: other_repeat(&was.row, cued),
            was,
            kept: kept.kept,
        }))
    }

    /// What was written.
    pub fn words(&self, to: &mut Page) {
        let before = self.was.row.kept.map_or("empty", Kept::word);
        to.gap();
        to.fill(format!(
            "Wrote kept = {} into {}, line {} ({}); it was {before}. Nothing else in it changed.",
            self.kept.word(),
            self.file,
            self.was.line,
            in_words(&self.was.row)
        ));
        if let Some(shows) = &self.shows {
            to.fill(format!(
                "Is it the right row? The film most likely shows {shows}."
            ));
        }
    }
}

/// What a row says of its swim that the film cannot be of.
fn other_swim(row: &Row, swimmer: Option<&str>, cued: &Cued) -> Option<String> {
    let name = swimmer.filter(|name| !row.swimmer.is_empty() && row.swimmer != **name);
    let pairing = (row.pairing.zip(cued.pairing)).filter(|(row, cued)| row != cued);
    match (name, pairing) {
        (Some(name), _) => Some(format!(
            "its swimmer is {}, and --swimmer is {name}",
            row.swimmer
        )),
        (None, Some((row, cued))) => {
            Some(format!("its pairing is {row}, and the session cues {cued}"))
        }
        (None, None) => None,
    }
}

/// The swim that the film most likely shows, where a row names another: sets are named freely in logs
/// kept by hand, so that this is no more than a question.
fn other_repeat(row: &Row, cued: &Cued) -> Option<String> {
    let repeat = cued.repeat?;
    let (number, set) = &cued.set;
    let differs = (!row.set.is_empty() && row.set != *set)
        || row.repeat.is_some_and(|of_row| of_row != repeat);
    differs.then(|| format!("set {number} ({set}), repeat {repeat}"))
}

/// Most rows that one is asked to choose from: they stand on one screen.
const MOST_ASKED: usize = 15;

/// Asks which of several rows it is, the last one first; none where the answer is empty.
fn ask(file: &str, named: Vec<LogLine>, kept: &KeptKicks) -> Result<Option<LogLine>> {
    out::note(&fill(&kept_in_words(kept)));
    let all = named.len();
    let mut last: Vec<LogLine> = named.into_iter().rev().take(MOST_ASKED).collect();
    let only = if last.len() < all {
        format!(" The last {MOST_ASKED} are listed; say more of the others (--row).")
    } else {
        String::new()
    };
    out::note(&fill(&format!("{all} rows of {file} are so named.{only}")));
    for (at, line) in last.iter().enumerate() {
        let (number, row) = (at + 1, swim_in_words(&line.row));
        out::note(&format!("{number:>4}  line {}: {row}", line.line));
    }
    let question = format!("Which one, 1 to {}? (empty: none) ", last.len());
    loop {
        let answer = out::ask(&question)?.unwrap_or_default();
        if answer.is_empty() {
            return Ok(None);
        }
        match answer.parse::<usize>() {
            Ok(number) if (1..=last.len()).contains(&number) => {
                return Ok(Some(last.swap_remove(number - 1)));
            }
            _ => out::note(&format!("  found {answer:?}, which is no number of a row")),
        }
    }
}

/// What names a row, and what tells it from others of that name.
fn swim_in_words(row: &Row) -> String {
    let swum = [
        row.distance.as_ref().map(ToString::to_string),
        row.time.as_ref().map(ToString::to_string),
        row.kept.map(|kept| format!("kept {}", kept.word())),
    ];
    let swum: Vec<String> = swum.into_iter().flatten().collect();
    format!("{}; {}", in_words(row), swum.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_named_by_some_of_five_things() {
        let name = row_name("date=2026-10-04, set=Hold the rate,repeat = 3").expect("a name");
        assert_eq!(name.set.as_deref(), Some("Hold the rate"));
        assert_eq!((name.repeat, name.swimmer), (Some(3), None));
        assert_eq!(
            name.date.map(|date| date.to_string()).as_deref(),
            Some("2026-10-04")
        );
        for wrong in ["", "Hold", "lane=4", "repeat=third", "date=4.10.2026"] {
            let message = row_name(wrong).expect_err(wrong).to_string();
            assert!(message.starts_with("--row: found"), "{message}");
        }
    }
}
