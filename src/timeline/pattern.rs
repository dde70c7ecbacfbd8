//! The same session in floats, for a hand that changes it while it sounds.
//!
//! In: a resolved session and a sample rate. Out: a [`Plan`] of plain numbers: every cue of one
//! cycle for each pairing and kick that a coach may choose, and when repeats and their
//! stretches are, in frames. All memory is taken here. A float's 53 bits leave less than a
//! millionth of a frame of error after a day.

use super::compile::{cues, stretches};
use super::schedule::Schedule;
use crate::model::cue::{Kind, Side};
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::{Resolved, Set};
use crate::model::session::{Fade, Walls};
use crate::units::{Exact, exact, to_f64};

/// At most two arms, six beats and two breaths.
pub const MOST_CUES: usize = 10;

/// A cue of the body, once a cycle or every few cycles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CueAt {
    /// What sounds.
    pub kind: Kind,
    /// Whose side.
    pub side: Side,
    /// Phase on the circle in millionths of a cycle.
    pub phase_micro: u32,
    /// Elapsed cycles at its first event, 0 or more.
    pub first: f64,
    /// Cycles from one event to the next, 1 or more.
    pub every: f64,
    /// Frames by which it sounds early; negative is late.
    pub lead: f64,
}

/// Every cue of one cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pattern {
    cues: [Option<CueAt>; MOST_CUES],
    /// The smallest gap between two beats of each leg, left and right, in cycles; 1 for one beat.
    pub smallest_gap: [f64; 2],
    /// Whether beats between the paired ones sound.
    pub has_fills: bool,
}

impl Pattern {
    /// The cues of a set with another pairing and kick. A kick that the set does not have sounds
    /// its fills, or nobody would hear that it was chosen.
    fn new(set: &Set, pairing: Pairing, kick: Kick, sample_rate_hz: u32) -> Self {
        let mut set = set.clone();
        if kick != set.kick && set.cues.has(Kind::Kick) {
            set.cues = set.cues.with(Kind::Fill);
        }
        (set.pairing, set.kick) = (pairing, kick);
        let rate = exact(sample_rate_hz.into());
        let mut pattern = Self {
            cues: [None; MOST_CUES],
            smallest_gap: [1.0; 2],
            has_fills: set.cues.has(Kind::Fill) && kick.has_fills(),
        };
        let found = cues(&set);
        for side in Side::BOTH {
            let mut beats: Vec<&Exact> = (found.iter())
                .filter(|cue| cue.side == side && matches!(cue.kind, Kind::Kick | Kind::Fill))
                .map(|cue| &cue.phase)
                .collect();
            beats.sort();
            let next = beats.iter().cycle().skip(1);
            let gaps = beats.iter().zip(next).map(|(one, next)| {
                let gap = to_f64(&(*next - *one));
                if gap <= 0.0 { gap + 1.0 } else { gap }
            });
            pattern.smallest_gap[side as usize] = gaps.fold(1.0, f64::min);
        }
        for (place, cue) in pattern.cues.iter_mut().zip(found) {
            *place = Some(CueAt {
                kind: cue.kind,
                side: cue.side,
                phase_micro: (to_f64(&cue.phase) * 1e6).round() as u32 % 1_000_000,
                first: to_f64(&cue.first),
                every: cue.every as f64,
                lead: to_f64(&(set.lead.of(cue.kind).s() * &rate)),
            });
        }
        pattern
    }

    /// Its cues, at most [`MOST_CUES`].
    pub fn cues(&self) -> impl Iterator<Item = (usize, &CueAt)> {
        let cues = self.cues.iter().enumerate();
        cues.filter_map(|(at, cue)| cue.as_ref().map(|cue| (at, cue)))
    }
}

/// A set, ready to be changed while it sounds.
#[derive(Debug, Clone)]
pub struct SetPlan {
    /// By pairing, then by kick, each in the order of its declaration.
    patterns: [[Pattern; 4]; 2],
    /// The pairing that the session says.
    pub pairing: Pairing,
    /// The kick that the session says.
    pub kick: Kick,
    /// Its fade.
    pub fade: Option<Fade>,
    /// Frames from a start or wall to the first entry.
    pub push_off: f64,
}

impl SetPlan {
    fn new(set: &Set, sample_rate_hz: u32) -> Self {
        let of = |pairing, kick| Pattern::new(set, pairing, kick, sample_rate_hz);
        let kicks = [Kick::TwoBeat, Kick::FourBeat, Kick::SixBeat, Kick::Pull];
        let pairings = [Pairing::SameSide, Pairing::OppositeSide];
        Self {
            patterns: pairings.map(|pairing| kicks.map(|kick| of(pairing, kick))),
            pairing: set.pairing,
            kick: set.kick,
            fade: set.fade,
            push_off: to_f64(&(set.push_off.s() * exact(sample_rate_hz.into()))),
        }
    }

    /// The cues of a pairing and a kick.
    pub fn pattern(&self, pairing: Pairing, kick: Kick) -> &Pattern {
        &self.patterns[pairing as usize][kick as usize]
    }
}

/// A stretch of swimming over which the cues run on without starting anew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StretchPlan {
    /// Its first entry, in frames of the track.
    pub start: f64,
    /// Its end, in frames: cues are before it.
    pub end: f64,
    /// Cycles a frame at its first entry.
    pub frequency: f64,
    /// Change of that a frame.
    pub slope: f64,
    /// Cycles counted before it.
    pub cycles_before: u64,
}

/// A repeat, in frames.
#[derive(Debug, Clone, PartialEq)]
pub struct RepeatPlan {
    /// Index of its set.
    pub set: usize,
    /// Which repeat of it, from 1.
    pub number: u32,
    /// The start signal.
    pub start: f64,
    /// The end signal.
    pub end: f64,
    /// From one predicted wall to the next, and how many there are.
    pub walls: Option<(f64, u64)>,
    /// Whether cues begin anew at walls.
    pub pauses: bool,
    /// At least one.
    pub stretches: Vec<StretchPlan>,
}

/// A session, ready to be changed while it sounds.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Frames a second.
    pub sample_rate_hz: u32,
    /// Sets in order.
    pub sets: Vec<SetPlan>,
    /// Repeats in order.
    pub repeats: Vec<RepeatPlan>,
}

impl Plan {
    /// Lays a session out in frames.
    pub fn new(session: &Resolved, schedule: &Schedule, sample_rate_hz: u32) -> Self {
        let rate = exact(sample_rate_hz.into());
        let frames = |s: &Exact| to_f64(&(s * &rate));
        let repeats = schedule.repeats.iter().map(|repeat| {
            let set = &session.sets[repeat.set];
            let stretches = stretches(set, repeat).into_iter();
            RepeatPlan {
                set: repeat.set,
                number: repeat.number as u32,
                start: frames(&repeat.start_s),
                end: frames(&repeat.end_s),
                walls: (repeat.wall_every_s.as_ref()).map(|every| (frames(every), repeat.walls)),
                pauses: set.walls == Walls::Pause,
                stretches: stretches
                    .map(|stretch| StretchPlan {
                        start: frames(&stretch.segment.start_s),
                        end: frames(&stretch.end_s),
                        frequency: to_f64(&(&stretch.segment.frequency / &rate)),
                        slope: to_f64(&(&stretch.segment.slope / &rate / &rate)),
                        cycles_before: stretch.cycles_before,
                    })
                    .collect(),
            }
        });
        Self {
            sample_rate_hz,
            sets: (session.sets.iter())
                .map(|set| SetPlan::new(set, sample_rate_hz))
                .collect(),
            repeats: repeats.collect(),
        }
    }

    /// One repeat that begins with its first entry at frame `first_entry` and never ends: a set
    /// on deck, without walls and without a send-off.
    pub fn endless(set: &Set, sample_rate_hz: u32, first_entry: f64) -> Self {
        let (rate, _) = set.rate.ends();
        let frequency = to_f64(&(rate.cycles_per_second() / exact(sample_rate_hz.into())));
        Self {
            sample_rate_hz,
            sets: vec![SetPlan::new(set, sample_rate_hz)],
            repeats: vec![RepeatPlan {
                set: 0,
                number: 1,
                start: 0.0,
                end: f64::INFINITY,
                walls: None,
                pauses: false,
                stretches: vec![StretchPlan {
                    start: first_entry,
                    end: f64::INFINITY,
                    frequency,
                    slope: 0.0,
                    cycles_before: 0,
                }],
            }],
        }
    }

    /// The repeat that frame `position` belongs to: from the end of the one before to its own end.
    pub fn repeat_at(&self, position: f64) -> usize {
        (self.repeats).partition_point(|repeat| repeat.end <= position)
    }
}
