//! A line of text on the sheet, and the sides that it keeps within.

use std::fmt::Write;

use crate::chart::escaped;
use crate::chart::letters::Weight;

/// The sheet, its sides and what lies between them, mm.
pub const WIDTH: f64 = 210.0;
pub const LEFT: f64 = 14.0;
pub const RIGHT: f64 = WIDTH - LEFT;
pub const ACROSS: f64 = RIGHT - LEFT;

/// Where a text has its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// A line of text on its base.
pub fn text(svg: &mut String, (x, y): (f64, f64), size: f64, how: (Weight, Anchor), words: &str) {
    let weight = match how.0 {
        Weight::Plain => "",
        Weight::Bold => " font-weight=\"bold\"",
    };
    let anchor = match how.1 {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    // Writing to a string cannot fail.
    let _ = writeln!(
        svg,
        "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size:.2}\"{weight}{anchor}>{}</text>",
        escaped(words)
    );
}
