//! A hand on the cues while they sound: another rate, pairing or kick, a stroke to follow.
//!
//! In: wishes, each at the frame that comes next. What has not sounded moves, and nothing else: an
//! event is placed by its number and the present tempo. Signals and walls stay on the session's
//! clock. What was changed holds to the end of the set, but
//! for its repeats for comparison: their rate is their own, and so is what a hand makes of it.
//! Never allocates.

use std::ops::Deref;

use super::catch_up::Aim;
use super::cursor::Cursor;
use super::events::{LaidRepeat, Timeline};
use super::layer::{Layer, Pace};
use super::schedule::count_s;
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
    /// Whether the rate is the session's own.
    pub own_rate: bool,
    /// The rate that a hand has set for this set, its comparisons apart, cycles a frame.
    pub by_hand: Option<f64>,
}

impl<T: Deref<Target = Timeline>> Cursor<T> {
    /// Takes another rate from frame `now` on, over `bend` cycles (0: at once).
    pub fn change(&mut self, now: u64, to: SteadyRate, bend: Fix) {
        let now = self.stand(now);
        self.hand.touched.0 = true;
        self.hand.aim = None;
        self.set_rate(now, to, bend);
    }

    /// Goes back to the session's own rate from frame `now` on, over `bend` cycles (0: at once); a ramp
    /// is again where it would have come to.
    pub fn change_back(&mut self, now: u64, bend: Fix) {
        let now = self.stand(now);
        self.hand.aim = None;
        self.hand.followed = None;
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let Some(stretch) = laid.stretches.get(self.pace.stretch) else {
            return;
        };
        let (own, phase) = (stretch.tempo, self.pace.tempo.phase_at(now));
        if !laid.is_comparison {
            self.hand.rate = None;
        }
        self.pace.own = true;
        if phase.is_negative() {
            let hz = timeline.sample_rate_hz();
            self.pace.tempo = own;
            self.signals.count_again(laid, laid.count_s, now, hz);
        } else if own.bend.is_zero() {
            self.pace.tempo = self.pace.tempo.change(now, own.to, bend);
        } else {
            self.pace.tempo = Tempo::ramp(now, phase, own.beat_at(now), own.to, stretch.end);
        }
        self.place_again(now);
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
            self.place_again(now);
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
        self.place_again(now);
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
            let alone = self.rate_alone();
            self.set_rate(now, alone, Fix::ZERO);
            return;
        };
        self.hand.touched.0 = true;
        let look_again = match self.hand.aim {
            Some((_, look_again)) => look_again,
            None => next_entry(self.pace.tempo.phase_at(now).times(2)).mul_div(exact(1), exact(2)),
        };
        self.hand.aim = Some((aim, look_again));
        let hz = aim.frequency * f64::from(self.timeline.sample_rate_hz());
        self.hand.followed = Some(SteadyRate::hz(Fix::from_f64(hz)));
        self.place_again(now);
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
            Tempo::steady(now, entry, self.rate_alone())
        };
        self.hand.forget();
        self.begin_at(entry);
        self.leave_late_breaths(now);
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
        let same_set = (timeline.laid.get(self.current)).is_some_and(|own| own.set == laid.set);
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
            own_rate: !here || self.pace.own,
            by_hand: self.rate_by_hand().filter(|_| same_set).map(frequency),
        }
    }

    fn time_of_frame(&self, frame: u64) -> Fix {
        Fix::new(frame.into(), self.timeline.sample_rate_hz().into())
    }

    /// Makes the repeat and the stretch that frame `now` belongs to the present ones; its time. Of a
    /// swim that is over, cues that a lead would have had sound after its end are left out.
    pub(super) fn stand(&mut self, now: u64) -> Fix {
        let rate_hz = self.timeline.sample_rate_hz();
        let is_over = |laid: &LaidRepeat| laid.is_over(now, rate_hz);
        while self.current + 1 < self.timeline.repeats()
            && self.timeline.laid.get(self.current).is_some_and(is_over)
        {
            if !self.go_on() {
                break;
            }
        }
        let now = self.time_of_frame(now);
        let Some(laid) = self.timeline.laid.get(self.current) else {
            return now;
        };
        let stretch = (laid.stretches).partition_point(|stretch| !stretch.end.exceeds(now));
        if stretch > self.pace.stretch
            && let Some(next) = laid.stretches.get(stretch)
        {
            self.pace = Pace {
                tempo: self.pace.tempo_in(stretch, next),
                stretch,
                before: self.pace.cycles_before(stretch, laid),
                ..self.pace
            };
            self.hand.forget();
        }
        now
    }

    fn set_rate(&mut self, now: Fix, to: SteadyRate, bend: Fix) {
        self.pace.own = false;
        self.hand.followed = None;
        let tempo = self.pace.tempo;
        self.pace.tempo = if tempo.phase_at(now).is_negative() {
            self.count_at(now, to);
            Tempo::steady(tempo.time_of(Fix::ZERO), Fix::ZERO, to)
        } else {
            tempo.change(now, to, bend)
        };
        self.place_again(now);
    }

    /// Has the counts carry a rate that is set before they begin.
    fn count_at(&mut self, now: Fix, rate: SteadyRate) {
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let (count_s, hz) = (
            count_s(rate, laid.longest_count_s),
            timeline.sample_rate_hz(),
        );
        self.signals.count_again(laid, count_s, now, hz);
    }

    /// Sets every cue of the layer to its first event at a phase of the present stretch or later.
    pub(super) fn begin_at(&mut self, entry: Fix) {
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

    /// Leaves out the breaths whose sound would have begun before a time in s: late, it would rise
    /// as the head turns.
    fn leave_late_breaths(&mut self, now: Fix) {
        let timeline = &*self.timeline;
        let Some(laid) = timeline.laid.get(self.current) else {
            return;
        };
        let tempo = self.pace.tempo;
        let pattern = self.layer.pattern(&timeline.sets[laid.set]);
        for (at, lane) in pattern.breaths() {
            let place = &mut self.layer.places[at];
            while now.exceeds(tempo.time_of(place.phase(lane)) - lane.lead) {
                place.number += 1;
            }
        }
    }
}

/// The first whole phase from a phase on, 0 or later.
fn next_entry(phase: Fix) -> Fix {
    Fix::from_integer(phase.whole_above().max(0))
}

#[cfg(test)]
mod tests;
