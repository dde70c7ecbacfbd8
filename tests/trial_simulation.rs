//! Trials of invented swimmers whose truth is known: how often a pairing is called faster, no
//! difference is called worth having, and nothing is told.
//!
//! The figures of each row are of a simulation by numpy with laws like these, 4000 trials a row,
//! which draws 1024 ways to set the signs where the program counts all, or draws 100 000. Noise is
//! normal but where a row says other; times are held by hand and read to a tenth.

use cuelane::analysis::paired::hodges_lehmann;
use cuelane::analysis::stats::median;
use cuelane::analysis::trial::order;
use cuelane::analysis::trial_verdict::{TrialVerdict, call, decide_by_time};
use cuelane::model::kick::Pairing;
use cuelane::model::trial_looks::TrialLooks;
use cuelane::units::{Fix, decimal, exact, to_f64};
use fastrand::Rng;

/// How a swimmer swims the two pairings.
#[derive(Debug, Clone, Copy)]
struct Laws {
    /// By how much the same-side pairing is faster, as a share.
    faster: f64,
    /// Standard deviation of a swim's time, as a share.
    scatter: f64,
    /// How much of one swim's error the next one keeps.
    keeps: f64,
    /// How much slower the last swim of a day is.
    tires: f64,
    /// How much slower the first one is.
    cold: f64,
    /// The share of times that are wild.
    wild: f64,
    /// What of the effect stays in the first swim after a change.
    carries: f64,
    /// Heavy tails: Student's t with three degrees of freedom.
    heavy: bool,
}

const PLAIN: Laws = Laws {
    faster: 0.0,
    scatter: 0.01,
    keeps: 0.0,
    tires: 0.0,
    cold: 0.0,
    wild: 0.0,
    carries: 0.0,
    heavy: false,
};

/// Two draws of a normal distribution (Box & Muller 1958, from memory).
fn normal(rng: &mut Rng) -> f64 {
    (-2.0 * (1.0 - rng.f64()).ln()).sqrt() * (std::f64::consts::TAU * rng.f64()).cos()
}

fn error(laws: &Laws, rng: &mut Rng) -> f64 {
    let z = normal(rng);
    if !laws.heavy {
        return z;
    }
    // Variance three, so over its root.
    let squares: f64 = (0..3).map(|_| normal(rng).powi(2)).sum();
    z / (squares / 3.0).sqrt() / 3.0_f64.sqrt()
}

/// The differences of a trial of so many pairs, per cent: two blocks of four swims a day.
fn differences(laws: &Laws, pairs: usize, rng: &mut Rng) -> Vec<f64> {
    let swims: Vec<Pairing> = order(pairs / 2, rng.u64(..)).concat();
    let mut percent = Vec::new();
    for day in swims.chunks(8) {
        let form = 0.01 * normal(rng);
        let mut kept = laws.scatter * error(laws, rng);
        let times: Vec<f64> = (day.iter().enumerate())
            .map(|(at, pairing)| {
                if at > 0 {
                    let new = laws.scatter * (1.0 - laws.keeps * laws.keeps).sqrt();
                    kept = laws.keeps * kept + new * error(laws, rng);
                }
                let side = if *pairing == Pairing::SameSide {
                    -0.5
                } else {
                    0.5
                };
                let changed = at > 0 && day[at - 1] != *pairing;
                let stays = if changed { laws.carries } else { 0.0 };
                let place = at as f64;
                let share = laws.faster * side * (1.0 - 2.0 * stays)
                    + kept
                    + form
                    + laws.tires * place / 7.0
                    + laws.cold * (-place).exp();
                let mut time = 10.0 * (62.5 * (1.0 + share) + 0.1 * normal(rng));
                if rng.f64() < laws.wild {
                    time += [-100.0, 100.0, 600.0, -600.0][rng.usize(..4)];
                }
                time.round() / 10.0
            })
            .collect();
        for (two, pairing) in times.chunks(2).zip(day.iter().step_by(2)) {
            let first_over_second = 100.0 * (two[0] / two[1]).ln();
            percent.push(match pairing {
                Pairing::SameSide => first_over_second,
                Pairing::OppositeSide => -first_over_second,
            });
        }
    }
    percent
}

/// Every row of the numpy simulation. By how many per cent same-side is faster, a swim's scatter in
/// per cent, the most pairs, the margin in per cent | per cent of trials called, called no
/// difference, undecided | mean pairs that were swum, and the middle size in per cent where one was
/// called | what else is true of the swimmer, shares in per cent.
const ROWS: &str = "\
0.0 0.6  8 1.0 |   4.7 74.1 21.2 |  8.0    - |
0.0 0.6 20 1.0 |   2.9 97.0  0.1 | 11.8    - |
0.0 1.0  8 1.0 |   4.8 19.1 76.1 |  8.0    - |
0.0 1.0 20 1.0 |   4.8 74.5 20.7 | 17.0    - |
0.0 1.5  8 1.0 |   4.7  2.4 93.0 |  8.0    - |
0.0 1.5 20 1.0 |   5.8 22.6 71.7 | 19.3    - |
0.5 0.6  8 1.0 |  25.3 35.8 38.9 |  8.0 0.81 |
0.5 0.6 20 1.0 |  46.7 51.6  1.7 | 13.4 0.72 |
0.5 1.0  8 1.0 |  12.2 12.9 74.9 |  8.0 1.19 |
0.5 1.0 20 1.0 |  26.6 37.1 36.2 | 17.4 0.95 |
0.5 1.5  8 1.0 |   8.3  1.7 90.0 |  8.0 1.60 |
0.5 1.5 20 1.0 |  15.2 14.6 70.2 | 19.1 1.33 |
1.0 0.6  8 1.0 |  74.2  3.0 22.8 |  8.0 1.11 |
1.0 0.6 20 1.0 |  97.9  2.0  0.1 | 11.6 1.03 |
1.0 1.0  8 1.0 |  36.4  3.9 59.7 |  8.0 1.38 |
1.0 1.0 20 1.0 |  78.6  4.9 16.5 | 15.3 1.16 |
1.0 1.5  8 1.0 |  19.7  0.9 79.3 |  8.0 1.85 |
1.0 1.5 20 1.0 |  43.8  4.5 51.8 | 17.9 1.46 |
2.0 0.6  8 1.0 |  99.9  0.0  0.1 |  8.0 2.00 |
2.0 0.6 20 1.0 | 100.0  0.0  0.0 |  9.2 2.00 |
2.0 1.0  8 1.0 |  88.9  0.1 11.0 |  8.0 2.08 |
2.0 1.0 20 1.0 |  99.9  0.0  0.1 | 10.5 2.02 |
2.0 1.5  8 1.0 |  58.6  0.1 41.3 |  8.0 2.39 |
2.0 1.5 20 1.0 |  96.1  0.1  3.9 | 13.1 2.08 |
1.0 1.5 40 1.0 |  76.3  5.1 18.6 | 29.9 1.21 |
0.5 0.6 32 0.5 |  83.0  4.9 12.0 | 23.6 0.56 |
0.0 0.6 32 0.5 |   4.6 80.5 14.8 | 26.8    - |
0.0 1.0 20 1.0 |   4.0 94.0  2.1 | 13.9    - | keeps 0.6, tires 5, cold 2
0.0 1.0 20 1.0 |   4.1 37.2 58.7 | 18.7    - | wild 5
0.0 1.0 20 1.0 |   4.3 85.8  9.8 | 15.0    - | heavy
1.0 0.6 20 1.0 |  97.3  2.5  0.1 | 11.6 1.03 |
1.0 1.0 20 1.0 |  53.3  3.4 43.3 | 17.1 1.28 | wild 5
1.0 1.0 20 1.0 |  95.6  3.2  1.2 | 12.6 1.03 | keeps 0.6, tires 3
1.0 1.0 20 1.0 |  87.8  3.8  8.5 | 13.7 1.10 | heavy
2.0 1.0 20 1.0 |  97.4  0.4  2.2 | 12.7 1.48 | carries 0.25
1.0 1.0 20 1.0 |  48.2 18.5 33.3 | 16.9 1.04 | carries 0.25";

/// A row of the table.
#[derive(Debug)]
struct Told {
    line: &'static str,
    laws: Laws,
    most: usize,
    margin: Fix,
    shares: [f64; 3],
    pairs: f64,
    /// None where nothing differs: what is called then is of either sign.
    size_percent: Option<f64>,
}

fn rows() -> Vec<Told> {
    ROWS.lines().map(row).collect()
}

fn row(line: &'static str) -> Told {
    let parts: Vec<&str> = line.split('|').collect();
    let numbers = |part: usize| -> Vec<&str> { parts[part].split_whitespace().collect() };
    let number = |text: &str| text.parse::<f64>().expect(line);
    let (drawn, shares, found) = (numbers(0), numbers(1), numbers(2));
    let mut laws = Laws {
        faster: number(drawn[0]) / 100.0,
        scatter: number(drawn[1]) / 100.0,
        ..PLAIN
    };
    for law in parts[3].split(',').map(str::trim) {
        let (name, value) = law.split_once(' ').unwrap_or((law, ""));
        match name {
            "" => {}
            "keeps" => laws.keeps = number(value),
            "tires" => laws.tires = number(value) / 100.0,
            "cold" => laws.cold = number(value) / 100.0,
            "wild" => laws.wild = number(value) / 100.0,
            "carries" => laws.carries = number(value),
            "heavy" => laws.heavy = true,
            other => panic!("{other}: {line}"),
        }
    }
    Told {
        line,
        laws,
        most: drawn[2].parse().expect(line),
        margin: decimal(drawn[3]).expect(line),
        shares: [0, 1, 2].map(|at| number(shares[at])),
        pairs: number(found[0]),
        size_percent: found[1].parse().ok(),
    }
}

/// After the second day and each later one; of more than 24 pairs after every second day.
fn looks(most: usize, margin: Fix) -> TrialLooks {
    let step = if most > 24 { 8 } else { 4 };
    TrialLooks::new((8..=most).step_by(step).collect(), margin).expect("looks that rise")
}

/// What came of some trials.
#[derive(Debug)]
struct Found {
    /// Per cent called, called no difference, undecided.
    shares: [f64; 3],
    /// Per cent called the wrong way.
    wrong: f64,
    /// Mean pairs up to the look that told.
    pairs: f64,
    /// The middle size where a pairing was called, per cent.
    size_percent: f64,
    called: usize,
}

fn swim(row: &Told, trials: u32, seed: u64) -> Found {
    let mut rng = Rng::with_seed(seed);
    let looks = looks(row.most, row.margin);
    let (mut counts, mut wrong, mut pairs, mut sizes) = ([0u32; 3], 0, 0, Vec::new());
    for _ in 0..trials {
        let differences = differences(&row.laws, row.most, &mut rng);
        let (verdict, looked_at) = call(&differences, &looks);
        pairs += looked_at;
        match verdict {
            TrialVerdict::Faster { pairing, .. } => {
                counts[0] += 1;
                wrong += u32::from(pairing == Pairing::OppositeSide);
                sizes.extend(hodges_lehmann(&differences[..looked_at]).map(|size| -size.value));
            }
            TrialVerdict::NoDifference => counts[1] += 1,
            other => {
                assert_eq!(other, TrialVerdict::Undecided);
                counts[2] += 1;
            }
        }
    }
    let share = |count: u32| 100.0 * f64::from(count) / f64::from(trials);
    Found {
        shares: counts.map(share),
        wrong: share(wrong),
        pairs: pairs as f64 / f64::from(trials),
        size_percent: median(&sizes).unwrap_or_default(),
        called: sizes.len(),
    }
}

/// What two simulations of so many trials may differ by, where they agree.
struct Within {
    /// In shares, points.
    points: f64,
    /// In the mean pairs, later than numpy; and a pair earlier: of 1024 drawn ways the 256 of the
    /// first look come several times each, and a group that does not fit is not given up. With
    /// 16 384 ways numpy finds 8.5 where it has 9.2 here, and 11.4 where it has 11.8.
    pairs_later: f64,
    /// In the middle size: per cent, over the root of how many were called.
    size_percent: f64,
}

/// Checks a row against the numpy simulation, and false calls against one in twenty.
#[allow(clippy::print_stdout)] // the shares are its report
fn holds(row: &Told, trials: u32, within: &Within) {
    let found = swim(row, trials, 100 + row.most as u64);
    let told = format!("{}: {found:.2?}", row.line);
    println!("{told}");
    for (found, wanted) in found.shares.iter().zip(&row.shares) {
        assert!((found - wanted).abs() <= within.points, "{told}");
    }
    let later = found.pairs - row.pairs;
    assert!((-1.0..=within.pairs_later).contains(&later), "{told}");
    if let Some(wanted) = row.size_percent {
        let off = (found.size_percent - wanted).abs() * (found.called as f64).sqrt();
        assert!(off <= within.size_percent, "{told}");
    }
    let false_calls = if row.laws.faster == 0.0 {
        found.shares[0]
    } else {
        found.wrong
    };
    let most = most_false(trials);
    assert!(
        false_calls <= most,
        "{told}: {false_calls} % called falsely"
    );
    // A difference as large as the margin is called none at most once in twenty.
    if 100.0 * row.laws.faster >= to_f64(&row.margin) && row.laws.carries == 0.0 {
        assert!(
            found.shares[1] <= most,
            "{told}: {} % missed",
            found.shares[1]
        );
    }
}

/// One in twenty, and three standard deviations of so many trials, per cent.
fn most_false(trials: u32) -> f64 {
    5.0 + 300.0 * (0.05 * 0.95 / f64::from(trials)).sqrt()
}

#[test]
fn trials_call_as_often_as_a_second_simulation() {
    // Of 200 trials a share of a half is off by 3.5 points, the mean of 8 to 20 pairs by 0.4, and
    // the middle of sizes that scatter by 0.6 % by 0.75 % over the root; three times that.
    let within = Within {
        points: 10.0,
        pairs_later: 1.2,
        size_percent: 2.3,
    };
    let usual = |row: &&Told| row.laws.scatter == 0.01 && row.most == 20;
    for row in rows().iter().filter(usual).step_by(3) {
        holds(row, 200, &within);
    }
}

/// Works on the rows on every core.
fn on_every_core<T: Sync>(rows: &[T], work: impl Fn(&T) + Sync) {
    let next = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|threads| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            threads.spawn(|| {
                while let Some(row) =
                    rows.get(next.fetch_add(1, std::sync::atomic::Ordering::Relaxed))
                {
                    work(row);
                }
            });
        }
    });
}

#[test]
#[ignore = "long: make soak"]
fn soak_trials_call_as_often_as_a_second_simulation() {
    let rows = rows();
    assert_eq!(rows.len(), 36, "every row");
    // A share of a half differs between the two by 1.1 points, the mean of 8 to 40 pairs by 0.1, the
    // middle of sizes that scatter by 0.6 % by 1.06 % over the root; three times that and more.
    let within = Within {
        points: 4.0,
        pairs_later: 0.4,
        size_percent: 3.2,
    };
    on_every_core(&rows, |row| holds(row, 4000, &within));
}

/// The row that calls falsely most often, with eight more seeds: numpy found 4.8 % called in all,
/// 3.9 to 5.2 % by seed.
#[test]
#[ignore = "long: make soak"]
#[allow(clippy::print_stdout)] // the shares are its report
fn soak_nothing_is_called_too_often_whatever_the_seed() {
    const TRIALS: u32 = 4000;
    let row = row("0.0 1.5 20 1.0 | 5.8 22.6 71.7 | 19.3 - |");
    let seeds: Vec<u64> = (1..=8).collect();
    let called = std::sync::Mutex::new(Vec::new());
    on_every_core(&seeds, |seed| {
        let found = swim(&row, TRIALS, *seed).shares[0];
        called.lock().expect("no thread panics").push(found);
    });
    let called = called.into_inner().expect("no thread panics");
    println!("{called:.1?} % called of nothing");
    for share in &called {
        assert!(*share <= most_false(TRIALS), "{called:?}");
    }
    let mean = called.iter().sum::<f64>() / called.len() as f64;
    // Never more than one in twenty; and not so few that the test would be of no use.
    assert!(mean <= most_false(8 * TRIALS) && mean >= 4.0, "{mean}");
}

/// The interval holds the truth in 95 of 100 trials, also where a trial ended early.
#[test]
#[ignore = "long: make soak"]
fn soak_the_interval_holds_the_truth_whenever_it_is_read() {
    const TRIALS: u32 = 1000;
    let mut rng = Rng::with_seed(11);
    let laws = Laws {
        faster: 0.01,
        ..PLAIN
    };
    // The times' ratio of a share of 1 %, by its logarithm.
    let truth = 100.0 * (0.995_f64 / 1.005).ln();
    let (mut held, mut open) = (0, 0);
    for _ in 0..TRIALS {
        let found = decide_by_time(&differences(&laws, 20, &mut rng), &looks(20, exact(1)));
        match found.interval_percent {
            Some((lo, hi)) => held += u32::from((lo..=hi).contains(&truth)),
            None => open += 1,
        }
    }
    assert!(open <= TRIALS / 100, "{open} without an interval");
    let share = f64::from(held) / f64::from(TRIALS - open);
    assert!(
        share >= 0.95 - 3.0 * (0.05_f64 * 0.95 / f64::from(TRIALS)).sqrt(),
        "{share}"
    );
    assert!(
        share <= 0.995,
        "{share}: an interval of everything holds everything"
    );
}
