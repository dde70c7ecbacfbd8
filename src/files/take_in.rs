//! Rows of another file taken into the log, as often as one likes: what is there is known again.
//!
//! A row with a date and a repeat is one swim: its date, swimmer, session, set and repeat. Any
//! other is known by all that it says, and counted: a watch may have two equal swims.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

use jiff::civil::Date;

use super::append::{Held, change};
use super::csv::Lines;
use super::log::{Rows, field, log_table, set_field};
use crate::error::{Error, Result};
use crate::model::log::{COLUMNS, LogLine, Row};
use crate::units::Length;

/// What became of rows that were to be taken into a log.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TakenIn {
    /// Rows that now stand at its end, in order.
    pub added: Vec<Row>,
    /// Swims of which the log said something else, and now says this.
    pub replaced: Vec<Differing>,
    /// How many were there already.
    pub there: usize,
    /// Swims of which the log says something else; not taken.
    pub refused: Vec<Differing>,
}

/// A swim of which two rows say different things.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Differing {
    /// Its line in the file that was taken in, from 1.
    pub line: usize,
    /// The log's line, from 1; none where an earlier line of the same file says something else.
    pub log_line: Option<usize>,
    /// In which columns: what is there, what the new row says.
    pub fields: Vec<(&'static str, String, String)>,
}

/// Takes rows into a log, which is made where it is not there. Bare distances of the log are in
/// the unit of `pool`. With `replace` a row takes the place of the log's of the same swim: what it
/// leaves open stays as it was.
///
/// # Errors
/// Those of [`super::append()`]; then the log is as it was.
pub fn take_in(file: &str, rows: &[LogLine], pool: &Length, replace: bool) -> Result<TakenIn> {
    change(file, |log| {
        let table = log_table(log.file, &log.bytes[..])?;
        let there = Rows::of_log(log.file, table)?.in_pool(pool).all()?.rows;
        let mut known = Known::default();
        for line in there {
            known.learn(line.row, Some(line.line));
        }
        let mut taken = TakenIn::default();
        let mut edits = Vec::new();
        for LogLine { line, row } in rows {
            match known.find(row) {
                Found::Nothing => {
                    known.learn(row.clone(), None);
                    taken.added.push(row.clone());
                }
                Found::Same => taken.there += 1,
                Found::Other(at) => {
                    let (old, log_line) = known.rows[at].clone();
                    let differing = Differing {
                        line: *line,
                        log_line,
                        fields: differences(row, &old),
                    };
                    match log_line.filter(|_| replace) {
                        Some(log_line) => {
                            let merged = merged(&old, row)?;
                            known.rows[at].0 = merged.clone();
                            edits.push((log_line, merged));
                            taken.replaced.push(differing);
                        }
                        None => taken.refused.push(differing),
                    }
                }
            }
        }
        put_all(log, edits)?;
        log.add(&taken.added)?;
        Ok(taken)
    })
}

/// A swim: date, swimmer, session, set, repeat; names in lower case.
type Swim = (Date, String, String, String, u64);

fn swim_of(row: &Row) -> Option<Swim> {
    let [swimmer, session, set] =
        [&row.swimmer, &row.session, &row.set].map(|name| name.to_lowercase());
    Some((row.date?, swimmer, session, set, row.repeat?))
}

/// By what a row without a repeat is looked up: date, distance, time.
type Said = [String; 3];

fn said_of(row: &Row) -> Said {
    ["date", "distance", "time"].map(|column| field(row, column))
}

/// What the log holds, and what has been added to it.
#[derive(Default)]
struct Known {
    rows: Vec<(Row, Option<usize>)>,
    swims: HashMap<Swim, Vec<usize>>,
    said: HashMap<Said, Vec<usize>>,
    /// Rows that a row without a repeat was found to be.
    claimed: HashSet<usize>,
}

enum Found {
    Nothing,
    Same,
    Other(usize),
}

impl Known {
    fn learn(&mut self, row: Row, line: Option<usize>) {
        let at = self.rows.len();
        if let Some(swim) = swim_of(&row) {
            self.swims.entry(swim).or_default().push(at);
        }
        self.said.entry(said_of(&row)).or_default().push(at);
        if line.is_none() {
            // One that came with this file is no double of another that does.
            self.claimed.insert(at);
        }
        self.rows.push((row, line));
    }

    fn find(&mut self, row: &Row) -> Found {
        let says_it = |at: &&usize| differences(row, &self.rows[**at].0).is_empty();
        match swim_of(row) {
            Some(swim) => match self.swims.get(&swim).map(Vec::as_slice) {
                Some(same) if same.iter().any(|at| says_it(&at)) => Found::Same,
                Some([.., last]) => Found::Other(*last),
                _ => Found::Nothing,
            },
            None => {
                let like = self.said.get(&said_of(row)).into_iter().flatten();
                let mut free = like.filter(|at| !self.claimed.contains(at));
                match free.find(says_it).copied() {
                    Some(at) => {
                        self.claimed.insert(at);
                        Found::Same
                    }
                    None => Found::Nothing,
                }
            }
        }
    }
}

/// In which columns a new row says something else: what is there, what it says. Upper and lower
/// case of names are one.
fn differences(new: &Row, old: &Row) -> Vec<(&'static str, String, String)> {
    (COLUMNS.into_iter())
        .map(|column| (column, field(old, column), field(new, column)))
        .filter(|(column, old, new)| {
            let same = match *column {
                "swimmer" | "session" | "set" => old.to_lowercase() == new.to_lowercase(),
                _ => old == new,
            };
            !new.is_empty() && !same
        })
        .collect()
}

/// The old row with what the new one says.
fn merged(old: &Row, new: &Row) -> Result<Row> {
    let mut row = old.clone();
    for column in COLUMNS {
        set_field(&mut row, column, &field(new, column)).map_err(Error::input)?;
    }
    Ok(row)
}

/// Puts rows in the place of those on these lines.
fn put_all(log: &mut Held, edits: Vec<(usize, Row)>) -> Result<()> {
    if edits.is_empty() {
        return Ok(());
    }
    let starts = line_starts(log)?;
    // A later edit of one line holds, and those behind go first: they move nothing before them.
    let by_line: HashMap<usize, Row> = edits.into_iter().collect();
    let mut by_line: Vec<(usize, Row)> = by_line.into_iter().collect();
    by_line.sort_by_key(|(line, _)| std::cmp::Reverse(*line));
    for (line, row) in by_line {
        let there = record_at(log, starts[line - 1])?;
        log.put(there, &row)?;
    }
    Ok(())
}

/// Where each line begins, in bytes.
fn line_starts(log: &Held) -> Result<Vec<usize>> {
    let mut lines = Lines::of(log.file, &log.bytes[..])?;
    let mut lengths = Vec::new();
    while let Some(span) = lines.line()? {
        lengths.push(span.bytes);
        lines.pass(span);
    }
    // A mark of the byte order may stand before the first.
    let mut at = log.bytes.len() - lengths.iter().sum::<usize>();
    Ok((lengths.into_iter())
        .map(|bytes| {
            let start = at;
            at += bytes;
            start
        })
        .collect())
}

/// The bytes of the record that begins here.
fn record_at(log: &Held, start: usize) -> Result<Range<usize>> {
    let mut lines = Lines::of(log.file, &log.bytes[start..])?;
    let bytes = lines.record()?.map_or(0, |span| span.bytes);
    Ok(start..start + bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(line: usize, fields: &[(&str, &str)]) -> LogLine {
        let mut row = Row::default();
        for (column, text) in fields {
            set_field(&mut row, column, text).expect("the test's own fields hold");
        }
        LogLine { line, row }
    }

    fn swim(number: usize, time: &str) -> LogLine {
        let repeat = number.to_string();
        line(
            number + 1,
            &[
                ("date", "2027-03-29"),
                ("swimmer", "Alex"),
                ("session", "Week 5"),
                ("set", "With cues"),
                ("repeat", &repeat),
                ("distance", "50 m"),
                ("time", time),
            ],
        )
    }

    fn log(text: &str) -> (tempfile::TempDir, String) {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("log.csv");
        if !text.is_empty() {
            std::fs::write(&file, text).expect("the test's own folder");
        }
        let file = file.display().to_string();
        (folder, file)
    }

    fn pool() -> Length {
        Length::from_metres(crate::units::exact(25))
    }

    #[test]
    fn rows_taken_in_twice_are_there_once() {
        let (_folder, file) = log("");
        let rows = [swim(1, "48.1 s"), swim(2, "48.4 s")];
        let first = take_in(&file, &rows, &pool(), false).expect("a log");
        assert_eq!((first.added.len(), first.there), (2, 0));
        let once = std::fs::read(&file).expect("a log");
        let again = take_in(&file, &rows, &pool(), false).expect("a log");
        assert_eq!((again.added.len(), again.there), (0, 2));
        assert_eq!(std::fs::read(&file).expect("a log"), once);
    }

    #[test]
    fn another_time_of_the_same_swim_is_named_and_taken_only_with_replace() {
        // A column of the person's own, a note over two lines, CRLF, decimal commas.
        let text = "\u{feff}date;swimmer;session;set;repeat;distance;time;strokes;rate_cued;pairing;\
             kick;effort;kept;trial;note;shoes\r\n\
             2027-03-29;alex;Week 5;With cues;1;50;48,1;;;;;;;;\"cold\r\nwater\";blue\r\n\
             broken;line\r\n\
             2027-03-29;Alex;Week 5;With cues;2;50;48,4;44;;;;;;;;\r\n";
        let (_folder, file) = log(text);
        let rows = [swim(1, "47.5 s"), swim(2, "48.4 s"), swim(1, "47.5 s")];
        let found = take_in(&file, &rows, &pool(), false).expect("a log");
        let fields = vec![("time", "48.1 s".to_string(), "47.5 s".to_string())];
        let differing = |line| Differing {
            line,
            log_line: Some(2),
            fields: fields.clone(),
        };
        assert_eq!(found.refused, [differing(2), differing(2)]);
        assert_eq!((found.added.len(), found.there), (0, 1));
        assert_eq!(std::fs::read_to_string(&file).expect("a log"), text);

        let found = take_in(&file, &rows, &pool(), true).expect("a log");
        assert_eq!(found.replaced, [differing(2)]);
        assert_eq!(found.there, 2);
        let wanted = text.replace(
            "2027-03-29;alex;Week 5;With cues;1;50;48,1;;;;;;;;\"cold\r\nwater\";blue",
            "2027-03-29;Alex;Week 5;With cues;1;50 m;47.5 s;;;;;;;;cold water;blue",
        );
        assert_eq!(std::fs::read_to_string(&file).expect("a log"), wanted);
    }

    #[test]
    fn two_lines_of_one_file_that_contradict_each_other_are_named_and_the_first_holds() {
        let (_folder, file) = log("");
        let rows = [swim(1, "48.1 s"), swim(1, "47 s")];
        let found = take_in(&file, &rows, &pool(), true).expect("a log");
        assert_eq!(found.added, [rows[0].row.clone()]);
        assert_eq!(found.refused[0].log_line, None);
    }

    #[test]
    fn equal_swims_of_a_watch_are_as_many_as_it_has() {
        let (_folder, file) = log("");
        let of = |time| {
            let fields = [("date", "2027-03-29"), ("distance", "50 m"), ("time", time)];
            line(2, &fields)
        };
        let rows = [of("48 s"), of("48 s"), of("49 s")];
        assert_eq!(
            take_in(&file, &rows, &pool(), false)
                .expect("a log")
                .added
                .len(),
            3
        );
        let more = [&rows[..], &[of("48 s")]].concat();
        let found = take_in(&file, &more, &pool(), false).expect("a log");
        assert_eq!((found.added.len(), found.there), (1, 3));
    }
}
