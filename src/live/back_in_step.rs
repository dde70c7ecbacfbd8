//! Coming back in step: a new stream goes on where the session's clock has come to meanwhile.

use std::time::{Duration, Instant};

use super::Play;

/// Which frame is heard at an instant; from there the session's clock runs on by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock {
    /// An instant.
    pub since: Instant,
    /// The frame heard then.
    pub frame: f64,
}

impl Clock {
    /// The frame that is due to be heard at an instant, not before the first one.
    pub fn frame_at(&self, at: Instant, rate_hz: f64) -> u64 {
        let on = match at.checked_duration_since(self.since) {
            Some(later) => later.as_secs_f64(),
            None => -(self.since - at).as_secs_f64(),
        };
        (self.frame + on * rate_hz).max(0.0) as u64
    }
}

/// A device asks for its whole buffer at once when it is opened, before anything is heard. So
/// long only silence is given.
const FILLING: Duration = Duration::from_millis(100);
/// So long after its first call a stream may still be out of step: servers take a second to start.
const SETTLING: Duration = Duration::from_secs(3);
/// What a device says of its latency wavers; what is less than this is no reason for a jump.
const NEAR_S: f64 = 0.01;

/// What a stream does next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    /// Plays on: it has been in step long enough.
    Done,
    /// Plays on.
    On,
    /// Passes over so many frames.
    Skip(u64),
    /// Is silent for so many frames.
    Wait(u64),
}

/// What a stream does whose first call was `age` ago, is to give frame `next` and should give `due`.
fn step(age: Duration, next: u64, due: u64, rate_hz: f64) -> Step {
    let near = (NEAR_S * rate_hz) as u64;
    match (next.abs_diff(due), age) {
        _ if age < FILLING => Step::Wait(u64::MAX),
        _ if age > SETTLING => Step::Done,
        (off, _) if off <= near => Step::On,
        (off, _) if next < due => Step::Skip(off),
        (off, _) => Step::Wait(off),
    }
}

/// Brings a player up to frame `due`, which is to be heard next: that frame, and for how many
/// frames to be silent before the player goes on. None once there is nothing to come up to.
pub fn follow(player: &mut dyn Play, due: u64, age: Duration, rate_hz: f64) -> Option<(u64, u64)> {
    // A clock that stands is late for nothing, then or later.
    if !player.is_moving() {
        return None;
    }
    let (skipped, silent) = match step(age, player.position(), due, rate_hz) {
        Step::Done => return None,
        Step::On => return Some((due, 0)),
        Step::Skip(frames) => (frames, 0),
        Step::Wait(frames) => (0, frames),
    };
    pass(player, skipped).then_some((due, silent))
}

/// Lets frames go by unheard; wishes are taken even where none go by. Whether all of them went: a
/// wish may stop the clock or send it elsewhere.
pub fn pass(player: &mut dyn Play, frames: u64) -> bool {
    let mut block = [[0.0_f32; 2]; 256];
    let mut next = player.position();
    let end = next + frames;
    player.fill(&mut []);
    while player.position() == next && next < end {
        let now = (end - next).min(block.len() as u64);
        player.fill(&mut block[..now as usize]);
        next += now;
    }
    player.position() == next
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A device that takes 4000 frames at once when it is opened, nothing for a second, then a
    /// frame each time that one is heard: how far from its clock the last frame is heard.
    #[test]
    fn a_stream_that_starts_slowly_is_in_step_after_all() {
        let rate_hz = 1000.0;
        let opened = Instant::now();
        // Lost half a second ago with 300 frames on their way that nobody heard.
        let clock = Clock {
            since: opened - Duration::from_millis(500),
            frame: 10_000.0,
        };
        let mut next = 10_300_u64;
        let (mut queue, mut off) = (Vec::new(), None);
        let (mut played, mut asked) = (0_usize, 0_usize);
        for ms in 0..5000_u64 {
            let now = opened + Duration::from_millis(ms);
            let wants = match ms {
                0 => 400,
                1..1000 => 0,
                _ => 1,
            };
            for _ in 0..wants {
                let latency = Duration::from_millis((asked - played) as u64);
                let due = clock.frame_at(now + latency, rate_hz);
                match step(now - opened, next, due, rate_hz) {
                    Step::Wait(_) => queue.push(None),
                    kind => {
                        if let Step::Skip(frames) = kind {
                            next += frames;
                        }
                        queue.push(Some(next));
                        next += 1;
                    }
                }
                asked += 1;
            }
            if ms >= 1000 {
                if let Some(frame) = queue[played] {
                    let due = clock.frame_at(now, rate_hz);
                    assert!(frame.abs_diff(due) <= 10, "{frame} for {due} at {ms} ms");
                    off = Some(frame.abs_diff(due));
                }
                played += 1;
            }
        }
        assert!(off.is_some_and(|off| off <= 10), "{off:?}");
    }
}
