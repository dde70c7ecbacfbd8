//! Taps at the swimmer's strokes, and cues that follow them.

use super::App;
use crate::analysis::follow::FEWEST;
use crate::live::{DeckCommand, KeyTime};
use crate::timeline::Aim;
use crate::units::Rate;

impl App {
    pub(super) fn tap(&mut self, moment: KeyTime) {
        self.last_tap = Some(self.follow.tap(moment.now_s));
        if self.following {
            self.send_aim(moment);
        }
    }

    pub(super) fn let_follow(&mut self, moment: KeyTime) {
        self.following = !self.following;
        if !self.following {
            self.send(DeckCommand::Follow(None));
            self.say("The cues go on alone at this rate.");
        } else if !self.state.running {
            self.following = false;
            self.say("Start with Space first: there is nothing to follow with yet.");
        } else if self.follow.aim().is_some() {
            self.keep_for_undo(true);
            self.send_aim(moment);
            self.say("The cues follow your taps.");
        } else {
            self.say(format!("The cues will follow from the {FEWEST}th tap on."));
        }
    }

    fn send_aim(&mut self, moment: KeyTime) {
        let Some((at_s, phase, cycles_a_second)) = self.follow.aim() else {
            return;
        };
        let spm = cycles_a_second * 120.0;
        if !Rate::RANGE_SPM.contains(&spm) {
            return;
        }
        let rate_hz = f64::from(self.rate_hz);
        self.send(DeckCommand::Follow(Some(Aim {
            frame: moment.heard_frame + (at_s - moment.now_s) * rate_hz,
            phase,
            frequency: cycles_a_second / rate_hz,
        })));
    }
}
