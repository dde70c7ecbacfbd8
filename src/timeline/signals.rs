//! Counts, start, end and walls of a repeat: on the session's clock, whatever a hand does.

use super::events::{Event, LaidRepeat};
use super::lanes::SetLanes;
use super::layer::{DONE, key};
use super::run::Even;
use super::schedule::COUNTS;
use crate::model::cue::CueKind;
use crate::units::{Fix, ceil_u64, exact, floor_u64};

/// Counts, start, end, walls.
const SIGNALS: usize = 4;
/// The place of the counts among them.
const COUNT: usize = 0;
const SIGNAL_KINDS: [CueKind; SIGNALS] =
    [CueKind::Count, CueKind::Start, CueKind::End, CueKind::Wall];

/// The least time from a start or to an end for a chime that sounds, and from one to the next: it
/// rings over what comes sooner, and nobody tells them apart.
const FROM_SIGNALS_S: Fix = Fix::HALF;
const CHIMES_APART_S: Fix = Fix::thousandths(200);

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

    /// With so many seconds from one count to the next.
    pub fn new(set: &SetLanes, laid: &LaidRepeat, count_s: Fix, sample_rate_hz: u32) -> Self {
        if laid.end == Fix::MAX {
            return Self::none();
        }
        let second = exact(1);
        let walls = laid.walls.filter(|_| set.has_walls);
        let chimes = walls.map_or((laid.start, second, 0), |walls| chimes(laid, walls));
        // Who leave together have one go; nobody is sent off once the swim has been ended.
        let apart_s = laid.goes.apart_s;
        let in_time = if apart_s.is_zero() {
            Some(1)
        } else {
            ceil_u64(&((laid.end - laid.start) / apart_s))
        };
        let starts = u64::from(laid.goes.swimmers).min(in_time.unwrap_or(u64::MAX));
        let runs = [
            counts(laid, count_s),
            (laid.start, laid.goes.apart_s, starts),
            (laid.end, second, u64::from(!laid.silent_end)),
            chimes,
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

    /// Places the counts anew, so many seconds apart, at time `now` in s. They stay where they are
    /// once the first has sounded, or where it would have had to: they are even, whatever happens.
    pub fn count_again(&mut self, laid: &LaidRepeat, count_s: Fix, now: Fix, sample_rate_hz: u32) {
        let (first, step, all) = counts(laid, count_s);
        let (_, left) = self.runs[COUNT];
        if left == all && !now.exceeds(first) {
            self.runs[COUNT] = (Even::new(first, step, Fix::ZERO, sample_rate_hz), all);
            self.key(COUNT);
        }
    }

    #[inline]
    fn key(&mut self, at: usize) {
        let (run, count) = &self.runs[at];
        self.keys[at] = match count {
            0 => DONE,
            _ => key(run.frame, SIGNAL_KINDS[at], None, at),
        };
    }

    /// Those of the same repeat laid out otherwise; its counts stay as they were.
    pub fn lay(&mut self, set: &SetLanes, laid: &LaidRepeat, sample_rate_hz: u32) {
        let (counts, key) = (self.runs[COUNT], self.keys[COUNT]);
        *self = Self::new(set, laid, laid.count_s, sample_rate_hz);
        (self.runs[COUNT], self.keys[COUNT]) = (counts, key);
    }

    /// Passes over what is before a frame.
    pub fn skip_to(&mut self, frame: u64) {
        for at in 0..SIGNALS {
            while self.keys[at] >> 12 < frame {
                let (run, count) = &mut self.runs[at];
                run.advance();
                *count -= 1;
                self.key(at);
            }
        }
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

/// The counts: the first, in s, seconds from one to the next, and how many.
fn counts(laid: &LaidRepeat, count_s: Fix) -> (Fix, Fix, u64) {
    let before = count_s.times(COUNTS.into());
    (laid.start - before, count_s, COUNTS as u64)
}

/// The chimes that sound: the first, in s, seconds from one to the next, and how many.
fn chimes(laid: &LaidRepeat, (every, walls): (Fix, u64)) -> (Fix, Fix, u64) {
    let walls_in = |time: Fix| ceil_u64(&(time / every)).unwrap_or(u64::MAX).max(1);
    let (first, step) = (walls_in(FROM_SIGNALS_S), walls_in(CHIMES_APART_S));
    let latest = laid.end - laid.start - FROM_SIGNALS_S;
    let last = floor_u64(&(latest / every)).unwrap_or(0).min(walls);
    let count = last.checked_sub(first).map_or(0, |more| more / step + 1);
    let at = |number: u64| every.times(number.into());
    (laid.start + at(first), at(step), count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;

    fn laid(swim: Fix) -> LaidRepeat {
        LaidRepeat {
            set: 0,
            number: 1,
            is_comparison: false,
            start: exact(10),
            end: exact(10) + swim,
            silent_end: false,
            goes: crate::timeline::Goes::ONE,
            walls: None,
            count_s: Fix::ONE,
            longest_count_s: Fix::ZERO,
            stretches: Vec::new(),
        }
    }

    #[test]
    fn chimes_keep_away_from_signals_and_from_each_other() {
        // Against the rule wall by wall, in thousandths of a second.
        for (every, swim) in [
            (20_000, 80_000),
            (500, 2_500),
            (499, 2_495),
            (499, 2_499),
            (150, 3_000),
            (200, 1_900),
            (99, 5_000),
            (24_600, 25_000),
            (24_500, 25_000),
        ] {
            let walls = (1..).take_while(|wall| wall * every < swim).count() as u64;
            let mut due: Vec<i64> = Vec::new();
            for at in (1..).map(|wall| wall * every).take(walls as usize) {
                let apart = due.last().is_none_or(|last| at - last >= 200);
                if at >= 500 && swim - at >= 500 && apart {
                    due.push(at);
                }
            }
            let ms = |time: i64| fraction(time, 1000);
            let (first, step, count) = chimes(&laid(ms(swim)), (ms(every), walls));
            let found: Vec<Fix> = (0..count)
                .map(|number| first - exact(10) + step.times(number.into()))
                .collect();
            let due: Vec<Fix> = due.into_iter().map(ms).collect();
            assert_eq!(found, due, "every {every} ms in {swim} ms");
        }
    }
}
