//! Whether a swim's kick was kept, written into its row; every other byte of the log stays.

use std::ops::Range;

use jiff::civil::Date;

use super::{Held, change};
use crate::error::{Error, Result};
use crate::files::log::{open_log, parse_log};
use crate::model::log::{Kept, LogLine, Row};

/// What names one row of a log: each thing said must be the row's.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RowName {
    /// The day.
    pub date: Option<Date>,
    /// Who swam.
    pub swimmer: Option<String>,
    /// The session's name.
    pub session: Option<String>,
    /// The set's name.
    pub set: Option<String>,
    /// Which repeat of its set, from 1.
    pub repeat: Option<u64>,
}

impl RowName {
    fn is_of(&self, row: &Row) -> bool {
        let same =
            |said: &Option<String>, text: &str| said.as_ref().is_none_or(|said| said == text);
        self.date.is_none_or(|date| row.date == Some(date))
            && same(&self.swimmer, &row.swimmer)
            && same(&self.session, &row.session)
            && same(&self.set, &row.set)
            && self.repeat.is_none_or(|repeat| row.repeat == Some(repeat))
    }
}

/// Most rows that a refusal lists.
const MOST_LISTED: usize = 5;

/// The rows so named, with their lines: one at least.
///
/// # Errors
/// When no row is so named, or the log does not hold.
pub fn rows_named(file: &str, name: &RowName) -> Result<Vec<LogLine>> {
    if !std::path::Path::new(file).exists() {
        return Err(Error::input("there is no such log")
            .at(file)
            .accepted("a log with the swim's row"));
    }
    let rows = open_log(file)?.all()?.rows;
    let (named, others): (Vec<LogLine>, Vec<LogLine>) =
        rows.into_iter().partition(|line| name.is_of(&line.row));
    if named.is_empty() {
        let found = "no row of the log is so named".into();
        return Err(not_one(file, found, &others));
    }
    Ok(named)
}

/// The refusal of a name that several rows have.
pub fn several_named(file: &str, named: &[LogLine]) -> Error {
    let found = format!("{} rows of the log are so named", named.len());
    not_one(file, found, named)
}

/// Writes `kept` into a row that was read before.
///
/// # Errors
/// When the row is not there any more as it was read, the log has no column `kept`, does not hold or
/// cannot be written. Then it is as it was.
pub fn write_kept(file: &str, line: &LogLine, kept: Kept) -> Result<()> {
    change(file, |log| {
        if !parse_log(log.file, &log.bytes)?.rows.contains(line) {
            return Err(Error::input("the row was changed meanwhile")
                .at(format_args!("{file}:{}", line.line))
                .accepted(
                    "a log that stays as it is from the question to the answer; run it again",
                ));
        }
        let there = log.field(line.line, "kept")?;
        log.bytes.splice(there, kept.word().bytes());
        Ok(())
    })
}

fn not_one(file: &str, found: String, listed: &[LogLine]) -> Error {
    let rows: Vec<String> = (listed.iter().rev().take(MOST_LISTED))
        .map(|line| format!("  line {}: {}", line.line, in_words(&line.row)))
        .collect();
    let last = if rows.is_empty() {
        ""
    } else {
        "; the last ones:\n"
    };
    Error::input(format!("{found}{last}{}", rows.join("\n")))
        .at(file)
        .accepted("what names one row: date, swimmer, session, set, repeat")
        .example("--row \"date=2026-10-04, set=Hold, repeat=3\"")
}

/// What names a row, in words.
pub fn in_words(row: &Row) -> String {
    let date = row.date.map(|date| date.to_string());
    let repeat = row.repeat.map(|repeat| format!("repeat {repeat}"));
    let texts = [&row.swimmer, &row.session, &row.set].map(|text| Some(text.clone()));
    let [swimmer, session, set] = texts;
    let told = [date, swimmer, session, set, repeat].into_iter().flatten();
    let told: Vec<String> = told.filter(|text| !text.is_empty()).collect();
    told.join(", ")
}

impl Held<'_> {
    /// The bytes of one field of the row that begins on a line; quotes around it are part of it.
    fn field(&self, line: usize, column: &str) -> Result<Range<usize>> {
        let lacks = |what: String| {
            Error::input(what)
                .at(format_args!("{}:{line}", self.file))
                .accepted(format!(
                    "a header with {column}, and a field for it in each row"
                ))
        };
        let number = (self.header.iter().position(|name| name == column))
            .ok_or_else(|| lacks(format!("the log has no column {column}")))?;
        let spans = self.spans()?;
        let row = spans.into_iter().find(|(at, _)| *at == line);
        let (_, row) = row.ok_or_else(|| lacks("this row is gone".into()))?;
        let mut fields = fields(&self.bytes[row.clone()], self.form.delimiter);
        let field =
            (fields.nth(number)).ok_or_else(|| lacks(format!("this row has no {column}")))?;
        Ok(row.start + field.start..row.start + field.end)
    }
}

/// Where the fields of a record lie in it; its line end belongs to none.
fn fields(record: &[u8], delimiter: u8) -> impl Iterator<Item = Range<usize>> {
    let mut quoted = false;
    let mut from = 0;
    let mut found = Vec::new();
    for (at, byte) in record.iter().enumerate() {
        quoted ^= *byte == b'"';
        let ends = *byte == delimiter || matches!(byte, b'\n' | b'\r');
        if ends && !quoted {
            found.push(from..at);
            from = at + 1;
            if *byte != delimiter {
                return found.into_iter();
            }
        }
    }
    found.push(from..record.len());
    found.into_iter()
}
