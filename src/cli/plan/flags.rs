//! Flags of the commands of a plan: days, times of day, time zones.

use jiff::civil::{Date, Time};

use crate::cli::shared::date::today;
use crate::error::{Error, Result};
use crate::files::{DATE_ACCEPTED, iso_date, time_of_day, zone_name};

/// A flag's date.
///
/// # Errors
/// When it is none, with the form.
pub fn date(flag: &str, text: &str) -> Result<Date> {
    iso_date(text).map_err(|why| refused(flag, DATE_ACCEPTED, "2027-03-14", why))
}

/// The day that counts as today.
///
/// # Errors
/// Those of [`date`].
pub fn today_of(flag: Option<&str>) -> Result<Date> {
    flag.map_or_else(|| Ok(today()), |text| date("--today", text))
}

/// The refusal of a flag's value.
pub fn refused(flag: &str, accepted: &str, example: &str, why: String) -> Error {
    Error::input(why)
        .at(flag)
        .accepted(accepted)
        .example(format!("{flag} {example}"))
}

/// A flag's time zone.
///
/// # Errors
/// When there is none of that name.
pub fn zone(text: &str) -> Result<String> {
    let accepted = "a name of the time zone database";
    zone_name(text).map_err(|why| refused("--zone", accepted, "Europe/Berlin", why))
}

/// A flag's time of day.
///
/// # Errors
/// When it is none.
pub fn clock(text: &str, accepted: &str) -> Result<Time> {
    time_of_day(text).map_err(|why| refused("--time", accepted, "18:00", why))
}
