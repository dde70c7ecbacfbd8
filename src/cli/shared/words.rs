//! Words on a screen of 80 columns.

use std::fmt::{Display, Write};

use crate::analysis::Estimate;

/// Fills to 79 columns.
pub fn fill(text: &str) -> String {
    textwrap::fill(text, 79)
}

/// Fills to 79 columns, with `first` before the first line and `rest` before all others.
pub fn hang(first: &str, rest: &str, text: &str) -> String {
    let options = textwrap::Options::new(79);
    let options = options.initial_indent(first).subsequent_indent(rest);
    textwrap::fill(text, options)
}

/// `1 track`, `2 tracks`.
pub fn count(n: usize, one: &str) -> String {
    let several = if n == 1 { "" } else { "s" };
    format!("{n} {one}{several}")
}

/// ` (53.2 to 55.0)`, where there is an interval.
pub fn ends(estimate: &Estimate, form: impl Fn(f64) -> String) -> String {
    let told = |(lo, hi)| format!(" ({} to {})", form(lo), form(hi));
    estimate.interval.map(told).unwrap_or_default()
}

/// Text that grows line by line.
#[derive(Debug, Default)]
pub struct Page(String);

impl Page {
    /// Adds a line as it is.
    pub fn line(&mut self, line: impl Display) {
        // A text takes all that is written to it.
        let _ = writeln!(self.0, "{line}");
    }

    /// Adds a line of a list: a name that takes so many columns, and what is told of it.
    pub fn row(&mut self, columns: usize, name: &str, told: impl Display) {
        self.line(format_args!("  {name:<columns$}{told}"));
    }

    /// Adds a paragraph, filled.
    pub fn fill(&mut self, text: impl AsRef<str>) {
        self.line(fill(text.as_ref()));
    }

    /// Adds a paragraph as [`hang`] fills it.
    pub fn hang(&mut self, first: &str, rest: &str, text: impl AsRef<str>) {
        self.line(hang(first, rest, text.as_ref()));
    }

    /// Adds an empty line.
    pub fn gap(&mut self) {
        self.0.push('\n');
    }

    /// All of it.
    pub fn text(self) -> String {
        self.0
    }
}
