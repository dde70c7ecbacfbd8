//! Which frame was heard when: for a moment that comes late, also where the clock has stood since
//! or was sent elsewhere.

use std::collections::VecDeque;

use crate::live::KeyTime;

/// A frame that is farther from the line of those before begins another line, s.
const BESIDE_S: f64 = 0.004;
/// Ends of lines that are kept.
const KEPT: usize = 4096;

/// What was heard so far, as lines: a point where each begins, and the last one seen.
#[derive(Debug, Clone)]
pub struct HeardFrames {
    rate_hz: f64,
    points: VecDeque<KeyTime>,
}

impl HeardFrames {
    /// Nothing yet, at so many frames a second.
    pub fn new(rate_hz: f64) -> Self {
        Self {
            rate_hz,
            points: VecDeque::new(),
        }
    }

    /// Takes what is heard now.
    pub fn take(&mut self, now: KeyTime) {
        let count = self.points.len();
        if count >= 2 && self.is_on_line(self.points[count - 2], self.points[count - 1], now) {
            self.points.pop_back();
        }
        if self.points.len() == KEPT {
            self.points.pop_front();
        }
        self.points.push_back(now);
    }

    /// Whether the middle of three points lies on the line between the others.
    fn is_on_line(&self, first: KeyTime, middle: KeyTime, last: KeyTime) -> bool {
        (between(first, last, middle.now_s) - middle.heard_frame).abs() < BESIDE_S * self.rate_hz
    }

    /// A moment with the frame that was heard then; before the first and after the last one seen
    /// the clock is taken to run.
    pub fn at(&self, now_s: f64) -> KeyTime {
        let next = self.points.partition_point(|point| point.now_s <= now_s);
        let runs = |from: &KeyTime| from.heard_frame + (now_s - from.now_s) * self.rate_hz;
        let heard_frame = match (next.checked_sub(1), self.points.get(next)) {
            (Some(before), Some(after)) => between(self.points[before], *after, now_s),
            (Some(last), None) => runs(&self.points[last]),
            (None, first) => first.map_or(0.0, runs),
        };
        KeyTime { now_s, heard_frame }
    }
}

fn between(first: KeyTime, last: KeyTime, now_s: f64) -> f64 {
    let whole = last.now_s - first.now_s;
    if whole <= 0.0 {
        return last.heard_frame;
    }
    let share = (now_s - first.now_s) / whole;
    first.heard_frame + share * (last.heard_frame - first.heard_frame)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_late_moment_has_the_frame_of_its_own_time_whatever_the_clock_did_since() {
        let mut heard = HeardFrames::new(1000.0);
        // Runs for 10 s, stands for 5 s, runs on for 10 s, is sent back to 0; seen every 40 ms.
        let frame = |s: f64| match s {
            s if s < 10.0 => s * 1e3,
            s if s < 15.0 => 10e3,
            s if s < 25.0 => (s - 5.0) * 1e3,
            s => (s - 25.0) * 1e3,
        };
        for step in 0..750 {
            let now_s = f64::from(step) * 0.04;
            heard.take(KeyTime {
                now_s,
                heard_frame: frame(now_s),
            });
        }
        assert!(heard.points.len() < 12, "{} points", heard.points.len());
        for s in [
            0.5, 9.9, 10.1, 12.0, 14.9, 15.1, 20.0, 24.9, 25.2, 29.9, 31.0,
        ] {
            let found = heard.at(s).heard_frame;
            assert!((found - frame(s)).abs() < 45.0, "{s} s: {found}");
        }
    }
}
