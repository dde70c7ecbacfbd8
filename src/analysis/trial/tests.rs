//! Orders, pairs and figures of trials.

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
        prop_assert_eq!(time.flips.map(|flips| flips.p), Some(1.0));
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
fn each_outcome_is_described_by_itself() {
    let swims = swims(3, 1, |at, pairing| {
        let faster = f64::from(u8::from(pairing == Pairing::OppositeSide));
        [
            Some(40.0 - faster - 0.01 * at as f64),
            None,
            Some(5.0 + faster),
        ]
    });
    let reading = reading(&swims);
    let [time, strokes, effort] = &reading.outcomes;
    assert_eq!(time.flips.map(|flips| flips.p), Some(2.0 / 64.0));
    assert!(time.middle.is_some_and(|middle| middle.interval.is_some()));
    assert_eq!(
        (strokes.middle, strokes.mean, strokes.flips),
        (None, None, None)
    );
    assert_eq!(effort.mean, Some(-1.0));
    assert_eq!(reading.felt_harder(Pairing::OppositeSide), Some(1.0));
    assert_eq!(reading.felt_harder(Pairing::SameSide), Some(-1.0));
    assert!(reading.exact());
}

#[test]
fn time_differs_by_per_cent_of_the_time() {
    let swims = swims(1, 1, |_, pairing| match pairing {
        Pairing::SameSide => [Some(60.0), None, None],
        Pairing::OppositeSide => [Some(50.0), None, None],
    });
    // By hand: 100 ln 1.2.
    let percent = pairs(&swims).pairs[0].time_percent().expect("both timed");
    assert!((percent - 18.232_155_679_4).abs() < 1e-9, "{percent}");
}

#[test]
fn cued_is_not_kicked() {
    for (kept_same, kept_opposite, confirmed) in [
        (8, 8, true),
        (5, 5, true),
        (4, 8, false),
        (8, 4, false),
        (0, 0, false),
    ] {
        let mut swims = swims(4, 3, |_, _| [Some(40.0), None, None]);
        let mut left: [usize; 2] = [kept_same, kept_opposite];
        for swim in &mut swims {
            let left = &mut left[usize::from(swim.pairing == Some(Pairing::OppositeSide))];
            swim.kept = *left > 0;
            *left = left.saturating_sub(1);
        }
        let reading = reading(&swims);
        assert_eq!(reading.confirmed, confirmed, "{kept_same} {kept_opposite}");
    }
}
