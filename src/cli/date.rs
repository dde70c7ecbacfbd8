//! Today, where the person is.

/// Today's date by the computer's clock and time zone: `2026-05-04`.
pub fn today() -> String {
    jiff::ZonedDateTime::now().date().to_string()
}
