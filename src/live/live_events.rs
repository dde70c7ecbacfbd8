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
}

impl LiveEvents {
    /// The events of a timeline from frame `position` on.
    pub fn new(timeline: Arc<Timeline>, position: u64) -> Self {
        let repeats = timeline.repeats();
        let mut cursor = Cursor::new(timeline, 0..repeats);
        while cursor.next_before(position).is_some() {}
        Self { cursor, end: 0 }
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
