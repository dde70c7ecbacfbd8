//! Pictures as SVG, the athlete's page as HTML, training days as a calendar: plain data in, text out.
//!
//! What has axes is drawn by plotters: `panels` (the log and a step test in `lines`; `came`) and `weeks`.
//! The circle of a cycle, the course, the poster and the page are written here by hand; icalendar writes
//! the calendar.

pub mod calendar;
mod came;
mod circle;
pub mod course;
pub mod day_sheet;
mod letters;
pub mod lines;
mod panels;
mod poster;
pub mod report;
pub mod weeks;

pub use came::came_chart;
pub use circle::cycle_circle;
pub use poster::poster;

use crate::model::visible::visible;

/// A value at an axis over a `range`, with at least so many decimals, and with as many as tell it
/// from its neighbours, a sixth of the range or more away. What no swim has, but a slip may, is
/// written as it fits there.
fn tick(value: f64, range: f64, decimals: usize) -> String {
    // Neighbours are 1, 2 or 5 of some decimal place apart.
    let (sixth, place) = (range / 6.0, (range / 6.0).log10().floor());
    let place = if sixth > 5.0 * 10_f64.powf(place) {
        place + 1.0
    } else {
        place
    };
    let decimals = decimals.max((-place).clamp(0.0, 6.0) as usize);
    match value.abs() {
        ..100.0 => format!("{value:.decimals$}"),
        ..1000.0 => format!("{value:.*}", decimals.min(1)),
        ..10_000.0 => format!("{value:.0}"),
        _ => format!("{value:.1e}"),
    }
}

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

/// A page of HTML that stands for itself: its content policy forbids every request.
fn html(title: &str, style: &str, body: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'unsafe-inline'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<style>{style}</style>\n</head>\n<body>\n{body}</body>\n</html>\n",
        escaped(title)
    )
}

#[cfg(test)]
mod tests {
    use super::tick;

    #[test]
    fn the_values_at_an_axis_are_told_apart() {
        for step in [0.005, 0.01, 0.02, 0.5, 1.0, 2.0, 50.0, 1e6] {
            for decimals in 0..3 {
                let ticks: Vec<String> = (0..6)
                    .map(|number| tick(f64::from(number) * step, 5.5 * step, decimals))
                    .collect();
                let different = ticks.iter().collect::<std::collections::BTreeSet<_>>();
                assert_eq!(different.len(), 6, "{step}: {ticks:?}");
                assert!(ticks.iter().all(|tick| tick.len() <= 5), "{ticks:?}");
            }
        }
        assert_eq!(tick(1.1, 0.5, 2), "1.10");
        assert_eq!(tick(57.0, 30.0, 0), "57");
    }
}
