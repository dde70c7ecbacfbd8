//! The sound of a breath beside other cues: when it begins, and what would hide it.

use crate::units::Fix;

/// From the beginning of its sound to the entry at which the head turns, s: the rise ends as the
/// head may turn.
pub const BEFORE_ENTRY_S: Fix = Fix::thousandths(220);
/// How long it rises, s.
const RISE_S: Fix = Fix::thousandths(200);
/// A cue that begins so shortly before it still rings as it begins, s.
const CLEAR_BEFORE_S: Fix = Fix::thousandths(40);

/// Whether a cue that begins so many seconds after a breath, or before it where that is negative,
/// hides it.
#[inline]
pub fn is_hidden(after: Fix) -> bool {
    is_hidden_within(after, after)
}

/// Whether some of the times between two, in s after a breath, hide it.
#[inline]
pub fn is_hidden_within(one: Fix, other: Fix) -> bool {
    let (least, most) = (one.min(other), one.max(other));
    !(-CLEAR_BEFORE_S).exceeds(most) && RISE_S.exceeds(least)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rise_is_hidden_from_40_ms_before_it_to_its_end() {
        let ms = Fix::thousandths;
        let hidden: Vec<i128> = (-300..400).filter(|after| is_hidden(ms(*after))).collect();
        assert_eq!(hidden, (-40..200).collect::<Vec<i128>>());
    }

    #[test]
    fn a_stretch_of_times_hides_it_where_one_of_them_does() {
        let ms = Fix::thousandths;
        for (one, other, hidden) in [
            (-100, -41, false),
            (-100, -40, true),
            (200, 900, false),
            (900, 199, true),
            (500, -500, true),
            (10, 10, true),
        ] {
            assert_eq!(
                is_hidden_within(ms(one), ms(other)),
                hidden,
                "{one} {other}"
            );
        }
    }
}
