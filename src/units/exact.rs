//! Exact fractions, and decimals in and out of them.

use num_bigint::BigInt;
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// A number kept as a fraction until a frame is rounded.
///
/// The integers have no upper bound: a start time is a sum of swims at many rates,
/// and the common denominator of such a sum outgrows 128 bits within twenty repeats.
pub type Exact = BigRational;

/// Digits accepted after the decimal point.
const MAX_DECIMALS: usize = 9;
/// Digits accepted before it: far beyond any swim, and enough to name the value in a refusal.
const MAX_INTEGER_DIGITS: usize = 12;

/// A whole number as a fraction.
pub fn exact(whole: i64) -> Exact {
    Exact::from_integer(whole.into())
}

/// `numerator / denominator`, for constants in the code.
///
/// # Panics
/// When the denominator is zero.
pub fn fraction(numerator: i64, denominator: i64) -> Exact {
    Exact::new(numerator.into(), denominator.into())
}

/// The nearest float, for printing and for ramps.
pub fn to_f64(value: &Exact) -> f64 {
    // Big integers always convert (to infinity at worst), so the fallback is never a guess.
    value.to_f64().unwrap_or(f64::NAN)
}

/// The largest whole number not above `value`; none if that is negative or past `u64`.
pub fn floor_u64(value: &Exact) -> Option<u64> {
    value.numer().div_floor(value.denom()).to_u64()
}

/// The smallest whole number not below `value`; none if that is negative or past `u64`.
pub fn ceil_u64(value: &Exact) -> Option<u64> {
    value.numer().div_ceil(value.denom()).to_u64()
}

/// Reads a decimal fraction such as `54`, `-3`, `0.305` or `1_200.5`.
///
/// # Errors
/// Says what is wrong: no number, an exponent, more than 9 decimals or 12 whole digits.
pub fn decimal(text: &str) -> Result<Exact, String> {
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
    if decimals.len() > MAX_DECIMALS {
        return Err(format!("found {text}, with more than 9 decimals"));
    }
    if whole.trim_start_matches('0').len() > MAX_INTEGER_DIGITS {
        return Err(format!("found {text}, which is far too large"));
    }
    // At most 21 digits: fits i128.
    let numerator: i128 = format!("{whole}{decimals}")
        .parse()
        .map_err(|_| format!("found {text:?}, which is not a decimal number"))?;
    let denominator = BigInt::from(10u32).pow(u32::try_from(decimals.len()).unwrap_or(0));
    let value = Exact::new(numerator.into(), denominator);
    Ok(if negative { -value } else { value })
}

/// Prints a fraction as a decimal if it has at most 9 decimals, else nothing.
pub fn print_decimal(value: &Exact) -> Option<String> {
    let scale = BigInt::from(10u32).pow(u32::try_from(MAX_DECIMALS).unwrap_or(9));
    let scaled = value * Exact::from_integer(scale.clone());
    if !scaled.denom().is_one() {
        return None;
    }
    let (whole, decimals) = scaled.numer().abs().div_rem(&scale);
    let sign = if value.is_negative() { "-" } else { "" };
    if decimals.is_zero() {
        return Some(format!("{sign}{whole}"));
    }
    let decimals = format!("{:0>9}", decimals.to_string());
    Some(format!("{sign}{whole}.{}", decimals.trim_end_matches('0')))
}

/// Prints for people: at most `places` decimals, no trailing zeros. Not exact.
pub(super) fn print_rounded(value: &Exact, places: usize) -> String {
    let text = format!("{:.places$}", to_f64(value));
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_string(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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
        assert!(decimal("9999999999999").is_err_and(|why| why.contains("too large")));
    }

    #[test]
    fn a_third_has_no_short_decimal() {
        assert_eq!(print_decimal(&fraction(1, 3)), None);
        assert_eq!(print_decimal(&fraction(-1, 8)), Some("-0.125".into()));
    }

    proptest! {
        #[test]
        fn a_printed_decimal_reads_back(numerator in any::<i32>(), places in 0u32..=9) {
            let value = Exact::new(numerator.into(), BigInt::from(10u32).pow(places));
            let text = print_decimal(&value).expect("at most 9 decimals");
            prop_assert_eq!(decimal(&text), Ok(value));
        }

        #[test]
        fn floor_and_ceil_enclose(numerator in 0i64..1_000_000, denominator in 1i64..1000) {
            let value = fraction(numerator, denominator);
            let (floor, ceil) = (floor_u64(&value).expect("small"), ceil_u64(&value).expect("small"));
            prop_assert!(ceil - floor <= 1);
            prop_assert!(exact(floor as i64) <= value && value <= exact(ceil as i64));
        }
    }
}
