//! Cycle time from entries: a robust slope, and an interval that knows two sources of error.
//!
//! What is estimated is the mean cycle time of the cycles seen, from the first to the last: how
//! far a stroke wanders from cycle to cycle is a spread of its own, no error of this mean.
//!
//! A mark errs by itself (the frame, the eye, the hand); a wander of the stroke stays in every
//! later mark. Of an even stroke every mark tells the mean, of a wandering one only the ends do.
//! Marks of one cycle share its wander and not each other's errors, so catches and exits are
//! asked as well as entries. Even they cannot tell exactly: the interval is taken over all
//! shares of wander, each weighted by how well it explains the marks.

use libm::{exp, log, sqrt};

use super::Estimate;
use super::stats::{median, pair_slopes};
use super::student::cdf;

/// A mark of an arm as a point of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Cycles since the first entry of the run, counted with the usual phase of its event.
    pub number: f64,
    /// s.
    pub time: f64,
    /// Which event of which arm: [`ENTRY`], [`OTHER_ENTRY`], or one of the events after them.
    pub event: usize,
}

/// The leading hand's entry.
pub const ENTRY: usize = 0;
/// The other hand's entry.
pub const OTHER_ENTRY: usize = 1;
/// Entry, catch and exit of both arms.
pub const EVENTS: usize = 6;

/// Beyond this many entries in a run, slopes are taken over half the run only: n of them
/// instead of n², and those from far apart are the precise ones.
const ALL_PAIRS_UP_TO: usize = 300;

/// Beyond this many marks the entries alone tell wander from error well enough.
const ALL_EVENTS_UP_TO: usize = 5000;

/// The median of the slopes between entries of the same arm in the same run (Theil 1950,
/// Sen 1968): s a cycle. Nothing without two such entries.
fn robust_slope(runs: &[Vec<Point>]) -> Option<f64> {
    let mut slopes = Vec::new();
    for run in runs {
        for event in [ENTRY, OTHER_ENTRY] {
            let points: Vec<(f64, f64)> = (run.iter())
                .filter(|point| point.event == event)
                .map(|point| (point.number, point.time))
                .collect();
            match points.len() {
                n if n <= ALL_PAIRS_UP_TO => slopes.extend(pair_slopes(&points)),
                n => slopes.extend((0..n - n / 2).map(|at| {
                    let (first, second) = (points[at], points[at + n / 2]);
                    (second.1 - first.1) / (second.0 - first.0)
                })),
            }
        }
    }
    median(&slopes)
}

/// Shares of wander that are weighed: variance of a cycle's wander over that of a mark.
const WANDERS: [f64; 9] = [0.0, 0.02, 0.06, 0.2, 0.6, 2.0, 6.0, 20.0, 60.0];
/// How likely no wander is before the marks are seen; the others share the rest.
const NO_WANDER: f64 = 0.35;

/// The columns of the whitened line: an offset for each event, the number, the time.
const NUMBER: usize = EVENTS;
const TIME: usize = EVENTS + 1;
const COLUMNS: usize = EVENTS + 2;

/// One share of wander: the mean cycle of those seen that it gives with its standard error, the
/// usual cycle of which they are a sample with its own, and its weight.
struct Fit {
    mean: f64,
    error: f64,
    usual: f64,
    usual_error: f64,
    log_likelihood: f64,
}

/// The cycle time of the cycles seen with its 95 % interval, and the swimmer's usual cycle, of which they
/// are a sample: the same value, but its interval knows that others would be longer or shorter. All
/// marks say how much of the scatter is wander; that interval is taken from the leading hand's entries
/// alone: within a cycle all marks share its length, so that more of them tell nothing of how cycles
/// differ. `n` is the number of cycles: fewer than three have no interval and tell of no usual one.
/// `floor` is the variance (s²) that each mark has by the frames of the film.
pub fn cycle_times(
    runs: &[Vec<Point>],
    cycles: usize,
    floor: f64,
) -> Option<(Estimate, Option<Estimate>)> {
    let value = robust_slope(runs)?;
    let estimate = |interval: Option<(f64, f64)>| Estimate {
        value,
        interval: interval.map(|interval| holding(interval, value)),
        n: cycles,
    };
    let Some(fits) = Fits::of(&asked(runs), floor).filter(|_| cycles >= 3) else {
        return Some((estimate(None), None));
    };
    let weights = fits.weights();
    let seen = fits.interval(&weights, |fit| (fit.mean, fit.error));
    let entries = Fits::of(&only(runs, &[ENTRY]), floor);
    let own = entries.map(|entries| entries.interval(&weights, |fit| (fit.usual, fit.usual_error)));
    Some((
        estimate(Some(seen)),
        own.map(|interval| estimate(Some(interval))),
    ))
}

/// The marks that are asked for wander.
fn asked(runs: &[Vec<Point>]) -> Vec<Vec<Point>> {
    if runs.iter().map(Vec::len).sum::<usize>() > ALL_EVENTS_UP_TO {
        only(runs, &[ENTRY, OTHER_ENTRY])
    } else {
        runs.to_vec()
    }
}

/// An interval that holds the robust slope as well: it and the weighed mean differ a little.
fn holding((low, high): (f64, f64), value: f64) -> (f64, f64) {
    (low.min(value), high.max(value))
}

/// The points of some events alone.
fn only(runs: &[Vec<Point>], events: &[usize]) -> Vec<Vec<Point>> {
    let kept = |run: &Vec<Point>| {
        let kept = run.iter().filter(|point| events.contains(&point.event));
        kept.copied().collect()
    };
    runs.iter().map(kept).collect()
}

/// A fit for each share of wander.
struct Fits {
    fits: Vec<Fit>,
    df: f64,
}

impl Fits {
    fn of(runs: &[Vec<Point>], floor: f64) -> Option<Self> {
        let columns: usize = (runs.iter())
            .map(|run| {
                (0..EVENTS)
                    .filter(|event| run.iter().any(|p| p.event == *event))
                    .count()
            })
            .sum();
        let points: usize = runs.iter().map(Vec::len).sum();
        let df = points.checked_sub(columns + 1).filter(|df| *df >= 1)? as f64;
        let fits = (WANDERS.iter())
            .map(|wander| fit(runs, *wander, df, floor))
            .collect::<Option<_>>()?;
        Some(Self { fits, df })
    }

    /// How well each share explains the marks; together 1.
    fn weights(&self) -> Vec<f64> {
        let best = (self.fits.iter().map(|fit| fit.log_likelihood)).fold(f64::MIN, f64::max);
        let others = (1.0 - NO_WANDER) / (WANDERS.len() - 1) as f64;
        let weights = self.fits.iter().enumerate().map(|(at, fit)| {
            let prior = if at == 0 { NO_WANDER } else { others };
            prior * exp(fit.log_likelihood - best)
        });
        let weights: Vec<f64> = weights.collect();
        let total: f64 = weights.iter().sum();
        weights.into_iter().map(|weight| weight / total).collect()
    }

    /// The 95 % interval of what `of` takes from each fit: a value and its standard error.
    fn interval(&self, weights: &[f64], of: impl Fn(&Fit) -> (f64, f64)) -> (f64, f64) {
        let taken: Vec<(f64, f64)> = self.fits.iter().map(of).collect();
        let below = |slope: f64| {
            let each = (taken.iter().zip(weights))
                .map(|((value, error), weight)| weight * cdf((slope - value) / error, self.df));
            each.sum::<f64>()
        };
        let widest = taken.iter().map(|(_, error)| *error).fold(0.0, f64::max);
        let middle = taken[0].0;
        let quantile = |p: f64| {
            let (mut low, mut high) = (middle - 100.0 * widest, middle + 100.0 * widest);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if below(middle) < p {
                    low = middle
                } else {
                    high = middle
                }
            }
            0.5 * (low + high)
        };
        (quantile(0.025), quantile(0.975))
    }
}

/// Sums of products of the whitened columns: one for each event, number, time.
type Products = [[f64; COLUMNS]; COLUMNS];

/// What the runs add up to for one share of wander.
#[derive(Default)]
struct Total {
    /// Products of number (x) and time (y), with the offsets taken out.
    xx: f64,
    xy: f64,
    yy: f64,
    log_det: f64,
    /// The time all runs took: a part that is known, one that goes with the slope, a variance.
    known: f64,
    per_slope: f64,
    variance: f64,
    cycles: f64,
}

impl Total {
    /// Whitens a run: the wander is a random walk seen through independent marks, so a scalar
    /// Kalman filter turns times, cycle numbers and offsets into independent residues. Gives
    /// their products, and how the time that the run took goes with each offset and the slope.
    fn whiten(&mut self, run: &[Point], wander: f64) -> Option<(Products, [f64; COLUMNS])> {
        let (first, _) = run.split_first()?;
        let mut state = [0.0; COLUMNS];
        let (mut variance, mut last) = (0.0, first.number);
        let mut sums = Products::default();
        for point in run {
            variance += wander * (point.number - last);
            last = point.number;
            let mut row = [0.0; COLUMNS];
            row[point.event] = 1.0;
            row[NUMBER] = point.number - first.number;
            row[TIME] = point.time - first.time;
            let scale = 1.0 / sqrt(variance + 1.0);
            self.log_det += log(variance + 1.0);
            let gain = variance / (variance + 1.0);
            let mut white = [0.0; COLUMNS];
            for column in 0..COLUMNS {
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
        let length = last - first.number;
        let mut coefficients = state.map(|state| -state);
        coefficients[NUMBER] += length;
        self.cycles += length;
        self.known += state[TIME];
        self.variance += variance;
        Some((sums, coefficients))
    }

    /// Takes the offsets of a run out, one after the other, and adds what is left.
    fn add(&mut self, (mut sums, mut coefficients): (Products, [f64; COLUMNS])) {
        for column in 0..EVENTS {
            let pivot = sums[column][column];
            if pivot < 1e-9 {
                continue;
            }
            self.log_det += log(pivot);
            let row = sums[column];
            let weight = coefficients[column] / pivot;
            self.known += weight * row[TIME];
            self.variance += weight * coefficients[column];
            for (coefficient, with) in coefficients.iter_mut().zip(row).skip(column + 1) {
                *coefficient -= weight * with;
            }
            for (i, sums) in sums.iter_mut().enumerate().skip(column + 1) {
                let share = row[i] / pivot;
                for (j, sum) in sums.iter_mut().enumerate() {
                    *sum -= share * row[j];
                }
            }
        }
        self.per_slope += coefficients[NUMBER];
        self.xx += sums[NUMBER][NUMBER];
        self.xy += sums[NUMBER][TIME];
        self.yy += sums[TIME][TIME];
    }
}

/// Least squares after whitening. The likelihood is the restricted one (offsets and slope
/// integrated out).
///
/// The time that a run took is slope x number + the walk at its end. The filter's last state is
/// the walk's best guess there, linear in the coefficients; their uncertainty and the state's
/// own make its variance.
fn fit(runs: &[Vec<Point>], wander: f64, df: f64, floor: f64) -> Option<Fit> {
    let mut all = Total::default();
    for run in runs {
        let whitened = all.whiten(run, wander)?;
        all.add(whitened);
    }
    if all.xx < 1e-9 || all.cycles <= 0.0 {
        return None;
    }
    let slope = all.xy / all.xx;
    let squares = (all.yy - slope * all.xy).max(floor * df).max(1e-18);
    let variance = all.variance + all.per_slope * all.per_slope / all.xx;
    Some(Fit {
        mean: (all.known + all.per_slope * slope) / all.cycles,
        error: sqrt(squares / df * variance) / all.cycles,
        usual: slope,
        usual_error: sqrt(squares / df / all.xx),
        log_likelihood: -0.5 * (all.log_det + log(all.xx) + df * log(squares)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(times: &[f64]) -> Vec<Point> {
        let numbered = times.iter().enumerate();
        numbered
            .map(|(at, time)| Point {
                number: at as f64,
                time: *time,
                event: ENTRY,
            })
            .collect()
    }

    #[test]
    fn one_wrong_entry_does_not_move_the_slope() {
        let mut times: Vec<f64> = (0..20).map(|k| f64::from(k) * 2.1).collect();
        times[7] += 0.9;
        let slope = robust_slope(&[run(&times)]).expect("a slope");
        assert!((slope - 2.1).abs() < 1e-9, "{slope}");
    }

    #[test]
    fn an_even_stroke_has_the_interval_of_a_straight_line() {
        // Small alternating errors leave no room for a wander: least squares, by hand.
        let times: Vec<f64> = (0..40)
            .map(|k| f64::from(k) * 2.0 + if k % 2 == 0 { 0.01 } else { -0.01 })
            .collect();
        let (found, _) = cycle_times(&[run(&times)], 39, 0.0).expect("a slope");
        let half = found.half_width().expect("an interval");
        let by_line = 2.02 * 0.01 / sqrt(40.0 * (1600.0 - 1.0) / 12.0);
        assert!(half < 1.5 * by_line, "{half} against {by_line}");
    }

    #[test]
    fn a_wandering_stroke_is_as_sure_as_its_ends() {
        let mut time = 0.0;
        let mut times = vec![0.0];
        for k in 0..39u32 {
            // Runs of long and of short cycles.
            time += 2.0 + if (k / 5) % 2 == 0 { 0.05 } else { -0.05 };
            times.push(time);
        }
        let (found, _) = cycle_times(&[run(&times)], 39, 0.0).expect("a slope");
        let (low, high) = found.interval.expect("an interval");
        let swum = times[39] / 39.0;
        assert!((low..=high).contains(&swum), "{swum} in {found:?}");
        // Without errors of marks the ends would tell it exactly; an even stroke with the same
        // scatter of cycles would be known no better.
        assert!(high - low < 0.005, "{found:?}");
    }

    #[test]
    fn many_entries_take_no_longer_than_their_number() {
        let times: Vec<f64> = (0..30_000).map(|k| f64::from(k) * 2.0).collect();
        let slope = robust_slope(&[run(&times)]).expect("a slope");
        assert!((slope - 2.0).abs() < 1e-9);
    }
}
