//! A step test's file: a log, or numbers under units that the header names.

use super::csv::Table;
use super::log::{parse_log, read_bytes};
use crate::error::{Error, Result};
use crate::model::log::{Broken, Log};
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
    /// A log.
    Log(Log),
    /// Numbers, the lines that hold none, and what was accepted of the file's form.
    Numbers(Vec<RateSpeed>, Vec<Broken>, Vec<String>),
}

/// Reads a step test's file; `-` is standard input.
///
/// # Errors
/// When it cannot be read, or its header is neither of the three.
pub fn read_steps(file: &str) -> Result<StepFile> {
    let bytes = read_bytes(file)?;
    let file = super::name_of(file);
    let Some(table) = Table::parse(file, &bytes)? else {
        return Err(no_steps(file, "the file has no header line"));
    };
    let column = |name: &str| table.column(name);
    let Some(rate) = column("rate_spm") else {
        return match column("distance").is_some() && column("time").is_some() {
            true => parse_log(file, &bytes).map(StepFile::Log),
            false => Err(no_steps(
                file,
                &format!("found the header {}", table.header.join(",")),
            )),
        };
    };
    let speed = column("speed_m_s");
    let over_time = column("time_s").zip(column("distance_m"));
    if speed.is_none() && over_time.is_none() {
        return Err(no_steps(file, "the header has rate_spm and no speed"));
    }
    let (mut numbers, mut broken) = (Vec::new(), table.broken.clone());
    for record in &table.records {
        let number = |at: usize| {
            let text = table.with_point(&record.fields[at]).0;
            let value: Option<f64> = text
                .parse()
                .ok()
                .filter(|value: &f64| value.is_finite() && *value > 0.0);
            value.ok_or_else(|| {
                format!(
                    "{}: found {text:?}, which is not a number above zero",
                    table.header[at]
                )
            })
        };
        let speed = match (speed, over_time) {
            (Some(speed), _) => number(speed),
            (None, Some((time, distance))) => {
                number(time).and_then(|time| number(distance).map(|distance| distance / time))
            }
            (None, None) => Err("no speed".into()),
        };
        let row = number(rate).and_then(|rate_spm| match Rate::RANGE_SPM.contains(&rate_spm) {
            true => speed.map(|speed_m_s| RateSpeed {
                line: record.line,
                rate_spm,
                speed_m_s,
            }),
            false => Err(format!(
                "rate_spm: found {rate_spm}, outside 10 to 160 (both arms counted)"
            )),
        });
        match row {
            Ok(row) => numbers.push(row),
            Err(why) => broken.push(Broken {
                line: record.line,
                why,
            }),
        }
    }
    broken.sort_by_key(|broken| broken.line);
    Ok(StepFile::Numbers(numbers, broken, table.form_notes()))
}

fn no_steps(file: &str, why: &str) -> Error {
    Error::input(why)
        .at(file)
        .accepted("a log, or CSV with the header rate_spm,speed_m_s or rate_spm,time_s,distance_m")
}
