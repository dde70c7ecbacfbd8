//! One style of message.
//!
//! A message names the place, what was found, what is accepted, and an example
//! that works. Nothing here decides what to do about an error: `main` prints it
//! and turns its [`ErrorKind`] into the exit code.

use std::fmt;
use std::sync::Arc;

/// What an error means for the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ErrorKind {
    /// Wrong usage, or a session, swimmer or voice file that does not hold: exit 2.
    Input,
    /// The work itself failed, or a track does not hold: exit 1.
    Failed,
    /// The reader of our output went away: not an error, exit 0.
    ClosedPipe,
}

/// Where in a file something stands. Lines and columns count from 1, columns in characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The file as the person named it.
    pub file: Arc<str>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// An error as a person reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Error {
    kind: ErrorKind,
    place: Option<String>,
    what: String,
    accepted: Option<String>,
    example: Option<String>,
}

/// Shorthand for results of this crate.
pub type Result<T, E = Error> = std::result::Result<T, E>;

impl Error {
    /// Bad input: the person can repair it. `what` says what was found and what is wrong with it.
    pub fn input(what: impl Into<String>) -> Self {
        Self::new(ErrorKind::Input, what)
    }

    /// The work failed, or a track does not hold.
    pub fn failed(what: impl Into<String>) -> Self {
        Self::new(ErrorKind::Failed, what)
    }

    /// An I/O error on `file`, with what we were doing. A closed pipe is recognised as such.
    pub fn io(doing: &str, file: impl fmt::Display, error: &std::io::Error) -> Self {
        let kind = match error.kind() {
            std::io::ErrorKind::BrokenPipe => ErrorKind::ClosedPipe,
            _ => ErrorKind::Failed,
        };
        Self::new(kind, format!("{doing}: {error}")).at(file)
    }

    fn new(kind: ErrorKind, what: impl Into<String>) -> Self {
        Self {
            kind,
            place: None,
            what: what.into(),
            accepted: None,
            example: None,
        }
    }

    /// Names the file, or the file, line and column. A place named earlier is kept: it is nearer.
    #[must_use]
    pub fn at(mut self, place: impl fmt::Display) -> Self {
        self.place.get_or_insert_with(|| place.to_string());
        self
    }

    /// Names the place where one is known.
    #[must_use]
    pub fn at_place(self, place: Option<&Place>) -> Self {
        match place {
            Some(place) => self.at(place),
            None => self,
        }
    }

    /// Puts the field or set before the message.
    #[must_use]
    pub fn within(mut self, field: impl fmt::Display) -> Self {
        self.what = format!("{field}: {}", self.what);
        self
    }

    /// What would have been accepted.
    #[must_use]
    pub fn accepted(mut self, accepted: impl Into<String>) -> Self {
        self.accepted = Some(accepted.into());
        self
    }

    /// An example that works.
    #[must_use]
    pub fn example(mut self, example: impl Into<String>) -> Self {
        self.example = Some(example.into());
        self
    }

    /// The same error where the work itself failed: a track that a person did not write by hand.
    #[must_use]
    pub fn into_failed(mut self) -> Self {
        self.kind = ErrorKind::Failed;
        self
    }

    /// What the error means for the exit code.
    pub fn kind(&self) -> ErrorKind {
        self.kind
    }

    /// The process's exit code: 0 for a closed pipe, 1 where the work failed, 2 for bad input.
    pub fn exit_code(&self) -> u8 {
        match self.kind {
            ErrorKind::ClosedPipe => 0,
            ErrorKind::Failed => 1,
            ErrorKind::Input => 2,
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        write!(f, "{}", self.what)?;
        if let Some(accepted) = &self.accepted {
            write!(f, "\naccepted: {accepted}")?;
        }
        if let Some(example) = &self.example {
            write!(f, "\nexample: {example}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Error {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_names_place_finding_accepted_and_example() {
        let place = Place {
            file: "evening.toml".into(),
            line: 14,
            column: 8,
        };
        let error = Error::input("found 54, a bare number")
            .within("rate")
            .at(&place)
            .accepted("54 spm or 27 cpm")
            .example("rate = \"54 spm\"");
        assert_eq!(
            error.to_string(),
            "evening.toml:14:8: rate: found 54, a bare number\n\
             accepted: 54 spm or 27 cpm\n\
             example: rate = \"54 spm\""
        );
        assert_eq!(error.exit_code(), 2);
    }

    #[test]
    fn the_place_named_first_is_kept() {
        let error = Error::failed("broken").at("inner").at("outer");
        assert_eq!(error.to_string(), "inner: broken");
    }

    #[test]
    fn a_closed_pipe_is_no_failure() {
        let broken = std::io::Error::from(std::io::ErrorKind::BrokenPipe);
        assert_eq!(Error::io("writing", "-", &broken).exit_code(), 0);
    }
}
