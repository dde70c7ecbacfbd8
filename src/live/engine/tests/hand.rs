//! A hand on the cues: rate, pairing, mutes, a pause.

use super::*;

#[test]
fn a_step_of_rate_keeps_the_phase_and_neither_doubles_nor_skips() {
    let rate_hz = 48_000;
    let score = endless(STEADY, rate_hz);
    for change_at in (480_000..700_000).step_by(33_333) {
        let change_at = change_at / 64 * 64;
        let found = events(&score, 2_000_000, &[(change_at, DeckCommand::Rate(60.0))]);
        for (kind, side) in [
            (CueKind::Arm, Side::Left),
            (CueKind::Kick, Side::Right),
            (CueKind::Kick, Side::Left),
        ] {
            let frames = frames_of(&found, kind, side);
            // 120 / 54 s and 120 / 60 s a cycle.
            let (old, new) = (106_666.67, 96_000.0);
            let mut across = 0;
            for pair in frames.windows(2) {
                let gap = (pair[1] - pair[0]) as f64;
                if pair[1] < change_at {
                    assert!((gap - old).abs() <= 1.0, "{gap}");
                } else if pair[0] >= change_at {
                    assert!((gap - new).abs() <= 1.0, "{gap}");
                } else {
                    // The part of the cycle that was left went by at the new rate.
                    let done = (change_at - pair[0]) as f64;
                    let due = done + (1.0 - done / old) * new;
                    assert!((gap - due).abs() <= 1.0, "{gap} for {due}");
                    across += 1;
                }
            }
            assert_eq!(across, 1);
        }
    }
}

#[test]
fn a_gentle_change_bends_over_four_strokes() {
    let score = endless(STEADY, 48_000);
    let change_at = 640_000;
    let wishes = [
        (0, DeckCommand::Gentle(true)),
        (change_at, DeckCommand::Rate(66.0)),
    ];
    let found = events(&score, 2_000_000, &wishes);
    let gaps: Vec<f64> = frames_of(&found, CueKind::Arm, Side::Left)
        .windows(2)
        .map(|pair| (pair[1] - pair[0]) as f64)
        .collect();
    let (old, new) = (48_000.0 * 120.0 / 54.0, 48_000.0 * 120.0 / 66.0);
    assert!(
        gaps.windows(2).all(|pair| pair[1] <= pair[0] + 1.0),
        "{gaps:?}"
    );
    let between = gaps
        .iter()
        .filter(|gap| **gap < old - 2.0 && **gap > new + 2.0)
        .count();
    assert!((2..=3).contains(&between), "{gaps:?}");
    assert!((gaps[gaps.len() - 1] - new).abs() <= 1.0);
}

#[test]
fn a_pairing_changes_at_the_next_entry_of_the_first_arm() {
    let score = endless(STEADY, 48_000);
    let first_entry = frame_of(&score, score.timeline.laid(0).expect("one").first_entry());
    let cycle = 48_000.0 * 120.0 / 54.0;
    for asked in [0.1, 0.5, 0.95] {
        let asked_at = ((first_entry as f64 + (4.0 + asked) * cycle) as u64) / 64 * 64;
        let switch = DeckCommand::Switch(Pairing::SameSide, Kick::TwoBeat);
        let found = events(&score, 2_000_000, &[(asked_at, switch)]);
        let switched = first_entry as f64 + 5.0 * cycle;
        for event in &found {
            let Some((_, micro)) = event.beat else {
                panic!("{event:?}")
            };
            let early = (event.frame as f64) < switched - 1.0;
            // Opposite-side: entries at 0 and 0.5; same-side: catches at 0.3 and 0.8.
            let places = if early {
                [0, 500_000]
            } else {
                [300_000, 800_000]
            };
            assert!(places.contains(&micro), "{event:?}");
            if event.kind == CueKind::Kick {
                let right = event.side == Some(Side::Right);
                let own = if early {
                    right == (micro == 0)
                } else {
                    right == (micro == 800_000)
                };
                assert!(own, "{event:?}");
            }
        }
        for side in Side::BOTH {
            let kicks = frames_of(&found, CueKind::Kick, side);
            for pair in kicks.windows(2) {
                // Half the smaller regular gap is half a cycle: nothing is closer.
                assert!((pair[1] - pair[0]) as f64 >= cycle / 2.0 - 1.0, "{pair:?}");
            }
        }
    }
}

#[test]
fn a_switch_taken_back_in_time_leaves_no_trace() {
    let score = endless(STEADY, 48_000);
    let own = events(&score, 1_500_000, &[]);
    let wishes = [
        (
            600_000,
            DeckCommand::Switch(Pairing::SameSide, Kick::SixBeat),
        ),
        (
            610_000,
            DeckCommand::Switch(Pairing::OppositeSide, Kick::TwoBeat),
        ),
    ];
    assert_eq!(events(&score, 1_500_000, &wishes), own);
}

#[test]
fn a_mute_fades_in_ten_milliseconds_and_leaves_the_rest_alone() {
    let rate_hz = 48_000;
    let mute_at = 480_256;
    let whole = play(endless(STEADY, rate_hz), 1_000_000, 64, &[]);
    let muted = play(
        endless(STEADY, rate_hz),
        1_000_000,
        64,
        &[
            (mute_at, DeckCommand::Mute(Group::Feet, true)),
            (720_000, DeckCommand::Mute(Group::Feet, false)),
        ],
    );
    assert!(whole[..480_000] == muted[..480_000]);
    assert!(whole[740_000..] == muted[740_000..]);
    let inside = 482_000..720_000;
    assert!(whole[inside.clone()] != muted[inside.clone()]);
    // Opposite-side: left hand and right foot sound together, in the two ears.
    assert!(muted[inside].iter().any(|[left, _]| left.abs() > 0.05));
}

#[test]
fn a_pause_stops_every_clock_and_going_on_starts_at_the_first_entry() {
    let (score, _) = score_of(SESSION, 8000);
    let (mut engine, mut remote) = Engine::new(score, 0);
    let mut block = [[0.0_f32; 2]; 80];
    let mut run = |engine: &mut Engine, blocks: usize| -> Vec<[f32; 2]> {
        let mut sound = Vec::new();
        for _ in 0..blocks {
            engine.fill(&mut block);
            sound.extend_from_slice(&block);
        }
        sound
    };
    remote.send(DeckCommand::Run(true));
    run(&mut engine, 1800);
    remote.state();
    remote.send(DeckCommand::Run(false));
    let fading = run(&mut engine, 200);
    let paused = remote.state();
    assert!(!paused.running);
    assert!(fading[160..].iter().flatten().all(|sample| *sample == 0.0));
    assert!(paused.position <= 144_000 + 160, "{}", paused.position);
    remote.send(DeckCommand::Run(true));
    run(&mut engine, 1);
    let phase = remote.state().view.phase.expect("in a swim");
    assert!((phase - phase.floor()) < 0.02, "{phase}");
    // The clock of the session: the end signal is as far from the pause as it would have been.
    assert!(remote.state().position <= paused.position + 80);
}
