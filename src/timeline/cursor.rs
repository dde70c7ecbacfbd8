//! Events in order, read from a timeline; what a hand does to them is in `steer.rs`.

use std::ops::{Deref, Range};

use super::catch_up::catch_up;
use super::events::{Event, LaidRepeat, Timeline};
use super::hand::{Hand, StretchPhase};
use super::lanes::MOST_LANES;
use super::layer::{DONE, Layer, Pace, least};
use super::schedule::count_s;
use super::signals::Signals;
use super::tempo::{SteadyRate, Tempo};
use crate::model::breath_sound::is_hidden;
use crate::model::cue::CueKind;
use crate::model::kick::{Kick, Pairing};
use crate::units::Fix;

/// Events in order of frame; on one frame arm, kick, fill, breath, wall, count, start, end, and
/// left before right before both. Each is given once, when its frame has come: a hand moves what
/// has not sounded, and nothing else. Never allocates.
///
/// `T` lends the timeline: a reference, or a share of it where the events outlive their maker.
#[derive(Debug, Clone)]
pub struct Cursor<T> {
    pub(super) timeline: T,
    /// Index of the repeat that is read, and of the first one that is not.
    pub(super) current: usize,
    pub(super) end: usize,
    pub(super) layer: Layer,
    pub(super) signals: Signals,
    pub(super) pace: Pace,
    pub(super) hand: Hand,
    last_breath: Option<LastBreath>,
    /// Whether nobody hears the breaths: then nothing gives way to them.
    breath_is_mute: bool,
}

/// The breath that has sounded last in a repeat.
#[derive(Debug, Clone, Copy)]
struct LastBreath {
    stretch: usize,
    phase: Fix,
    /// When its sound began, s.
    at: Fix,
}

impl Timeline {
    /// All events in order.
    pub fn events(&self) -> Cursor<&Self> {
        self.events_of(0..self.laid.len())
    }

    /// The events of a run of repeats, in order.
    ///
    /// Repeats never overlap: the counts begin 1 s or more after the end before, and no lead moves
    /// a cue by more than 0.3.
    pub fn events_of(&self, repeats: Range<usize>) -> Cursor<&Self> {
        Cursor::new(self, repeats)
    }
}

impl<T: Deref<Target = Timeline>> Cursor<T> {
    /// The events of a run of repeats, as [`Timeline::events_of`] gives them.
    pub fn new(timeline: T, repeats: Range<usize>) -> Self {
        let nothing = Tempo::steady(Fix::ZERO, Fix::ZERO, SteadyRate::hz(Fix::ONE));
        let mut cursor = Self {
            end: repeats.end.min(timeline.repeats()),
            timeline,
            current: repeats.start,
            layer: Layer::new(Pairing::SameSide, Kick::TwoBeat),
            signals: Signals::none(),
            pace: Pace {
                tempo: nothing,
                stretch: 0,
                own: true,
                before: 0,
            },
            hand: Hand::default(),
            last_breath: None,
            breath_is_mute: false,
        };
        cursor.enter();
        cursor
    }

    /// Goes to the first event of another repeat, as the session has it; nothing is left where
    /// there is none of that index.
    pub fn go_to(&mut self, repeat: usize) {
        self.current = repeat;
        self.hand = Hand::default();
        self.enter();
    }

    /// Whether nobody hears the breaths from now on.
    pub fn mute_breath(&mut self, muted: bool) {
        self.breath_is_mute = muted;
    }

    /// Goes on at frame `now` with the same session laid out otherwise. A swim that is going on goes
    /// on, with all that a hand has changed in it, up to its new end; elsewhere what was changed
    /// stays within its set. Gives the timeline of before.
    pub fn lay(&mut self, timeline: T, now: u64) -> T {
        let set_of = |timeline: &Timeline, at: usize| timeline.laid(at).map(|laid| laid.set);
        let repeat = timeline.repeat_to_come(now);
        let swims_on = self.is_in_swim(&timeline, now);
        let same_set = set_of(&self.timeline, self.current) == set_of(&timeline, repeat);
        if !swims_on {
            self.keep_rate_ahead(now, same_set);
        }
        self.keep_rate();
        let before = std::mem::replace(&mut self.timeline, timeline);
        self.end = self.timeline.repeats();
        self.current = repeat;
        if swims_on {
            if let Some(laid) = self.timeline.laid.get(repeat) {
                let set = &self.timeline.sets[laid.set];
                self.signals.lay(set, laid, self.timeline.sample_rate_hz());
            }
            let now = self.stand(now);
            self.place_again(now);
        } else {
            self.hand.begin(same_set);
            self.enter();
        }
        self.signals.skip_to(now);
        let rate_hz = self.timeline.sample_rate_hz();
        if (self.timeline.laid(self.current)).is_some_and(|laid| laid.is_over(now, rate_hz)) {
            // The last swim is over: none of it sounds again.
            self.layer.keys = [DONE; MOST_LANES];
        }
        // Whatever it was laid from, nothing that is past sounds late.
        while self.next_before(now).is_some() {}
        before
    }

    /// Whether what sounds at present is the swim that a timeline has at frame `now`.
    pub fn is_in_swim(&self, timeline: &Timeline, now: u64) -> bool {
        let is = |laid: &LaidRepeat| (laid.set, laid.number, laid.start);
        let theirs = timeline.laid(timeline.repeat_to_come(now));
        match (self.timeline.laid(self.current), theirs) {
            (Some(present), Some(other)) => is(present) == is(other),
            _ => false,
        }
    }

    /// Takes the place of another cursor at frame `now`, in a swim that was left for a while: its
    /// clock ran on, and what has sounded meanwhile is passed over.
    pub fn relieve(&mut self, other: &Self, now: u64) {
        self.breath_is_mute = other.breath_is_mute;
        if self.view(now).phase.is_some() {
            let at = self.stand(now);
            self.hand.forget();
            self.begin_at(self.pace.tempo.phase_at(at));
            self.place_all();
        }
        while self.next_before(now).is_some() {}
    }

    /// Goes to the next repeat; what a hand has changed stays within its set. Whether there is one.
    pub(super) fn go_on(&mut self) -> bool {
        let set_of = |repeat: usize| self.timeline.laid(repeat).map(|laid| laid.set);
        if self.current >= self.end {
            return false;
        }
        let same_set = set_of(self.current) == set_of(self.current + 1);
        self.keep_rate();
        self.current += 1;
        self.hand.begin(same_set);
        self.enter();
        true
    }

    /// Places everything at the beginning of the current repeat.
    fn enter(&mut self) {
        self.last_breath = None;
        let laid = &self.timeline.laid[..self.end];
        let Some((set, number, is_comparison)) =
            (laid.get(self.current)).map(|laid| (laid.set, laid.number, laid.is_comparison))
        else {
            self.layer.keys = [DONE; MOST_LANES];
            self.signals = Signals::none();
            return;
        };
        let by_hand = self.rate_of(set, number, is_comparison);
        let timeline = &*self.timeline;
        let (set, laid) = (&timeline.sets[set], &timeline.laid[self.current]);
        let (pairing, kick) = if self.hand.keeps_feet() {
            (self.layer.pairing, self.layer.kick)
        } else {
            (set.pairing, set.kick)
        };
        self.layer = Layer::new(pairing, kick);
        let count_s = by_hand.map_or(laid.count_s, |rate| count_s(rate, laid.longest_count_s));
        self.signals = Signals::new(set, laid, count_s, timeline.sample_rate_hz());
        // Where push-offs leave nothing to swim, the first entry is never reached.
        let own = (laid.stretches.first()).map_or_else(
            || Tempo::steady(laid.end, Fix::ZERO, self.pace.tempo.to),
            |first| first.tempo,
        );
        self.pace = Pace {
            tempo: by_hand.map_or(own, |rate| Tempo::steady(own.at, Fix::ZERO, rate)),
            stretch: 0,
            own: by_hand.is_none(),
            before: 0,
        };
        self.place_all();
    }

    /// Places every cue of the layer at its number.
    pub(super) fn place_all(&mut self) {
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let pattern = self.layer.pattern(&timeline.sets[laid.set]);
        for (at, lane) in pattern.lanes.iter().enumerate() {
            let rate_hz = timeline.sample_rate_hz();
            self.layer.place(at, lane, laid, &self.pace, rate_hz);
        }
    }

    /// The next event before frame `end`, if there is one.
    #[inline]
    pub fn next_before(&mut self, end: u64) -> Option<Event> {
        loop {
            let own = least(&self.layer.keys);
            let (cue, leaves) = if self.hand.is_idle() {
                (own, false)
            } else {
                self.with_hand(own, end)
            };
            let signal = least(&self.signals.keys);
            let next = cue.min(signal);
            if next == DONE {
                if !self.go_on() {
                    return None;
                }
                continue;
            }
            if next >> 12 >= end {
                return None;
            }
            if signal < cue {
                let laid = &self.timeline.laid[self.current];
                return Some(self.signals.take(signal, laid));
            }
            if let Some(event) = self.take(cue, leaves) {
                return Some(event);
            }
        }
    }

    /// Takes the cue of a key; none where it does not sound.
    #[inline]
    fn take(&mut self, key: u64, leaves: bool) -> Option<Event> {
        let timeline = &*self.timeline;
        let laid = &timeline.laid[self.current];
        let set = &timeline.sets[laid.set];
        let layer = match (leaves, &mut self.hand.leaving) {
            (true, Some(leaving)) => leaving,
            _ => &mut self.layer,
        };
        let at = (key & 0xf) as usize;
        let pattern = layer.pattern(set);
        let lane = &pattern.lanes[at];
        let place = &mut layer.places[at];
        let (stretch, number) = (place.stretch, place.number);
        let (sounds, sounds_at) = (
            place.sounds(lane, laid, set, &self.pace),
            place.sounds_at(lane),
        );
        layer.advance(at, lane, laid, &self.pace, timeline.sample_rate_hz());
        if lane.is_beat() {
            let beat = StretchPhase {
                stretch,
                cycles: number * lane.every,
                after: lane.first,
            };
            let leg = lane.side as usize;
            if !self
                .hand
                .settles(beat, leg, pattern.smallest_gap[leg], leaves)
            {
                return None;
            }
        }
        let event = Event {
            frame: key >> 12,
            kind: lane.kind,
            side: Some(lane.side),
            set: laid.set as u32 + 1,
            repeat: laid.number,
            beat: Some((
                self.pace.cycles_before(stretch, laid) + lane.cycle_of(number),
                lane.phase_micro,
            )),
        };
        let (kind, phase) = (lane.kind, lane.phase_of(number));
        (sounds && self.breath_allows(kind, stretch, phase, sounds_at)).then_some(event)
    }

    /// Whether a cue may sound beside the breaths: one between the paired kicks gives way to a
    /// breath that sounds, and no breath sounds twice, however the hand has changed what comes.
    #[inline]
    fn breath_allows(&mut self, kind: CueKind, stretch: usize, phase: Fix, sounds_at: Fix) -> bool {
        match kind {
            CueKind::Fill => self.breath_is_mute || !self.hides_breath(sounds_at),
            CueKind::Breath => {
                let again = (self.last_breath)
                    .is_some_and(|last| last.stretch == stretch && last.phase >= phase);
                if !again {
                    self.last_breath = Some(LastBreath {
                        stretch,
                        phase,
                        at: sounds_at,
                    });
                }
                !again
            }
            _ => true,
        }
    }

    /// Whether a cue at a time in s would hide the breath before it or the one after it.
    fn hides_breath(&self, cue: Fix) -> bool {
        let laid = &self.timeline.laid[self.current];
        let set = &self.timeline.sets[laid.set];
        let before = (self.last_breath).is_some_and(|breath| is_hidden(cue - breath.at));
        let layers = self.hand.leaving.iter().chain([&self.layer]);
        before
            || (layers.into_iter())
                .any(|layer| layer.next_breath_is_hidden(cue, laid, set, &self.pace))
    }

    /// Places what has not sounded by time `now` in s, at the present tempo. A cue that had gone on to
    /// a later stretch and not sounded there comes back; one of an earlier stretch, sounding late,
    /// stays.
    pub(super) fn place_again(&mut self, now: Fix) {
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let (set, rate_hz) = (&timeline.sets[laid.set], timeline.sample_rate_hz());
        let present = self.pace.stretch;
        // After the last stretch nothing comes back: at another tempo it would be in the past.
        let stretch = laid.stretches.get(present);
        let over = stretch.map(|one| one.end).filter(|end| *end <= now);
        let leaving = self.hand.leaving.iter_mut();
        for layer in leaving.chain(std::iter::once(&mut self.layer)) {
            for (at, lane) in layer.pattern(set).lanes.iter().enumerate() {
                let place = &mut layer.places[at];
                if place.stretch < present && layer.keys[at] != DONE {
                    continue;
                }
                if let Some(end) = over {
                    if place.stretch > present || place.sounds_at(lane) + lane.lead >= end {
                        layer.keys[at] = DONE;
                    }
                    continue;
                }
                if place.stretch > present && place.number == 0 {
                    place.number = match place.left {
                        (stretch, number) if stretch == present => number,
                        _ => 0,
                    };
                    place.stretch = present;
                }
                layer.place(at, lane, laid, &self.pace, rate_hz);
            }
        }
    }

    /// The key of the next cue beside what a hand has under way, `own` being that of the layer, and
    /// whether it belongs to the cues that leave.
    fn with_hand(&mut self, own: u64, end: u64) -> (u64, bool) {
        let mut own = own;
        loop {
            let old = (self.hand.leaving.as_ref()).map_or(DONE, |old| least(&old.keys));
            // On one frame the new come first.
            let leaves = old >> 4 < own >> 4;
            let next = if leaves { old } else { own };
            let Some((aim, look_again)) = self.hand.aim else {
                return (next, leaves);
            };
            let Some(at) = self.looks_again(next, leaves, look_again) else {
                return (next, leaves);
            };
            // The tempo is looked at again before anything of later is placed.
            let rate_hz = self.timeline.sample_rate_hz();
            if at.in_frames(rate_hz).0 >= i64::try_from(end).unwrap_or(i64::MAX) {
                return (DONE - 1, false);
            }
            self.pace.tempo = catch_up(&self.pace.tempo, at, look_again, &aim, rate_hz);
            self.hand.aim = Some((aim, look_again + Fix::HALF));
            self.place_again(at);
            own = least(&self.layer.keys);
        }
    }

    /// When the tempo is to be looked at again, if that is before the cue of a key. At the end of
    /// a stretch the cues go on by themselves.
    fn looks_again(&mut self, next: u64, leaves: bool, look_again: Fix) -> Option<Fix> {
        let timeline = &*self.timeline;
        let laid = timeline.laid.get(self.current)?;
        let present = self.pace.stretch;
        if next != DONE {
            let layer = match (leaves, &self.hand.leaving) {
                (true, Some(old)) => old,
                _ => &self.layer,
            };
            let at = (next & 0xf) as usize;
            let lane = &layer.pattern(&timeline.sets[laid.set]).lanes[at];
            let place = &layer.places[at];
            if place.stretch < present
                || (place.stretch == present && place.phase(lane) <= look_again)
            {
                return None;
            }
        }
        let at = self.pace.tempo.time_of(look_again);
        if laid
            .stretches
            .get(present)
            .is_some_and(|stretch| stretch.end.exceeds(at))
        {
            return Some(at);
        }
        self.hand.aim = None;
        None
    }
}

impl<T: Deref<Target = Timeline>> Iterator for Cursor<T> {
    type Item = Event;

    #[inline]
    fn next(&mut self) -> Option<Event> {
        self.next_before(u64::MAX)
    }
}
