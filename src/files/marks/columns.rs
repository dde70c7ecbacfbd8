//! The columns of a marks file, by its header line.

use super::{EXAMPLE, broken_row};
use crate::error::{Error, Result};
use crate::files::entry::{nearest, quoted};

/// Which column holds what.
pub struct Columns {
    pub time: usize,
    pub is_frame: bool,
    pub event: usize,
    pub pass: Option<usize>,
    pub count: usize,
    pub notes: Vec<String>,
}

impl Columns {
    pub fn read(file: &str, reader: &mut csv::Reader<&[u8]>) -> Result<Self> {
        let header = reader.headers().map_err(|error| broken_row(file, &error))?;
        let names: Vec<String> = header.iter().map(str::to_lowercase).collect();
        let find = |wanted: &[&str]| -> Result<Option<usize>> {
            let mut found = (names.iter().enumerate())
                .filter(|(_, name)| wanted.contains(&name.as_str()))
                .map(|(at, _)| at);
            let first = found.next();
            match found.next() {
                None => Ok(first),
                Some(_) => Err(
                    Error::input(format!("the column {} is there twice", wanted[0]))
                        .at(format!("{file}:1"))
                        .accepted("each column once")
                        .example(EXAMPLE),
                ),
            }
        };
        let missing = |column: &str| {
            let all: Vec<&str> = names.iter().map(String::as_str).collect();
            let near = nearest(column, &all)
                .map(|near| format!("; is it {}?", quoted(near)))
                .unwrap_or_default();
            Error::input(format!("there is no column {column}{near}"))
                .at(format!("{file}:1"))
                .accepted(
                    "a header line with time (or frame), event, and pass where there are several",
                )
                .example(EXAMPLE)
        };
        let (time, frame) = (find(&["time", "time_s"])?, find(&["frame"])?);
        let (event, pass) = (find(&["event"])?, find(&["pass"])?);
        let column = time.or(frame).ok_or_else(|| missing("time"))?;
        let event = event.ok_or_else(|| missing("event"))?;
        let used = [Some(column), Some(event), pass];
        let unused: Vec<String> = (names.iter().enumerate())
            .filter(|(at, name)| !used.contains(&Some(*at)) && !name.is_empty())
            .map(|(_, name)| quoted(name))
            .collect();
        let notes = match unused.is_empty() {
            true => Vec::new(),
            false => vec![format!("Not used: column {}.", unused.join(", "))],
        };
        Ok(Self {
            time: column,
            is_frame: time.is_none(),
            event,
            pass,
            count: names.len(),
            notes,
        })
    }
}
