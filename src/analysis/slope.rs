//! Cycle time from entries: a robust slope, and an interval that knows two sources of error.
//!
//! A mark errs by itself (the frame, the eye, the hand); a stroke also wanders, and a wander
//! stays in every later entry. Which of the two made the scatter decides how sure the rate is:
//! by a factor of ten over thirty cycles. The marks cannot tell exactly, so the interval is
//! taken over all shares of wander, each weighted by how well it explains the marks.

use libm::{exp, log, sqrt};

use super::student::cdf;
use super::{Estimate, median};

/// An entry: its number in cycles (half a cycle on for the other arm), its time in s, and
/// whether it is of the other arm.
pub type Point = (f64, f64, bool);

/// Beyond this many entries in a run, slopes are taken over half the run only: n of them
/// instead of n², and those from far apart are the precise ones.
const ALL_PAIRS_UP_TO: usize = 300;

/// The median of the slopes between entries of the same arm in the same run (Theil 1950,
/// Sen 1968): s a cycle. Nothing without two such entries.
pub fn theil_sen(runs: &[Vec<Point>]) -> Option<f64> {
    let mut slopes = Vec::new();
    for run in runs {
        for other in [false, true] {
            let points: Vec<&Point> = run.iter().filter(|point| point.2 == other).collect();
            let n = points.len();
            let slope =
                |i: usize, j: usize| (points[j].1 - points[i].1) / (points[j].0 - points[i].0);
            match n <= ALL_PAIRS_UP_TO {
                true => {
                    for j in 1..n {
                        slopes.extend((0..j).map(|i| slope(i, j)));
                    }
                }
                false => slopes.extend((0..n - n / 2).map(|i| slope(i, i + n / 2))),
            }
        }
    }
    median(&mut slopes)
}

/// Shares of wander that are weighed: variance of a cycle's wander over that of a mark.
const WANDERS: [f64; 7] = [0.0, 0.05, 0.2, 0.6, 1.5, 4.0, 10.0];
/// How likely no wander is before the marks are seen; the others share the rest.
const NO_WANDER: f64 = 0.35;

/// One share of wander: the slope it gives, its standard error, and its weight.
struct Fit {
    slope: f64,
    error: f64,
    log_likelihood: f64,
}

/// The cycle time with its 95 % interval. `n` is the number of cycles. `floor` is the variance
/// (s²) that each mark has by the frames of the film.
pub fn cycle_time(runs: &[Vec<Point>], cycles: usize, floor: f64) -> Option<Estimate> {
    let value = theil_sen(runs)?;
    let interval = interval(runs, floor)
        .filter(|_| cycles >= 3)
        // The robust slope and the weighed one differ a little; the interval holds both.
        .map(|(low, high)| (low.min(value), high.max(value)));
    Some(Estimate {
        value,
        interval,
        n: cycles,
    })
}

fn interval(runs: &[Vec<Point>], floor: f64) -> Option<(f64, f64)> {
    let columns: usize = (runs.iter())
        .map(|run| 1 + usize::from(run.iter().any(|p| p.2) && run.iter().any(|p| !p.2)))
        .sum();
    let points: usize = runs.iter().map(Vec::len).sum();
    let df = points.checked_sub(columns + 1).filter(|df| *df >= 1)? as f64;
    let fits: Vec<Fit> = (WANDERS.iter())
        .map(|wander| fit(runs, *wander, df, floor))
        .collect::<Option<_>>()?;
    let best = (fits.iter().map(|fit| fit.log_likelihood)).fold(f64::MIN, f64::max);
    let others = (1.0 - NO_WANDER) / (WANDERS.len() - 1) as f64;
    let weights: Vec<f64> = (fits.iter().enumerate())
        .map(|(at, fit)| {
            let prior = if at == 0 { NO_WANDER } else { others };
            prior * exp(fit.log_likelihood - best)
        })
        .collect();
    let total: f64 = weights.iter().sum();
    let below = |slope: f64| {
        let each = fits
            .iter()
            .zip(&weights)
            .map(|(fit, weight)| weight / total * cdf((slope - fit.slope) / fit.error, df));
        each.sum::<f64>()
    };
    let widest = fits.iter().map(|fit| fit.error).fold(0.0, f64::max);
    let quantile = |p: f64| {
        let (mut low, mut high) = (
            fits[0].slope - 100.0 * widest,
            fits[0].slope + 100.0 * widest,
        );
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            match below(middle) < p {
                true => low = middle,
                false => high = middle,
            }
        }
        0.5 * (low + high)
    };
    Some((quantile(0.025), quantile(0.975)))
}

/// Least squares after whitening: the wander is a random walk seen through independent marks, so
/// a scalar Kalman filter turns times, cycle numbers and offsets into independent residues.
/// The likelihood is the restricted one (offsets and slope integrated out).
fn fit(runs: &[Vec<Point>], wander: f64, df: f64, floor: f64) -> Option<Fit> {
    let (mut xx, mut xy, mut yy, mut log_det) = (0.0, 0.0, 0.0, 0.0);
    for run in runs {
        let (&(start, from, _), _) = run.split_first()?;
        let mut state = [0.0; 4];
        let (mut variance, mut last) = (0.0, start);
        // Sums of products of the whitened columns: one, other arm, number, time.
        let mut sums = [[0.0; 4]; 4];
        for &(number, time, other) in run {
            variance += wander * (number - last);
            last = number;
            let row = [1.0, f64::from(u8::from(other)), number - start, time - from];
            let scale = 1.0 / sqrt(variance + 1.0);
            log_det += log(variance + 1.0);
            let gain = variance / (variance + 1.0);
            let mut white = [0.0; 4];
            for column in 0..4 {
                let residue = row[column] - state[column];
                white[column] = residue * scale;
                state[column] += gain * residue;
            }
            variance *= 1.0 - gain;
            for (i, sums) in sums.iter_mut().enumerate() {
                for (j, sum) in sums.iter_mut().enumerate() {
                    *sum += white[i] * white[j];
                }
            }
        }
        // The two offsets of this run are taken out, one after the other.
        for column in 0..2 {
            let pivot = sums[column][column];
            if pivot < 1e-9 {
                continue;
            }
            log_det += log(pivot);
            let row = sums[column];
            for (i, sums) in sums.iter_mut().enumerate().skip(column + 1) {
                let share = row[i] / pivot;
                for (j, sum) in sums.iter_mut().enumerate() {
                    *sum -= share * row[j];
                }
            }
        }
        xx += sums[2][2];
        xy += sums[2][3];
        yy += sums[3][3];
    }
    if xx < 1e-9 {
        return None;
    }
    let slope = xy / xx;
    let squares = (yy - slope * xy).max(floor * df).max(1e-18);
    Some(Fit {
        slope,
        error: sqrt(squares / df / xx),
        log_likelihood: -0.5 * (log_det + log(xx) + df * log(squares)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(times: &[f64]) -> Vec<Point> {
        let numbered = times.iter().enumerate();
        numbered
            .map(|(at, time)| (at as f64, *time, false))
            .collect()
    }

    #[test]
    fn one_wrong_entry_does_not_move_the_slope() {
        let mut times: Vec<f64> = (0..20).map(|k| f64::from(k) * 2.1).collect();
        times[7] += 0.9;
        let slope = theil_sen(&[run(&times)]).expect("a slope");
        assert!((slope - 2.1).abs() < 1e-9, "{slope}");
    }

    #[test]
    fn an_even_stroke_has_the_interval_of_a_straight_line() {
        // Small alternating errors leave no room for a wander: least squares, by hand.
        let times: Vec<f64> = (0..40)
            .map(|k| f64::from(k) * 2.0 + if k % 2 == 0 { 0.01 } else { -0.01 })
            .collect();
        let found = cycle_time(&[run(&times)], 39, 0.0).expect("a slope");
        let half = found.half_width().expect("an interval");
        let by_line = 2.02 * 0.01 / sqrt(40.0 * (1600.0 - 1.0) / 12.0);
        assert!(half < 1.5 * by_line, "{half} against {by_line}");
    }

    #[test]
    fn a_wandering_stroke_is_less_sure() {
        let mut time = 0.0;
        let mut times = vec![0.0];
        for k in 0..39u32 {
            // Runs of long and of short cycles.
            time += 2.0 + if (k / 5) % 2 == 0 { 0.05 } else { -0.05 };
            times.push(time);
        }
        let found = cycle_time(&[run(&times)], 39, 0.0).expect("a slope");
        assert!(
            found.half_width().is_some_and(|half| half > 0.01),
            "{found:?}"
        );
    }

    #[test]
    fn many_entries_take_no_longer_than_their_number() {
        let times: Vec<f64> = (0..30_000).map(|k| f64::from(k) * 2.0).collect();
        let slope = theil_sen(&[run(&times)]).expect("a slope");
        assert!((slope - 2.0).abs() < 1e-9);
    }
}
