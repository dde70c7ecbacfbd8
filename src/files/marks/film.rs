//! What the rows of a marks file say of their film: its frames, its name, its place in a track.

use std::collections::BTreeMap;

use super::columns::Columns;
use crate::error::{Error, Result};
use crate::files::csv::Record;
use crate::files::key_value::quoted;
use crate::model::cue::Side;
use crate::model::record::{FilmSync, FoundPlace, FoundSync, Mark, MarkedFilm};

/// The longest and shortest that a frame may last, s: from 1 to 10000 frames a second.
const FRAME_S: (f64, f64) = (0.0001, 1.0);
/// The farthest that a film may begin from a track's beginning, s: a day.
const FARTHEST_S: f64 = 86_400.0;
/// The most that two clocks may run apart, parts in a million: far more than any two do.
const MOST_DRIFT_PPM: f64 = 1000.0;
/// The widest interval of a place, ms each way.
const WIDEST_MS: f64 = 1000.0;

/// What the rows read so far say of their film.
#[derive(Default)]
pub struct FilmRows {
    frames_s: Vec<f64>,
    /// Each pass's film, and the first line that says so.
    films: BTreeMap<u32, (String, usize)>,
    mirrored: bool,
    sync: Option<(FilmSync, usize)>,
    /// The fingerprints of the cues that the rows speak of, each with its first line.
    cues: Vec<(String, usize)>,
}

impl FilmRows {
    /// Reads what the row of a mark says; `file` is the name for messages.
    ///
    /// # Errors
    /// At the line and column that does not hold.
    pub fn read(
        &mut self,
        file: &str,
        record: &Record,
        columns: &Columns,
        mark: &Mark,
    ) -> Result<()> {
        let row = Row { file, record };
        if let Some(frame_s) = row.number(columns.frame_s, "frame_s", FRAME_S, "0.016683")? {
            self.frames_s.push(frame_s);
        }
        self.name(&row, columns.film, mark.pass)?;
        self.mirrored |= row.yes(columns.mirrored, "mirrored")?.unwrap_or(false);
        let cues = row.field(columns.sync_cues);
        if !cues.is_empty() && self.cues.iter().all(|(known, _)| known != cues) {
            self.cues.push((cues.to_string(), record.line));
        }
        if let Some(found) = row.found(columns)? {
            self.sync(&row, found)?;
        }
        Ok(())
    }

    /// Takes a cue that was heard in the film.
    ///
    /// # Errors
    /// When there is one already: one tells the place, two could differ.
    pub fn heard(&mut self, file: &str, record: &Record, time_s: f64, arm: Side) -> Result<()> {
        let row = Row { file, record };
        if let Some((_, line)) = self.sync {
            let why = format!("line {line} says already where the film is in the track");
            return Err(row
                .refuses("event", &why)
                .accepted("one left_cue or right_cue, or one sync"));
        }
        let heard = FilmSync::Heard { time_s, arm };
        self.sync = Some((heard, record.line));
        Ok(())
    }

    /// Frames a second: those whose rounding is as large as that of the frames marked.
    pub fn frame_rate_hz(&self) -> Option<f64> {
        let squares: f64 = self.frames_s.iter().map(|gap| gap * gap).sum();
        let count = self.frames_s.len() as f64;
        (count > 0.0).then(|| (count / squares).sqrt())
    }

    /// What is to be said of it.
    pub fn note(&self) -> Option<String> {
        self.mirrored.then(|| {
            "The film was turned round left to right for marking; sides are the swimmer's own."
                .into()
        })
    }

    /// What the film is, once all rows are read.
    ///
    /// # Errors
    /// When several films share one place in a track, or it is one among several tracks' cues.
    pub fn film(self, file: &str) -> Result<MarkedFilm> {
        if let (Some(_), [(known, first), (other, line), ..]) = (&self.sync, &self.cues[..]) {
            return Err(Error::input(format!(
                "found {}, where line {first} has {}",
                quoted(other),
                quoted(known)
            ))
            .at(format!("{file}:{line}: sync_cues"))
            .accepted("the cues of one session where a cue heard in it is told"));
        }
        let mut names = self.films.values();
        let first = names.next();
        let other = first.and_then(|(name, _)| names.find(|(other, _)| other != name));
        match (self.sync, other) {
            (Some(_), Some((other, line))) => Err(Error::input(format!(
                "found {}, another film",
                quoted(other)
            ))
            .at(format!("{file}:{line}: film"))
            .accepted("the marks of one film where a cue heard in it is told")),
            (sync, other) => Ok(MarkedFilm {
                name: first
                    .filter(|_| other.is_none())
                    .map(|(name, _)| name.clone()),
                sync_cues: (sync.is_some())
                    .then(|| self.cues.into_iter().next().map(|(cues, _)| cues))
                    .flatten(),
                sync: sync.map(|(sync, _)| sync),
            }),
        }
    }

    fn name(&mut self, row: &Row, column: Option<usize>, pass: u32) -> Result<()> {
        let name = row.field(column);
        if name.is_empty() {
            return Ok(());
        }
        let new = || (name.to_string(), row.record.line);
        let (known, line) = self.films.entry(pass).or_insert_with(new);
        if known == name {
            return Ok(());
        }
        let why = format!("pass {pass} is of {} by line {line}", quoted(known));
        Err(row
            .refuses("film", &why)
            .accepted("another pass for each film"))
    }

    fn sync(&mut self, row: &Row, sync: FilmSync) -> Result<()> {
        match &self.sync {
            Some((known, line)) if *known != sync => {
                let why = format!("line {line} says another place");
                Err(row.refuses("sync", &why).accepted(
                    "one place of the film in the track: the same on every row, or one left_cue or right_cue",
                ))
            }
            Some(_) => Ok(()),
            None => {
                self.sync = Some((sync, row.record.line));
                Ok(())
            }
        }
    }
}

/// One row, with its place for messages.
struct Row<'a> {
    file: &'a str,
    record: &'a Record<'a>,
}

impl<'a> Row<'a> {
    fn field(&self, column: Option<usize>) -> &'a str {
        column.map_or("", |column| self.record.field(column))
    }

    fn at(&self, column: &str) -> String {
        format!("{}:{}: {column}", self.file, self.record.line)
    }

    fn refuses(&self, column: &str, why: &str) -> Error {
        Error::input(why).at(self.at(column))
    }

    /// A number within a range; nothing where the field is empty.
    fn number(
        &self,
        column: Option<usize>,
        name: &str,
        (low, high): (f64, f64),
        example: &str,
    ) -> Result<Option<f64>> {
        let text = self.field(column);
        let Some(column) = column.filter(|_| !text.is_empty()) else {
            return Ok(None);
        };
        let value: Option<f64> = self.record.number(column).parse().ok();
        match value.filter(|value| (low..=high).contains(value)) {
            Some(value) => Ok(Some(value)),
            None => Err(Error::input(format!("found {}", quoted(text)))
                .at(self.at(name))
                .accepted(format!("a number from {low} to {high}"))
                .example(example)),
        }
    }

    /// Yes or no; nothing where the field is empty.
    fn yes(&self, column: Option<usize>, name: &str) -> Result<Option<bool>> {
        match self.field(column).to_lowercase().as_str() {
            "yes" => Ok(Some(true)),
            "no" => Ok(Some(false)),
            "" => Ok(None),
            _ => Err(
                Error::input(format!("found {}", quoted(self.field(column))))
                    .at(self.at(name))
                    .accepted("yes or no")
                    .example("no"),
            ),
        }
    }

    /// The place of the film in a track, where the row says one.
    fn found(&self, columns: &Columns) -> Result<Option<FilmSync>> {
        let text = self.field(columns.sync);
        if text.is_empty() {
            return Ok(None);
        }
        let place = (FoundPlace::ALL.into_iter())
            .find(|place| place.word() == text)
            .ok_or_else(|| {
                Error::input(format!("found {}", quoted(text)))
                    .at(self.at("sync"))
                    .accepted("locked or cycles, or nothing")
                    .example("locked")
            })?;
        let name = "track_s_at_film_0";
        let begins = self.number(
            columns.track_s_at_film_0,
            name,
            (-FARTHEST_S, FARTHEST_S),
            "72.312",
        )?;
        let drift = (-MOST_DRIFT_PPM, MOST_DRIFT_PPM);
        let drift = self.number(columns.drift_ppm, "drift_ppm", drift, "4.0")?;
        // What is told lies within its own interval.
        let (early, late) = ((-WIDEST_MS, 0.0), (0.0, WIDEST_MS));
        let low = self.number(columns.sync_low_ms, "sync_low_ms", early, "-1.0")?;
        let high = self.number(columns.sync_high_ms, "sync_high_ms", late, "1.0")?;
        Ok(Some(FilmSync::Found(FoundSync {
            place,
            track_s_at_film_0: begins.ok_or_else(|| {
                self.refuses(name, "found nothing beside a sync")
                    .accepted("the track's time at the film's beginning, in seconds")
                    .example("72.312")
            })?,
            drift_ppm: drift.unwrap_or(0.0),
            interval_ms: low.zip(high),
            several_paths: self.yes(columns.several_paths, "several_paths")?,
        })))
    }
}
