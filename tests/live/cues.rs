//! A rate and what a coach changes, heard.

use super::*;

fn steady(seconds: f64) {
    let [left, right] = heard(&["--stroke-rate", "60 spm"], |_, terminal| {
        terminal.key("Space");
        sleep(seconds);
        terminal.key("Space");
        sleep(1.0);
    });
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
#[ignore = "long: make soak"]
fn soak_a_steady_minute_is_heard_on_time_and_does_not_drift() {
    steady(60.0);
}

#[test]
fn a_step_of_rate_a_pairing_a_mute_and_a_pause_are_heard_as_they_should_be() {
    let [left, right] = heard(&["--stroke-rate", "54 spm"], |_, terminal| {
        terminal.key("Space");
        sleep(8.0);
        for key in ["6", "0", "Enter"] {
            terminal.key(key);
        }
        terminal.wait_for("30 cycles/min");
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
    });
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
    let [left, _] = heard(&["--stroke-rate", "60 spm"], |_, terminal| {
        terminal.key("Space");
        terminal.key("g");
        sleep(6.0);
        for key in ["7", "2", "Enter"] {
            terminal.key(key);
        }
        sleep(9.0);
    });
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
#[ignore = "long: make soak"]
fn soak_a_dozen_steps_of_rate_are_heard_as_they_should_be() {
    const STEPS: usize = 12;
    let mut rng = fastrand::Rng::with_seed(5);
    let [left, right] = heard(&["--stroke-rate", "54 spm"], |_, terminal| {
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
    });
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
