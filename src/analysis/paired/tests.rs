//! Exact tests against published figures, other computations, and drawn differences.

use super::*;
use proptest::prelude::*;

/// The differences of docs/sources.md, "Paired trials and trends".
const PUBLISHED: [f64; 8] = [0.012, 0.034, -0.006, 0.021, 0.018, 0.009, 0.027, -0.002];

#[test]
fn the_published_differences_give_the_published_figures() {
    // docs/sources.md, "Paired trials and trends": computed with scipy 1.17.1.
    let flips = sign_flip(&PUBLISHED);
    assert_eq!(flips.p, 8.0 / 256.0);
    assert_eq!((flips.ways, flips.exact), (128, true));
    let middle = hodges_lehmann(&PUBLISHED).expect("differences");
    assert_eq!(middle.value, 0.0145);
    let rank = signed_rank(&PUBLISHED).expect("differences");
    assert_eq!((rank.w, rank.p), (3.0, 0.039_062_5));
}

#[test]
fn with_n_pairs_the_smallest_p_is_2_in_2_to_the_n() {
    // docs/sources.md, "Paired trials and trends": arithmetic.
    for n in 1..=EXACT_PAIRS {
        let differences: Vec<f64> = (1..=n).map(|d| d as f64).collect();
        let smallest = 2.0 / 2f64.powi(n as i32);
        assert_eq!(sign_flip(&differences).p, smallest, "{n}");
        assert_eq!(signed_rank(&differences).expect("some").p, smallest, "{n}");
        assert_eq!(smallest <= 0.05, n >= 6);
        let interval = hodges_lehmann(&differences).expect("some").interval;
        assert_eq!(interval.is_some(), n >= 6, "{n}");
    }
}

#[test]
fn nothing_to_compare_gives_no_estimate() {
    assert_eq!(hodges_lehmann(&[]), None);
    assert_eq!(signed_rank(&[0.0, 0.0]), None);
    assert_eq!([sign_flip(&[]).p, sign_flip(&[0.0; 7]).p], [1.0, 1.0]);
    let one = hodges_lehmann(&[0.4]).expect("one");
    assert_eq!((one.value, one.interval), (0.4, None));
}

#[test]
fn decimals_that_floats_cannot_hold_still_tie() {
    // 0.3 - 0.1 - 0.2 is not 0 in floats; here all eight ways tie in pairs.
    assert_eq!(sign_flip(&[0.1, 0.2, -0.3]).p, 1.0);
    let rank = signed_rank(&[0.1 + 0.2, -0.3, 0.5]).expect("some");
    assert_eq!(rank.w, 1.5);
}

#[test]
fn drawn_ways_agree_with_counted_ones() {
    let differences: Vec<f64> = (0..20).map(|n| f64::from(n * 7 % 11) - 3.6).collect();
    let counted = sign_flip(&differences);
    assert!(counted.exact);
    // A pair without any difference changes no P, and makes them 21.
    let drawn = sign_flip(&[&differences[..], &[0.0]].concat());
    assert!(!drawn.exact && drawn.ways == DRAWS + 1);
    let p = counted.p;
    let sd = (p * (1.0 - p) / DRAWS as f64).sqrt();
    assert!((drawn.p - p).abs() < 4.0 * sd, "{p} {}", drawn.p);
}

proptest! {
    #[test]
    fn every_way_is_counted_once(values in proptest::collection::vec(-9i64..=9, 1..9)) {
        // The same share by brute force: every mask, sums from scratch, whole numbers.
        let observed = values.iter().sum::<i64>().abs();
        let hits = (0..1u32 << values.len()).filter(|mask| {
            let signed = |(at, d): (usize, &i64)| if mask >> at & 1 == 1 { -d } else { *d };
            values.iter().enumerate().map(signed).sum::<i64>().abs() >= observed
        });
        let share = hits.count() as f64 / f64::from(1u32 << values.len());
        let differences: Vec<f64> = values.iter().map(|d| *d as f64).collect();
        prop_assert_eq!(share, sign_flip(&differences).p);
    }

    #[test]
    fn the_interval_is_the_signed_rank_test_turned_round(
        differences in proptest::collection::vec(-1000i32..1000, 6..14)
    ) {
        // Without ties or nothings, the test rejects exactly where the interval leaves out 0.
        let mut sizes: Vec<i32> = differences.iter().map(|d| d.abs()).collect();
        sizes.sort_unstable();
        prop_assume!(sizes[0] > 0 && sizes.windows(2).all(|two| two[0] != two[1]));
        let differences: Vec<f64> = differences.iter().map(|d| f64::from(*d)).collect();
        let rejected = signed_rank(&differences).expect("some").p <= 0.05;
        let (lo, hi) = hodges_lehmann(&differences).expect("some").interval.expect("six");
        prop_assert_eq!(rejected, lo > 0.0 || hi < 0.0);
    }
}
