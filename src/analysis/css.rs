//! Critical speed: the slope of distance on time over all-out swims.
//!
//! D = a + b T (Wakayoshi et al. 1992, read in the abstract). How far a swim lies off the line grows
//! with its time, so each counts by 1 / T² (weighted least squares; a share of the time rather than
//! seconds is common practice, no source). The slope b repeats well from test to test; the
//! intercept a does not, and is only reported as unreliable.

use super::Estimate;
use super::stats::weighted_line;
use crate::error::{Error, Result};
use crate::units::{Length, Time, to_f64};

/// One all-out swim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AllOutSwim {
    /// Distance.
    pub distance: Length,
    /// Time.
    pub time: Time,
}

/// Critical speed from two swims or more.
#[derive(Debug, Clone, PartialEq)]
pub struct CriticalSpeed {
    /// b, m/s.
    pub speed_m_s: Estimate,
    /// a, m: unreliable.
    pub intercept_m: Estimate,
    /// What about the swims makes the result doubtful, as sentences.
    pub doubts: Vec<String>,
}

/// Nobody has swum a distance, m, in less than so many seconds: a little below the best times of
/// short courses (from memory; a loose band). Between two distances the shorter one's speed
/// counts, and below the first its own.
const FASTEST: [(f64, f64); 6] = [
    (50.0, 19.5),
    (100.0, 44.0),
    (200.0, 97.0),
    (400.0, 210.0),
    (800.0, 435.0),
    (1500.0, 835.0),
];
/// Slower than drifting, m/s: a slip of the unit.
const SLOWEST_M_S: f64 = 0.1;

/// Fits the line.
///
/// # Errors
/// Fewer than two distances, or times that no swimmer swims; the message says which and why.
pub fn critical_speed(swims: &[AllOutSwim]) -> Result<CriticalSpeed> {
    let mut sorted: Vec<&AllOutSwim> = swims.iter().collect();
    sorted.sort_by(|a, b| a.distance.metres().cmp(b.distance.metres()));
    for (index, short) in sorted.iter().enumerate() {
        let longer = sorted[index + 1..]
            .iter()
            .filter(|long| long.distance != short.distance);
        for long in longer {
            check_pair(short, long)?;
        }
    }
    for swim in swims {
        check_alone(swim)?;
    }
    let points: Vec<(f64, f64)> = (swims.iter())
        .map(|swim| (to_f64(swim.time.s()), to_f64(swim.distance.metres())))
        .collect();
    let distances = sorted
        .windows(2)
        .filter(|pair| pair[0].distance != pair[1].distance)
        .count();
    let fit = weighted_line(&points, |time_s| 1.0 / (time_s * time_s));
    let fit = fit.filter(|_| distances > 0).ok_or_else(|| {
        Error::input("critical speed needs all-out swims over two different distances")
            .accepted("two or more, as DISTANCE=TIME; from three on there is an interval")
            .example("cuelane css 200m=2:50 400m=5:56")
    })?;
    Ok(CriticalSpeed {
        speed_m_s: fit.slope,
        intercept_m: fit.intercept,
        doubts: doubts(&sorted, &fit.intercept),
    })
}

fn check_alone(swim: &AllOutSwim) -> Result<()> {
    let speed = to_f64(&(swim.distance.metres() / swim.time.s()));
    let why = match speed {
        _ if speed > fastest_m_s(to_f64(swim.distance.metres())) => {
            "faster than anybody has swum that far"
        }
        _ if speed < SLOWEST_M_S => "slower than drifting",
        _ => return Ok(()),
    };
    Err(Error::input(format!(
        "found {} in {}, {speed:.2} m/s: {why}",
        swim.distance, swim.time
    ))
    .accepted("times of all-out swims")
    .example("cuelane css 200m=2:50 400m=5:56"))
}

/// The speed that nobody has kept over a distance.
fn fastest_m_s(distance_m: f64) -> f64 {
    let (metres, seconds) = (FASTEST.into_iter().rev())
        .find(|(metres, _)| *metres <= distance_m)
        .unwrap_or(FASTEST[0]);
    metres / seconds
}

/// The longer swim takes longer, and is swum no faster after the shorter distance than over it.
fn check_pair(short: &AllOutSwim, long: &AllOutSwim) -> Result<()> {
    let more_m = to_f64(&(long.distance.metres() - short.distance.metres()));
    let more_s = to_f64(&(long.time.s() - short.time.s()));
    let why = match more_s {
        _ if more_s <= 0.0 => "the longer swim takes no longer".to_string(),
        _ if more_m / more_s > fastest_m_s(more_m) => format!(
            "the further {more_m:.0} m would take {more_s:.1} s, faster than anybody has swum"
        ),
        _ => return Ok(()),
    };
    Err(Error::input(format!(
        "found {} in {} and {} in {}: {why}",
        short.distance, short.time, long.distance, long.time
    ))
    .accepted("times of all-out swims by one swimmer in one spell of training")
    .example("cuelane css 200m=2:50 400m=5:56"))
}

fn doubts(sorted: &[&AllOutSwim], intercept: &Estimate) -> Vec<String> {
    let mut doubts = Vec::new();
    if intercept.value < 0.0 {
        doubts.push(
            "the longer swim was the faster one, so the shorter was hardly all-out: \
             the speed found is too high"
                .into(),
        );
    }
    let ends = sorted.first().zip(sorted.last());
    if let Some((short, long)) = ends {
        // Below about two minutes and beyond about half an hour the line bends (from memory).
        if to_f64(short.time.s()) < 60.0 {
            doubts.push(format!(
                "{} in {} is a sprint; swims of two minutes and more tell more",
                short.distance, short.time
            ));
        }
        if to_f64(long.distance.metres()) < 1.5 * to_f64(short.distance.metres()) {
            doubts.push("the distances lie close together, so a second more or less counts much; take 200 m and 400 m".into());
        }
    }
    doubts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Quantity;

    fn swims(words: &[&str]) -> Vec<AllOutSwim> {
        let swim = |word: &&str| {
            let (distance, time) = word.split_once('=').expect("DISTANCE=TIME");
            AllOutSwim {
                distance: Length::parse(distance).expect(distance),
                time: Time::parse(time).expect(time),
            }
        };
        words.iter().map(swim).collect()
    }

    #[test]
    fn two_distances_give_the_published_arithmetic() {
        // Arithmetic: 200 m in 2:50, 400 m in 5:56 give 200/186 m/s, 1:33.0 / 100 m.
        let found = critical_speed(&swims(&["200 m=2:50", "400 m=5:56"])).expect("possible times");
        assert!((found.speed_m_s.value - 200.0 / 186.0).abs() < 1e-12);
        assert!((100.0 / found.speed_m_s.value - 93.0).abs() < 1e-9);
        assert_eq!(found.speed_m_s.interval, None);
        assert!((found.intercept_m.value - (200.0 - 170.0 * 200.0 / 186.0)).abs() < 1e-9);
        assert_eq!(found.doubts, Vec::<String>::new());
    }

    #[test]
    fn three_distances_give_an_interval() {
        let found =
            critical_speed(&swims(&["100 m=1:20", "200 m=2:50", "400 m=5:56"])).expect("possible");
        let (lo, hi) = found.speed_m_s.interval.expect("three swims");
        assert!(lo < found.speed_m_s.value && found.speed_m_s.value < hi);
    }

    #[test]
    fn impossible_times_are_refused_with_the_reason() {
        for (words, reason) in [
            (&["200 m=5:56", "400 m=2:50"][..], "takes no longer"),
            (&["200 m=2:50", "400 m=2:50"], "takes no longer"),
            (&["200 m=2:50", "400 m=4:00"], "would take 70.0 s"),
            (&["50 m=10 s", "400 m=5:56"], "faster than anybody"),
            (&["50 m=50 min", "400 m=59:00"], "slower than drifting"),
            (&["200 m=2:50"], "two different distances"),
            (&["200 m=2:50", "200 m=2:51"], "two different distances"),
            (&[], "two different distances"),
        ] {
            let error = critical_speed(&swims(words)).expect_err(reason).to_string();
            assert!(error.contains(reason), "{words:?}: {error}");
        }
    }

    #[test]
    fn a_longer_swim_that_is_faster_is_doubted() {
        let found = critical_speed(&swims(&["200 m=3:10", "400 m=5:56"])).expect("possible times");
        assert!(
            found.doubts[0].contains("hardly all-out"),
            "{:?}",
            found.doubts
        );
    }

    #[test]
    fn the_interval_holds_the_truth_where_errors_grow_with_the_time() {
        let mut rng = fastrand::Rng::with_seed(11);
        let mut normal = || (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0;
        // 1.1 m/s and 18 m, times that scatter by 1 %.
        let mut covered = [0, 0];
        let tests = 2000;
        for _ in 0..tests {
            let points: Vec<(f64, f64)> = [100.0, 200.0, 400.0, 800.0, 1500.0]
                .map(|m: f64| ((m - 18.0) / 1.1 * (1.0 + 0.01 * normal()), m))
                .to_vec();
            let plain = super::super::stats::line(&points).expect("five distances");
            let weighted = weighted_line(&points, |s| 1.0 / (s * s)).expect("five distances");
            for (count, fit) in covered.iter_mut().zip([plain, weighted]) {
                let (lo, hi) = fit.slope.interval.expect("five swims");
                *count += i32::from((lo..=hi).contains(&1.1));
            }
        }
        // The sampling error of 95 % is half a percent; equal weights claim too much.
        assert!((1870..=1930).contains(&covered[1]), "{covered:?}");
        assert!(covered[0] < 1850, "{covered:?}");
    }
}
