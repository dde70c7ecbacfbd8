//! Decimals as people write them, in and out of the grid.

use std::fmt;

use super::fix::{Fix, NEAR, ONE};

/// Decimal places of the grid, and those that a person may write.
const PLACES: usize = 27;
const MAX_DECIMALS: usize = 9;
/// Digits accepted before the point: far beyond any swim, and enough to name the value in a
/// refusal.
const MAX_INTEGER_DIGITS: usize = 11;

impl Fix {
    /// Reads a decimal fraction of at most 27 places, such as `54`, `-3`, `0.305` or `1_200.5`.
    ///
    /// # Errors
    /// Says what is wrong: no number, an exponent, more than 27 decimals or 11 whole digits.
    pub fn decimal(text: &str) -> Result<Self, String> {
        decimal_of(text, PLACES)
    }
}

impl fmt::Display for Fix {
    /// As a decimal with all its places, at most 27: [`Fix::decimal`] reads it back.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (
            self.0.unsigned_abs() / ONE as u128,
            self.0.unsigned_abs() % ONE as u128,
        );
        let sign = if self.0 < 0 { "-" } else { "" };
        if part == 0 {
            return write!(f, "{sign}{whole}");
        }
        let part = format!("{part:0>PLACES$}");
        write!(f, "{sign}{whole}.{}", part.trim_end_matches('0'))
    }
}

/// Reads a decimal fraction that a person wrote, such as `54`, `-3`, `0.305` or `1_200.5`.
///
/// # Errors
/// Says what is wrong: no number, an exponent, more than 9 decimals or 11 whole digits.
pub fn decimal(text: &str) -> Result<Fix, String> {
    decimal_of(text, MAX_DECIMALS)
}

fn decimal_of(text: &str, places: usize) -> Result<Fix, String> {
    let (negative, digits) = match text.as_bytes().first() {
        Some(b'-') => (true, &text[1..]),
        Some(b'+') => (false, &text[1..]),
        _ => (false, text),
    };
    if digits.contains(',') {
        return Err(format!(
            "found {text}, with a comma; the decimal sign is a point"
        ));
    }
    let digits = digits.replace('_', "");
    let (whole, decimals) = digits.split_once('.').unwrap_or((&digits, ""));
    let well_formed = !whole.is_empty()
        && (decimals.is_empty() != digits.contains('.'))
        && (whole.bytes().chain(decimals.bytes())).all(|b| b.is_ascii_digit());
    if !well_formed {
        return Err(format!("found {text:?}, which is not a decimal number"));
    }
    if decimals.len() > places {
        return Err(format!("found {text}, with more than {places} decimals"));
    }
    let whole = whole.trim_start_matches('0');
    if whole.len() > MAX_INTEGER_DIGITS {
        return Err(format!("found {text}, which is far too large"));
    }
    // At most 38 digits, below 10^38: fits i128.
    let digits = whole.bytes().chain(decimals.bytes());
    let number = digits.fold(0, |number, digit| number * 10 + i128::from(digit - b'0'));
    let steps = number * 10_i128.pow((PLACES - decimals.len()) as u32);
    Ok(Fix(if negative { -steps } else { steps }))
}

/// Prints a number as a decimal if it is one of at most 9 places, or near one; else nothing.
pub fn print_decimal(value: &Fix) -> Option<String> {
    let unit = ONE / 10_i128.pow(MAX_DECIMALS as u32);
    let nearest = Fix((value.0.saturating_add(unit / 2))
        .div_euclid(unit)
        .saturating_mul(unit));
    ((*value - nearest).0.abs() <= NEAR).then(|| nearest.to_string())
}

/// Prints for people: at most `places` decimals, no trailing zeros. Not exact.
pub(super) fn print_rounded(value: &Fix, places: usize) -> String {
    print_float(value.f64(), places)
}

/// The same of a float.
pub fn print_float(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{exact, fraction};
    use proptest::prelude::*;

    #[test]
    fn decimals_are_read_exactly() {
        assert_eq!(decimal("0.305"), Ok(fraction(61, 200)));
        assert_eq!(decimal("-3"), Ok(exact(-3)));
        assert_eq!(decimal("1_200.5"), Ok(fraction(2401, 2)));
        assert_eq!(decimal("+2"), Ok(exact(2)));
    }

    #[test]
    fn what_is_no_plain_decimal_is_refused() {
        for text in [
            "", ".", "5.", ".5", "1e3", "nan", "inf", "--1", "1.2.3", "0x1f", "½",
        ] {
            assert!(decimal(text).is_err(), "{text}");
        }
        assert!(decimal("1,5").is_err_and(|why| why.contains("comma")));
        assert!(decimal("0.1234567891").is_err_and(|why| why.contains("9 decimals")));
        assert!(decimal("999999999999").is_err_and(|why| why.contains("too large")));
        let most = format!("-99999999999.{}", "9".repeat(27));
        assert!(Fix::decimal(&most).is_ok_and(|value| value.to_string() == most));
        assert!(Fix::decimal(&format!("{most}9")).is_err_and(|why| why.contains("27 decimals")));
    }

    #[test]
    fn a_third_has_no_short_decimal() {
        assert_eq!(print_decimal(&fraction(1, 3)), None);
        assert_eq!(print_decimal(&fraction(-1, 8)), Some("-0.125".into()));
        assert_eq!(print_decimal(&fraction(1, 3).times(-3)), Some("-1".into()));
    }

    proptest! {
        #[test]
        fn a_printed_decimal_reads_back(numerator in any::<i32>(), places in 0u32..=9) {
            let value = Fix::new(numerator.into(), 10_i128.pow(places));
            let text = print_decimal(&value).expect("at most 9 decimals");
            prop_assert_eq!(decimal(&text), Ok(value));
        }

        #[test]
        fn every_number_in_the_range_reads_back(steps in -10_i128.pow(38) + 1..10_i128.pow(38)) {
            let value = Fix(steps);
            prop_assert_eq!(Fix::decimal(&value.to_string()), Ok(value));
        }
    }
}
