//! What is known of a tapped stroke: an entry, the period, how that changes.
//!
//! A loop of third order whose gains are those of a Kalman filter (textbook recursions, from
//! memory; held against numpy below). A loop of second order with fixed gains lags behind a stroke
//! that quickens: at 10 % in 30 s by more than its own interval says.

use super::super::stats::t_quantile;

/// How fast a rate changes while somebody swims, as a share of it a second, sd, and for how long
/// it goes on so, s. An assumption, not a measurement: a rise of 10 % in 30 s lies at 1.3 sd.
const CHANGE_PER_S: f64 = 0.0026;
const CHANGE_LASTS_S: f64 = 12.0;
/// Scatter of a human finger, s, sd: 20 to 40 ms (from memory). Weighs as much as four taps.
const USUAL_SCATTER_S: f64 = 0.03;
const USUAL_WEIGHT: f64 = 4.0;
/// What the weight of a tap's error is multiplied by at each tap that follows.
const FORGETTING: f64 = 0.9;
/// What is not known at first, of a period: the place of the entry and the period itself, sd.
const VAGUE: f64 = 0.3;

/// A stroke as far as it is known at one of its entries.
#[derive(Debug, Clone, Copy)]
pub struct StrokeEstimate {
    /// Number of the entry, from the first tap's.
    pub entry: f64,
    /// Taps behind it.
    pub taps: usize,
    /// When the entry was, s; the period there, s; its change from one entry to the next, s.
    state: [f64; 3],
    /// Their covariance, s².
    cov: [[f64; 3]; 3],
    /// Sum of squared errors of the taps, s², and how many are in it, older ones fading.
    squares: (f64, f64),
}

impl StrokeEstimate {
    /// Entry number `entry` at about `at_s`, the next one about `period_s` later; no tap yet.
    pub fn new(entry: f64, at_s: f64, period_s: f64) -> Self {
        let mut cov = [[0.0; 3]; 3];
        for (at, sd) in [VAGUE * period_s, VAGUE * period_s, usual_change_s(period_s)]
            .into_iter()
            .enumerate()
        {
            cov[at][at] = sd * sd;
        }
        Self {
            entry,
            taps: 0,
            state: [at_s, period_s, 0.0],
            cov,
            squares: (0.0, 0.0),
        }
    }

    /// When the entry is, s.
    pub fn at_s(&self) -> f64 {
        self.state[0]
    }

    /// From one tapped entry to the next at this one, s.
    pub fn period_s(&self) -> f64 {
        self.state[1]
    }

    /// Half the 95 % interval of the period, s.
    pub fn half_s(&self) -> f64 {
        let df = (self.squares.1 + USUAL_WEIGHT - 2.0).max(1.0) as usize;
        t_quantile(df).unwrap_or(2.0) * self.cov[1][1].sqrt()
    }

    /// What is expected so many entries later: the change of the period fades towards none, and
    /// another one may have begun.
    #[must_use]
    pub fn ahead(mut self, entries: u32) -> Self {
        for _ in 0..entries {
            let period = self.period_s();
            let keeps = libm::exp(-period / CHANGE_LASTS_S);
            let step = [[1.0, 1.0, 0.5], [0.0, 1.0, 1.0], [0.0, 0.0, keeps]];
            let times = |row: [f64; 3], column: [f64; 3]| -> f64 {
                row.iter().zip(column).map(|(a, b)| a * b).sum()
            };
            self.state = step.map(|row| times(row, self.state));
            // The covariance is symmetric: its rows are its columns.
            let half = step.map(|row| self.cov.map(|column| times(row, column)));
            self.cov = half.map(|row| step.map(|other| times(row, other)));
            self.cov[2][2] += (1.0 - keeps * keeps) * usual_change_s(period).powi(2);
            self.entry += 1.0;
        }
        self
    }

    /// With a tap of this entry at `time_s`.
    #[must_use]
    pub fn tapped(mut self, time_s: f64) -> Self {
        let scatter = self.scatter_s2();
        let error = time_s - self.state[0];
        let variance = self.cov[0][0] + scatter;
        let gains = self.cov[0].map(|cov| cov / variance);
        for (row, gain) in gains.into_iter().enumerate() {
            self.state[row] += gain * error;
        }
        let first = self.cov[0];
        for (row, gain) in self.cov.iter_mut().zip(gains) {
            for (cov, with_first) in row.iter_mut().zip(first) {
                *cov -= gain * with_first;
            }
        }
        // Of the error only this share is the finger's.
        let own = error * error * scatter / variance;
        let (sum, n) = self.squares;
        self.squares = (sum * FORGETTING + own, n * FORGETTING + 1.0);
        self.taps += 1;
        self
    }

    /// Scatter of a tap, s².
    fn scatter_s2(&self) -> f64 {
        let (sum, n) = self.squares;
        (sum + USUAL_WEIGHT * USUAL_SCATTER_S.powi(2)) / (n + USUAL_WEIGHT)
    }
}

/// How much a period usually changes from one entry to the next, s, sd.
fn usual_change_s(period_s: f64) -> f64 {
    CHANGE_PER_S * period_s * period_s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_estimate_is_that_of_one_large_least_squares_problem() {
        // Prior, steps and taps of all six entries written as one weighted least squares problem
        // in 18 unknowns, solved by numpy 1.24.2 (numpy.linalg.lstsq; the covariance by
        // numpy.linalg.inv of the normal matrix, some four digits). KEEPS, CHANGE and SCATTER are
        // what the filter used at each step: exp(-period / 12), the sd of the change, the tap's
        // variance.
        //
        //   def row(entries, value, sd):
        //       line = numpy.zeros(18)
        //       for at, factor in entries: line[at] = factor / sd
        //       rows.append(line); right.append(value / sd)
        //   row([(0, 1)], 0, .3); row([(1, 1)], 1, .3); row([(2, 1)], 0, .0026)
        //   for k in range(1, 6):
        //       a, b = 3 * (k - 1), 3 * k
        //       row([(b, 1), (a, -1), (a + 1, -1), (a + 2, -.5)], 0, 1e-8)
        //       row([(b + 1, 1), (a + 1, -1), (a + 2, -1)], 0, 1e-8)
        //       row([(b + 2, 1), (a + 2, -KEEPS[k - 1])], 0, CHANGE[k - 1])
        //   for (k, t), v in zip(taps, SCATTER): row([(3 * k, 1)], t, v ** .5)
        let taps = [(0, 0.02), (1, 0.97), (2, 1.99), (4, 3.95), (5, 4.90)];
        let track = taps.into_iter().fold(
            StrokeEstimate::new(0.0, 0.0, 1.0),
            |track, (entry, time_s)| track.ahead(entry - track.entry as u32).tapped(time_s),
        );
        let of_numpy = [4.913_252_09, 0.979_031_355, -3.213_573_70e-4];
        for (own, numpy) in track.state.into_iter().zip(of_numpy) {
            assert!((own - numpy).abs() < 1e-7, "{own} for {numpy}");
        }
        for (own, numpy) in [
            (track.cov[0][0], 3.641_8e-4),
            (track.cov[0][1], 1.094_5e-4),
            (track.cov[1][1], 7.177_6e-5),
            (track.cov[1][2], 1.244_4e-5),
            (track.cov[2][2], 6.250_1e-6),
        ] {
            assert!((own / numpy - 1.0).abs() < 2e-3, "{own} for {numpy}");
        }
    }
}
