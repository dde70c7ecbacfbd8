//! The rate that a hand has set, from repeat to repeat: of a set, of one repeat for comparison, of a
//! repeat that is still to come.

use std::ops::Deref;

use super::cursor::Cursor;
use super::events::{LaidRepeat, Timeline};
use super::hand::RateAhead;
use super::tempo::SteadyRate;
use crate::units::Fix;

impl<T: Deref<Target = Timeline>> Cursor<T> {
    /// The rate that a hand has set for the repeats of this set. What is set for a comparison ends
    /// with it.
    pub(super) fn rate_by_hand(&self) -> Option<SteadyRate> {
        let comparison = |repeat: &LaidRepeat| repeat.is_comparison;
        if self.pace.own || self.timeline.laid(self.current).is_some_and(comparison) {
            self.hand.rate
        } else {
            Some(self.rate_alone())
        }
    }

    /// The rate at which the cues go on by themselves.
    pub(super) fn rate_alone(&self) -> SteadyRate {
        self.hand.followed.unwrap_or(self.pace.tempo.to).as_said()
    }

    /// Keeps the rate that a hand has set for the repeats to come.
    pub(super) fn keep_rate(&mut self) {
        self.hand.rate = self.rate_by_hand();
    }

    /// Keeps the rate that was set for a repeat which has not begun at frame `now` and has it for
    /// itself: it waits for that one, wherever its start is moved to. `same_set`: whether what comes
    /// next is of its set.
    pub(super) fn keep_rate_ahead(&mut self, now: u64, same_set: bool) {
        let now = Fix::new(now.into(), self.timeline.sample_rate_hz().into());
        let waits = |laid: &&LaidRepeat| {
            !self.pace.own && laid.start.exceeds(now) && (laid.is_comparison || !same_set)
        };
        if let Some(laid) = self.timeline.laid(self.current).filter(waits) {
            self.hand.ahead = Some(RateAhead {
                set: laid.set,
                number: laid.number,
                rate: self.rate_alone(),
            });
        }
    }

    /// The rate that a hand has set for a repeat that is entered.
    pub(super) fn rate_of(
        &mut self,
        set: usize,
        number: u32,
        is_comparison: bool,
    ) -> Option<SteadyRate> {
        let is_this = |ahead: &mut RateAhead| (ahead.set, ahead.number) == (set, number);
        match self.hand.ahead.take_if(is_this) {
            Some(ahead) => {
                self.hand.touched.0 = true;
                Some(ahead.rate)
            }
            None => self.hand.rate.filter(|_| !is_comparison),
        }
    }
}
