//! The course of a swimmer who has never done it: its steps, in order.
//!
//! Everything is swum at the own rate. Which step a day has is [`crate::analysis::weeks`]'s.

use crate::model::kick::Pairing;

/// The course's name in a plan's file.
pub const COURSE: &str = "first-kick";

/// About so many weeks at three days a week, if all goes well (common practice, no source).
pub const COURSE_WEEKS: usize = 6;

/// A step of the course, in the order in which they are met (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CourseStep {
    /// Both pairings, standing and dry, once the own rate is counted.
    March,
    /// Six to eight cycles at a time, where one can stand.
    HalfLengths,
    /// Single lengths in the pairing that is nearest.
    OneWay,
    /// Single lengths in the other pairing.
    OtherWay,
    /// Both pairings on one day.
    Try,
    /// Longer swims in the pairing that was chosen.
    Hold,
    /// Silences of some cycles.
    FadeByCycle,
    /// Silences of whole lengths.
    FadeByLength,
    /// No cues, some days later.
    Without,
}

impl CourseStep {
    /// All of them, in order.
    pub const ALL: [Self; 9] = [
        Self::March,
        Self::HalfLengths,
        Self::OneWay,
        Self::OtherWay,
        Self::Try,
        Self::Hold,
        Self::FadeByCycle,
        Self::FadeByLength,
        Self::Without,
    ];

    /// Its name, as it stands behind a comma.
    pub fn name(self) -> &'static str {
        match self {
            Self::March => "march on deck",
            Self::HalfLengths => "half lengths, standing depth",
            Self::OneWay => "first lengths",
            Self::OtherWay => "first lengths, the other way",
            Self::Try => "short try of both ways",
            Self::Hold => "hold",
            Self::FadeByCycle => "fade by the cycle",
            Self::FadeByLength => "fade by the length",
            Self::Without => "without cues",
        }
    }

    /// The preset that it swims, where it swims one; `first` is the pairing that is met first.
    pub fn preset(self, first: Pairing) -> Option<&'static str> {
        let lengths = |pairing| match pairing {
            Pairing::SameSide => "first-lengths-same-side",
            Pairing::OppositeSide => "first-lengths-opposite-side",
        };
        match self {
            Self::March => Some("deck-march"),
            Self::HalfLengths | Self::OneWay => Some(lengths(first)),
            Self::OtherWay => Some(lengths(first.other())),
            Self::Try => Some("try-both-pairings"),
            Self::Hold => Some("hold-the-rate"),
            Self::FadeByCycle => Some("fade-by-cycle"),
            Self::FadeByLength => Some("fade-by-length"),
            Self::Without => None,
        }
    }

    /// What is done beside the track.
    pub fn beside(self) -> &'static str {
        match self {
            Self::March => {
                "First count your own rate over some easy lengths (cuelane tap), and write it into \
                 the plan's from; have a length filmed from the side if you can. Hear what each \
                 sound is, at the wall (cuelane export first-sounds). Then march, dry. A row in the log says that \
                 it is done."
            }
            Self::HalfLengths => {
                "Where you can stand. Six to eight cycles, then stand up, walk back or go on."
            }
            Self::OneWay => "Single lengths, a full rest after each.",
            Self::OtherWay => {
                "Single lengths the other way. Swimmers differ in which way suits them."
            }
            Self::Try => {
                "Afterwards write the way that felt easier into your swimmer's file: pairing = \
                 \"same-side\" or \"opposite-side\". From here on it is cued."
            }
            Self::Hold => "Your own way, longer swims. Stop early if the stroke goes.",
            Self::FadeByCycle | Self::FadeByLength => {
                "When the sound comes back, ask yourself: was I on it, early, late?"
            }
            Self::Without => {
                "No cues today. Have a length filmed from the side: it tells what feeling cannot."
            }
        }
    }

    /// Three things to feel.
    pub fn feel(self) -> [&'static str; 3] {
        match self {
            Self::March => [
                "the step ends on the sound",
                "the arm and the foot arrive together",
                "which of the two ways comes easier",
            ],
            Self::HalfLengths | Self::OneWay | Self::OtherWay => [
                "two cycles of listening before the kick joins in",
                "the kick ends on the sound, it does not begin there",
                "the breath goes on as you like, sound or not",
            ],
            Self::Try => [
                "which way lets the hips turn by themselves",
                "which way leaves the breath calm",
                "which way is still there on the last length",
            ],
            Self::Hold => [
                "one arm stroke for each arm sound",
                "the legs wait between the kicks",
                "joining in again after each turn",
            ],
            Self::FadeByCycle | Self::FadeByLength => [
                "the kick goes on through the silence",
                "the arms neither hurry nor wait",
                "on it, early or late when the sound comes back",
            ],
            Self::Without => [
                "the same kick as with the sound",
                "the same number of strokes a length",
                "the breath goes on as you like",
            ],
        }
    }

    /// Whether it takes days on which three of four lengths were kept; else it is done once.
    pub fn is_judged(self) -> bool {
        !matches!(self, Self::March | Self::Try)
    }

    /// The step before.
    pub fn before(self) -> Option<Self> {
        (self as usize).checked_sub(1).map(|at| Self::ALL[at])
    }

    /// The step after.
    pub fn after(self) -> Option<Self> {
        Self::ALL.get(self as usize + 1).copied()
    }
}

/// The presets that a course may swim, each once.
pub fn course_presets() -> Vec<&'static str> {
    let steps = CourseStep::ALL.into_iter();
    let preset = |step: CourseStep| step.preset(Pairing::SameSide);
    let mut presets: Vec<&str> = steps.filter_map(preset).collect();
    // Half lengths and the first lengths swim the same one, and stand beside each other.
    presets.dedup();
    presets
}
