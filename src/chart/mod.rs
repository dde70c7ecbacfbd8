//! Pictures as SVG, made by hand: text in, text out, nothing to install.

pub mod calendar;
mod circle;
pub mod lines;
mod poster;
pub mod report;
pub mod weeks;

pub use circle::cycle_circle;
pub use poster::poster;

/// Text as it may stand in an SVG file.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c if c.is_control() => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}
