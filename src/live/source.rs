//! Every event that sounds live: the session's own, and a coach's in their place.
//!
//! An untouched session gives the events of its exact timeline, frame for frame those of its
//! exported track. From the first wish on the cues of that set come from a [`Course`]; counts,
//! starts, ends and walls stay on the session's clock. The next set is the session's again.

use std::sync::Arc;

use super::course::{Course, Wish};
use super::servo::Aim;
use crate::model::kick::{Kick, Pairing};
use crate::timeline::{Event, Events, Plan, Timeline};

/// Where the cycle is, and how it goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Index of the repeat that is swum or comes next.
    pub repeat: usize,
    /// Elapsed cycles, negative before the first entry; none between two swims.
    pub phase: Option<f64>,
    /// Cycles a frame at present, and where a gentle change is going.
    pub frequency: f64,
    /// See [`Wish`].
    pub wish: Wish,
    /// Whether a pairing or kick still waits for its entry.
    pub switching: bool,
}

/// Events in order; each call gives those before a frame that is set first.
#[derive(Debug)]
pub struct Source {
    plan: Arc<Plan>,
    script: Option<Script>,
    course: Option<Course>,
    /// What a coach changed in this set: the rate, the pairing or kick.
    touched: (bool, bool),
    end: u64,
}

#[derive(Debug)]
struct Script {
    events: Events<Arc<Timeline>>,
    next: Option<Event>,
}

impl Source {
    /// The events of a session; without a timeline, those of an endless set.
    pub fn new(plan: Arc<Plan>, timeline: Option<Arc<Timeline>>) -> Self {
        let script = timeline.map(|timeline| {
            let repeats = timeline.repeats();
            let mut events = Events::new(timeline, 0..repeats);
            let next = events.next();
            Script { events, next }
        });
        let mut source = Self {
            course: None,
            script,
            plan,
            touched: (false, false),
            end: 0,
        };
        source.begin_endless(0);
        source
    }

    fn begin_endless(&mut self, position: u64) {
        if self.script.is_none() {
            self.course = Course::at(&self.plan, 0, position as f64);
        }
    }

    /// Goes to the beginning of another repeat, as the session has it.
    pub fn go_to(&mut self, repeat: usize) {
        self.touched = (false, false);
        self.course = None;
        if let Some(script) = &mut self.script {
            script.events.go_to(repeat);
            script.next = script.events.next();
        }
        self.begin_endless(0);
    }

    /// Leaves out the session's events before a frame.
    pub fn skip_to(&mut self, position: u64) {
        if let Some(script) = &mut self.script {
            while script.next.is_some_and(|event| event.frame < position) {
                script.next = script.events.next();
            }
        }
    }

    /// The events that follow are those before frame `end`; `position` is the present frame.
    pub fn open_until(&mut self, position: u64, end: u64) {
        self.end = end;
        let Some(course) = &self.course else { return };
        let done = &self.plan.repeats[course.repeat()];
        if done.end > position as f64 {
            return;
        }
        let (next, wish) = (course.repeat() + 1, course.wish(position as f64));
        let same_set = (self.plan.repeats.get(next)).is_some_and(|repeat| repeat.set == done.set);
        self.course = None;
        if !same_set {
            self.touched = (false, false);
        } else if self.is_touched() {
            self.take_over(next, position, wish);
        }
    }

    /// Begins a course in the repeat, with what was touched before.
    fn take_over(&mut self, repeat: usize, position: u64, wish: Wish) {
        self.course = Course::at(&self.plan, repeat, position as f64);
        if let Some(course) = &mut self.course {
            let position = position as f64;
            if self.touched.0 {
                course.set_frequency(position, wish.frequency, 0.0);
            }
            if self.touched.1 {
                course.switch(&self.plan, position, wish.pairing, wish.kick);
            }
        }
    }

    /// The course of what is swum or comes next; begun where the session went by itself.
    fn course(&mut self, position: u64) -> Option<&mut Course> {
        if self.course.is_none() {
            let repeat = self.plan.repeat_at(position as f64);
            self.course = Course::at(&self.plan, repeat, position as f64);
        }
        self.course.as_mut()
    }

    /// See [`Course::set_frequency`].
    pub fn set_frequency(&mut self, position: u64, frequency: f64, bend: f64) {
        self.touched.0 = true;
        if let Some(course) = self.course(position) {
            course.set_frequency(position as f64, frequency, bend);
        }
    }

    /// See [`Course::switch`].
    pub fn switch(&mut self, position: u64, pairing: Pairing, kick: Kick) {
        self.touched.1 = true;
        let plan = Arc::clone(&self.plan);
        if let Some(course) = self.course(position) {
            course.switch(&plan, position as f64, pairing, kick);
        }
    }

    /// See [`Course::set_aim`].
    pub fn set_aim(&mut self, position: u64, aim: Option<Aim>) {
        self.touched.0 |= aim.is_some();
        if let Some(course) = self.course(position) {
            course.set_aim(position as f64, aim);
        }
    }

    /// Whether a hand has changed the set that is swum.
    pub fn is_touched(&self) -> bool {
        self.touched != (false, false)
    }

    /// Whether the cues follow a stroke.
    pub fn is_following(&self) -> bool {
        self.course.is_some_and(|course| course.is_following())
    }

    /// Begins anew at the first entry, where somebody is swimming.
    pub fn restart(&mut self, position: u64) {
        let plan = Arc::clone(&self.plan);
        let swims = self.view(position).phase.is_some_and(|phase| phase > 0.0);
        if swims && let Some(course) = self.course(position) {
            course.restart(&plan, position as f64);
        }
    }

    /// Where the cycle is at a frame.
    pub fn view(&self, position: u64) -> View {
        let at = position as f64;
        let plan = &self.plan;
        let repeat = plan.repeat_at(at).min(plan.repeats.len() - 1);
        let swim = &plan.repeats[repeat];
        let own = swim.stretches.iter().rev().find(|own| own.start <= at);
        let own_or_first = own.unwrap_or(&swim.stretches[0]);
        let inside = at >= swim.start && at < swim.end;
        if let Some(course) = self.course.filter(|course| course.repeat() == repeat) {
            return View {
                repeat,
                phase: inside.then(|| course.phase_at(at)),
                frequency: course.frequency_at(at),
                wish: course.wish(at),
                switching: course.is_switching(at),
            };
        }
        let on = at - own_or_first.start;
        let set = &plan.sets[swim.set];
        let frequency = own_or_first.frequency + own_or_first.slope * on.max(0.0);
        let phase = own_or_first.frequency * on + 0.5 * own_or_first.slope * on * on;
        View {
            repeat,
            phase: inside.then_some(if on < 0.0 {
                own_or_first.frequency * on
            } else {
                phase
            }),
            frequency,
            wish: Wish {
                frequency,
                pairing: set.pairing,
                kick: set.kick,
            },
            switching: false,
        }
    }

    /// The session's next event before the end that sounds as it is written.
    fn of_script(&mut self) -> Option<Event> {
        let by_hand = self
            .course
            .map(|course| self.plan.repeats[course.repeat()].set as u32 + 1);
        let script = self.script.as_mut()?;
        while let Some(event) = script.next.filter(|event| event.frame < self.end) {
            if event.beat.is_none() || by_hand != Some(event.set) {
                return Some(event);
            }
            script.next = script.events.next();
        }
        None
    }
}

impl Iterator for Source {
    type Item = Event;

    fn next(&mut self) -> Option<Event> {
        let written = self.of_script();
        // A cue and a signal on one frame: cues first, as the timeline has them.
        let until = written.map_or(self.end, |event| event.frame + 1);
        let by_hand = (self.course.as_mut())
            .and_then(|course| course.next_before(&self.plan, until.min(self.end)));
        if by_hand.is_some() {
            return by_hand;
        }
        if let (Some(_), Some(script)) = (written, self.script.as_mut()) {
            script.next = script.events.next();
        }
        written
    }
}

#[cfg(test)]
mod tests;
