//! The session as the screen tells it: where in it the clock is, and what comes next.

use super::paged::tied;
use crate::live::{Running, Score, State};
use crate::model::cue::Side;
use crate::model::resolve::{Resolved, Set};
use crate::model::words;
use crate::timeline::{LaidRepeat, Timeline};
use crate::units::{Fix, to_f64};
use std::sync::Arc;

/// Repeats that are told ahead.
const MOST_AHEAD: usize = 3;

/// A session with its times in frames.
pub struct Programme {
    /// Its title.
    pub title: String,
    /// Who swims.
    pub swimmer: Option<String>,
    /// How much later the swimmer hears it, in a sentence.
    pub distance: Option<String>,
    sets: Vec<Set>,
    timeline: Arc<Timeline>,
    is_endless: bool,
    /// The frame at which the clock stands at first.
    beginning: u64,
    /// The session as it is run; none where cues have no end.
    pub(super) running: Option<Running>,
}

/// How far what a hand sets holds: to the end of a set, or of one of its repeats for comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scope {
    /// The set's index.
    pub set: usize,
    /// The number of the repeat, where it is one for comparison.
    pub comparison: Option<u32>,
}

impl Programme {
    /// A session, or one endless set, whose clock stands at frame `beginning` at first. `running`
    /// is the session as it is run.
    pub fn new(
        session: &Resolved,
        score: &Score,
        beginning: u64,
        distance: Option<String>,
        running: Option<Running>,
    ) -> Self {
        Self {
            title: session.title.clone(),
            swimmer: session.swimmer.clone(),
            distance,
            sets: session.sets.clone(),
            timeline: Arc::clone(&score.timeline),
            is_endless: score.frames.is_none(),
            beginning,
            running,
        }
    }

    /// Goes by the session as it was laid out anew.
    pub fn lay(&mut self, timeline: &Arc<Timeline>) {
        self.timeline = Arc::clone(timeline);
    }

    /// The index of the repeat that is swum at a frame, or comes next.
    pub fn repeat_at(&self, frame: u64) -> usize {
        self.timeline
            .repeat_at(Fix::new(frame.into(), self.rate_hz().into()))
    }

    /// Frames a second.
    pub fn rate_hz(&self) -> u32 {
        self.timeline.sample_rate_hz()
    }

    /// The frame at which the clock stands at first.
    pub fn beginning(&self) -> u64 {
        self.beginning
    }

    fn laid(&self, repeat: usize) -> &LaidRepeat {
        self.timeline
            .laid(repeat)
            .expect("the engine names the repeats that there are")
    }

    /// How far what a hand sets in a repeat holds.
    pub fn scope_of(&self, repeat: usize) -> Scope {
        let laid = self.laid(repeat);
        Scope {
            set: laid.set,
            comparison: laid.is_comparison.then_some(laid.number),
        }
    }

    /// A set.
    pub fn set(&self, index: usize) -> &Set {
        &self.sets[index]
    }

    /// The phase on the circle of a set's first entry.
    pub fn first_entry(&self, index: usize) -> f64 {
        let set = &self.sets[index];
        match set.first_arm {
            Side::Left => 0.0,
            Side::Right => to_f64(&set.right_entry),
        }
    }

    /// Seconds from a time of the session to the clock; in frames, so that a whole second is one.
    fn passed(&self, state: &State, since: Fix) -> f64 {
        let frames = to_f64(&since.times(self.rate_hz().into()));
        (state.position as f64 - frames) / f64::from(self.rate_hz())
    }

    /// The time to the next start or end. Before a start it is `Start in 0:12`, and at no other time.
    pub fn clock(&self, state: &State) -> String {
        let passed = |since: Fix| self.passed(state, since);
        let repeat = self.laid(self.repeat_at(state.position));
        if self.is_endless {
            format!("Sounding for {}", clock(passed(repeat.first_entry())))
        } else if state.over {
            "The session is over.".into()
        } else if passed(repeat.start) < 0.0 {
            format!("Start in {}", clock_up(-passed(repeat.start)))
        } else if passed(repeat.end) < 0.0 {
            let left = clock_up(-passed(repeat.end));
            format!("Swimming {}, {left} to go", clock(passed(repeat.start)))
        } else {
            "The last swim is over.".into()
        }
    }

    /// Which set and repeat it is: `Set 1 of 2: Settle   50 m   repeat 1 of 4`.
    pub fn heading(&self, state: &State) -> String {
        if self.is_endless {
            return "No session: cues without an end".into();
        }
        let repeat = self.laid(self.repeat_at(state.position));
        let set = &self.sets[repeat.set];
        format!(
            "{} {}   {}   {}{}",
            tied(&format!("Set {} of {}:", repeat.set + 1, self.sets.len())),
            set.name,
            tied(&set.swim.to_string()),
            tied(&format!("repeat {} of {}", repeat.number, set.repeats)),
            for_comparison(repeat)
        )
    }

    /// The coach's words on the set, whole.
    pub fn say(&self, state: &State) -> Option<String> {
        if self.is_endless {
            return None;
        }
        let set = &self.sets[self.laid(self.repeat_at(state.position)).set];
        let say = set.say.as_ref()?.split_whitespace().collect::<Vec<_>>();
        Some(format!("\"{}\"", say.join(" ")))
    }

    /// What comes next, the nearest first, each with the time to its start; the end of the session
    /// where it is in sight.
    pub fn ahead(&self, state: &State) -> Vec<String> {
        if self.is_endless {
            return vec!["A session with its send-offs: cuelane live NAME --swimmer FILE".into()];
        }
        let index = self.repeat_at(state.position);
        let mut ahead = Vec::new();
        for next in index + 1..=index + MOST_AHEAD {
            let Some(repeat) = self.timeline.laid(next) else {
                ahead.push("Then: the end of the session".into());
                break;
            };
            let time = clock_up(-self.passed(state, repeat.start));
            let what = self.next_in_words(self.laid(next - 1), repeat);
            ahead.push(format!("Then: {what}, in {time}"));
        }
        ahead
    }

    /// A repeat that follows another.
    fn next_in_words(&self, before: &LaidRepeat, next: &LaidRepeat) -> String {
        let set = &self.sets[next.set];
        let why = for_comparison(next);
        if next.set == before.set {
            format!("repeat {} of {}{why}", next.number, set.repeats)
        } else {
            let swims = words::notation(set);
            format!("set {}, {}: {swims}{why}", next.set + 1, set.name)
        }
    }
}

fn for_comparison(repeat: &LaidRepeat) -> &'static str {
    if repeat.is_comparison {
        ", for comparison"
    } else {
        ""
    }
}

/// Whole seconds that have passed: `0:07`.
fn clock(seconds: f64) -> String {
    let s = seconds.max(0.0).floor() as u64;
    format!("{}:{:02}", s / 60, s % 60)
}

/// Whole seconds still to come: 0 only when the time is there.
pub(super) fn clock_up(seconds: f64) -> String {
    clock(seconds.max(0.0).ceil())
}
