//! Lengths: pools, distances, glides.

use std::fmt;

use super::decimal::print_rounded;
use super::{Fix, Quantity, bare, decimal, exact, fraction, print_decimal, split_unit};

/// A length, kept in metres, printed in the unit in which it was written. Never negative.
#[derive(Debug, Clone)]
pub struct Length {
    metres: Fix,
    yards: bool,
}

impl Length {
    /// A length in metres.
    pub fn from_metres(metres: Fix) -> Self {
        Self {
            metres,
            yards: false,
        }
    }

    /// Metres.
    pub fn metres(&self) -> &Fix {
        &self.metres
    }

    /// The same unit as `self`, `times` as long.
    #[must_use]
    pub fn times(&self, times: u64) -> Self {
        Self {
            metres: self.metres * Fix::from_integer(times.into()),
            yards: self.yards,
        }
    }

    /// Whether the length was written in yards.
    pub fn in_yards(&self) -> bool {
        self.yards
    }

    /// A yard is 0.9144 m exactly (international yard and pound agreement, 1959).
    fn metres_a_yard() -> Fix {
        fraction(9144, 10_000)
    }
}

impl PartialEq for Length {
    /// Equal lengths are equal, whatever unit they were written in: three thirds are the whole.
    fn eq(&self, other: &Self) -> bool {
        self.metres.is_near(other.metres)
    }
}

impl Eq for Length {}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (value, unit) = if self.yards {
            (self.metres / Self::metres_a_yard(), "yd")
        } else {
            (self.metres, "m")
        };
        match print_decimal(&value) {
            Some(number) => write!(f, "{number} {unit}"),
            None => {
                let whole = value.floor();
                let part = value - whole;
                let parts = (2..=MAX_DENOMINATOR).map(|b| (part.times(b.into()).nearest(), b));
                match { parts }.find(|(a, b)| Fix::new(*a, (*b).into()).is_near(part)) {
                    Some((a, b)) => write!(f, "{whole} {a}/{b} {unit}"),
                    None => write!(f, "{} {unit}", print_rounded(&value, 3)),
                }
            }
        }
    }
}

/// Pools of 33 1/3 m exist, and three of their lengths must make 100 m.
const MAX_DENOMINATOR: u32 = 1000;

impl Quantity for Length {
    const ACCEPTED: &'static str = "a length in m or yd, such as 50 m, 25 yd or 33 1/3 m";
    const EXAMPLE: &'static str = "25 m";

    fn parse(text: &str) -> Result<Self, String> {
        let (metres, yards) = match mixed(text) {
            Some((value, unit)) => (value, unit),
            None => {
                let (number, unit) = split_unit(text);
                (decimal_of(text, number, &unit)?, unit)
            }
        };
        if metres.is_negative() {
            return Err(format!("found {text:?}, a negative length"));
        }
        match yards.as_str() {
            "m" => Ok(Self::from_metres(metres)),
            "yd" => Ok(Self {
                metres: metres * Self::metres_a_yard(),
                yards: true,
            }),
            _ => Err(format!("found {text:?}, which is not a length")),
        }
    }
}

fn decimal_of(text: &str, number: &str, unit: &str) -> Result<Fix, String> {
    match unit {
        "m" | "yd" => decimal(number),
        "" if !number.is_empty() => Err(bare(number, &["m", "yd"])),
        unit if counts_lengths(unit) => Err(format!(
            "found {text:?}; lengths of the pool are counted only in a set's swim"
        )),
        _ => Err(format!("found {text:?}, which is not a length")),
    }
}

/// Whether a unit in lower case counts lengths of a pool, as in `2 lengths`.
pub(crate) fn counts_lengths(unit: &str) -> bool {
    matches!(unit, "length" | "lengths")
}

/// Reads `33 1/3 m` and `33⅓ m`; nothing for any other form.
fn mixed(text: &str) -> Option<(Fix, String)> {
    let text = text.replace('⅓', " 1/3").replace('⅔', " 2/3");
    let mut words = text.split_whitespace();
    let (whole, part, unit) = (words.next()?, words.next()?, words.next()?);
    let (a, b) = part.split_once('/')?;
    let (whole, a, b): (u32, u32, u32) = (whole.parse().ok()?, a.parse().ok()?, b.parse().ok()?);
    if words.next().is_some() || b < 2 || a >= b || b > MAX_DENOMINATOR {
        return None;
    }
    let value = exact(whole.into()) + fraction(a.into(), b.into());
    Some((value, unit.to_lowercase()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn length(text: &str) -> Length {
        Length::parse(text).expect(text)
    }

    #[test]
    fn a_yard_pool_is_22_86_metres() {
        // International yard and pound agreement, 1959: 25 yd = 22.86 m.
        assert_eq!(length("25 yd"), length("22.86 m"));
        assert_eq!(length("25YD").to_string(), "25 yd");
    }

    #[test]
    fn three_lengths_of_a_third_pool_are_100_metres() {
        for text in ["33 1/3 m", "33⅓ m"] {
            assert_eq!(length(text).times(3), length("100 m"), "{text}");
        }
        assert_eq!(length("33⅓ m").to_string(), "33 1/3 m");
        assert_eq!(length("100 m").to_string(), "100 m");
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in [
            "", "m", "-5 m", "5 km", "1/3 m", "33 3/3 m", "33 1/0 m", "33 1/3", "50 m m", "5 s",
        ] {
            assert!(Length::parse(text).is_err(), "{text}");
        }
        let why = Length::parse("25").expect_err("bare");
        assert!(why.contains("\"25 m\" or \"25 yd\""), "{why}");
    }

    proptest! {
        #[test]
        fn a_printed_length_reads_back(milli in 0i64..100_000_000, yards: bool) {
            let number = print_decimal(&fraction(milli, 1000)).expect("short");
            let length = length(&format!("{number} {}", if yards { "yd" } else { "m" }));
            let again = Length::parse(&length.to_string()).expect("prints what it reads");
            prop_assert_eq!(again.to_string(), length.to_string());
            prop_assert_eq!(again, length);
        }

        #[test]
        fn a_printed_mixed_length_reads_back(whole in 0u32..2000, a in 1u32..1000, b in 2u32..1000) {
            if let Ok(length) = Length::parse(&format!("{whole} {a}/{b} m")) {
                prop_assert_eq!(Length::parse(&length.to_string()), Ok(length));
            }
        }
    }
}
