//! Running a set as a coach does: on to the next start, a repeat again, who is in, taken back.
//!
//! In: a session, its schedule, and keys, each with the moment at which it came. Out: the schedule
//! as it goes, and the swims with the times that were taken. No device and no screen is known here.
//! What is laid anew lies at or after the frame that a command names, and later repeats are moved by
//! whole frames, so that no onset is lost.

mod commands;
mod swim;

use crate::model::resolve::Resolved;
use crate::timeline::{COUNTS, Goes, Schedule};
use crate::units::{Fix, to_f64};

pub use swim::{CuedLast, Swim};

/// When a key came, on both clocks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeyTime {
    /// Seconds on the clock of the keys, which no pause stops.
    pub now_s: f64,
    /// The frame that was heard then.
    pub heard_frame: f64,
}

/// Where in the session the clock is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Before the first counts.
    LeadIn,
    /// The counts before a start.
    Counts,
    /// From the start signal to the end.
    Swim,
    /// From an end to the next first count.
    Rest,
    /// After the last end.
    End,
}

/// What a command has done.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Done {
    /// What to say.
    pub said: String,
    /// Whether it did anything that can be taken back.
    pub can_undo: bool,
    /// Whether the schedule is another one.
    pub moved: bool,
    /// Whose time was taken or taken back: the swim's id and the swimmers.
    pub timed: Option<(u32, usize)>,
}

impl Done {
    fn nothing(said: impl Into<String>) -> Self {
        Self {
            said: said.into(),
            ..Self::default()
        }
    }
}

/// What something was before a command.
#[derive(Debug, Clone, PartialEq)]
pub struct SetBefore {
    course: Schedule,
    swim: Option<Swim>,
    /// The frame from which on a signal makes it too late.
    frame: u64,
}

/// What has happened, for whoever tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Happened {
    /// A swim has begun: its repeat's index.
    Start(usize),
    /// Its end has been heard.
    End(usize),
}

/// A session while it is run.
#[derive(Debug, Clone)]
pub struct Running {
    session: Resolved,
    rate_hz: u32,
    /// As the session has it.
    planned: Schedule,
    /// As it goes.
    course: Schedule,
    /// Who swims, in the order of leaving.
    swimmers: Vec<String>,
    /// How much later the swimmers hear it, s.
    delay_s: f64,
    /// One for each repeat that has begun, in order.
    swims: Vec<Swim>,
    next_id: u32,
    /// Ends that have been told.
    ended: usize,
    /// When `next` or `again` was pressed last.
    pressed_s: Option<f64>,
}

impl Running {
    /// A session before its first start. `swimmers` are in the order of leaving, at least one;
    /// each hears everything `delay_s` later.
    pub fn new(
        session: Resolved,
        schedule: Schedule,
        rate_hz: u32,
        swimmers: Vec<String>,
        delay_s: f64,
    ) -> Self {
        Self {
            session,
            rate_hz,
            course: schedule.clone(),
            planned: schedule,
            swimmers,
            delay_s,
            swims: Vec::new(),
            next_id: 0,
            ended: 0,
            pressed_s: None,
        }
    }

    /// Everything from its beginning again; swims have other ids.
    pub fn restart(&mut self) {
        self.course = self.planned.clone();
        self.swims.clear();
        self.ended = 0;
        self.pressed_s = None;
    }

    /// The schedule as it goes.
    pub fn course(&self) -> &Schedule {
        &self.course
    }

    /// Who swims, in the order of leaving.
    pub fn swimmers(&self) -> &[String] {
        &self.swimmers
    }

    /// Every swim that has begun, in order.
    pub fn swims(&self) -> &[Swim] {
        &self.swims
    }

    /// The swim of an id.
    pub fn swim_mut(&mut self, id: u32) -> Option<&mut Swim> {
        self.swims.iter_mut().find(|swim| swim.id == id)
    }

    /// The index of the repeat that is swum at a frame, or comes next; the last one after its end.
    pub fn repeat_at(&self, frame: u64) -> usize {
        let time = self.time_of(frame);
        let passed = (self.course.repeats).partition_point(|repeat| repeat.end_s <= time);
        passed.min(self.course.repeats.len() - 1)
    }

    /// Where the clock is at a frame.
    pub fn stage(&self, frame: u64) -> Stage {
        let (time, index) = (self.time_of(frame), self.repeat_at(frame));
        let repeat = &self.course.repeats[index];
        if repeat.end_s <= time {
            Stage::End
        } else if repeat.start_s <= time {
            Stage::Swim
        } else if repeat.start_s - repeat.count_s().times(COUNTS.into()) <= time {
            Stage::Counts
        } else if index == 0 {
            Stage::LeadIn
        } else {
            Stage::Rest
        }
    }

    /// How much later than the session says the last repeat starts, s; negative is earlier.
    pub fn late_s(&self) -> f64 {
        let last = |schedule: &Schedule| schedule.repeats.last().map(|repeat| repeat.start_s);
        match (last(&self.course), last(&self.planned)) {
            (Some(course), Some(planned)) => to_f64(&(course - planned)),
            _ => 0.0,
        }
    }

    fn time_of(&self, frame: u64) -> Fix {
        Fix::new(frame.into(), self.rate_hz.into())
    }

    fn frame_of(&self, time: Fix) -> f64 {
        to_f64(&time) * f64::from(self.rate_hz)
    }

    fn goes(&self) -> Goes {
        self.course.goes
    }

    /// Looks at the clock. `made` is the frame that comes next; `cued` what sounds.
    pub fn watch(
        &mut self,
        at: KeyTime,
        made: u64,
        runs: bool,
        cued: CuedLast,
    ) -> Option<Happened> {
        let mut happened = None;
        let heard = at.heard_frame.min(made as f64);
        let rate_hz = f64::from(self.rate_hz);
        let index = self.swims.len();
        if let Some(repeat) = self.course.repeats.get(index)
            && heard >= self.frame_of(repeat.start_s)
        {
            let is_again = self.course.repeats[..index].iter();
            let again = is_again
                .clone()
                .any(|one| (one.set, one.number) == (repeat.set, repeat.number));
            self.swims.push(Swim {
                id: self.next_id,
                repeat: index,
                set: repeat.set,
                number: repeat.number,
                again,
                stopped_with: None,
                paused: false,
                cued,
                went: vec![None; self.swimmers.len()],
                came: Vec::new(),
                order: (0..self.swimmers.len()).collect(),
                splits: Vec::new(),
            });
            self.next_id += 1;
            happened = Some(Happened::Start(index));
        }
        let made_index = self.repeat_at(made);
        let is_swum = self.stage(made) == Stage::Swim;
        let goes = self.goes();
        if let Some(swim) = self.swims.last_mut() {
            let repeat = &self.course.repeats[swim.repeat];
            let (start, end) = (repeat.start_s, repeat.end_s);
            for (place, went) in swim
                .went
                .iter_mut()
                .enumerate()
                .filter(|(_, went)| went.is_none())
            {
                let go = start + goes.apart_s.times(place as i128);
                let since_s = (heard - to_f64(&go) * rate_hz) / rate_hz;
                // Nobody is sent off once the swim has been ended.
                if since_s >= 0.0 && go < end {
                    *went = Some(at.now_s - since_s + self.delay_s);
                }
            }
            if swim.repeat == made_index && is_swum {
                swim.paused |= !runs;
                swim.cued = cued;
            }
            if happened.is_none() && self.ended == swim.repeat && heard >= to_f64(&end) * rate_hz {
                self.ended += 1;
                happened = Some(Happened::End(swim.repeat));
            }
        }
        happened
    }

    /// A swimmer's name, or what stands for it.
    pub fn name(&self, swimmer: usize) -> &str {
        self.swimmers.get(swimmer).map_or("", String::as_str)
    }
}

/// A time to the tenth that a hand can mean: `49.3 s`, `1:02.4`.
pub fn clock_tenths(seconds: f64) -> String {
    let tenths = (seconds * 10.0).round() as u64;
    let (minutes, tenths) = (tenths / 600, tenths % 600);
    let (whole, part) = (tenths / 10, tenths % 10);
    match minutes {
        0 => format!("{whole}.{part} s"),
        _ => format!("{minutes}:{whole:02}.{part}"),
    }
}

#[cfg(test)]
mod tests;
