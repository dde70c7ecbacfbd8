//! Seeded taps: scatter, doubles, gaps, a stroke that quickens.

use super::*;

/// A normal deviate, from twelve uniform ones.
fn normal(rng: &mut fastrand::Rng) -> f64 {
    (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0
}

/// What happens to the taps beside their scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Trouble {
    None,
    Missed,
    Doubled,
    /// The rate rises by 10 % in 30 s, from the twentieth tap on.
    Rise,
    /// It falls as much.
    Fall,
}

/// Taps with 30 ms of scatter: (time of the tap, the true rate in spm then).
fn taps(
    rng: &mut fastrand::Rng,
    spm: f64,
    each: Each,
    trouble: Trouble,
    n: usize,
) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    let (mut entry_s, mut ramp_began) = (10.0, None);
    while found.len() < n {
        let change = match trouble {
            Trouble::Rise => 0.1,
            Trouble::Fall => -0.1,
            _ => 0.0,
        };
        if found.len() >= 20 {
            ramp_began.get_or_insert(entry_s);
        }
        let share = ramp_began.map_or(0.0, |began: f64| ((entry_s - began) / 30.0).min(1.0));
        let now = spm * (1.0 + change * share);
        let tap = entry_s + 0.03 * normal(rng);
        let missed = trouble == Trouble::Missed && found.len() > 2 && rng.f64() < 0.12;
        if !missed {
            found.push((tap, now));
            if trouble == Trouble::Doubled && rng.f64() < 0.12 {
                found.push((tap + 0.1, now));
            }
        }
        entry_s += 60.0 * each.strokes() / now;
    }
    found.sort_by(|one, other| one.0.total_cmp(&other.0));
    found
}

/// Of so many swimmers: the share within 1 spm, and the share within the interval, at every tap from
/// the eighth counted one on.
const SWIMMERS: u32 = 200;

fn shares(spm: f64, each: Each, trouble: Trouble) -> (f64, f64) {
    let mut rng = fastrand::Rng::with_seed(spm as u64 * 7 + trouble as u64);
    let (mut near, mut inside, mut all) = (0, 0, 0);
    for _ in 0..SWIMMERS {
        let mut follow = Follow::new(each);
        for (time, truth) in taps(&mut rng, spm, each, trouble, 60) {
            let tap = follow.tap(time);
            if follow.taps() < 8 || tap == Tap::Double {
                continue;
            }
            all += 1;
            let Some(rate) = follow.rate_spm() else {
                // Eight taps and no rate: neither near nor inside.
                continue;
            };
            near += u32::from((rate.value - truth).abs() <= 1.0);
            inside += u32::from(
                rate.interval
                    .is_none_or(|(lo, hi)| (lo..=hi).contains(&truth)),
            );
        }
    }
    (
        f64::from(near) / f64::from(all),
        f64::from(inside) / f64::from(all),
    )
}

/// Checks 60 swimmers at a rate: (least share within 1 spm up to 60 spm, least share inside).
fn check(trouble: Trouble, near_least: f64, inside_least: f64) {
    for each in [Each::Cycle, Each::Stroke] {
        for spm in [40.0, 60.0, 90.0, 120.0] {
            let (near, inside) = shares(spm, each, trouble);
            assert!(inside >= inside_least, "{each:?} {spm}: {inside} inside");
            assert!(
                near >= near_least || spm > 60.0,
                "{each:?} {spm}: {near} within 1 spm"
            );
        }
    }
}

#[test]
fn a_steady_stroke_is_known_to_one_spm_from_the_eighth_tap_on() {
    check(Trouble::None, 0.99, 0.95);
}

#[test]
fn missed_and_doubled_taps_are_no_harm() {
    check(Trouble::Missed, 0.99, 0.95);
    check(Trouble::Doubled, 0.99, 0.95);
}

#[test]
fn a_stroke_that_quickens_or_slackens_is_followed() {
    // Ten per cent in 30 s. Up to 60 spm within 1 spm as often as a 95 % interval holds.
    check(Trouble::Rise, 0.95, 0.95);
    check(Trouble::Fall, 0.95, 0.95);
}

#[test]
fn a_double_is_set_aside_and_a_pause_begins_anew() {
    let mut follow = Follow::new(Each::Stroke);
    for n in 0..12 {
        follow.tap(f64::from(n));
    }
    assert_eq!(follow.tap(11.2), Tap::Double);
    assert_eq!(follow.tap(14.0), Tap::Counted { missing: 2 });
    assert_eq!(follow.tap(14.25), Tap::Double);
    assert_eq!(follow.tap(16.42), Tap::Strange);
    let rate = follow.rate_spm().expect("many taps");
    assert!((rate.value - 60.0).abs() < 0.5, "{rate:?}");
    assert_eq!(follow.tap(100.0), Tap::First);
    assert_eq!(follow.rate_spm(), None);
}

#[test]
fn a_wrong_beginning_is_found_out() {
    // Taps at 24, 33 and 41 spm before the stroke is caught: each third tap then lies strangely.
    for begun in [2.5, 1.8, 1.45] {
        let mut follow = Follow::new(Each::Stroke);
        let mut at_s = 0.0;
        for _ in 0..9 {
            at_s += begun;
            follow.tap(at_s);
        }
        for _ in 0..16 {
            at_s += 1.0;
            follow.tap(at_s);
        }
        let rate = follow.rate_spm().expect("sixteen taps");
        assert!((rate.value - 60.0).abs() < 0.5, "{begun} s: {rate:?}");
    }
}

#[test]
fn an_aim_is_an_entry_of_the_arm_tapped_first() {
    let mut follow = Follow::new(Each::Stroke);
    for n in 0..9 {
        follow.tap(5.0 + 1.1 * f64::from(n));
    }
    let (at_s, phase, cycles_a_second) = follow.aim().expect("nine taps");
    assert!((at_s - 13.8).abs() < 1e-9 && (phase - 4.0).abs() < 1e-9);
    assert!((cycles_a_second - 1.0 / 2.2).abs() < 1e-9);
}
