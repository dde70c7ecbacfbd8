//! When: a resolved session becomes events on exact frames.
//!
//! In: sets in which everything is decided, and a sample rate. Out: a [`Timeline`], immutable,
//! read in order. An event's time comes from its phase, never by adding up periods, and is
//! rounded once: the error is at most half a sample after a minute and after twelve hours.
//! Equal inputs give equal timelines on every machine. Reading events never allocates.

mod announce;
mod compile;
mod events;
mod law;
mod pattern;
mod say;
mod schedule;
mod tempo;

pub use announce::sentences;
pub use events::{Event, Events, Timeline};
pub use pattern::{CueAt, MOST_CUES, Pattern, Plan, RepeatPlan, SetPlan, StretchPlan};
pub use say::{Lengths, Placed, Said, Say, frame_at, say};
pub use schedule::{Repeat, Schedule};
pub use tempo::{Segment, ramp_time_s};
