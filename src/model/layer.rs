//! Wishes as a person wrote them: one layer a level, each value with its place.

use super::cue::{PerSide, Side};
use super::kick::{Kick, Pairing};
use super::session::{BedWish, Breath, Cues, Fade, Lead, Swim, Walls, WishedRate};
use crate::error::{Error, Place, Result};
use crate::units::{Exact, Length, Pace, StrokeLength, Time};

/// A value and where it was said; a flag has no place in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said<T> {
    /// The value.
    pub value: T,
    /// Its place in a file.
    pub at: Option<Place>,
}

/// One level of wishes: a swimmer, a session's defaults, a set, or flags.
///
/// Every key is optional; what no level says comes from the built-in values.
/// `None` inside `send_off`, `breath` or `fade` is the written `"none"`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
#[allow(missing_docs)] // the keys of a set, as in the README and the design
pub struct Layer {
    pub name: Option<Said<String>>,
    pub repeats: Option<Said<u64>>,
    pub swim: Option<Said<Swim>>,
    pub pool: Option<Said<Length>>,
    pub pace: Option<Said<Pace>>,
    pub stroke_length: Option<Said<StrokeLength>>,
    pub rest: Option<Said<Time>>,
    pub send_off: Option<Said<Option<Time>>>,
    pub rest_after: Option<Said<Time>>,
    pub rate: Option<Said<WishedRate>>,
    pub pairing: Option<Said<Pairing>>,
    pub kick: Option<Said<Kick>>,
    pub three_on: Option<Said<Side>>,
    pub catch_after_entry: Option<Said<PerSide<Exact>>>,
    pub right_entry: Option<Said<Exact>>,
    pub first_arm: Option<Said<Side>>,
    pub push_off: Option<Said<Time>>,
    pub glide: Option<Said<Length>>,
    pub walls: Option<Said<Walls>>,
    pub cues: Option<Said<Cues>>,
    pub breath: Option<Said<Option<Breath>>>,
    pub fade: Option<Said<Option<Fade>>>,
    pub lead: Option<Said<Lead>>,
    pub say: Option<Said<String>>,
}

impl Layer {
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

/// A session as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// The file or preset, as the person named it.
    pub source: String,
    /// What it is called.
    pub title: String,
    /// Whom it is for, one line.
    pub for_whom: Option<String>,
    /// From the track's first frame to the first start signal.
    pub lead_in: Option<Said<Time>>,
    /// Whether the track opens with its ears, its sounds and the cautions; nobody said is yes.
    pub opening: Option<Said<bool>>,
    /// A folder of the coach's own sounds and words.
    pub sounds: Option<Said<String>>,
    /// The file of a bed under the cues.
    pub bed: Option<Said<BedWish>>,
    /// What holds for every set that does not say otherwise.
    pub defaults: Layer,
    /// The sets, in order, each with the place of its header.
    pub sets: Vec<Said<Layer>>,
}
