//! What a coach's keys do to a set: next, again, in, a split, and taking them back.

use super::swim::hundredths;
use super::{Done, KeyTime, Running, SetBefore, Stage, Swim, clock_tenths};
use crate::model::session::{Gap, RepeatSwim};
use crate::timeline::{COUNTS, most_count_s};
use crate::units::{Fix, exact, fraction, to_f64};

/// From now to the next start, at least, s: look, breathe, get ready.
const SOONEST_START_S: i64 = 8;
/// A second press within this is a slip, s.
const SLIP_S: f64 = 1.0;
/// A moment that is known this much later, s, was kept by whoever could not say it at once.
const LATE_S: f64 = 1.0;
/// Left before the first count of a start that comes nearer, s.
const BEFORE_COUNTS_S: (i64, i64) = (1, 2);

impl Running {
    fn before(&self, frame: u64) -> SetBefore {
        SetBefore {
            course: self.course.clone(),
            swim: self.swims.last().cloned(),
            frame,
        }
    }

    /// Where the clock is for whoever hears it: a start that was made and not heard is still counted.
    fn stage_heard(&self, from: u64) -> Stage {
        match self.stage(from) {
            Stage::Swim if self.repeat_at(from) >= self.swims.len() => Stage::Counts,
            stage => stage,
        }
    }

    /// Whether a press is a second one by mistake.
    fn is_slip(&mut self, at: KeyTime) -> bool {
        let is_slip = (self.pressed_s).is_some_and(|before| at.now_s - before < SLIP_S);
        if !is_slip {
            self.pressed_s = Some(at.now_s);
        }
        is_slip
    }

    /// On: out of a swim into its rest, out of a rest to the next start. What is laid anew is at
    /// frame `from` or later.
    pub fn next(&mut self, at: KeyTime, from: u64) -> (Done, Option<SetBefore>) {
        if self.is_slip(at) {
            return (Done::default(), None);
        }
        let before = self.before(from);
        let index = self.repeat_at(from);
        match self.stage_heard(from) {
            Stage::Counts => (Done::nothing("The start is being counted."), None),
            Stage::End => (Done::nothing("That was the last repeat."), None),
            Stage::Swim => {
                self.stop(index, from);
                self.done("The swim is over; its rest begins.", before)
            }
            Stage::LeadIn | Stage::Rest => {
                let soonest = self.time_of(from) + exact(SOONEST_START_S);
                let start = self.course.repeats[index].start_s;
                if !start.exceeds(soonest) {
                    let said = format!("The start is in less than {SOONEST_START_S} s already.");
                    return (Done::nothing(said), None);
                }
                self.move_start(index, soonest);
                self.done("On to the next start.", before)
            }
        }
    }

    /// This repeat again, or in a rest the one just swum, after the rest that it would have had.
    pub fn again(&mut self, at: KeyTime, from: u64) -> (Done, Option<SetBefore>) {
        if self.is_slip(at) {
            return (Done::default(), None);
        }
        let before = self.before(from);
        let here = self.repeat_at(from);
        let index = match self.stage_heard(from) {
            Stage::LeadIn => return (Done::nothing("Nothing has been swum yet."), None),
            Stage::Counts => return (Done::nothing("The start is being counted."), None),
            Stage::Swim | Stage::End => here,
            Stage::Rest => here - 1,
        };
        if self.stage(from) == Stage::Swim {
            self.stop(index, from);
        }
        let end = self.course.repeats[index].end_s;
        let due = match self.course.repeats.get(index + 1) {
            Some(next) => next.start_s,
            None => self.course.next_start_s(&self.session, index, end),
        };
        let soonest = self.time_of(from) + exact(SOONEST_START_S);
        let start = if soonest.exceeds(due) { soonest } else { due };
        let swum = &self.course.repeats[index];
        let planned = (self.planned.repeats.iter())
            .find(|repeat| (repeat.set, repeat.number) == (swum.set, swum.number))
            .cloned();
        let Some(planned) = planned else {
            return (Done::default(), None);
        };
        self.course.again(&self.session, index, &planned, start);
        if self.course.is_too_long() {
            self.course = before.course;
            if let (Some(last), Some(swim)) = (self.swims.last_mut(), before.swim) {
                *last = swim;
            }
            return (Done::nothing("The session would be over 12 h."), None);
        }
        let said = format!("Repeat {} again.", planned.number);
        self.done(&said, before)
    }

    fn done(&self, said: &str, before: SetBefore) -> (Done, Option<SetBefore>) {
        let done = Done {
            said: said.into(),
            can_undo: true,
            moved: true,
            timed: None,
        };
        (done, Some(before))
    }

    /// Ends a swim at a frame, with its signal.
    fn stop(&mut self, index: usize, from: u64) {
        self.end(index, from, from as f64, false);
        if let Some(swim) = self.swims.get_mut(index) {
            swim.stopped_with = (!swim.all_in()).then_some(swim.came.len());
        }
    }

    /// Ends a swim at a frame. Its rest counts from frame `rests_from`.
    fn end(&mut self, index: usize, from: u64, rests_from: f64, is_silent: bool) {
        let end = self.time_of(from);
        self.course.end_at(index, end, is_silent);
        self.rest_from(index, rests_from, from);
    }

    /// Lets the rest after a repeat begin at a frame; a send-off stays.
    fn rest_from(&mut self, index: usize, rests_from: f64, from: u64) {
        if let Gap::Rest(rest) = self.course.gap_after(&self.session, index)
            && index + 1 < self.course.repeats.len()
        {
            let rests_from = self.time_of(rests_from.max(0.0).round() as u64);
            self.move_start(index + 1, rests_from + rest.s());
            let soonest = self.time_of(from) + most_counts_s() + half_second();
            if soonest.exceeds(self.course.repeats[index + 1].start_s) {
                self.move_start(index + 1, soonest);
            }
        }
    }

    /// Moves a start, and all that follows, to a time or up to a frame later: by whole frames.
    fn move_start(&mut self, index: usize, to: Fix) {
        let by = (to - self.course.repeats[index].start_s).in_frames(self.rate_hz);
        let frames = by.0 + i64::from(!by.1.is_zero());
        let by = Fix::new(frames.into(), self.rate_hz.into());
        self.course.move_from(index, by);
    }

    /// The index of the swim that was swum at a moment, or had been swum last.
    fn swum_at(&self, at: KeyTime) -> Option<usize> {
        let begun =
            |swim: &Swim| self.frame_of(self.course.repeats[swim.repeat].start_s) <= at.heard_frame;
        let last = self.swims.len().checked_sub(1)?;
        Some(self.swims.iter().rposition(begun).unwrap_or(last))
    }

    /// Whether a moment is known only long after it.
    fn is_late(&self, at: KeyTime, from: u64) -> bool {
        from as f64 - at.heard_frame > LATE_S * f64::from(self.rate_hz)
    }

    /// Which swim a time would be taken of: the one that was swum then, or had been swum last.
    fn timed(&self, at: KeyTime, from: u64) -> Result<usize, String> {
        let Some(index) = self.swum_at(at) else {
            return Err("Nobody has started yet.".into());
        };
        let swim = &self.swims[index];
        let repeat = &self.course.repeats[swim.repeat];
        let is_counted = self.stage(from) == Stage::Counts && !self.is_late(at, from);
        if at.heard_frame > self.frame_of(repeat.end_s) && is_counted {
            return Err("Too late: the next start is being counted.".into());
        }
        if let RepeatSwim::Time(time) = &self.session.sets[swim.set].swim {
            return Err(format!(
                "A swim by time ({time}) has no finish to be timed."
            ));
        }
        Ok(index)
    }

    /// Somebody is in: the time of the next arrival. With everybody in, the rest begins.
    pub fn arrived(&mut self, at: KeyTime, from: u64) -> (Done, Option<SetBefore>) {
        let index = match self.timed(at, from) {
            Ok(index) => index,
            Err(why) => return (Done::nothing(why), None),
        };
        let before = self.before(from);
        let is_last = index + 1 == self.swims.len();
        let swim = &mut self.swims[index];
        let Some(who) = swim.next_in() else {
            let said = match swim.time_s(0).filter(|_| self.swimmers.len() == 1) {
                Some(time) => format!("In already: {}.", clock_tenths(time)),
                None => "Everybody is in already.".into(),
            };
            return (Done::nothing(said), None);
        };
        swim.came.push(at.now_s);
        let Some(time) = swim.time_s(who) else {
            swim.came.pop();
            return (Done::nothing("The start has not been heard yet."), None);
        };
        let (id, repeat, all_in) = (swim.id, swim.repeat, swim.all_in());
        if all_in {
            if self.stage(from) == Stage::Swim && self.repeat_at(from) == repeat {
                self.end(repeat, from, at.heard_frame, true);
            } else if is_last && self.stage(from) != Stage::Counts {
                self.rest_from(repeat, at.heard_frame, from);
            }
        }
        let done = Done {
            said: format!("{} in: {}.", self.name(who), clock_tenths(time)),
            // What is known of a swim before the last one is put right in its results.
            can_undo: is_last,
            moved: self.course != before.course,
            timed: Some((id, who)),
        };
        (done, Some(before))
    }

    /// A split of the one swimmer.
    pub fn split(&mut self, at: KeyTime) -> Done {
        if self.swimmers.len() > 1 {
            return Done::nothing("Splits are taken of one swimmer alone.");
        }
        let swum = self.swum_at(at).and_then(|index| self.swims.get_mut(index));
        let Some(swim) = swum.filter(|swim| swim.came.is_empty()) else {
            return Done::nothing("Nobody is swimming.");
        };
        let repeat = &self.course.repeats[swim.repeat];
        let is_over = at.heard_frame > to_f64(&repeat.end_s) * f64::from(self.rate_hz);
        let Some(went) = swim.went[0].filter(|_| !is_over) else {
            return Done::nothing("Nobody is swimming.");
        };
        let split = hundredths(at.now_s - went);
        if split <= swim.splits.last().copied().unwrap_or(0.0) {
            return Done::default();
        }
        swim.splits.push(split);
        Done::nothing(format!(
            "Split {}: {}.",
            swim.splits.len(),
            clock_tenths(split)
        ))
    }

    /// Takes a command back, unless a start or an end has been signalled since.
    ///
    /// # Errors
    /// When it is too late.
    pub fn take_back(&mut self, before: &SetBefore, from: u64) -> Result<Done, String> {
        let (since, now) = (self.time_of(before.frame), self.time_of(from));
        let passed = |time: Fix| time.exceeds(since) && !time.exceeds(now);
        let goes = self.goes();
        let is_late = self.course.repeats.iter().any(|repeat| {
            let ends = !repeat.silent_end && passed(repeat.end_s);
            let go = |place: u32| passed(repeat.start_s + goes.apart_s.times(place.into()));
            ends || (0..goes.swimmers).any(go)
        });
        let begun = |swim: Option<&Swim>| swim.map(|swim| swim.id);
        if is_late || begun(self.swims.last()) != begun(before.swim.as_ref()) {
            return Err("Too late to take that back: a signal has sounded since.".into());
        }
        let mut course = before.course.clone();
        let soonest = now + most_counts_s() + half_second();
        let is_near = |start: Fix| start.exceeds(since) && soonest.exceeds(start);
        if (course.repeats.iter()).any(|repeat| is_near(repeat.start_s)) {
            return Err("Too late to take that back: that start would be too near.".into());
        }
        // Of the ends that have passed, only those of the present course were signalled: whatever
        // was taken back before this has been heard or not for good.
        let present = &self.course.repeats;
        for (repeat, present) in course.repeats.iter_mut().zip(present) {
            if !repeat.end_s.exceeds(now) {
                repeat.silent_end = present.silent_end || present.end_s != repeat.end_s;
            }
        }
        let timed = match (self.swims.last(), &before.swim) {
            (Some(now), Some(then)) if now.id == then.id && now.came.len() > then.came.len() => {
                Some((now.id, now.order[now.came.len() - 1]))
            }
            _ => None,
        };
        if let (Some(last), Some(swim)) = (self.swims.last_mut(), &before.swim) {
            let splits = std::mem::take(&mut last.splits);
            *last = Swim {
                splits,
                ..swim.clone()
            };
        }
        self.course = course;
        if let Some(swim) = self.swims.last() {
            let end = self.course.repeats[swim.repeat].end_s;
            if end.exceeds(now) {
                self.ended = self.ended.min(swim.repeat);
            }
        }
        Ok(Done {
            said: "Taken back.".into(),
            can_undo: false,
            moved: true,
            timed,
        })
    }
}

/// From the first count to the start where the counts are as slow as they can be, s.
fn most_counts_s() -> Fix {
    most_count_s().times(COUNTS.into())
}

fn half_second() -> Fix {
    fraction(BEFORE_COUNTS_S.0, BEFORE_COUNTS_S.1)
}
