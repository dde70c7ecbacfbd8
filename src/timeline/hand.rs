//! A hand on the cues while they sound: another rate, pairing or kick, a stroke to follow.
//!
//! In: wishes, each at the frame that comes next. What has not sounded moves, and nothing else: an
//! event is placed by its number and the present tempo. Signals and walls stay on the session's
//! clock. What was changed holds to the end of the set. Never allocates.

use std::ops::Deref;

use super::catch_up::{Aim, catch_up};
use super::cursor::Cursor;
use super::events::{LaidRepeat, Timeline};
use super::layer::{DONE, Layer, least};
use super::tempo::{SteadyRate, Tempo};
use crate::model::kick::{Kick, Pairing};
use crate::units::{Fix, exact, to_f64};

/// What a hand may change in a repeat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandWish {
    /// Cycles a frame.
    pub frequency: f64,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
}

/// Where the cycle is, and how it goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Index of the repeat that is swum or comes next.
    pub repeat: usize,
    /// Elapsed cycles, negative before the first entry; none between two swims.
    pub phase: Option<f64>,
    /// Cycles a frame at present.
    pub frequency: f64,
    /// Where the tempo is going, the pairing and the kick that sound or are about to. A ramp of
    /// the session's is nobody's wish: its present tempo.
    pub wish: HandWish,
    /// Whether a pairing or kick still waits for its entry.
    pub switching: bool,
}

/// Cycles after a change of pairing in which a beat may come too close to one of before.
const SETTLING: Fix = Fix::ONE;

/// A moment in a repeat: its stretch, and the phase there as whole cycles after another phase. The
/// sum is made only where it is needed: every beat leaves its moment behind.
#[derive(Debug, Clone, Copy)]
pub(super) struct StretchPhase {
    pub stretch: usize,
    pub cycles: u64,
    pub after: Fix,
}

impl StretchPhase {
    fn phase(&self) -> Fix {
        self.after + Fix::from_integer(self.cycles.into())
    }
}

/// What a hand has changed.
#[derive(Debug, Clone, Default)]
pub(super) struct Hand {
    /// In this set: the rate, the pairing or kick.
    touched: (bool, bool),
    /// The cues that sound up to the entry at which the others begin.
    pub leaving: Option<Layer>,
    /// Each leg's last beat, left and right.
    last_beat: [Option<StretchPhase>; 2],
    /// The stretch and the phase of the last switch, and the smallest gap of before for each leg.
    switched: Option<(usize, Fix, [Fix; 2])>,
    /// What the cues follow, and the phase at which the tempo is looked at again.
    aim: Option<(Aim, Fix)>,
}

impl Hand {
    /// At the beginning of a repeat: of the same set, or of another, which is the session's again.
    pub fn begin(&mut self, same_set: bool) {
        *self = Self {
            touched: if same_set {
                self.touched
            } else {
                (false, false)
            },
            ..Self::default()
        };
    }

    #[inline]
    pub fn is_idle(&self) -> bool {
        self.leaving.is_none() && self.aim.is_none()
    }

    pub fn keeps_rate(&self) -> bool {
        self.touched.0
    }

    pub fn keeps_feet(&self) -> bool {
        self.touched.1
    }

    /// Forgets what waits and what has sounded in a stretch: the phase begins anew.
    fn forget(&mut self) {
        *self = Self {
            touched: self.touched,
            ..Self::default()
        };
    }

    /// Whether a beat sounds: after a switch, none so soon after one of before.
    #[inline]
    pub fn settles(&mut self, beat: StretchPhase, leg: usize, gap: Fix, leaves: bool) -> bool {
        if let Some((stretch, entry, gaps)) = self.switched
            && stretch == beat.stretch
            && let Some(last) = self.last_beat[leg].filter(|last| last.stretch == stretch)
        {
            let phase = beat.phase();
            let settling = !leaves && phase < entry + SETTLING;
            if settling && (phase - last.phase()).times(2) < gap.min(gaps[leg]) {
                return false;
            }
        }
        self.last_beat[leg] = Some(beat);
        true
    }
}

impl<T: Deref<Target = Timeline>> Cursor<T> {
    /// Takes another rate from frame `now` on, over `bend` cycles (0: at once).
    pub fn change(&mut self, now: u64, to: SteadyRate, bend: Fix) {
        let now = self.stand(now);
        self.hand.touched.0 = true;
        self.hand.aim = None;
        self.set_rate(now, to, bend);
    }

    /// Takes another pairing and kick from the next entry of the first arm on.
    pub fn switch(&mut self, now: u64, pairing: Pairing, kick: Kick) {
        let now = self.stand(now);
        self.hand.touched.1 = true;
        let Some(laid) = self.timeline.laid.get(self.current) else {
            return;
        };
        let set = &self.timeline.sets[laid.set];
        // A switch that still waits is replaced, as if it had never been asked for.
        if let Some(old) = self.hand.leaving.take()
            && self.pace.tempo.time_of(old.until) > now
        {
            self.layer = Layer {
                until: Fix::MAX,
                ..old
            };
        }
        if (self.layer.pairing, self.layer.kick) == (pairing, kick) {
            self.place_again();
            return;
        }
        let entry = next_entry(self.pace.tempo.phase_at(now));
        let stretch = self.pace.stretch;
        let gaps = self.layer.pattern(set).smallest_gap;
        self.hand.switched = Some((stretch, entry, gaps));
        let mut old = std::mem::replace(&mut self.layer, Layer::new(pairing, kick));
        old.until = entry;
        self.hand.leaving = Some(old);
        self.begin_at(entry);
        self.place_again();
    }

    /// Follows another stroke from frame `now` on, or goes on by itself.
    pub fn set_aim(&mut self, now: u64, aim: Option<Aim>) {
        if aim.is_none() && self.hand.aim.is_none() {
            return;
        }
        let now = self.stand(now);
        self.pace.own = false;
        let Some(aim) = aim else {
            self.hand.aim = None;
            self.set_rate(now, self.pace.tempo.beat_at(now), Fix::ZERO);
            return;
        };
        self.hand.touched.0 = true;
        let look_again = match self.hand.aim {
            Some((_, look_again)) => look_again,
            None => next_entry(self.pace.tempo.phase_at(now).times(2)).mul_div(exact(1), exact(2)),
        };
        self.hand.aim = Some((aim, look_again));
        self.place_again();
    }

    /// Begins anew at frame `now` with the entry of the first arm: after a pause, where somebody
    /// is swimming.
    pub fn restart(&mut self, now: u64) {
        if self.view(now).phase.is_none() {
            return;
        }
        let now = self.stand(now);
        let phase = self.pace.tempo.phase_at(now);
        let Some(own) = (self.timeline.laid.get(self.current))
            .and_then(|laid| laid.stretches.get(self.pace.stretch))
            .filter(|_| !phase.is_negative())
        else {
            return;
        };
        let entry = next_entry(phase);
        self.pace.tempo = if self.pace.own {
            Tempo::ramp(now, entry, own.tempo.beat_at(now), own.tempo.to, own.end)
        } else {
            Tempo::steady(now, entry, self.pace.tempo.to)
        };
        self.hand.forget();
        self.begin_at(entry);
        self.place_all();
    }

    /// Whether a hand has changed the set that is swum.
    pub fn is_touched(&self) -> bool {
        self.hand.touched != (false, false)
    }

    /// Whether the cues follow a stroke.
    pub fn is_following(&self) -> bool {
        self.hand.aim.is_some()
    }

    /// Where the cycle is at a frame.
    pub fn view(&self, now: u64) -> View {
        let timeline = &*self.timeline;
        let rate = f64::from(timeline.sample_rate_hz());
        let now = self.time_of_frame(now);
        let repeat = timeline.repeat_at(now);
        let laid = &timeline.laid[repeat];
        let set = &timeline.sets[laid.set];
        let here = repeat == self.current;
        let at = (laid.stretches).partition_point(|stretch| stretch.tempo.at <= now);
        let at = at
            .saturating_sub(1)
            .max(if here { self.pace.stretch } else { 0 });
        let tempo = match laid.stretches.get(at) {
            Some(stretch) if here => self.pace.tempo_in(at, stretch),
            Some(stretch) => stretch.tempo,
            None => self.pace.tempo,
        };
        let frequency = |beat: SteadyRate| to_f64(&beat.hz) / rate;
        let beat = tempo.beat_at(now);
        let present = frequency(beat);
        let (pairing, kick) = if here {
            (self.layer.pairing, self.layer.kick)
        } else {
            (set.pairing, set.kick)
        };
        let swims = laid.start <= now && now < laid.end;
        let waits = |old: &Layer| here && self.pace.tempo.time_of(old.until) > now;
        View {
            repeat,
            phase: swims.then(|| to_f64(&tempo.phase_at(now))),
            frequency: present,
            wish: HandWish {
                frequency: if here && !self.pace.own && beat != tempo.to {
                    frequency(tempo.to)
                } else {
                    present
                },
                pairing,
                kick,
            },
            switching: self.hand.leaving.as_ref().is_some_and(waits),
        }
    }

    fn time_of_frame(&self, frame: u64) -> Fix {
        Fix::new(frame.into(), self.timeline.sample_rate_hz().into())
    }

    /// Makes the repeat and the stretch that frame `now` belongs to the present ones; its time.
    fn stand(&mut self, now: u64) -> Fix {
        let now = self.time_of_frame(now);
        let is_over = |laid: &LaidRepeat| !laid.end.exceeds(now);
        while self.current + 1 < self.timeline.repeats()
            && self.timeline.laid.get(self.current).is_some_and(is_over)
        {
            if !self.go_on() {
                break;
            }
        }
        let Some(laid) = self.timeline.laid.get(self.current) else {
            return now;
        };
        let stretch = (laid.stretches).partition_point(|stretch| !stretch.end.exceeds(now));
        if stretch > self.pace.stretch
            && let Some(next) = laid.stretches.get(stretch)
        {
            self.pace.tempo = self.pace.tempo_in(stretch, next);
            self.pace.stretch = stretch;
            self.hand.forget();
        }
        now
    }

    fn set_rate(&mut self, now: Fix, to: SteadyRate, bend: Fix) {
        self.pace.own = false;
        let tempo = &self.pace.tempo;
        self.pace.tempo = if tempo.phase_at(now).is_negative() {
            Tempo::steady(tempo.time_of(Fix::ZERO), Fix::ZERO, to)
        } else {
            tempo.change(now, to, bend)
        };
        self.place_again();
    }

    /// Sets every cue of the layer to its first event at a phase of the present stretch or later.
    fn begin_at(&mut self, entry: Fix) {
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let pattern = self.layer.pattern(&timeline.sets[laid.set]);
        for (place, lane) in self.layer.places.iter_mut().zip(&pattern.lanes) {
            place.stretch = self.pace.stretch;
            place.number = lane.first_from(entry);
        }
    }

    /// Places what has not sounded at the present tempo. A cue that had gone on to a later stretch
    /// and not sounded there comes back; one of an earlier stretch, sounding late, stays.
    fn place_again(&mut self) {
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let (set, rate_hz) = (&timeline.sets[laid.set], timeline.sample_rate_hz());
        let present = self.pace.stretch;
        let leaving = self.hand.leaving.iter_mut();
        for layer in leaving.chain(std::iter::once(&mut self.layer)) {
            for (at, lane) in layer.pattern(set).lanes.iter().enumerate() {
                let place = &mut layer.places[at];
                if place.stretch < present && layer.keys[at] != DONE {
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
    pub(super) fn with_hand(&mut self, own: u64, end: u64) -> (u64, bool) {
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
            self.place_again();
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

/// The first whole phase from a phase on, 0 or later.
fn next_entry(phase: Fix) -> Fix {
    Fix::from_integer(phase.whole_above().max(0))
}

#[cfg(test)]
mod tests;
