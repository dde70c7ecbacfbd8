//! Repeats of a set that are swum at another rate, for comparison.

use std::fmt;

use crate::units::Rate;

/// Which repeats, and their rate. `R` is a rate as written, or [`Rate`] once resolved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Compare<R> {
    /// The rate from their first entry to their end.
    pub rate: R,
    /// Their numbers, from 1, ascending, at least one.
    pub at: Vec<u64>,
}

impl<R> Compare<R> {
    /// Whether repeat `number`, from 1, is one of them.
    pub fn has(&self, number: u64) -> bool {
        self.at.binary_search(&number).is_ok()
    }

    /// The same repeats at another rate.
    pub fn with<S>(&self, rate: S) -> Compare<S> {
        Compare {
            rate,
            at: self.at.clone(),
        }
    }

    /// `repeat 3`, `repeats 3 and 6`.
    fn in_words(&self) -> String {
        let numbers: Vec<String> = self.at.iter().map(u64::to_string).collect();
        match numbers.split_last() {
            Some((last, [])) => format!("repeat {last}"),
            Some((last, before)) => format!("repeats {} and {last}", before.join(", ")),
            None => String::new(),
        }
    }
}

impl Compare<Rate> {
    /// For a table: `repeats 3 and 6 at 54 spm for comparison`.
    pub fn short(&self) -> String {
        format!(
            "{} at {} for comparison",
            self.in_words(),
            self.rate.short()
        )
    }
}

impl<R: fmt::Display> fmt::Display for Compare<R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at {}", self.in_words(), self.rate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_repeats_are_listed_as_one_would_say_them() {
        let of = |at: &[u64]| {
            let rate = "54 spm";
            let at = at.to_vec();
            Compare { rate, at }.to_string()
        };
        assert_eq!(of(&[3]), "repeat 3 at 54 spm");
        assert_eq!(of(&[3, 6]), "repeats 3 and 6 at 54 spm");
        assert_eq!(of(&[1, 4, 8]), "repeats 1, 4 and 8 at 54 spm");
    }
}
