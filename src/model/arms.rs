//! The arms of a set: which of them swim, and which of their moments an arm cue marks.

use super::circle::ArmMoment;
use super::cue::Side;
use super::kick::Pairing;

/// Which arms swim. One that rests stays in front and has no cue; feet and breath do not change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arms {
    /// Both.
    Both,
    /// The left one alone.
    Left,
    /// The right one alone.
    Right,
}

impl Arms {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Both => "both",
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The arm that rests, if one does.
    pub fn resting(self) -> Option<Side> {
        match self {
            Self::Both => None,
            Self::Left => Some(Side::Right),
            Self::Right => Some(Side::Left),
        }
    }

    /// Whether this arm swims.
    pub fn swims(self, arm: Side) -> bool {
        self.resting() != Some(arm)
    }
}

/// What an arm cue marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArmCue {
    /// The moment that the pairing listens to.
    Pairing,
    /// The catch, whatever the pairing.
    Catch,
    /// The entry, whatever the pairing.
    Entry,
}

impl ArmCue {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pairing => "pairing",
            Self::Catch => "catch",
            Self::Entry => "entry",
        }
    }

    /// The arm moment that it is with a pairing.
    pub fn moment(self, pairing: Pairing) -> ArmMoment {
        match self {
            Self::Pairing => pairing.arm_moment(),
            Self::Catch => ArmMoment::Catch,
            Self::Entry => ArmMoment::Entry,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arm_cue_follows_the_pairing_until_it_is_told_otherwise() {
        let of = |cue: ArmCue| [Pairing::SameSide, Pairing::OppositeSide].map(|p| cue.moment(p));
        assert_eq!(of(ArmCue::Pairing), [ArmMoment::Catch, ArmMoment::Entry]);
        assert_eq!(of(ArmCue::Catch), [ArmMoment::Catch; 2]);
        assert_eq!(of(ArmCue::Entry), [ArmMoment::Entry; 2]);
    }

    #[test]
    fn one_arm_swims_and_the_other_rests() {
        for (arms, swimming) in [
            (Arms::Both, [true, true]),
            (Arms::Left, [true, false]),
            (Arms::Right, [false, true]),
        ] {
            assert_eq!(Side::BOTH.map(|arm| arms.swims(arm)), swimming, "{arms:?}");
        }
    }
}
