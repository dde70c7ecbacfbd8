//! How loud each kind of cue is, and what is said: silenced and brought back without a click.

use crate::model::cue::CueKind;

/// Kinds of event there are, and words.
const FADERS: usize = 9;

/// What has a fader of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fader {
    /// One kind of event.
    Of(CueKind),
    /// What is said.
    Words,
}

impl Fader {
    fn index(self) -> usize {
        match self {
            Self::Of(kind) => kind as usize,
            Self::Words => FADERS - 1,
        }
    }
}

/// A level for each of them; 1 is as loud as an exported track.
#[derive(Debug, Clone, Copy)]
pub struct Levels {
    /// Present level, 0 to 1.
    now: [f32; FADERS],
    /// Where it goes, 0 to 1.
    goal: [f32; FADERS],
    /// Change a frame on the way there, above 0.
    step: f32,
}

impl Default for Levels {
    fn default() -> Self {
        Self {
            now: [1.0; FADERS],
            goal: [1.0; FADERS],
            step: 1.0,
        }
    }
}

impl Levels {
    /// Lets every later change from 0 to 1 take `frames`, at least 1.
    pub fn set_fade(&mut self, frames: u32) {
        self.step = 1.0 / frames.max(1) as f32;
    }

    /// Sends one of them to a level.
    pub fn send(&mut self, fader: Fader, level: f32) {
        self.goal[fader.index()] = level;
    }

    /// Sends every cue, signal and word to a level.
    pub fn send_all(&mut self, level: f32) {
        self.goal = [level; FADERS];
    }

    /// Is at once where it was going. Words come back by a fade: cues begin anew after a pause,
    /// words go on in the middle.
    pub fn arrive(&mut self) {
        let words = self.now[Fader::Words.index()];
        self.now = self.goal;
        self.now[Fader::Words.index()] = words;
    }

    /// Whether everything has fallen silent.
    pub fn is_silent(&self) -> bool {
        self.now.iter().all(|level| *level == 0.0)
    }

    /// Whether one of them is silent, and stays so.
    pub fn is_at_rest(&self, fader: Fader) -> bool {
        self.steady(fader) == Some(0.0)
    }

    /// The level of one that does not change; none while it does.
    #[inline]
    pub(super) fn steady(&self, fader: Fader) -> Option<f32> {
        let at = fader.index();
        (self.now[at] == self.goal[at]).then_some(self.now[at])
    }

    /// The level of one so many frames from now.
    #[inline]
    pub(super) fn after(&self, fader: Fader, frames: usize) -> f32 {
        self.at_after(fader.index(), frames)
    }

    #[inline]
    fn at_after(&self, at: usize, frames: usize) -> f32 {
        let (now, goal) = (self.now[at], self.goal[at]);
        let way = self.step * frames as f32;
        if goal > now {
            (now + way).min(goal)
        } else {
            (now - way).max(goal)
        }
    }

    /// So many frames have been mixed.
    pub(super) fn pass(&mut self, frames: usize) {
        if self.now == self.goal {
            return;
        }
        for at in 0..FADERS {
            self.now[at] = self.at_after(at, frames);
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
        levels.send(Fader::Of(CueKind::Kick), 0.0);
        assert_eq!(levels.steady(Fader::Of(CueKind::Arm)), Some(1.0));
        assert_eq!(levels.steady(Fader::Of(CueKind::Kick)), None);
        assert!((levels.after(Fader::Of(CueKind::Kick), 4) - 0.6).abs() < 1e-6);
        levels.pass(4);
        levels.pass(3);
        assert!((levels.after(Fader::Of(CueKind::Kick), 0) - 0.3).abs() < 1e-6);
        levels.pass(30);
        assert_eq!(levels.steady(Fader::Of(CueKind::Kick)), Some(0.0));
        assert!(!levels.is_silent());
        levels.send_all(0.0);
        levels.pass(10);
        assert!(levels.is_silent());
    }
}
