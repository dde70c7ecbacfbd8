//! Which voices explain a stretch of sound: the ear of [`super::check`].
//!
//! In: sound in which something differs from what was expected, and the events expected there.
//! Out: for each event how far from its frame its voice explains the sound, or that it does not;
//! and the voices that explain what is left over. All by plain correlation with the voices.

use std::ops::{Range, RangeInclusive};

use crate::model::cue::{Side, Voice};
use crate::model::track_format::Fold;
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
    /// Whether the ears are exchanged.
    pub swap: bool,
    /// What a track of one channel holds; none for two channels.
    pub single: Option<Fold>,
}

/// An expected event and where its voice was found.
#[derive(Debug, Clone, Copy)]
pub struct MatchedEvent {
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
    /// Whether it sounds in the ear of the other side.
    pub other_ear: bool,
}

/// What is heard beside the expected cues.
#[derive(Debug, Clone, Default)]
pub struct LeftOver {
    /// Voices that nobody asked for.
    pub extras: Vec<Extra>,
    /// How long there is sound that no voice explains, ms.
    pub noise_ms: u64,
    /// The frame of the whole track at which that begins.
    pub noise_from: Option<u64>,
}

/// A voice counts as found where at least this share of it is in the sound: three quarters of
/// its amplitude along its own shape.
const FOUND_SHARE: f32 = 0.75;
/// Left-over sound matches a voice when removing it lowers the energy by more than 6 dB, a factor of 4.
const MATCH_ENERGY: f32 = 4.0;
/// A voice far below its own level is no cue.
const LEAST_LEVEL: f32 = 0.3;
/// Voices that may start together in left-over sound.
const TOGETHER: usize = 4;
/// How far from its frame a voice still counts as the event's, s.
const REACH_S: f64 = 0.005;
/// How far around its frame an event is looked for, s: further than it may be, so that a voice
/// beyond its reach is not taken for one at the edge of it.
const SEARCH_S: f64 = 2.0 * REACH_S;
/// A voice at another level leaves a remainder of its own shape, no more than this share of it.
const REMAINDER: f32 = 0.4;
/// Left-over sound above this level, and above four times what rounding makes, is no trifle.
const LOUD: f32 = 0.05;
/// The part of a voice that is compared while looking, s: its onset and first swing.
const ONSET_S: f64 = 0.015;
/// How long before it is loud a voice may have started, s: voices rise to a few percent of
/// their peak well within this part of their attack.
const RISE_S: f64 = 0.002;
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
        self.bank.longest_frames() + 2 * self.frames(SEARCH_S)
    }

    /// The level of a voice in each channel.
    fn levels(&self, voice: Voice) -> [f32; 2] {
        let both_ears = self.single.map_or(1.0, Fold::both_ears);
        let ears = match voice.side {
            None => [both_ears; 2],
            Some(side) if (side == Side::Left) != self.swap => [1.0, 0.0],
            Some(_) => [0.0, 1.0],
        };
        match self.single {
            None => ears,
            Some(fold) => [fold.single(ears); 2],
        }
    }

    /// Adds a voice to `sound`, `share` times its level, from index `at` on.
    fn add(&self, sound: &mut [[f32; 2]], voice: Voice, levels: [f32; 2], at: i64, share: f32) {
        let levels = levels.map(|level| level * share);
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
    fn fit(&self, sound: &[[f32; 2]], voice: Voice, levels: [f32; 2], at: i64, end: usize) -> Fit {
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
    pub fn place(
        &self,
        sound: &mut [[f32; 2]],
        origin: i64,
        events: &[Event],
    ) -> Vec<MatchedEvent> {
        let mut placed: Vec<MatchedEvent> = (events.iter())
            .map(|event| MatchedEvent {
                event: *event,
                off: Some(0),
            })
            .collect();
        // Where several voices overlap, one is judged better once its neighbours are in place.
        for _ in 0..3 {
            let mut settled = true;
            let mut hint = 0;
            for one in &mut placed {
                let voice = one.event.voice();
                let home = one.event.frame as i64 - origin;
                if let Some(off) = one.off {
                    self.add(sound, voice, self.levels(voice), home + off, 1.0);
                }
                let guesses = [one.off.unwrap_or(hint), hint];
                let was = one.off;
                one.off = self.look(sound, voice, home, guesses);
                settled &= one.off == was;
                if let Some(off) = one.off {
                    self.add(sound, voice, self.levels(voice), home + off, -1.0);
                    // A track that is late is late throughout.
                    hint = off;
                }
            }
            if settled {
                break;
            }
        }
        // A track that is a little softer or louder leaves a little of every voice.
        for one in &placed {
            let Some(off) = one.off else { continue };
            let voice = one.event.voice();
            let (levels, at) = (self.levels(voice), one.event.frame as i64 - origin + off);
            let end = (at.max(0) as usize) + self.bank.voice(voice).len();
            let rest = self.fit(sound, voice, levels, at, end).share;
            if rest.abs() < REMAINDER {
                self.add(sound, voice, levels, at, -rest);
            }
        }
        placed
    }

    /// The offset within reach at which a voice explains the sound, if any does.
    fn look(&self, sound: &[[f32; 2]], voice: Voice, home: i64, guesses: [i64; 2]) -> Option<i64> {
        let reach = (REACH_S * f64::from(self.bank.sample_rate_hz())) as i64;
        let search = self.frames(SEARCH_S) as i64;
        let reached = (home + search).max(0) as usize;
        let whole = reached + self.bank.voice(voice).len();
        let levels = self.levels(voice);
        // A sound of the other ear is not in this track, and cannot be missing from it.
        if levels == [0.0; 2] {
            return Some(0);
        }
        let fit = |off: i64| self.fit(sound, voice, levels, home + off, whole);
        // A voice that is wholly there at a guess needs no search.
        for off in guesses {
            let here = fit(off);
            let beside = fit(off - 1).explained.max(fit(off + 1).explained);
            if (here.share - 1.0).abs() < 0.02 && here.explained >= beside && off.abs() <= reach {
                return Some(off);
            }
        }
        let best = |offs: RangeInclusive<i64>, end: usize| {
            offs.filter(|off| off.abs() <= search)
                .map(|off| (off, self.fit(sound, voice, levels, home + off, end)))
                .max_by(|(_, a), (_, b)| a.explained.total_cmp(&b.explained))
        };
        // The onset finds the place to a swing or two; the whole voice settles it.
        let (near, _) = best(-search..=search, reached + self.frames(ONSET_S))?;
        let (off, fit) = best(near - SWING..=near + SWING, whole)?;
        (fit.share >= FOUND_SHARE && off.abs() <= reach).then_some(off)
    }

    /// Voices that start in `sound[within]` and explain what is left over there; taken out of it.
    /// What rounding makes is at most `tolerance`, and sound that is hardly more is nothing.
    pub fn extras(
        &self,
        sound: &mut [[f32; 2]],
        origin: i64,
        within: Range<usize>,
        tolerance: f32,
    ) -> LeftOver {
        let (floor, most) = ((2.0 * tolerance).max(0.01), (4.0 * tolerance).max(LOUD));
        let level = |frame: &[f32; 2]| frame[0].abs().max(frame[1].abs());
        let loud = |frame: &[f32; 2]| level(frame) > floor;
        let mut left = LeftOver::default();
        let mut at = within.start;
        while let Some(ahead) = sound[at..within.end].iter().position(loud) {
            let onset = at + ahead;
            let found = self.explain(sound, onset);
            if found.is_empty() {
                // What no voice explains is passed over a millisecond at a time.
                at = (onset + self.frames(0.001).max(1)).min(within.end);
                if sound[onset..at].iter().any(|frame| level(frame) > most) {
                    let frame = (origin + onset as i64).max(0) as u64;
                    left.noise_from = left.noise_from.or(Some(frame));
                    left.noise_ms += 1;
                }
            }
            left.extras.extend(found.into_iter().map(|guess| Extra {
                frame: (origin + guess.at).max(0) as u64,
                voice: guess.voice,
                other_ear: guess.other_ear,
            }));
        }
        left
    }

    /// The voices that start about `onset` and together explain the sound there, taken out of it;
    /// none, and nothing changed, where no voices do.
    fn explain(&self, sound: &mut [[f32; 2]], onset: usize) -> Vec<Guess> {
        let judged = onset..(onset + self.frames(JUDGED_S)).min(sound.len());
        let before = energy(&sound[judged.clone()]);
        let mut taken: Vec<Guess> = Vec::new();
        while taken.len() < TOGETHER {
            let Some(guess) = self.strongest(sound, onset) else {
                break;
            };
            self.add(sound, guess.voice, guess.levels, guess.at, -guess.share);
            taken.push(guess);
        }
        let after = energy(&sound[judged]);
        if !taken.is_empty() && before > MATCH_ENERGY * after {
            return taken;
        }
        for guess in taken {
            self.add(sound, guess.voice, guess.levels, guess.at, guess.share);
        }
        Vec::new()
    }

    /// The voice whose removal about `onset` takes away the most energy, in either ear.
    fn strongest(&self, sound: &[[f32; 2]], onset: usize) -> Option<Guess> {
        let starts = onset as i64 - self.frames(RISE_S) as i64..=onset as i64 + 1;
        let end = onset + self.frames(ONSET_S);
        let mut best: Option<(Fit, Guess)> = None;
        for voice in Voice::ALL {
            let own = self.levels(voice);
            let ears = if own[0] == own[1] {
                vec![(own, false)]
            } else {
                vec![(own, false), ([own[1], own[0]], true)]
            };
            for (levels, other_ear) in ears {
                if !self.could_sound(sound, voice, levels, onset..end) {
                    continue;
                }
                for at in starts.clone() {
                    let fit = self.fit(sound, voice, levels, at, end);
                    let better = best
                        .as_ref()
                        .is_none_or(|(most, _)| fit.explained > most.explained);
                    if fit.share > LEAST_LEVEL && better {
                        let share = fit.share;
                        best = Some((
                            fit,
                            Guess {
                                voice,
                                levels,
                                other_ear,
                                at,
                                share,
                            },
                        ));
                    }
                }
            }
        }
        let (_, mut guess) = best?;
        let whole = onset + self.bank.voice(guess.voice).len();
        guess.share = self
            .fit(sound, guess.voice, guess.levels, guess.at, whole)
            .share;
        (guess.share > LEAST_LEVEL).then_some(guess)
    }

    /// Whether there is any sound worth a voice in the channels it would sound in.
    fn could_sound(
        &self,
        sound: &[[f32; 2]],
        voice: Voice,
        levels: [f32; 2],
        about: Range<usize>,
    ) -> bool {
        let heard = &sound[about.start..about.end.min(sound.len())];
        let peak = |samples: &mut dyn Iterator<Item = f32>| {
            samples.fold(0.0_f32, |max, sample| max.max(sample.abs()))
        };
        let full = peak(&mut self.bank.voice(voice).iter().copied());
        let least = LEAST_LEVEL * LEAST_LEVEL * full;
        let loudest = |channel: usize| peak(&mut heard.iter().map(|frame| frame[channel]));
        (0..2).any(|channel| levels[channel] > 0.0 && loudest(channel) > least * levels[channel])
    }
}

/// A voice that may start in left-over sound.
#[derive(Debug, Clone, Copy)]
struct Guess {
    voice: Voice,
    levels: [f32; 2],
    other_ear: bool,
    /// Index of its first frame; it may lie before the sound at hand.
    at: i64,
    share: f32,
}

fn energy(sound: &[[f32; 2]]) -> f32 {
    sound.iter().flatten().map(|sample| sample * sample).sum()
}
