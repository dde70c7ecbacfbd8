//! What swimming and cueing mean.
//!
//! In: exact quantities, and layers of wishes as a person wrote them. Out: the beats on the
//! circle, and sets in which every value is decided. Nothing here knows files, clocks or sound.

pub mod arms;
pub mod breath_sound;
pub mod catch;
pub mod circle;
pub mod compare;
pub mod cue;
pub mod keys;
pub mod kick;
pub mod lead;
pub mod log;
pub mod phrases;
pub mod plan;
pub mod record;
pub mod resolve;
pub mod session;
pub mod swimmer;
pub mod track_format;
pub mod trial_looks;
pub mod value;
pub mod visible;
pub mod voice;
pub mod wishes;
pub mod words;
