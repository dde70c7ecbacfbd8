//! Hours under a hand, against whole numbers; walls and leads under it.

use super::*;
use crate::files::parse_session;
use crate::model::cue::{CueKind, Side};
use crate::model::resolve::{Resolved, resolve};
use crate::timeline::{Event, Schedule};
use crate::units::fraction;

fn session(text: &str) -> Resolved {
    let session = parse_session("test.toml", text).expect("parses");
    resolve(&session, None, &Default::default()).expect("resolves")
}

fn timeline(text: &str, sample_rate_hz: u32) -> Timeline {
    let session = session(text);
    let schedule = Schedule::new(&session).expect("fits");
    Timeline::new(&session, &schedule, sample_rate_hz)
}

/// Tenths of a stroke a minute.
fn tenths(spm: i64) -> SteadyRate {
    SteadyRate::spm(fraction(spm, 10))
}

#[test]
fn twelve_hours_of_changed_rates_are_exact() {
    // With rates r in tenths of spm, a phase after frames n_i at rates r_i is the sum of n_i r_i
    // over 1200 x hz: whole numbers, however many changes. An event at p hundredths of a cycle is
    // on the frame nearest to now + (12 p hz - sum) / r, halves up.
    let text = "[[set]]\nswim = \"10 min\"\nrate = \"54.3 spm\"\ncatch_after_entry = 0.31\n\
                kick = \"two-beat\"\ncues = [\"arm\", \"kick\"]\n";
    let set = &session(text).sets[0];
    for (seed, rate_hz) in [(1, 44_100_u32), (2, 48_000)] {
        let mut rng = fastrand::Rng::with_seed(seed);
        let timeline = Timeline::endless(set, rate_hz, fraction(1, 4));
        let mut cursor = timeline.events();
        let hz = i128::from(rate_hz);
        // The present change: its frame, the sum up to it, and the rate since.
        let (mut at, mut sum, mut spm) = (hz / 4, 0_i128, 543_i128);
        let mut given = [0_i128; 4];
        let (mut now, mut changes, mut count) = (at, 0, 0);
        while now < hz * 3600 * 12 {
            let longest = if rng.f64() < 0.97 { 60 } else { 1800 };
            now += rng.i128(1..longest * hz);
            while let Some(event) = cursor.next_before(now as u64) {
                let (cycle, micro) = event.beat.expect("a cue");
                let place = [
                    (CueKind::Arm, 310_000),
                    (CueKind::Arm, 810_000),
                    (CueKind::Kick, 310_000),
                    (CueKind::Kick, 810_000),
                ]
                .iter()
                .position(|place| *place == (event.kind, micro))
                .expect("one of four cues");
                assert_eq!(i128::from(cycle), given[place], "{event:?}");
                given[place] += 1;
                let phase = i128::from(cycle) * 100 + i128::from(micro) / 10_000;
                let frame = at + (2 * (12 * phase * hz - sum) + spm).div_euclid(2 * spm);
                assert_eq!(
                    i128::from(event.frame),
                    frame,
                    "{event:?} after {changes} changes"
                );
                count += 1;
            }
            sum += (now - at) * spm;
            (at, spm, changes) = (now, rng.i128(300..1200), changes + 1);
            cursor.change(now as u64, tenths(spm as i64), exact(0));
        }
        assert!(
            changes > 500 && count > 100_000,
            "{changes} changes, {count} events"
        );
    }
}

const PAUSING: &str = "lead_in = \"10 s\"\n[[set]]\nswim = \"100 m\"\npace = \"25 s / 25 m\"\n\
    rate = \"60 spm\"\nwalls = \"pause\"\ncues = [\"arm\", \"kick\"]\n";

/// Frames of a kind of cue, at 8000 Hz, with a wish at a frame.
fn frames_with(
    text: &str,
    at: u64,
    mut wish: impl FnMut(&mut Cursor<&Timeline>, u64),
) -> Vec<Event> {
    let timeline = timeline(text, 8000);
    let mut cursor = timeline.events();
    let mut found = Vec::new();
    for now in (0..timeline.frames()).step_by(64) {
        if now >= at {
            wish(&mut cursor, now);
        }
        found.extend(std::iter::from_fn(|| cursor.next_before(now + 64)));
    }
    found
}

fn entries_of_length(found: &[Event], wall_s: u64) -> usize {
    let length = wall_s * 8000..(wall_s + 25) * 8000;
    let of = |event: &&Event| event.kind == CueKind::Arm && length.contains(&event.frame);
    found.iter().filter(of).count()
}

#[test]
fn a_faster_rate_near_a_wall_brings_back_the_cues_that_a_slower_one_had_put_beyond_it() {
    let timeline = timeline(PAUSING, 8000);
    let mut cursor = timeline.events();
    let mut found = Vec::new();
    let mut until = |cursor: &mut Cursor<&Timeline>, s: u64| {
        while let Some(event) = cursor.next_before(s * 8000) {
            found.push(event);
        }
    };
    until(&mut cursor, 30);
    // At 10 spm the next cues of this length would be past the wall at 35 s: they go on to the
    // next one. At 120 spm they are back.
    cursor.change(30 * 8000, tenths(100), exact(0));
    until(&mut cursor, 31);
    cursor.change(31 * 8000, tenths(1200), exact(0));
    until(&mut cursor, 200);
    let arms: Vec<u64> = (found.iter())
        .filter(|event| event.kind == CueKind::Arm)
        .map(|event| event.frame / 8)
        .collect();
    let last = arms
        .iter()
        .filter(|ms| (31_000..35_000).contains(*ms))
        .count();
    assert!((7..=8).contains(&last), "{arms:?}");
    assert_eq!(entries_of_length(&found, 35), 44);
}

#[test]
fn cues_that_follow_a_stroke_begin_anew_after_a_pausing_wall() {
    // A swimmer at 66 spm, tapped all the time.
    let frequency = 66.0 / 120.0 / 8000.0;
    let found = frames_with(PAUSING, 14 * 8000, |cursor, now| {
        if now % 16_000 < 64 {
            let aim = Aim {
                frame: now as f64,
                phase: now as f64 * frequency,
                frequency,
            };
            cursor.set_aim(now, Some(aim));
        }
    });
    for wall_s in [10, 35, 60, 85] {
        let entries = entries_of_length(&found, wall_s);
        assert!((22..=26).contains(&entries), "{entries} after {wall_s} s");
    }
}

#[test]
fn a_cue_that_sounds_late_is_heard_behind_the_next_lengths_early_ones() {
    let text = PAUSING.replace(
        "walls",
        "push_off = \"0.2 s\"\nlead = { arm = \"300 ms\", kick = \"-300 ms\" }\nwalls",
    );
    let own = frames_with(&text, u64::MAX, |_, _| {});
    assert!(own.is_sorted_by_key(|event| event.frame));
    let legs = |found: &[Event]| {
        found
            .iter()
            .filter(|event| event.kind == CueKind::Kick)
            .count()
    };
    for at in (35 * 8000 - 4096..35 * 8000 + 4096).step_by(512) {
        let mut wishes = 1;
        let found = frames_with(&text, at, |cursor, now| {
            if std::mem::take(&mut wishes) == 1 {
                cursor.change(now, tenths(600), exact(0));
            }
        });
        assert_eq!(legs(&found), legs(&own), "a wish at {at}");
        assert_eq!(found.len(), own.len(), "a wish at {at}");
    }
}

#[test]
fn another_pairing_stays_for_the_set_and_no_longer() {
    let text = "lead_in = \"10 s\"\n[defaults]\nrate = \"60 spm\"\nswim = \"20 s\"\nrest = \"10 s\"\n\
                catch_after_entry = 0.3\n[[set]]\nrepeats = 2\n[[set]]\npairing = \"same-side\"\n";
    let mut asked = false;
    let found = frames_with(text, 124_000, |cursor, now| {
        if !std::mem::replace(&mut asked, true) {
            cursor.switch(now, Pairing::OppositeSide, Kick::SixBeat);
            assert!(cursor.view(now).switching);
        }
    });
    let right_kicks = |set: u32, repeat: u32| {
        let of = move |event: &&Event| (event.set, event.repeat) == (set, repeat);
        let mut phases: Vec<u32> = (found.iter().filter(of))
            .filter(|event| event.kind == CueKind::Kick && event.side == Some(Side::Right))
            .filter_map(|event| event.beat.map(|(_, micro)| micro))
            .collect();
        phases.dedup();
        phases
    };
    // Same-side: with the right catch; opposite-side: as the left hand goes in.
    assert_eq!(right_kicks(1, 1), [800_000, 0]);
    assert_eq!(right_kicks(1, 2), [0]);
    assert_eq!(right_kicks(2, 1), [800_000]);
}

#[test]
fn a_rate_set_by_hand_passes_over_a_comparison_and_one_set_in_it_ends_with_it() {
    let text = "lead_in = \"10 s\"\n[[set]]\nrate = \"60 spm\"\nswim = \"30 s\"\nrest = \"10 s\"\n\
                repeats = 6\ncompare = { rate = \"50 spm\", at = [2, 4, 5] }\n";
    // Starts are 40 s apart; a hand sets 80 spm in the first swim, 100 spm in the fourth.
    let mut asked = [false; 2];
    let found = frames_with(text, 0, |cursor, now| {
        for (at, (from, spm)) in [(160_000, 800), (1_120_000, 1000)].into_iter().enumerate() {
            if now >= from && !std::mem::replace(&mut asked[at], true) {
                cursor.change(now, tenths(spm), Fix::ZERO);
            }
        }
    });
    // Frames from left arm to left arm at the end of each swim: 120 s/spm at 8000 Hz.
    let cycles = (1..=6).map(|repeat| {
        let of = |event: &&Event| (event.kind, event.repeat) == (CueKind::Arm, repeat);
        let left = found
            .iter()
            .filter(of)
            .filter(|event| event.side == Some(Side::Left));
        let frames: Vec<u64> = left.map(|event| event.frame).collect();
        frames[frames.len() - 1] - frames[frames.len() - 2]
    });
    assert_eq!(
        cycles.collect::<Vec<u64>>(),
        [12_000, 19_200, 12_000, 9_600, 19_200, 12_000]
    );
}
