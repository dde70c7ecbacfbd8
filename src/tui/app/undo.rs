//! The last change taken back: of the cues, or of how the set runs.

use super::{App, Undo};
use crate::live::{DeckCommand, Group};

impl App {
    pub(super) fn take_back(&mut self) {
        let now = self.settings();
        let (before, changed_rate) = match self.undo.pop() {
            None => return self.say("Nothing to take back in this set."),
            Some(Undo::Set(before, by_hand)) => return self.take_command_back(&before, by_hand),
            Some(Undo::Cues(before, changed_rate)) => (before, changed_rate),
        };
        if changed_rate && (before.spm != now.spm || self.following) {
            self.asked = Some(before.spm);
            self.following = false;
            self.send(DeckCommand::Rate(before.spm));
        }
        if (before.pairing, before.kick) != (now.pairing, now.kick) {
            self.send(DeckCommand::Switch(before.pairing, before.kick));
            self.state.view.wish.pairing = before.pairing;
            self.state.view.wish.kick = before.kick;
        }
        for group in Group::ALL {
            let muted = before.muted[group as usize];
            if muted != now.muted[group as usize] {
                self.send(DeckCommand::Mute(group, muted));
                self.state.muted[group as usize] = muted;
            }
        }
        if before.gentle != now.gentle {
            self.send(DeckCommand::Gentle(before.gentle));
            self.state.gentle = before.gentle;
        }
        self.say("Taken back.");
    }
}
