//! Today, as an ISO date.

use std::time::{SystemTime, UNIX_EPOCH};

/// Today's date in UTC: `2026-05-04`.
pub fn today() -> String {
    // A clock before 1970 is a broken clock; the epoch stands for it.
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    iso(since.as_secs() / 86_400)
}

/// The date so many days after 1970-01-01: years from March on, so that leap days come last.
fn iso(days: u64) -> String {
    let day = days + 719_468;
    let (era, day) = (day / 146_097, day % 146_097);
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let (day, month) = (day - (153 * month + 2) / 5 + 1, (month + 2) % 12 + 1);
    let year = era * 400 + year + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_become_dates() {
        // GNU date: date -u -d "1970-01-01 + N days" +%F.
        for (days, date) in [
            (0, "1970-01-01"),
            (59, "1970-03-01"),
            (11_016, "2000-02-29"),
            (11_017, "2000-03-01"),
            (20_818, "2026-12-31"),
            (47_541, "2100-03-01"),
        ] {
            assert_eq!(iso(days), date);
        }
    }
}
