//! Frames of the screen, from a real engine on no device.

use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{KeyCode, KeyEvent};

use super::draw;
use crate::analysis::taps::Each;
use crate::files::{parse_session, parse_swimmer, voices};
use crate::live::{DeckSound, Engine, Remote, Score};
use crate::model::resolve::resolve;
use crate::model::wishes::Wishes;
use crate::sound::Bank;
use crate::timeline::Schedule;
use crate::tui::{Action, App, DeckView, KeyTime, Programme};

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
}

impl Deck {
    fn new() -> Self {
        Self::with(SESSION)
    }

    fn with(session: &str) -> Self {
        let session = parse_session("evening.toml", session).expect("parses");
        let swimmer = parse_swimmer("alex.toml", "name = \"Alex Example\"\n").expect("parses");
        let session = resolve(&session, Some(&swimmer), &Wishes::default()).expect("resolves");
        let schedule = Schedule::new(&session).expect("fits");
        let bank = Bank::new(&voices::shipped(), RATE_HZ);
        let score = Score::session(&session, &schedule, bank, false);
        let programme = Programme::new(&session, &score, 0, None);
        let (engine, mut remote) = Engine::new(score, 0);
        let app = App::new(programme, remote.state(), Each::Cycle);
        Self {
            engine,
            remote,
            app,
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
        self.app.take_state(self.remote.state());
    }

    fn key(&mut self, code: KeyCode) -> Option<Action> {
        let position = self.engine.position() as f64;
        let moment = KeyTime {
            now_s: position / f64::from(RATE_HZ),
            heard_frame: position,
        };
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
        let face = self.app.face(&view, self.engine.position() as f64);
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

#[test]
fn a_swim_on_a_screen_of_80_by_24() {
    check_frame("swim-80x24", &in_a_swim().screen(80, 24));
}

#[test]
fn a_swim_on_a_screen_of_120_by_40() {
    check_frame("swim-120x40", &in_a_swim().screen(120, 40));
}

#[test]
fn a_screen_that_is_too_small_says_so() {
    check_frame("too-small-40x12", &in_a_swim().screen(40, 12));
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
fn what_a_coach_changed_ends_with_the_set_and_each_repeat_is_told() {
    let mut deck = Deck::new();
    deck.press(" ");
    let mut played = Vec::new();
    let mut block = [[0.0; 2]; 80];
    deck.pass();
    for tick in 0..60_000 {
        for command in deck.app.take_commands() {
            assert!(deck.remote.send(command));
        }
        deck.engine.fill(&mut block);
        played.extend(deck.app.take_state(deck.remote.state()));
        if tick == 8_000 {
            deck.key(KeyCode::Up);
        }
    }
    let told: Vec<(usize, u32, f64)> = (played.iter())
        .map(|played| (played.set, played.repeat, played.spm))
        .collect();
    let first = [
        (0, 1, 55.0),
        (0, 2, 55.0),
        (0, 3, 55.0),
        (0, 4, 55.0),
        (1, 1, 58.0),
    ];
    assert_eq!(told[..first.len()], first);
    assert!(played.iter().all(|played| played.whole));
    assert!((played[0].time_s - 62.5).abs() < 1e-6);
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
    // What was changed in the comparison is not taken back after it.
    deck.press("u");
    deck.run(1.0);
    assert_eq!(deck.app.settings().spm, 61.0);
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
