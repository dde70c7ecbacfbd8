//! Marks files: CSV with a header line, from the marking page or any other tool.
//!
//! Columns: `time` (seconds, `m:ss.mmm`, or time code) or `frame`, `event`, and optionally `pass`.
//! The page says on every row what it knows of the film as well (`frame_s`, `film`, `mirrored`,
//! `sync` and its figures), so that rows can be sorted, deleted and put together in a spreadsheet.
//! The delimiter is the header's, so that the `;` of a drop-frame time code is never taken for
//! one. One file holds one form of time: a mixture is refused, and so is the first broken line.

mod columns;
mod film;
mod times;

use super::csv::{self, NoRecord, Record, Short, Table, Why};
use super::key_value::{nearest, quoted};
use super::timecode::{WrittenTime, frame_rate, unaccepted_time};
use crate::error::{Error, Result};
use crate::model::cue::Side;
use crate::model::record::{Mark, Marks, StrokeMoment};
use columns::{Columns, EXAMPLE};
use film::FilmRows;
use times::Times;

/// The last film time accepted, s: longer than any film, short enough to count in floats.
const LATEST_S: f64 = 1e6;

const EVENTS: [&str; 12] = [
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
    "left_cue",
    "right_cue",
];
/// What follows the side where an arm cue was heard.
const CUE: &str = "cue";

/// Reads a marks file; `-` is standard input. `fps` is the film's frame rate as a person wrote it.
///
/// # Errors
/// When it cannot be read or does not hold.
pub fn read_marks(file: &str, fps: Option<&str>) -> Result<Marks> {
    let bytes = csv::open(file).and_then(|open| csv::whole(super::name_of(file), open));
    let bytes = bytes.map_err(|error| {
        error
            .accepted("the path of a CSV file of marks, or - for standard input")
            .example("cuelane timing alex-marks.csv")
    })?;
    parse_marks(file, &super::text_of(bytes, file)?, fps)
}

/// Reads one moment of the film, in any form that a marks file may have.
///
/// # Errors
/// When it is none, or a time code of a film whose frame rate is not known.
pub fn read_film_time(text: &str, frame_rate_hz: Option<f64>) -> Result<f64> {
    let form = WrittenTime::parse(text.trim().trim_end_matches('s').trim_end())
        .ok_or_else(|| unaccepted_time(text))?;
    form.seconds(frame_rate_hz)
        .map_err(|why| Error::input(why).accepted("--fps beside it, or seconds"))
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
    let nothing = |what: &str| {
        Error::input(what)
            .at(file)
            .accepted("a header line and one mark a line")
            .example(EXAMPLE)
    };
    let mut table = Table::of(file, text.as_bytes(), Short::Filled)?
        .ok_or_else(|| nothing("found an empty file"))?;
    let columns = Columns::of(&table)?;
    let mut times = Times::new(fps, columns.is_frame);
    let mut film = FilmRows::default();
    let mut marks = Vec::new();
    while let Some(record) = table.read()? {
        let record = record.map_err(|slip| refused(file, slip))?;
        match row(file, &record, &columns, &mut times)? {
            Marked::Moment(mark) => {
                film.read(file, &record, &columns, &mark)?;
                marks.push(mark);
            }
            Marked::Cue(time_s, arm) => film.heard(file, &record, time_s, arm)?,
        }
    }
    if marks.is_empty() {
        return Err(nothing("found a header and no mark"));
    }
    let mut notes = columns.notes;
    if table.form.delimiter == b';' {
        notes.push("Fields are separated by semicolons.".into());
    }
    if table.comma_note().is_some() {
        notes.push("Decimal commas are read as decimal points.".into());
    }
    notes.extend(times.note());
    notes.extend(film.note());
    Ok(Marks {
        source: file.to_string(),
        marks,
        // What a person says beside the file goes before what the file says.
        frame_rate_hz: times.frame_rate_hz().or(film.frame_rate_hz()),
        film: film.film(file)?,
        notes,
    })
}

fn refused(file: &str, slip: NoRecord) -> Error {
    let what = match slip.why {
        Why::Fields { .. } => format!("found {}", slip.why),
        why => why.to_string(),
    };
    Error::input(what)
        .at(format!("{file}:{}", slip.line))
        .accepted("one field for each column; a field that holds the delimiter, in quotes")
        .example(EXAMPLE)
}

/// What one row says.
enum Marked {
    Moment(Mark),
    /// When an arm cue was heard in the film, s, and which arm's.
    Cue(f64, Side),
}

fn row(file: &str, record: &Record, columns: &Columns, times: &mut Times) -> Result<Marked> {
    let line = record.line;
    let at = |column: &str| format!("{file}:{line}: {column}");
    let time_s = times.read(record, columns.time).map_err(|error| {
        let column = if columns.is_frame { "frame" } else { "time" };
        error.at(at(column))
    })?;
    if !(0.0..=LATEST_S).contains(&time_s) {
        return Err(
            Error::input(format!("found {}", quoted(record.field(columns.time))))
                .at(at("time"))
                .accepted("film times from 0 on")
                .example("12.480"),
        );
    }
    let (moment, side) =
        event(record.field(columns.event)).map_err(|error| error.at(at("event")))?;
    let Some(moment) = moment else {
        return Ok(Marked::Cue(time_s, side));
    };
    let pass = match columns.pass.map(|pass| record.field(pass)) {
        None | Some("") => 1,
        Some(text) => text.parse().map_err(|_| {
            Error::input(format!("found {}", quoted(text)))
                .at(at("pass"))
                .accepted("a whole number, one for each film of one side or one length")
                .example("1")
        })?,
    };
    Ok(Marked::Moment(Mark {
        time_s,
        moment,
        side,
        pass,
        line,
    }))
}

/// An event's name; case, blanks and hyphens do not matter. No moment is a cue that was heard.
fn event(text: &str) -> Result<(Option<StrokeMoment>, Side)> {
    let name = text.to_lowercase().replace([' ', '-'], "_");
    let known = name.split_once('_').and_then(|(side, moment)| {
        let side = (Side::BOTH.into_iter()).find(|known| known.to_string() == side)?;
        let known = (StrokeMoment::ALL.into_iter()).find(|known| known.word() == moment);
        (known.is_some() || moment == CUE).then_some((known, side))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::record::{FilmSync, FoundPlace, FoundSync, MarkedFilm};

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
        // SMPTE ST 12-1, from memory: 00:10:00;00 is frame 17 982.
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
    fn every_form_of_table_is_read() {
        for text in [
            "sep=;\ntime;event\n1,5;left_entry\n",
            "time\tevent\r1,5\tleft_entry\r",
            "event,time,note,note\nleft_entry,1.5,\"a\nb\",\n",
        ] {
            assert_eq!(times(text, None), [1.5], "{text:?}");
        }
    }

    #[test]
    fn a_broken_line_is_refused_by_its_own_number() {
        for (text, words) in [
            (
                "time,event\r1,left_entry\r2,kick\r",
                "3: event: found \"kick\"",
            ),
            (
                "\ntime,event,note\n1,left_entry,\"a\nb\"\n2,left_kick,\"c\n",
                "5: a quote is opened and never closed",
            ),
            (
                "time,event\n1,left_entry\n2,left_kick,3\n",
                "3: found 3 fields where the header has 2",
            ),
            (
                "\n\ntme,event\n",
                "3: there is no column time; is it \"tme\"?",
            ),
        ] {
            let message = refused(text, None);
            assert!(
                message.starts_with(&format!("swim.csv:{words}")),
                "{text:?}: {message}"
            );
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
    fn the_frame_rate_is_that_of_the_frames_marked_and_the_flag_goes_before_it() {
        let text = "time,event,frame_s\n1,left_entry,0.02\n2,left_kick,\n3,left_entry,0.02\n";
        let rate = |fps| marks(text, fps).frame_rate_hz.expect("a frame rate");
        assert!((rate(None) - 50.0).abs() < 1e-9, "{}", rate(None));
        assert_eq!(rate(Some("30")), 30.0);
        // Uneven frames: the mean of the squares is what rounding to a frame scatters by.
        let text = "time;event;frame_s\n1,0;left_entry;0,01\n2,0;left_entry;0,03\n";
        let rate = marks(text, None).frame_rate_hz.expect("a frame rate");
        assert!((rate - (2.0_f64 / 0.0010).sqrt()).abs() < 1e-9, "{rate}");
        assert_eq!(
            marks("time,event\n1,left_entry\n", None).frame_rate_hz,
            None
        );
    }

    #[test]
    fn the_film_its_mirror_and_a_cue_heard_by_ear_are_read() {
        let text = "time,event,pass,film,mirrored\n\
                    1,left_entry,1,\"a, b.mp4\",yes\n1.5,Right Cue,1,,\n2,left_entry,1,\"a, b.mp4\",yes\n";
        let read = marks(text, None);
        assert_eq!(read.film.name.as_deref(), Some("a, b.mp4"));
        assert_eq!(read.marks.len(), 2);
        let heard = FilmSync::Heard {
            time_s: 1.5,
            arm: Side::Right,
        };
        assert_eq!(read.film.sync, Some(heard));
        assert!(
            read.notes.concat().contains("the swimmer's own"),
            "{:?}",
            read.notes
        );
        // Passes of several films may stand in one file, where no cue ties it to one clock.
        let two = "time,event,pass,film\n1,left_entry,1,a\n1,left_entry,2,b\n";
        assert_eq!(marks(two, None).film, MarkedFilm::default());
    }

    #[test]
    fn the_place_in_a_track_is_read_from_any_row() {
        let head = "time,event,sync,track_s_at_film_0,drift_ppm,sync_low_ms,sync_high_ms,several_paths,\
                    sync_cues\n";
        let read = |row: &str| marks(&format!("{head}1,left_entry\n2,left_kick,{row}\n"), None);
        let found = |place, drift_ppm, interval_ms, several_paths| {
            Some(FilmSync::Found(FoundSync {
                place,
                track_s_at_film_0: -12.5,
                drift_ppm,
                interval_ms,
                several_paths,
            }))
        };
        let locked = found(FoundPlace::Locked, 4.0, Some((-1.0, 0.5)), Some(true));
        let whole = read("locked,-12.5,4.0,-1.0,0.5,yes,abcd").film;
        assert_eq!(whole.sync, locked);
        assert_eq!(whole.sync_cues.as_deref(), Some("abcd"));
        let cycles = found(FoundPlace::Cycles, 0.0, None, None);
        let least = read("cycles,-12.5,,,,,").film;
        assert_eq!((least.sync, least.sync_cues), (cycles, None));
        // Without a place the cues of two sessions may stand in one file.
        let passes = marks(
            "time,event,sync_cues\n1,left_entry,a\n2,left_kick,b\n",
            None,
        );
        assert_eq!(passes.film, MarkedFilm::default());
    }

    #[test]
    fn what_is_said_of_the_film_and_does_not_hold_is_refused_by_line_and_column() {
        let head = "time,event,pass,frame_s,film,mirrored,sync,track_s_at_film_0,drift_ppm,\
                    sync_low_ms,sync_high_ms,several_paths,sync_cues\n\
                    1,left_entry,1,0.02,a,no,locked,3,1,-1,1,no,abcd\n";
        for (row, words) in [
            ("2,left_kick,1,0", "3: frame_s: found \"0\""),
            ("2,left_kick,1,60", "3: frame_s: found \"60\""),
            ("2,left_kick,1,nan", "3: frame_s: found \"nan\""),
            ("2,left_kick,1,,b", "3: film: pass 1 is of \"a\" by line 2"),
            ("2,left_kick,2,,b", "3: film: found \"b\", another film"),
            ("2,left_kick,1,,,maybe", "3: mirrored: found \"maybe\""),
            ("2,left_kick,1,,,,unsure", "3: sync: found \"unsure\""),
            (
                "2,left_kick,1,,,,locked",
                "3: track_s_at_film_0: found nothing",
            ),
            (
                "2,left_kick,1,,,,locked,soon",
                "3: track_s_at_film_0: found \"soon\"",
            ),
            (
                "2,left_kick,1,,,,locked,4",
                "3: sync: line 2 says another place",
            ),
            (
                "2,left_kick,1,,,,locked,3,2000",
                "3: drift_ppm: found \"2000\"",
            ),
            (
                "2,left_kick,1,,,,locked,3,1,5,1",
                "3: sync_low_ms: found \"5\"",
            ),
            (
                "2,left_kick,1,,,,locked,3,1,-5,-1",
                "3: sync_high_ms: found \"-1\"",
            ),
            (
                "2,left_kick,1,,,,locked,3,1,-1,1,two",
                "3: several_paths: found \"two\"",
            ),
            (
                "2,left_kick,1,,,,,,,,,,dcba",
                "3: sync_cues: found \"dcba\", where line 2 has \"abcd\"",
            ),
            ("2,left_cue,1", "3: event: line 2 says already"),
        ] {
            let message = refused(&format!("{head}{row}\n"), None);
            assert!(
                message.starts_with(&format!("swim.csv:{words}")),
                "{row}: {message}"
            );
        }
        let two = "time,event\n1,left_entry\n2,left_cue\n3,right_cue\n";
        let message = refused(two, None);
        assert!(
            message.starts_with("swim.csv:4: event: line 3"),
            "{message}"
        );
        refused("time,event\n1,left_cue\n", None);
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
