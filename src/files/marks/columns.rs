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
    pub frame_s: Option<usize>,
    pub film: Option<usize>,
    pub mirrored: Option<usize>,
    pub sync: Option<usize>,
    pub track_s_at_film_0: Option<usize>,
    pub drift_ppm: Option<usize>,
    pub sync_low_ms: Option<usize>,
    pub sync_high_ms: Option<usize>,
    pub several_paths: Option<usize>,
    pub sync_cues: Option<usize>,
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
        let mut columns = Self {
            time: column,
            is_frame: time.is_none(),
            event,
            pass,
            frame_s: find(&["frame_s"])?,
            film: find(&["film"])?,
            mirrored: find(&["mirrored"])?,
            sync: find(&["sync"])?,
            track_s_at_film_0: find(&["track_s_at_film_0"])?,
            drift_ppm: find(&["drift_ppm"])?,
            sync_low_ms: find(&["sync_low_ms"])?,
            sync_high_ms: find(&["sync_high_ms"])?,
            several_paths: find(&["several_paths"])?,
            sync_cues: find(&["sync_cues"])?,
            notes: Vec::new(),
        };
        let used = columns.used();
        let unused: Vec<String> = (names.iter().enumerate())
            .filter(|(at, name)| !used.contains(&Some(*at)) && !name.is_empty())
            .map(|(_, name)| quoted(name))
            .collect();
        if !unused.is_empty() {
            let note = format!("Not used: column {}.", unused.join(", "));
            columns.notes.push(note);
        }
        Ok(columns)
    }

    fn used(&self) -> [Option<usize>; 13] {
        [
            Some(self.time),
            Some(self.event),
            self.pass,
            self.frame_s,
            self.film,
            self.mirrored,
            self.sync,
            self.track_s_at_film_0,
            self.drift_ppm,
            self.sync_low_ms,
            self.sync_high_ms,
            self.several_paths,
            self.sync_cues,
        ]
    }
}
