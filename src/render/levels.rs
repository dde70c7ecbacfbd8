//! How loud each kind of cue is: silenced and brought back without a click.

use crate::model::cue::{CUE_KINDS, Kind};

/// Kinds of event there are.
const KINDS: usize = 8;

/// A level for each kind of event; 1 is as loud as an exported track.
#[derive(Debug, Clone, Copy)]
pub struct Levels {
    /// Present level, 0 to 1.
    now: [f32; KINDS],
    /// Where it goes, 0 to 1.
    goal: [f32; KINDS],
    /// Change a frame on the way there, above 0.
    step: f32,
}

impl Default for Levels {
    fn default() -> Self {
        Self {
            now: [1.0; KINDS],
            goal: [1.0; KINDS],
            step: 1.0,
        }
    }
}

impl Levels {
    /// Lets every later change from 0 to 1 take `frames`, at least 1.
    pub fn set_fade(&mut self, frames: u32) {
        self.step = 1.0 / frames.max(1) as f32;
    }

    /// Sends one kind to a level.
    pub fn send(&mut self, kind: Kind, level: f32) {
        self.goal[kind as usize] = level;
    }

    /// Sends every cue and signal to a level.
    pub fn send_all(&mut self, level: f32) {
        self.goal = [level; KINDS];
    }

    /// Is at once where it was going.
    pub fn arrive(&mut self) {
        self.now = self.goal;
    }

    /// Whether every cue has fallen silent.
    pub fn is_silent(&self) -> bool {
        self.now.iter().all(|level| *level == 0.0)
    }

    /// The level of a kind that does not change; none while it does.
    #[inline]
    pub(super) fn steady(&self, kind: Kind) -> Option<f32> {
        let at = kind as usize;
        (self.now[at] == self.goal[at]).then_some(self.now[at])
    }

    /// The level of a kind so many frames from now.
    #[inline]
    pub(super) fn after(&self, kind: Kind, frames: usize) -> f32 {
        let (now, goal) = (self.now[kind as usize], self.goal[kind as usize]);
        let way = self.step * frames as f32;
        match goal > now {
            true => (now + way).min(goal),
            false => (now - way).max(goal),
        }
    }

    /// So many frames have been mixed.
    pub(super) fn pass(&mut self, frames: usize) {
        if self.now == self.goal {
            return;
        }
        for kind in CUE_KINDS
            .into_iter()
            .chain([Kind::Count, Kind::Start, Kind::End])
        {
            self.now[kind as usize] = self.after(kind, frames);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fade_is_a_straight_line_whatever_the_blocks() {
        let mut levels = Levels::default();
        levels.set_fade(10);
        levels.send(Kind::Kick, 0.0);
        assert_eq!(levels.steady(Kind::Arm), Some(1.0));
        assert_eq!(levels.steady(Kind::Kick), None);
        assert!((levels.after(Kind::Kick, 4) - 0.6).abs() < 1e-6);
        levels.pass(4);
        levels.pass(3);
        assert!((levels.after(Kind::Kick, 0) - 0.3).abs() < 1e-6);
        levels.pass(30);
        assert_eq!(levels.steady(Kind::Kick), Some(0.0));
        assert!(!levels.is_silent());
        levels.send_all(0.0);
        levels.pass(10);
        assert!(levels.is_silent());
    }
}
