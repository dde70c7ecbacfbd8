//! When: a resolved session becomes events on exact frames.
//!
//! In: sets in which everything is decided, and a sample rate. Out: a [`Timeline`], immutable,
//! read in order. An event's time comes from its phase, never by adding up periods, and is
//! rounded once: the error is at most half a sample after a minute and after twelve hours.
//! Equal inputs give equal timelines on every machine. Reading events never allocates.

mod announce;
mod by_hand;
mod catch_up;
mod course;
mod cursor;
mod events;
mod hand;
mod kept_rate;
mod lanes;
mod layer;
mod run;
mod say;
mod schedule;
mod signals;
mod steer;
mod tempo;

pub use announce::sentences;
pub use by_hand::{ByHand, by_hand};
pub use catch_up::Aim;
pub use cursor::Cursor;
pub use events::{Event, LaidRepeat, Timeline};
pub use say::{Lengths, PlacedClip, Say, Since, TrackSpeech, frame_at, say};
pub use schedule::{COUNTS, Goes, Repeat, Schedule, most_count_s, off_the_wall};
pub use steer::{HandWish, View};
pub use tempo::{SteadyRate, Tempo};
