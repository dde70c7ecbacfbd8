//! Where in a track a film was taken: the film's own sound, laid over the cues.
//!
//! In: the events and voices of a [`Track`], and a film's sound. Out: a [`Sync`], which is never a
//! bare offset: it says what kind of answer it is, with an interval. No file and no clock is known
//! here. Every limit was chosen by simulation; docs/film.md says what was simulated and what came out.

mod answer;
mod arrival;
mod coarse;
mod fine;
mod fourier;
mod onsets;
mod places;
mod ranks;
mod sides;
mod track;
mod verdict;

pub use self::answer::{Sync, SyncAnswer};
use self::fine::Fine;
use self::places::{WeighedPlaces, choose};
pub use self::track::{RATE_HZ, Track};

/// A film shorter than this, s, holds too few cues for any answer.
const SHORTEST_S: f64 = 2.0;

/// Finds a film's sound in a track. `film` is mono at [`RATE_HZ`], its first sample at the film's
/// time 0; samples that are no number count as silence.
pub fn find(track: &Track, film: &[f32]) -> Sync {
    if film.len() < (SHORTEST_S * f64::from(RATE_HZ)) as usize {
        return Sync::nothing((0, 0));
    }
    let film: Vec<f32> = (film.iter())
        .map(|sample| if sample.is_finite() { *sample } else { 0.0 })
        .collect();
    let mut fine = Fine::new(track, &film);
    match choose(&mut fine, &coarse::candidates(track, &film)) {
        WeighedPlaces::Nothing { heard } => Sync::nothing(heard),
        WeighedPlaces::Places(places) => verdict::told(&mut fine, &places),
    }
}

#[cfg(test)]
mod tests;
