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

const RESTING: &str = "lead_in = \"10 s\"\n[[set]]\nrepeats = 2\nrate = \"60 spm\"\nswim = \"20 s\"\n\
    rest = \"10 s\"\n";

/// When the counts and the start of a repeat sound, in ms, after a change of rate at a time in ms.
fn counts_after(text: &str, repeat: u32, at_ms: u64, tenths_of_spm: i64) -> Vec<u64> {
    let mut asked = false;
    let found = frames_with(text, at_ms * 8, |cursor, now| {
        if !std::mem::replace(&mut asked, true) {
            cursor.change(now, tenths(tenths_of_spm), exact(0));
        }
    });
    (found.iter())
        .filter(|event| event.repeat == repeat)
        .filter(|event| matches!(event.kind, CueKind::Count | CueKind::Start))
        .map(|event| event.frame / 8)
        .collect()
}

#[test]
fn counts_carry_the_rate_that_a_hand_sets_before_the_first_of_them() {
    assert_eq!(
        counts_after(RESTING, 1, 2000, 800),
        [7750, 8500, 9250, 10_000]
    );
    assert_eq!(
        counts_after(RESTING, 1, 2000, 500),
        [6400, 7600, 8800, 10_000]
    );
    // Of a stroke of 2 s nobody waits for three.
    assert_eq!(
        counts_after(RESTING, 1, 2000, 300),
        [7000, 8000, 9000, 10_000]
    );
    // In the rest, and in the swim before it: the start stays where it is.
    assert_eq!(
        counts_after(RESTING, 2, 33_000, 800),
        [37_750, 38_500, 39_250, 40_000]
    );
    assert_eq!(
        counts_after(RESTING, 2, 15_000, 800),
        [37_750, 38_500, 39_250, 40_000]
    );
    let seconds = RESTING.replace("rest", "count = \"seconds\"\nrest");
    assert_eq!(
        counts_after(&seconds, 1, 2000, 800),
        [7000, 8000, 9000, 10_000]
    );
}

#[test]
fn counts_stay_even_whatever_a_hand_does() {
    let own = [7000, 8000, 9000, 10_000];
    // After the first; and before it, where a slower first would be in the past.
    assert_eq!(counts_after(RESTING, 1, 7100, 800), own);
    assert_eq!(counts_after(RESTING, 1, 8500, 1200), own);
    assert_eq!(counts_after(RESTING, 1, 6900, 500), own);
    // A faster one has still to come.
    assert_eq!(
        counts_after(RESTING, 1, 6900, 800),
        [7750, 8500, 9250, 10_000]
    );
}

const BREATHING: &str = "lead_in = \"5 s\"\n[[set]]\nrate = \"60 spm\"\nswim = \"60 s\"\n\
    kick = \"six-beat\"\ncatch_after_entry = 0.3\ncues = [\"arm\", \"kick\", \"fill\", \"breath\"]\n\
    breath = { every = 3 }\n";

fn breaths(found: &[Event]) -> Vec<(u64, (u64, u32))> {
    (found.iter())
        .filter(|event| event.kind == CueKind::Breath)
        .filter_map(|event| Some((event.frame, event.beat?)))
        .collect()
}

#[test]
fn no_breath_sounds_twice_or_is_lost_where_the_pairing_changes() {
    let own = breaths(&frames_with(BREATHING, u64::MAX, |_, _| {}));
    assert!(own.len() > 15, "{own:?}");
    // Around the breath before the entry at 14 s, the beginning of a cycle.
    for at in (13 * 8000..15 * 8000).step_by(192) {
        for back in [u64::MAX, at + 640, at + 4000] {
            let mut wishes = vec![
                (back, Pairing::SameSide, Kick::SixBeat),
                (at, Pairing::OppositeSide, Kick::TwoBeat),
            ];
            let found = frames_with(BREATHING, at, |cursor, now| {
                if let Some((_, pairing, kick)) = wishes.pop_if(|(at, ..)| *at <= now) {
                    cursor.switch(now, pairing, kick);
                }
            });
            assert_eq!(breaths(&found), own, "a switch at {at}, back at {back}");
        }
    }
}

#[test]
fn no_breath_is_late_where_the_cycle_begins_anew() {
    for at in (13 * 8000..19 * 8000).step_by(576) {
        let mut anew = None;
        let found = frames_with(BREATHING, at, |cursor, now| {
            if anew.is_none() {
                anew = Some(now);
                cursor.restart(now);
            }
        });
        let anew = anew.expect("a moment to begin at");
        let after: Vec<u64> = (breaths(&found).iter())
            .map(|(frame, _)| *frame)
            .filter(|frame| *frame >= anew)
            .collect();
        assert!(after.len() > 10, "{after:?}");
        for frame in after {
            // Strokes of a second; the sound begins 220 ms before the entry.
            assert_eq!(
                (frame + 1760 - anew) % 8000,
                0,
                "at {frame}, anew at {anew}"
            );
        }
    }
}

#[test]
fn kicks_between_give_way_to_breaths_as_they_really_sound() {
    let near = |found: &[Event], from: i64, to: i64| {
        let fills = found.iter().filter(|event| event.kind == CueKind::Fill);
        let breaths = breaths(found);
        (fills.map(|fill| fill.frame as i64))
            .filter(|fill| {
                let mut after = breaths.iter().map(|(frame, _)| fill - *frame as i64);
                after.any(|after| (from..to).contains(&after))
            })
            .count()
    };
    let own = frames_with(BREATHING, u64::MAX, |_, _| {});
    assert_eq!(near(&own, -320, 1600), 0);
    // Nobody hears a breath that is silenced, and nothing gives way to it.
    let muted = frames_with(BREATHING, 0, |cursor, _| cursor.mute_breath(true));
    assert_eq!(muted.len(), own.len() + near(&muted, -320, 1600));
    assert!(near(&muted, -320, 1600) > 15);
    let mut rng = fastrand::Rng::with_seed(7);
    for _ in 0..40 {
        let found = frames_with(BREATHING, 8 * 8000, |cursor, now| {
            if rng.u32(..100) == 0 {
                cursor.change(now, tenths(rng.i64(400..1400)), exact(rng.i64(0..3)));
            }
            if rng.u32(..300) == 0 {
                let pairing = rng.choice([Pairing::SameSide, Pairing::OppositeSide]);
                cursor.switch(now, pairing.expect("one of two"), Kick::SixBeat);
            }
        });
        assert!(breaths(&found).len() > 5);
        assert_eq!(near(&found, 0, 1600), 0, "after changes");
    }
}
