//! Live sound: wishes in, frames out, and whatever may happen to the device in between.
//!
//! [`Engine`] is pure: it fills slices and knows no device. [`Deck`] gives it to whoever can
//! play: a sound device, or a clock that plays to nobody while there is none. A device that is
//! lost gives the engine back, time goes on, and the next one takes it over in step.

#[cfg_attr(not(feature = "live"), allow(dead_code))] // what only a device needs
mod back_in_step;
mod callback_state;
mod deck;
#[cfg(feature = "live")]
mod device;
mod device_choice;
#[cfg(feature = "live")]
mod device_watch;
mod engine;
mod live_events;
mod no_allocation;
mod running;
mod score;
mod track;

pub use deck::{Deck, DeckSound, WantedDevice};
#[cfg(feature = "live")]
pub use device::{devices, look};
pub use device_choice::{Choice, Offer, SampleType, choose};
pub use engine::{DeckCommand, Engine, Group, Laid, Remote, State, spm};
pub use live_events::LiveEvents;
pub use no_allocation::guarded;
pub use running::{
    CuedLast, Done, Happened, KeyTime, Running, SetBefore, Stage, Swim, clock_tenths,
};
pub use score::Score;
pub use track::{PlayedTrack, TrackFrames, TrackRemote};

/// What a device plays: an engine, or a recorded track.
pub trait Play: Send {
    /// Fills `out` with the next frames. Never allocates, frees, locks, logs or blocks.
    fn fill(&mut self, out: &mut [[f32; 2]]);
    /// The frame that comes next.
    fn position(&self) -> u64;
    /// Whether frames go by at present.
    fn is_moving(&self) -> bool;
    /// Frames a second.
    fn sample_rate_hz(&self) -> u32;
}

/// A device that can play.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// The name by which `--device` takes it.
    pub name: String,
    /// What the system says of it.
    pub about: String,
    /// Whether the system plays on it by itself.
    pub is_usual: bool,
}

#[cfg(not(feature = "live"))]
use crate::error::{Error, Result};

/// This build knows no device.
///
/// # Errors
/// Always.
#[cfg(not(feature = "live"))]
pub fn devices() -> Result<Vec<Device>> {
    Err(without_sound())
}

/// This build knows no device.
///
/// # Errors
/// Always.
#[cfg(not(feature = "live"))]
pub fn look(_: Option<&str>, _: Option<u32>) -> Result<Choice> {
    Err(without_sound())
}

#[cfg(not(feature = "live"))]
fn without_sound() -> Error {
    Error::failed("this build has no sound: it was made with --no-default-features")
        .accepted("a build with the feature live; or --silent, the screen without sound")
        .example("cargo install --path . --locked")
}

/// The refusal of a device's name, with the nearest ones that there are.
#[cfg(feature = "live")]
fn nearest_names(name: &str, names: &[String]) -> crate::error::Error {
    let mut near: Vec<&String> = names.iter().collect();
    let likeness = |other: &str| strsim::jaro_winkler(&name.to_lowercase(), &other.to_lowercase());
    near.sort_by(|one, other| likeness(other).total_cmp(&likeness(one)));
    let near: Vec<&str> = near.into_iter().take(4).map(String::as_str).collect();
    let accepted = if near.is_empty() {
        "no device is there at all; --silent runs the screen without sound".to_string()
    } else {
        format!("a device's name; nearest: {}", near.join(", "))
    };
    crate::error::Error::input(format!("no sound device is called {name:?}"))
        .at("--device")
        .accepted(accepted)
        .example("cuelane list devices")
}
