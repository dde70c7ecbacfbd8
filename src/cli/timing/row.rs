//! `timing --log --row`: whether the kick was kept, written into the swim's row.

use super::cued::Cued;
use crate::analysis::DoubtKind;
use crate::analysis::timing::Timing;
use crate::cli::shared::words::Page;
use crate::error::{Error, Result};
use crate::files::{RowName, in_words, write_kept};
use crate::model::log::{Kept, LogLine};

/// A row that was written into.
pub struct Logged<'a> {
    file: &'a str,
    /// As it was.
    pub was: LogLine,
    pub kept: Kept,
}

const EXAMPLE: &str = "--log log.csv --row \"date=2026-10-04, set=Hold, repeat=3\"";

/// Reads what names the row: `date=2026-10-04, set=Hold, repeat=3`.
///
/// # Errors
/// At the first part that names nothing.
pub fn row_name(text: &str) -> Result<RowName> {
    let mut name = RowName::default();
    for part in text.split(',').map(str::trim) {
        let refuse = || {
            Error::input(format!("found {part:?}"))
                .at("--row")
                .accepted(
                    "some of date=, swimmer=, session=, set= and repeat=, with commas between",
                )
                .example(EXAMPLE)
        };
        let (key, value) = part.split_once('=').ok_or_else(refuse)?;
        let value = value.trim();
        match key.trim() {
            "date" => name.date = Some(value.parse().map_err(|_| refuse())?),
            "swimmer" => name.swimmer = Some(value.into()),
            "session" => name.session = Some(value.into()),
            "set" => name.set = Some(value.into()),
            "repeat" => name.repeat = Some(value.parse().map_err(|_| refuse())?),
            _ => return Err(refuse()),
        }
    }
    Ok(name)
}

impl<'a> Logged<'a> {
    /// Writes what the film says into the row.
    ///
    /// # Errors
    /// When it says nothing of the kick, or not one row is named.
    pub fn write(file: &'a str, row: &str, timing: &Timing, cued: Option<&Cued>) -> Result<Self> {
        let name = row_name(row)?;
        let crossed = (timing.doubts.iter()).find(|doubt| doubt.kind == DoubtKind::FeetCrossed);
        if let Some(doubt) = crossed {
            return Err(Error::input(format!("nothing is written: {}", doubt.text)).at("--log"));
        }
        let kept = cued.and_then(|cued| cued.came.kept).ok_or_else(|| {
            Error::input("whether the kick was kept cannot be told from this film")
                .at("--log")
                .accepted(
                    "a film whose cues have times, in a set with kick cues, with six marked kicks or more",
                )
        })?;
        Ok(Self {
            file,
            was: write_kept(file, &name, kept.kept)?,
            kept: kept.kept,
        })
    }

    /// What was written.
    pub fn words(&self, to: &mut Page) {
        let before = self.was.row.kept.map_or("empty", Kept::word);
        to.gap();
        to.fill(format!(
            "Wrote kept = {} into {}, line {} ({}); it was {before}. Nothing else in it changed.",
            self.kept.word(),
            self.file,
            self.was.line,
            in_words(&self.was.row)
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_is_named_by_some_of_five_things() {
        let name = row_name("date=2026-10-04, set=Hold the rate,repeat = 3").expect("a name");
        assert_eq!(name.set.as_deref(), Some("Hold the rate"));
        assert_eq!((name.repeat, name.swimmer), (Some(3), None));
        assert_eq!(
            name.date.map(|date| date.to_string()).as_deref(),
            Some("2026-10-04")
        );
        for wrong in ["", "Hold", "lane=4", "repeat=third", "date=4.10.2026"] {
            let message = row_name(wrong).expect_err(wrong).to_string();
            assert!(message.starts_with("--row: found"), "{message}");
        }
    }
}
