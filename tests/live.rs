//! The deck heard: a sound server with a sink that nobody hears, started and stopped by the
//! tests, its monitor recorded, onsets found by numpy on the captured samples. Linux only.
//!
//! They run by the clock and mostly wait, so many run side by side, each with a server of its own:
//! one server for all would refuse some of the programs that start at once (its queue holds five).
#![cfg(target_os = "linux")]

#[path = "live/cues.rs"]
mod cues;
#[path = "live/lost.rs"]
mod lost;
#[path = "live/played.rs"]
mod played;
#[path = "live/screen.rs"]
mod screen;
#[path = "live/server.rs"]
mod server;
#[path = "live/set.rs"]
mod set;
mod support;
#[path = "live/terminal.rs"]
mod terminal;

use std::time::{Duration, Instant};

use serde_json::Value;
use server::Server;
use support::python_script;
use terminal::Terminal;

fn sleep(s: f64) {
    std::thread::sleep(Duration::from_secs_f64(s));
}

/// What numpy makes of a recording.
fn measured(recording: &std::path::Path) -> Value {
    let printed = python_script("live.py", &[recording.to_str().expect("a path is text")]);
    serde_json::from_str(&printed).expect("JSON")
}

/// Onsets of each ear in s of the recording, by numpy.
fn onsets(recording: &std::path::Path) -> [Vec<f64>; 2] {
    let value = measured(recording);
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
fn heard(args: &[&str], act: impl FnOnce(&Server, &mut Terminal)) -> [Vec<f64>; 2] {
    let server = Server::start();
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
    onsets(&recording)
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
