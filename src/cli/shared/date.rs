//! Today, where the person is.

use jiff::civil::Date;

/// Today's date by the computer's clock and time zone.
pub fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}
