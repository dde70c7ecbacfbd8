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
    Ramp,
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
        if trouble == Trouble::Ramp && found.len() >= 20 {
            ramp_began.get_or_insert(entry_s);
        }
        let share = ramp_began.map_or(0.0, |began: f64| ((entry_s - began) / 30.0).min(1.0));
        let now = spm * (1.0 + 0.1 * share);
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
const SWIMMERS: u32 = 60;

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
            let rate = follow.rate_spm().expect("eight taps");
            all += 1;
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

#[test]
fn from_the_eighth_tap_on_the_rate_is_as_well_known_as_it_says() {
    for each in [Each::Cycle, Each::Stroke] {
        for trouble in [
            Trouble::None,
            Trouble::Missed,
            Trouble::Doubled,
            Trouble::Ramp,
        ] {
            for spm in [40.0, 60.0, 90.0, 120.0] {
                let (near, inside) = shares(spm, each, trouble);
                println!("{each:?} {trouble:?} {spm}: within 1 spm {near:.4}, inside {inside:.4}");
            }
        }
    }
}
