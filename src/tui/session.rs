//! The session as the screen tells it: where in it the clock is, and what comes next.

use crate::live::{Running, Score, State};
use crate::model::cue::Side;
use crate::model::resolve::{Resolved, Set};
use crate::model::words;
use crate::timeline::{LaidRepeat, Timeline};
use crate::units::{Fix, to_f64};
use std::sync::Arc;

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

    /// The set of a repeat.
    pub fn set_of(&self, repeat: usize) -> usize {
        self.laid(repeat).set
    }

    /// Whether a repeat is swum at the rate of a comparison.
    pub fn is_comparison(&self, repeat: usize) -> bool {
        self.laid(repeat).is_comparison
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

    /// Two to four lines: set, repeat, time to the next send-off, what comes next.
    pub fn lines(&self, state: &State) -> Vec<String> {
        let rate = f64::from(self.rate_hz());
        // In frames, so that a whole second is one.
        let passed = |since: Fix| {
            let frames = to_f64(&since.times(self.rate_hz().into()));
            (state.position as f64 - frames) / rate
        };
        if self.is_endless {
            let first = self.laid(0).first_entry();
            return vec![
                format!(
                    "No session: cues without an end. Sounding for {}",
                    clock(passed(first))
                ),
                "A session with its send-offs: cuelane live NAME --swimmer FILE".into(),
            ];
        }
        let index = self.repeat_at(state.position);
        let repeat = self.laid(index);
        let set = &self.sets[repeat.set];
        let mut lines = vec![format!(
            "Set {} of {}: {}   {}   repeat {} of {}{}",
            repeat.set + 1,
            self.sets.len(),
            set.name,
            set.swim,
            repeat.number,
            set.repeats,
            for_comparison(repeat)
        )];
        let next = self.timeline.laid(index + 1);
        if state.over {
            lines.push("The session is over.".into());
        } else if passed(repeat.start) < 0.0 {
            lines.push(format!("Start in {}", clock_up(-passed(repeat.start))));
        } else {
            let left = clock_up(-passed(repeat.end));
            let start =
                next.map(|next| format!("   next start in {}", clock_up(-passed(next.start))));
            lines.push(format!(
                "Swimming {}, {left} to go{}",
                clock(passed(repeat.start)),
                start.unwrap_or_default()
            ));
        }
        lines.push(self.then(repeat, next));
        if let Some(say) = &set.say {
            let say: String = say.split_whitespace().collect::<Vec<_>>().join(" ");
            lines.push(format!("\"{say}\""));
        }
        lines
    }

    /// What comes after a repeat.
    fn then(&self, repeat: &LaidRepeat, next: Option<&LaidRepeat>) -> String {
        match next {
            Some(next) if next.set == repeat.set => {
                let repeats = self.sets[repeat.set].repeats;
                let why = for_comparison(next);
                format!("Then: repeat {} of {repeats}{why}", next.number)
            }
            Some(next) => {
                let other = &self.sets[next.set];
                format!(
                    "Then: set {}, {}: {}",
                    next.set + 1,
                    other.name,
                    words::notation(other)
                )
            }
            None => "Then: the end of the session".into(),
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
fn clock_up(seconds: f64) -> String {
    clock(seconds.max(0.0).ceil())
}
