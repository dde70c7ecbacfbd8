//! The log, written: rows appended to a CSV file that a person may have open, or put in the place of
//! others.
//!
//! Whole rows or none, under a lock, on disk before the call returns. The old file stands until
//! the new one, with the rows at its end, takes its place in one step: whenever a process dies, a
//! reader finds the one or the other. Columns that are not ours, their order, the delimiter and
//! the line ends stay as the file has them.

mod kept;

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};

use same_file::Handle;

pub use self::kept::{RowName, in_words, rows_named, several_named, write_kept};
use super::csv::{self, CsvForm, Lines};
use super::log::{check_header, field, log_table, parse_log};
use crate::error::{Error, Result};
use crate::model::log::{COLUMNS, LOOKS_COLUMN, Row, SPLITS};

/// The form of a new log.
const NEW: CsvForm = CsvForm {
    delimiter: b',',
    line_end: "\n",
};

/// Rows as CSV with the header of a new log, and that of a trial where they are a trial's.
pub fn log_csv(rows: &[Row]) -> String {
    let mut header = new_header();
    if rows.iter().any(|row| row.trial_looks.is_some()) {
        header.push(LOOKS_COLUMN.into());
    }
    let mut bytes = csv::write([header.clone()], NEW);
    bytes.extend(csv::write(records(rows, &header), NEW));
    String::from_utf8(bytes).expect("fields are text, and so are delimiters")
}

/// Appends rows to a log, which is made, with its header, where it is not there. When this
/// returns without an error every row is on disk; with one, none is.
///
/// Waits for another writer to finish. A symbolic link stays one.
///
/// # Errors
/// When the file is no log, lacks a column that a row fills, or cannot be written.
pub fn append(file: &str, rows: &[Row]) -> Result<()> {
    change(file, |log| log.add(rows))
}

/// What became of a row that was to replace another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Amended {
    /// It stands where the other stood, or the other is gone.
    Done,
    /// It stands in the place of a row that a trial had laid out: how that row was.
    Filled(Box<Row>),
    /// The other is not there any more as it was written: it was added, where there is one.
    Added,
}

/// Puts a row in the place of the one that was written before, found by its exact text; takes
/// that one away where there is no new one. A row that replaces none goes where a trial has laid
/// one out for it (same swimmer, session, set and repeat, no time and no strokes), else to the end.
///
/// # Errors
/// Those of [`append`].
pub fn amend(file: &str, old: Option<&Row>, new: Option<&Row>) -> Result<Amended> {
    change(file, |log| {
        let rows = new.map(std::slice::from_ref).unwrap_or_default();
        log.make_room(rows)?;
        let there = old.and_then(|old| log.find(old));
        let found_none = old.is_some() && there.is_none();
        match (there, new) {
            (Some(there), new) => {
                log.set(there, new);
                return Ok(Amended::Done);
            }
            (None, None) => return Ok(Amended::Added),
            (None, Some(_)) => {}
        }
        if let (false, Some(new)) = (found_none, new)
            && let Some((there, laid)) = log.laid_out(new)?
        {
            let filled = Row {
                trial: laid.trial.clone(),
                trial_looks: laid.trial_looks.clone(),
                other: laid.other.clone(),
                ..new.clone()
            };
            log.set(there, Some(&filled));
            return Ok(Amended::Filled(Box::new(laid)));
        }
        log.add(rows)?;
        Ok(if found_none {
            Amended::Added
        } else {
            Amended::Done
        })
    })
}

/// A log in memory, while its lock is held.
pub(super) struct Held<'f> {
    pub(super) file: &'f str,
    pub(super) bytes: Vec<u8>,
    header: Vec<String>,
    form: CsvForm,
}

/// Changes a log under its lock and puts it in its place.
///
/// # Errors
/// Those of [`append`], and of `make`; then the file stays as it was.
pub(super) fn change<T>(file: &str, make: impl FnOnce(&mut Held) -> Result<T>) -> Result<T> {
    let io = |error: io::Error| Error::io("cannot be written", file, &error);
    let path = fs::canonicalize(file).unwrap_or_else(|_| PathBuf::from(file));
    let held = lock(&path).map_err(io)?;
    let mut bytes = csv::whole(file, held.as_file())?;
    let known = match log_table(file, &bytes[..])? {
        Some(table) => {
            check_header(&table)?;
            Some((table.header, table.form))
        }
        None => None,
    };
    let (header, form) = known.unwrap_or_else(|| {
        bytes = csv::write([new_header()], NEW);
        (new_header(), NEW)
    });
    let mut log = Held {
        file,
        bytes,
        header,
        form,
    };
    log.end_last_line();
    let made = make(&mut log)?;
    replace(&path, held.as_file(), &log.bytes).map_err(io)?;
    Ok(made)
}

impl Held<'_> {
    fn end_last_line(&mut self) {
        if !matches!(self.bytes.last(), Some(b'\n' | b'\r')) {
            self.bytes.extend_from_slice(self.form.line_end.as_bytes());
        }
    }

    fn text(&self, row: &Row) -> Vec<u8> {
        csv::write(records(std::slice::from_ref(row), &self.header), self.form)
    }

    /// Adds rows at the end.
    ///
    /// # Errors
    /// When the log lacks a column that a row fills.
    pub(super) fn add(&mut self, rows: &[Row]) -> Result<()> {
        self.make_room(rows)?;
        self.bytes
            .extend(csv::write(records(rows, &self.header), self.form));
        Ok(())
    }

    /// Puts a row in the place of these bytes.
    ///
    /// # Errors
    /// Those of [`Held::add`].
    pub(super) fn put(&mut self, there: Range<usize>, row: &Row) -> Result<()> {
        let rows = std::slice::from_ref(row);
        self.check_columns(rows)?;
        let text = csv::write(records(rows, &self.header), self.form);
        self.bytes.splice(there, text);
        Ok(())
    }

    /// Where a row stands, byte for byte as it is written; the last of them.
    fn find(&self, row: &Row) -> Option<Range<usize>> {
        let text = self.text(row);
        let begins_line = |at: usize| at == 0 || matches!(self.bytes[at - 1], b'\n' | b'\r');
        let windows = self.bytes.windows(text.len()).enumerate();
        let mut found = windows.filter(|(at, window)| *window == text && begins_line(*at));
        found.next_back().map(|(at, _)| at..at + text.len())
    }

    fn set(&mut self, there: Range<usize>, row: Option<&Row>) {
        let text = row.map(|row| self.text(row)).unwrap_or_default();
        self.bytes.splice(there, text);
    }

    /// The row that a trial has laid out for a swim, and where it stands.
    fn laid_out(&self, swum: &Row) -> Result<Option<(Range<usize>, Row)>> {
        let is_it = |row: &Row| {
            let same = |one: &str, other: &str| one.is_empty() || other.is_empty() || one == other;
            !row.trial.is_empty()
                && row.time.is_none()
                && row.strokes.is_none()
                && same(&row.swimmer, &swum.swimmer)
                && same(&row.trial, &swum.trial)
                && (&row.session, &row.set) == (&swum.session, &swum.set)
                && row.repeat.is_none_or(|number| Some(number) == swum.repeat)
        };
        let log = parse_log(self.file, &self.bytes)?;
        let Some(laid) = log.rows.into_iter().find(|line| is_it(&line.row)) else {
            return Ok(None);
        };
        Ok((self.spans()?.into_iter())
            .find(|(line, _)| *line == laid.line)
            .map(|(_, there)| (there, laid.row)))
    }

    /// Every record, blank lines and all: its line from 1, and its bytes.
    fn spans(&self) -> Result<Vec<(usize, Range<usize>)>> {
        let mut lines = Lines::of(self.file, &self.bytes[..])?;
        let mut at = self.bytes.len();
        let mut spans = Vec::new();
        while let Some(span) = lines.record()? {
            spans.push((lines.number(), span.bytes));
            lines.pass(span);
        }
        // From the end, for a mark of the byte order may stand before the first.
        let from_end = spans.iter().rev().map(|(line, bytes)| {
            at -= bytes;
            (*line, at..at + bytes)
        });
        let mut spans: Vec<(usize, Range<usize>)> = from_end.collect();
        spans.reverse();
        Ok(spans)
    }

    /// The column of splits is added where it is wanted.
    fn make_room(&mut self, rows: &[Row]) -> Result<()> {
        self.check_columns(rows)?;
        let has = self.header.iter().any(|name| name == SPLITS);
        if !has && rows.iter().any(|row| !row.splits.is_empty()) {
            self.add_splits()?;
        }
        Ok(())
    }

    /// Every field that a row fills needs its column; the written order tells the repeats anyway.
    fn check_columns(&self, rows: &[Row]) -> Result<()> {
        let filled = |column: &&str| rows.iter().any(|row| !field(row, column).is_empty());
        let has = |column: &str| self.header.iter().any(|name| name == column);
        let lacks = |column: &&str| **column != *"repeat" && !has(column);
        match (COLUMNS.iter()).find(|column| lacks(column) && filled(column)) {
            None => Ok(()),
            Some(column) => Err(Error::input(format!("the log has no column {column}"))
                .at(self.file)
                .accepted(format!(
                    "a header with {column}; add it to the first line, and a separator to each row"
                ))),
        }
    }

    fn add_splits(&mut self) -> Result<()> {
        let mut wider = Vec::with_capacity(self.bytes.len() + self.bytes.len() / 64);
        let spans = self.spans()?;
        wider.extend(&self.bytes[..spans.first().map_or(0, |(_, there)| there.start)]);
        let mut is_header = true;
        for (_, there) in spans {
            let line = &self.bytes[there];
            let text = line.trim_ascii_end();
            let is_told = is_header && text.to_ascii_lowercase().starts_with(b"sep=");
            wider.extend(text);
            if !text.is_empty() && !is_told {
                wider.push(self.form.delimiter);
                if is_header {
                    wider.extend(SPLITS.as_bytes());
                }
                is_header = false;
            }
            wider.extend(&line[text.len()..]);
        }
        self.bytes = wider;
        self.header.push(SPLITS.into());
        Ok(())
    }
}

/// Opens the log and holds its lock: no other writer is between reading and replacing it.
fn lock(path: &Path) -> io::Result<Handle> {
    loop {
        let file = (OpenOptions::new().read(true).append(true).create(true)).open(path)?;
        file.lock()?;
        let held = Handle::from_file(file)?;
        // Whoever held the lock before may have put a new file in the place of this one.
        match Handle::from_path(path) {
            Ok(now) if now == held => return Ok(held),
            Ok(_) => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(error),
        }
    }
}

/// Writes the new file beside the old one, syncs it, and gives it the old one's name.
fn replace(path: &Path, old: &File, bytes: &[u8]) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(".unfinished");
    // One name, for the lock is held: what a killed writer left is overwritten.
    let beside = folder.join(name);
    let written = (|| {
        let mut new = File::create(&beside)?;
        new.write_all(bytes)?;
        new.set_permissions(old.metadata()?.permissions())?;
        new.sync_all()?;
        fs::rename(&beside, path)
    })();
    if written.is_err() {
        // Failing is no harm: the next writer overwrites it.
        let _ = fs::remove_file(&beside);
    }
    written?;
    // The new name itself is on disk only once the folder is synced.
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    Ok(())
}

fn new_header() -> Vec<String> {
    COLUMNS.map(String::from).to_vec()
}

fn records(rows: &[Row], header: &[String]) -> impl Iterator<Item = Vec<String>> {
    let fields = |row| header.iter().map(|column| field(row, column)).collect();
    rows.iter().map(fields)
}

#[cfg(test)]
mod tests;
