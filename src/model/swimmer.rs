//! A swimmer: wishes that hold in every session, the player, and what was measured.

use super::cue::PerSide;
use super::keys::{measured_keys, player_keys};
use super::kick::Pairing;
use super::track_format::{Channels, Division, Format};
use super::wishes::{Said, Wishes};
use crate::units::{Fix, Rate, exact};

/// A swimmer as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Swimmer {
    /// The file, as the person named it.
    pub source: String,
    /// What they are called.
    pub name: String,
    /// Their wishes; only the keys of a swimmer file are ever set.
    pub wishes: Wishes,
    /// The swimmer's own rate, which relative rates refer to.
    pub rate: Option<Rate>,
    /// A folder of own sounds and words.
    pub sounds: Option<Said<Option<String>>>,
    /// Their player.
    pub player: Player,
    /// Today's timing, from marks. Never cued as it stands.
    pub measured: Option<Measured>,
}

impl Swimmer {
    /// The pairing to begin with: what the kick was nearer to in the film, else same-side (common
    /// practice, no source).
    pub fn nearest_pairing(&self) -> Pairing {
        let measured = self.measured.as_ref();
        let nearest = measured.and_then(|measured| measured.pairing.as_deref());
        if nearest == Some(Pairing::OppositeSide.word()) {
            Pairing::OppositeSide
        } else {
            Pairing::SameSide
        }
    }

    /// The mean of the two measured catches, a share of a cycle after the entry.
    pub fn measured_catch(&self) -> Option<Fix> {
        let PerSide { left, right } = self.measured.as_ref()?.catch_after_entry.as_ref()?;
        Some((left + right) / exact(2))
    }
}

macro_rules! player {
    ($($(#[doc = $about:literal])* $key:ident: $kind:ty, $takes:expr, $example:literal;)*) => {
        /// What the swimmer's player wants; anything unsaid is the exporter's default.
        #[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
        pub struct Player {
            $($(#[doc = $about])* pub $key: Option<$kind>,)*
        }
    };
}
player_keys!(player);

macro_rules! measured {
    ($($(#[doc = $about:literal])* $key:ident: $kind:ty, $takes:expr, $example:literal;)*) => {
        /// What marks from a video gave, with 95 % intervals where they are known.
        #[derive(Debug, Clone, Default, PartialEq, Eq)]
        pub struct Measured {
            $($(#[doc = $about])* pub $key: Option<$kind>,)*
        }
    };
}
measured_keys!(measured);
