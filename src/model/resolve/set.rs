//! A set in which every value is decided, and where each came from.

use std::fmt;

use crate::error::Place;
use crate::model::circle::{ArmMoment, Stroke};
use crate::model::keys::kinds::*;
use crate::model::keys::{set_keys, usual_rest};
use crate::model::session::{Gap, Going};
use crate::model::value::{Value, Wish};
use crate::model::wishes::{Wishes, said};

/// Which level decided a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// Nobody said it.
    BuiltIn,
    /// The swimmer's marks.
    Measured,
    /// The swimmer's file.
    Swimmer(Option<Place>),
    /// The session's `[defaults]`, or its own keys.
    Defaults(Option<Place>),
    /// The set itself.
    Set(Option<Place>),
    /// A flag of this command.
    Flag,
}

impl Origin {
    /// Where it stands, if a file says it.
    pub(super) fn place(&self) -> Option<&Place> {
        match self {
            Self::Swimmer(place) | Self::Defaults(place) | Self::Set(place) => place.as_ref(),
            Self::BuiltIn | Self::Measured | Self::Flag => None,
        }
    }
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (word, place) = match self {
            Self::BuiltIn => return f.write_str("built in"),
            Self::Measured => return f.write_str("measured, mean of both arms"),
            Self::Flag => return f.write_str("flag"),
            Self::Swimmer(place) => ("swimmer", place),
            Self::Defaults(place) => ("session defaults", place),
            Self::Set(place) => ("set", place),
        };
        match place {
            Some(place) => write!(f, "{word}, {}:{}", place.file, place.line),
            None => f.write_str(word),
        }
    }
}

macro_rules! set {
    ($($(#[doc = $about:literal])* $key:ident: $wish:ty => $decided:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// A set in which everything is decided.
        #[derive(Debug, Clone, PartialEq, Eq)]
        pub struct Set {
            $($(#[doc = $about])* pub $key: $decided,)*
            /// Which level decided each value that holds, in the order of the keys.
            pub origins: Vec<(&'static str, Origin)>,
            /// Where the set stands in its file.
            pub at: Option<Place>,
        }

        impl Set {
            /// Every value that holds: its key, the value in words, the level that decided it.
            pub fn explain(&self) -> Vec<(&'static str, String, &Origin)> {
                let explained = [$((stringify!($key), self.$key.explain())),*].into_iter();
                explained
                    .filter_map(|(key, value)| Some((key, value, self.origin_of(key)?)))
                    .collect()
            }

            fn wishes(&self) -> Wishes {
                Wishes { $($key: Wish::<$decided>::of(&self.$key).and_then(said),)* }
            }
        }
    };
}
set_keys!(set);

impl Set {
    /// The set as wishes that leave nothing open, absences said: under any swimmer's file it
    /// sounds as it does now.
    pub fn pinned(&self) -> Wishes {
        let mut layer = self.wishes();
        if self.rest.is_some() {
            layer.send_off = None;
        }
        // What is inherited and never sounds would be refused in the set itself.
        layer.breath = said(self.heard_breath());
        if matches!(self.swim, RepeatSwim::Time(_)) {
            layer.cues = said(self.cues.without(CueKind::Wall));
        }
        layer
    }

    /// With another pairing and kick. A kick that the set does not have sounds its fills, or nobody
    /// would hear that it was chosen.
    #[must_use]
    pub fn switched(&self, pairing: Pairing, kick: Kick) -> Self {
        let mut set = self.clone();
        if kick != self.kick && kick.has_fills() && self.cues.has(CueKind::Kick) {
            set.cues = set.cues.with(CueKind::Fill);
        }
        (set.pairing, set.kick) = (pairing, kick);
        set
    }

    /// Entries and catches as cued.
    pub fn stroke(&self) -> Stroke {
        Stroke {
            right_entry: self.right_entry,
            catch_after_entry: self.catch_after_entry.clone(),
        }
    }

    /// The rates at which it is swum: both ends of its plan, and that of its comparison.
    pub fn rates(&self) -> impl Iterator<Item = &Rate> {
        let (from, to) = self.rate.ends();
        let compared = self.compare.iter().map(|compare| &compare.rate);
        [from, to].into_iter().chain(compared)
    }

    /// The rate of repeat `number`, from 1, where it is one for comparison.
    pub fn compared(&self, number: u64) -> Option<&Rate> {
        let compare = self
            .compare
            .as_ref()
            .filter(|compare| compare.has(number))?;
        Some(&compare.rate)
    }

    /// The moment of an arm that its cue marks.
    pub fn arm_moment(&self) -> ArmMoment {
        self.arm_cue.moment(self.pairing)
    }

    /// Whether the catch is the built-in guess.
    pub fn catch_is_guess(&self) -> bool {
        self.origin_of("catch_after_entry") == Some(&Origin::BuiltIn)
    }

    /// Whether the catch is the swimmer's own, as measured.
    pub fn catch_is_measured(&self) -> bool {
        self.origin_of("catch_after_entry") == Some(&Origin::Measured)
    }

    /// Whether any cue that sounds falls on a catch, or stands by one.
    pub fn has_cues_on_the_catch(&self) -> bool {
        let arm = self.cues.has(CueKind::Arm) && self.arm_moment() == ArmMoment::Catch;
        let kicks = self.cues.has(CueKind::Kick) || self.cues.has(CueKind::Fill);
        arm || (kicks && self.pairing == Pairing::SameSide && self.kick != Kick::Pull)
    }

    /// How a distance's time is predicted; always there for a swim by distance.
    pub fn going(&self) -> Option<Going> {
        let pace = self.pace.clone().map(Going::Pace);
        pace.or_else(|| self.stroke_length.clone().map(Going::StrokeLength))
    }

    /// What lies between two repeats.
    pub fn gap(&self) -> Gap {
        match (&self.rest, &self.send_off) {
            (None, Some(time)) => Gap::SendOff(time.clone()),
            (Some(time), _) => Gap::Rest(time.clone()),
            (None, None) => Gap::Rest(usual_rest()),
        }
    }

    /// Breathing cues, if they sound: a table inherited from farther off may have no cue.
    pub fn heard_breath(&self) -> Option<Breath> {
        self.breath.filter(|_| self.cues.has(CueKind::Breath))
    }

    pub(super) fn origin_of(&self, key: &str) -> Option<&Origin> {
        let found = self.origins.iter().find(|(decided, _)| *decided == key)?;
        Some(&found.1)
    }

    /// Where a key's value was written, if a file says it.
    pub fn place_of(&self, key: &str) -> Option<&Place> {
        self.origin_of(key)?.place()
    }

    /// How messages call set `number`: with its name, if it was given one.
    pub fn label(&self, number: usize) -> String {
        label(number, &self.name)
    }
}

/// What a set without a name is called.
pub(super) fn unnamed(number: usize) -> String {
    format!("Set {number}")
}

pub(super) fn label(number: usize, name: &str) -> String {
    if name == unnamed(number) {
        format!("set {number}")
    } else {
        format!("set {number} ({name})")
    }
}
