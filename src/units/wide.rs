//! Numbers of 256 bits, as two halves of 128: what a product is before it is divided.

/// The product of two numbers of 128 bits: high half and low half.
pub const fn wide(a: u128, b: u128) -> (u128, u128) {
    const LOW: u128 = u64::MAX as u128;
    let (a1, a0, b1, b0) = (a >> 64, a & LOW, b >> 64, b & LOW);
    let low = a0 * b0;
    let one = a1 * b0 + (low >> 64);
    let other = a0 * b1 + (one & LOW);
    let high = a1 * b1 + (one >> 64) + (other >> 64);
    (high, (other << 64) | (low & LOW))
}

/// Quotient and rest of 256 bits by 128; none where the quotient has more than 128 bits.
pub fn divide(high: u128, low: u128, by: u128) -> Option<(u128, u128)> {
    if high >= by {
        return None;
    }
    if high == 0 {
        let quotient = low / by;
        return Some((quotient, low - quotient * by));
    }
    // Long division with digits of 64 bits, the divisor's highest bit set (Knuth, The Art of
    // Computer Programming 2, 4.3.1, algorithm D, from memory).
    let shift = by.leading_zeros();
    let by = by << shift;
    let (by_high, by_low) = (by >> 64, by & u128::from(u64::MAX));
    let high = match shift {
        0 => high,
        _ => high << shift | low >> (128 - shift),
    };
    let low = low << shift;
    let digit = |rest: u128, next: u128| {
        let mut digit = rest / by_high;
        let mut over = rest - digit * by_high;
        // At most twice too large.
        while digit >> 64 != 0 || digit * by_low > (over << 64 | next) {
            (digit, over) = (digit - 1, over + by_high);
            if over >> 64 != 0 {
                break;
            }
        }
        let rest = (rest << 64 | next).wrapping_sub(digit.wrapping_mul(by));
        (digit, rest)
    };
    let (first, rest) = digit(high, low >> 64);
    let (second, rest) = digit(rest, low & u128::from(u64::MAX));
    Some((first << 64 | second, rest >> shift))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every size from 1 to the largest.
    fn any_size() -> impl Strategy<Value = i128> {
        (any::<i128>(), 1_u32..127).prop_map(|(bits, shift)| bits >> shift)
    }

    proptest! {
        #[test]
        fn a_quotient_times_its_divisor_is_the_dividend(a in any_size(), b in any_size(), by in any_size()) {
            // a b = quotient x by + rest, in 256 bits, with a rest of at most half of `by`.
            let [a, b, by] = [a, b, by].map(i128::unsigned_abs);
            let product = wide(a, b);
            match divide(product.0, product.1, by) {
                None => prop_assert!(product.0 >= by),
                Some((quotient, rest)) => {
                    prop_assert!(rest < by);
                    let (high, low) = wide(quotient, by);
                    let (low, carry) = low.overflowing_add(rest);
                    prop_assert_eq!((high + u128::from(carry), low), product);
                }
            }
        }
    }
}
