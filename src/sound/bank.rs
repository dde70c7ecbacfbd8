//! All twelve voices at one sample rate.

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
    /// By [`Voice::index`], as the recipe has them.
    tones_hz: [Vec<f64>; 12],
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
        let tones_hz = recipes
            .each_ref()
            .map(|recipe| recipe.partials.iter().map(|partial| partial.hz).collect());
        Self {
            sample_rate_hz,
            voices,
            tones_hz,
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
        self.voices[voice.index()] = samples.into_boxed_slice();
        self.tones_hz[voice.index()] = Vec::new();
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

    /// The pitches that a voice is made of, Hz at its onset, as its recipe has them; none of a
    /// coach's own sound.
    pub fn tones_hz(&self, voice: Voice) -> &[f64] {
        &self.tones_hz[voice.index()]
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

    #[test]
    fn whatever_coincides_stays_under_the_ceiling_with_any_lead() {
        // What a player's filter makes of a sum is at most the sum of what it makes of each
        // (true peak by BS.1770: the filter is linear). What can fall together in an ear: docs/sound.md.
        use crate::files::voices;
        use crate::model::cue::{CueKind, Side};
        use crate::sound::{CEILING, true_peak};
        // Tracks are exported at the first two; a deck's device has one of these.
        for rate_hz in [44_100, 48_000, 88_200, 96_000, 192_000] {
            let bank = Bank::new(&voices::shipped(), rate_hz);
            let peak = |kind, side| true_peak(bank.voice(Voice { kind, side }));
            let sided = |kind| {
                let [left, right] = Side::BOTH.map(|side| peak(kind, Some(side)));
                left.max(right)
            };
            let both = |kind| peak(kind, None);
            let pair = sided(CueKind::Arm) + sided(CueKind::Kick);
            let chime = both(CueKind::Wall);
            let signal = [CueKind::Count, CueKind::Start, CueKind::End].map(both);
            let signal = signal.into_iter().fold(0.0, f32::max);
            let swim = pair + sided(CueKind::Breath) + chime;
            assert!(
                swim <= CEILING,
                "{swim} with a breath and a chime at {rate_hz} Hz"
            );
            assert!(pair + signal <= CEILING, "{} with a signal", pair + signal);
            // Under a bed of 0.045 cues have 0.95 of their level.
            assert!(swim * 0.95 + 0.045 <= CEILING, "{swim} over a bed");
            // One channel: each side once, both ears 1.414 times, all of it 0.955 times.
            let level = |one, both| (one + 1.4143 * both) * 0.955;
            let swim = level(pair + sided(CueKind::Breath), chime);
            let started = level(pair, signal);
            assert!(
                swim.max(started) <= CEILING,
                "{swim}, {started} in one channel"
            );
            // A kick between never falls on a kick of its own foot.
            assert!(sided(CueKind::Fill) <= sided(CueKind::Kick));
        }
    }
}
