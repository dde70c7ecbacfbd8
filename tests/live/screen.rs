//! What a terminal shows, and how it is left.

use std::process::{Child, Command};

use super::*;

#[test]
fn what_is_wrong_is_said_before_the_screen_opens() {
    let server = Server::start();
    let said = |args: &[&str], code: i32| {
        let output = server.cuelane().args(args).output().expect("it starts");
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{args:?}: {message}");
        message
    };
    // No terminal here: standard output is read by the test.
    let message = said(&["live", "--stroke-rate", "54 spm"], 2);
    assert!(message.contains("needs a terminal"), "{message}");
    let message = said(&["live"], 2);
    assert!(message.contains("no rate is known"), "{message}");
    let message = said(&["live", "nonsense"], 2);
    assert!(message.contains("no preset is called"), "{message}");
    let message = said(
        &[
            "play",
            "deck-march",
            "--swimmer",
            "adult-learner",
            "--device",
            "puls",
        ],
        2,
    );
    assert!(message.contains("nearest: pulse"), "{message}");
    let message = said(&["live", "--stroke-rate", "54 spm", "--distance", "15"], 2);
    assert!(message.contains("--distance"), "{message}");
    let listed = server
        .cuelane()
        .args(["list", "devices", "--json"])
        .output();
    let listed: Value = serde_json::from_slice(&listed.expect("it starts").stdout).expect("JSON");
    let names = listed["devices"].as_array().expect("a list");
    assert!(
        names.iter().any(|device| device["name"] == "pulse"),
        "{listed}"
    );
}

#[test]
fn without_a_sound_server_the_message_says_what_to_do_and_silent_runs() {
    let server = Server::start();
    server.kill_daemon();
    let output = (server.cuelane())
        .args(["play", "deck-march", "--swimmer", "adult-learner"])
        .output()
        .expect("it starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{message}");
    assert!(
        message.contains("--silent") && message.lines().count() <= 4,
        "{message}"
    );
    let mut terminal = Terminal::start(
        &server,
        &[
            "live",
            "six-beat",
            "--swimmer",
            "triathlete",
            "--silent",
            "--speech",
            "off",
        ],
    );
    terminal.wait_for("Sound: none (--silent)");
    terminal.key("Space");
    terminal.wait_for("Swimming 0:01");
    terminal.key("q");
    terminal.key("q");
    terminal.wait_for_end();
}

#[test]
fn signals_a_smaller_window_and_being_stopped_leave_the_terminal_whole() {
    let server = Server::start();
    for signal in ["INT", "TERM", "HUP"] {
        let mut terminal =
            Terminal::start(&server, &["live", "--stroke-rate", "54 spm", "--silent"]);
        terminal.wait_for("ready");
        terminal.key("Space");
        terminal.resize(39, 11);
        terminal.wait_for("54 spm   Sounding for");
        terminal.resize(80, 24);
        terminal.wait_for("running");
        if signal == "INT" {
            // Stopped, and told to go on: tmux does that at once to what it started itself. The
            // terminal has been given back and taken again meanwhile.
            terminal.signal("TSTP");
            sleep(0.5);
            terminal.wait_for("running");
            terminal.key("p");
            terminal.wait_for("left foot as the right hand goes in");
        }
        terminal.signal(signal);
        terminal.wait_for_end();
        // The screen of before is back: nothing of the deck is left on it.
        assert!(
            !terminal.shows("left foot"),
            "{signal}: {}",
            terminal.screen()
        );
    }
}

/// Not a test by itself: the screen with a save that panics, for the terminal of the next one.
#[test]
#[ignore = "the next test runs it in a terminal of its own"]
fn the_screen_with_a_fault() {
    use cuelane::files::{parse_session, voices};
    use cuelane::live::{Deck, Engine, Score, WantedDevice};
    use cuelane::model::{resolve::resolve, wishes::Wishes};
    use cuelane::tui::{App, Hooks, Programme};

    let text = "[[set]]\nswim = \"5 min\"\nrate = \"54 spm\"\n";
    let session = parse_session("fault.toml", text).expect("parses");
    let session = resolve(&session, None, &Wishes::default()).expect("resolves");
    let bank = cuelane::sound::Bank::new(&voices::shipped(), 44_100);
    let score = Score::endless(&session.sets[0], bank, false);
    let programme = Programme::new(&session, &score, 0, None, None);
    let (engine, mut remote) = Engine::new(score, 0);
    let silent = WantedDevice {
        silent: true,
        device: None,
        buffer_frames: None,
    };
    let deck = Deck::start(Box::new(engine), silent).expect("a clock");
    let app = App::new(
        programme,
        remote.state(),
        cuelane::analysis::taps::Each::Cycle,
    );
    let hooks = Hooks {
        save: &mut |_| panic!("a fault of our own"),
        lay: &mut |_| unreachable!("no session, nothing to lay"),
        keep: &mut |_| {},
        told: &mut || None,
        away: None,
    };
    cuelane::tui::run(app, remote, &deck, hooks).expect("a terminal");
}

#[test]
fn after_a_panic_the_terminal_is_whole_and_says_what_happened() {
    let server = Server::start();
    let own = std::env::current_exe().expect("this program");
    let line = format!(
        "RUST_BACKTRACE=0 {} --exact screen::the_screen_with_a_fault --ignored --nocapture; echo code $?; \
         stty -a | tr ' ' '\\n' | grep -x -e icanon -e -icanon -e echo -e -echo | tr '\\n' ' '; sleep 60",
        own.display()
    );
    let mut terminal = Terminal::start_other(&server, "sh", &["-c", &line]);
    terminal.wait_for("ready");
    terminal.key("w");
    terminal.wait_for("code 101");
    terminal.wait_for("icanon echo");
    let screen = terminal.screen();
    assert!(screen.contains("a fault of our own"), "{screen}");
    assert!(!screen.contains("-icanon"), "{screen}");
    assert_eq!(terminal.ask("#{alternate_on} #{cursor_flag}"), "0 1");
}

#[test]
#[ignore = "long: make soak"]
fn soak_random_keys_under_load_leave_no_stuck_sound() {
    random_keys(180.0, 200.0);
}

#[test]
fn random_keys_leave_no_stuck_sound() {
    random_keys(8.0, 400.0);
}

/// Programs that keep two cores busy; ended when dropped. They and what is to suffer from them
/// stand behind all other tests, which run at the same time and are to be heard on time.
struct Busy([Child; 2]);

const BEHIND: [&str; 2] = ["-n", "8"];

impl Busy {
    fn start() -> Self {
        Self([(); 2].map(|()| {
            let mut spin = Command::new("nice");
            spin.args(BEHIND).args(["sh", "-c", "while :; do :; done"]);
            spin.spawn().expect("nice and sh are everywhere")
        }))
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        for child in &mut self.0 {
            child.kill().expect("our own child");
            child.wait().expect("our own child");
        }
    }
}

/// Presses so many keys a minute at random with both cores busy; then silence must follow.
fn random_keys(seconds: f64, keys_a_minute: f64) {
    let server = Server::start();
    let busy = Busy::start();
    let mut rng = fastrand::Rng::with_seed(11);
    let program = [
        "env",
        "PATH=",
        env!("CARGO_BIN_EXE_cuelane"),
        "live",
        "--stroke-rate",
        "60 spm",
    ];
    let line = [&BEHIND[..], &program].concat();
    let mut terminal = Terminal::start_other(&server, "nice", &line);
    terminal.wait_for("ready");
    terminal.key("Space");
    let keys = [
        "Up", "Down", "Left", "Right", "p", "k", "h", "f", "i", "b", "g", "t", "l", "u", "7",
        "Enter", "Space",
    ];
    let begun = Instant::now();
    while begun.elapsed().as_secs_f64() < seconds {
        terminal.key(keys[rng.usize(..keys.len())]);
        sleep(60.0 / keys_a_minute);
    }
    // With both cores busy the screen comes after the last key.
    sleep(1.0);
    if terminal.shows("running") {
        terminal.key("Space");
    }
    terminal.wait_for("paused");
    drop(busy);
    sleep(1.5);
    let recording = server.record("after.wav");
    sleep(3.0);
    let [left, right] = onsets(&recording.stop());
    assert!(left.is_empty() && right.is_empty(), "{left:?} {right:?}");
    terminal.key("q");
    terminal.wait_for_end();
}
