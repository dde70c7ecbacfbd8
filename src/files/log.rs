//! The log, read: CSV in, rows out, one after another.
//!
//! Every row that holds is given; lines that do not are named, and stay in the file: nothing here
//! writes. A field's text and its value are one to one, both ways.

use std::io::Read;

use super::csv::{self, Record, Short, Table};
use super::key_value::nearest;
use crate::error::{Error, Result};
use crate::model::log::{Broken, COLUMNS, Kept, LOOKS_COLUMN, Log, LogLine, Row, SPLITS, Strokes};
use crate::model::trial_looks::TrialLooks;
use crate::model::value::words;
use crate::units::{
    Length, Quantity, Rate, Time, decimal, exact, is_bare, print_decimal, with_unit,
};

/// The rows of a log or an import, read as they are asked for.
pub struct Rows<'a> {
    /// The file, as messages name it.
    pub file: String,
    /// Lines so far that do not hold. They stay in the file as they are.
    pub broken: Vec<Broken>,
    /// What was accepted and is worth saying; whole once the last row was read.
    pub notes: Vec<String>,
    /// None at the end.
    table: Option<Table<'a>>,
    row_of: RowOf,
    /// The unit of a distance without one.
    bare: &'static str,
    /// Whether a distance had none.
    had_bare: bool,
}

/// What a record says as a row, its bare distances in this unit; and whether there was one.
pub(super) type RowOf = Box<dyn Fn(&Record, &str) -> Result<(Row, bool), String>>;

impl<'a> Rows<'a> {
    /// The rows of a log that is open; a file without a line has none.
    ///
    /// # Errors
    /// When the header is not a log's.
    pub(super) fn of_log(file: &str, table: Option<Table<'a>>) -> Result<Self> {
        let mut notes = Vec::new();
        let mut columns = Vec::new();
        if let Some(table) = &table {
            check_header(table)?;
            notes = header_notes(table);
            columns = (table.header.iter())
                .map(|name| (name.clone(), is_text(name)))
                .collect();
        }
        Ok(Self {
            file: file.to_string(),
            broken: Vec::new(),
            notes,
            table,
            row_of: Box::new(move |record, bare| row_of(record, &columns, bare)),
            bare: "m",
            had_bare: false,
        })
    }

    /// The rows of somebody else's table.
    pub(super) fn of_table(table: Table<'a>, row_of: RowOf) -> Self {
        Self {
            file: table.file.clone(),
            broken: Vec::new(),
            notes: table.separator_note().into_iter().collect(),
            table: Some(table),
            row_of,
            bare: "m",
            had_bare: false,
        }
    }

    /// Takes distances without a unit in that of this pool; else they are metres.
    #[must_use]
    pub fn in_pool(mut self, pool: &Length) -> Self {
        self.bare = if pool.in_yards() { "yd" } else { "m" };
        self
    }

    /// The next row that holds; nothing at the end.
    ///
    /// # Errors
    /// When the file cannot be read on.
    pub fn read(&mut self) -> Result<Option<LogLine>> {
        let Some(table) = &mut self.table else {
            return Ok(None);
        };
        while let Some(found) = table.read()? {
            let (line, row) = match found {
                Ok(record) => (record.line, (self.row_of)(&record, self.bare)),
                Err(slip) => (slip.line, Err(slip.why.to_string())),
            };
            match row {
                Ok((row, had_bare)) => {
                    self.had_bare |= had_bare;
                    return Ok(Some(LogLine { line, row }));
                }
                Err(why) => self.broken.push(Broken { line, why }),
            }
        }
        self.notes.extend(table.comma_note());
        if self.had_bare {
            let bare = self.bare;
            (self.notes).push(format!(
                "distances without a unit are taken as {bare}, the pool's"
            ));
        }
        self.table = None;
        Ok(None)
    }

    /// All of them.
    ///
    /// # Errors
    /// Those of [`Rows::read`].
    pub fn all(mut self) -> Result<Log> {
        let mut rows = Vec::new();
        while let Some(line) = self.read()? {
            rows.push(line);
        }
        Ok(Log {
            file: self.file,
            rows,
            broken: self.broken,
            notes: self.notes,
        })
    }
}

/// Opens a log, to be read row by row; `-` is standard input. A file without a line is a log
/// without rows.
///
/// # Errors
/// When it cannot be read, or its header is not a log's. Broken lines are no error.
pub fn open_log(file: &str) -> Result<Rows<'static>> {
    of_log(super::name_of(file), csv::open(file)?)
}

/// Parses a log's bytes; `file` is the name for messages.
///
/// # Errors
/// When the header is not a log's.
pub fn parse_log(file: &str, bytes: &[u8]) -> Result<Log> {
    of_log(file, bytes)?.all()
}

fn of_log<'a>(file: &str, from: impl Read + 'a) -> Result<Rows<'a>> {
    Rows::of_log(file, log_table(file, from)?)
}

/// A log's table. Its times may stand in a column `time_s`.
///
/// # Errors
/// Those of [`Table::of`].
pub(super) fn log_table<'a>(file: &str, from: impl Read + 'a) -> Result<Option<Table<'a>>> {
    let mut table = Table::of(file, from, Short::Broken)?;
    let names = table.iter_mut().flat_map(|table| &mut table.header);
    for name in names.filter(|name| *name == "time_s") {
        *name = "time".into();
    }
    Ok(table)
}

/// A record as a row: of each column its name, and whether it holds free text. A bare time is in
/// seconds, a bare distance in the unit given; whether there was one is told.
fn row_of(record: &Record, columns: &[(String, bool)], unit: &str) -> Result<(Row, bool), String> {
    let (mut row, mut bare) = (Row::default(), false);
    for (at, (column, is_text)) in columns.iter().enumerate() {
        if *is_text {
            set_field(&mut row, column, record.field(at))?;
            continue;
        }
        let number = record.number(at);
        let text = match column.as_str() {
            "time" => with_unit(&number, "s"),
            "distance" => {
                bare = is_bare(&number);
                with_unit(&number, unit)
            }
            _ => number.into_owned(),
        };
        set_field(&mut row, column, &text)?;
    }
    Ok((row, bare))
}

/// Columns of free text, where a comma is a comma.
fn is_text(column: &str) -> bool {
    matches!(column, "swimmer" | "session" | "set" | "trial" | "note") || !COLUMNS.contains(&column)
}

pub(super) fn check_header(table: &Table) -> Result<()> {
    table.each_once()?;
    let lacking = |name: &&str| table.column(name).is_none();
    match ["distance", "time"].into_iter().find(lacking) {
        None => Ok(()),
        Some(name) => {
            let near = table.is_it(name, &COLUMNS);
            Err(
                Error::input(format!("not a log: the header has no column {name}{near}"))
                    .at(&table.file)
                    .accepted(format!("a CSV file with the columns {}", COLUMNS.join(","))),
            )
        }
    }
}

fn header_notes(table: &Table) -> Vec<String> {
    let mut notes: Vec<String> = table.separator_note().into_iter().collect();
    let missing: Vec<&str> = (COLUMNS.into_iter())
        .filter(|column| table.column(column).is_none())
        .collect();
    for name in table.header.iter().filter(|name| {
        !COLUMNS.contains(&name.as_str()) && ![LOOKS_COLUMN, SPLITS].contains(&name.as_str())
    }) {
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

/// Sets one field of a row where it is open, from its text; an empty text leaves it so.
///
/// # Errors
/// Those of [`set_field`].
pub fn set_open_field(row: &mut Row, column: &str, text: &str) -> Result<(), String> {
    if field(row, column).is_empty() {
        set_field(row, column, text)
    } else {
        Ok(())
    }
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
        LOOKS_COLUMN => row.trial_looks = Some(TrialLooks::parse(text)?),
        SPLITS => row.splits = splits(text)?,
        other => row.other.push((other.to_string(), text.to_string())),
    }
    Ok(())
}

/// `24.1 s;49 s`: times since the start, each later than the one before.
fn splits(text: &str) -> Result<Vec<Time>, String> {
    let read = |part: &str| above_zero(Time::parse(&with_unit(part, "s"))?, Time::s);
    let splits = (text.split(';').map(str::trim).map(read)).collect::<Result<Vec<_>, _>>()?;
    let ascend = splits.windows(2).all(|pair| pair[0] < pair[1]);
    if ascend {
        Ok(splits)
    } else {
        Err(format!(
            "found {text:?}; each split is a time since the start, later than the one before"
        ))
    }
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

fn effort(text: &str) -> Result<crate::units::Fix, String> {
    match decimal(text)? {
        value if value < exact(0) || value > exact(10) => Err(format!(
            "found {text}, outside 0 (rest) to 10 (all you have)"
        )),
        value => Ok(value),
    }
}

fn above_zero<Q>(quantity: Q, value: impl Fn(&Q) -> &crate::units::Fix) -> Result<Q, String> {
    if *value(&quantity) > exact(0) {
        Ok(quantity)
    } else {
        Err("found nothing or less; it must be above zero".into())
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
        LOOKS_COLUMN => text(&row.trial_looks),
        SPLITS => {
            let splits: Vec<String> = row.splits.iter().map(Time::to_string).collect();
            splits.join(";")
        }
        other => {
            let found = row.other.iter().find(|(name, _)| name == other);
            found.map(|(_, value)| value.clone()).unwrap_or_default()
        }
    }
}
