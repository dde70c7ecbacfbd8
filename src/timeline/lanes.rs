//! What sounds in a set and a repeat, before any frame: cues by their phases, and the stretches of
//! swimming over which they run on.

use super::schedule::Repeat;
use super::tempo::{SteadyRate, Tempo};
use crate::model::breath_sound::BEFORE_ENTRY_S;
use crate::model::circle::forward;
use crate::model::cue::{CueKind, Side};
use crate::model::kick::{Kick, Pairing, beats};
use crate::model::resolve::Set;
use crate::model::session::{Breath, Fade, Walls};
use crate::units::{Fix, ceil_u64, exact, floor_u64, to_f64};

/// At most two arms, six beats and two breaths.
pub(super) const MOST_LANES: usize = 10;

/// A cue of the body: at `first` elapsed cycles, and every `every` cycles from there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lane {
    pub kind: CueKind,
    pub side: Side,
    /// Phase on the circle in millionths of a cycle.
    pub phase_micro: u32,
    pub first: Fix,
    /// Whole cycles in `first`.
    pub first_cycle: u64,
    pub every: u64,
    /// Seconds by which its sound begins before its moment; negative is after.
    pub lead: Fix,
}

impl Lane {
    fn new(set: &Set, kind: CueKind, side: Side, phase: Fix, first: Fix, every: u64) -> Self {
        let own_lead = if kind == CueKind::Breath {
            BEFORE_ENTRY_S
        } else {
            Fix::ZERO
        };
        Self {
            kind,
            side,
            phase_micro: (to_f64(&phase) * 1e6).round() as u32 % 1_000_000,
            first,
            first_cycle: floor_u64(&first).unwrap_or(0),
            every,
            lead: own_lead + set.lead.of(kind).s(),
        }
    }

    /// Elapsed cycles at an event of it.
    pub fn phase_of(&self, number: u64) -> Fix {
        self.first + Fix::from_integer(i128::from(number) * i128::from(self.every))
    }

    /// The cycle that an event of it falls into, counted from the first entry of its stretch.
    #[inline]
    pub fn cycle_of(&self, number: u64) -> u64 {
        self.first_cycle + number * self.every
    }

    /// The first event of it at a phase or later.
    pub fn first_from(&self, phase: Fix) -> u64 {
        let every = Fix::from_integer(self.every.into());
        ceil_u64(&((phase - self.first) / every)).unwrap_or(0)
    }

    /// Whether a leg kicks on it.
    pub fn is_beat(&self) -> bool {
        matches!(self.kind, CueKind::Kick | CueKind::Fill)
    }
}

/// Every cue of one pairing and kick.
#[derive(Debug, Clone)]
pub(super) struct Pattern {
    /// Breaths last.
    pub lanes: Vec<Lane>,
    /// The smallest gap between two beats of each leg, left and right, in cycles; 1 for one beat.
    pub smallest_gap: [Fix; 2],
}

impl Pattern {
    /// The cues of a set with another pairing and kick.
    fn new(set: &Set, pairing: Pairing, kick: Kick) -> Self {
        let lanes = lanes(&set.switched(pairing, kick));
        let smallest_gap = Side::BOTH.map(|leg| {
            let mut beats: Vec<Fix> = (lanes.iter())
                .filter(|lane| lane.side == leg && lane.is_beat())
                .map(|lane| lane.first)
                .collect();
            beats.sort();
            let next = beats.iter().skip(1).chain(beats.first());
            let gaps = beats.iter().zip(next).map(|(one, next)| next - one);
            gaps.map(|gap| if gap > Fix::ZERO { gap } else { gap + Fix::ONE })
                .fold(Fix::ONE, Fix::min)
        });
        Self {
            smallest_gap,
            lanes,
        }
    }

    /// The breaths and their places among the lanes.
    #[inline]
    pub fn breaths(&self) -> impl Iterator<Item = (usize, &Lane)> {
        let lanes = self.lanes.iter().enumerate().rev();
        lanes.take_while(|(_, lane)| lane.kind == CueKind::Breath)
    }
}

/// A set, ready to be changed while it sounds.
#[derive(Debug, Clone)]
pub(super) struct SetLanes {
    /// By pairing, then by kick, each in the order of its declaration.
    patterns: [[Pattern; 4]; 2],
    pub pairing: Pairing,
    pub kick: Kick,
    pub fade: Option<Fade>,
    pub push_off: Fix,
    pub has_walls: bool,
}

impl SetLanes {
    pub fn new(set: &Set) -> Self {
        let kicks = [Kick::TwoBeat, Kick::FourBeat, Kick::SixBeat, Kick::Pull];
        let pairings = [Pairing::SameSide, Pairing::OppositeSide];
        let of = |pairing| kicks.map(|kick| Pattern::new(set, pairing, kick));
        Self {
            patterns: pairings.map(of),
            pairing: set.pairing,
            kick: set.kick,
            fade: set.fade,
            push_off: *set.push_off.s(),
            has_walls: set.cues.has(CueKind::Wall),
        }
    }

    /// The cues of a pairing and a kick.
    #[inline]
    pub fn pattern(&self, pairing: Pairing, kick: Kick) -> &Pattern {
        &self.patterns[pairing as usize][kick as usize]
    }
}

/// Every cue that the set lets sound.
fn lanes(set: &Set) -> Vec<Lane> {
    let stroke = set.stroke();
    let first_entry = stroke.entry(set.first_arm);
    let lane = |kind, side, phase: Fix| {
        Lane::new(set, kind, side, phase, forward(&first_entry, &phase), 1)
    };
    let moments = stroke.moments(set.arm_moment());
    let arms = (Side::BOTH.into_iter())
        .filter(|arm| set.arms.swims(*arm))
        .map(|arm| lane(CueKind::Arm, arm, *moments.of(arm)));
    let kicks = beats(&stroke, set.pairing, set.kick, set.three_on);
    let kicks = kicks.into_iter().map(|beat| {
        let kind = if beat.paired {
            CueKind::Kick
        } else {
            CueKind::Fill
        };
        lane(kind, beat.foot, beat.phase)
    });
    let breaths = set
        .heard_breath()
        .map(|breath| breaths(set, breath))
        .unwrap_or_default();
    (arms.chain(kicks).chain(breaths))
        .filter(|lane| set.cues.has(lane.kind))
        .collect()
}

/// Entries are numbered 0, 1, 2, ... from the first arm's on. The head turns at the entry of the
/// hand opposite to the breathing side; an even number of strokes returns to the same hand, an
/// odd one alternates, which makes two cues of twice the spacing.
fn breaths(set: &Set, breath: Breath) -> Vec<Lane> {
    let every = u64::from(breath.every);
    let entering = breath.side.other();
    let first_number = if entering == set.first_arm { 2 } else { 1 };
    let numbered = |number: u64, every: u64| {
        let hand = match number % 2 {
            0 => set.first_arm,
            _ => set.first_arm.other(),
        };
        let phase = set.stroke().entry(hand);
        let within = forward(&set.stroke().entry(set.first_arm), &phase);
        let first = Fix::from_integer((number / 2).into()) + within;
        Lane::new(set, CueKind::Breath, hand.other(), phase, first, every)
    };
    match every % 2 {
        0 => vec![numbered(first_number, every / 2)],
        _ => vec![
            numbered(first_number, every),
            numbered(first_number + every, every),
        ],
    }
}

/// A stretch of swimming over which the cues run on without starting anew.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// The session's own tempo; phase 0 is the first entry.
    pub tempo: Tempo,
    /// Its end, in s of the track: cues are before it.
    pub end: Fix,
    /// Cycles counted before it.
    pub cycles_before: u64,
}

/// One stretch from push-off to end, or one a length where cues pause at walls.
pub(super) fn stretches(set: &Set, repeat: &Repeat) -> Vec<Stretch> {
    let push_off = *set.push_off.s();
    let first_entry = repeat.start_s + push_off;
    if !repeat.end_s.exceeds(first_entry) {
        // Ended before anybody has put a hand in.
        return Vec::new();
    }
    let (from, to) = (SteadyRate::of(&repeat.from), SteadyRate::of(&repeat.to));
    if set.walls == Walls::Through {
        return vec![Stretch {
            tempo: Tempo::ramp(first_entry, Fix::ZERO, from, to, repeat.end_s),
            end: repeat.end_s,
            cycles_before: 0,
        }];
    }
    // A ramp's rate is that of its own time, wherever the phase starts anew.
    let beat_at = |time: Fix| {
        if from == to {
            from
        } else {
            let share = |rise: Fix| rise.mul_div(time - first_entry, repeat.end_s - first_entry);
            SteadyRate::hz(from.hz + share(to.hz - from.hz))
        }
    };
    let every = repeat.wall_every_s.unwrap_or_default();
    let wall = |number: u64| repeat.start_s + every.times(number.into());
    let mut cycles_before = 0;
    let mut stretches = Vec::new();
    for number in 0..=repeat.walls {
        let start = wall(number) + push_off;
        let end = if number == repeat.walls {
            repeat.end_s
        } else {
            // A last length of which the glide is most ends before the wall that it would begin at.
            wall(number + 1).min(repeat.end_s)
        };
        if !end.exceeds(start) {
            continue;
        }
        let tempo = Tempo::ramp(start, Fix::ZERO, beat_at(start), beat_at(end), end);
        stretches.push(Stretch {
            tempo,
            end,
            cycles_before,
        });
        // Every cycle that has begun counts.
        cycles_before += ceil_u64(&tempo.phase_at(end)).unwrap_or(0);
    }
    stretches
}

/// The stretch of a set on deck, which never ends.
pub(super) fn endless(set: &Set, first_entry: Fix) -> Stretch {
    let (rate, _) = set.rate.ends();
    Stretch {
        tempo: Tempo::steady(first_entry, exact(0), SteadyRate::of(rate)),
        end: Fix::MAX,
        cycles_before: 0,
    }
}
