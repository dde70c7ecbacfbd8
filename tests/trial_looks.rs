//! Looks at trials held against a second program, `trial_looks.py`, which lists every way to set
//! the signs; and that no trial calls falsely more often than it may.

use std::collections::BTreeMap;

use cuelane::analysis::sequential::{Tails, given_up_at, spent};
use fastrand::Rng;
use serde_json::{Value, json};

/// Sizes of differences: drawn, tied, equal, with nothings, with wild ones. Multiples of eight, so
/// that no median and no cap need be rounded.
fn sizes(kind: usize, count: usize, rng: &mut Rng) -> Vec<i64> {
    let drawn = |rng: &mut Rng| 8 * rng.i64(1..200);
    (0..count)
        .map(|at| match kind {
            0 => drawn(rng),
            1 => 8 * rng.i64(1..4),
            2 => 80,
            3 if at % 3 == 0 => 0,
            4 if rng.f64() < 0.15 => 16_000,
            _ => drawn(rng),
        })
        .collect()
}

fn turned(sizes: &[i64], bits: usize) -> Vec<i64> {
    let signed = |(at, size): (usize, &i64)| if bits >> at & 1 == 1 { -size } else { *size };
    sizes.iter().enumerate().map(signed).collect()
}

fn second_program(cases: &[Value]) -> Vec<Vec<usize>> {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("cases.json");
    std::fs::write(&file, json!(cases).to_string()).expect("the folder is ours");
    let file = file.to_str().expect("temporary folders have plain names");
    let told = crate::support::python_script("trial_looks.py", &[file]);
    serde_json::from_str(&told).expect("JSON")
}

#[test]
fn every_way_to_set_the_signs_is_given_up_where_a_second_program_gives_it_up() {
    let mut rng = Rng::with_seed(7);
    let all_looks: [&[usize]; 9] = [
        &[8],
        &[8, 12],
        &[4, 8, 12],
        &[6, 9, 12],
        &[10],
        &[5, 10],
        &[12],
        &[6, 12],
        &[4, 8],
    ];
    let mut cases = Vec::new();
    for looks in all_looks {
        for kind in 0..5 {
            let sizes = sizes(kind, looks[looks.len() - 1], &mut rng);
            for both in [true, false] {
                cases.push((sizes.clone(), looks, both));
            }
        }
    }
    let told = (cases.iter())
        .map(|(sizes, looks, both)| json!({ "sizes": sizes, "looks": looks, "both": both }));
    let answers = second_program(&told.collect::<Vec<_>>());
    let mut largest = 0.0_f64;
    for ((sizes, looks, both), wanted) in cases.iter().zip(&answers) {
        let tails = if *both { Tails::Both } else { Tails::Upper };
        let found: Vec<usize> = (0..1 << sizes.len())
            .map(|bits| given_up_at(&turned(sizes, bits), looks, tails).unwrap_or(0))
            .collect();
        assert_eq!(&found, wanted, "{sizes:?} {looks:?} both tails: {both}");
        // If nothing differs every way is as likely as any other: this share is the exact error.
        for look in *looks {
            let gone = found.iter().filter(|at| (1..=*look).contains(*at)).count();
            let share = gone as f64 / found.len() as f64;
            let most = spent(*look, sizes.len());
            assert!(
                share <= most + 1e-12,
                "{looks:?} after {look}: {share}, may be {most}"
            );
            largest = largest.max(share);
        }
    }
    // A test that gives nothing up would pass the bound: the largest error is close to its level.
    assert!((0.045..=0.05).contains(&largest), "{largest}");
}

#[test]
fn twenty_pairs_are_given_up_where_a_second_program_gives_them_up() {
    let mut rng = Rng::with_seed(8);
    let mut cases = Vec::new();
    for looks in [&[8, 12, 16, 20][..], &[20], &[6, 18, 20], &[4, 8, 12, 16]] {
        for lean in [0.65, 0.8, 0.9] {
            let sizes = sizes(cases.len() % 5, looks[looks.len() - 1], &mut rng);
            let differences: Vec<i64> = (sizes.iter())
                .map(|size| if rng.f64() < lean { *size } else { -size })
                .collect();
            cases.push((differences, looks, cases.len() % 2 == 0));
        }
    }
    let told = (cases.iter())
        .map(|(values, looks, both)| json!({ "sizes": values, "looks": looks, "both": both }));
    let answers = second_program(&told.collect::<Vec<_>>());
    let mut seen = BTreeMap::new();
    for ((differences, looks, both), wanted) in cases.iter().zip(answers) {
        let tails = if *both { Tails::Both } else { Tails::Upper };
        let found = given_up_at(differences, looks, tails).unwrap_or(0);
        assert_eq!(
            vec![found],
            wanted,
            "{differences:?} {looks:?} both tails: {both}"
        );
        *seen.entry(found).or_insert(0) += 1;
    }
    assert!(seen.len() >= 4 && seen.contains_key(&0), "{seen:?}");
}
