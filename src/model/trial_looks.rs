//! After how many pairs a trial is looked at, and which difference is worth having: decided when
//! it is drawn, and written into each row of its log, so that whoever reads it cannot choose.

use std::fmt;

use crate::units::{Fix, decimal, exact, fraction, print_decimal, to_f64};

/// More pairs than that are not drawn.
pub const MOST_DRAWN: usize = 40;

/// The looks of a trial.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrialLooks {
    /// After so many pairs, rising; the last is the most that will be swum, [`MOST_DRAWN`] or fewer.
    at: Vec<usize>,
    /// Per cent of the time, 0.1 to 10.
    margin: Fix,
}

impl TrialLooks {
    /// What is accepted, as one line for a message.
    pub const ACCEPTED: &'static str =
        "what trial new wrote there, such as \"after 8 12 16 20 pairs: margin 1 %\"";

    /// Looks after so many pairs, with a difference worth having in per cent.
    ///
    /// # Errors
    /// When the pairs do not rise, or either is out of its range.
    pub fn new(at: Vec<usize>, margin: Fix) -> Result<Self, String> {
        let rises = at.is_sorted_by(|one, next| one < next);
        if !rises || at.first().is_none_or(|first| *first == 0) {
            return Err("found numbers of pairs that do not rise from look to look".into());
        }
        if let Some(most) = at.last().filter(|most| **most > MOST_DRAWN) {
            return Err(format!("found {most} pairs, more than {MOST_DRAWN}"));
        }
        if margin < fraction(1, 10) || margin > exact(10) {
            return Err("found a margin outside 0.1 % to 10 %".into());
        }
        Ok(Self { at, margin })
    }

    /// Reads `after 8 12 16 20 pairs: margin 1 %`.
    ///
    /// # Errors
    /// When it has another form, or does not hold.
    pub fn parse(text: &str) -> Result<Self, String> {
        let parts = || {
            let (pairs, margin) = text.split_once(':')?;
            let pairs = pairs
                .trim()
                .strip_prefix("after ")?
                .strip_suffix(" pairs")?;
            let margin = margin.trim().strip_prefix("margin ")?.strip_suffix('%')?;
            Some((pairs, margin.trim_end()))
        };
        let other = || format!("found {text:?}, not {}", Self::ACCEPTED);
        let (pairs, margin) = parts().ok_or_else(other)?;
        let at: Result<Vec<usize>, _> = pairs.split_whitespace().map(str::parse).collect();
        Self::new(at.map_err(|_| other())?, decimal(margin)?)
    }

    /// After so many pairs, rising.
    pub fn at(&self) -> &[usize] {
        &self.at
    }

    /// The most pairs that will be swum.
    pub fn most(&self) -> usize {
        self.at.last().copied().unwrap_or_default()
    }

    /// The difference worth having, in per cent of the time.
    pub fn margin_percent(&self) -> f64 {
        to_f64(&self.margin)
    }

    /// The same, as it is written: `1 %`.
    pub fn margin_in_words(&self) -> String {
        let number = print_decimal(&self.margin);
        format!("{} %", number.unwrap_or_else(|| self.margin.to_string()))
    }
}

impl fmt::Display for TrialLooks {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("after")?;
        for pairs in &self.at {
            write!(f, " {pairs}")?;
        }
        write!(f, " pairs: margin {}", self.margin_in_words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn looks_read_back() {
        for text in [
            "after 8 12 16 20 pairs: margin 1 %",
            "after 40 pairs: margin 0.5 %",
        ] {
            assert_eq!(TrialLooks::parse(text).expect(text).to_string(), text);
        }
        for text in [
            "",
            "20",
            "after pairs: margin 1 %",
            "after 8 8 pairs: margin 1 %",
            "after 12 8 pairs: margin 1 %",
            "after 0 8 pairs: margin 1 %",
            "after 41 pairs: margin 1 %",
            "after 8 pairs: margin 0 %",
            "after 8 pairs: margin 1",
            "after -8 pairs: margin 1 %",
        ] {
            assert!(TrialLooks::parse(text).is_err(), "{text}");
        }
    }
}
