//! The stroke as a circle: a phase from 0 to 1 once a cycle, 0 at the left entry.

use super::cue::{PerSide, Side};
use crate::units::{Fix, fraction};

/// What an arm does at the moments that a kick may fall on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArmMoment {
    /// The hand goes in.
    Entry,
    /// The hand starts to press back.
    Catch,
}

impl ArmMoment {
    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Entry => "entry",
            Self::Catch => "catch",
        }
    }
}

/// Where the hands enter and take hold, as fractions of a cycle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stroke {
    /// ε: the right entry after the left one, 0.35 to 0.65.
    pub right_entry: Fix,
    /// κ: each catch after the entry of its own hand, 0 to 0.5.
    pub catch_after_entry: PerSide<Fix>,
}

impl Stroke {
    /// The phase at which a hand enters.
    pub fn entry(&self, hand: Side) -> Fix {
        match hand {
            Side::Left => fraction(0, 1),
            Side::Right => self.right_entry,
        }
    }

    /// The phase at which a hand starts to press back.
    pub fn catch(&self, hand: Side) -> Fix {
        wrap(&(self.entry(hand) + self.catch_after_entry.of(hand)))
    }

    /// The phase of a moment of each arm.
    pub fn moments(&self, moment: ArmMoment) -> PerSide<Fix> {
        let of = |arm| match moment {
            ArmMoment::Entry => self.entry(arm),
            ArmMoment::Catch => self.catch(arm),
        };
        PerSide {
            left: of(Side::Left),
            right: of(Side::Right),
        }
    }

    /// κ, the mean of both arms.
    pub fn mean_catch(&self) -> Fix {
        let PerSide { left, right } = &self.catch_after_entry;
        (left + right) / fraction(2, 1)
    }
}

/// The same point of the circle, from 0 (included) to 1 (excluded).
pub fn wrap(phase: &Fix) -> Fix {
    // Thirds that add up to a hair below a whole turn are that turn.
    (phase - phase.floor()).max(Fix::ZERO)
}

/// How far it is from one phase forward to another, from 0 (included) to 1 (excluded).
pub fn forward(from: &Fix, to: &Fix) -> Fix {
    wrap(&(to - from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phases_wrap_forward() {
        assert_eq!(wrap(&fraction(5, 4)), fraction(1, 4));
        assert_eq!(wrap(&fraction(-1, 4)), fraction(3, 4));
        assert_eq!(wrap(&fraction(1, 1)), fraction(0, 1));
        assert_eq!(forward(&fraction(3, 4), &fraction(1, 4)), fraction(1, 2));
    }

    #[test]
    fn a_late_right_catch_wraps_past_the_left_entry() {
        let stroke = Stroke {
            right_entry: fraction(65, 100),
            catch_after_entry: PerSide {
                left: fraction(3, 10),
                right: fraction(1, 2),
            },
        };
        assert_eq!(stroke.catch(Side::Right), fraction(15, 100));
        assert_eq!(stroke.mean_catch(), fraction(4, 10));
    }
}
