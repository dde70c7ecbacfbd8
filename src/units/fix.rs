//! The number of every quantity: whole steps of 10^-27.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

use super::wide::{divide, wide};

/// A number on a grid of 10^-27, from -1.7e11 to 1.7e11.
///
/// Decimals of 9 places are exact, and so are sums and products of up to three of them; a
/// quotient is the nearest step. Sixteen bytes, never allocates. What would leave the range
/// stops at its end, far beyond every limit that an input is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Fix(pub(super) i128);

/// Steps in 1.
pub(super) const ONE: i128 = 10_i128.pow(27);
/// Steps in [`Fix::NEAR`].
pub(super) const NEAR: i128 = ONE >> 48;
impl Fix {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// One.
    pub const ONE: Self = Self(ONE);
    /// One half.
    pub const HALF: Self = Self(ONE / 2);
    /// The largest number.
    pub const MAX: Self = Self(i128::MAX);
    /// What lies nearer than this counts as equal: 2^-48. Roundings of half a step each, over
    /// all events of 12 h, add up to less; decimals of up to 14 places that differ, differ by
    /// more.
    pub const NEAR: Self = Self(NEAR);

    /// A whole number.
    pub const fn from_integer(whole: i128) -> Self {
        Self(whole.saturating_mul(ONE))
    }

    /// So many thousandths: exact.
    pub const fn thousandths(number: i128) -> Self {
        Self(number.saturating_mul(ONE / 1000))
    }

    /// The step nearest to `numerator / denominator`.
    pub fn new(numerator: i128, denominator: i128) -> Self {
        Self(numerator).mul_div(Self::ONE, Self(denominator))
    }

    /// `self x times / by`, rounded once, halves away from zero. By nothing it is the largest
    /// number.
    #[must_use]
    pub fn mul_div(self, times: Self, by: Self) -> Self {
        let negative = (self.0 < 0) ^ (times.0 < 0) ^ (by.0 < 0);
        let by = by.0.unsigned_abs();
        let (high, low) = wide(self.0.unsigned_abs(), times.0.unsigned_abs());
        let size = match divide(high, low, by) {
            Some((quotient, rest)) => {
                let nearest = quotient.saturating_add(u128::from(rest >= by - rest));
                i128::try_from(nearest).unwrap_or(i128::MAX)
            }
            None => i128::MAX,
        };
        Self(if negative { -size } else { size })
    }

    /// A whole number of times: exact.
    #[must_use]
    pub const fn times(self, whole: i128) -> Self {
        Self(self.0.saturating_mul(whole))
    }

    /// The largest whole number not above; what is near one below it counts as that one.
    pub const fn whole_below(self) -> i128 {
        self.0.saturating_add(NEAR).div_euclid(ONE)
    }

    /// The smallest whole number not below; what is near one above it counts as that one.
    pub const fn whole_above(self) -> i128 {
        -Self(self.0.saturating_neg()).whole_below()
    }

    /// [`Self::whole_below`], as a number.
    #[must_use]
    pub const fn floor(self) -> Self {
        Self::from_integer(self.whole_below())
    }

    /// The nearest whole number, halves away from zero.
    pub const fn nearest(self) -> i128 {
        let nearest = Self(self.0.saturating_abs().saturating_add(ONE / 2)).whole_below();
        if self.0 < 0 { -nearest } else { nearest }
    }

    /// Whether it is above another number and not near it.
    pub const fn exceeds(self, other: Self) -> bool {
        self.0.saturating_sub(other.0) > NEAR
    }

    /// Whether it is the same number or near it.
    pub const fn is_near(self, other: Self) -> bool {
        !self.exceeds(other) && !other.exceeds(self)
    }

    /// The size without the sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }

    /// Whether it is below zero.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }

    /// Whether it is above zero.
    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// Whether it is nothing at all.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// Whether it is a whole number.
    pub const fn is_integer(self) -> bool {
        self.0 % ONE == 0
    }

    /// The sum of two parts of 1, less 1 where it comes to that; and whether it does.
    #[inline]
    pub const fn part_sum(self, other: Self) -> (Self, bool) {
        let sum = self.0 + other.0;
        if sum >= ONE {
            (Self(sum - ONE), true)
        } else {
            (Self(sum), false)
        }
    }

    /// Whether it has 20 decimals or fewer, and so is what it was written as: a rounded quotient
    /// fills all 27, but for one in ten million.
    pub const fn is_decimal(self) -> bool {
        self.0 % 10_i128.pow(7) == 0
    }

    /// This many seconds in frames, exactly: whole ones, and the part of one that is left.
    pub const fn in_frames(self, sample_rate_hz: u32) -> (i64, Self) {
        // A division takes longer than all else: two are enough.
        let rate = sample_rate_hz as i128;
        let whole = self.0.div_euclid(ONE);
        let part = self.0.wrapping_sub(whole.wrapping_mul(ONE)) * rate;
        let frames = part / ONE;
        ((whole * rate + frames) as i64, Self(part - frames * ONE))
    }

    /// Whether it stands at an end of the range, where a result that left it stopped.
    pub const fn is_beyond(self) -> bool {
        self.0.saturating_abs() == i128::MAX
    }

    /// The nearest float, for printing and for rates that change.
    pub fn f64(self) -> f64 {
        if self.0 == 0 {
            return 0.0;
        }
        // All 128 bits in use, times 2^64: the quotient has a hundred bits and fits. Its lowest
        // says whether anything follows, so that the one rounding is to the nearest float.
        let size = self.0.unsigned_abs();
        let shift = size.leading_zeros();
        let size = size << shift;
        let (quotient, rest) = divide(size >> 64, size << 64, ONE as u128).unwrap_or((0, 0));
        let float = (quotient | u128::from(rest > 0)) as f64;
        let float = float * 2.0_f64.powi(-(64 + shift as i32));
        if self.0 < 0 { -float } else { float }
    }

    /// The step nearest below a float; the end of the range for one beyond it, zero for no number.
    pub fn from_f64(value: f64) -> Self {
        // Whole and part apart keep all bits of a float.
        let whole = value.floor();
        let part = ((value - whole) * ONE as f64) as i128;
        Self((whole as i128).saturating_mul(ONE).saturating_add(part))
    }
}

impl Neg for Fix {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Neg for &Fix {
    type Output = Fix;
    fn neg(self) -> Fix {
        -*self
    }
}

/// An operator between values and references alike.
macro_rules! operator {
    ($trait:ident, $name:ident, $of:expr) => {
        impl $trait<Fix> for Fix {
            type Output = Fix;
            fn $name(self, other: Fix) -> Fix {
                let of: fn(Fix, Fix) -> Fix = $of;
                of(self, other)
            }
        }
        impl $trait<&Fix> for Fix {
            type Output = Fix;
            fn $name(self, other: &Fix) -> Fix {
                self.$name(*other)
            }
        }
        impl $trait<Fix> for &Fix {
            type Output = Fix;
            fn $name(self, other: Fix) -> Fix {
                (*self).$name(other)
            }
        }
        impl $trait<&Fix> for &Fix {
            type Output = Fix;
            fn $name(self, other: &Fix) -> Fix {
                (*self).$name(*other)
            }
        }
    };
}

operator!(Add, add, |a, b| Fix(a.0.saturating_add(b.0)));
operator!(Sub, sub, |a, b| Fix(a.0.saturating_sub(b.0)));
operator!(Mul, mul, |a, b| a.mul_div(b, Fix::ONE));
operator!(Div, div, |a, b| a.mul_div(Fix::ONE, b));

impl AddAssign for Fix {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sum for Fix {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, Add::add)
    }
}

/// Whether `at` s and `cycles` at `spm` strokes/min after it make at least `halves` halves of a
/// frame, without any rounding: at x hz + cycles x 120 hz / spm >= halves / 2. `cycles` and `spm`
/// are not negative; none where the numbers are too large to tell.
pub fn reaches(at: Fix, cycles: Fix, spm: Fix, sample_rate_hz: u32, halves: i128) -> Option<bool> {
    let rate = i128::from(sample_rate_hz);
    let short = (halves.checked_mul(ONE)?).checked_sub(at.0.checked_mul(2 * rate)?)?;
    let cycles = cycles.0.unsigned_abs().checked_mul(240)?;
    let swum = wide(cycles, rate.unsigned_abs() * ONE as u128);
    Some(short <= 0 || wide(short.unsigned_abs(), spm.0.unsigned_abs()) <= swum)
}

/// A whole number.
pub fn exact(whole: i64) -> Fix {
    Fix::from_integer(whole.into())
}

/// The step nearest to `numerator / denominator`, for constants in the code.
pub fn fraction(numerator: i64, denominator: i64) -> Fix {
    Fix::new(numerator.into(), denominator.into())
}

/// The nearest float, for printing.
pub fn to_f64(value: &Fix) -> f64 {
    value.f64()
}

/// The largest whole number not above `value`; none if that is negative or past `u64`.
pub fn floor_u64(value: &Fix) -> Option<u64> {
    u64::try_from(value.whole_below()).ok()
}

/// The smallest whole number not below `value`; none if that is negative or past `u64`.
pub fn ceil_u64(value: &Fix) -> Option<u64> {
    u64::try_from(value.whole_above()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_leaves_the_range_stops_at_its_end() {
        let most = exact(100_000_000_000);
        let beyond = [
            most + most,
            most * most,
            most * exact(-3),
            -most - most,
            most / fraction(1, 100),
            exact(1) / exact(0),
            Fix::from_integer(i128::MIN),
            -Fix::from_integer(i128::MIN),
            Fix::from_f64(f64::NEG_INFINITY),
        ];
        for value in beyond {
            assert!(value.is_beyond(), "{value}");
            assert!(value.abs() > most && value.floor().abs() > most);
            assert!(!value.in_frames(192_000).1.is_negative());
        }
    }

    #[test]
    fn what_is_near_a_whole_number_is_that_number() {
        let third = fraction(1, 3);
        assert_eq!((third * exact(3)).whole_below(), 1);
        assert_eq!((exact(2) + third.times(3)).floor(), exact(3));
        assert_eq!((exact(4) - fraction(2, 3) - third).whole_above(), 3);
        assert_eq!(fraction(-5, 2).nearest(), -3);
        assert_eq!(fraction(5, 2).nearest(), 3);
        assert!(!exact(1).exceeds(third.times(3)));
        assert!(exact(1).exceeds(fraction(999_999_999_999, 1_000_000_000_000)));
    }

    /// Every size from a step to the end of the range.
    fn any_size() -> impl Strategy<Value = i128> {
        (any::<i128>(), 1_u32..127).prop_map(|(bits, shift)| bits >> shift)
    }

    proptest! {
        #[test]
        fn a_float_is_the_nearest_one(steps in any_size()) {
            // The standard library reads decimals to the nearest float.
            prop_assert_eq!(Fix(steps).f64(), Fix(steps).to_string().parse::<f64>().expect("a number"));
        }

        #[test]
        fn a_float_comes_back(value in -1e10..1e10_f64) {
            prop_assert_eq!(Fix::from_f64(value).f64(), value);
        }

        #[test]
        fn floor_and_ceil_enclose(numerator in 0i64..1_000_000, denominator in 1i64..1000) {
            let value = fraction(numerator, denominator);
            let (floor, ceil) = (floor_u64(&value).expect("small"), ceil_u64(&value).expect("small"));
            prop_assert_eq!(floor as i64, numerator / denominator);
            prop_assert_eq!(ceil as i64, (numerator + denominator - 1) / denominator);
        }

    }
}
