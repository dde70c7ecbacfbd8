//! The columns of a marks file, by its header line.

use crate::error::{Error, Result};
use crate::files::csv::Table;
use crate::files::key_value::quoted;

pub const EXAMPLE: &str = "time,event,pass\n  12.480,left_entry,1";

/// Which column holds what.
pub struct Columns {
    pub time: usize,
    pub is_frame: bool,
    pub event: usize,
    pub pass: Option<usize>,
    pub notes: Vec<String>,
}

impl Columns {
    pub fn of(table: &Table) -> Result<Self> {
        let names = &table.header;
        let place = format!("{}:{}", table.file, table.header_line);
        let find = |wanted: &[&str]| -> Result<Option<usize>> {
            let mut found = (names.iter().enumerate())
                .filter(|(_, name)| wanted.contains(&name.as_str()))
                .map(|(at, _)| at);
            let first = found.next();
            match found.next() {
                None => Ok(first),
                Some(_) => Err(
                    Error::input(format!("the column {} is there twice", wanted[0]))
                        .at(&place)
                        .accepted("each column once")
                        .example(EXAMPLE),
                ),
            }
        };
        let missing = |column: &str| {
            let near = table.is_it(column, &[]);
            Error::input(format!("there is no column {column}{near}"))
                .at(&place)
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
        let notes = if unused.is_empty() {
            Vec::new()
        } else {
            vec![format!("Not used: column {}.", unused.join(", "))]
        };
        Ok(Self {
            time: column,
            is_frame: time.is_none(),
            event,
            pass,
            notes,
        })
    }
}
