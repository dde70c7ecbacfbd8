//! Samples: the cue voices, rendered.
//!
//! In: twelve recipes and a sample rate. Out: a [`Bank`] of twelve mono voices, each from
//! silence to silence, at the levels of their recipes. Equal inputs give equal bytes on every
//! platform. No file, clock or device is known here, and nothing is placed in time or in an ear:
//! that is the mixer's work, which only reads the bank and so never allocates.

/// What no sample of a track exceeds, on its samples and between them: -1 dBTP.
pub const CEILING: f32 = 0.891_250_9;

pub mod bank;
mod biquad;
mod clear;
mod k125;
mod k_weighting;
mod known;
pub mod loudness;
pub mod speech;
mod too_alike;
mod true_peak;
pub mod voice;

pub use bank::Bank;
pub use clear::clear;
pub use k125::{BOTH_EARS_DB, k125};
pub use loudness::{Loudness, Meter};
pub use speech::{Note, Speech};
pub use too_alike::too_alike;
pub use true_peak::true_peak;
pub use voice::render;
