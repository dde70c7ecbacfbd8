//! Frames of the screen, from a real engine on no device.

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
                repeat: laying.repeat,
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
        assert!(deck.screen(80, 24).contains("In: Alex Example 50.0 s."));
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
        screen.contains("Start in 0:09") && screen.contains("runs 0:22 early"),
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
