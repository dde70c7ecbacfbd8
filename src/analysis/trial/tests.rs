//! Orders, pairs and verdicts of trials.

use super::*;
use proptest::prelude::*;

fn swim(line: usize, pairing: Pairing, noted: [Option<f64>; 3]) -> TrialSwim {
    TrialSwim {
        line,
        pairing: Some(pairing),
        conditions: Conditions::default(),
        date: String::new(),
        noted,
        kept: true,
    }
}

/// Swims in the order of a trial; `noted` is given the number of the swim and its pairing.
fn swims(
    blocks: usize,
    seed: u64,
    mut noted: impl FnMut(usize, Pairing) -> [Option<f64>; 3],
) -> Vec<TrialSwim> {
    (order(blocks, seed).into_iter().flatten().enumerate())
        .map(|(at, pairing)| swim(at + 2, pairing, noted(at, pairing)))
        .collect()
}

fn reading(swims: &[TrialSwim]) -> Reading {
    read(&pairs(swims).pairs)
}

/// Box & Muller's normal numbers.
fn normal(draw: &mut Draw) -> f64 {
    let unit = |draw: &mut Draw| ((draw.bits() >> 11) as f64 + 0.5) / (1u64 << 53) as f64;
    let (one, other) = (unit(draw), unit(draw));
    (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
}

fn verdicts(reading: &Reading) -> [TrialVerdict; 3] {
    [0, 1, 2].map(|at| reading.outcomes[at].verdict)
}

proptest! {
    #[test]
    fn every_block_is_abba_or_baab_and_both_come_as_often(blocks in 1usize..20, seed: u64) {
        let order = order(blocks, seed);
        prop_assert_eq!(order.len(), blocks);
        prop_assert!(order.iter().all(|b| b[0] == b[3] && b[1] == b[2] && b[0] != b[1]));
        let first = order.iter().filter(|b| b[0] == Pairing::SameSide).count();
        prop_assert!(first.abs_diff(blocks - first) <= 1);
    }

    #[test]
    fn a_drift_along_a_straight_line_cancels(blocks in 3usize..6, seed: u64, drift in -9i32..9) {
        // Arithmetic: ABBA and BAAB cancel it exactly .
        let drift = f64::from(drift) / 8.0;
        let swims = swims(blocks, seed, |at, _| [Some(40.0 + drift * at as f64), None, None]);
        let time = &reading(&swims).outcomes[TIME];
        prop_assert_eq!(time.differences.iter().sum::<f64>(), 0.0);
        prop_assert_eq!(time.middle.map(|middle| middle.value), Some(0.0));
        prop_assert_eq!(time.verdict, TrialVerdict::Neither);
    }
}

#[test]
fn a_seed_gives_its_order_and_seeds_differ() {
    assert_eq!(order(4, 7), order(4, 7));
    let orders: std::collections::BTreeSet<String> = (0..50)
        .map(|seed| format!("{:?}", order(4, seed)))
        .collect();
    // Two of four blocks begin with the same side: six orders.
    assert_eq!(orders.len(), 6);
}

#[test]
fn neighbours_are_paired_and_the_rest_is_set_aside_by_name() {
    let rows = |pairings: &[Option<Pairing>]| -> Vec<TrialSwim> {
        (pairings.iter().enumerate())
            .map(|(at, pairing)| TrialSwim {
                pairing: *pairing,
                ..swim(at + 2, Pairing::SameSide, [Some(40.0), None, None])
            })
            .collect()
    };
    let lines = |swims: &[TrialSwim]| {
        let paired = pairs(swims);
        let lines = |pair: &Pair| (pair.same.line, pair.opposite.line);
        (
            paired.pairs.iter().map(lines).collect::<Vec<_>>(),
            (paired.aside.iter().map(|aside| aside.line)).collect::<Vec<_>>(),
        )
    };
    let (a, b) = (Some(Pairing::SameSide), Some(Pairing::OppositeSide));
    assert_eq!(lines(&rows(&[a, b, b, a])), (vec![(2, 3), (5, 4)], vec![]));
    // The first row is missing, one has no pairing, one is left over.
    assert_eq!(
        lines(&rows(&[b, b, a, None, a])),
        (vec![(4, 3)], vec![2, 5, 6])
    );
    // A row that cannot be read keeps its place.
    assert_eq!(lines(&rows(&[a, None, b, a])), (vec![(5, 4)], vec![2, 3]));
    let mut unlike = rows(&[a, b, b, a]);
    unlike[1].conditions.rate = "60 spm".into();
    assert_eq!(lines(&unlike), (vec![(5, 4)], vec![2, 3]));
    assert!(pairs(&unlike).aside[0].why.contains("another cued rate"));
    assert_eq!(lines(&[]), (vec![], vec![]));
}

#[test]
fn a_pair_of_which_one_swim_is_not_filled_in_is_left_open() {
    let mut swims = swims(2, 1, |at, _| {
        [Some(40.0), Some(44.0).filter(|_| at < 4), None]
    });
    swims[0].noted[0] = None;
    assert_eq!(pairs(&swims).pairs.len(), 4, "its strokes are noted");
    swims[7].noted = [None; 3];
    let paired = pairs(&swims);
    assert_eq!((paired.pairs.len(), paired.open), (3, 1));
    let reading = read(&paired.pairs);
    assert_eq!(reading.outcomes[TIME].differences.len(), 2);
    assert_eq!(reading.kept, [(3, 3), (3, 3)]);
}

#[test]
fn a_clear_difference_is_called_for_the_pairing_with_less() {
    let swims = swims(3, 1, |at, pairing| {
        let faster = f64::from(u8::from(pairing == Pairing::OppositeSide));
        [
            Some(40.0 - faster - 0.01 * at as f64),
            Some(44.0),
            Some(5.0 + faster),
        ]
    });
    let reading = reading(&swims);
    let [time, strokes, effort] = verdicts(&reading);
    assert_eq!(time, TrialVerdict::Better(Pairing::OppositeSide));
    assert_eq!(strokes, TrialVerdict::Neither);
    assert_eq!(effort, TrialVerdict::Better(Pairing::SameSide));
    assert_eq!(reading.outcomes[0].p_together, Some(2.0 / 64.0));
    assert_eq!(
        reading.outcomes[1].more_pairs, None,
        "no scatter, no difference"
    );
}

#[test]
fn five_pairs_are_too_few_however_clear() {
    let mut swims = swims(3, 1, |_, pairing| {
        [
            Some(if pairing == Pairing::SameSide {
                39.0
            } else {
                41.0
            }),
            None,
            None,
        ]
    });
    swims.truncate(10);
    let reading = reading(&swims);
    let time = &reading.outcomes[TIME];
    assert_eq!(verdicts(&reading), [TrialVerdict::TooFew; 3]);
    assert_eq!((time.p, time.p_together), (Some(2.0 / 32.0), None));
    assert_eq!(
        time.middle.map(|m| (m.value, m.interval)),
        Some((-2.0, None))
    );
    assert_eq!(time.more_pairs, Some(2));
    assert_eq!(reading.outcomes[1].middle, None);
}

#[test]
fn cued_is_not_kicked() {
    let clear = |_: usize, pairing: Pairing| {
        [
            Some(if pairing == Pairing::SameSide {
                39.0
            } else {
                41.0
            }),
            None,
            None,
        ]
    };
    for (kept_same, kept_opposite, confirmed) in [
        (8, 8, true),
        (5, 5, true),
        (4, 8, false),
        (8, 4, false),
        (0, 0, false),
    ] {
        let mut swims = swims(4, 3, clear);
        let mut left: [usize; 2] = [kept_same, kept_opposite];
        for swim in &mut swims {
            let left = &mut left[usize::from(swim.pairing == Some(Pairing::OppositeSide))];
            swim.kept = *left > 0;
            *left = left.saturating_sub(1);
        }
        let reading = reading(&swims);
        assert_eq!(reading.confirmed, confirmed, "{kept_same} {kept_opposite}");
        let expected = if confirmed {
            TrialVerdict::Better(Pairing::SameSide)
        } else {
            TrialVerdict::NotConfirmed
        };
        assert_eq!(reading.outcomes[TIME].verdict, expected);
        assert!(reading.outcomes[TIME].p.is_some(), "the figures stay");
    }
}

#[test]
fn fewer_strokes_count_at_the_same_time_only() {
    let with_time = |slower: Option<f64>| {
        let swims = swims(4, 3, |_, pairing| match pairing {
            Pairing::SameSide => [slower.map(|s| 40.0 + s), Some(40.0), None],
            Pairing::OppositeSide => [slower.map(|_| 40.0), Some(44.0), None],
        });
        let strokes = reading(&swims).outcomes[STROKES].clone();
        (strokes.verdict, strokes.not_at_the_same_time)
    };
    let fewer = TrialVerdict::Better(Pairing::SameSide);
    assert_eq!(with_time(Some(0.0)), (fewer, false));
    assert_eq!(with_time(Some(-1.0)), (fewer, false));
    assert_eq!(with_time(Some(1.0)), (TrialVerdict::Neither, true));
    assert_eq!(with_time(None), (TrialVerdict::Neither, true));
}

/// The share of `trials` without any difference in which anything is called. Times, strokes and
/// efforts go together, strokes are whole and efforts halves, and everything drifts.
fn false_calls(trials: u32, blocks: usize, drift: f64, shared: f64) -> f64 {
    let mut draw = Draw::new(20);
    let mut called = 0;
    for trial in 0..trials {
        let swims = swims(blocks, u64::from(trial), |at, _| {
            let all = shared * normal(&mut draw);
            let tired = drift * at as f64;
            let own = (1.0 - shared * shared).sqrt();
            let mut one = || all + own * normal(&mut draw) + tired;
            let noted = [40.0 + 0.8 * one(), (44.0 + 1.5 * one()).round()];
            let effort = ((5.0 + one()) * 2.0).round() / 2.0;
            [Some(noted[0]), Some(noted[1]), Some(effort)]
        });
        let any = |verdict: &TrialVerdict| matches!(verdict, TrialVerdict::Better(_));
        called += u32::from(verdicts(&reading(&swims)).iter().any(any));
    }
    f64::from(called) / f64::from(trials)
}

#[test]
fn without_a_difference_at_most_one_trial_in_twenty_calls_anything() {
    const TRIALS: u32 = 4000;
    // Three standard deviations of a share of 0.05 in so many trials.
    let most = 0.05 + 3.0 * (0.05 * 0.95 / f64::from(TRIALS)).sqrt();
    for (blocks, drift, shared) in [
        (3, 0.0, 0.0),
        (4, 0.0, 0.0),
        (4, 0.0, 0.8),
        (5, 0.0, 0.5),
        (4, 0.3, 0.5),
    ] {
        let share = false_calls(TRIALS, blocks, drift, shared);
        assert!(
            share <= most,
            "{blocks} blocks, drift {drift}, shared {shared}: {share}"
        );
    }
    // A test that calls nothing would pass the above: with four blocks it is close to its level.
    let share = false_calls(TRIALS, 4, 0.0, 0.0);
    assert!(share > 0.025, "{share}");
}

#[test]
fn the_pairs_wanted_find_the_difference_in_about_four_trials_of_five() {
    let mut draw = Draw::new(5);
    for effect in [0.8, 1.0, 1.2] {
        // Differences of two swims scatter by 1; a long run of them tells the number wanted.
        let long: Vec<f64> = (0..4000).map(|_| effect + normal(&mut draw)).collect();
        let wanted = pairs_wanted(&long, 1).expect("within reach");
        let found = (0..1000).filter(|_| {
            let differences: Vec<_> = (0..wanted)
                .map(|_| Some(effect + normal(&mut draw)))
                .collect();
            sign_flip(&[differences]).alone[0] <= LEVEL
        });
        let share = found.count() as f64 / 1000.0;
        assert!(
            (0.74..=0.88).contains(&share),
            "effect {effect}: {wanted} pairs, {share}"
        );
    }
}

#[test]
fn what_no_number_of_pairs_would_find_has_none() {
    assert_eq!(pairs_wanted(&[1.0, -1.0, 1.0, -1.0], 1), None);
    assert_eq!(pairs_wanted(&[0.0; 8], 3), None);
    assert_eq!(pairs_wanted(&[1.0], 3), None);
    assert_eq!(pairs_wanted(&[1.0, 1.0], 3), Some(FEWEST_PAIRS));
    assert!(pairs_wanted(&[1.0, 0.2, 0.5, -0.3], 3) > pairs_wanted(&[1.0, 0.2, 0.5, -0.3], 1));
}

#[test]
fn twenty_pairs_are_counted_and_not_drawn() {
    let mut draw = Draw::new(9);
    let swims = swims(10, 9, |_, _| {
        [0, 1, 2].map(|_| Some(40.0 + normal(&mut draw)))
    });
    let reading = reading(&swims);
    assert!(reading.exact && reading.ways == 1 << 19);
}
