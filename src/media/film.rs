//! The sound of a film: for now that of a sound file made of one.

use std::path::Path;

use super::{decode, open_own, resample};
use crate::error::Result;

/// Samples a second of a film's sound.
pub const FILM_RATE_HZ: u32 = 16_000;
/// The longest film, s.
const LONGEST_S: f64 = 20.0 * 60.0;

/// The sound of a film.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmSound {
    /// One channel at [`FILM_RATE_HZ`]; sample 0 is the picture's time 0.
    pub samples: Vec<f32>,
    /// How well that place is known.
    pub start: Start,
}

/// How well it is known where the sound begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// To a sample.
    Exact,
    /// Up to 44 ms off.
    Unknown,
}

/// The sound of a file, mixed to one channel.
///
/// # Errors
/// When the file cannot be read, is damaged, or lasts more than 20 min.
pub fn film_sound(path: &Path) -> Result<FilmSound> {
    let sound = decode(
        Box::new(open_own(path)?),
        &path.display().to_string(),
        LONGEST_S,
    )?;
    let frames = resample(&sound, FILM_RATE_HZ);
    Ok(FilmSound {
        samples: frames
            .iter()
            .map(|[left, right]| 0.5 * (left + right))
            .collect(),
        start: Start::Exact,
    })
}
