//! The tables of keys, read from a section and written as lines.

use toml_edit::Value;

use super::document::Section;
use super::value::InToml;
use crate::error::Result;
use crate::model::keys::{
    Level, Takes, keys_on, measured_keys, player_keys, session_keys, set_keys,
};
use crate::model::swimmer::{Measured, Player};
use crate::model::wishes::{Said, Session, Wishes};

/// The keys that may stand at a level, for the list of a refusal.
pub fn names_on(level: Level) -> Vec<&'static str> {
    keys_on(level).iter().map(|key| key.name).collect()
}

fn read<T: InToml>(section: &Section, key: &str, takes: Takes) -> Result<Option<Said<T>>> {
    section.read(key, |entry| T::read(section, entry, takes))
}

fn write<T: InToml>(said: &Option<Said<T>>) -> Option<Value> {
    said.as_ref().map(|said| said.value.write())
}

/// A key and its value, as one line of a file has them.
pub type KeyLine = (&'static str, Value);

macro_rules! of_sets {
    ($($(#[doc = $about:literal])* $key:ident: $wish:ty => $decided:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// Reads every key of a set that the section has. Which keys it may have, its caller checks.
        pub fn read_wishes(section: &Section) -> Result<Wishes> {
            Ok(Wishes { $($key: read(section, stringify!($key), $takes)?,)* })
        }

        /// Writes every key that a layer has.
        pub fn wish_lines(layer: &Wishes) -> Vec<KeyLine> {
            let lines = [$((stringify!($key), write(&layer.$key))),*].into_iter();
            lines.filter_map(|(key, value)| Some((key, value?))).collect()
        }
    };
}
set_keys!(of_sets);

macro_rules! of_sessions {
    ($($(#[doc = $about:literal])* $field:ident $key:literal: $wish:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// Reads what a session says for itself: a session without sets.
        pub fn read_session_keys(top: &Section) -> Result<Session> {
            Ok(Session { $($field: read(top, $key, $takes)?,)* ..Session::default() })
        }

        /// Writes what a session says for itself.
        pub fn session_lines(session: &Session) -> Vec<KeyLine> {
            let lines = [$(($key, write(&session.$field))),*].into_iter();
            lines.filter_map(|(key, value)| Some((key, value?))).collect()
        }
    };
}
session_keys!(of_sessions);

macro_rules! of_players {
    ($($(#[doc = $about:literal])* $key:ident: $kind:ty, $takes:expr, $example:literal;)*) => {
        /// Reads a player.
        pub fn read_player(section: &Section) -> Result<Player> {
            Ok(Player { $($key: read(section, stringify!($key), $takes)?.map(|said| said.value),)* })
        }
    };
}
player_keys!(of_players);

macro_rules! of_films {
    ($($(#[doc = $about:literal])* $key:ident: $kind:ty, $takes:expr, $example:literal;)*) => {
        /// Reads what was measured.
        pub fn read_measured(section: &Section) -> Result<Measured> {
            Ok(Measured { $($key: read(section, stringify!($key), $takes)?.map(|said| said.value),)* })
        }
    };
}
measured_keys!(of_films);
