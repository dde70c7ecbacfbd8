//! Training days as a calendar (RFC 5545), for any program that reads one.
//!
//! The crate `icalendar` writes it: folding at 75 octets, escaping, CRLF. Times are instants
//! where a time zone is known, so that 18:00 stays 18:00 in the week in which the clocks change;
//! without a zone they are local times, which follow the clocks by themselves.

use icalendar::{Alarm, Calendar, Component, Event, EventLike, Trigger};
use jiff::civil::{Date, Time as Clock};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};

use crate::error::{Error, Result};
use crate::model::visible::visible;

/// One training day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CalendarDay {
    /// What tells it from every other, the same each time it is written.
    pub uid: String,
    /// Its date, where the swimmer is.
    pub date: Date,
    /// When it starts there.
    pub time: Clock,
    /// How long it takes, s.
    pub length_s: i64,
    /// One line.
    pub title: String,
    /// Sets and cautions, line by line.
    pub description: String,
}

/// The calendar's text. `alarm_s`: how long before each entry it gives an alarm; 0 gives none.
/// `now` is when it was written: of two writings of an entry the later one counts.
///
/// # Errors
/// When the zone is not known here, or a time is none there.
pub fn calendar(
    name: &str,
    entries: &[CalendarDay],
    zone: Option<&str>,
    alarm_s: i64,
    now: Timestamp,
) -> Result<String> {
    let zone = zone.map(|zone| {
        TimeZone::get(zone).map_err(|error| {
            Error::input(format!("{error}"))
                .at(zone)
                .accepted("a name of the time zone database")
                .example("zone = \"Europe/Berlin\"")
        })
    });
    let zone = zone.transpose()?;
    let mut calendar = Calendar::new();
    calendar.name(&visible(name));
    calendar.append_property(("PRODID", "-//cuelane//plan//EN"));
    for entry in entries {
        let (start, end) = ends(entry, zone.as_ref())?;
        let title = visible(&entry.title);
        let mut event = Event::with_uid(&entry.uid);
        event
            .add_property("DTSTAMP", utc(now))
            .add_property("LAST-MODIFIED", utc(now))
            .add_property("SEQUENCE", sequence(now).to_string())
            .add_property("DTSTART", start)
            .add_property("DTEND", end)
            .summary(&title)
            .description(&visible(&entry.description));
        if alarm_s > 0 {
            let before = Trigger::before_start(chrono::TimeDelta::seconds(alarm_s));
            event.alarm(Alarm::display(&title, before));
        }
        calendar.push(event.done());
    }
    Ok(folded(&calendar.to_string()))
}

/// The crate counts the space of a folded line's rest among its 75 octets except at the end: a
/// rest of 75 comes out as 76. What is longer is folded once more (RFC 5545, 3.1).
fn folded(text: &str) -> String {
    const MOST: usize = 75;
    let mut folded = String::with_capacity(text.len());
    for line in text.split_inclusive("\r\n") {
        let content = line.trim_end_matches("\r\n");
        if content.len() > MOST {
            let at = (0..=MOST).rev().find(|at| content.is_char_boundary(*at));
            let (head, rest) = line.split_at(at.unwrap_or(0));
            folded.push_str(head);
            folded.push_str("\r\n ");
            folded.push_str(rest);
        } else {
            folded.push_str(line);
        }
    }
    folded
}

/// Start and end as RFC 5545 writes them. The end comes so many real seconds after the start,
/// also where the clocks change in between.
fn ends(entry: &CalendarDay, zone: Option<&TimeZone>) -> Result<(String, String)> {
    let start = entry.date.to_datetime(entry.time);
    let length = Span::new().seconds(entry.length_s);
    let beyond = |error: jiff::Error| Error::input(error.to_string()).at(&entry.title);
    match zone {
        None => {
            let end = start.checked_add(length).map_err(beyond)?;
            Ok((local(start), local(end)))
        }
        Some(zone) => {
            let start = zone
                .to_ambiguous_timestamp(start)
                .compatible()
                .map_err(beyond)?;
            let end = start.checked_add(length).map_err(beyond)?;
            Ok((utc(start), utc(end)))
        }
    }
}

fn local(time: jiff::civil::DateTime) -> String {
    time.strftime("%Y%m%dT%H%M%S").to_string()
}

fn utc(time: Timestamp) -> String {
    time.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// A number that grows with every writing: minutes since 2020. Some calendars take an entry again
/// only where it is greater.
fn sequence(now: Timestamp) -> i64 {
    const START_S: i64 = 1_577_836_800;
    ((now.as_second() - START_S) / 60).clamp(0, i64::from(i32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rest_of_75_octets_is_folded_once_more() {
        // A space before each, as in a line that goes on.
        for (rest, lines) in [
            ("x".repeat(74), 1),
            ("x".repeat(75), 2),
            ("é".repeat(38), 2),
        ] {
            let text = format!("SUMMARY:a\r\n {rest}\r\nEND:VEVENT\r\n");
            let found = folded(&text);
            assert!(found.split("\r\n").all(|line| line.len() <= 75), "{found}");
            assert_eq!(found.matches("\r\n").count(), 2 + lines);
            assert_eq!(found.replace("\r\n ", ""), text.replace("\r\n ", ""));
        }
    }
}
