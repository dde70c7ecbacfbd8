//! The deck heard: a sound server with a sink that nobody hears, started and stopped by the
//! test, its monitor recorded, onsets found by numpy on the captured samples. Linux only; where
//! the server is missing it says so loudly and passes.
#![cfg(target_os = "linux")]
#![allow(clippy::print_stderr)] // what is skipped is said loudly

#[path = "live/server.rs"]
mod server;
mod support;
#[path = "live/terminal.rs"]
mod terminal;

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use serde_json::Value;
use server::Server;
use support::python_script;
use terminal::Terminal;

/// Whether the long form is asked for.
fn soak() -> bool {
    let asked = std::env::var_os("CUELANE_SOAK").is_some();
    if !asked {
        eprintln!("SKIPPED: the long form runs with CUELANE_SOAK=1 (make soak)");
    }
    asked
}

/// Tests that listen have the machine to themselves, one after another: sound that waits for a
/// processor says nothing of the program.
static MACHINE: Mutex<()> = Mutex::new(());

fn listen() -> MutexGuard<'static, ()> {
    MACHINE.lock().unwrap_or_else(PoisonError::into_inner)
}

fn sleep(s: f64) {
    std::thread::sleep(Duration::from_secs_f64(s));
}

/// Onsets of each ear in s of the recording, by numpy.
fn onsets(recording: &std::path::Path) -> [Vec<f64>; 2] {
    let printed = python_script("live.py", &[recording.to_str().expect("a path is text")]);
    let value: Value = serde_json::from_str(&printed).expect("JSON");
    ["left", "right"].map(|ear| {
        let times = value[ear].as_array().expect("a list").iter();
        times.map(|time| time.as_f64().expect("a number")).collect()
    })
}

fn gaps(times: &[f64]) -> Vec<f64> {
    times.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

/// Records while something happens on the screen; same-side is cued, one ear at a time.
///
/// The buffer is the largest there is: a machine that shares its cores may hold a whole group of
/// processes back for a tenth of a second, and what is heard is to be the engine's.
fn heard(args: &[&str], act: impl FnOnce(&Server, &mut Terminal)) -> Option<[Vec<f64>; 2]> {
    let _alone = listen();
    let server = Server::start()?;
    let mut line = vec!["live", "--buffer", "16384"];
    line.extend(args);
    let mut terminal = Terminal::start(&server, &line);
    terminal.wait_for("ready");
    // The first second of a stream may stand still (the server's own start).
    sleep(3.0);
    let recording = server.record("heard.wav");
    act(&server, &mut terminal);
    let recording = recording.stop();
    assert!(!terminal.shows("panicked"), "{}", terminal.screen());
    terminal.key("q");
    terminal.key("q");
    terminal.wait_for_end();
    Some(onsets(&recording))
}

/// Every gap is as long as it should be, and the last onset is where the first one puts it.
fn check_steady(times: &[f64], gap_s: f64, least: usize) {
    assert!(times.len() >= least, "{} onsets: {times:?}", times.len());
    for gap in gaps(times) {
        assert!((gap - gap_s).abs() < 1e-3, "{gap} s for {gap_s}: {times:?}");
    }
    let whole = times[times.len() - 1] - times[0];
    let drift = whole - gap_s * (times.len() - 1) as f64;
    assert!(drift.abs() < 1e-3, "{drift} s of drift in {whole} s");
}

fn steady(seconds: f64) {
    let Some([left, right]) = heard(&["--stroke-rate", "60 spm"], |_, terminal| {
        terminal.key("Space");
        sleep(seconds);
        terminal.key("Space");
        sleep(1.0);
    }) else {
        return;
    };
    // One arm and one foot a cycle of 2 s in each ear, on one onset.
    let least = (seconds / 2.0) as usize - 1;
    check_steady(&left, 2.0, least);
    check_steady(&right, 2.0, least);
    assert!(
        (right[0] - left[0] - 1.0).abs() < 1e-3,
        "{left:?} {right:?}"
    );
}

#[test]
fn a_steady_rate_is_heard_on_time_and_does_not_drift() {
    steady(12.0);
}

#[test]
fn soak_a_steady_minute_is_heard_on_time_and_does_not_drift() {
    if soak() {
        steady(60.0);
    }
}

#[test]
fn a_step_of_rate_a_pairing_a_mute_and_a_pause_are_heard_as_they_should_be() {
    let Some([left, right]) = heard(&["--stroke-rate", "54 spm"], |_, terminal| {
        terminal.key("Space");
        sleep(8.0);
        for key in ["6", "0", "Enter"] {
            terminal.key(key);
        }
        terminal.wait_for("30.0 cycles/min");
        sleep(6.5);
        terminal.key("p");
        sleep(5.0);
        for key in ["h", "f"] {
            terminal.key(key);
        }
        terminal.wait_for("Silent: hands, feet");
        sleep(5.0);
        for key in ["u", "u"] {
            terminal.key(key);
        }
        sleep(5.0);
        terminal.key("Space");
        sleep(3.0);
        terminal.key("Space");
        sleep(5.0);
    }) else {
        return;
    };
    // 54 spm: 2.222 s a cycle; 60 spm: 2 s. One gap across the change lies between the two.
    let (old, new) = (120.0 / 54.0, 2.0);
    let first = gaps(&left);
    let is = |gap: f64, due: f64| (gap - due).abs() < 1e-3;
    let olds = first.iter().take_while(|gap| is(**gap, old)).count();
    assert!(olds >= 2, "{left:?}");
    let across = first[olds];
    assert!(
        (new - 1e-3..=old + 1e-3).contains(&across),
        "{across}: {left:?}"
    );
    let news = first[olds + 1..]
        .iter()
        .take_while(|gap| is(**gap, new))
        .count();
    assert!(news >= 2, "{left:?}");
    // Opposite-side: a hand and the other foot fall together, so both ears sound at once. The
    // first arm and the opposite foot share a frame.
    let both: Vec<f64> = (left.iter())
        .filter(|time| right.iter().any(|other| (*time - other).abs() < 1e-3))
        .copied()
        .collect();
    assert!(both.len() >= 6, "ears together at {both:?}");
    // At the switch itself the left hand sounds alone: the right foot had kicked 0.2 of a cycle
    // before, less than half its gap.
    let alone = |times: &[f64]| times.iter().filter(|t| **t < both[0] - 0.01).count();
    assert_eq!(alone(&left), olds + news + 2 + 1, "{left:?} {right:?}");
    assert_eq!(alone(&right), olds + news + 2, "{left:?} {right:?}");
    // Silent for five seconds, with a gap of whole cycles; then a pause, after which all begins
    // anew at an entry.
    let long: Vec<f64> = gaps(&both).into_iter().filter(|gap| *gap > 2.5).collect();
    assert_eq!(long.len(), 2, "a mute and a pause: {both:?}");
    let strokes = long[0] / 1.0;
    assert!(
        (strokes - strokes.round()).abs() < 2e-3,
        "the mute kept time: {long:?}"
    );
    assert!(long[0] > 4.0 && long[1] > 2.9, "{long:?}");
}

#[test]
fn a_gentle_change_is_heard_to_bend() {
    let Some([left, _]) = heard(&["--stroke-rate", "60 spm"], |_, terminal| {
        terminal.key("Space");
        terminal.key("g");
        sleep(6.0);
        for key in ["7", "2", "Enter"] {
            terminal.key(key);
        }
        sleep(9.0);
    }) else {
        return;
    };
    let gaps = gaps(&left);
    let (old, new) = (2.0, 120.0 / 72.0);
    assert!(
        gaps.windows(2).all(|pair| pair[1] <= pair[0] + 1e-3),
        "{gaps:?}"
    );
    let between = gaps
        .iter()
        .filter(|gap| **gap < old - 2e-3 && **gap > new + 2e-3)
        .count();
    assert!((2..=3).contains(&between), "{gaps:?}");
    assert!((gaps[gaps.len() - 1] - new).abs() < 1e-3, "{gaps:?}");
}

#[test]
fn soak_a_dozen_steps_of_rate_are_heard_as_they_should_be() {
    const STEPS: usize = 12;
    if !soak() {
        return;
    }
    let mut rng = fastrand::Rng::with_seed(5);
    let Some([left, right]) = heard(&["--stroke-rate", "54 spm"], |_, terminal| {
        terminal.key("Space");
        for step in 0..STEPS {
            sleep(9.0 + 3.0 * rng.f64());
            for key in [
                if step % 2 == 0 { "6" } else { "5" },
                if step % 2 == 0 { "0" } else { "4" },
                "Enter",
            ] {
                terminal.key(key);
            }
        }
        sleep(9.0);
    }) else {
        return;
    };
    for times in [left, right] {
        let (slow, fast) = (120.0 / 54.0, 2.0);
        let is = |gap: f64, due: f64| (gap - due).abs() < 1e-3;
        // Each gap is one of the two, or lies between them where the rate changed: never two of
        // those in a row, so that nothing is doubled or skipped.
        let gaps = gaps(&times);
        let steady: Vec<bool> = gaps
            .iter()
            .map(|gap| is(*gap, slow) || is(*gap, fast))
            .collect();
        assert!(
            gaps.iter()
                .all(|gap| (fast - 1e-3..=slow + 1e-3).contains(gap)),
            "{gaps:?}"
        );
        assert!(steady.windows(2).all(|pair| pair[0] || pair[1]), "{gaps:?}");
        let rates: Vec<bool> = gaps
            .iter()
            .filter(|gap| is(**gap, slow) || is(**gap, fast))
            .map(|gap| is(*gap, slow))
            .collect();
        let changes = rates.windows(2).filter(|pair| pair[0] != pair[1]).count();
        assert_eq!(changes, STEPS, "{gaps:?}");
    }
}

#[test]
fn a_suspended_sink_is_said_and_the_session_comes_back() {
    suspended(1);
}

#[test]
fn soak_a_sink_suspended_again_and_again_is_said_and_the_session_comes_back() {
    if soak() {
        suspended(5);
    }
}

fn suspended(times: usize) {
    let Some([left, _]) = heard(&["--stroke-rate", "60 spm"], |server, terminal| {
        terminal.key("Space");
        for _ in 0..times {
            sleep(5.0);
            server.suspend(true);
            terminal.wait_for("SOUND LOST");
            sleep(1.0);
            server.suspend(false);
            terminal.wait_for("The sound is back");
            sleep(3.0);
            // The word stays until the next key.
            terminal.key("Escape");
        }
        sleep(5.0);
    }) else {
        return;
    };
    // The recorder stands still with its sink: the recording joins what lies before and after.
    let gaps = gaps(&left);
    let steady = |gaps: &[f64]| gaps.iter().filter(|gap| (**gap - 2.0).abs() < 1e-3).count();
    assert!(
        steady(&gaps) >= gaps.len() - 2 * times && steady(&gaps) >= 3 * times,
        "{gaps:?}"
    );
}

/// Two onsets of the same cue in two recordings: how far they are from whole cycles apart, s.
fn out_of_step(first: f64, second: f64, cycle_s: f64) -> f64 {
    let cycles = (second - first) / cycle_s;
    (cycles - cycles.round()) * cycle_s
}

#[test]
fn a_server_that_is_killed_and_started_again_finds_the_session_in_step() {
    killed(1);
}

#[test]
fn soak_a_server_that_is_killed_again_and_again_finds_the_session_in_step() {
    if soak() {
        killed(4);
    }
}

fn killed(times: usize) {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let begun = Instant::now();
    let record = |server: &Server, name: &str, seconds: f64| {
        let recording = server.record(name);
        let at = recording.begun.duration_since(begun).as_secs_f64();
        sleep(seconds);
        let [left, _] = onsets(&recording.stop());
        assert!(left.len() >= 2, "{name}: {left:?}");
        at + left[0]
    };
    let mut terminal = Terminal::start(
        &server,
        &["live", "--stroke-rate", "60 spm", "--buffer", "4096"],
    );
    terminal.wait_for("ready");
    sleep(2.0);
    terminal.key("Space");
    sleep(1.0);
    let before = record(&server, "before.wav", 5.0);
    for _ in 0..times {
        server.kill_daemon();
        terminal.wait_for("SOUND LOST");
        sleep(1.0);
        server.run_daemon();
        terminal.wait_for("The sound is back");
        terminal.key("Escape");
        sleep(4.0);
        let after = record(&server, "after.wav", 5.0);
        // The recordings' own beginnings are known to some 0.1 s, and the buffer holds 0.1 s.
        let off = out_of_step(before, after, 2.0);
        eprintln!("out of step by {off:.3} s");
        assert!(off.abs() < 0.1, "{off} s out of step");
    }
    terminal.key("q");
    terminal.key("q");
    terminal.wait_for_end();
}

const SESSION: &str = "lead_in = \"5 s\"\n[[set]]\nrepeats = 2\nswim = \"7 s\"\nsend_off = \"12 s\"\n\
                       rate = \"60 spm\"\npush_off = \"1 s\"\n";

#[test]
fn a_session_and_its_track_play_to_the_end_with_the_exported_onsets() {
    let _alone = listen();
    for plays_track in [false, true] {
        played_as_exported(plays_track);
    }
}

fn played_as_exported(plays_track: bool) {
    let Some(server) = Server::start() else {
        return;
    };
    support::write(server.folder(), "evening.toml", SESSION);
    support::ok(
        server.folder(),
        &[
            "export",
            "evening.toml",
            "--out",
            "tracks",
            "--files",
            "one",
            "--speech",
            "off",
        ],
    );
    let track = std::fs::read_dir(server.folder().join("tracks"))
        .expect("the folder was made")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .expect("a track");
    let exported = onsets(&track);
    assert!(exported[0].len() > 12, "{exported:?}");
    let what = match plays_track {
        true => track.to_str().expect("text"),
        false => "evening.toml",
    };
    let recording = server.record("played.wav");
    let output = (server.command(env!("CARGO_BIN_EXE_cuelane")))
        .args(["play", what, "--buffer", "16384"])
        .output()
        .expect("the program starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && message.is_empty(), "{message}");
    check_heard(what, &onsets(&recording.stop()), &exported, 1e-3);
}

/// What was heard has the onsets of a track, each as far from the first one.
fn check_heard(what: &str, heard: &[Vec<f64>; 2], exported: &[Vec<f64>; 2], most_s: f64) {
    for (heard, exported) in heard.iter().zip(exported) {
        assert_eq!(
            heard.len(),
            exported.len(),
            "{what}: {heard:?} for {exported:?}"
        );
        for (heard_s, due_s) in heard.iter().zip(exported) {
            let off = (heard_s - heard[0]) - (due_s - exported[0]);
            assert!(off.abs() < most_s, "{what}: {off} s at {due_s}");
        }
    }
}

#[test]
fn keys_pause_a_session_and_go_back_and_on_in_it() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    support::write(server.folder(), "evening.toml", SESSION);
    let mut terminal = Terminal::start(&server, &["play", "evening.toml", "--silent"]);
    // The session: 5 s, two swims of 7 s each 12 s, 3 s.
    terminal.wait_for("0:02 of 0:27   playing   set 1, repeat 1");
    terminal.key("Space");
    terminal.wait_for("paused");
    let paused = terminal.screen();
    sleep(1.2);
    assert_eq!(terminal.screen(), paused);
    terminal.key("Right");
    // The second repeat begins a second after the end of the first swim, at 12 s.
    terminal.wait_for("0:13 of 0:27   paused   set 1, repeat 2");
    terminal.key("Space");
    terminal.wait_for("0:14 of 0:27   playing   set 1, repeat 2");
    terminal.key("Left");
    terminal.wait_for("0:01 of 0:27   playing   set 1, repeat 1");
    terminal.key("q");
    terminal.wait_for_end();
}

#[test]
fn packed_tracks_are_heard_with_the_onsets_of_what_was_packed() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let short = "opening = false\nlead_in = \"5 s\"\n[[set]]\nswim = \"5 s\"\nrate = \"80 spm\"\npush_off = \"1 s\"\n";
    support::write(server.folder(), "short.toml", short);
    for format in ["wav", "flac"] {
        support::ok(
            server.folder(),
            &["export", "short.toml", "--out", format, "--format", format],
        );
    }
    let track = |name: &str| server.folder().join(name).display().to_string();
    let (wav, mp3, ogg) = (
        track("wav/01-set-1-5s.wav"),
        track("short.mp3"),
        track("short.ogg"),
    );
    let packs: [(&str, &[&str]); 2] = [
        ("lame", &["--quiet", &wav, &mp3]),
        (
            "ffmpeg",
            &[
                "-loglevel",
                "error",
                "-i",
                &wav,
                "-c:a",
                "libvorbis",
                "-q:a",
                "8",
                &ogg,
            ],
        ),
    ];
    for (program, args) in packs {
        let packed = server.command(program).args(args).status();
        assert!(packed.is_ok_and(|status| status.success()), "{program}");
    }
    let exported = onsets(std::path::Path::new(&wav));
    assert!(exported[0].len() > 4, "{exported:?}");
    // A codec smears an onset: to where a voice is as loud as the threshold.
    for (packed, most_s) in [
        (track("flac/01-set-1-5s.flac"), 1e-3),
        (mp3, 5e-3),
        (ogg, 5e-3),
    ] {
        let recording = server.record("packed.wav");
        let output = (server.command(env!("CARGO_BIN_EXE_cuelane")))
            .args(["play", &packed, "--buffer", "16384"])
            .output()
            .expect("the program starts");
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{packed}: {message}");
        check_heard(&packed, &onsets(&recording.stop()), &exported, most_s);
    }
}

#[test]
fn the_list_of_sounds_is_heard_voice_by_voice() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let recording = server.record("voices.wav");
    let output = (server.command(env!("CARGO_BIN_EXE_cuelane")))
        .args(["list", "sounds", "--play"])
        .output()
        .expect("the program starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{message}");
    let heard = onsets(&recording.stop());
    let listed = support::ok(server.folder(), &["list", "sounds", "--json"]);
    let listed: Value = serde_json::from_str(&listed).expect("JSON");
    let voices = listed["sounds"].as_array().expect("a list");
    for (heard, other) in heard.iter().zip(["right ear", "left ear"]) {
        // One voice each 0.8 s; those of the other ear are not heard in this one.
        let due: Vec<f64> = (0..voices.len())
            .filter(|at| voices[*at]["ear"] != other)
            .map(|at| 0.8 * at as f64)
            .collect();
        assert_eq!(heard.len(), due.len(), "not {other}: {heard:?} for {due:?}");
        for (heard, due) in gaps(heard).iter().zip(gaps(&due)) {
            // A voice rises within 5 ms; a small buffer on a busy machine may stand still a while.
            assert!(
                (-6e-3..0.3).contains(&(heard - due)),
                "not {other}: {heard} s for {due} s"
            );
        }
    }
}

#[test]
fn what_is_wrong_is_said_before_the_screen_opens() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let program = env!("CARGO_BIN_EXE_cuelane");
    let said = |args: &[&str], code: i32| {
        let output = server
            .command(program)
            .args(args)
            .output()
            .expect("it starts");
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
    let listed = (server.command(program).args(["list", "devices", "--json"])).output();
    let listed: Value = serde_json::from_slice(&listed.expect("it starts").stdout).expect("JSON");
    let names = listed["devices"].as_array().expect("a list");
    assert!(
        names.iter().any(|device| device["name"] == "pulse"),
        "{listed}"
    );
}

#[test]
fn without_a_sound_server_the_message_says_what_to_do_and_silent_runs() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    server.kill_daemon();
    let program = env!("CARGO_BIN_EXE_cuelane");
    let output = (server.command(program))
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
        &["live", "six-beat", "--swimmer", "triathlete", "--silent"],
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
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    for signal in ["INT", "TERM", "HUP"] {
        let mut terminal =
            Terminal::start(&server, &["live", "--stroke-rate", "54 spm", "--silent"]);
        terminal.wait_for("ready");
        terminal.key("Space");
        terminal.resize(40, 12);
        terminal.wait_for("needs");
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
    use cuelane::live::{Deck, Engine, Score, Wanted};
    use cuelane::model::{layer::Layer, resolve::resolve};
    use cuelane::tui::{App, Hooks, Programme};

    let text = "[[set]]\nswim = \"5 min\"\nrate = \"54 spm\"\n";
    let session = parse_session("fault.toml", text).expect("parses");
    let session = resolve(&session, None, &Layer::default()).expect("resolves");
    let bank = cuelane::sound::Bank::new(&voices::shipped(), 44_100);
    let score = Score::endless(&session.sets[0], bank, false);
    let programme = Programme::new(&session, &score, 0, None);
    let (engine, mut remote) = Engine::new(score, 0);
    let silent = Wanted {
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
        save: &mut |_, _| panic!("a fault of our own"),
        log: &mut |_| Ok(()),
    };
    cuelane::tui::run(app, remote, &deck, hooks).expect("a terminal");
}

#[test]
fn after_a_panic_the_terminal_is_whole_and_says_what_happened() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let own = std::env::current_exe().expect("this program");
    let line = format!(
        "RUST_BACKTRACE=0 {} --exact the_screen_with_a_fault --ignored --nocapture; echo code $?; \
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
fn soak_random_keys_under_load_leave_no_stuck_sound() {
    if soak() {
        random_keys(180.0, 200.0);
    }
}

#[test]
fn random_keys_leave_no_stuck_sound() {
    random_keys(8.0, 400.0);
}

/// Presses so many keys a minute at random with both cores busy; then silence must follow.
fn random_keys(seconds: f64, keys_a_minute: f64) {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let stop = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(false));
    let busy: Vec<_> = (0..2)
        .map(|_| {
            let stop = std::sync::Arc::clone(&stop);
            std::thread::spawn(move || {
                while !stop.load(std::sync::atomic::Ordering::Relaxed) {
                    std::hint::spin_loop();
                }
            })
        })
        .collect();
    let mut rng = fastrand::Rng::with_seed(11);
    let mut terminal = Terminal::start(&server, &["live", "--stroke-rate", "60 spm"]);
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
    if terminal.shows("running") {
        terminal.key("Space");
    }
    terminal.wait_for("paused");
    stop.store(true, std::sync::atomic::Ordering::Relaxed);
    for thread in busy {
        thread.join().expect("a busy loop");
    }
    sleep(1.5);
    let recording = server.record("after.wav");
    sleep(3.0);
    let [left, right] = onsets(&recording.stop());
    assert!(left.is_empty() && right.is_empty(), "{left:?} {right:?}");
    terminal.key("q");
    terminal.wait_for_end();
}
