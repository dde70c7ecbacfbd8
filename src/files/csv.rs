//! CSV with a header, as spreadsheets and people write it.
//!
//! In: bytes. Out: records with their lines; what does not hold is named and left out, and the
//! rest is used. Accepted and said: a byte-order mark, CRLF, semicolons or tabs (the header line
//! tells), decimal commas beside those. A quoted field may run over a few lines.

use std::ops::Range;

use crate::error::{Error, Result};
use crate::model::log::Broken;

/// A CSV file, taken apart.
pub struct Table {
    /// The file, as the person named it.
    pub file: String,
    /// What separates fields: comma, semicolon or tab.
    pub delimiter: u8,
    /// Names of the columns: trimmed, lower case, no two alike.
    pub header: Vec<String>,
    /// Whether lines end in CRLF.
    pub crlf: bool,
    /// Records with as many fields as the header, in written order.
    pub records: Vec<Record>,
    /// Lines that are no such record.
    pub broken: Vec<Broken>,
}

/// One record: trimmed fields.
pub struct Record {
    /// The line on which it begins, from 1.
    pub line: usize,
    /// As many as the header has.
    pub fields: Vec<String>,
}

/// A quote that stays open longer is a slip, not a text.
const LONGEST_RECORD_LINES: usize = 16;

const OPEN_QUOTE: &str = "a quote is opened and never closed";

impl Table {
    /// Takes a file's bytes apart; nothing where they hold no header line.
    ///
    /// # Errors
    /// When the header cannot be used: no UTF-8, two columns of one name.
    pub fn parse(file: &str, bytes: &[u8]) -> Result<Option<Self>> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let mut lines = Lines {
            bytes,
            at: 0,
            line: 1,
        };
        let Some((first, range)) = lines
            .by_ref()
            .find(|(_, range)| !is_blank(&bytes[range.clone()]))
        else {
            return Ok(None);
        };
        let text = std::str::from_utf8(&bytes[range.clone()]).map_err(|_| {
            Error::input("the header is not UTF-8 text")
                .at(format!("{file}:{first}"))
                .accepted("a CSV file saved as UTF-8")
        })?;
        let delimiter = delimiter_of(text);
        let header = fields_of(&bytes[range.clone()], delimiter)
            .map_err(|why| Error::input(why).at(format!("{file}:{first}")))?;
        let header: Vec<String> = header.into_iter().map(|name| name.to_lowercase()).collect();
        for (index, name) in header.iter().enumerate() {
            if !name.is_empty() && header[..index].contains(name) {
                return Err(Error::input(format!("two columns are called {name:?}"))
                    .at(format!("{file}:{first}"))
                    .accepted("a header that names each column once"));
            }
        }
        let mut table = Self {
            file: file.to_string(),
            delimiter,
            header,
            crlf: bytes[range].ends_with(b"\r\n"),
            records: Vec::new(),
            broken: Vec::new(),
        };
        while let Some((line, range)) = lines.next() {
            let one_line = line_end(bytes, range.start);
            let text = &bytes[range.clone()];
            let record = match one_line < range.end && !is_closed(text, delimiter) {
                true => Err(OPEN_QUOTE.into()),
                false => table.record(text),
            };
            match record {
                Ok(None) => {}
                Ok(Some(fields)) => table.records.push(Record { line, fields }),
                Err(why) => {
                    // A quote left open may have swallowed whole lines: only the first is lost.
                    let why = match one_line < range.end {
                        true => OPEN_QUOTE.into(),
                        false => why,
                    };
                    (lines.at, lines.line) = (one_line, line + 1);
                    table.broken.push(Broken { line, why });
                }
            }
        }
        Ok(Some(table))
    }

    /// The fields of a record; nothing for a blank line and a spreadsheet's empty row.
    fn record(&self, bytes: &[u8]) -> Result<Option<Vec<String>>, String> {
        if is_blank(bytes) {
            return Ok(None);
        }
        let fields = fields_of(bytes, self.delimiter)?;
        if fields.iter().all(String::is_empty) {
            return Ok(None);
        }
        match self.header.len() {
            wanted if wanted == fields.len() => Ok(Some(fields)),
            wanted => Err(format!(
                "{} fields where the header has {wanted}",
                fields.len()
            )),
        }
    }

    /// The place of a column, by its name.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|known| known == name)
    }

    /// What was accepted of its form and is worth saying: what separates fields, decimal commas.
    pub fn form_notes(&self) -> Vec<String> {
        let mut notes = self.separator_note();
        let commas = (self.records.iter().flat_map(|record| &record.fields))
            .filter(|field| self.with_point(field).1)
            .count();
        if commas > 0 {
            notes.push(format!("{commas} decimal commas read as points"));
        }
        notes
    }

    /// What separates fields, where it is no comma.
    pub fn separator_note(&self) -> Vec<String> {
        match self.delimiter {
            b';' => vec!["fields are separated by semicolons".into()],
            b'\t' => vec!["fields are separated by tabs".into()],
            _ => Vec::new(),
        }
    }

    /// A field with its decimal comma, if it has one, turned into a point; tells whether it had.
    /// Only beside semicolons or tabs: where commas separate, none is a decimal sign.
    pub fn with_point<'a>(&self, field: &'a str) -> (std::borrow::Cow<'a, str>, bool) {
        let digit = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_digit);
        let bytes = field.as_bytes();
        let comma = field.find(',').filter(|at| {
            self.delimiter != b','
                && !field.contains('.')
                && field.matches(',').count() == 1
                && digit(at.checked_sub(1).and_then(|before| bytes.get(before)))
                && digit(bytes.get(at + 1))
        });
        match comma {
            Some(_) => (field.replace(',', ".").into(), true),
            None => (field.into(), false),
        }
    }
}

/// One record's text after another: a line, or a few while a quote is open.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl Iterator for Lines<'_> {
    type Item = (usize, Range<usize>);

    fn next(&mut self) -> Option<Self::Item> {
        if self.at >= self.bytes.len() {
            return None;
        }
        let (start, first) = (self.at, self.line);
        let mut end = line_end(self.bytes, start);
        let odd = |from: usize, to: usize| {
            self.bytes[from..to]
                .iter()
                .filter(|&&byte| byte == b'"')
                .count()
                % 2
                == 1
        };
        let (mut open, mut taken) = (odd(start, end), 1);
        let one_line = end;
        while open && end < self.bytes.len() && taken < LONGEST_RECORD_LINES {
            let next = line_end(self.bytes, end);
            open ^= odd(end, next);
            (end, taken) = (next, taken + 1);
        }
        if open {
            (end, taken) = (one_line, 1);
        }
        (self.at, self.line) = (end, first + taken);
        Some((first, start..end))
    }
}

/// Whether every quoted field ends before a delimiter or the record's end: a text over several
/// lines where one does not is two slips, and no field.
fn is_closed(bytes: &[u8], delimiter: u8) -> bool {
    let mut inside = false;
    let mut rest = bytes.iter().peekable();
    while let Some(&byte) = rest.next() {
        let next = rest.peek().map(|next| **next);
        match (inside, byte == b'"') {
            (false, true) => inside = true,
            (true, true) if next == Some(b'"') => drop(rest.next()),
            (true, true) => {
                inside = false;
                if next.is_some_and(|next| next != delimiter && !matches!(next, b'\r' | b'\n')) {
                    return false;
                }
            }
            _ => {}
        }
    }
    !inside
}

/// Just past the end of the line that begins at `from`.
fn line_end(bytes: &[u8], from: usize) -> usize {
    let found = bytes[from..].iter().position(|&byte| byte == b'\n');
    found.map_or(bytes.len(), |at| from + at + 1)
}

fn is_blank(bytes: &[u8]) -> bool {
    bytes.iter().all(u8::is_ascii_whitespace)
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

/// The fields of one record, trimmed.
fn fields_of(bytes: &[u8], delimiter: u8) -> Result<Vec<String>, String> {
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .buffer_capacity(bytes.len().max(1))
        .from_reader(bytes);
    let mut record = ::csv::ByteRecord::new();
    match reader.read_byte_record(&mut record) {
        Ok(true) => {}
        Ok(false) => return Ok(Vec::new()),
        Err(error) => return Err(error.to_string()),
    }
    let quotes = bytes.iter().filter(|&&byte| byte == b'"').count();
    if quotes % 2 == 1 {
        return Err(OPEN_QUOTE.into());
    }
    (record.iter())
        .map(|field| match std::str::from_utf8(field) {
            Ok(text) => Ok(text.trim().to_string()),
            Err(_) => Err("not UTF-8 text".to_string()),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        let parsed = Table::parse("t.csv", text.as_bytes()).expect("the header holds");
        parsed.expect("there is a header")
    }

    fn fields(table: &Table) -> Vec<(usize, Vec<&str>)> {
        (table.records.iter())
            .map(|record| {
                (
                    record.line,
                    record.fields.iter().map(String::as_str).collect(),
                )
            })
            .collect()
    }

    #[test]
    fn what_spreadsheets_write_is_read() {
        for text in [
            "a,b\n1,2\n",
            "\u{feff}a,b\r\n1,2\r\n",
            "A ; B\n1;2",
            "a\tb\n1\t2\n",
            "\n\na,b\n\n\"1\",\"2\"\n,\n\n",
        ] {
            let table = table(text);
            assert_eq!(table.header, ["a", "b"], "{text:?}");
            assert_eq!(fields(&table)[0].1, ["1", "2"], "{text:?}");
            assert!(table.broken.is_empty(), "{text:?}");
        }
    }

    #[test]
    fn a_broken_line_is_named_and_the_rest_used() {
        let table = table("a,b\n1,2\n3\n4,\"5\n6,7\n8,9,10\n\"x\ny\",11\n");
        let broken: Vec<_> = table.broken.iter().map(|broken| broken.line).collect();
        assert_eq!(broken, [3, 4, 6]);
        let rest = [
            (2, vec!["1", "2"]),
            (5, vec!["6", "7"]),
            (7, vec!["x\ny", "11"]),
        ];
        assert_eq!(fields(&table), rest);
    }

    #[test]
    fn a_quote_that_never_closes_costs_one_line() {
        let table = table("a,b\n1,\"2\n3,4\n5,6\n");
        assert_eq!(fields(&table), [(3, vec!["3", "4"]), (4, vec!["5", "6"])]);
        assert_eq!(table.broken[0].line, 2);
        assert!(
            table.broken[0].why.contains("quote"),
            "{}",
            table.broken[0].why
        );
    }

    #[test]
    fn decimal_commas_are_read_where_commas_do_not_separate() {
        let semicolons = table("a;b\n");
        assert_eq!(semicolons.with_point("48,1 s"), ("48.1 s".into(), true));
        for kept in ["48.1 s", "a, b", "1,2,3", ",5", "5,"] {
            assert_eq!(semicolons.with_point(kept), (kept.into(), false));
        }
        assert_eq!(
            table("a,b\n").with_point("48,1 s"),
            ("48,1 s".into(), false)
        );
    }

    #[test]
    fn nothing_and_blank_lines_hold_no_table() {
        for text in ["", "\n \r\n", "\u{feff}"] {
            let parsed = Table::parse("t.csv", text.as_bytes()).expect("nothing wrong");
            assert!(parsed.is_none(), "{text:?}");
        }
        assert!(Table::parse("t.csv", b"a,a\n").is_err());
        assert!(Table::parse("t.csv", b"a,\xff\n").is_err());
    }
}
