//! How it sounds: events in, samples out.
//!
//! In: events in order, the rendered voices. Out: stereo frames, any number at a time,
//! the same samples whatever the number. After set-up nothing here allocates, locks, logs or
//! blocks: the audio callback runs this code. No limiter: it would move onsets and pump.

mod faders;
mod mixer;
mod source;

pub use faders::{Fader, Levels};
pub use mixer::Mixer;
pub use source::FrameSource;
