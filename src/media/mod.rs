//! Sound that comes from outside the program: files and films decoded and resampled, clips of
//! speech, a speech program.
//!
//! In: files of a person's own, the clips inside the binary, words. Out: samples at a track's
//! rate, from silence to silence, at one level. Whatever a file holds, nothing here panics or
//! takes more memory than the caps below.

mod aac;
mod bed;
mod clips;
mod decode;
mod film;
mod matroska;
mod movie;
mod own_sounds;
mod program;
mod read_as;
mod resample;
mod sound_track;
mod voicebox;

pub use bed::{Bed, Playing, open_bed};
pub use decode::{DecodedSound, Decoder, decode, open_sound};
pub use film::{FILM_RATE_HZ, FilmSound, film_sound};
pub use own_sounds::{OwnSounds, open_own, own_sounds, with_own};
pub use program::{Program, find, named};
pub use resample::resample;
pub use sound_track::Start;
pub use voicebox::{Voicebox, WordsFor};
