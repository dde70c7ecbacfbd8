//! The log, read: CSV in, rows out (design 5).
//!
//! Every row that holds is given; lines that do not are named, and stay in the file: nothing here
//! writes. A field's text and its value are one to one, both ways.

use std::fs::File;
use std::io::{self, Read};

use super::csv::Table;
use super::entry::nearest;
use crate::error::{Error, Result};
use crate::model::log::{Broken, COLUMNS, Kept, Line, Log, Row, Strokes};
use crate::model::value::words;
use crate::units::{Length, Quantity, Rate, Time, decimal, exact, print_decimal};

/// The largest log that is read, in bytes: some hundred swimmers' years.
pub(super) const LARGEST_BYTES: u64 = 64 << 20;

/// Reads a log; `-` is standard input. A file without a line is a log without rows.
///
/// # Errors
/// When it cannot be read, or its header is not a log's. Broken lines are no error.
pub fn read_log(file: &str) -> Result<Log> {
    parse_log(super::name_of(file), &read_bytes(file)?)
}

/// Parses a log's bytes; `file` is the name for messages.
///
/// # Errors
/// When the header is not a log's.
pub fn parse_log(file: &str, bytes: &[u8]) -> Result<Log> {
    let mut log = Log {
        file: file.to_string(),
        ..Log::default()
    };
    let Some(mut table) = Table::parse(file, bytes)? else {
        return Ok(log);
    };
    check_header(&table)?;
    log.notes = header_notes(&table);
    log.broken = std::mem::take(&mut table.broken);
    let mut with_comma = 0;
    for record in &table.records {
        let mut row = Row::default();
        let read: Result<(), String> = (table.header.iter().zip(&record.fields))
            .filter(|(_, field)| !field.is_empty())
            .try_for_each(|(column, field)| match is_text(column) {
                true => set_field(&mut row, column, field),
                false => {
                    let (field, had_comma) = table.with_point(field);
                    with_comma += usize::from(had_comma);
                    set_field(&mut row, column, &field)
                }
            });
        let line = record.line;
        match read {
            Ok(()) => log.rows.push(Line { line, row }),
            Err(why) => log.broken.push(Broken { line, why }),
        }
    }
    log.broken.sort_by_key(|broken| broken.line);
    if with_comma > 0 {
        log.notes
            .push(format!("{with_comma} decimal commas read as points"));
    }
    Ok(log)
}

/// Columns of free text, where a comma is a comma.
fn is_text(column: &str) -> bool {
    matches!(column, "swimmer" | "session" | "set" | "trial" | "note") || !COLUMNS.contains(&column)
}

pub(super) fn check_header(table: &Table) -> Result<()> {
    let lacking = |name: &&str| table.column(name).is_none();
    match ["distance", "time"].iter().find(|name| lacking(name)) {
        None => Ok(()),
        Some(name) => Err(
            Error::input(format!("not a log: the header has no column {name}"))
                .at(&table.file)
                .accepted(format!("a CSV file with the columns {}", COLUMNS.join(","))),
        ),
    }
}

fn header_notes(table: &Table) -> Vec<String> {
    let mut notes = table.separator_note();
    let missing: Vec<&str> = (COLUMNS.into_iter())
        .filter(|column| table.column(column).is_none())
        .collect();
    for name in table
        .header
        .iter()
        .filter(|name| !COLUMNS.contains(&name.as_str()))
    {
        let near = nearest(name, &missing);
        notes.push(match near {
            Some(near) => format!("column {name:?} is kept and not used; did you mean \"{near}\"?"),
            None => format!("column {name:?} is kept and not used"),
        });
    }
    notes
}

/// Sets one field of a row from its text; an empty text leaves it open.
///
/// # Errors
/// Says which column, what was found and what is accepted.
pub fn set_field(row: &mut Row, column: &str, text: &str) -> Result<(), String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(());
    }
    read_field(row, column, text).map_err(|why| format!("{column}: {why}"))
}

fn read_field(row: &mut Row, column: &str, text: &str) -> Result<(), String> {
    match column {
        "date" => row.date = Some(date(text)?),
        "swimmer" => row.swimmer = one_line(text),
        "session" => row.session = one_line(text),
        "set" => row.set = one_line(text),
        "repeat" => row.repeat = Some(repeat(text)?),
        "distance" => row.distance = Some(above_zero(Length::parse(text)?, Length::metres)?),
        "time" => row.time = Some(above_zero(Time::parse(text)?, Time::s)?),
        "strokes" => row.strokes = Some(Strokes::parse(text)?),
        "rate_cued" => row.rate_cued = Some(Rate::parse(text)?),
        "pairing" => row.pairing = Some(word(text, &words())?),
        "kick" => row.kick = Some(word(text, &words())?),
        "effort" => row.effort = Some(effort(text)?),
        "kept" => row.kept = Some(word(text, &Kept::ALL.map(|kept| (kept.word(), kept)))?),
        "trial" => row.trial = one_line(text),
        "note" => row.note = one_line(text),
        other => row.other.push((other.to_string(), text.to_string())),
    }
    Ok(())
}

fn date(text: &str) -> Result<jiff::civil::Date, String> {
    // Only the form with hyphens: the parser also takes times after it and years of six digits.
    let plain = text.len() == 10;
    (text.parse().ok().filter(|_| plain))
        .ok_or_else(|| format!("found {text:?}, which is not a date such as 2026-03-14"))
}

fn repeat(text: &str) -> Result<u64, String> {
    (text
        .parse()
        .ok()
        .filter(|number| (1..=100_000).contains(number)))
    .ok_or_else(|| format!("found {text:?}, which is not the number of a repeat, from 1"))
}

fn effort(text: &str) -> Result<crate::units::Exact, String> {
    match decimal(text)? {
        value if value < exact(0) || value > exact(10) => Err(format!(
            "found {text}, outside 0 (rest) to 10 (all you have)"
        )),
        value => Ok(value),
    }
}

fn above_zero<Q>(quantity: Q, value: impl Fn(&Q) -> &crate::units::Exact) -> Result<Q, String> {
    match *value(&quantity) > exact(0) {
        true => Ok(quantity),
        false => Err("found nothing or less; it must be above zero".into()),
    }
}

fn word<T: Copy>(text: &str, words: &[(&str, T)]) -> Result<T, String> {
    let found = text.to_lowercase();
    (words.iter().find(|(word, _)| *word == found))
        .map(|(_, value)| *value)
        .ok_or_else(|| {
            let all: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let near = nearest(&found, &all).map(|near| format!("; did you mean \"{near}\"?"));
            format!(
                "found {text:?}, not {}{}",
                all.join(", "),
                near.unwrap_or_default()
            )
        })
}

/// A row stays on its line: runs of white space and control characters become one space.
fn one_line(text: &str) -> String {
    let shown = |c: char| if c.is_control() { ' ' } else { c };
    let text: String = text.chars().map(shown).collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A field as the file has it; empty where the row says nothing.
pub(super) fn field(row: &Row, column: &str) -> String {
    fn text<T: ToString>(value: &Option<T>) -> String {
        value.as_ref().map(T::to_string).unwrap_or_default()
    }
    match column {
        "date" => text(&row.date),
        "swimmer" => row.swimmer.clone(),
        "session" => row.session.clone(),
        "set" => row.set.clone(),
        "repeat" => text(&row.repeat),
        "distance" => text(&row.distance),
        "time" => text(&row.time),
        "strokes" => text(&row.strokes),
        "rate_cued" => text(&row.rate_cued),
        "pairing" => text(&row.pairing),
        "kick" => text(&row.kick),
        "effort" => (row.effort.as_ref())
            .and_then(print_decimal)
            .unwrap_or_default(),
        "kept" => row
            .kept
            .map(|kept| kept.word().to_string())
            .unwrap_or_default(),
        "trial" => row.trial.clone(),
        "note" => row.note.clone(),
        other => {
            let found = row.other.iter().find(|(name, _)| name == other);
            found.map(|(_, value)| value.clone()).unwrap_or_default()
        }
    }
}

/// Reads a CSV file whole; `-` is standard input.
pub(super) fn read_bytes(file: &str) -> Result<Vec<u8>> {
    let unreadable = |error: io::Error| Error::input(format!("cannot be read: {error}")).at(file);
    let mut bytes = Vec::new();
    match file {
        "-" => io::stdin()
            .lock()
            .take(LARGEST_BYTES + 1)
            .read_to_end(&mut bytes),
        _ => {
            let open = File::open(file).map_err(unreadable)?;
            if open.metadata().map_err(unreadable)?.is_dir() {
                return Err(Error::input("this is a folder, not a file").at(file));
            }
            open.take(LARGEST_BYTES + 1).read_to_end(&mut bytes)
        }
    }
    .map_err(unreadable)?;
    match bytes.len() as u64 > LARGEST_BYTES {
        true => Err(too_large(file)),
        false => Ok(bytes),
    }
}

pub(super) fn too_large(file: &str) -> Error {
    Error::input("found more than 64 MiB; no log is that large")
        .at(file)
        .accepted("a CSV file of at most 64 MiB")
}
