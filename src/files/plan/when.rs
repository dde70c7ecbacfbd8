//! When a plan is swum: dates, training days, times of day, zones, and where the calendar ends.

use jiff::civil::{Date, Time as Clock, Weekday};

use super::super::document::Section;
use super::super::key_value::{KeyValue, quoted};
use crate::error::{Error, Result};
use crate::model::plan::{LATEST_END, WEEKDAYS, WEEKS_BEYOND};

/// Reads a date as ISO 8601 writes it: year, month, day. No other order is guessed at.
///
/// # Errors
/// Says what was found, and shows the form.
pub fn iso_date(text: &str) -> Result<Date, String> {
    let shape = |text: &str| {
        text.len() == 10
            && (text.bytes().enumerate()).all(|(at, byte)| match at {
                4 | 7 => byte == b'-',
                _ => byte.is_ascii_digit(),
            })
    };
    if !shape(text) {
        return Err(format!(
            "found {}, which is not year-month-day; other orders of day and month are not guessed",
            quoted(text)
        ));
    }
    (text.parse()).map_err(|_| format!("found {}, a day that there is not", quoted(text)))
}

/// What a date is accepted as.
pub const DATE_ACCEPTED: &str = "a date as YYYY-MM-DD (ISO 8601)";

pub(super) fn written_date(entry: &KeyValue) -> Result<Date> {
    const EXAMPLE: &str = "start = \"2027-03-01\"";
    // A bare TOML date is one too.
    let text = match entry.value {
        toml::de::DeValue::Datetime(date) => date.to_string(),
        _ => entry.string(DATE_ACCEPTED, EXAMPLE)?.to_string(),
    };
    iso_date(&text).map_err(|why| entry.refuse(why).accepted(DATE_ACCEPTED).example(EXAMPLE))
}

/// Reads training days: `mon wed fri`. In the order of the week, none twice.
///
/// # Errors
/// Says which word is no day, or which day is given twice.
pub fn training_days<'w>(words: impl Iterator<Item = &'w str>) -> Result<Vec<Weekday>, String> {
    let mut days: Vec<Weekday> = Vec::new();
    for word in words {
        let lower = word.to_lowercase();
        let found = WEEKDAYS.iter().find(|(known, _)| *known == lower);
        let Some((word, day)) = found else {
            return Err(format!(
                "found {}, which is no day of the week",
                quoted(word)
            ));
        };
        if days.contains(day) {
            return Err(format!("found {word} twice"));
        }
        days.push(*day);
    }
    days.sort_by_key(|day| day.to_monday_zero_offset());
    if days.is_empty() {
        Err("found no training day".into())
    } else {
        Ok(days)
    }
}

/// What training days are accepted as.
pub const DAYS_ACCEPTED: &str = "mon, tue, wed, thu, fri, sat, sun, each once at most";

pub(super) fn days<'a>(section: &Section<'a>, entry: &KeyValue<'a>) -> Result<Vec<Weekday>> {
    const EXAMPLE: &str = "days = [\"mon\", \"wed\", \"fri\"]";
    let refuse = |why: String| entry.refuse(why).accepted(DAYS_ACCEPTED).example(EXAMPLE);
    let items = section.items_of(entry, DAYS_ACCEPTED, EXAMPLE)?;
    let words = (items.iter())
        .map(|item| item.string(DAYS_ACCEPTED, EXAMPLE))
        .collect::<Result<Vec<_>>>()?;
    training_days(words.into_iter()).map_err(refuse)
}

/// Reads a time of day: `18:00`.
///
/// # Errors
/// Says what was found.
pub fn time_of_day(text: &str) -> Result<Clock, String> {
    let parts = (text.split_once(':')).filter(|(hour, minute)| {
        let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        (1..=2).contains(&hour.len()) && minute.len() == 2 && digits(hour) && digits(minute)
    });
    let time = parts
        .and_then(|(hour, minute)| Clock::new(hour.parse().ok()?, minute.parse().ok()?, 0, 0).ok());
    time.ok_or_else(|| format!("found {}, which is no time of day", quoted(text)))
}

pub(super) fn clock(entry: &KeyValue) -> Result<Clock> {
    const ACCEPTED: &str = "a time of day from 00:00 to 23:59";
    const EXAMPLE: &str = "time = \"18:00\"";
    let text = entry.string(ACCEPTED, EXAMPLE)?;
    time_of_day(text).map_err(|why| entry.refuse(why).accepted(ACCEPTED).example(EXAMPLE))
}

/// Reads a time zone by its name in the time zone database.
///
/// # Errors
/// When there is none of that name.
pub fn zone_name(text: &str) -> Result<String, String> {
    match jiff::tz::TimeZone::get(text) {
        Ok(_) => Ok(text.to_string()),
        Err(_) => Err(format!(
            "found {}, a time zone that is not known here",
            quoted(text)
        )),
    }
}

pub(super) fn zone(entry: &KeyValue) -> Result<String> {
    const ACCEPTED: &str = "a name of the time zone database, or no zone for local time";
    const EXAMPLE: &str = "zone = \"Europe/Berlin\"";
    let text = entry.string(ACCEPTED, EXAMPLE)?;
    zone_name(text).map_err(|why| entry.refuse(why).accepted(ACCEPTED).example(EXAMPLE))
}

/// Refuses a plan that runs to the end of the calendar.
///
/// # Errors
/// When it ends after [`LATEST_END`].
pub fn check_end(start: Date, weeks: u64) -> Result<()> {
    let days = jiff::Span::new().try_days(7 * weeks as i64 - 1);
    let last = days.and_then(|days| start.checked_add(days));
    if last.is_ok_and(|last| last <= LATEST_END) {
        Ok(())
    } else {
        Err(
            Error::input(format!("{weeks} weeks from {start} end after {LATEST_END}")).accepted(
                format!(
                    "a plan that ends by {LATEST_END}: the log may move its end by \
                 {WEEKS_BEYOND} weeks, and no date is after 9999-12-31"
                ),
            ),
        )
    }
}
