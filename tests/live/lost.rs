//! A device that is lost and comes back.

use super::*;

#[test]
fn a_suspended_sink_is_said_and_the_session_comes_back() {
    suspended(1);
}

#[test]
#[ignore = "long: make soak"]
fn soak_a_sink_suspended_again_and_again_is_said_and_the_session_comes_back() {
    suspended(5);
}

fn suspended(times: usize) {
    let [left, _] = heard(&["--stroke-rate", "60 spm"], |server, terminal| {
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
    });
    // The recorder stands still with its sink: the recording joins what lies before and after.
    let gaps = gaps(&left);
    let steady = |gaps: &[f64]| gaps.iter().filter(|gap| (**gap - 2.0).abs() < 1e-3).count();
    assert!(
        steady(&gaps) >= gaps.len() - 2 * times && steady(&gaps) > 2 * times,
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
#[ignore = "long: make soak"]
fn soak_a_server_that_is_killed_again_and_again_finds_the_session_in_step() {
    killed(4);
}

fn killed(times: usize) {
    let server = Server::start();
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
        // The recordings' own beginnings are known to 0.1 s on a busy machine.
        let off = out_of_step(before, after, 2.0);
        let most = if times == 1 { 0.2 } else { 0.1 };
        assert!(off.abs() < most, "{off} s out of step");
    }
    terminal.key("q");
    terminal.key("q");
    terminal.wait_for_end();
}
