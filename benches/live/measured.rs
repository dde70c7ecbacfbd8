//! What is measured, row by row.

use std::time::{Duration, Instant};

use cuelane::files::{parse_session, voices};
use cuelane::live::{DeckCommand, Engine, Score, guarded};
use cuelane::model::resolve::resolve;
use cuelane::model::wishes::Wishes;
use cuelane::sound::Bank;

use crate::server::Server;
use crate::terminal::Terminal;
use crate::thread_time::thread_s;
use crate::{keys, machine, shared, support};

/// Seconds that the processes are watched for.
const WATCHED_S: f64 = 60.0;

/// Measures all of it.
pub fn all() {
    machine::describe();
    println!("| live | measured | aim |\n|---|---|---|");
    callback();
    let server = Server::start();
    processes(&server);
    screen(&server);
    keys::rows(&server);
    println!("\n{}", machine::load());
}

/// An hour of six-beat with every cue at 48 kHz, 256 frames a call, now and then a wish.
fn callback() {
    let session = parse_session("bench.toml", &shared::hour()).expect("the bench's session parses");
    let session = resolve(&session, None, &Wishes::default()).expect("it resolves");
    let bank = Bank::new(&voices::shipped(), 48_000);
    let (mut engine, mut remote) = Engine::new(Score::endless(&session.sets[0], bank, false), 0);
    remote.send(DeckCommand::Run(true));
    let mut block = [[0.0_f32; 2]; 256];
    let buffer_s = 256.0 / 48_000.0;
    let mut shares: Vec<f64> = (0..675_000)
        .map(|call| {
            if call % 900 == 0 {
                remote.send(DeckCommand::Rate(50.0 + f64::from(call % 7)));
            }
            let before = thread_s();
            guarded(|| engine.fill(&mut block));
            let taken = thread_s() - before;
            remote.state();
            taken / buffer_s * 100.0
        })
        .collect();
    shares.sort_by(f64::total_cmp);
    let at = |share: f64| shares[((shares.len() - 1) as f64 * share) as usize];
    println!(
        "| callback, thread CPU as a share of its buffer: median, 99.9th percentile, maximum | {:.3} %, {:.3} %, {:.2} % | 99.9th under 1 % |",
        at(0.5),
        at(0.999),
        at(1.0)
    );
}

/// User and system CPU seconds of a process.
fn process_s(pid: u32) -> Option<f64> {
    let text = std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    // proc(5): utime and stime are fields 14 and 15, in hundredths of a second.
    let (_, fields) = text.rsplit_once(") ")?;
    let own = fields.split(' ').skip(14 - 3).take(2);
    let hundredths = own.map(|field| field.parse::<u64>().ok());
    Some(hundredths.sum::<Option<u64>>()? as f64 / 100.0)
}

/// CPU seconds that a process takes from now on.
fn watch(pid: u32, seconds: f64) -> f64 {
    let before = process_s(pid).unwrap_or(0.0);
    std::thread::sleep(Duration::from_secs_f64(seconds));
    process_s(pid).unwrap_or(f64::NAN) - before
}

/// Without the screen, beside `aplay` with the exported file and the same period and buffer.
fn processes(server: &Server) {
    if !machine::has("aplay") {
        println!("| process beside aplay | SKIPPED: aplay is not installed | at most 2 times |");
        return;
    }
    let text = shared::hour().replace("lead_in = \"60 s\"", "lead_in = \"5 s\"");
    support::write(server.folder(), "hour.toml", text);
    support::ok(
        server.folder(),
        &["export", "hour.toml", "--out", "t", "--files", "one"],
    );
    let track = std::fs::read_dir(server.folder().join("t"))
        .expect("the folder was made")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .expect("a track");
    let mut ours = (server.command(env!("CARGO_BIN_EXE_cuelane")))
        .args(["play", "hour.toml", "--buffer", "1536"])
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("it starts");
    let mut theirs = (server.command("aplay"))
        .args(["-q", "--period-size=1024", "--buffer-size=3072"])
        .arg(track)
        .spawn()
        .expect("aplay starts");
    std::thread::sleep(Duration::from_secs(10));
    let begun = Instant::now();
    let before = [ours.id(), theirs.id()].map(|pid| process_s(pid).unwrap_or(0.0));
    std::thread::sleep(Duration::from_secs_f64(WATCHED_S));
    let after = [ours.id(), theirs.id()].map(|pid| process_s(pid).unwrap_or(f64::NAN));
    let [own, other] = [after[0] - before[0], after[1] - before[1]];
    println!(
        "| process over {:.0} s without the screen, beside `aplay` at once | {own:.2} s and {other:.2} s: {:.1} times | at most 2 times |",
        begun.elapsed().as_secs_f64(),
        own / other
    );
    for child in [&mut ours, &mut theirs] {
        // One that has ended by itself needs no end.
        let _ = child.kill();
        let _ = child.wait();
    }
}

/// The screen and the engine behind it while cues run.
fn screen(server: &Server) {
    let mut terminal = Terminal::start(server, &["live", "--stroke-rate", "64 spm", "--silent"]);
    terminal.wait_for("ready");
    let pid = terminal.pid;
    terminal.key("Space");
    let with = watch(pid, 20.0) / 20.0 * 100.0;
    println!("| screen and engine without a device, share of a core | {with:.1} % | under 3 % |");
}
