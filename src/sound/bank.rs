//! All twelve voices at one sample rate.

use super::loudness::true_peak;
use super::voice::render;
use crate::model::cue::Voice;
use crate::model::voice::Recipe;

/// The voices of a track, rendered once for its sample rate.
#[derive(Debug, Clone, PartialEq)]
pub struct Bank {
    sample_rate_hz: u32,
    /// By [`Voice::index`]. Each starts and ends in silence and is shorter than
    /// [`Recipe::LONGEST_MS`], which the cuts between files and a late lead rely on.
    voices: [Box<[f32]>; 12],
    /// The true peak of each.
    peaks: [f32; 12],
}

impl Bank {
    /// Renders `recipes`, in the order of [`Voice::ALL`], at 8 kHz to 192 kHz.
    ///
    /// Allocates; meant for set-up, before a track starts.
    ///
    /// # Panics
    /// When a recipe is not shorter than [`Recipe::LONGEST_MS`]: whoever reads recipes
    /// refuses that.
    pub fn new(recipes: &[Recipe; 12], sample_rate_hz: u32) -> Self {
        let voices = recipes.each_ref().map(|recipe| {
            assert!(
                recipe.length_ms < Recipe::LONGEST_MS,
                "a voice of {} ms",
                recipe.length_ms
            );
            render(recipe, sample_rate_hz).into_boxed_slice()
        });
        Self {
            sample_rate_hz,
            peaks: std::array::from_fn(|index| {
                highest_peak(&recipes[index], &voices[index], sample_rate_hz)
            }),
            voices,
        }
    }

    /// The same bank with a sound of the coach's own in place of a voice.
    ///
    /// # Panics
    /// When it is not shorter than [`Recipe::LONGEST_MS`]: whoever reads it cuts it.
    #[must_use]
    pub fn with(mut self, voice: Voice, samples: Vec<f32>) -> Self {
        let longest = Recipe::LONGEST_MS / 1000.0 * f64::from(self.sample_rate_hz);
        assert!((samples.len() as f64) < longest, "{} frames", samples.len());
        self.peaks[voice.index()] = peak(&samples, self.sample_rate_hz);
        self.voices[voice.index()] = samples.into_boxed_slice();
        self
    }

    /// Frames a second of every voice here.
    pub fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }

    /// A voice's mono samples at the level of its recipe.
    pub fn voice(&self, voice: Voice) -> &[f32] {
        &self.voices[voice.index()]
    }

    /// The largest magnitude in a voice, between its samples as well: what a player's filter
    /// makes of them (true peak by BS.1770). Such a filter is linear, so the true peak of a sum
    /// is at most the sum of these.
    pub fn peak(&self, voice: Voice) -> f32 {
        self.peaks[voice.index()]
    }

    /// The length of the longest voice: how far any sound reaches past its onset.
    pub fn longest_frames(&self) -> usize {
        self.voices
            .iter()
            .map(|voice| voice.len())
            .max()
            .unwrap_or(0)
    }
}

/// The rates of tracks: a voice counts with its highest peak at any of them, so that the gain of
/// a session is one and the same for all its tracks.
const TRACK_RATES_HZ: [u32; 2] = [44_100, 48_000];

fn highest_peak(recipe: &Recipe, own: &[f32], own_rate_hz: u32) -> f32 {
    (TRACK_RATES_HZ.into_iter())
        .filter(|rate_hz| *rate_hz != own_rate_hz)
        .map(|rate_hz| peak(&render(recipe, rate_hz), rate_hz))
        .fold(peak(own, own_rate_hz), f32::max)
}

/// The largest magnitude of a sound, on its samples and between them.
fn peak(samples: &[f32], sample_rate_hz: u32) -> f32 {
    let largest = (samples.iter()).fold(0.0_f32, |max, sample| max.max(sample.abs()));
    largest.max(true_peak(samples, sample_rate_hz))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::voice::Partial;

    /// Twelve tones: voice `index` lasts 10 ms and 1 ms more for each index, and is that many
    /// dB below full scale.
    fn recipes() -> [Recipe; 12] {
        std::array::from_fn(|index| Recipe {
            about: "a tone".into(),
            length_ms: 10.0 + index as f64,
            attack_ms: 1.0,
            release_ms: 2.0,
            peak_db: -(index as f64),
            partials: vec![Partial {
                hz: 1000.0,
                to_hz: 1000.0,
                level_db: 0.0,
                decay_ms: 50.0,
                after_ms: 0.0,
            }],
        })
    }

    #[test]
    fn each_voice_comes_from_the_recipe_at_its_index() {
        for rate_hz in [8000, 44_100, 192_000] {
            let bank = Bank::new(&recipes(), rate_hz);
            assert_eq!(bank.sample_rate_hz(), rate_hz);
            for (index, voice) in Voice::ALL.into_iter().enumerate() {
                let expected = render(&recipes()[index], rate_hz);
                assert_eq!(bank.voice(voice), expected, "{voice} at {rate_hz} Hz");
                let peak_db = 20.0 * bank.peak(voice).log10();
                assert!(
                    (peak_db + index as f32).abs() < 0.01,
                    "{voice}: {peak_db} dB"
                );
            }
        }
    }

    #[test]
    fn the_longest_voice_is_the_longest() {
        assert_eq!(Bank::new(&recipes(), 48_000).longest_frames(), 21 * 48);
    }

    #[test]
    #[should_panic(expected = "a voice of 500 ms")]
    fn a_voice_of_half_a_second_is_refused() {
        let mut recipes = recipes();
        recipes[3].length_ms = 500.0;
        Bank::new(&recipes, 8000);
    }
}
