//! Which foot kicks when: the pairing, the kick, and the beats that follow from them.

use std::fmt;

use super::circle::{ArmMoment, Stroke, forward, wrap};
use super::cue::{PerSide, Side};
use crate::units::{Fix, fraction};

/// Which moment of the arms a paired beat falls on. Both are right; swimmers differ in
/// which suits them (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pairing {
    /// A foot's beat falls on the catch of the arm of its own side.
    SameSide,
    /// A foot's beat falls on the entry of the other side's hand.
    OppositeSide,
}

impl Pairing {
    /// The word in files and flags.
    pub fn word(self) -> &'static str {
        match self {
            Self::SameSide => "same-side",
            Self::OppositeSide => "opposite-side",
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::SameSide => Self::OppositeSide,
            Self::OppositeSide => Self::SameSide,
        }
    }

    /// What one foot does, in full.
    pub fn in_words(self, foot: Side) -> String {
        match self {
            Self::SameSide => format!("{foot} foot with {foot} catch"),
            Self::OppositeSide => format!("{foot} foot as the {} hand goes in", foot.other()),
        }
    }

    /// The arm moment it listens to.
    pub fn arm_moment(self) -> ArmMoment {
        match self {
            Self::SameSide => ArmMoment::Catch,
            Self::OppositeSide => ArmMoment::Entry,
        }
    }

    /// The phase of each foot's paired beat.
    pub fn paired_beats(self, stroke: &Stroke) -> PerSide<Fix> {
        let PerSide { left, right } = stroke.moments(self.arm_moment());
        match self {
            Self::SameSide => PerSide { left, right },
            Self::OppositeSide => PerSide {
                left: right,
                right: left,
            },
        }
    }
}

impl fmt::Display for Pairing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// How many down-kicks a cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kick {
    /// One an arm stroke: the paired beats alone.
    TwoBeat,
    /// Three on one arm's side of the cycle, one on the other's.
    FourBeat,
    /// Three an arm stroke, evenly spread between the paired ones.
    SixBeat,
    /// Arms alone.
    Pull,
}

impl Kick {
    /// The word in files and flags.
    pub fn word(self) -> &'static str {
        match self {
            Self::TwoBeat => "two-beat",
            Self::FourBeat => "four-beat",
            Self::SixBeat => "six-beat",
            Self::Pull => "pull",
        }
    }

    /// For people: `two-beat kick`, `pull`.
    pub fn in_words(self) -> String {
        match self {
            Self::Pull => "pull, arms alone".into(),
            _ => format!("{} kick", self.word()),
        }
    }

    /// Beats of both feet in a cycle.
    pub fn beats_a_cycle(self) -> u32 {
        match self {
            Self::TwoBeat => 2,
            Self::FourBeat => 4,
            Self::SixBeat => 6,
            Self::Pull => 0,
        }
    }

    /// The kick of so many beats a cycle; none where no kick has so many, or none at all.
    pub fn of_beats(beats: u32) -> Option<Self> {
        let kicks = [Self::TwoBeat, Self::FourBeat, Self::SixBeat];
        kicks.into_iter().find(|kick| kick.beats_a_cycle() == beats)
    }

    /// Whether it has beats between the paired ones.
    pub fn has_fills(self) -> bool {
        matches!(self, Self::FourBeat | Self::SixBeat)
    }
}

impl fmt::Display for Kick {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One down-kick, timed at the foot's lowest point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KickBeat {
    /// Phase on the circle, 0 to 1.
    pub phase: Fix,
    /// Which foot.
    pub foot: Side,
    /// Whether it carries the pairing; the others are fill beats.
    pub paired: bool,
}

/// Every beat of one cycle, in no particular order.
///
/// Even spread of a six-beat kick: common practice, no source.
/// `three_on` matters to a four-beat kick only: the side whose paired beat opens the three.
pub fn beats(stroke: &Stroke, pairing: Pairing, kick: Kick, three_on: Side) -> Vec<KickBeat> {
    let paired_at = pairing.paired_beats(stroke);
    let gap_after = |foot: Side| forward(paired_at.of(foot), paired_at.of(foot.other()));
    let paired = |foot: Side| KickBeat {
        phase: *paired_at.of(foot),
        foot,
        paired: true,
    };
    // Between `foot`'s paired beat and the other's: a third on the other foot, two thirds on `foot`.
    let fill = |foot: Side, thirds: i64, kicking: Side| KickBeat {
        phase: wrap(
            &(paired_at.of(foot) + gap_after(foot).mul_div(fraction(thirds, 1), fraction(3, 1))),
        ),
        foot: kicking,
        paired: false,
    };
    let filled_after = |foot: Side| [fill(foot, 1, foot.other()), fill(foot, 2, foot)];

    let mut beats = match kick {
        Kick::Pull => return Vec::new(),
        _ => Side::BOTH.map(paired).to_vec(),
    };
    match kick {
        Kick::SixBeat => beats.extend(Side::BOTH.into_iter().flat_map(filled_after)),
        Kick::FourBeat => beats.extend(filled_after(three_on)),
        Kick::TwoBeat | Kick::Pull => {}
    }
    beats
}

/// How far the two pairings of a kick lie apart, in cycles; nothing for a pull.
///
/// Two- and four-beat: 1/2 - κ. Six-beat: the pattern repeats every third of a cycle, so the
/// shift is κ - 1/6 taken to the nearest repetition. Both follow from the definitions
/// with κ the mean of both arms.
pub fn pairings_apart(stroke: &Stroke, kick: Kick) -> Option<Fix> {
    let mean_catch = stroke.mean_catch();
    match kick {
        Kick::Pull => None,
        Kick::TwoBeat | Kick::FourBeat => Some(fraction(1, 2) - mean_catch),
        Kick::SixBeat => {
            let shift = wrap(&(mean_catch.times(3) - fraction(1, 2))) / fraction(3, 1);
            let back = shift - fraction(1, 3);
            Some(shift.min(back.abs()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn stroke(catch: Fix) -> Stroke {
        Stroke {
            right_entry: fraction(1, 2),
            catch_after_entry: PerSide {
                left: catch,
                right: catch,
            },
        }
    }

    /// Phases of one foot's beats, sorted.
    fn phases(beats: &[KickBeat], foot: Side) -> Vec<Fix> {
        let mut phases: Vec<Fix> = (beats.iter())
            .filter(|beat| beat.foot == foot)
            .map(|beat| beat.phase)
            .collect();
        phases.sort();
        phases
    }

    #[test]
    fn the_pairings_of_a_two_beat_kick_meet_when_the_catch_waits_for_the_other_hand() {
        let waiting = stroke(fraction(1, 2));
        let of = |pairing| beats(&waiting, pairing, Kick::TwoBeat, Side::Left);
        for foot in Side::BOTH {
            assert_eq!(
                phases(&of(Pairing::SameSide), foot),
                phases(&of(Pairing::OppositeSide), foot)
            );
        }
        assert_eq!(pairings_apart(&waiting, Kick::TwoBeat), Some(Fix::ZERO));
    }

    #[test]
    fn the_pairings_of_a_six_beat_kick_meet_at_a_sixth() {
        let sixth = stroke(fraction(1, 6));
        let of = |pairing| beats(&sixth, pairing, Kick::SixBeat, Side::Left);
        for foot in Side::BOTH {
            let same = phases(&of(Pairing::SameSide), foot);
            let opposite = phases(&of(Pairing::OppositeSide), foot);
            let meet = |(one, other): (&Fix, &Fix)| one.is_near(*other);
            assert!(same.len() == opposite.len() && same.iter().zip(&opposite).all(meet));
        }
        let apart = pairings_apart(&sixth, Kick::SixBeat).expect("it has beats");
        assert!(apart.is_near(Fix::ZERO), "{apart}");
        assert_eq!(
            pairings_apart(&stroke(fraction(3, 10)), Kick::SixBeat),
            Some(fraction(2, 15))
        );
    }

    #[test]
    fn a_six_beat_foot_is_lowest_at_entry_and_again_at_the_catch_when_that_is_a_third_later() {
        // Martinez-Sobrino, Veiga & Navandar (read in the abstract): the foot of the
        // same side is in phase with the entry (355.9 of the kick's 360 degrees) and with the
        // catch (0.5): the same-side pattern with a catch near a third of a cycle after entry.
        let third = stroke(fraction(1, 3));
        let left = phases(
            &beats(&third, Pairing::SameSide, Kick::SixBeat, Side::Left),
            Side::Left,
        );
        assert!(left.contains(&third.entry(Side::Left)));
        assert!(left.contains(&third.catch(Side::Left)));
    }

    #[test]
    fn the_three_of_a_four_beat_kick_open_with_the_paired_beat_of_their_side() {
        let stroke = stroke(fraction(3, 10));
        let of = |pairing, three_on| {
            let mut beats = beats(&stroke, pairing, Kick::FourBeat, three_on);
            beats.sort_by_key(|beat| beat.phase);
            (beats.into_iter())
                .map(|beat| (beat.phase, beat.foot, beat.paired))
                .collect::<Vec<_>>()
        };
        let (left, right) = (Side::Left, Side::Right);
        // Left catch at 0.3, right catch at 0.8: the left arm pulls between them.
        assert_eq!(
            of(Pairing::SameSide, left),
            [
                (fraction(3, 10), left, true),
                (fraction(14, 30), right, false),
                (fraction(19, 30), left, false),
                (fraction(8, 10), right, true),
            ]
        );
        // Opposite-side: the left foot's paired beat is the right entry.
        assert_eq!(
            of(Pairing::OppositeSide, left),
            [
                (fraction(0, 1), right, true),
                (fraction(1, 2), left, true),
                (fraction(2, 3), right, false),
                (fraction(5, 6), left, false),
            ]
        );
        assert_eq!(
            of(Pairing::OppositeSide, right)[1],
            (fraction(1, 6), left, false)
        );
    }

    #[test]
    fn each_pairing_is_said_in_full() {
        assert_eq!(
            Pairing::SameSide.in_words(Side::Right),
            "right foot with right catch"
        );
        assert_eq!(
            Pairing::OppositeSide.in_words(Side::Right),
            "right foot as the left hand goes in"
        );
    }

    prop_compose! {
        fn any_stroke()(right in 35i64..=65, left_catch in 0i64..=50, right_catch in 0i64..=50) -> Stroke {
            Stroke {
                right_entry: fraction(right, 100),
                catch_after_entry: PerSide {
                    left: fraction(left_catch, 100),
                    right: fraction(right_catch, 100),
                },
            }
        }
    }

    proptest! {
        #[test]
        fn legs_alternate_and_beats_are_counted(
            stroke in any_stroke(), same: bool, three_on_left: bool,
            kick in prop::sample::select(vec![(Kick::TwoBeat, 2), (Kick::FourBeat, 4), (Kick::SixBeat, 6), (Kick::Pull, 0)]),
        ) {
            let pairing = if same { Pairing::SameSide } else { Pairing::OppositeSide };
            let three_on = if three_on_left { Side::Left } else { Side::Right };
            let paired = pairing.paired_beats(&stroke);
            prop_assume!(paired.left != paired.right);
            let mut beats = beats(&stroke, pairing, kick.0, three_on);
            prop_assert_eq!(beats.len(), kick.1 as usize);
            prop_assert_eq!(kick.0.beats_a_cycle(), kick.1);
            prop_assert_eq!(Kick::of_beats(kick.1), (kick.1 > 0).then_some(kick.0));
            beats.sort_by_key(|beat| beat.phase);
            for (beat, next) in beats.iter().zip(beats.iter().cycle().skip(1)) {
                prop_assert_eq!(beat.foot, next.foot.other());
                prop_assert!(!beat.phase.is_negative() && beat.phase < fraction(1, 1));
            }
            let carrying = beats.iter().filter(|beat| beat.paired).count();
            prop_assert_eq!(carrying, kick.1.min(2) as usize);
        }

        #[test]
        fn the_two_beat_pairings_are_half_a_cycle_less_the_catch_apart(stroke in any_stroke()) {
            let same = Pairing::SameSide.paired_beats(&stroke);
            let opposite = Pairing::OppositeSide.paired_beats(&stroke);
            // From the same-side beat on to the opposite-side beat, mean of both feet.
            let half = fraction(1, 2);
            let shift = |foot| {
                let ahead = forward(same.of(foot), opposite.of(foot));
                if ahead > fraction(4, 5) { ahead - fraction(1, 1) } else { ahead }
            };
            let mean = (shift(Side::Left) + shift(Side::Right)) / fraction(2, 1);
            prop_assert_eq!(&mean, &(half - stroke.mean_catch()));
            prop_assert_eq!(pairings_apart(&stroke, Kick::TwoBeat), Some(mean));
        }

        #[test]
        fn the_six_beat_pairings_are_a_shift_apart(catch in 0i64..=500) {
            let stroke = stroke(fraction(catch, 1000));
            let of = |pairing| phases(&beats(&stroke, pairing, Kick::SixBeat, Side::Left), Side::Left);
            let (same, opposite) = (of(Pairing::SameSide), of(Pairing::OppositeSide));
            let nearest = (opposite.iter())
                .map(|phase| {
                    let ahead = forward(&same[0], phase);
                    ahead.min(fraction(1, 1) - ahead)
                })
                .min();
            let (nearest, apart) = (nearest.expect("beats"), pairings_apart(&stroke, Kick::SixBeat).expect("beats"));
            prop_assert!(nearest.is_near(apart), "{} for {}", nearest, apart);
        }

        #[test]
        fn the_arm_cue_falls_together_with_the_paired_kick(stroke in any_stroke()) {
            let arm = stroke.moments(Pairing::SameSide.arm_moment());
            let foot = Pairing::SameSide.paired_beats(&stroke);
            prop_assert_eq!(arm, foot);
            let arm = stroke.moments(Pairing::OppositeSide.arm_moment());
            let foot = Pairing::OppositeSide.paired_beats(&stroke);
            prop_assert_eq!((arm.left, arm.right), (foot.right, foot.left));
        }
    }
}
