//! Wishes as a person wrote them: one layer a level, each value with its place.

use super::keys::kinds::*;
use super::keys::{session_keys, set_keys};
use crate::error::{Error, Place, Result};

/// A value and where it was said; a flag has no place in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said<T> {
    /// The value.
    pub value: T,
    /// Its place in a file.
    pub at: Option<Place>,
}

/// A value that stands in no file.
pub fn said<T>(value: T) -> Option<Said<T>> {
    Some(Said { value, at: None })
}

macro_rules! wishes {
    ($($(#[doc = $about:literal])* $key:ident: $wish:ty => $decided:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// One level of wishes: a swimmer, a session's defaults, a set, or flags.
        ///
        /// Every key is optional; what no level says comes from the built-in values.
        /// `None` inside `send_off`, `breath` or `fade` is the written `"none"`.
        #[derive(Debug, Clone, Default, PartialEq, Eq)]
        pub struct Wishes {
            $($(#[doc = $about])* pub $key: Option<Said<$wish>>,)*
        }

        impl Wishes {
            /// Takes out of all layers what every one of them says alike.
            pub fn take_common(layers: &mut [Self]) -> Self {
                let mut common = Self::default();
                $(
                    let first = layers.first().and_then(|layer| layer.$key.clone());
                    if first.is_some() && layers.iter().all(|layer| layer.$key == first) {
                        layers.iter_mut().for_each(|layer| layer.$key = None);
                        common.$key = first;
                    }
                )*
                common
            }
        }
    };
}
set_keys!(wishes);

impl Wishes {
    /// Refuses rivals on one level: of `pace` and `stroke_length`, and of `rest` and `send_off`,
    /// only one can decide. A send-off of "none" is no rival.
    ///
    /// # Errors
    /// At the later of the two.
    pub fn check_rivals(&self) -> Result<()> {
        if let (Some(pace), Some(length)) = (&self.pace, &self.stroke_length) {
            let example = "pace = \"2:05 / 100 m\"";
            return Err(rivals(
                "pace and stroke_length",
                &pace.at,
                &length.at,
                example,
            ));
        }
        match (&self.rest, &self.send_off) {
            (Some(rest), Some(Said { value: Some(_), at })) => Err(rivals(
                "rest and send_off",
                &rest.at,
                at,
                "send_off = \"1:30\"",
            )),
            _ => Ok(()),
        }
    }
}

fn rivals(both: &str, one: &Option<Place>, other: &Option<Place>, example: &str) -> Error {
    let later = one
        .iter()
        .chain(other)
        .max_by_key(|place| (place.line, place.column));
    Error::input(format!("{both} on one level: only one can decide"))
        .at_place(later)
        .accepted("either of them; the other may stand on a farther level")
        .example(example)
}

macro_rules! session {
    ($($(#[doc = $about:literal])* $field:ident $key:literal: $wish:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// A session as written.
        #[derive(Debug, Clone, Default, PartialEq, Eq)]
        pub struct Session {
            /// The file or preset, as the person named it.
            pub source: String,
            $($(#[doc = $about])* pub $field: Option<Said<$wish>>,)*
            /// What holds for every set that does not say otherwise.
            pub defaults: Wishes,
            /// The sets, in order, each with the place of its header.
            pub sets: Vec<Said<Wishes>>,
        }
    };
}
session_keys!(session);
