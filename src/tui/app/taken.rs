//! What the engine says of itself, taken over with what was asked of it since.

use super::{App, Settings};
use crate::analysis::follow::Follow;
use crate::live::{KeyTime, State, spm};

impl App {
    /// Takes the engine's state at a moment.
    pub fn take_state(&mut self, mut state: State, at: KeyTime) {
        self.now_s = at.now_s;
        if state.is_behind {
            self.show_as_asked(&mut state);
        } else if self
            .asked
            .is_some_and(|asked| (asked - self.goal_of(&state)).abs() < 0.001)
        {
            self.asked = None;
        }
        let repeat = self.programme.repeat_at(state.position);
        let is_other = repeat != std::mem::replace(&mut self.repeat, repeat);
        if is_other {
            // Another swim: the taps of the one before say nothing of it.
            self.following = false;
            self.follow = Follow::new(self.each);
            self.last_tap = None;
            self.swim_since_s = at.now_s;
        }
        self.state = state;
        let before = std::mem::replace(&mut self.scope, self.programme.scope_of(repeat));
        if before != self.scope {
            // What was asked for elsewhere is not waited for here.
            self.asked = None;
        }
        self.watch(at);
        if is_other {
            self.tell_next(before.set != self.scope.set);
        }
    }

    /// What was changed since the engine said how it is stays as it was asked for: it would else be
    /// the old again for the time of a buffer, and what is changed in that time be taken for all
    /// that was.
    fn show_as_asked(&self, state: &mut State) {
        if state.over && !self.state.over {
            // Sent back to the beginning: whoever looked at the end again would count its swims anew.
            (state.position, state.over) = (self.state.position, false);
        }
        state.running = self.state.running;
        state.muted = self.state.muted;
        state.gentle = self.state.gentle;
        state.view.wish = self.state.view.wish;
        state.view.own_rate = self.state.view.own_rate;
        state.view.by_hand = self.state.view.by_hand;
    }

    /// The present settings.
    pub fn settings(&self) -> Settings {
        let wish = self.state.view.wish;
        Settings {
            spm: self.spm(),
            pairing: wish.pairing,
            kick: wish.kick,
            muted: self.state.muted,
            gentle: self.state.gentle,
        }
    }

    fn goal_of(&self, state: &State) -> f64 {
        self.in_spm(state.view.wish.frequency)
    }

    /// Cycles a frame as strokes/min: exactly what was asked for, where a float has come back a hair
    /// beside it.
    pub(super) fn in_spm(&self, frequency: f64) -> f64 {
        (spm(frequency, self.rate_hz) * 1e6).round() / 1e6
    }

    pub(super) fn spm(&self) -> f64 {
        self.asked.unwrap_or_else(|| self.goal_of(&self.state))
    }
}
