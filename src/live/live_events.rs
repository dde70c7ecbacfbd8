//! A cursor as the mixer reads it: no event is given before its call's frames are known.

use std::sync::Arc;

use crate::timeline::{Cursor, Event, Timeline};

/// The events of a session, those before a frame that each call sets.
#[derive(Debug)]
pub struct LiveEvents {
    /// What a hand changes.
    pub cursor: Cursor<Arc<Timeline>>,
    /// The first frame of which nothing is given yet.
    pub end: u64,
    /// The swim that was ended before its time, as it would have gone on.
    left: Option<Cursor<Arc<Timeline>>>,
}

impl LiveEvents {
    /// The events of a timeline from frame `position` on.
    pub fn new(timeline: Arc<Timeline>, position: u64) -> Self {
        let repeats = timeline.repeats();
        let mut cursor = Cursor::new(timeline, 0..repeats);
        while cursor.next_before(position).is_some() {}
        Self {
            cursor,
            end: 0,
            left: None,
        }
    }

    /// Goes on at frame `now` with the session laid out otherwise. A swim that had been ended and
    /// is not any more goes on as if it had never been.
    pub fn lay(&mut self, timeline: &Arc<Timeline>, now: u64) {
        let swims_on = self.cursor.is_in_swim(timeline, now);
        let is_back = |left: &mut Cursor<_>| !swims_on && left.is_in_swim(timeline, now);
        if let Some(mut left) = self.left.take_if(is_back) {
            left.lay(Arc::clone(timeline), now);
            left.relieve(&self.cursor, now);
            self.cursor = left;
            return;
        }
        if self.cursor.view(now).phase.is_some() {
            self.left = Some(self.cursor.clone());
        }
        self.cursor.lay(Arc::clone(timeline), now);
    }
}

impl Iterator for LiveEvents {
    type Item = Event;

    fn next(&mut self) -> Option<Event> {
        self.cursor.next_before(self.end)
    }
}

#[cfg(test)]
mod tests;
