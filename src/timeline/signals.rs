//! Counts, start, end and walls of a repeat: on the session's clock, whatever a hand does.

use super::events::{Event, LaidRepeat};
use super::lanes::SetLanes;
use super::layer::{DONE, key};
use super::run::Even;
use crate::model::cue::CueKind;
use crate::units::{Fix, exact};

/// Counts, start, end, walls.
const SIGNALS: usize = 4;
const SIGNAL_KINDS: [CueKind; SIGNALS] =
    [CueKind::Count, CueKind::Start, CueKind::End, CueKind::Wall];

/// Each kind's next event, and how many there are yet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Signals {
    runs: [(Even, u64); SIGNALS],
    pub keys: [u64; SIGNALS],
}

impl Signals {
    pub fn none() -> Self {
        Self {
            runs: [(Even::default(), 0); SIGNALS],
            keys: [DONE; SIGNALS],
        }
    }

    pub fn new(set: &SetLanes, laid: &LaidRepeat, sample_rate_hz: u32) -> Self {
        if laid.end == Fix::MAX {
            return Self::none();
        }
        let second = exact(1);
        let (wall_every, walls) = laid.walls.filter(|_| set.has_walls).unwrap_or((second, 0));
        let runs = [
            (laid.start - exact(3), second, 3),
            (laid.start, second, 1),
            (laid.end, second, 1),
            (laid.start + wall_every, wall_every, walls),
        ];
        let mut signals = Self {
            runs: runs.map(|(first, step, count)| {
                (Even::new(first, step, Fix::ZERO, sample_rate_hz), count)
            }),
            keys: [DONE; SIGNALS],
        };
        (0..SIGNALS).for_each(|at| signals.key(at));
        signals
    }

    #[inline]
    fn key(&mut self, at: usize) {
        let (run, count) = &self.runs[at];
        self.keys[at] = match count {
            0 => DONE,
            _ => key(run.frame, SIGNAL_KINDS[at], None, at),
        };
    }

    /// Takes the event of a key.
    #[inline]
    pub fn take(&mut self, key: u64, laid: &LaidRepeat) -> Event {
        let at = (key & 0xf) as usize;
        let (run, count) = &mut self.runs[at];
        run.advance();
        *count -= 1;
        self.key(at);
        Event {
            frame: key >> 12,
            kind: SIGNAL_KINDS[at],
            side: None,
            set: laid.set as u32 + 1,
            repeat: laid.number,
            beat: None,
        }
    }
}
