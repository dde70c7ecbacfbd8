//! Rate, distance, pace, time: parse, convert, print, exactly.
//!
//! In: the words a person writes, each with its unit. Out: numbers on a grid of 10^-27.
//! A bare number never passes: the refusal names the units it could have meant.
//! Decimals are exact, a quotient is the nearest step; floats appear only in printing for people.
//!
//! Every quantity prints in a form that parses back to the same value.

mod decimal;
mod distinct_digits;
mod fix;
mod length;
mod pace;
mod rate;
mod time;
mod wide;

pub use decimal::{decimal, print_decimal, print_float};
pub use distinct_digits::{apart, print_apart};
pub use fix::{Fix, ceil_u64, exact, floor_u64, fraction, reaches, to_f64};
pub use length::Length;
pub(crate) use length::counts_lengths;
pub use pace::{Pace, StrokeLength};
pub use rate::{Rate, RateWish};
pub use time::Time;

/// A quantity that a person writes as a number with a unit.
pub trait Quantity: Sized {
    /// What is accepted, as one line for a message.
    const ACCEPTED: &'static str;
    /// One value that works, without quotes.
    const EXAMPLE: &'static str;

    /// Reads the quantity. The error says what is wrong with `text`, and nothing else:
    /// the caller knows the file and the field.
    ///
    /// # Errors
    /// When the text has no unit, an unknown one, or a value out of range.
    fn parse(text: &str) -> Result<Self, String>;
}

/// Splits `"56.5 spm"` into its number and its unit; the unit is lower case and may be empty.
pub(crate) fn split_unit(text: &str) -> (&str, String) {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | '_' | ',')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    // "1.03 s / stroke" and "1.03 s/stroke" are one unit; so are "30s" and "30 s".
    let unit: String = unit.split_whitespace().collect();
    (number.trim(), unit.to_lowercase())
}

/// Whether a text is a number alone, without a unit. One below zero is, too: it is refused for that.
pub fn is_bare(text: &str) -> bool {
    let number = text.strip_prefix('-').unwrap_or(text);
    number.contains(|c: char| c.is_ascii_digit())
        && (number.bytes()).all(|byte| byte.is_ascii_digit() || byte == b'.')
}

/// A bare number with the unit that was said beside it, by a question or a column; anything else
/// as it is.
pub fn with_unit(text: &str, unit: &str) -> String {
    let text = text.trim();
    if is_bare(text) {
        format!("{text} {unit}")
    } else {
        text.to_string()
    }
}

/// A computed value, refused where it has left the range of numbers.
fn in_range(text: &str, value: Fix) -> Result<Fix, String> {
    if value.is_beyond() {
        Err(format!("found {}, which is far too large", text.trim()))
    } else {
        Ok(value)
    }
}

/// The refusal of a number that has no unit.
fn bare(number: &str, meanings: &[&str]) -> String {
    let listed: Vec<String> = meanings
        .iter()
        .map(|unit| format!("\"{number} {unit}\""))
        .collect();
    format!(
        "found {number}, a bare number; it could have meant {}",
        listed.join(" or ")
    )
}

#[cfg(test)]
mod tests {
    use super::with_unit;

    #[test]
    fn only_a_bare_number_takes_the_unit_said_beside_it() {
        assert_eq!(with_unit(" 58.5 ", "spm"), "58.5 spm");
        assert_eq!(with_unit("-3", "s"), "-3 s");
        for text in ["", "27 cpm", "1:55", "-", ".", "58,5", "2027-03-01"] {
            assert_eq!(with_unit(text, "spm"), text);
        }
    }
}
