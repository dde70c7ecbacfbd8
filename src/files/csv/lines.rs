//! Lines of a file, read as they are asked for: LF, CRLF or CR ends each.
//!
//! Held at once: one record and what was read ahead of it. A byte-order mark is passed over.

use std::fs::File;
use std::io::{self, Read};

use crate::error::{Error, Result};

/// The largest file that is read, in bytes: a million rows, or some hundred swimmers' years.
const LARGEST_BYTES: usize = 64 << 20;
/// What is read at once, in bytes. In tests so little that everything is cut somewhere.
const PART_BYTES: u64 = if cfg!(test) { 7 } else { 1 << 16 };
/// A quote that stays open longer is a slip, not a text.
const LONGEST_RECORD_LINES: usize = 16;

/// The lines of one file that are still to come.
pub struct Lines<'a> {
    file: String,
    from: Box<dyn Read + 'a>,
    held: Vec<u8>,
    /// Where in `held` the next line begins.
    at: usize,
    /// The number of the next line, from 1.
    number: usize,
    read: usize,
    ended: bool,
}

/// A record's text: a line, or a few while a quote is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Its bytes, line ends included.
    pub bytes: usize,
    /// Its lines, at least one.
    pub lines: usize,
    /// Whether it is a line in which a quote is opened that no later line closes.
    pub open: bool,
}

impl<'a> Lines<'a> {
    /// The lines of whatever can be read; `file` is the name for messages.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn of(file: &str, from: impl Read + 'a) -> Result<Self> {
        let mut lines = Self {
            file: file.to_string(),
            from: Box::new(from),
            held: Vec::new(),
            at: 0,
            number: 1,
            read: 0,
            ended: false,
        };
        lines.more()?;
        if lines.held.starts_with(b"\xef\xbb\xbf") {
            lines.at = 3;
        }
        Ok(lines)
    }

    /// The number of the next line, from 1.
    pub fn number(&self) -> usize {
        self.number
    }

    /// The text of a span that was just found.
    pub fn text(&self, span: Span) -> &[u8] {
        &self.held[self.at..self.at + span.bytes]
    }

    /// Goes on behind a span.
    pub fn pass(&mut self, span: Span) {
        self.at += span.bytes;
        self.number += span.lines;
    }

    /// The next line; nothing at the end of the file.
    ///
    /// # Errors
    /// When the file cannot be read, or turns out to be larger than 64 MiB.
    pub fn line(&mut self) -> Result<Option<Span>> {
        let bytes = self.line_end(0)?;
        let open = has_odd_quotes(&self.held[self.at..self.at + bytes]);
        Ok((bytes > 0).then_some(Span {
            bytes,
            lines: 1,
            open,
        }))
    }

    /// The next record's text: lines are taken together while a quote is open. Where it stays
    /// open, the first of them alone.
    ///
    /// # Errors
    /// Those of [`Lines::line`].
    pub fn record(&mut self) -> Result<Option<Span>> {
        let Some(first) = self.line()? else {
            return Ok(None);
        };
        let mut span = first;
        while span.open && span.lines < LONGEST_RECORD_LINES {
            let end = self.line_end(span.bytes)?;
            if end == span.bytes {
                break;
            }
            span.open ^= has_odd_quotes(&self.held[self.at + span.bytes..self.at + end]);
            (span.bytes, span.lines) = (end, span.lines + 1);
        }
        Ok(Some(if span.open { first } else { span }))
    }

    /// Just past the end of the line that begins `from` bytes after the next one's begin; `from`
    /// itself at the end of the file.
    fn line_end(&mut self, from: usize) -> Result<usize> {
        let mut seen = from;
        loop {
            let rest = &self.held[self.at + seen..];
            let end = rest.iter().position(|byte| matches!(byte, b'\n' | b'\r'));
            let next = end.and_then(|end| rest.get(end + 1));
            match end {
                Some(end) if rest[end] == b'\n' => return Ok(seen + end + 1),
                Some(end) if next == Some(&b'\n') => return Ok(seen + end + 2),
                Some(end) if next.is_some() || self.ended => return Ok(seen + end + 1),
                None if self.ended => return Ok(seen + rest.len()),
                // Whether a line feed follows a carriage return is not known yet.
                Some(end) => seen += end,
                None => seen += rest.len(),
            }
            self.more()?;
        }
    }

    /// Reads on; what lies behind is dropped.
    fn more(&mut self) -> Result<()> {
        self.held.drain(..self.at);
        self.at = 0;
        let mut part = (&mut self.from).take(PART_BYTES);
        let got = part.read_to_end(&mut self.held);
        let got = got.map_err(|error| unreadable(&self.file, &error))?;
        self.read += got;
        self.ended = (got as u64) < PART_BYTES;
        if self.read > LARGEST_BYTES {
            return Err(too_large(&self.file));
        }
        Ok(())
    }
}

/// A file to be read; `-` is standard input.
///
/// # Errors
/// When it cannot be opened, or is larger than 64 MiB.
pub fn open(file: &str) -> Result<Box<dyn Read>> {
    if file == "-" {
        return Ok(Box::new(io::stdin()));
    }
    let unreadable = |error| unreadable(file, &error);
    let open = File::open(file).map_err(unreadable)?;
    let about = open.metadata().map_err(unreadable)?;
    if about.is_dir() {
        return Err(Error::input("this is a folder, not a file").at(file));
    }
    // Said before the first line is used. What has no size of its own is counted on the way.
    if about.len() > LARGEST_BYTES as u64 {
        Err(too_large(file))
    } else {
        Ok(Box::new(open))
    }
}

/// Everything that can be read, at once; `file` is the name for messages.
///
/// # Errors
/// When it cannot be read, or is larger than 64 MiB.
pub fn whole(file: &str, from: impl Read) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    (from.take(LARGEST_BYTES as u64 + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(file, &error))?;
    if bytes.len() > LARGEST_BYTES {
        Err(too_large(file))
    } else {
        Ok(bytes)
    }
}

fn has_odd_quotes(bytes: &[u8]) -> bool {
    bytes.iter().filter(|&&byte| byte == b'"').count() % 2 == 1
}

fn unreadable(file: &str, error: &io::Error) -> Error {
    Error::input(format!("cannot be read: {error}")).at(file)
}

fn too_large(file: &str) -> Error {
    Error::input("found more than 64 MiB; no log and no film's marks are that large")
        .at(file)
        .accepted("a CSV file of at most 64 MiB")
}
