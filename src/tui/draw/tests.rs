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

mod any_face;
mod rates;
mod run;

const SESSION: &str = "title = \"Tuesday evening\"\n[[set]]\nname = \"Settle\"\nrepeats = 4\nswim = \"50 m\"\n\
    rate = \"54 spm\"\npace = \"2:05 / 100 m\"\nsend_off = \"1:30\"\nsay = \"Easy.\"\n\
    [[set]]\nname = \"Hold\"\nrepeats = 2\nswim = \"100 m\"\nrate = \"58 spm\"\npace = \"2:00 / 100 m\"\n\
    pairing = \"opposite-side\"\nkick = \"six-beat\"\ncues = [\"arm\", \"kick\", \"fill\"]\n";

const RATE_HZ: u32 = 8000;

/// The screen of an engine that a test drives.
pub(in crate::tui) struct Deck {
    engine: Engine,
    remote: Remote,
    pub(in crate::tui) app: App,
    sound: DeckSound,
    session: Resolved,
    /// The last result of each swimmer that was handed over.
    pub(in crate::tui) results: Vec<((u32, usize), Option<SwumResult>)>,
}

impl Deck {
    pub(in crate::tui) fn new() -> Self {
        Self::with(SESSION)
    }

    fn with(session: &str) -> Self {
        Self::of(session, &["Alex Example"], 0)
    }

    pub(in crate::tui) fn of(session: &str, swimmers: &[&str], apart_s: i64) -> Self {
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
    pub(in crate::tui) fn run(&mut self, seconds: f64) {
        let mut block = [[0.0; 2]; 80];
        for _ in 0..(seconds * 100.0).round() as usize {
            self.pass();
            self.engine.fill(&mut block);
        }
        self.pass();
    }

    pub(in crate::tui) fn pass(&mut self) {
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

    pub(in crate::tui) fn moment(&self) -> KeyTime {
        let position = self.engine.position() as f64;
        KeyTime {
            now_s: position / f64::from(RATE_HZ),
            heard_frame: position,
        }
    }

    pub(in crate::tui) fn key(&mut self, code: KeyCode) -> Option<Action> {
        let moment = self.moment();
        let action = self.app.key(KeyEvent::from(code), moment);
        self.pass();
        action
    }

    pub(in crate::tui) fn press(&mut self, keys: &str) {
        for c in keys.chars() {
            self.key(KeyCode::Char(c));
        }
    }

    /// The terminal with the present frame on it.
    pub(in crate::tui) fn shown(&mut self, width: u16, height: u16) -> TestBackend {
        let view = DeckView {
            sound: self.sound.clone(),
            underruns: 0,
            latency_ms: 12.0,
        };
        let moment = self.moment();
        let face = self.app.face(&view, moment);
        let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("memory");
        terminal.draw(|frame| draw(frame, &face)).expect("memory");
        terminal.backend().clone()
    }

    pub(in crate::tui) fn screen(&mut self, width: u16, height: u16) -> String {
        let cells = self.shown(width, height).to_string();
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
