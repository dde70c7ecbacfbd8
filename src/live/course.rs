//! The cues of one repeat under a coach's hand.
//!
//! In: a plan, a frame to begin at, wishes as they come. Out: events in order, each once. An
//! event is computed from its number and the present tempo, and given away only when its frame
//! has come: a wish moves what has not sounded, and nothing else. Never allocates.

use super::pace::Pace;
use super::servo::{Aim, servo};
use crate::model::cue::{Kind, Side};
use crate::model::kick::{Kick, Pairing};
use crate::model::session::FadePer;
use crate::timeline::{CueAt, Event, MOST_CUES, Plan, RepeatPlan, StretchPlan, ramp_time_s};

/// What a coach may change in a repeat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// Cycles a frame.
    pub frequency: f64,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
}

/// One pairing and kick, and which event of each of its cues comes next.
#[derive(Debug, Clone, Copy)]
struct Layer {
    pairing: Pairing,
    kick: Kick,
    next: [u64; MOST_CUES],
}

/// Where the next event is.
#[derive(Debug, Clone, Copy)]
struct Found {
    frame: u64,
    phase: f64,
    cue: usize,
    /// Whether it belongs to the layer that is on its way out.
    leaving: bool,
}

/// Cycles after a change of pairing in which a beat may come too close to one of before.
const SETTLING: f64 = 1.0;

/// One repeat, from a frame on.
#[derive(Debug, Clone, Copy)]
pub struct Course {
    repeat: usize,
    stretch: usize,
    pace: Pace,
    /// Whether that is still the session's own tempo, which may be a ramp by time.
    own: bool,
    layer: Layer,
    /// The layer that sounds up to the whole phase beside it.
    leaving: Option<(Layer, f64)>,
    /// Phase of each leg's last beat, left and right.
    last_beat: [f64; 2],
    /// The phase of the last switch, and the smallest gap of before for each leg.
    switched: (f64, [f64; 2]),
    /// What the cues follow, and the phase at which the tempo is looked at again.
    aim: Option<(Aim, f64)>,
}

impl Course {
    /// The course of a repeat from frame `position` on, at the tempo that the session has there,
    /// with the session's own pairing and kick. None once its last stretch is over.
    pub fn at(plan: &Plan, repeat: usize, position: f64) -> Option<Self> {
        let swim = plan.repeats.get(repeat)?;
        let stretch = (swim.stretches).partition_point(|stretch| stretch.end <= position);
        let own = swim.stretches.get(stretch)?;
        let pace = ramp(own, own.start, 0.0);
        let phase = pace.phase_at(position.max(own.start));
        let set = &plan.sets[swim.set];
        let mut course = Self {
            repeat,
            stretch,
            pace,
            own: true,
            layer: Layer {
                pairing: set.pairing,
                kick: set.kick,
                next: [0; MOST_CUES],
            },
            leaving: None,
            last_beat: [f64::NEG_INFINITY; 2],
            switched: (f64::NEG_INFINITY, [1.0; 2]),
            aim: None,
        };
        // What the session has sounded already: the same rounding as the session's own.
        for (at, cue) in set.pattern(set.pairing, set.kick).cues() {
            let mut number = ((phase - cue.first) / cue.every - 2.0).max(0.0).floor() as u64;
            while own_frame(own, cue, number) < position {
                let beat = cue.first + cue.every * number as f64;
                if matches!(cue.kind, Kind::Kick | Kind::Fill) {
                    let last = &mut course.last_beat[cue.side as usize];
                    *last = last.max(beat);
                }
                number += 1;
            }
            course.layer.next[at] = number;
        }
        Some(course)
    }

    /// The index of its repeat.
    pub fn repeat(&self) -> usize {
        self.repeat
    }

    /// Elapsed cycles at a frame; negative before the first entry.
    pub fn phase_at(&self, frame: f64) -> f64 {
        self.pace.phase_at(frame)
    }

    /// Cycles a frame at a frame.
    pub fn frequency_at(&self, frame: f64) -> f64 {
        self.pace.frequency_at(frame)
    }

    /// Where the tempo is going, the pairing and the kick that sound or are about to. A ramp of
    /// the session's is nobody's wish: its present tempo.
    pub fn wish(&self, position: f64) -> Wish {
        Wish {
            frequency: match self.own {
                true => self.pace.frequency_at(position),
                false => self.pace.goal(),
            },
            pairing: self.layer.pairing,
            kick: self.layer.kick,
        }
    }

    /// Whether it follows another stroke.
    pub fn is_following(&self) -> bool {
        self.aim.is_some()
    }

    /// Whether a switch of pairing or kick still waits for its entry.
    pub fn is_switching(&self, position: f64) -> bool {
        (self.leaving).is_some_and(|(_, until)| self.pace.frame_at(until) > position)
    }

    /// Takes another rate from frame `position` on, over `bend` cycles (0: at once).
    pub fn set_frequency(&mut self, position: f64, frequency: f64, bend: f64) {
        self.aim = None;
        self.own = false;
        self.pace = match self.pace.phase_at(position) >= 0.0 {
            true => self.pace.to_frequency(position, frequency, bend),
            // Before the first entry there is nothing to be continuous with but that entry.
            false => Pace::steady(self.pace.frame_at(0.0), 0.0, frequency),
        };
    }

    /// Follows another stroke from frame `position` on, or goes on by itself.
    pub fn set_aim(&mut self, position: f64, aim: Option<Aim>) {
        if aim.is_none() && self.aim.is_none() {
            return;
        }
        self.own = false;
        let phase = self.pace.phase_at(position);
        self.aim = aim.map(|aim| {
            let look_again = match self.aim {
                Some((_, look_again)) => look_again,
                None => (2.0 * phase.max(0.0)).ceil() / 2.0,
            };
            (aim, look_again)
        });
        if self.aim.is_none() {
            let frequency = self.pace.frequency_at(position);
            self.pace = self.pace.to_frequency(position, frequency, 0.0);
        }
    }

    /// Takes another pairing and kick from the next entry of the first arm on.
    pub fn switch(&mut self, plan: &Plan, position: f64, pairing: Pairing, kick: Kick) {
        let set = &plan.sets[plan.repeats[self.repeat].set];
        // A switch that still waits is replaced, as if it had never been asked for.
        if let Some((old, until)) = self.leaving.take()
            && self.pace.frame_at(until) > position
        {
            self.layer = old;
        }
        if (self.layer.pairing, self.layer.kick) == (pairing, kick) {
            return;
        }
        let entry = self.pace.phase_at(position).max(0.0).ceil();
        let gaps = set
            .pattern(self.layer.pairing, self.layer.kick)
            .smallest_gap;
        self.leaving = Some((self.layer, entry));
        self.switched = (entry, gaps);
        self.layer = Layer {
            pairing,
            kick,
            next: [0; MOST_CUES],
        };
        for (at, cue) in set.pattern(pairing, kick).cues() {
            self.layer.next[at] = ((entry - cue.first) / cue.every).max(0.0).ceil() as u64;
        }
    }

    /// Begins anew at frame `position` with the entry of the first arm: after a pause.
    pub fn restart(&mut self, plan: &Plan, position: f64) {
        let phase = self.pace.phase_at(position);
        if phase < 0.0 {
            return;
        }
        let (pairing, kick) = (self.layer.pairing, self.layer.kick);
        let entry = phase.ceil();
        self.pace = match self.own {
            true => ramp(
                &plan.repeats[self.repeat].stretches[self.stretch],
                position,
                entry,
            ),
            false => Pace::steady(position, entry, self.pace.goal()),
        };
        self.aim = None;
        self.leaving = None;
        self.last_beat = [f64::NEG_INFINITY; 2];
        let set = &plan.sets[plan.repeats[self.repeat].set];
        for (at, cue) in set.pattern(pairing, kick).cues() {
            self.layer.next[at] = ((entry - cue.first) / cue.every).max(0.0).ceil() as u64;
        }
    }

    /// The next event before frame `end`, if there is one. Each is given once.
    pub fn next_before(&mut self, plan: &Plan, end: u64) -> Option<Event> {
        let repeat = plan.repeats.get(self.repeat)?;
        loop {
            let found = self.find(plan, repeat);
            // The tempo is looked at again before anything of later is placed.
            if let Some((aim, look_again)) = self.aim
                && found.is_none_or(|found| found.phase > look_again)
            {
                let frame = self.pace.frame_at(look_again);
                if frame >= end as f64 {
                    return None;
                }
                self.pace = servo(self.pace, frame, look_again, &aim);
                self.aim = Some((aim, look_again + 0.5));
                continue;
            }
            let Some(found) = found else {
                self.begin_stretch(repeat)?;
                continue;
            };
            if found.frame >= end {
                return None;
            }
            if let Some(event) = self.take(plan, repeat, found) {
                return Some(event);
            }
        }
    }

    /// The next event of either layer; none where this stretch is over.
    fn find(&self, plan: &Plan, repeat: &RepeatPlan) -> Option<Found> {
        let set = &plan.sets[repeat.set];
        let stretch_end = repeat.stretches[self.stretch].end;
        let mut least: Option<(Found, (u64, Kind, Side))> = None;
        let mut look = |layer: &Layer, until: f64, leaving: bool| {
            for (at, cue) in set.pattern(layer.pairing, layer.kick).cues() {
                let phase = cue.first + cue.every * layer.next[at] as f64;
                let exact = self.pace.frame_at(phase);
                if phase >= until || exact >= stretch_end {
                    continue;
                }
                let found = Found {
                    frame: (exact - cue.lead + 0.5).max(0.0) as u64,
                    phase,
                    cue: at,
                    leaving,
                };
                let key = (found.frame, cue.kind, cue.side);
                if least.is_none_or(|(_, other)| key < other) {
                    least = Some((found, key));
                }
            }
        };
        look(&self.layer, f64::INFINITY, false);
        if let Some((old, until)) = &self.leaving {
            look(old, *until, true);
        }
        least.map(|(found, _)| found)
    }

    /// Goes to the next stretch of the repeat, at the session's tempo or the one that was set; none where there is none.
    fn begin_stretch(&mut self, repeat: &RepeatPlan) -> Option<()> {
        let next = repeat.stretches.get(self.stretch + 1)?;
        self.stretch += 1;
        self.pace = match self.own {
            true => ramp(next, next.start, 0.0),
            false => Pace::steady(next.start, 0.0, self.pace.goal()),
        };
        self.aim = None;
        self.layer.next = [0; MOST_CUES];
        self.leaving = None;
        self.last_beat = [f64::NEG_INFINITY; 2];
        self.switched.0 = f64::NEG_INFINITY;
        Some(())
    }

    /// Takes an event off its layer; none where it does not sound.
    fn take(&mut self, plan: &Plan, repeat: &RepeatPlan, found: Found) -> Option<Event> {
        let set = &plan.sets[repeat.set];
        let layer = match (found.leaving, &mut self.leaving) {
            (true, Some((old, _))) => old,
            _ => &mut self.layer,
        };
        let pattern = set.pattern(layer.pairing, layer.kick);
        let (_, cue) = pattern.cues().find(|(at, _)| *at == found.cue)?;
        layer.next[found.cue] += 1;
        let cycle = repeat.stretches[self.stretch].cycles_before + found.phase as u64;
        let (kind, leg) = (cue.kind, cue.side as usize);
        if matches!(kind, Kind::Kick | Kind::Fill) {
            let smaller = pattern.smallest_gap[leg].min(self.switched.1[leg]);
            let settling = !found.leaving && found.phase < self.switched.0 + SETTLING;
            if settling && found.phase - self.last_beat[leg] < smaller / 2.0 {
                return None;
            }
            self.last_beat[leg] = found.phase;
        }
        let since_start = self.pace.frame_at(found.phase) - repeat.start;
        let (length, into_length) = match repeat.walls {
            Some((every, walls)) => {
                let length = (since_start / every).floor().min(walls as f64);
                (length, since_start - length * every)
            }
            None => (0.0, since_start),
        };
        let sounds = set.fade.is_none_or(|fade| match fade.per {
            FadePer::Cycle => fade.sounds(cycle),
            FadePer::Length => fade.sounds(length as u64),
        });
        let too_near = kind == Kind::Breath && length > 0.0 && into_length < set.push_off;
        (sounds && !too_near).then_some(Event {
            frame: found.frame,
            kind,
            side: Some(cue.side),
            set: repeat.set as u32 + 1,
            repeat: repeat.number,
            beat: Some((cycle, cue.phase_micro)),
        })
    }
}

/// The session's own tempo in a stretch, from a frame of it on, where the phase is `phase`.
fn ramp(own: &StretchPlan, frame: f64, phase: f64) -> Pace {
    let frequency_at = |frame: f64| own.frequency + own.slope * (frame - own.start);
    let (from, to) = (frequency_at(frame), frequency_at(own.end));
    let steady = Pace::steady(frame, phase, from);
    match own.slope == 0.0 || frame >= own.end {
        true => steady,
        false => steady.to_frequency(frame, to, (own.end - frame) * (from + to) / 2.0),
    }
}

/// The frame of one of the session's own events; infinite for one that its ramp never reaches.
fn own_frame(own: &StretchPlan, cue: &CueAt, number: u64) -> f64 {
    let phase = cue.first + cue.every * number as f64;
    let frame = own.start + ramp_time_s(own.frequency, own.slope, phase) - cue.lead + 0.5;
    if frame.is_nan() {
        f64::INFINITY
    } else {
        frame.floor()
    }
}
