//! The film times of one file: one form throughout.

use crate::error::{Error, Result};
use crate::files::csv::Record;
use crate::files::key_value::quoted;
use crate::files::timecode::{TimeForm, WrittenTime, unaccepted_time};

/// The times of one file: one form throughout.
pub struct Times {
    fps: Option<f64>,
    is_frame: bool,
    form: Option<(TimeForm, usize)>,
}

impl Times {
    pub fn new(fps: Option<f64>, is_frame: bool) -> Self {
        Self {
            fps,
            is_frame,
            form: None,
        }
    }

    pub fn read(&mut self, record: &Record, at: usize) -> Result<f64> {
        let (text, written, line) = (record.field(at), record.number(at), record.line);
        if self.is_frame {
            let fps = self.fps.ok_or_else(|| no_frame_rate("frame numbers"))?;
            let frame: u32 = written.parse().map_err(|_| {
                Error::input(format!("found {}", quoted(text)))
                    .accepted("a whole frame number from 0 on")
                    .example("374")
            })?;
            return Ok(f64::from(frame) / fps);
        }
        let form = WrittenTime::parse(&written).ok_or_else(|| unaccepted_time(text))?;
        match self.form {
            None => self.form = Some((form.kind(), line)),
            Some((kind, _)) if kind == form.kind() => {}
            Some((kind, first)) => {
                return Err(Error::input(format!(
                    "found {}, {}, where line {first} has {}",
                    quoted(text),
                    form.kind().in_words(),
                    kind.in_words()
                ))
                .accepted("one form of time in one file")
                .example(kind.example()));
            }
        }
        if form.kind() == TimeForm::Code && self.fps.is_none() {
            return Err(no_frame_rate("time codes"));
        }
        form.seconds(self.frame_rate_hz())
            .map_err(|why| Error::input(why).example(form.kind().example()))
    }

    /// The frame rate told, or the one that drop-frame code is made for.
    pub fn frame_rate_hz(&self) -> Option<f64> {
        let drop_frame = matches!(self.form, Some((TimeForm::DropCode, _)));
        self.fps.or(drop_frame.then_some(30_000.0 / 1001.0))
    }

    pub fn note(&self) -> Option<String> {
        let taken = self.fps.is_none() && self.frame_rate_hz().is_some();
        taken.then(|| "Drop-frame time code is read at 29.97 frames/s.".into())
    }
}

fn no_frame_rate(what: &str) -> Error {
    Error::input(format!("found {what}, and nothing says the frame rate"))
        .accepted("the film's frames a second, by --fps")
        .example("--fps 30")
}
