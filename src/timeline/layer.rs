//! The cues of one pairing and kick, each at its next event.

use super::events::LaidRepeat;
use super::lanes::{Lane, MOST_LANES, Pattern, SetLanes, Stretch};
use super::run::{Even, Run};
use super::tempo::Tempo;
use crate::model::breath_sound::is_hidden;
use crate::model::cue::{CueKind, Side};
use crate::model::kick::{Kick, Pairing};
use crate::model::session::FadePer;
use crate::units::{Fix, ceil_u64, reaches};

/// Sorts after every event.
pub(super) const DONE: u64 = u64::MAX;
const _: () = assert!(MOST_LANES <= 16, "a lane's number has four bits");

/// An event in one number that sorts as events do: frame, kind, side, and in the lowest four bits
/// which cue or signal it is.
#[inline]
pub(super) fn key(frame: i64, kind: CueKind, side: Option<Side>, at: usize) -> u64 {
    let side = side.map_or(2, |side| side as u64);
    (frame.max(0) as u64) << 12 | (kind as u64) << 8 | side << 4 | at as u64
}

/// The least of some keys, without a branch: which cue comes next is no pattern that a processor
/// foresees, and a wrong guess costs more than the whole search.
#[inline]
pub(super) fn least(keys: &[u64]) -> u64 {
    keys.iter().fold(DONE, |least, key| least.min(*key))
}

/// The tempo of a stretch, from which that of the later ones follows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    pub tempo: Tempo,
    pub stretch: usize,
    /// Whether it is the session's own, which may be a ramp by time.
    pub own: bool,
    /// Cycles counted before that stretch.
    pub before: u64,
}

impl Pace {
    /// The tempo of this or a later stretch: the session's own, or the rate that was set from its
    /// first entry on.
    #[inline]
    pub fn tempo_in(&self, at: usize, stretch: &Stretch) -> Tempo {
        if at == self.stretch {
            self.tempo
        } else if self.own {
            stretch.tempo
        } else {
            Tempo::steady(stretch.tempo.at, Fix::ZERO, self.tempo.to)
        }
    }
}

impl Pace {
    /// Cycles counted before a stretch: every one that has begun counts, at the rate that was set.
    /// Stretches between two walls are as long as one another.
    #[inline]
    pub fn cycles_before(&self, at: usize, laid: &LaidRepeat) -> u64 {
        let stretches = &laid.stretches;
        if at < self.stretch || self.own {
            return stretches[at].cycles_before;
        }
        let begun = |at: usize| {
            let tempo = self.tempo_in(at, &stretches[at]);
            ceil_u64(&tempo.phase_at(stretches[at].end)).unwrap_or(0)
        };
        match (at - self.stretch) as u64 {
            0 => self.before,
            1 => self.before + begun(self.stretch),
            ahead => self.before + begun(self.stretch) + (ahead - 1) * begun(self.stretch + 1),
        }
    }
}

/// Where the next event of a cue is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    /// Which stretch of the repeat, and which event in it.
    pub stretch: usize,
    pub number: u64,
    /// Where it left the last stretch that it sounded in.
    pub left: (usize, u64),
    run: Run,
    /// Events until the run must be made anew, the present one included.
    count: u64,
    /// Which length of the repeat its last event was in.
    length: u64,
}

impl Place {
    /// The present event's elapsed cycles.
    pub fn phase(&self, lane: &Lane) -> Fix {
        lane.phase_of(self.number)
    }

    /// When the present event sounds, in s.
    #[inline]
    pub fn sounds_at(&self, lane: &Lane) -> Fix {
        self.run.time() - lane.lead
    }

    /// Whether the present event sounds: neither over the start signal, nor in the silence of a
    /// fade, nor a breath within the push-off from a wall.
    #[inline]
    pub fn sounds(&mut self, lane: &Lane, laid: &LaidRepeat, set: &SetLanes, pace: &Pace) -> bool {
        if laid.cues_from().exceeds(self.sounds_at(lane)) {
            return false;
        }
        if set.fade.is_none() && lane.kind != CueKind::Breath {
            return true;
        }
        let by_length = set.fade.is_some_and(|fade| fade.per == FadePer::Length);
        if let Some(fade) = set.fade.filter(|_| !by_length) {
            let before = pace.cycles_before(self.stretch, laid);
            if !fade.sounds(before + lane.cycle_of(self.number)) {
                return false;
            }
        }
        let is_breath = lane.kind == CueKind::Breath;
        let Some((every, walls)) = laid.walls.filter(|_| by_length || is_breath) else {
            return true;
        };
        let wall = |number: u64| laid.start + every.times(number.into());
        let time = self.run.time();
        while self.length < walls && !wall(self.length + 1).exceeds(time) {
            self.length += 1;
        }
        let too_near = self.length > 0 && (wall(self.length) + set.push_off).exceeds(time);
        let fade = set.fade.filter(|_| by_length);
        fade.is_none_or(|fade| fade.sounds(self.length)) && !(is_breath && too_near)
    }
}

/// The cues of one pairing and kick, and which event of each comes next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layer {
    pub pairing: Pairing,
    pub kick: Kick,
    pub places: [Place; MOST_LANES],
    /// The next event of each as [`key`]; [`DONE`] where there is none.
    pub keys: [u64; MOST_LANES],
    /// The phase from which on it is silent, in the stretch that it is in; [`Fix::MAX`] for none.
    pub until: Fix,
}

impl Layer {
    /// Every cue at the beginning of a repeat, none of them placed yet.
    pub fn new(pairing: Pairing, kick: Kick) -> Self {
        let place = Place {
            stretch: 0,
            number: 0,
            left: (0, 0),
            run: Run::Even(Even::default()),
            count: 0,
            length: 0,
        };
        Self {
            pairing,
            kick,
            places: [place; MOST_LANES],
            keys: [DONE; MOST_LANES],
            until: Fix::MAX,
        }
    }

    /// Places one cue's next event, by its number or, where its stretch is over, in the next.
    pub fn place(&mut self, at: usize, lane: &Lane, laid: &LaidRepeat, pace: &Pace, rate_hz: u32) {
        let place = &mut self.places[at];
        self.keys[at] = DONE;
        while let Some(stretch) = laid.stretches.get(place.stretch) {
            let phase = place.phase(lane);
            let tempo = pace.tempo_in(place.stretch, stretch);
            (place.run, place.count) =
                Run::new(&tempo, phase, lane.every, lane.lead, stretch.end, rate_hz);
            if phase < self.until && place.count > 0 {
                self.key(at, lane, laid, pace, rate_hz);
                return;
            }
            if self.until < Fix::MAX || place.stretch + 1 == laid.stretches.len() {
                return;
            }
            if place.number > 0 {
                place.left = (place.stretch, place.number);
            }
            (place.stretch, place.number) = (place.stretch + 1, 0);
        }
    }

    /// Goes to one cue's next event.
    #[inline]
    pub fn advance(
        &mut self,
        at: usize,
        lane: &Lane,
        laid: &LaidRepeat,
        pace: &Pace,
        rate_hz: u32,
    ) {
        let place = &mut self.places[at];
        place.number += 1;
        place.count -= 1;
        if place.count > 0 {
            place.run.advance();
            let goes_on = self.until == Fix::MAX || place.phase(lane) < self.until;
            if goes_on && !place.run.is_over() {
                self.key(at, lane, laid, pace, rate_hz);
                return;
            }
        }
        self.place(at, lane, laid, pace, rate_hz);
    }

    #[inline]
    fn key(&mut self, at: usize, lane: &Lane, laid: &LaidRepeat, pace: &Pace, rate_hz: u32) {
        let place = &self.places[at];
        let mut frame = place.run.frame();
        if place.run.is_close() {
            let tempo = pace.tempo_in(place.stretch, &laid.stretches[place.stretch]);
            if is_below(&tempo, place.phase(lane), lane.lead, rate_hz, frame) {
                frame -= 1;
            }
        }
        self.keys[at] = key(frame, lane.kind, Some(lane.side), at);
    }

    /// Whether the next breath sounds, and a cue at a time in s would hide it.
    pub fn next_breath_is_hidden(
        &self,
        cue: Fix,
        laid: &LaidRepeat,
        set: &SetLanes,
        pace: &Pace,
    ) -> bool {
        self.pattern(set).breaths().any(|(at, lane)| {
            // A copy: looking ahead moves nothing.
            let mut place = self.places[at];
            self.keys[at] != DONE
                && is_hidden(cue - place.sounds_at(lane))
                && place.sounds(lane, laid, set, pace)
        })
    }

    pub fn pattern<'t>(&self, set: &'t SetLanes) -> &'t Pattern {
        set.pattern(self.pairing, self.kick)
    }
}

/// Whether an event whose frame the grid cannot tell from the one before belongs to that one: where
/// nothing in it was rounded, whole numbers decide.
#[cold]
fn is_below(tempo: &Tempo, phase: Fix, lead: Fix, rate_hz: u32, frame: i64) -> bool {
    let (at, cycles) = (tempo.at - lead, phase - tempo.phase);
    let is_known = at.is_decimal() && cycles.is_decimal() && !cycles.is_negative();
    let halves = 2 * i128::from(frame) - 1;
    match tempo.to.spm.filter(|_| is_known && tempo.bend.is_zero()) {
        Some(spm) => reaches(at, cycles, spm, rate_hz, halves) == Some(false),
        None => false,
    }
}
