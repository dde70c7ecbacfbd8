//! Which voices explain a stretch of sound: the ear of [`super::check`].
//!
//! In: sound in which something differs from what was expected, and the events expected there.
//! Out: for each event how far from its frame its voice explains the sound, or that it does not;
//! and the voices that explain what is left over. All by plain correlation with the voices.

use std::ops::{Range, RangeInclusive};

use crate::model::cue::{Side, Voice};
use crate::sound::Bank;
use crate::timeline::Event;

/// How well a voice explains a stretch of sound.
#[derive(Debug, Clone, Copy)]
struct Fit {
    /// How much of the voice is there, 1 for all of it: the projection on its shape.
    share: f32,
    /// The energy that taking it out at that level removes.
    explained: f32,
}

/// What it takes to place a voice.
#[derive(Debug)]
pub struct Ear<'b> {
    /// The voices at the track's rate.
    pub bank: &'b Bank,
    /// The gain of the track.
    pub gain: f32,
    /// Whether the ears are exchanged.
    pub swap: bool,
    /// Whether the track has one channel, in which each ear has half its level.
    pub mono: bool,
}

/// An expected event and where its voice was found.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// The event.
    pub event: Event,
    /// Frames from its own frame to where its voice explains the sound; none where it does not.
    pub off: Option<i64>,
}

/// A voice that nobody asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Extra {
    /// Its frame in the whole track.
    pub frame: u64,
    /// The voice it matches.
    pub voice: Voice,
}

/// A voice counts as found where at least this share of it is in the sound: three quarters of
/// its amplitude along its own shape, which leaves less than -6 dB of it unexplained.
const FOUND_SHARE: f32 = 0.75;
/// Left-over sound matches a voice when removing it lowers the energy by more than 6 dB, a factor of 4.
const MATCH_ENERGY: f32 = 4.0;
/// A voice far below its own level is no cue.
const LEAST_LEVEL: f32 = 0.3;
/// Voices that may start together in left-over sound.
const TOGETHER: usize = 4;
/// How far around its frame an event is looked for, s.
const REACH_S: f64 = 0.005;
/// The part of a voice that is compared while looking, s: its onset and first swing.
const ONSET_S: f64 = 0.015;
/// Frames about the best onset among which the whole voice decides.
const SWING: i64 = 8;
/// The time from an onset over which left-over sound is judged, s.
const JUDGED_S: f64 = 0.03;

impl Ear<'_> {
    /// Frames in `seconds`.
    fn frames(&self, seconds: f64) -> usize {
        (seconds * f64::from(self.bank.sample_rate_hz())).round() as usize
    }

    /// How far beyond a stretch its sound must be known, frames.
    pub fn margin(&self) -> usize {
        self.bank.longest_frames() + 2 * self.frames(REACH_S)
    }

    /// The level of a voice in each channel.
    fn levels(&self, voice: Voice) -> [f32; 2] {
        let (full, half) = (self.gain, self.gain * 0.5);
        match (voice.side, self.mono) {
            (None, _) => [full; 2],
            (Some(_), true) => [half; 2],
            (Some(side), false) => match (side == Side::Left) != self.swap {
                true => [full, 0.0],
                false => [0.0, full],
            },
        }
    }

    /// Adds a voice to `sound`, `share` times its level, from index `at` on.
    fn add(&self, sound: &mut [[f32; 2]], voice: Voice, at: i64, share: f32) {
        let levels = self.levels(voice).map(|level| level * share);
        for (n, sample) in self.bank.voice(voice).iter().enumerate() {
            let index = at + n as i64;
            if let Some(frame) = usize::try_from(index)
                .ok()
                .and_then(|index| sound.get_mut(index))
            {
                frame[0] += levels[0] * sample;
                frame[1] += levels[1] * sample;
            }
        }
    }

    /// How well a voice that starts at index `at` explains `sound` up to index `end`.
    ///
    /// Places are compared over one and the same stretch: a steady tone laid a period too late
    /// fits its own length as well, but leaves the sound before it unexplained.
    fn fit(&self, sound: &[[f32; 2]], voice: Voice, at: i64, end: usize) -> Fit {
        let nothing = Fit {
            share: 0.0,
            explained: 0.0,
        };
        let heard = usize::try_from(at)
            .ok()
            .and_then(|at| sound.get(at..end.min(sound.len())));
        let Some(heard) = heard else {
            return nothing;
        };
        let levels = self.levels(voice);
        let (mut along, mut shape) = (0.0_f32, 0.0_f32);
        for (sample, frame) in self.bank.voice(voice).iter().zip(heard) {
            along += sample * (levels[0] * frame[0] + levels[1] * frame[1]);
            shape += sample * sample;
        }
        let shape = shape * (levels[0] * levels[0] + levels[1] * levels[1]);
        if shape <= 0.0 {
            return nothing;
        }
        Fit {
            share: along / shape,
            explained: along.max(0.0) * along / shape,
        }
    }

    /// Places every event in `sound`, which starts at frame `origin` of the track, and takes what
    /// is placed out of it. `sound` holds what is left after all events were taken out at their
    /// own frames.
    pub fn place(&self, sound: &mut [[f32; 2]], origin: i64, events: &[Event]) -> Vec<Placed> {
        let mut placed: Vec<Placed> = (events.iter())
            .map(|event| Placed {
                event: *event,
                off: Some(0),
            })
            .collect();
        // Where several voices overlap, one is judged better once its neighbours are in place.
        for _ in 0..3 {
            let mut hint = 0;
            for one in &mut placed {
                let voice = one.event.voice();
                let home = one.event.frame as i64 - origin;
                if let Some(off) = one.off {
                    self.add(sound, voice, home + off, 1.0);
                }
                let guesses = [one.off.unwrap_or(hint), hint];
                one.off = self.look(sound, voice, home, guesses);
                if let Some(off) = one.off {
                    self.add(sound, voice, home + off, -1.0);
                    // A track that is late is late throughout.
                    hint = off;
                }
            }
        }
        placed
    }

    /// The offset within reach at which a voice explains the sound, if any does.
    fn look(&self, sound: &[[f32; 2]], voice: Voice, home: i64, guesses: [i64; 2]) -> Option<i64> {
        let reach = self.frames(REACH_S) as i64;
        let reached = (home + reach).max(0) as usize;
        let whole = reached + self.bank.voice(voice).len();
        let fit = |off: i64| self.fit(sound, voice, home + off, whole);
        // A voice that is wholly there at a guess needs no search.
        for off in guesses {
            let here = fit(off);
            let beside = fit(off - 1).explained.max(fit(off + 1).explained);
            if (here.share - 1.0).abs() < 0.02 && here.explained >= beside {
                return Some(off);
            }
        }
        let best = |offs: RangeInclusive<i64>, end: usize| {
            offs.filter(|off| off.abs() <= reach)
                .map(|off| (off, self.fit(sound, voice, home + off, end)))
                .max_by(|(_, a), (_, b)| a.explained.total_cmp(&b.explained))
        };
        // The onset finds the place to a swing or two; the whole voice settles it.
        let (near, _) = best(-reach..=reach, reached + self.frames(ONSET_S))?;
        let (off, fit) = best(near - SWING..=near + SWING, whole)?;
        (fit.share >= FOUND_SHARE).then_some(off)
    }

    /// Voices that start in `sound[within]` and explain what is left over there; taken out of it.
    /// Sound below `floor` is nothing.
    pub fn extras(
        &self,
        sound: &mut [[f32; 2]],
        origin: i64,
        within: Range<usize>,
        floor: f32,
    ) -> Vec<Extra> {
        let loud = |frame: &[f32; 2]| frame[0].abs().max(frame[1].abs()) > floor;
        let mut extras = Vec::new();
        let mut at = within.start;
        while let Some(ahead) = sound[at..within.end].iter().position(loud) {
            let onset = at + ahead;
            let found = self.explain(sound, onset);
            if found.is_empty() {
                // What no voice explains is passed over a millisecond at a time.
                at = (onset + self.frames(0.001).max(1)).min(within.end);
            }
            extras.extend(found.into_iter().map(|(voice, index)| Extra {
                frame: (origin + index).max(0) as u64,
                voice,
            }));
        }
        extras
    }

    /// The voices that start about `onset` and together explain the sound there, taken out of it;
    /// none, and nothing changed, where no voices do.
    fn explain(&self, sound: &mut [[f32; 2]], onset: usize) -> Vec<(Voice, i64)> {
        let judged = onset..(onset + self.frames(JUDGED_S)).min(sound.len());
        let before = energy(&sound[judged.clone()]);
        let mut taken: Vec<(Voice, i64, f32)> = Vec::new();
        while taken.len() < TOGETHER {
            let Some((voice, at, share)) = self.strongest(sound, onset) else {
                break;
            };
            self.add(sound, voice, at, -share);
            taken.push((voice, at, share));
        }
        let after = energy(&sound[judged]);
        if !taken.is_empty() && before > MATCH_ENERGY * after {
            return taken
                .into_iter()
                .map(|(voice, at, _)| (voice, at))
                .collect();
        }
        for (voice, at, share) in taken {
            self.add(sound, voice, at, share);
        }
        Vec::new()
    }

    /// The voice whose removal about `onset` takes away the most energy, its place and its level.
    fn strongest(&self, sound: &[[f32; 2]], onset: usize) -> Option<(Voice, i64, f32)> {
        // The floor is crossed within the attack: the voice started up to 5 ms before.
        let starts = onset as i64 - self.frames(REACH_S) as i64..=onset as i64 + 1;
        let end = onset + self.frames(ONSET_S);
        let (_, voice, at) = Voice::ALL
            .into_iter()
            .flat_map(|voice| starts.clone().map(move |at| (voice, at)))
            .map(|(voice, at)| (self.fit(sound, voice, at, end), voice, at))
            .filter(|(fit, ..)| fit.share > LEAST_LEVEL)
            .max_by(|(a, ..), (b, ..)| a.explained.total_cmp(&b.explained))?;
        let whole = onset + self.bank.voice(voice).len();
        let share = self.fit(sound, voice, at, whole).share;
        (share > LEAST_LEVEL).then_some((voice, at, share))
    }
}

fn energy(sound: &[[f32; 2]]) -> f32 {
    sound.iter().flatten().map(|sample| sample * sample).sum()
}
