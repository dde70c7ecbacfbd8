//! The last change taken back: of the cues, or of how the set runs.

use super::{App, CuesBefore, Undo};
use crate::live::{DeckCommand, Group};

impl App {
    pub(super) fn take_back(&mut self) {
        while let Some(undo) = self.undo.pop() {
            match undo {
                Undo::Set(before) => return self.take_command_back(&before),
                Undo::Cues(before) if before.scope == self.scope => {
                    return self.take_cues_back(&before);
                }
                // What was set elsewhere has ended by itself.
                Undo::Cues(_) => {}
            }
        }
        self.say("Nothing to take back in this set.");
    }

    fn take_cues_back(&mut self, before: &CuesBefore) {
        let (now, was) = (self.settings(), before.settings);
        if before.changes_rate {
            self.take_rate_back(before);
        }
        if (was.pairing, was.kick) != (now.pairing, now.kick) {
            self.send(DeckCommand::Switch(was.pairing, was.kick));
            self.state.view.wish.pairing = was.pairing;
            self.state.view.wish.kick = was.kick;
        }
        for group in Group::ALL {
            let muted = was.muted[group as usize];
            if muted != now.muted[group as usize] {
                self.send(DeckCommand::Mute(group, muted));
                self.state.muted[group as usize] = muted;
            }
        }
        if was.gentle != now.gentle {
            self.send(DeckCommand::Gentle(was.gentle));
            self.state.gentle = was.gentle;
        }
        self.say("Taken back.");
    }

    fn take_rate_back(&mut self, before: &CuesBefore) {
        self.following = false;
        if before.own_rate {
            self.asked = None;
            self.send(DeckCommand::OwnRate);
            // Shown at once, as a rate that is asked for.
            let view = &mut self.state.view;
            view.wish.frequency = before.settings.spm / (120.0 * f64::from(self.rate_hz));
            view.own_rate = true;
            if self.scope.comparison.is_none() {
                view.by_hand = None;
            }
        } else {
            self.asked = Some(before.settings.spm);
            self.send(DeckCommand::Rate(before.settings.spm));
        }
    }
}
