//! A step test's file: a log, or numbers under units that the header names.

use super::csv::{self, Record, Short, Table};
use super::log::Rows;
use crate::error::{Error, Result};
use crate::model::log::Broken;
use crate::units::Rate;

/// One row of a step test in numbers: strokes/min, m/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateSpeed {
    /// The line, from 1.
    pub line: usize,
    /// Rate, strokes/min.
    pub rate_spm: f64,
    /// Speed, m/s.
    pub speed_m_s: f64,
}

/// A step test's file: a log, or numbers under `rate_spm,speed_m_s` or `rate_spm,time_s,distance_m`.
pub enum StepFile {
    /// A log, to be read row by row.
    Log(Box<Rows<'static>>),
    /// Numbers, the lines that hold none, and what was accepted of the file's form.
    Numbers(Vec<RateSpeed>, Vec<Broken>, Vec<String>),
}

/// Reads a step test's file; `-` is standard input.
///
/// # Errors
/// When it cannot be read, or its header is neither of the three.
pub fn read_steps(file: &str) -> Result<StepFile> {
    let from = csv::open(file)?;
    let file = super::name_of(file);
    let Some(mut table) = Table::of(file, from, Short::Broken)? else {
        return Err(no_steps(file, "the file has no header line"));
    };
    table.each_once()?;
    let column = |name: &str| table.column(name);
    let Some(rate) = column("rate_spm") else {
        return if column("distance").is_some() && column("time").is_some() {
            Rows::of_log(file, Some(table)).map(|rows| StepFile::Log(Box::new(rows)))
        } else {
            Err(no_steps(
                file,
                &format!("found the header {}", table.header.join(",")),
            ))
        };
    };
    let over_time = column("time_s").zip(column("distance_m"));
    let columns = Columns {
        rate,
        speed: match (column("speed_m_s"), over_time) {
            (Some(speed), _) => Speed::Told(speed),
            (None, Some((time, distance))) => Speed::Over { time, distance },
            (None, None) => return Err(no_steps(file, "the header has rate_spm and no speed")),
        },
    };
    let mut notes: Vec<String> = table.separator_note().into_iter().collect();
    let header = table.header.clone();
    let (mut numbers, mut broken) = (Vec::new(), Vec::new());
    while let Some(found) = table.read()? {
        let (line, row) = match found {
            Ok(record) => (record.line, columns.read(&record, &header)),
            Err(slip) => (slip.line, Err(slip.why.to_string())),
        };
        match row {
            Ok(row) => numbers.push(row),
            Err(why) => broken.push(Broken { line, why }),
        }
    }
    notes.extend(table.comma_note());
    Ok(StepFile::Numbers(numbers, broken, notes))
}

/// Where a row's numbers are.
struct Columns {
    rate: usize,
    speed: Speed,
}

enum Speed {
    Told(usize),
    Over { time: usize, distance: usize },
}

impl Columns {
    fn read(&self, record: &Record, header: &[String]) -> Result<RateSpeed, String> {
        let number = |at: usize| {
            let text = record.number(at);
            let value: Option<f64> = text
                .parse()
                .ok()
                .filter(|value: &f64| value.is_finite() && *value > 0.0);
            value.ok_or_else(|| {
                format!(
                    "{}: found {text:?}, which is not a number above zero",
                    header[at]
                )
            })
        };
        let rate_spm = number(self.rate)?;
        if !Rate::RANGE_SPM.contains(&rate_spm) {
            return Err(format!(
                "rate_spm: found {rate_spm}, outside 10 to 160 (both arms counted)"
            ));
        }
        let speed_m_s = match self.speed {
            Speed::Told(speed) => number(speed)?,
            Speed::Over { time, distance } => {
                let time = number(time)?;
                number(distance)? / time
            }
        };
        Ok(RateSpeed {
            line: record.line,
            rate_spm,
            speed_m_s,
        })
    }
}

fn no_steps(file: &str, why: &str) -> Error {
    Error::input(why)
        .at(file)
        .accepted("a log, or CSV with the header rate_spm,speed_m_s or rate_spm,time_s,distance_m")
}
