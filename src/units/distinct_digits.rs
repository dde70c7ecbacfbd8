//! Numbers for a refusal: with as many digits as it takes not to read as the limit that they passed.

use super::Fix;
use std::cmp::Ordering;

use super::decimal::print_rounded;

/// Decimals beyond which a float of any quantity here says nothing more.
const MOST_PLACES: usize = 15;

/// A number with `places` decimals, or with more where it would
/// read as a limit that it is not: 160.04 beside 160 is `160.04`, beside 150 it is `160.0`.
pub fn apart(value: f64, limit: f64, places: usize) -> String {
    let print = |value: f64, places: usize| format!("{value:.places$}");
    (places..MOST_PLACES)
        .find(|&places| print(value, places) != print(limit, places))
        .map_or_else(|| format!("{value}"), |places| print(value, places))
}

/// The same exactly, without trailing zeros: what no float tells from the limit is `just above 160`.
pub fn print_apart(value: &Fix, limit: &Fix, places: usize) -> String {
    let print = |places: usize| (print_rounded(value, places), print_rounded(limit, places));
    let differing = (places..MOST_PLACES).map(print).find(|(a, b)| a != b);
    match (differing, value.cmp(limit)) {
        (Some((value, _)), _) => value,
        (None, Ordering::Equal) => print_rounded(value, places),
        (None, Ordering::Less) => format!("just below {}", print_rounded(limit, places)),
        (None, Ordering::Greater) => format!("just above {}", print_rounded(limit, places)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{decimal, exact, fraction};
    use proptest::prelude::*;

    #[test]
    fn no_more_digits_than_needed() {
        assert_eq!(apart(160.04, 160.0, 1), "160.04");
        assert_eq!(apart(161.04, 160.0, 1), "161.0");
        let past = decimal("160.000000001").expect("a decimal");
        assert_eq!(print_apart(&past, &exact(160), 3), "160.000000001");
        assert_eq!(print_apart(&fraction(29, 3), &exact(10), 3), "9.667");
        let nano = fraction(1, 1_000_000_000);
        let hair = nano * nano;
        assert_eq!(
            print_apart(&(exact(160) + hair), &exact(160), 3),
            "just above 160"
        );
    }

    proptest! {
        #[test]
        fn what_is_printed_lies_on_its_side_of_the_limit(nano in 1i64..1_000_000_000_000, below: bool) {
            let (limit, off) = (exact(160), fraction(nano, 1_000_000_000));
            let value = if below { limit - off } else { limit + off };
            let text = print_apart(&value, &limit, 3);
            let read = decimal(&text).expect("at most nine decimals are needed");
            prop_assert_eq!(read < limit, below, "{}", text);
            prop_assert!(read != limit);
        }
    }
}
