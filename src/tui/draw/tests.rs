//! Frames of the screen, from a real engine on no device.

use std::collections::BTreeSet;

use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{KeyCode, KeyEvent};

use super::draw;
use crate::analysis::taps::Each;
use crate::files::{parse_session, parse_swimmer, voices};
use crate::live::{DeckSound, Engine, KeyTime, Laid, Remote, Running, Score};
use crate::model::resolve::{Resolved, resolve};
use crate::model::wishes::Wishes;
use crate::sound::Bank;
use crate::timeline::{Goes, Schedule, Timeline};
use crate::tui::face::{Face, ShownRate, Wheel};
use crate::tui::help::HELP;
use crate::tui::{Action, App, DeckView, Programme, SwumResult};

const SESSION: &str = "title = \"Tuesday evening\"\n[[set]]\nname = \"Settle\"\nrepeats = 4\nswim = \"50 m\"\n\
    rate = \"54 spm\"\npace = \"2:05 / 100 m\"\nsend_off = \"1:30\"\nsay = \"Easy.\"\n\
    [[set]]\nname = \"Hold\"\nrepeats = 2\nswim = \"100 m\"\nrate = \"58 spm\"\npace = \"2:00 / 100 m\"\n\
    pairing = \"opposite-side\"\nkick = \"six-beat\"\ncues = [\"arm\", \"kick\", \"fill\"]\n";

const RATE_HZ: u32 = 8000;

/// The screen of an engine that a test drives.
struct Deck {
    engine: Engine,
    remote: Remote,
    app: App,
    sound: DeckSound,
    session: Resolved,
    /// The last result of each swimmer that was handed over.
    results: Vec<((u32, usize), Option<SwumResult>)>,
}

impl Deck {
    fn new() -> Self {
        Self::with(SESSION)
    }

    fn with(session: &str) -> Self {
        Self::of(session, &["Alex Example"], 0)
    }

    fn of(session: &str, swimmers: &[&str], apart_s: i64) -> Self {
        let session = parse_session("evening.toml", session).expect("parses");
        let swimmer = parse_swimmer("alex.toml", "name = \"Alex Example\"\n").expect("parses");
        let session = resolve(&session, Some(&swimmer), &Wishes::default()).expect("resolves");
        let goes = Goes {
            swimmers: swimmers.len() as u32,
            apart_s: crate::units::exact(apart_s),
        };
        let schedule = Schedule::for_all(&session, goes).expect("fits");
        let bank = Bank::new(&voices::shipped(), RATE_HZ);
        let score = Score::session(&session, &schedule, bank, false);
        let swimmers = swimmers.iter().map(|name| name.to_string()).collect();
        let running = Running::new(session.clone(), schedule, RATE_HZ, swimmers, 0.0);
        let programme = Programme::new(&session, &score, 0, None, Some(running));
        let (engine, mut remote) = Engine::new(score, 0);
        let app = App::new(programme, remote.state(), Each::Cycle);
        Self {
            engine,
            remote,
            app,
            session,
            results: Vec::new(),
            sound: DeckSound::Playing {
                device: "Example speaker".into(),
                rate_hz: RATE_HZ,
                channels: 2,
                buffer_frames: 256,
            },
        }
    }

    /// Lets the engine run for so many seconds.
    fn run(&mut self, seconds: f64) {
        let mut block = [[0.0; 2]; 80];
        for _ in 0..(seconds * 100.0).round() as usize {
            self.pass();
            self.engine.fill(&mut block);
        }
        self.pass();
    }

    fn pass(&mut self) {
        for command in self.app.take_commands() {
            assert!(self.remote.send(command));
        }
        if let Some(laying) = self.app.take_laying() {
            let timeline = Timeline::new(&self.session, &laying.course, RATE_HZ);
            let laid = Laid {
                timeline: timeline.into(),
                speech: Default::default(),
            };
            assert!(self.remote.lay(&laid));
            self.app.lay(&laid.timeline);
        }
        let moment = self.moment();
        self.app.take_state(self.remote.state(), moment);
        for kept in self.app.take_results() {
            self.results.retain(|(of, _)| *of != kept.of);
            self.results.push((kept.of, kept.swum));
        }
    }

    fn moment(&self) -> KeyTime {
        let position = self.engine.position() as f64;
        KeyTime {
            now_s: position / f64::from(RATE_HZ),
            heard_frame: position,
        }
    }

    fn key(&mut self, code: KeyCode) -> Option<Action> {
        let moment = self.moment();
        let action = self.app.key(KeyEvent::from(code), moment);
        self.pass();
        action
    }

    fn press(&mut self, keys: &str) {
        for c in keys.chars() {
            self.key(KeyCode::Char(c));
        }
    }

    fn screen(&mut self, width: u16, height: u16) -> String {
        let view = DeckView {
            sound: self.sound.clone(),
            underruns: 0,
            latency_ms: 12.0,
        };
        let moment = self.moment();
        let face = self.app.face(&view, moment);
        let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("memory");
        terminal.draw(|frame| draw(frame, &face)).expect("memory");
        let cells = terminal.backend().to_string();
        let lines = cells.lines().map(|line| line.trim_matches('"').trim_end());
        lines.collect::<Vec<_>>().join("\n")
    }
}

/// Holds a screen against the one that is kept in `tests/frames`.
fn check_frame(name: &str, screen: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../../../tests/frames");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, screen));
}

/// In the second length of the first repeat, at a rate of the coach's own.
fn in_a_swim() -> Deck {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(80.0);
    deck.key(KeyCode::Up);
    deck.run(1.0);
    deck
}

/// A size of the screen: the smallest with places, a small one, the usual one, a large one.
const SIZES: [(u16, u16); 4] = [(40, 12), (60, 18), (80, 24), (132, 40)];

fn check_frames(name: &str, mut deck: Deck) {
    for (width, height) in SIZES {
        let screen = deck.screen(width, height);
        check_frame(&format!("{name}-{width}x{height}"), &screen);
    }
}

#[test]
fn a_swim_at_every_size() {
    check_frames("swim", in_a_swim());
}

#[test]
fn a_rest_with_a_result_at_every_size() {
    let mut deck = Deck::of(&long_words(), &["Alex Example", "Bo Example"], 5);
    deck.press(" ");
    deck.run(105.0);
    deck.press("c");
    deck.run(2.0);
    deck.press("c");
    deck.run(2.0);
    check_frames("rest", deck);
}

#[test]
fn results_are_entered_at_every_size() {
    let mut deck = Deck::of(&long_words(), &["Alex Example", "Bo Example"], 5);
    deck.press(" ");
    deck.run(105.0);
    deck.press("cr");
    deck.run(5.0);
    check_frames("results", deck);
}

fn long_words() -> String {
    SESSION.replace(
        "\"Easy.\"",
        "\"Easy for the first fifty. Finish the kick as the hand takes hold, and let the other hand \
         wait in front. From the second one on count the strokes of each length, and say them at \
         the wall. Breathe whenever you want.\"",
    )
}

#[test]
fn a_screen_that_is_too_small_for_places_says_the_rate_and_the_time() {
    let mut deck = in_a_swim();
    assert_eq!(
        deck.screen(45, 1),
        "55 spm   Swimming 0:21, 0:42 to go   running"
    );
    assert_eq!(
        deck.screen(39, 2),
        "55 spm   Swimming 0:21, 0:42 to go\nrunning"
    );
    deck.press("q");
    assert_eq!(
        deck.screen(45, 1),
        "Quit? q again quits, any other key goes on"
    );
}

#[test]
fn before_every_start_and_at_no_other_time_the_screen_says_when_it_is() {
    let mut deck = Deck::with(&SESSION.replace("repeats = 4", "repeats = 2"));
    deck.press(" ");
    let (starts, ends) = ([60.0, 150.0, 240.0, 380.0], [122.5, 212.5, 360.0, 500.0]);
    for second in 0..520 {
        let now = f64::from(second) + 0.5;
        deck.run(if second == 0 { 0.5 } else { 1.0 });
        for (width, height) in [(39, 3), (40, 12), (80, 24), (132, 40)] {
            let screen = deck.screen(width, height);
            let next = starts.iter().zip(ends).find(|(_, end)| now < *end);
            let due = next.filter(|(start, _)| now < **start);
            let due = due.map(|(start, _)| {
                let left = (start - now).ceil() as u64;
                format!("Start in {}:{:02}", left / 60, left % 60)
            });
            match due {
                Some(due) => assert!(screen.contains(&due), "{now} s: {screen}"),
                None => assert!(!screen.contains("Start in"), "{now} s: {screen}"),
            }
        }
    }
}

#[test]
fn a_message_stands_for_four_seconds_and_nothing_else_gives_way_to_it() {
    let mut deck = in_a_swim();
    let before = deck.screen(80, 24);
    deck.key(KeyCode::Char('3'));
    deck.key(KeyCode::Char('0'));
    deck.key(KeyCode::Char('0'));
    deck.key(KeyCode::Enter);
    let said = deck.screen(80, 24);
    let differ: Vec<(usize, &str)> = (before.lines().zip(said.lines()).enumerate())
        .filter(|(_, (before, said))| before != said)
        .map(|(row, (_, said))| (row, said))
        .collect();
    assert_eq!(
        differ,
        [(22, " 300 spm is outside 10 to 160 spm (both arms counted).")]
    );
    deck.run(3.9);
    assert!(deck.screen(80, 24).contains("300 spm"));
    deck.run(0.2);
    assert!(!deck.screen(80, 24).contains("300 spm"));
}

#[test]
fn the_words_of_a_coach_are_shown_whole_a_page_at_a_time() {
    let mut deck = Deck::with(&long_words());
    deck.press(" ");
    let whole = deck.screen(132, 40);
    assert!(
        whole.contains("Easy for the first fifty.") && whole.contains("Breathe whenever you want."),
        "{whole}"
    );
    let words = "Easy for the first fifty. Finish the kick as the hand takes hold, and let the other \
                 hand wait in front. From the second one on";
    for (width, height) in [(40, 12), (60, 18), (80, 24), (80, 32)] {
        let mut read = String::new();
        for _ in 0..20 {
            deck.run(5.0);
            read += &deck.screen(width, height);
        }
        for word in words.split(' ') {
            assert!(read.contains(word), "{word} at {width} x {height}: {read}");
        }
    }
}

#[test]
fn a_rate_is_shown_as_it_sounds_whoever_has_set_it() {
    let mut deck = Deck::with(&SESSION.replace("54 spm", "56.3 spm"));
    deck.press(" ");
    deck.run(70.0);
    let of_the_session = deck.screen(80, 24);
    assert!(
        of_the_session.contains("spm, 28.15 cycles/min"),
        "{of_the_session}"
    );
    deck.press("56.3");
    deck.key(KeyCode::Enter);
    deck.run(1.0);
    let by_hand = deck.screen(80, 24);
    assert!(by_hand.contains("spm, 28.15 cycles/min"), "{by_hand}");
}

#[test]
fn a_title_cannot_turn_the_screen_round() {
    let mut deck = Deck::with(&SESSION.replace("Tuesday", "Tues\u{202e}day"));
    let screen = deck.screen(80, 24);
    assert!(screen.contains("Tues\\u{202e}day evening"), "{screen}");
}

#[test]
fn a_lost_device_is_said_once_and_stays_to_be_seen() {
    let mut deck = in_a_swim();
    deck.screen(80, 24);
    deck.sound = DeckSound::Lost("the device takes no more sound".into());
    let said = deck.screen(80, 24);
    assert!(said.contains("The sound device is lost."), "{said}");
    deck.press("p");
    deck.run(4.0);
    let later = deck.screen(80, 24);
    assert!(!later.contains("The sound device is lost."), "{later}");
    assert!(later.contains("SOUND LOST"), "{later}");
    check_frame("lost-80x24", &later);
}

#[test]
fn the_help_on_the_smallest_screen() {
    let mut deck = Deck::new();
    deck.press("?");
    check_frame("help-80x24", &deck.screen(80, 24));
}

#[test]
fn every_change_is_taken_back_by_one_key() {
    let mut deck = in_a_swim();
    let before = deck.app.settings();
    let changes = [
        KeyCode::Up,
        KeyCode::Left,
        KeyCode::Char('p'),
        KeyCode::Char('k'),
        KeyCode::Char('h'),
        KeyCode::Char('f'),
        KeyCode::Char('i'),
        KeyCode::Char('b'),
        KeyCode::Char('g'),
    ];
    for key in changes {
        deck.key(key);
        deck.run(0.5);
        assert_ne!(deck.app.settings(), before, "{key:?}");
        deck.press("u");
        deck.run(0.5);
        assert_eq!(deck.app.settings(), before, "{key:?}");
    }
}

#[test]
fn a_slip_does_no_harm() {
    let mut deck = in_a_swim();
    let before = deck.app.settings();
    assert_eq!(deck.key(KeyCode::Char('q')), None);
    assert!(deck.screen(80, 24).contains("Quit?"));
    assert_eq!(deck.key(KeyCode::Char('x')), None);
    deck.press("300");
    deck.key(KeyCode::Enter);
    assert!(
        deck.screen(80, 24)
            .contains("300 spm is outside 10 to 160 spm")
    );
    deck.press("zjy");
    deck.run(0.2);
    assert_eq!(deck.app.settings(), before);
    deck.press("q");
    assert_eq!(deck.key(KeyCode::Char('q')), Some(Action::Quit));
}

#[test]
fn a_held_key_stops_at_the_end_of_the_range() {
    let mut deck = in_a_swim();
    for _ in 0..300 {
        deck.key(KeyCode::Up);
        deck.engine.fill(&mut [[0.0; 2]; 8]);
    }
    deck.run(0.5);
    assert_eq!(deck.app.settings().spm, 160.0);
}

#[test]
fn what_a_coach_changed_ends_with_the_set() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(80.0);
    deck.key(KeyCode::Up);
    deck.app.take_lines();
    let mut told = Vec::new();
    for _ in 0..600 {
        deck.run(1.0);
        let starts = deck.app.take_lines();
        if let Some(start) = starts.iter().find(|line| line.contains(" start: ")) {
            deck.run(1.0);
            told.push((start.clone(), deck.app.settings().spm));
        }
    }
    let rates: Vec<f64> = told.iter().map(|(_, spm)| *spm).collect();
    assert_eq!(rates, [55.0, 55.0, 55.0, 58.0, 58.0], "{told:?}");
    assert_eq!(told[0].0, "2:30 start: Settle, repeat 2 of 4");
}

/// A time in s, as a result has it.
fn time_s(swum: &SwumResult) -> f64 {
    let time = swum.time.as_ref().expect("a time was taken");
    crate::units::to_f64(time.s())
}

#[test]
fn a_time_is_taken_whatever_the_screen_shows_and_can_be_taken_back() {
    for before in ["", "?", "q", "r"] {
        let mut deck = Deck::new();
        deck.press(" ");
        // The first swim: from 60 s to 122.5 s.
        deck.run(110.0);
        deck.press(before);
        deck.press("c");
        let (of, swum) = deck.results.last().cloned().expect(before);
        assert_eq!(of, (0, 0));
        let swum = swum.expect("a result");
        assert!((time_s(&swum) - 50.0).abs() < 0.01, "{before}: {swum:?}");
        deck.key(KeyCode::Esc);
        assert!(
            deck.screen(80, 24)
                .contains("Settle 1: Alex Example 50.0 s")
        );
        deck.press("u");
        assert_eq!(deck.results, [((0, 0), None)], "{before}");
        assert!(deck.screen(80, 24).contains("Taken back."));
        deck.run(1.0);
        assert!(
            deck.screen(80, 24).contains("Swimming 0:51"),
            "{}",
            deck.screen(80, 24)
        );
    }
}

#[test]
fn results_are_entered_while_the_next_swim_sounds_and_stay_with_their_own() {
    let mut deck = Deck::of(SESSION, &["Alex Example", "Bo Example"], 5);
    deck.press(" ");
    deck.run(105.0);
    deck.press("c");
    deck.run(2.0);
    deck.press("c");
    deck.press("r");
    assert!(deck.screen(132, 40).contains("Results: Settle, repeat 1"));
    deck.run(46.0);
    // The second swim has begun. Names change places; strokes of each.
    for key in ["^", "^", ">", "v", "v", "4", "4", "!"] {
        deck.key(match key {
            "^" => KeyCode::Up,
            "v" => KeyCode::Down,
            ">" => KeyCode::Right,
            "!" => KeyCode::Enter,
            digit => KeyCode::Char(digit.chars().next().expect("a digit")),
        });
    }
    let of = |deck: &Deck, who: usize| {
        let found = deck.results.iter().find(|(of, _)| *of == (0, who));
        found.and_then(|(_, swum)| swum.clone()).expect("a result")
    };
    let (alex, bo) = (of(&deck, 0), of(&deck, 1));
    // In at 45 and 47 s after the first go: who left second came in first.
    assert!((time_s(&alex) - 47.0).abs() < 0.05, "{alex:?}");
    assert!((time_s(&bo) - 40.0).abs() < 0.05, "{bo:?}");
    assert_eq!(
        bo.entered.strokes.as_ref().map(ToString::to_string),
        Some("44".into())
    );
    assert_eq!(alex.entered.strokes, None);
    assert_eq!((alex.repeat, alex.again, alex.stopped), (1, false, false));
}

#[test]
fn a_swim_that_was_stopped_is_no_result_until_somebody_times_it() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(80.0);
    deck.press("n");
    deck.run(5.0);
    assert!(deck.results.is_empty());
    deck.press("c");
    let (_, swum) = deck.results.last().cloned().expect("a time");
    assert!(swum.is_some_and(|swum| swum.stopped));
    // Later than the next start nothing of it can be taken back.
    deck.run(70.0);
    deck.press("u");
    assert!(
        deck.screen(80, 24).contains("Too late"),
        "{}",
        deck.screen(80, 24)
    );
}

#[test]
fn the_screen_says_by_how_much_the_session_runs_early() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(30.0);
    deck.press("n");
    let screen = deck.screen(80, 24);
    assert!(
        screen.contains("Start in 0:09") && screen.contains("0:22 early"),
        "{screen}"
    );
}

#[test]
fn a_comparison_is_told_and_keeps_its_rate_out_of_what_is_saved() {
    let mut deck = Deck::with(
        "[[set]]\nrepeats = 3\nswim = \"30 s\"\nrest = \"10 s\"\nrate = \"60 spm\"\n\
         compare = { rate = \"50 spm\", at = [2] }\n",
    );
    deck.press(" ");
    deck.run(70.0);
    deck.key(KeyCode::Up);
    deck.run(5.0);
    assert!(
        deck.screen(80, 24)
            .contains("Then: repeat 2 of 3, for comparison")
    );
    assert_eq!(deck.app.rate_by_hand(), Some(61.0));
    deck.run(40.0);
    let screen = deck.screen(80, 24);
    assert!(screen.contains("repeat 2 of 3, for comparison"), "{screen}");
    assert_eq!(deck.app.settings().spm, 50.0);
    deck.key(KeyCode::Up);
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 51.0);
    assert_eq!(deck.app.rate_by_hand(), Some(61.0));
    deck.run(34.0);
    assert_eq!(deck.app.settings().spm, 61.0);
    // What was changed in the comparison has ended with it: the change before that is taken back.
    deck.press("u");
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 60.0);
    assert_eq!(deck.app.rate_by_hand(), None);
    deck.press("u");
    assert!(
        deck.screen(80, 24)
            .contains("Nothing to take back in this set.")
    );
}

const COMPARED: &str = "lead_in = \"10 s\"\n[[set]]\nrepeats = 3\nswim = \"50 m\"\npace = \"30 s / 50 m\"\n\
    rest = \"20 s\"\nrate = \"60 spm\"\ncompare = { rate = \"50 spm\", at = [2] }\n";

#[test]
fn a_rate_set_in_the_rest_before_a_comparison_is_its_own_wherever_its_start_is_moved() {
    for keys in ["n", "a", "au", "an"] {
        let mut deck = Deck::with(COMPARED);
        deck.press(" ");
        // In the rest from 40 to 60 s.
        deck.run(42.0);
        for digit in "57".chars() {
            deck.key(KeyCode::Char(digit));
        }
        deck.key(KeyCode::Enter);
        deck.run(2.0);
        for key in keys.chars() {
            deck.key(KeyCode::Char(key));
            deck.run(2.0);
        }
        let is_start = |line: &String| line.contains(" start: Set 1, repeat 2 of 3");
        let begun = (0..150).any(|_| {
            deck.run(1.0);
            deck.app.take_lines().iter().any(is_start)
        });
        deck.run(1.0);
        assert!(begun, "{keys}");
        assert_eq!(deck.app.settings().spm, 57.0, "{keys}");
        assert_eq!(deck.app.rate_by_hand(), None, "{keys}");
    }
}

#[test]
fn a_rate_set_after_an_arrival_is_taken_back_before_it() {
    let mut deck = Deck::with(COMPARED);
    deck.press(" ");
    deck.run(25.0);
    deck.key(KeyCode::Up);
    deck.run(5.0);
    deck.press("c");
    deck.run(3.0);
    // In the rest before the comparison, then back in the swim, then before the change in it.
    deck.key(KeyCode::Up);
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 51.0);
    for (spm, is_in) in [(50.0, true), (61.0, false), (60.0, false)] {
        deck.press("u");
        deck.run(1.0);
        assert_eq!(deck.app.settings().spm, spm);
        let screen = deck.screen(80, 24);
        assert_eq!(screen.contains("Start in"), is_in, "{screen}");
    }
    assert_eq!(deck.app.rate_by_hand(), None);
}

#[test]
fn a_ramp_goes_on_where_a_rate_is_taken_back() {
    let mut deck = Deck::with(
        "lead_in = \"5 s\"\n[[set]]\nswim = \"60 s\"\n\
         rate = { from = \"50 spm\", to = \"70 spm\", by = \"time\" }\n",
    );
    deck.press(" ");
    deck.run(25.0);
    deck.key(KeyCode::Up);
    deck.run(10.0);
    // A step from a rate that moves, 17 s into the 57 of the ramp, is one that somebody would say.
    assert_eq!(deck.app.rate_by_hand(), Some(57.0));
    deck.press("u");
    deck.run(10.0);
    assert_eq!(deck.app.rate_by_hand(), None);
    let spm = crate::live::spm(deck.remote.state().view.frequency, RATE_HZ);
    assert!((spm - (50.0 + 20.0 * 37.0 / 57.0)).abs() < 0.2, "{spm}");
}

#[test]
fn a_rate_that_is_not_followed_any_more_is_one_that_somebody_would_say() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(66.0);
    deck.press("l");
    for _ in 0..10 {
        // 51.28 spm, a tap a cycle.
        deck.press("t");
        deck.run(2.34);
    }
    assert!(deck.screen(80, 24).contains("; the cues follow"));
    deck.press("l");
    deck.run(0.5);
    let spm = deck.app.settings().spm;
    assert!(spm.fract() == 0.0 || spm.fract() == 0.5, "{spm}");
    assert!((spm - 51.28).abs() < 1.0, "{spm}");
    let sounds = crate::live::spm(deck.remote.state().view.frequency, RATE_HZ);
    assert!((sounds - spm).abs() < 1e-6, "{sounds}");
}

#[test]
fn taps_give_a_rate_that_the_cues_follow() {
    let mut deck = Deck::new();
    deck.press(" ");
    deck.run(66.0);
    deck.press("l");
    for _ in 0..10 {
        // 50 spm, a tap a cycle.
        deck.press("t");
        deck.run(2.4);
    }
    assert!(
        deck.screen(80, 24).contains("Taps: 10: 50.0"),
        "{}",
        deck.screen(80, 24)
    );
    let state = deck.remote.state();
    assert!(state.following);
    let spm = crate::live::spm(state.view.frequency, RATE_HZ);
    assert!((spm - 50.0).abs() < 1.0, "{spm}");
    let phase = state.view.phase.expect("in a swim");
    // The last tap was 2.4 s ago: the first arm is due.
    let off = phase - phase.round();
    assert!(off.abs() < 0.02, "{off}");
    deck.press("l");
    deck.run(0.5);
    assert!(!deck.remote.state().following);
    // Following can be taken back too, and another tap does not begin it again.
    deck.press("l");
    deck.run(0.5);
    assert!(deck.remote.state().following);
    deck.press("u");
    deck.press("t");
    deck.run(0.5);
    assert!(!deck.remote.state().following);
}

#[test]
fn taking_back_a_pairing_leaves_a_ramp_alone() {
    let mut deck = Deck::with(
        "title = \"Rising\"\nlead_in = \"5 s\"\n[[set]]\nswim = \"60 s\"\n\
         rate = { from = \"50 spm\", to = \"70 spm\", by = \"time\" }\n",
    );
    deck.press(" ");
    deck.run(25.0);
    deck.press("p");
    deck.run(10.0);
    deck.press("u");
    deck.run(10.0);
    let spm = crate::live::spm(deck.remote.state().view.frequency, RATE_HZ);
    // 45 s after the clock began: 37 s of the 57 after the push-off.
    assert!((spm - (50.0 + 20.0 * 37.0 / 57.0)).abs() < 0.2, "{spm}");
}

/// Words of a few letters, as nothing else on the screen has them.
fn any_text(words: impl Into<proptest::collection::SizeRange>) -> impl Strategy<Value = String> {
    prop::collection::vec("[XYZ]{1,8}", words).prop_map(|words| words.join(" "))
}

fn any_texts() -> impl Strategy<Value = Vec<String>> {
    prop::collection::vec(any_text(1..14), 0..6)
}

/// A face in which every text is as long as it likes.
fn any_face() -> impl Strategy<Value = Face> {
    let texts = prop::collection::vec(any_text(0..12), 11);
    let lists = (any_texts(), any_texts(), any_texts());
    let says = (
        prop::option::of(any_text(1..60)),
        any::<(bool, bool, bool, bool, bool)>(),
    );
    (texts, lists, says, 10.0..160.0f64, 0.0..1.0f64).prop_map(
        |(texts, (ahead, last, results), (say, has), spm, part)| {
            let text = |at: usize| texts[at].clone();
            Face {
                title: text(0),
                swimmer: has.0.then(|| text(1)),
                doing: "no sound",
                rate: ShownRate::new(spm, has.2),
                going_to_spm: has.3.then_some(spm),
                typed: has.4.then(|| "12345".into()),
                feet: [text(2), text(3)],
                kick: text(4),
                waiting: has.3.then(|| text(5)),
                wheel: Wheel::default(),
                point: Some(part),
                clock: text(6),
                heading: text(7),
                say,
                ahead,
                last,
                results: (has.0 && has.1).then_some(results),
                settings: text(8),
                aside: text(9),
                sound: text(10),
                alarm: has.2,
                happened: has.4.then(|| (text(9), part)),
                asked: (has.0 && has.4).then_some("XX YY"),
                keys: text(1),
                turn: (part * 100.0) as usize,
                help: has.1 && has.3,
            }
        },
    )
}

fn drawn(face: &Face, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("memory");
    terminal.draw(|frame| draw(frame, face)).expect("memory");
    let cells = terminal.backend().to_string();
    let lines = cells.lines().map(|line| line.trim_matches('"').to_string());
    lines.collect::<Vec<_>>().join("\n")
}

/// Every word that a face can show.
fn words_of(face: &Face) -> BTreeSet<String> {
    let rate = &face.rate;
    let mut texts = vec![
        face.title.clone(),
        face.kick.clone(),
        face.clock.clone(),
        face.heading.clone(),
        face.settings.clone(),
        face.aside.clone(),
        face.sound.clone(),
        face.keys.clone(),
        super::unit(face),
        format!("{} spm no sound Last results … XX YY 12345", rate.said),
        HELP.into(),
        "left right hand foot rests in front".into(),
    ];
    texts.extend(face.feet.clone());
    let optional = [&face.swimmer, &face.waiting, &face.say];
    texts.extend(optional.into_iter().flatten().cloned());
    for list in [
        &face.ahead,
        &face.last,
        face.results.as_ref().unwrap_or(&Vec::new()),
    ] {
        texts.extend(list.iter().cloned());
    }
    let words = texts.iter().flat_map(|text| text.split_whitespace());
    words.map(str::to_string).collect()
}

proptest! {
    #[test]
    fn nothing_overlaps_and_no_word_is_cut_at_any_size(
        face in any_face(), width in 12u16..170, height in 1u16..60,
    ) {
        let screen = drawn(&face, width, height);
        let known = words_of(&face);
        let is_drawing = |word: &str| word.chars().all(|c| "█─".contains(c));
        // The help alone has longer words, and is for larger screens.
        for word in screen.split_whitespace().filter(|word| !is_drawing(word)) {
            prop_assert!(known.contains(word), "{word} at {width} x {height}:\n{screen}");
        }
    }

    #[test]
    fn every_word_of_a_coach_is_shown_sooner_or_later(
        face in any_face(), width in 40u16..150, height in 12u16..50,
    ) {
        let mut face = Face { help: false, results: None, ..face };
        face.say = Some((0..50).map(|word| format!("w{word}")).collect::<Vec<_>>().join(" "));
        let shown = (0..40).map(|turn| {
            face.turn = turn;
            drawn(&face, width, height)
        });
        let shown = shown.collect::<Vec<_>>().join("\n");
        let shown: BTreeSet<&str> = shown.split_whitespace().collect();
        for word in 0..50 {
            prop_assert!(shown.contains(&*format!("w{word}")), "w{word} at {width} x {height}");
        }
    }

    #[test]
    fn no_screen_is_too_small_to_be_drawn(face in any_face(), width in 1u16..45, height in 1u16..16) {
        drawn(&face, width, height);
    }
}

#[test]
fn who_reads_no_screen_is_told_what_keys_changed_and_what_comes_next() {
    let mut deck = Deck::new();
    assert_eq!(
        deck.app.take_lines(),
        [
            "0:00 next: Set 1 of 2: Settle 50 m repeat 1 of 4 Start in 1:00",
            "0:00 words: \"Easy.\"",
        ]
    );
    deck.press(" ");
    deck.run(80.0);
    deck.key(KeyCode::Up);
    deck.run(1.0);
    deck.press("kfc");
    assert_eq!(
        deck.app.take_lines(),
        [
            "0:00 clock: running",
            "1:00 start: Settle, repeat 1 of 4",
            "1:20 rate: 55 spm, 27.5 cycles/min",
            "1:21 cues: left foot with left catch, right foot with right catch; four-beat kick",
            "1:21 settings: Silent: feet.",
            "1:21 in: Alex Example in: 21.0 s.",
            "1:21 end: Settle, repeat 1 of 4",
            "1:21 next: Set 1 of 2: Settle 50 m repeat 2 of 4 Start in 1:09",
        ]
    );
    deck.press("r");
    let lines = deck.app.take_lines();
    assert!(
        lines[0].ends_with("results: Alex Example time 21.00 strokes [-] kept - effort - note -"),
        "{lines:?}"
    );
}
