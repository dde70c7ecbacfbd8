//! Somebody else's CSV of swims, read as a log.
//!
//! In: any CSV with a header, and which of its columns is which of ours, with the unit where the
//! header rather than the field says it. Out: a log. The strokes' count must be told: of one arm
//! or of both; a guess would double or halve every rate.

use super::csv::{self, Record, Short, Table};
use super::log::{Rows, set_field};
use crate::error::{Error, Result};
use crate::model::log::{COLUMNS, Row, Strokes};
use crate::units::{exact, is_bare, with_unit};

/// Which column of a foreign file is which of the log's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mapped {
    /// The log's column.
    pub column: String,
    /// The foreign header, lower case.
    pub header: String,
    /// The unit that the fields lack, if they do.
    pub unit: Option<String>,
}

impl Mapped {
    /// Reads `time=Duration` or `time=Duration:s`.
    ///
    /// # Errors
    /// When it has no such form, or names no column of the log.
    pub fn parse(text: &str) -> Result<Self> {
        let refuse = |why: String| {
            Error::input(why)
                .at("--map")
                .accepted(format!(
                    "COLUMN=HEADER or COLUMN=HEADER:UNIT, with COLUMN one of {}",
                    COLUMNS.join(", ")
                ))
                .example("--map \"time=Duration:s\"")
        };
        let Some((column, header)) = text.split_once('=') else {
            return Err(refuse(format!("found {text:?}, without an =")));
        };
        let (column, header) = (column.trim(), header.trim());
        if !COLUMNS.contains(&column) {
            let near = super::key_value::nearest(column, &COLUMNS);
            let near = near.map(|near| format!("; did you mean \"{near}\"?"));
            return Err(refuse(format!(
                "the log has no column {column:?}{}",
                near.unwrap_or_default()
            )));
        }
        let (header, unit) = match header.rsplit_once(':') {
            Some((header, unit)) => (header.trim(), Some(unit.trim().to_string())),
            None => (header, None),
        };
        if header.is_empty() {
            return Err(refuse(format!(
                "found {text:?}, which names no column of the file"
            )));
        }
        Ok(Self {
            column: column.into(),
            header: header.to_lowercase(),
            unit,
        })
    }
}

/// Opens a foreign file, to be read as a log. `arms` is how many arms its strokes count, 1 or 2.
///
/// # Errors
/// When it cannot be read, has no such column, or counts strokes and nobody says whose.
pub fn import_log(file: &str, map: &[Mapped], arms: Option<u8>) -> Result<Rows<'static>> {
    let from = csv::open(file)?;
    let file = super::name_of(file);
    let table = Table::of(file, from, Short::Broken)?
        .ok_or_else(|| Error::input("the file has no header line").at(file))?;
    table.each_once()?;
    let mut columns = Vec::new();
    for mapped in map {
        let found = table.column(&mapped.header).ok_or_else(|| {
            let near = table.is_it(&mapped.header, &[]);
            Error::input(format!("there is no column {:?}{near}", mapped.header))
                .at(file)
                .accepted(table.header.join(", "))
        })?;
        columns.push((mapped.clone(), found));
    }
    let counts = map.iter().any(|mapped| mapped.column == "strokes");
    if counts && arms.is_none() {
        return Err(
            Error::input("does this file count the strokes of one arm or of both?")
                .at(file)
                .accepted("--counted one-arm, --counted both-arms")
                .example("--counted one-arm"),
        );
    }
    let one_arm = arms == Some(1);
    let row_of = move |record: &Record, _: &str| {
        // The person says the units of a file that is not ours.
        row_of(record, &columns, one_arm).map(|row| (row, false))
    };
    Ok(Rows::of_table(table, Box::new(row_of)))
}

fn row_of(record: &Record, columns: &[(Mapped, usize)], one_arm: bool) -> Result<Row, String> {
    let mut row = Row::default();
    for (mapped, at) in columns {
        let text = record.number(*at);
        let text = match (&mapped.unit, mapped.column.as_str()) {
            (Some(unit), _) if is_bare(&text) => with_unit(&text, unit),
            // A watch's date has a time of day behind it.
            (_, "date") => text
                .chars()
                .take_while(|c| !matches!(c, 'T' | ' '))
                .collect(),
            _ => text.into_owned(),
        };
        set_field(&mut row, &mapped.column, &text)?;
    }
    if one_arm {
        row.strokes = row.strokes.map(|strokes| match strokes {
            Strokes::Whole(count) => Strokes::Whole(count * exact(2)),
            Strokes::PerLength(count) => Strokes::PerLength(count * exact(2)),
        });
    }
    Ok(row)
}
