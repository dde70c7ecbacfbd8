//! Cues that follow taps, from the taps to the frames on which they fall.

use std::sync::Arc;

use super::*;
use crate::analysis::follow::Follow;
use crate::analysis::taps::Each;
use crate::live::engine::tests::{STEADY, endless, frames_of};
use crate::model::cue::{CueKind, Side};
use crate::timeline::Aim;

/// A stroke tapped with 30 ms of scatter, some taps missed or doubled, the rate rising by 10 % in
/// 30 s after the twentieth: (time in s, whether it is tapped, twice or not at all).
fn tapped(rng: &mut fastrand::Rng, spm: f64, each: Each, until_s: f64) -> Vec<f64> {
    let normal = |rng: &mut fastrand::Rng| (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0;
    let (mut entry_s, mut taps, mut count) = (3.37, Vec::new(), 0);
    while entry_s < until_s {
        let tap = entry_s + 0.03 * normal(rng);
        match rng.u32(..12) {
            0 if count > 3 => {}
            1 => taps.extend([tap, tap + 0.12]),
            _ => taps.push(tap),
        }
        count += 1;
        let share = ((entry_s - 40.0) / 30.0).clamp(0.0, 1.0);
        entry_s += 60.0 * each.strokes() / (spm * (1.0 + 0.1 * share));
    }
    taps
}

#[test]
fn cues_that_follow_taps_change_by_less_than_eight_per_cent_and_never_double() {
    for each in [Each::Cycle, Each::Stroke] {
        cues_follow(each);
    }
}

fn cues_follow(each: Each) {
    let rate_hz = 8000.0;
    for (seed, spm) in [
        (1, 40.0),
        (2, 54.0),
        (3, 60.0),
        (4, 75.0),
        (5, 96.0),
        (6, 120.0),
    ] {
        let mut rng = fastrand::Rng::with_seed(seed);
        let taps = tapped(&mut rng, spm, each, 100.0);
        // The cues begin a tenth off.
        let score = endless(
            &STEADY.replace("54 spm", &format!("{} spm", spm * 0.9)),
            8000,
        );
        let mut source = LiveEvents::new(Arc::clone(&score.timeline), 0);
        let mut follow = Follow::new(each);
        let mut taps = taps.into_iter().peekable();
        let mut found = Vec::new();
        for position in (0..800_000_u64).step_by(64) {
            while let Some(tap) = taps.next_if(|tap| *tap * rate_hz <= position as f64) {
                follow.tap(tap);
                if let Some((at_s, phase, cycles_a_second)) = follow.aim() {
                    source.cursor.set_aim(
                        position,
                        Some(Aim {
                            frame: at_s * rate_hz,
                            phase,
                            frequency: cycles_a_second / rate_hz,
                        }),
                    );
                }
            }
            source.end = position + 64;
            found.extend(source.by_ref());
        }
        for kind in [CueKind::Arm, CueKind::Kick] {
            for side in Side::BOTH {
                let frames = frames_of(&found, kind, side);
                let gaps: Vec<f64> = frames
                    .windows(2)
                    .map(|pair| (pair[1] - pair[0]) as f64)
                    .collect();
                assert!(gaps.len() > 30, "{spm}: {}", gaps.len());
                for pair in gaps.windows(2) {
                    let change = (pair[1] / pair[0] - 1.0).abs();
                    assert!(change < 0.08, "{spm} spm, {kind:?} {side}: {change}");
                }
                // At the end the cues are at the stroke's own rate, ten per cent up.
                let last = &gaps[gaps.len() - 4..];
                let heard = 120.0 * rate_hz * 4.0 / last.iter().sum::<f64>();
                assert!((heard / (spm * 1.1) - 1.0).abs() < 0.03, "{spm}: {heard}");
            }
        }
    }
}
