//! The rate by keys: a step up or down, digits and Enter.

use super::App;
use crate::live::DeckCommand;
use crate::units::Rate;

impl App {
    pub(super) fn step(&mut self, by: f64) {
        let from = if self.rate_moves() {
            to_half(self.spm())
        } else {
            self.spm()
        };
        let next = ((from + by) * 100.0).round() / 100.0;
        self.set_rate(next.clamp(*Rate::RANGE_SPM.start(), *Rate::RANGE_SPM.end()));
    }

    pub(super) fn set_rate(&mut self, rate: f64) {
        self.keep_for_undo(true);
        self.asked = Some(rate);
        self.following = false;
        self.send(DeckCommand::Rate(rate));
    }

    pub(super) fn type_digit(&mut self, c: char) {
        if self.typed.len() < 5 {
            self.typed.push(c);
        }
    }

    pub(super) fn enter(&mut self) {
        if self.typed.is_empty() {
            return self.take_tapped_rate();
        }
        let typed = std::mem::take(&mut self.typed);
        match typed.parse::<f64>() {
            Ok(rate) if Rate::RANGE_SPM.contains(&rate) => self.set_rate(rate),
            _ => self.say(format!(
                "{typed} spm is outside 10 to 160 spm (both arms counted)."
            )),
        }
    }

    pub(super) fn take_tapped_rate(&mut self) {
        match self.tapped_spm() {
            Some(rate) => self.set_rate(rate),
            None => self.say("Type a rate first, or tap one: digits, then Enter."),
        }
    }

    /// The rate of the taps as it would be set.
    pub(super) fn tapped_spm(&self) -> Option<f64> {
        let rate = self.follow.rate_spm()?;
        Some(to_half(rate.value))
    }
}

/// A rate that was measured or moves, as somebody would say it: to half a stroke a minute.
fn to_half(spm: f64) -> f64 {
    (spm * 2.0).round() / 2.0
}
