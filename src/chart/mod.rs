//! Pictures as SVG, the athlete's page as HTML, training days as a calendar: plain data in, text out.
//!
//! What has axes is drawn by plotters: `lines` (the log, a step test) and `weeks`. The circle of a
//! cycle, the poster and the page are written here by hand; icalendar writes the calendar.

pub mod calendar;
mod circle;
pub mod lines;
mod poster;
pub mod report;
pub mod weeks;

pub use circle::cycle_circle;
pub use poster::poster;

use crate::model::visible::visible;

/// Text as it may stand in an SVG or HTML file.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in visible(text).chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c => safe.push(c),
        }
    }
    safe
}
