//! The rate by keys: a step up or down, digits and Enter.

use super::App;
use crate::live::DeckCommand;
use crate::units::Rate;

impl App {
    pub(super) fn step(&mut self, by: f64) {
        let next = ((self.spm() + by) * 100.0).round() / 100.0;
        self.set_rate(next.clamp(*Rate::RANGE_SPM.start(), *Rate::RANGE_SPM.end()));
    }

    pub(super) fn set_rate(&mut self, rate: f64) {
        self.keep_for_undo(true);
        self.asked = Some(rate);
        self.note_rate(rate);
        self.following = false;
        self.send(DeckCommand::Rate(rate));
    }

    /// Keeps a rate set by hand as the set's, where it is more than a comparison's.
    pub(super) fn note_rate(&mut self, rate: f64) {
        if !self.programme.is_comparison(self.state.view.repeat) {
            self.rate_by_hand = Some(rate);
        }
    }

    pub(super) fn type_digit(&mut self, c: char) {
        if self.typed.len() < 5 {
            self.typed.push(c);
        }
    }

    pub(super) fn enter(&mut self) {
        if self.typed.is_empty() {
            match self.follow.rate_spm() {
                Some(rate) => self.set_rate((rate.value * 10.0).round() / 10.0),
                None => self.say("Type a rate first, or tap one: digits, then Enter."),
            }
            return;
        }
        let typed = std::mem::take(&mut self.typed);
        match typed.parse::<f64>() {
            Ok(rate) if Rate::RANGE_SPM.contains(&rate) => self.set_rate(rate),
            _ => self.say(format!(
                "{typed} spm is outside 10 to 160 spm (both arms counted)."
            )),
        }
    }
}
