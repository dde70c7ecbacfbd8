//! The rate of somebody who taps at a hand's entries.
//!
//! In: times of taps, in order. Out: the rate with its uncertainty, and which taps were doubles
//! or missing: a double is set aside, a missing tap is counted over, none is invented.
//!
//! How the rate is read from what counts, and how sure it is: `tapped_period`.

use super::Estimate;
use super::stats::median;
use super::tapped_period::{Run, period};
use crate::model::value::Word;

/// What is tapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Each {
    /// Every entry of one arm: a tap a cycle.
    Cycle,
    /// Every entry of either arm: a tap a stroke.
    Stroke,
}

impl Each {
    /// Strokes from one tap to the next.
    pub fn strokes(self) -> f64 {
        match self {
            Self::Cycle => 2.0,
            Self::Stroke => 1.0,
        }
    }
}

impl Word for Each {
    const ALL: &'static [Self] = &[Self::Cycle, Self::Stroke];

    fn word(self) -> &'static str {
        match self {
            Self::Cycle => "cycle",
            Self::Stroke => "stroke",
        }
    }
}

/// What taps say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Taps {
    /// strokes/min; none before the fourth tap that counts, or where nothing is regular.
    pub rate_spm: Option<Estimate>,
    /// Taps that were set aside: too soon after the one before. Numbered from 1.
    pub doubles: Vec<usize>,
    /// Taps that were left out: after which tap (from 1), and how many.
    pub gaps: Vec<(usize, usize)>,
    /// Pauses of no whole number of taps: after which tap, from 1.
    pub pauses: Vec<usize>,
}

impl Taps {
    /// Whether tapping on would tell little more: the rate is known to [`ENOUGH_SPM`], by
    /// [`ENOUGH_TAPS`] or more.
    pub fn enough(&self) -> bool {
        self.rate_spm.is_some_and(|rate| {
            let narrow = |(lo, hi): (f64, f64)| hi - lo <= 2.0 * ENOUGH_SPM;
            rate.n >= ENOUGH_TAPS && rate.interval.is_some_and(narrow)
        })
    }
}

/// A rate known to this is known well enough, strokes/min: half of the smallest step that a
/// session usually takes (common practice, no source).
pub const ENOUGH_SPM: f64 = 1.0;

/// Fewer taps are never enough: who stops as soon as the interval is narrow would stop where a few
/// taps agree by chance. By simulation the interval then holds the truth in 93 to 99 of 100, and
/// without this in 90 to 96 (a finger of 30 ms, periods that wander by 2 to 4 %).
pub const ENOUGH_TAPS: usize = 8;

/// Taps that count before there is a rate.
pub const FEWEST: usize = 4;

/// Nobody strokes faster, seconds a stroke: 60 / 160 less a fifth for the finger.
const SHORTEST_STROKE_S: f64 = 0.3;
/// An interval this part of the usual one is a double.
const DOUBLE: f64 = 0.5;
/// More than so many periods without a tap, and nobody knows how many entries there were.
const LONGEST_GAP: f64 = 5.0;
/// How far from a whole number of periods an interval may be, in periods.
const GAP_TOLERANCE: f64 = 0.3;

/// Reads taps; `times_s` increase or stay, in seconds.
pub fn read_taps(times_s: &[f64], each: Each) -> Taps {
    let mut taps = Taps::default();
    let Some(usual) = usual_interval(times_s, each) else {
        return taps;
    };
    let runs = runs(times_s, usual, &mut taps);
    let period = period(&runs).filter(|period| period.n >= FEWEST);
    taps.rate_spm = period.map(|period| period.map(|s| 60.0 * each.strokes() / s));
    taps
}

/// The median of the intervals that can be a stroke at all.
fn usual_interval(times_s: &[f64], each: Each) -> Option<f64> {
    let shortest = SHORTEST_STROKE_S * each.strokes();
    let mut last = *times_s.first()?;
    let mut intervals = Vec::with_capacity(times_s.len());
    for &time in &times_s[1..] {
        if time - last >= shortest {
            intervals.push(time - last);
            last = time;
        }
    }
    median(&intervals)
}

fn runs(times_s: &[f64], usual: f64, taps: &mut Taps) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut run: Run = vec![(0.0, times_s[0])];
    let mut last_number = 1;
    for (index, &time) in times_s.iter().enumerate().skip(1) {
        let (entry, before) = run[run.len() - 1];
        let periods = (time - before) / usual;
        let whole = periods.round().max(1.0);
        if periods < DOUBLE {
            taps.doubles.push(index + 1);
            continue;
        }
        if whole > 1.0 && (whole > LONGEST_GAP || (periods - whole).abs() > GAP_TOLERANCE) {
            taps.pauses.push(last_number);
            runs.push(std::mem::replace(&mut run, vec![(0.0, time)]));
        } else {
            if whole > 1.0 {
                taps.gaps.push((last_number, whole as usize - 1));
            }
            run.push((entry + whole, time));
        }
        last_number = index + 1;
    }
    runs.push(run);
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(n: usize, period: f64) -> Vec<f64> {
        (0..n).map(|i| 3.0 + period * i as f64).collect()
    }

    fn rate(times: &[f64], each: Each) -> Estimate {
        read_taps(times, each).rate_spm.expect("taps enough")
    }

    #[test]
    fn one_arm_and_both_arms_differ_by_two() {
        // 2.4 s a cycle: 25 cycles/min, 50 strokes/min.
        assert!((rate(&even(6, 2.4), Each::Cycle).value - 50.0).abs() < 1e-9);
        assert!((rate(&even(6, 1.2), Each::Stroke).value - 50.0).abs() < 1e-9);
    }

    #[test]
    fn there_is_no_rate_before_the_fourth_tap() {
        for n in 0..FEWEST {
            assert_eq!(read_taps(&even(n, 1.2), Each::Stroke).rate_spm, None);
        }
        assert!(rate(&even(FEWEST, 1.2), Each::Stroke).interval.is_some());
        assert_eq!(
            read_taps(&[5.0; 9], Each::Stroke).rate_spm,
            None,
            "all at one time"
        );
    }

    #[test]
    fn a_double_is_set_aside_and_a_missing_tap_counted_over() {
        let mut times = even(14, 1.2);
        times.remove(9);
        times.remove(8);
        times.insert(4, times[3] + 0.15);
        let taps = read_taps(&times, Each::Stroke);
        assert_eq!(taps.doubles, [5]);
        assert_eq!(taps.gaps, [(9, 2)]);
        assert_eq!(taps.pauses, [] as [usize; 0]);
        assert!((taps.rate_spm.expect("twelve taps").value - 50.0).abs() < 1e-9);
    }

    #[test]
    fn a_pause_parts_two_runs_of_one_rate() {
        let mut times = even(8, 1.2);
        times.extend(even(8, 1.2).iter().map(|time| time + 30.7));
        let taps = read_taps(&times, Each::Stroke);
        assert_eq!(taps.pauses, [8]);
        assert!((taps.rate_spm.expect("sixteen taps").value - 50.0).abs() < 1e-9);
    }

    /// A normal deviate, from twelve uniform ones.
    fn normal(rng: &mut fastrand::Rng) -> f64 {
        (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0
    }

    /// Taps of a swimmer: s from entry to entry, the share by which that wanders, and the finger's
    /// scatter in s.
    fn tapped(n: usize, of: (f64, f64, f64), rng: &mut fastrand::Rng) -> Vec<f64> {
        let (period, wander, finger) = of;
        let mut entry = 0.0;
        (0..n)
            .map(|_| {
                entry += period * (1.0 + wander * normal(rng));
                entry + finger * normal(rng)
            })
            .collect()
    }

    #[test]
    fn the_interval_holds_the_truth_in_95_of_100() {
        let mut rng = fastrand::Rng::with_seed(6);
        let mut shares = Vec::new();
        for (period, wander, finger) in [
            (1.1, 0.02, 0.03),
            (1.1, 0.04, 0.03),
            (2.2, 0.02, 0.03),
            (2.2, 0.04, 0.03),
        ] {
            for n in [4, 10, 24] {
                const SWIMMERS: usize = 500;
                let covered = (0..SWIMMERS)
                    .filter(|_| {
                        let times = tapped(n, (period, wander, finger), &mut rng);
                        let interval = rate(&times, Each::Stroke).interval;
                        // A width without bound (four wild taps) leaves no interval, and claims none.
                        interval.is_none_or(|(lo, hi)| (lo..=hi).contains(&(60.0 / period)))
                    })
                    .count();
                let share = covered as f64 / SWIMMERS as f64;
                // The sampling error of 95 % is one percent.
                assert!(
                    share >= 0.91,
                    "{share} at {period}, {wander}, {finger}, {n} taps"
                );
                shares.push(share);
            }
        }
        let mean = shares.iter().sum::<f64>() / shares.len() as f64;
        assert!((0.94..=0.97).contains(&mean), "{mean}: {shares:?}");
    }

    #[test]
    fn enough_comes_with_more_taps_and_never_by_a_few_that_agree() {
        let mut rng = fastrand::Rng::with_seed(7);
        let times = tapped(40, (1.1, 0.0, 0.03), &mut rng);
        assert!(!read_taps(&times[..9], Each::Stroke).enough());
        assert!(read_taps(&times, Each::Stroke).enough());
        let agreeing = |n| read_taps(&even(n, 1.1), Each::Stroke).enough();
        assert!(!agreeing(ENOUGH_TAPS - 1) && agreeing(ENOUGH_TAPS));
    }

    #[test]
    fn who_stops_at_enough_has_an_interval_that_holds() {
        let mut rng = fastrand::Rng::with_seed(8);
        let (mut all, mut held) = (0, 0);
        for (period, wander) in [(1.1, 0.02), (1.1, 0.04), (2.2, 0.02), (2.2, 0.04)] {
            for _ in 0..100 {
                let times = tapped(70, (period, wander, 0.03), &mut rng);
                let stopped = (ENOUGH_TAPS..=times.len())
                    .map(|n| read_taps(&times[..n], Each::Stroke))
                    .find(Taps::enough);
                let rate = stopped
                    .and_then(|taps| taps.rate_spm)
                    .expect("enough by 70");
                let (lo, hi) = rate.interval.expect("narrow");
                all += 1;
                held += usize::from((lo..=hi).contains(&(60.0 / period)));
            }
        }
        // The sampling error of 95 % of 400 is 1.1 percent.
        let share = held as f64 / f64::from(all);
        assert!((0.92..=0.985).contains(&share), "{share}");
    }
}
