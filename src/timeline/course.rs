//! A schedule as a session really goes: a swim that ended before its time, a repeat swum again, what
//! follows moved with it.
//!
//! All exact. What is moved keeps its distances, so that a move by whole frames moves every event by
//! as many.

use super::schedule::{LONGEST_S, Repeat, Schedule, TAIL_S};
use crate::model::resolve::{Resolved, Set};
use crate::model::session::Gap;
use crate::units::{Fix, exact, floor_u64};

impl Schedule {
    /// What lies between a repeat and the next start.
    pub fn gap_after(&self, session: &Resolved, index: usize) -> Gap {
        let repeat = &self.repeats[index];
        let set: &Set = &session.sets[repeat.set];
        match &set.rest_after {
            Some(rest) if repeat.number == set.repeats => Gap::Rest(rest.clone()),
            _ => set.gap(),
        }
    }

    /// When the next start would be after a repeat that ends at `end_s`.
    pub fn next_start_s(&self, session: &Resolved, index: usize, end_s: Fix) -> Fix {
        match self.gap_after(session, index) {
            Gap::Rest(rest) => end_s + rest.s(),
            Gap::SendOff(send_off) => self.repeats[index].start_s + send_off.s(),
        }
    }

    /// Ends a repeat at `end_s`, before its time; with a signal or without one. What follows stays.
    pub fn end_at(&mut self, index: usize, end_s: Fix, is_silent: bool) {
        let repeat = &mut self.repeats[index];
        let walls = (repeat.wall_every_s)
            .and_then(|every| floor_u64(&((end_s - repeat.start_s) / every)))
            .unwrap_or(0);
        repeat.walls = repeat.walls.min(walls);
        repeat.end_s = end_s;
        repeat.silent_end = is_silent;
        self.end_of_track();
    }

    /// Moves every repeat from one on by so many seconds.
    pub fn move_from(&mut self, index: usize, by_s: Fix) {
        for repeat in &mut self.repeats[index..] {
            repeat.start_s += by_s;
            repeat.end_s += by_s;
        }
        self.end_of_track();
    }

    /// Swims a repeat once more, as `planned` has it, from `start_s` on; what was to follow it
    /// follows after as long as it would have.
    pub fn again(&mut self, session: &Resolved, index: usize, planned: &Repeat, start_s: Fix) {
        let swim_s = planned.swim_s();
        let repeat = Repeat {
            start_s,
            end_s: start_s + swim_s,
            silent_end: false,
            ..planned.clone()
        };
        self.repeats.insert(index + 1, repeat);
        if let Some(next) = self.repeats.get(index + 2) {
            let due = self.next_start_s(session, index + 1, start_s + swim_s);
            let by_s = due - next.start_s;
            self.move_from(index + 2, by_s);
        }
        self.end_of_track();
    }

    /// Whether it has come to be longer than a session may be.
    pub fn is_too_long(&self) -> bool {
        self.total_s > exact(LONGEST_S)
    }

    fn end_of_track(&mut self) {
        if let Some(last) = self.repeats.last() {
            self.total_s = last.end_s + exact(TAIL_S);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Timeline;
    use super::*;
    use crate::files::parse_session;
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;
    use proptest::prelude::*;

    fn session(text: &str) -> (Resolved, Schedule) {
        let session = parse_session("test.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let schedule = Schedule::new(&session).expect("fits");
        (session, schedule)
    }

    const SESSION: &str = "lead_in = \"10 s\"\n[[set]]\nrepeats = 3\nswim = \"50 m\"\n\
        pace = \"2:03.7 / 100 m\"\nrest = \"21.3 s\"\nrest_after = \"40 s\"\n\
        rate = { from = \"53.7 spm\", to = \"61 spm\", by = \"time\" }\ncues = [\"arm\", \"kick\", \"wall\"]\n\
        [[set]]\nrepeats = 2\nswim = \"33.3 s\"\nsend_off = \"1:00.7\"\nrate = \"57.1 spm\"\n";

    #[test]
    fn a_swim_that_ends_early_has_no_later_wall_and_nothing_else_moves() {
        let (_, mut schedule) = session(SESSION);
        let before = schedule.clone();
        schedule.end_at(0, exact(30), true);
        assert_eq!((schedule.repeats[0].walls, before.repeats[0].walls), (0, 1));
        assert_eq!(schedule.repeats[1..], before.repeats[1..]);
    }

    #[test]
    fn a_repeat_swum_again_is_followed_as_it_would_have_been() {
        let (session, mut schedule) = session(SESSION);
        let planned = schedule.repeats[2].clone();
        let start_s = planned.end_s + exact(40);
        schedule.again(&session, 2, &planned, start_s);
        assert_eq!(schedule.repeats.len(), 6);
        assert_eq!(schedule.repeats[3].number, 3);
        assert_eq!(schedule.repeats[3].swim_s(), planned.swim_s());
        // The rest after the set, not the one between its repeats.
        let next = &schedule.repeats[4];
        assert_eq!(next.start_s - schedule.repeats[3].end_s, exact(40));
        assert_eq!((next.set, next.number), (1, 1));
        assert_eq!(schedule.total_s, schedule.repeats[5].end_s + exact(3));
    }

    proptest! {
        #[test]
        fn a_move_by_whole_frames_moves_every_event_by_as_many(
            frames in -400_000i64..400_000, rate_hz in prop::sample::select(vec![44_100u32, 48_000]),
        ) {
            let (session, mut schedule) = session(SESSION);
            let before = Timeline::new(&session, &schedule, rate_hz);
            schedule.move_from(1, Fix::new(frames.into(), rate_hz.into()));
            let after = Timeline::new(&session, &schedule, rate_hz);
            let frames_of = |timeline: &Timeline| -> Vec<i64> {
                timeline.events_of(1..5).map(|event| event.frame as i64).collect()
            };
            let (before, after) = (frames_of(&before), frames_of(&after));
            prop_assert_eq!(before.len(), after.len());
            for (before, after) in before.iter().zip(&after) {
                // In a ramp by time a frame either way counts as equal.
                prop_assert!((after - before - frames).abs() <= 1, "{} {}", before, after);
            }
        }
    }
}
