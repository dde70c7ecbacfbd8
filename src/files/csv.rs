//! Any CSV with a header, as spreadsheets and people write it: log, marks, steps, imports.
//!
//! In: a file, record by record. Out: fields of records with their lines; a line that is none is
//! named, and what becomes of it the caller says. Accepted: commas, semicolons or tabs between
//! fields (a first line `sep=;` or the header tells), decimal commas beside the last two, a
//! byte-order mark, LF, CRLF or CR at the end of a line, quoted fields that run over a few lines.

mod lines;
mod write;

use std::borrow::Cow;
use std::cell::Cell;
use std::fmt;
use std::io::{self, Read};

use lines::Span;
pub use lines::{Lines, open, whole};
use write::unguarded;
pub use write::{CsvForm, write};

use super::key_value::{nearest, quoted};
use crate::error::{Error, Result};

/// A CSV file behind its header.
pub struct Table<'a> {
    /// The file, as messages name it.
    pub file: String,
    /// The line of the header, from 1.
    pub header_line: usize,
    /// Names of the columns: trimmed, lower case.
    pub header: Vec<String>,
    /// How fields are parted and lines ended.
    pub form: CsvForm,
    short: Short,
    lines: Lines<'a>,
    fields: csv::Reader<Fed>,
    record: csv::StringRecord,
    commas: Cell<usize>,
}

/// What a record with fewer fields than the header is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Short {
    /// Broken.
    Broken,
    /// One whose last fields are empty.
    Filled,
}

/// One record.
pub struct Record<'a> {
    /// The line on which it begins, from 1.
    pub line: usize,
    fields: &'a csv::StringRecord,
    delimiter: u8,
    commas: &'a Cell<usize>,
}

/// A line that is no record, from 1, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoRecord {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub why: Why,
}

/// Why a line is no record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// A quote is opened and never closed.
    OpenQuote,
    /// A field is no UTF-8.
    NotText,
    /// It has other than so many fields.
    Fields {
        /// How many it has.
        found: usize,
        /// How many the header has.
        wanted: usize,
    },
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OpenQuote => f.write_str("a quote is opened and never closed"),
            Self::NotText => f.write_str("not UTF-8 text"),
            Self::Fields { found, wanted } => {
                write!(f, "{found} fields where the header has {wanted}")
            }
        }
    }
}

impl<'a> Table<'a> {
    /// Reads a file's header; nothing where it holds no line. `file` is the name for messages.
    ///
    /// # Errors
    /// When it cannot be read, or its header cannot be used.
    pub fn of(file: &str, from: impl Read + 'a, short: Short) -> Result<Option<Self>> {
        let mut lines = Lines::of(file, from)?;
        let Some(mut first) = filled(&mut lines)? else {
            return Ok(None);
        };
        let told = told_delimiter(lines.text(first));
        if told.is_some() {
            if let Some(Err(refused)) = told {
                return Err(refused.at(format!("{file}:{}", lines.number())));
            }
            lines.pass(first);
            match filled(&mut lines)? {
                Some(behind) => first = behind,
                None => return Ok(None),
            }
        }
        let header_line = lines.number();
        let place = format!("{file}:{header_line}");
        let text = std::str::from_utf8(lines.text(first)).map_err(|_| {
            Error::input("the header is not UTF-8 text")
                .at(&place)
                .accepted("a CSV file saved as UTF-8")
        })?;
        let form = CsvForm {
            delimiter: match told {
                Some(Ok(delimiter)) => delimiter,
                _ => delimiter_of(text),
            },
            line_end: line_end_of(text),
        };
        let mut table = Self {
            file: file.to_string(),
            header_line,
            header: Vec::new(),
            form,
            short,
            fields: fields_by(form.delimiter),
            lines,
            record: csv::StringRecord::new(),
            commas: Cell::new(0),
        };
        (table.split(first)).map_err(|why| Error::input(why.to_string()).at(place))?;
        table.lines.pass(first);
        let names = table.record.iter().map(|name| unguarded(name.trim()));
        table.header = names.map(str::to_lowercase).collect();
        Ok(Some(table))
    }

    /// The next record, or the next line that is none; nothing at the end of the file. Blank
    /// lines and a spreadsheet's empty rows are passed over.
    ///
    /// # Errors
    /// When the file cannot be read on.
    pub fn read(&mut self) -> Result<Option<Result<Record<'_>, NoRecord>>> {
        while let Some(span) = self.lines.record()? {
            let line = self.lines.number();
            let fits = self.split(span).and_then(|found| match found {
                0 => Ok(false),
                found => self.fits(found).map(|()| true),
            });
            match fits {
                Ok(filled) => {
                    self.lines.pass(span);
                    if filled {
                        return Ok(Some(Ok(Record {
                            line,
                            fields: &self.record,
                            delimiter: self.form.delimiter,
                            commas: &self.commas,
                        })));
                    }
                }
                Err(why) => {
                    // A quote left open may have swallowed whole lines: only the first is lost.
                    let why = if span.lines > 1 { Why::OpenQuote } else { why };
                    if let Some(first) = self.lines.line()? {
                        self.lines.pass(first);
                    }
                    return Ok(Some(Err(NoRecord { line, why })));
                }
            }
        }
        Ok(None)
    }

    /// Takes a record's text apart into `record`. Gives its fields, none for a blank line and a
    /// spreadsheet's empty row.
    fn split(&mut self, span: Span) -> Result<usize, Why> {
        let text = self.lines.text(span);
        if is_blank(text) {
            return Ok(0);
        }
        let delimiter = self.form.delimiter;
        if span.open || (span.lines > 1 && !is_one_record(text, delimiter)) {
            return Err(Why::OpenQuote);
        }
        self.fields.get_mut().put(text);
        let read = self.fields.read_record(&mut self.record);
        if self.fields.get_ref().ran_out {
            // It takes what ends without a line end for the end of everything.
            self.fields = fields_by(delimiter);
        }
        // Nothing else can go wrong: any number of fields is taken, and memory can be read.
        read.map_err(|_| Why::NotText)?;
        if self.record.iter().all(|field| field.trim().is_empty()) {
            Ok(0)
        } else {
            Ok(self.record.len())
        }
    }

    fn fits(&self, found: usize) -> Result<(), Why> {
        let wanted = self.header.len();
        let short = self.short == Short::Filled && found < wanted;
        if found == wanted || short {
            Ok(())
        } else {
            Err(Why::Fields { found, wanted })
        }
    }

    /// The place of a column, by its name.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|known| known == name)
    }

    /// Asks for the nearest name in the header, where one is near and it is none of `others`.
    pub fn is_it(&self, name: &str, others: &[&str]) -> String {
        let names = self.header.iter().map(String::as_str);
        let names: Vec<&str> = names.filter(|name| !others.contains(name)).collect();
        let near = nearest(name, &names).map(|near| format!("; is it {}?", quoted(near)));
        near.unwrap_or_default()
    }

    /// Refuses a header that names a column twice.
    ///
    /// # Errors
    /// With the name.
    pub fn each_once(&self) -> Result<()> {
        let again = (self.header.iter().enumerate())
            .find(|(at, name)| !name.is_empty() && self.header[..*at].contains(name));
        match again {
            None => Ok(()),
            Some((_, name)) => Err(Error::input(format!("two columns are called {name:?}"))
                .at(format!("{}:{}", self.file, self.header_line))
                .accepted("a header that names each column once")),
        }
    }

    /// What parts the fields, where it is no comma.
    pub fn separator_note(&self) -> Option<String> {
        let what = match self.form.delimiter {
            b';' => "semicolons",
            b'\t' => "tabs",
            _ => return None,
        };
        Some(format!("fields are separated by {what}"))
    }

    /// How many decimal commas were read as points so far, where there were any.
    pub fn comma_note(&self) -> Option<String> {
        let commas = self.commas.get();
        (commas > 0).then(|| format!("{commas} decimal commas read as points"))
    }
}

impl<'a> Record<'a> {
    /// A field, trimmed; empty where the record ends before it.
    pub fn field(&self, at: usize) -> &'a str {
        unguarded(self.fields.get(at).unwrap_or_default().trim())
    }

    /// A field with its decimal comma, if it has one, turned into a point. Where commas separate
    /// the fields, only a quoted one with a digit or two behind it: `1,500` may be thousands there.
    pub fn number(&self, at: usize) -> Cow<'a, str> {
        let field = self.field(at);
        let certain = |_: &String| self.delimiter != b',' || !may_be_thousands(field);
        match with_point(field).filter(certain) {
            Some(number) => {
                self.commas.set(self.commas.get() + 1);
                number.into()
            }
            None => field.into(),
        }
    }
}

/// A number with its decimal comma turned into a point; nothing where it has none.
fn with_point(field: &str) -> Option<String> {
    let (before, behind) = field.split_once(',')?;
    let is_decimal = before.ends_with(|c: char| c.is_ascii_digit())
        && behind.starts_with(|c: char| c.is_ascii_digit())
        && !behind.contains(',')
        && !field.contains('.');
    is_decimal.then(|| format!("{before}.{behind}"))
}

/// Whether three digits or more stand behind the comma.
fn may_be_thousands(field: &str) -> bool {
    let behind = field.split_once(',').map_or("", |(_, behind)| behind);
    behind.chars().take_while(char::is_ascii_digit).count() > 2
}

/// One record's text, which the csv crate reads.
#[derive(Default)]
struct Fed {
    bytes: Vec<u8>,
    at: usize,
    ran_out: bool,
}

impl Fed {
    fn put(&mut self, text: &[u8]) {
        self.bytes.clear();
        self.bytes.extend_from_slice(text);
        self.at = 0;
    }
}

impl Read for Fed {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let read = (&self.bytes[self.at..]).read(to)?;
        self.at += read;
        self.ran_out = read == 0;
        Ok(read)
    }
}

/// One for all records of a file: to make one costs more than to read fifty records.
fn fields_by(delimiter: u8) -> csv::Reader<Fed> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(Fed::default())
}

/// The next record's text that is not blank.
fn filled(lines: &mut Lines) -> Result<Option<Span>> {
    while let Some(span) = lines.record()? {
        if !is_blank(lines.text(span)) {
            return Ok(Some(span));
        }
        lines.pass(span);
    }
    Ok(None)
}

fn is_blank(bytes: &[u8]) -> bool {
    bytes.iter().all(u8::is_ascii_whitespace)
}

/// What a line such as `sep=;` tells; nothing where it is none. A spreadsheet that saves such a
/// line quotes it, or fills it up with separators.
pub fn told_delimiter(line: &[u8]) -> Option<Result<u8>> {
    let line = String::from_utf8_lossy(line).replace(['"', '\r', '\n'], "");
    let told = line.to_ascii_lowercase();
    let told = told.strip_prefix("sep=")?;
    Some(match told.bytes().next() {
        Some(told_by @ (b',' | b';' | b'\t')) if told.bytes().all(|byte| byte == told_by) => {
            Ok(told_by)
        }
        _ => Err(Error::input(format!("found {}", quoted(&line)))
            .accepted("sep= and a comma, a semicolon or a tab as the first line, or none such")
            .example("sep=;")),
    })
}

/// Whichever of comma, semicolon and tab the header has most of; a comma where it has none.
fn delimiter_of(header: &str) -> u8 {
    let count = |delimiter: &u8| header.bytes().filter(|byte| byte == delimiter).count();
    // The last of equals wins, so a comma does.
    *[b'\t', b';', b',']
        .iter()
        .max_by_key(|delimiter| count(delimiter))
        .unwrap_or(&b',')
}

fn line_end_of(line: &str) -> &'static str {
    match () {
        () if line.ends_with("\r\n") => "\r\n",
        () if line.ends_with('\r') => "\r",
        () => "\n",
    }
}

/// Whether lines are one record: each but the last ends inside a quoted field, and every such
/// field ends before a delimiter or the record's end. Else there are two slips, and no field.
fn is_one_record(text: &[u8], delimiter: u8) -> bool {
    let text = text.trim_ascii_end();
    let (mut inside, mut before) = (false, delimiter);
    let mut rest = text.iter().copied().peekable();
    while let Some(byte) = rest.next() {
        match byte {
            b'"' if inside && rest.peek() == Some(&b'"') => drop(rest.next()),
            b'"' if inside => {
                inside = false;
                if rest.peek().is_some_and(|next| *next != delimiter) {
                    return false;
                }
            }
            b'"' if before == delimiter => inside = true,
            b'\r' | b'\n' if !inside => return false,
            _ => {}
        }
        before = byte;
    }
    !inside
}

#[cfg(test)]
mod tests;
