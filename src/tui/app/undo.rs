//! The last change taken back: of the cues, or of how the set runs.

use super::{App, CuesBefore, Settings, Undo};
use crate::live::{DeckCommand, Group};

/// What a change of the cues can change: rate, pairing, kick, the four groups, how a rate changes.
type Parts = [bool; 8];

impl App {
    pub(super) fn take_back(&mut self) {
        while let Some(change) = self.undo.pop() {
            match change.undo {
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

    /// Takes back what one hand away from the keyboard did last, unless it was changed since.
    pub(super) fn take_back_of(&mut self, hand: u32) {
        let scope = self.scope;
        self.undo.retain(|change| match &change.undo {
            Undo::Set(_) => true,
            Undo::Cues(before) => before.scope == scope,
        });
        let Some(at) = (self.undo.iter()).rposition(|change| change.by == Some(hand)) else {
            return self.say("This phone has done nothing that can be taken back.");
        };
        let parts = self.parts_changed(at);
        let is_since = (at + 1..self.undo.len()).any(|later| {
            match (parts, self.parts_changed(later)) {
                (Some(parts), Some(later)) => (0..parts.len()).any(|n| parts[n] && later[n]),
                // How a set runs is taken back in order.
                (None, None) => true,
                _ => false,
            }
        });
        let change = self.undo.remove(at);
        if is_since {
            return self.say("Another hand has changed that since: it stays.");
        }
        match (change.undo, parts) {
            (Undo::Cues(before), Some(parts)) => self.take_parts_back(at, &before, parts),
            (Undo::Cues(before), None) => self.take_cues_back(&before),
            (Undo::Set(before), _) => self.take_command_back(&before),
        }
    }

    /// Takes back what one change of the cues changed, under the later ones from a number on. To
    /// take those back as well does not bring it again.
    fn take_parts_back(&mut self, later: usize, before: &CuesBefore, parts: Parts) {
        for change in &mut self.undo[later..] {
            if let Undo::Cues(later) = &mut change.undo {
                later.settings = mixed(later.settings, before.settings, parts);
            }
        }
        let back = CuesBefore {
            settings: mixed(self.settings(), before.settings, parts),
            ..before.clone()
        };
        self.take_cues_back(&back);
    }

    /// What a change of the cues changed, by what was set before the next one; none of a set's.
    fn parts_changed(&self, at: usize) -> Option<Parts> {
        let Undo::Cues(change) = &self.undo[at].undo else {
            return None;
        };
        let next = (self.undo[at + 1..].iter()).find_map(|change| match &change.undo {
            Undo::Cues(next) => Some(next.settings),
            Undo::Set(_) => None,
        });
        let (before, after) = (change.settings, next.unwrap_or_else(|| self.settings()));
        let muted = |group: usize| before.muted[group] != after.muted[group];
        Some([
            change.changes_rate,
            before.pairing != after.pairing,
            before.kick != after.kick,
            muted(0),
            muted(1),
            muted(2),
            muted(3),
            before.gentle != after.gentle,
        ])
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

/// Settings with some parts as they were before.
fn mixed(settings: Settings, before: Settings, parts: Parts) -> Settings {
    let mut mixed = settings;
    if parts[0] {
        mixed.spm = before.spm;
    }
    if parts[1] {
        mixed.pairing = before.pairing;
    }
    if parts[2] {
        mixed.kick = before.kick;
    }
    for group in 0..Group::ALL.len() {
        if parts[3 + group] {
            mixed.muted[group] = before.muted[group];
        }
    }
    if parts[7] {
        mixed.gentle = before.gentle;
    }
    mixed
}
