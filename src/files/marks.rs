//! Marks files: CSV with a header line, from the marking page or any other tool.
//!
//! Columns: `time` (seconds, `m:ss.mmm`, or time code) or `frame`, `event`, and optionally `pass`.
//! The delimiter is the one that the header line has, so that the `;` of a drop-frame time code
//! is never taken for one. One file holds one form of time: a mixture is refused.

mod columns;
mod times;

use std::fs::File;
use std::io::Read;

use super::entry::{nearest, quoted};
use super::timecode::{Form, frame_rate, unaccepted_time};
use crate::error::{Error, Result};
use crate::model::cue::Side;
use crate::model::record::{Mark, Marks, Moment};
use columns::Columns;
use times::Times;

/// The largest marks file that is read, in bytes: far more than a million marks.
const LARGEST_BYTES: u64 = 64 << 20;
/// The last film time accepted, s: longer than any film, short enough to count in floats.
const LATEST_S: f64 = 1e6;

const EXAMPLE: &str = "time,event,pass\n  12.480,left_entry,1";
const EVENTS: [&str; 10] = [
    "left_entry",
    "right_entry",
    "left_catch",
    "right_catch",
    "left_exit",
    "right_exit",
    "left_kick",
    "right_kick",
    "left_breath",
    "right_breath",
];

/// Reads a marks file; `-` is standard input. `fps` is the film's frame rate as a person wrote it.
///
/// # Errors
/// When it cannot be read or does not hold.
pub fn read_marks(file: &str, fps: Option<&str>) -> Result<Marks> {
    let bytes = match file {
        "-" => read_at_most(std::io::stdin().lock(), "standard input")?,
        _ => {
            let open = File::open(file).map_err(|error| unreadable(file, &error))?;
            if open.metadata().is_ok_and(|about| about.is_dir()) {
                return Err(Error::input("this is a folder, not a file").at(file));
            }
            read_at_most(open, file)?
        }
    };
    parse_marks(file, &super::text_of(bytes, file)?, fps)
}

fn unreadable(file: &str, error: &std::io::Error) -> Error {
    Error::input(format!("cannot be read: {error}"))
        .at(file)
        .accepted("the path of a CSV file of marks, or - for standard input")
        .example("cuelane timing alex-marks.csv")
}

/// Reads one moment of the film, in any form that a marks file may have.
///
/// # Errors
/// When it is none, or a time code of a film whose frame rate is not known.
pub fn read_film_time(text: &str, frame_rate_hz: Option<f64>) -> Result<f64> {
    let form = Form::parse(text.trim().trim_end_matches('s').trim_end())
        .ok_or_else(|| unaccepted_time(text))?;
    form.seconds(frame_rate_hz)
        .map_err(|why| Error::input(why).accepted("--fps beside it, or seconds"))
}

fn read_at_most(from: impl Read, file: &str) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    (from.take(LARGEST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(file, &error))?;
    match bytes.len() as u64 > LARGEST_BYTES {
        true => Err(Error::input("found more than 64 MiB; no film has that many marks").at(file)),
        false => Ok(bytes),
    }
}

/// Parses the text of a marks file; `file` is the name for messages.
///
/// # Errors
/// At the line and column that does not hold.
pub fn parse_marks(file: &str, text: &str, fps: Option<&str>) -> Result<Marks> {
    let fps = match fps {
        Some(fps) => Some(frame_rate(fps)?),
        None => None,
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let header = (text.lines().find(|line| !line.trim().is_empty()))
        .ok_or_else(|| empty(file, "found an empty file"))?;
    let delimiter = delimiter(header);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let columns = Columns::read(file, &mut reader)?;
    let mut times = Times::new(fps, columns.is_frame, delimiter == b';');
    let mut marks = Vec::new();
    let mut record = csv::StringRecord::new();
    while (reader.read_record(&mut record)).map_err(|error| broken_row(file, &error))? {
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = record.position().map_or(0, |place| place.line() as usize);
        marks.push(mark(file, &record, line, &columns, &mut times)?);
    }
    if marks.is_empty() {
        return Err(empty(file, "found a header and no mark"));
    }
    let mut notes = columns.notes;
    if delimiter == b';' {
        notes.push("Fields are separated by semicolons.".into());
    }
    notes.extend(times.notes());
    Ok(Marks {
        source: file.to_string(),
        marks,
        frame_rate_hz: times.frame_rate_hz(),
        notes,
    })
}

fn mark(
    file: &str,
    record: &csv::StringRecord,
    line: usize,
    columns: &Columns,
    times: &mut Times,
) -> Result<Mark> {
    let at = |column: &str| format!("{file}:{line}: {column}");
    let field = |column: usize| record.get(column).unwrap_or_default();
    if record.len() > columns.count {
        return Err(Error::input(format!(
            "found {} fields where the header has {}",
            record.len(),
            columns.count
        ))
        .at(format!("{file}:{line}"))
        .accepted("one field for each column; a field that holds the delimiter, in quotes")
        .example(EXAMPLE));
    }
    let time_s = times.read(field(columns.time), line).map_err(|error| {
        let column = if columns.is_frame { "frame" } else { "time" };
        error.at(at(column))
    })?;
    if !(0.0..=LATEST_S).contains(&time_s) {
        return Err(
            Error::input(format!("found {}", quoted(field(columns.time))))
                .at(at("time"))
                .accepted("film times from 0 on")
                .example("12.480"),
        );
    }
    let (moment, side) = event(field(columns.event)).map_err(|error| error.at(at("event")))?;
    let pass = match columns.pass.map(field) {
        None | Some("") => 1,
        Some(text) => text.parse().map_err(|_| {
            Error::input(format!("found {}", quoted(text)))
                .at(at("pass"))
                .accepted("a whole number, one for each film of one side or one length")
                .example("1")
        })?,
    };
    Ok(Mark {
        time_s,
        moment,
        side,
        pass,
        line,
    })
}

/// An event's name; case, blanks and hyphens do not matter.
fn event(text: &str) -> Result<(Moment, Side)> {
    let name = text.to_lowercase().replace([' ', '-'], "_");
    let known = name.split_once('_').and_then(|(side, moment)| {
        let side = (Side::BOTH.into_iter()).find(|known| known.to_string() == side)?;
        let moment = (Moment::ALL.into_iter()).find(|known| known.word() == moment)?;
        Some((moment, side))
    });
    known.ok_or_else(|| {
        let near = nearest(&name, &EVENTS)
            .map(|near| format!("; did you mean \"{near}\"?"))
            .unwrap_or_default();
        Error::input(format!("found {}{near}", quoted(text)))
            .accepted(EVENTS.join(", "))
            .example("left_entry")
    })
}

/// The delimiter of the header line: a semicolon or a tab where it has one, else a comma.
fn delimiter(header: &str) -> u8 {
    match header {
        _ if header.contains(';') => b';',
        _ if header.contains('\t') => b'\t',
        _ => b',',
    }
}

fn empty(file: &str, what: &str) -> Error {
    Error::input(what)
        .at(file)
        .accepted("a header line and one mark a line")
        .example(EXAMPLE)
}

fn broken_row(file: &str, error: &csv::Error) -> Error {
    let line = error.position().map_or(1, csv::Position::line);
    Error::input(format!("not CSV: {error}")).at(format!("{file}:{line}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(text: &str, fps: Option<&str>) -> Marks {
        parse_marks("swim.csv", text, fps).expect(text)
    }

    fn refused(text: &str, fps: Option<&str>) -> String {
        let error = parse_marks("swim.csv", text, fps).expect_err(text);
        assert_eq!(error.exit_code(), 2, "{error}");
        error.to_string()
    }

    fn times(text: &str, fps: Option<&str>) -> Vec<f64> {
        (marks(text, fps).marks.iter())
            .map(|mark| mark.time_s)
            .collect()
    }

    #[test]
    fn every_form_of_time_is_read() {
        assert_eq!(times("time,event\n1.5,left_entry\n", None), [1.5]);
        assert_eq!(times("time,event\n1:01.500,left_entry\n", None), [61.5]);
        assert_eq!(
            times("time,event\n00:00:02:15,left_entry\n", Some("30")),
            [2.5]
        );
        assert_eq!(times("frame,event\n75,left_entry\n", Some("30")), [2.5]);
        assert_eq!(times("event\ttime\nright_kick\t2\n", None), [2.0]);
    }

    #[test]
    fn the_semicolon_of_drop_frame_code_is_no_delimiter() {
        let read = marks("time,event\n00:10:00;00,left_entry\n", None);
        // published-values 3 (from memory, the standard): 00:10:00;00 is frame 17 982.
        let frame = read.marks[0].time_s * 30_000.0 / 1001.0;
        assert!((frame - 17_982.0).abs() < 1e-6, "{frame}");
        assert!(read.notes[0].contains("29.97"), "{:?}", read.notes);
    }

    #[test]
    fn decimal_commas_are_accepted_and_said() {
        let read = marks("\u{feff}time;event;pass\r\n1,5;Left Entry;2\r\n\r\n", None);
        assert_eq!((read.marks[0].time_s, read.marks[0].pass), (1.5, 2));
        for said in ["commas", "semicolons"] {
            let notes = read.notes.join(" ");
            assert!(notes.contains(said), "{said}: {notes}");
        }
    }

    #[test]
    fn a_wrong_event_is_refused_with_the_nearest() {
        let message = refused("time,event\n1,left_entri\n", None);
        assert!(message.starts_with("swim.csv:2: event: "), "{message}");
        assert!(
            message.contains("did you mean \"left_entry\"?"),
            "{message}"
        );
    }

    #[test]
    fn what_is_no_film_time_is_refused_by_line() {
        for text in [
            "NaN", "-1", "inf", "1e3", "", "1:75.0", "twelve", "1.2.3", "99999999",
        ] {
            let message = refused(
                &format!("time,event\n1,left_entry\n{text},left_kick\n"),
                None,
            );
            assert!(
                message.starts_with("swim.csv:3: time: "),
                "{text}: {message}"
            );
        }
    }

    #[test]
    fn mixed_forms_of_time_are_refused_with_both_lines() {
        let message = refused("time,event\n1.0,left_entry\n0:02.0,left_kick\n", None);
        assert!(message.contains("line 2 has seconds"), "{message}");
        refused(
            "time,event\n00:00:01:00,left_entry\n00:00:01;10,left_kick\n",
            Some("29.97"),
        );
    }

    #[test]
    fn frames_without_a_frame_rate_are_refused() {
        for text in [
            "frame,event\n10,left_entry\n",
            "time,event\n00:00:01:02,left_entry\n",
        ] {
            assert!(refused(text, None).contains("--fps"), "{text}");
        }
    }

    #[test]
    fn what_is_no_marks_file_is_refused() {
        for text in [
            "",
            "\n\n",
            "time,event\n",
            "when,event\n1,left_entry\n",
            "time,what\n1,left_entry\n",
            "time,time,event\n1,1,left_entry\n",
            "time,event\n1,left_entry,1\n",
            "time,event,pass\n1,left_entry,one\n",
            "time;event\n00:00:01;02;left_entry\n",
        ] {
            refused(text, None);
        }
    }
}
