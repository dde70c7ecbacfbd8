//! From a key to the call of the device that plays it, on a terminal and a sound server.

use std::fmt::Write as _;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};

use cuelane::analysis::taps::Each;
use cuelane::files::{parse_session, voices};
use cuelane::live::{Deck, Engine, Play, Score, WantedDevice, look, spm};
use cuelane::model::resolve::resolve;
use cuelane::model::wishes::Wishes;
use cuelane::sound::Bank;
use cuelane::tui::{App, Hooks, Programme, run};
use rustix::time::{ClockId, clock_gettime};
use serde_json::Value;

use crate::server::Server;
use crate::thread_time::thread_s;
use crate::{shared, support};

/// Where the rate begins, and what a key adds to it, strokes/min.
const FROM_SPM: f64 = 40.0;
const STEP_SPM: f64 = 0.5;
/// Keys that are pressed at most.
const MOST: usize = 200;
/// Small enough for the aim of 15 ms, large enough for a server that shares two cores.
const BUFFER_FRAMES: u32 = 512;

/// When the rate of each key was first played, ns of the monotonic clock, and how long the device
/// had not asked for frames by then, ns.
struct Played {
    keys: AtomicUsize,
    at_ns: [AtomicU64; MOST],
    stood_ns: [AtomicU64; MOST],
    /// The longest call so far, as a share of the time that its frames last, in millionths.
    longest: AtomicU64,
}

/// A device that asks for nothing for longer stands still: its server was late, not the program.
const STANDSTILL_MS: f64 = 30.0;

/// An engine that is watched from outside.
struct Watched {
    engine: Engine,
    played: Arc<Played>,
    last_ns: u64,
}

impl Play for Watched {
    fn fill(&mut self, out: &mut [[f32; 2]]) {
        let now = clock_gettime(ClockId::Monotonic);
        let begun = thread_s();
        self.engine.fill(out);
        let took_s = thread_s() - begun;
        // A device may ask for nothing at first.
        if !out.is_empty() {
            let lasts_s = out.len() as f64 / f64::from(self.sample_rate_hz());
            let share = (took_s / lasts_s * 1e6) as u64;
            self.played.longest.fetch_max(share, Ordering::Relaxed);
        }
        let spm = spm(
            self.engine.state().view.wish.frequency,
            self.sample_rate_hz(),
        );
        let keys = ((spm - FROM_SPM) / STEP_SPM).round() as usize;
        let before = self.played.keys.swap(keys, Ordering::Relaxed);
        let ns = now.tv_sec as u64 * 1_000_000_000 + now.tv_nsec as u64;
        let stood_ns = ns - std::mem::replace(&mut self.last_ns, ns);
        for key in before..keys.min(MOST) {
            self.played.at_ns[key].store(ns, Ordering::Relaxed);
            self.played.stood_ns[key].store(stood_ns, Ordering::Relaxed);
        }
    }

    fn position(&self) -> u64 {
        self.engine.position()
    }

    fn is_moving(&self) -> bool {
        Play::is_moving(&self.engine)
    }

    fn sample_rate_hz(&self) -> u32 {
        Play::sample_rate_hz(&self.engine)
    }
}

/// The screen with a watched engine; what was seen goes into a file. The page for phones is served
/// beside it, and its address is in another file.
pub fn watched(told: &str) {
    let here = std::net::Ipv4Addr::LOCALHOST.into();
    let phones = cuelane::phone::Server::start(here, None).expect("this machine's own address");
    std::fs::write(format!("{told}.address"), phones.address()).expect("the bench's own folder");
    let text = shared::hour().replace("\"64 spm\"", &format!("\"{FROM_SPM} spm\""));
    let session = parse_session("bench.toml", &text).expect("the bench's session parses");
    let session = resolve(&session, None, &Wishes::default()).expect("it resolves");
    let rate_hz = look(None, None).expect("a device").rate_hz;
    let score = Score::endless(
        &session.sets[0],
        Bank::new(&voices::shipped(), rate_hz),
        false,
    );
    let programme = Programme::new(&session, &score, 0, None, None);
    let (engine, mut remote) = Engine::new(score, 0);
    let app = App::new(programme, remote.state(), Each::Cycle);
    let played = Arc::new(Played {
        keys: AtomicUsize::new(0),
        at_ns: [const { AtomicU64::new(0) }; MOST],
        stood_ns: [const { AtomicU64::new(0) }; MOST],
        longest: AtomicU64::new(0),
    });
    let watched = Watched {
        engine,
        played: Arc::clone(&played),
        last_ns: 0,
    };
    let wanted = WantedDevice {
        silent: false,
        device: None,
        buffer_frames: Some(BUFFER_FRAMES),
    };
    let deck = Deck::start(Box::new(watched), wanted).expect("a device");
    let hooks = Hooks {
        save: &mut |_| Ok(String::new()),
        lay: &mut |_| unreachable!("no session, nothing to lay"),
        keep: &mut |_| {},
        told: &mut || None,
        away: None,
    };
    run(app, remote, &deck, hooks).expect("a terminal");
    let keys = played.keys.load(Ordering::Relaxed);
    let mut text = format!("{}\n", played.longest.load(Ordering::Relaxed));
    let times = played.at_ns.iter().zip(&played.stood_ns);
    for (at, stood) in times.take(keys) {
        let [at, stood] = [at, stood].map(|ns| ns.load(Ordering::Relaxed));
        writeln!(text, "{at} {stood}").expect("memory");
    }
    std::fs::write(told, text).expect("the folder is the bench's own");
}

/// Presses keys on it for a minute, with and without 200 connections a second of garbage, and prints
/// a row of each.
pub fn rows(server: &Server) {
    row(server, "alone");
    row(server, "garbage");
}

fn row(server: &Server, beside: &str) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/live/keys.py");
    let own = std::env::current_exe().expect("this program");
    let output = server
        .command(support::python())
        .arg(script)
        .arg(own)
        .arg(server.folder().join("played.txt"))
        .arg(beside)
        .output()
        .expect("python starts");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let told: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let numbers = |key: &str| -> Vec<f64> {
        let list = told[key].as_array().expect("a list").iter();
        list.map(|ms| ms.as_f64().expect("a number")).collect()
    };
    let keys: Vec<(f64, f64)> = numbers("ms").into_iter().zip(numbers("stood_ms")).collect();
    let flowing = keys.iter().filter(|(_, stood)| *stood <= STANDSTILL_MS);
    let mut ms: Vec<f64> = flowing.map(|(ms, _)| *ms).collect();
    ms.sort_by(f64::total_cmp);
    assert!(!ms.is_empty(), "the server stood still all the time");
    let at = |share: f64| ms[((ms.len() - 1) as f64 * share) as usize];
    println!(
        "| key to the call that plays it, {BUFFER_FRAMES} frames asked for, {} keys{}: median, 99th percentile, maximum; {} more while the server stood still; the longest call, thread CPU | {:.1} ms, {:.1} ms, {:.1} ms; {:.2} % of its buffer | at most 15 ms |",
        ms.len(),
        match told["connections"].as_u64() {
            Some(0) | None => String::new(),
            Some(connections) => format!(
                " beside {connections} connections of garbage, {:.0} a second",
                told["connections_a_second"].as_f64().expect("a number")
            ),
        },
        keys.len() - ms.len(),
        at(0.5),
        at(0.99),
        at(1.0),
        told["longest_percent"].as_f64().expect("a number")
    );
}
