//! Keys through sessions, one by one, on the events that the engine would sound.

use std::sync::Arc;

use super::*;
use crate::files::parse_session;
use crate::live::LiveEvents;
use crate::model::cue::{CueKind, Side};
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::resolve;
use crate::model::wishes::Wishes;
use crate::timeline::{Event, SteadyRate, Timeline};
use crate::units::{exact, fraction};

mod walk;

const RATE_HZ: u32 = 8000;

const CUED: CuedLast = CuedLast {
    spm: 54.0,
    pairing: Pairing::SameSide,
    kick: Kick::TwoBeat,
};

const RESTS: &str = "lead_in = \"20 s\"\n[[set]]\nname = \"One\"\nrepeats = 3\nswim = \"50 m\"\n\
    pace = \"1:20 / 100 m\"\nrest = \"20 s\"\nrate = \"54 spm\"\n\
    [[set]]\nname = \"Two\"\nrepeats = 2\nswim = \"30 s\"\nsend_off = \"1:00\"\n\
    rate = { from = \"50 spm\", to = \"60 spm\", by = \"time\" }\n";
const SEND_OFFS: &str = "lead_in = \"10 s\"\n[[set]]\nrepeats = 4\nswim = \"100 m\"\npace = \"1:30 / 100 m\"\n\
    send_off = \"2:00\"\nrate = \"61.3 spm\"\nwalls = \"pause\"\ncues = [\"arm\", \"kick\", \"wall\"]\n";

/// A deck without sound: frames go by, and what would have sounded is kept.
struct Deck {
    session: Resolved,
    running: Running,
    events: LiveEvents,
    position: u64,
    runs: bool,
    now_s: f64,
    heard: Vec<Event>,
}

impl Deck {
    fn new(text: &str, goes: Goes) -> Self {
        let session = parse_session("deck.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let schedule = Schedule::for_all(&session, goes).expect("fits");
        let timeline = Arc::new(Timeline::new(&session, &schedule, RATE_HZ));
        let names = (0..goes.swimmers)
            .map(|at| format!("Swimmer {at}"))
            .collect();
        Self {
            running: Running::new(session.clone(), schedule, RATE_HZ, names, 0.0),
            session,
            events: LiveEvents::new(timeline, 0),
            position: 0,
            runs: true,
            now_s: 100.0,
            heard: Vec::new(),
        }
    }

    fn at(&self) -> KeyTime {
        KeyTime {
            now_s: self.now_s,
            heard_frame: self.position as f64,
        }
    }

    fn pass(&mut self, seconds: f64) {
        let mut left = (seconds * f64::from(RATE_HZ)).round() as u64;
        while left > 0 {
            let block = left.min(400);
            left -= block;
            self.now_s += block as f64 / f64::from(RATE_HZ);
            if self.runs {
                self.events.end = self.position + block;
                self.heard.extend(self.events.by_ref());
                self.position += block;
            }
            self.watch();
        }
    }

    fn watch(&mut self) {
        while (self
            .running
            .watch(self.at(), self.position, self.runs, CUED))
        .is_some()
        {}
    }

    /// Where what is laid anew may begin.
    fn from(&self) -> u64 {
        self.position + 1600
    }

    fn lay(&mut self) {
        let course = self.running.course();
        let timeline = Arc::new(Timeline::new(&self.session, course, RATE_HZ));
        self.events.lay(&timeline, self.position);
    }

    fn press(&mut self, key: char) -> (Done, Option<SetBefore>) {
        let (at, from) = (self.at(), self.from());
        let (done, before) = match key {
            'n' => self.running.next(at, from),
            'a' => self.running.again(at, from),
            'c' => self.running.arrived(at, self.position),
            _ => (self.running.split(at), None),
        };
        if done.moved {
            self.lay();
        }
        (done, before)
    }

    /// Another rate by hand, strokes/min.
    fn set_rate(&mut self, spm: i64) {
        let rate = SteadyRate::spm(exact(spm));
        self.events.cursor.change(self.position, rate, Fix::ZERO);
    }

    fn take_back(&mut self, before: &SetBefore) -> bool {
        let taken = self.running.take_back(before, self.position).is_ok();
        if taken {
            self.lay();
        }
        taken
    }

    fn frames(&self, kind: CueKind) -> Vec<u64> {
        let of_kind = self.heard.iter().filter(|event| event.kind == kind);
        of_kind.map(|event| event.frame).collect()
    }

    fn start_s(&self, repeat: usize) -> f64 {
        to_f64(&self.running.course().repeats[repeat].start_s)
    }
}

#[test]
fn next_in_a_rest_is_the_next_start_in_eight_seconds_with_its_counts() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(2.0);
    assert_eq!(deck.running.stage(deck.position), Stage::LeadIn);
    assert!(deck.press('n').0.moved);
    // From where anything can be laid anew: 0.2 s after the key.
    assert!((deck.start_s(0) - 10.2).abs() < 1e-9, "{}", deck.start_s(0));
    assert!((deck.running.late_s() + 9.8).abs() < 1e-9);
    assert!(!deck.press('n').0.moved, "a slip within a second");
    deck.pass(1.5);
    assert!(!deck.press('n').0.moved, "less than 8 s to go");
    deck.pass(8.0);
    // A stroke apart: 60 / 54 s.
    assert_eq!(deck.frames(CueKind::Count), [54_933, 63_822, 72_711]);
    assert_eq!(deck.frames(CueKind::Start), [81_600]);
    assert_eq!(deck.running.swims().len(), 1);
}

#[test]
fn next_in_a_swim_is_its_end_and_its_rest_begins() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(30.0);
    let (done, before) = deck.press('n');
    assert!(done.moved);
    deck.pass(1.0);
    assert_eq!(deck.frames(CueKind::End), [30 * 8000 + 1600]);
    assert!(
        (deck.start_s(1) - 50.2).abs() < 1e-9,
        "20 s of rest from the end"
    );
    assert_eq!(deck.running.stage(deck.position), Stage::Rest);
    assert!(deck.running.swims()[0].is_stopped(0));
    // Taken back, the swim goes on in step, as if nothing had been.
    assert!(deck.take_back(&before.expect("can be taken back")));
    deck.pass(40.0);
    let mut untouched = Deck::new(RESTS, Goes::ONE);
    untouched.pass(71.0);
    let late = |deck: &Deck| -> Vec<Event> {
        let late = deck.heard.iter().filter(|event| event.frame >= 31 * 8000);
        late.copied().collect()
    };
    assert_eq!(late(&deck), late(&untouched));
    assert!(!deck.running.swims()[0].is_stopped(0));
}

#[test]
fn next_in_counts_and_again_before_any_swim_do_nothing() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(17.5);
    assert_eq!(deck.running.stage(deck.position), Stage::Counts);
    for key in ['n', 'a', 'c'] {
        let (done, _) = deck.press(key);
        assert!(!done.moved && !done.said.is_empty(), "{key}: {done:?}");
        deck.pass(1.1);
    }
    let mut deck = Deck::new(RESTS, Goes::ONE);
    assert_eq!(deck.press('a').0.said, "Nothing has been swum yet.");
}

#[test]
fn again_swims_a_repeat_once_more_after_its_rest_and_keeps_its_number() {
    for in_rest in [false, true] {
        let mut deck = Deck::new(RESTS, Goes::ONE);
        // The first swim: from 20 to 60 s, the next start at 80 s.
        deck.pass(if in_rest { 65.0 } else { 40.0 });
        assert!(deck.press('a').0.moved);
        let course = deck.running.course();
        let numbers: Vec<u64> = course.repeats.iter().map(|repeat| repeat.number).collect();
        assert_eq!(numbers, [1, 1, 2, 3, 1, 2]);
        let due = if in_rest { 80.0 } else { 60.2 };
        assert!((deck.start_s(1) - due).abs() < 1e-3, "{}", deck.start_s(1));
        // Its own rest after it: 40 s of swim, 20 s of rest.
        assert!((deck.start_s(2) - due - 60.0).abs() < 1e-3);
        deck.pass(60.0);
        let swims = deck.running.swims();
        assert_eq!((swims[1].number, swims[1].again), (1, true));
        assert!(!swims[0].again);
    }
}

#[test]
fn a_swimmer_who_is_in_ends_the_swim_in_silence_and_the_rest_begins() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(55.31);
    let (done, before) = deck.press('c');
    assert_eq!(done.said, "Swimmer 0 in: 35.3 s.");
    assert_eq!(deck.running.swims()[0].time_s(0), Some(35.31));
    assert!(
        (deck.start_s(1) - 75.31).abs() < 1e-3,
        "{}",
        deck.start_s(1)
    );
    assert!(!deck.press('c').0.moved, "in already");
    deck.pass(10.0);
    assert_eq!(deck.frames(CueKind::End), [0; 0]);
    let after = deck.heard.iter().filter(|event| event.frame > 443_000);
    assert_eq!(after.count(), 0, "nothing sounds in the rest");
    deck.pass(11.0);
    assert!(
        !deck.take_back(&before.expect("can be taken back")),
        "a start has sounded"
    );
}

#[test]
fn a_swimmer_who_is_late_moves_the_start_by_a_rest_and_no_send_off() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(64.0);
    assert_eq!(deck.press('c').0.said, "Swimmer 0 in: 44.0 s.");
    assert!((deck.start_s(1) - 84.0).abs() < 1e-3);
    let mut deck = Deck::new(SEND_OFFS, Goes::ONE);
    deck.pass(104.0);
    assert_eq!(deck.press('c').0.said, "Swimmer 0 in: 1:34.0.");
    assert_eq!(deck.start_s(1), 130.0);
    assert_eq!(deck.running.late_s(), 0.0);
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(20.0 + 3.0 * 60.0 + 5.0);
    assert!(deck.press('c').0.said.starts_with("A swim by time"));
}

#[test]
fn after_the_last_swim_nothing_of_it_sounds_again() {
    let mut deck = Deck::new(SEND_OFFS, Goes::ONE);
    deck.pass(10.0 + 3.0 * 120.0 + 91.0);
    assert_eq!(deck.running.stage(deck.position), Stage::End);
    let before = deck.heard.len();
    deck.lay();
    deck.pass(2.0);
    assert_eq!(deck.heard.len(), before);
    // Again: the last one, after the rest that it would have had.
    assert!(deck.press('a').0.moved);
    deck.pass(40.0);
    assert_eq!(deck.running.swims().len(), 5);
}

#[test]
fn a_pause_stops_the_session_and_not_the_swimmer() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(30.0);
    deck.runs = false;
    deck.pass(7.5);
    deck.runs = true;
    deck.pass(20.0);
    assert_eq!(deck.press('c').0.said, "Swimmer 0 in: 37.5 s.");
    assert!(deck.running.swims()[0].paused);
}

#[test]
fn swimmers_who_leave_apart_have_clocks_of_their_own_and_a_go_each() {
    let goes = Goes {
        swimmers: 3,
        apart_s: exact(5),
    };
    let mut deck = Deck::new(RESTS, goes);
    deck.pass(50.0);
    assert_eq!(deck.frames(CueKind::Start), [160_000, 200_000, 240_000]);
    assert_eq!(deck.press('c').0.said, "Swimmer 0 in: 30.0 s.");
    deck.pass(2.0);
    assert_eq!(deck.press('c').0.said, "Swimmer 1 in: 27.0 s.");
    assert_eq!(deck.running.stage(deck.position), Stage::Swim);
    // The end: 40 s and the last start's share.
    assert_eq!(to_f64(&deck.running.course().repeats[0].end_s), 70.0);
    deck.pass(8.0);
    assert!(deck.press('c').0.moved, "all are in");
    assert!((deck.start_s(1) - 80.0).abs() < 1e-3);
    assert!(deck.press('s').0.said.contains("one swimmer"));
}

#[test]
fn nobody_is_sent_off_or_timed_where_the_swim_was_ended_before_their_go() {
    let goes = Goes {
        swimmers: 2,
        apart_s: exact(5),
    };
    let mut deck = Deck::new(RESTS, goes);
    deck.pass(22.0);
    assert!(deck.press('n').0.moved);
    deck.pass(8.0);
    assert_eq!(deck.frames(CueKind::Start), [160_000]);
    assert_eq!(deck.press('c').0.said, "Swimmer 0 in: 10.0 s.");
    let (done, _) = deck.press('c');
    assert_eq!(
        (done.timed, deck.running.swims()[0].time_s(1)),
        (None, None)
    );
}

#[test]
fn splits_are_kept_in_order_and_read_as_a_clock() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(40.1);
    assert_eq!(deck.press('s').0.said, "Split 1: 20.1 s.");
    assert_eq!(deck.press('s').0.said, "", "the same moment is no split");
    deck.pass(10.0);
    deck.press('c');
    assert!(deck.press('s').0.said.contains("Nobody"));
    assert_eq!(deck.running.swims()[0].splits, [20.1]);
    assert_eq!(
        [clock_tenths(49.26), clock_tenths(62.44)],
        ["49.3 s", "1:02.4"]
    );
}

#[test]
fn an_end_that_is_due_when_a_key_comes_is_heard() {
    for key in ['n', 'a'] {
        let mut deck = Deck::new(RESTS, Goes::ONE);
        // The frame that comes next is the one of the end.
        deck.pass(60.0);
        assert!(deck.press(key).0.moved);
        deck.pass(1.0);
        assert_eq!(deck.frames(CueKind::End), [60 * 8000], "{key}");
    }
}

#[test]
fn an_end_that_was_silenced_while_it_passed_stays_so_whatever_is_taken_back() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(30.0);
    deck.runs = false;
    // The clock stands, and three keys come before the end that the first of them has laid.
    let mut undo: Vec<SetBefore> = Vec::new();
    for key in ['a', 'n', 'c'] {
        let (done, before) = deck.press(key);
        assert!(done.moved, "{key}");
        undo.extend(before);
        deck.pass(1.5);
    }
    deck.runs = true;
    deck.pass(1.0);
    // Without the arrival, then without the nearer start: the swim has ended, unheard.
    for before in undo[1..].iter().rev() {
        assert!(deck.take_back(before));
        assert!(deck.running.course().repeats[0].silent_end);
    }
    deck.pass(1.0);
    assert_eq!(deck.frames(CueKind::End), [0; 0]);
}

#[test]
fn a_rate_set_by_hand_is_kept_by_whatever_is_laid_anew_in_its_set() {
    // Set in the swim, or again between the two keys.
    for (keys, rate_in_rest) in [
        ("c", false),
        ("n", false),
        ("a", false),
        ("cn", false),
        ("ca", false),
        ("cn", true),
        ("ca", true),
        ("cu", false),
    ] {
        let mut deck = Deck::new(RESTS, Goes::ONE);
        deck.pass(25.0);
        deck.set_rate(if rate_in_rest { 50 } else { 60 });
        deck.pass(20.0);
        let mut before = None;
        for (at, key) in keys.chars().enumerate() {
            if at > 0 && rate_in_rest {
                deck.set_rate(60);
            }
            if key == 'u' {
                assert!(deck.take_back(before.as_ref().expect("can be taken back")));
            } else {
                let (done, can_undo) = deck.press(key);
                assert!(done.moved, "{keys}");
                before = can_undo;
            }
            deck.pass(2.0);
        }
        deck.pass(60.0);
        assert_eq!(deck.running.swims().len(), 2, "{keys}");
        // One arm's cues: two strokes at 60 spm.
        let start = (deck.start_s(1) * f64::from(RATE_HZ)).round() as u64;
        let arms = deck.heard.iter().filter(|event| {
            (event.kind, event.side) == (CueKind::Arm, Some(Side::Left)) && event.frame > start
        });
        let arms: Vec<u64> = arms.map(|event| event.frame).collect();
        assert!(arms.len() > 3, "{keys}");
        for pair in arms.windows(2).take(3) {
            assert_eq!(pair[1] - pair[0], 16_000, "{keys}");
        }
    }
}

#[test]
fn a_time_that_comes_late_is_of_the_swim_that_was_swum_then_and_moves_nothing() {
    // Counts begin 3 s before the second start, at 80 s.
    for (known_s, is_counted) in [(78.5, true), (86.0, false)] {
        let mut deck = Deck::new(RESTS, Goes::ONE);
        deck.pass(58.0);
        let moment = deck.at();
        deck.pass(known_s - 58.0);
        let course = deck.running.course().clone();
        let (done, _) = deck.running.arrived(moment, deck.position);
        assert_eq!(done.said, "Swimmer 0 in: 38.0 s.");
        assert_eq!(deck.running.course(), &course);
        assert_eq!((done.moved, done.can_undo), (false, is_counted));
        assert_eq!(deck.running.swims()[0].time_s(0), Some(38.0));
        if !is_counted {
            // The swim that is swum now is timed as ever.
            assert_eq!(deck.running.swims()[1].time_s(0), None);
            deck.pass(10.0);
            let (done, _) = deck.running.arrived(deck.at(), deck.position);
            assert_eq!(done.said, "Swimmer 0 in: 16.0 s.");
        }
    }
}

#[test]
fn a_split_that_comes_late_is_of_the_swim_that_was_swum_then() {
    let mut deck = Deck::new(RESTS, Goes::ONE);
    deck.pass(40.0);
    let moment = deck.at();
    deck.pass(46.0);
    assert_eq!(deck.running.split(moment).said, "Split 1: 20.0 s.");
    assert_eq!(deck.running.swims()[0].splits, [20.0]);
    assert!(deck.running.swims()[1].splits.is_empty());
}
