//! The log, written: rows appended to a CSV file that a person may have open.
//!
//! Whole rows or none, under a lock, on disk before the call returns. The old file stands until
//! the new one, with the rows at its end, takes its place in one step: whenever a process dies, a
//! reader finds the one or the other. Columns that are not ours, their order, the delimiter and
//! the line ends stay as the file has them.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use same_file::Handle;

use super::csv::Table;
use super::log::{LARGEST_BYTES, check_header, field, too_large};
use crate::error::{Error, Result};
use crate::model::log::{COLUMNS, Row};

/// Rows as CSV with the header of a new log: comma, LF.
pub fn log_csv(rows: &[Row]) -> String {
    let header = COLUMNS.map(String::from);
    let mut bytes = lines(&[header.to_vec()], b',', false);
    bytes.extend(lines(&records(rows, &header), b',', false));
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
    let io = |error: io::Error| Error::io("cannot be written", file, &error);
    let path = fs::canonicalize(file).unwrap_or_else(|_| PathBuf::from(file));
    let held = lock(&path).map_err(io)?;
    let mut bytes = Vec::new();
    (held
        .as_file()
        .take(LARGEST_BYTES + 1)
        .read_to_end(&mut bytes))
    .map_err(io)?;
    if bytes.len() as u64 > LARGEST_BYTES {
        return Err(too_large(file));
    }
    let table = Table::parse(file, &bytes)?;
    let (header, delimiter, crlf) = match &table {
        Some(table) => {
            check_header(table)?;
            check_room(table, rows)?;
            (table.header.clone(), table.delimiter, table.crlf)
        }
        None => {
            let header = COLUMNS.map(String::from).to_vec();
            bytes = lines(std::slice::from_ref(&header), b',', false);
            (header, b',', false)
        }
    };
    if !bytes.ends_with(b"\n") {
        bytes.extend_from_slice(if crlf { b"\r\n" } else { b"\n" });
    }
    bytes.extend(lines(&records(rows, &header), delimiter, crlf));
    replace(&path, held.as_file(), &bytes).map_err(io)
}

/// Every field that a row fills needs its column; the written order tells the repeats anyway.
fn check_room(table: &Table, rows: &[Row]) -> Result<()> {
    let filled = |column: &&str| rows.iter().any(|row| !field(row, column).is_empty());
    let lacking = |column: &&str| **column != *"repeat" && table.column(column).is_none();
    match COLUMNS
        .iter()
        .find(|column| lacking(column) && filled(column))
    {
        None => Ok(()),
        Some(column) => Err(Error::input(format!("the log has no column {column}"))
            .at(&table.file)
            .accepted(format!(
                "a header with {column}; add it to the first line, and a separator to each row"
            ))),
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

fn records(rows: &[Row], header: &[String]) -> Vec<Vec<String>> {
    let fields = |row| header.iter().map(|column| field(row, column)).collect();
    rows.iter().map(fields).collect()
}

fn lines(records: &[Vec<String>], delimiter: u8, crlf: bool) -> Vec<u8> {
    let ending = match crlf {
        true => csv::Terminator::CRLF,
        false => csv::Terminator::Any(b'\n'),
    };
    let mut writer = csv::WriterBuilder::new()
        .delimiter(delimiter)
        .terminator(ending)
        .from_writer(Vec::new());
    for record in records {
        writer
            .write_record(record)
            .expect("memory takes every record, and all have the header's length");
    }
    writer.into_inner().expect("memory can be flushed")
}
