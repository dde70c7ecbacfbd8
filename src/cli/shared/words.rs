//! Words on a screen of 80 columns.

use std::fmt::{Display, Write};

/// Fills to 79 columns.
pub fn fill(text: &str) -> String {
    textwrap::fill(text, 79)
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

    /// Adds a paragraph, filled.
    pub fn fill(&mut self, text: impl AsRef<str>) {
        self.line(fill(text.as_ref()));
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
