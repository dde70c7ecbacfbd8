//! The log, written: rows appended to a CSV file that a person may have open.
//!
//! Whole rows or none, under a lock, on disk before the call returns. The old file stands until
//! the new one, with the rows at its end, takes its place in one step: whenever a process dies, a
//! reader finds the one or the other. Columns that are not ours, their order, the delimiter and
//! the line ends stay as the file has them.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};

use same_file::Handle;

use super::csv::{self, CsvForm};
use super::log::{check_header, field, log_table};
use crate::error::{Error, Result};
use crate::model::log::{COLUMNS, LOOKS_COLUMN, Row};

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
        self.make_room(rows)?;
        let text = csv::write(records(rows, &self.header), self.form);
        self.bytes.splice(there, text);
        Ok(())
    }

    /// Every field that a row fills needs its column; the written order tells the repeats anyway.
    fn make_room(&self, rows: &[Row]) -> Result<()> {
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
