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

use std::time::Duration;

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
fn heard(args: &[&str], act: impl FnOnce(&Server, &mut Terminal)) -> Option<[Vec<f64>; 2]> {
    let server = Server::start()?;
    let mut line = vec!["live", "--buffer", "1024"];
    line.extend(args);
    let mut terminal = Terminal::start(&server, &line);
    terminal.wait_for("ready");
    // The first second of a stream may stand still (the server's own start).
    sleep(2.5);
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
        sleep(9.0);
        for key in ["6", "0", "Enter"] {
            terminal.key(key);
        }
        terminal.wait_for("30.0 cycles/min");
        sleep(8.0);
        terminal.key("p");
        sleep(7.0);
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
fn a_server_that_dies_and_comes_back_finds_the_session_in_step() {
    let Some([left, _]) = heard(&["--stroke-rate", "60 spm"], |server, terminal| {
        terminal.key("Space");
        sleep(5.0);
        server.suspend(true);
        terminal.wait_for("SOUND LOST");
        sleep(1.0);
        server.suspend(false);
        terminal.wait_for("The sound is back");
        sleep(8.0);
    }) else {
        return;
    };
    // The recorder stands still with its sink: the recording joins what lies before and after.
    let gaps = gaps(&left);
    let steady = |gaps: &[f64]| gaps.iter().filter(|gap| (**gap - 2.0).abs() < 1e-3).count();
    assert!(
        steady(&gaps) >= gaps.len() - 2 && steady(&gaps) >= 3,
        "{gaps:?}"
    );
}
