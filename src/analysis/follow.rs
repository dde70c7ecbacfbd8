//! A stroke followed tap by tap, while it is swum.
//!
//! In: times of taps as they come. Out: when the next entries are due, how fast they follow one
//! another, and how well that is known. The first taps are fitted all at once, robustly
//! (Theil-Sen); from the ninth on a second-order loop corrects phase and period by a share of
//! each error (audio-practice 7). Doubled taps are set aside, missing ones counted over. Pure,
//! and bounded in memory.

use super::Estimate;
use super::stats::{median, t_quantile, theil_sen};
use super::taps::{Each, read_taps};

/// Taps before there is anything to follow.
pub const FEWEST: usize = 4;

/// Taps that are fitted all at once before the loop takes over: fewer leave a rate that the loop
/// takes a minute to improve.
const FITTED: usize = 8;
/// Share of an error that corrects the phase: at the upper end of what is usual, 0.2 to 0.4
/// [practice], for a rate that is known from eight taps.
const PHASE_GAIN: f64 = 0.4;
/// Share that corrects the period: half the square of the phase gain damps critically
/// (audio-practice 7).
const PERIOD_GAIN: f64 = PHASE_GAIN * PHASE_GAIN / 2.0;
/// A tap this part of a period after the one before is a double.
const DOUBLE: f64 = 0.5;
/// A tap farther from where it is due, in periods, belongs to another stroke.
const STRANGE: f64 = 0.3;
/// Strange taps in a row after which the stroke is taken for a new one.
const MOST_STRANGE: u32 = 2;
/// No tap for so many periods: the swim is over.
const LONGEST_GAP: f64 = 5.0;
/// Weight of the last error in the mean of late, and the sd of that mean in sds of one error.
const RECENT: f64 = 0.3;
const RECENT_SD: f64 = 0.42;
/// Scatter of a human finger, s, sd: 20 to 40 ms [memory]. Weighs as much as four taps.
const USUAL_SCATTER_S: f64 = 0.03;
const USUAL_WEIGHT: f64 = 4.0;

/// What one tap was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tap {
    /// One of the first, before there is a rate.
    First,
    /// On its entry; so many entries before it were not tapped.
    Counted {
        /// Entries without a tap.
        missing: u32,
    },
    /// Too soon after the one before.
    Double,
    /// Nowhere near an entry.
    Strange,
}

/// A tapped stroke.
#[derive(Debug, Clone)]
pub struct Follow {
    each: Each,
    /// Times of the first taps, s, doubles left out.
    first: Vec<f64>,
    track: Option<Track>,
    last_s: f64,
    strange: u32,
}

/// What is known of the stroke.
#[derive(Debug, Clone, Copy)]
struct Track {
    /// Number of the last tapped entry, from the first tap's.
    entry: f64,
    /// When it was, smoothed, s.
    at_s: f64,
    /// From one tapped entry to the next, s.
    period_s: f64,
    /// Taps behind it.
    taps: usize,
    /// Sum of squared errors of the taps, s², and how many are in it, older ones fading.
    squares: (f64, f64),
    /// Mean error of late, s: away from 0 while the stroke quickens or slackens.
    drift_s: f64,
}

impl Follow {
    /// Nothing tapped yet.
    pub fn new(each: Each) -> Self {
        Self {
            each,
            first: Vec::with_capacity(FITTED),
            track: None,
            last_s: f64::NEG_INFINITY,
            strange: 0,
        }
    }

    /// Takes a tap at a time in s, not before the last one.
    pub fn tap(&mut self, time_s: f64) -> Tap {
        let since = time_s - self.last_s;
        if self
            .track
            .is_some_and(|track| since > LONGEST_GAP * track.period_s)
            || since > 60.0
        {
            *self = Self::new(self.each);
        }
        self.last_s = time_s;
        match self.track {
            Some(track) if track.taps >= FITTED => self.correct(track, time_s),
            _ => self.fit(time_s),
        }
    }

    /// One of the first taps: all are fitted again.
    fn fit(&mut self, time_s: f64) -> Tap {
        let known = self.track.map(|track| track.period_s);
        if let (Some(period), Some(last)) = (known, self.first.last())
            && time_s - last < DOUBLE * period
        {
            return Tap::Double;
        }
        self.first.push(time_s);
        let read = read_taps(&self.first, self.each);
        if let Some(&double) = read.doubles.first() {
            self.first.remove(double - 1);
            return Tap::Double;
        }
        let Some(rate) = read.rate_spm.filter(|_| read.pauses.is_empty()) else {
            if self.first.len() > FITTED {
                // Nothing regular in them: the oldest may have been a slip.
                self.first.remove(0);
            }
            return Tap::First;
        };
        let numbered = numbered(&self.first, 60.0 * self.each.strokes() / rate.value);
        self.track = track(&numbered);
        let [.., (before, _), (last, _)] = numbered[..] else {
            return Tap::First;
        };
        Tap::Counted {
            missing: (last - before - 1.0) as u32,
        }
    }

    /// The loop.
    fn correct(&mut self, mut track: Track, time_s: f64) -> Tap {
        let periods = (time_s - track.at_s) / track.period_s;
        let whole = periods.round();
        if periods < DOUBLE {
            return Tap::Double;
        }
        let error = time_s - track.at_s - whole * track.period_s;
        if error.abs() > STRANGE * track.period_s {
            self.strange += 1;
            if self.strange > MOST_STRANGE {
                *self = Self::new(self.each);
                self.last_s = time_s;
                self.first.push(time_s);
                return Tap::First;
            }
            return Tap::Strange;
        }
        self.strange = 0;
        track.entry += whole;
        track.at_s += whole * track.period_s + PHASE_GAIN * error;
        track.period_s += PERIOD_GAIN * error / whole;
        track.taps += 1;
        // The error of a prediction is larger than that of a tap: by the loop's own scatter.
        let own = error * error / PREDICTION;
        track.squares = (track.squares.0 * 0.9 + own, track.squares.1 * 0.9 + 1.0);
        track.drift_s += RECENT * (error - track.drift_s);
        self.track = Some(track);
        Tap::Counted {
            missing: (whole - 1.0) as u32,
        }
    }

    /// Taps behind the present estimate.
    pub fn taps(&self) -> usize {
        self.track.map_or(self.first.len(), |track| track.taps)
    }

    /// The rate in strokes/min with its 95 % interval; none before the fourth tap.
    pub fn rate_spm(&self) -> Option<Estimate> {
        let track = self.track?;
        let spm = |period_s: f64| 60.0 * self.each.strokes() / period_s;
        let (period, half) = (track.period_now_s(), track.half_s());
        Some(Estimate {
            value: spm(period),
            interval: (half < period).then(|| (spm(period + half), spm(period - half))),
            n: track.taps,
        })
    }

    /// An entry: when it was in s, its phase in cycles (whole numbers are entries of the arm
    /// that was tapped first), and cycles a second from there.
    pub fn aim(&self) -> Option<(f64, f64, f64)> {
        let track = self.track?;
        let cycles_a_tap = self.each.strokes() / 2.0;
        Some((
            track.at_s,
            track.entry * cycles_a_tap,
            cycles_a_tap / track.period_now_s(),
        ))
    }
}

/// The variance of the loop's prediction error over that of a tap, for white scatter and a
/// steady stroke: 1 + the variance of the predicted phase, (2a² + b(2 + a)) / (a(4 - 2a - b))
/// for gains a and b (alpha-beta filter, steady state; from memory, and held by the simulation
/// below).
const PREDICTION: f64 = 1.0
    + (2.0 * PHASE_GAIN * PHASE_GAIN + PERIOD_GAIN * (2.0 + PHASE_GAIN))
        / (PHASE_GAIN * (4.0 - 2.0 * PHASE_GAIN - PERIOD_GAIN));

impl Track {
    /// Scatter of a tap, s, sd.
    fn scatter_s(&self) -> f64 {
        let (sum, n) = self.squares;
        ((sum + USUAL_WEIGHT * USUAL_SCATTER_S.powi(2)) / (n + USUAL_WEIGHT)).sqrt()
    }

    /// The mean error of late, less what scatter alone makes of it.
    fn drifting_s(&self) -> f64 {
        let of_scatter = self.scatter_s() * PREDICTION.sqrt() * RECENT_SD;
        self.drift_s.signum() * (self.drift_s.abs() - of_scatter).max(0.0)
    }

    /// The period, with what the loop is behind where the stroke quickens or slackens: a period
    /// that changes by d a tap makes a mean error of d / b, and the loop's own is
    /// (a / b - 1/2) d behind (algebra of the two gains' recursion).
    fn period_now_s(&self) -> f64 {
        self.period_s + (PHASE_GAIN - PERIOD_GAIN / 2.0) * self.drifting_s()
    }

    /// Half the 95 % interval of the period, s.
    fn half_s(&self) -> f64 {
        let taps = self.taps.min(FITTED) as f64;
        // Slope of a line through evenly spaced points; then the steady state of the loop:
        // 2b² / (a(4 - 2a - b)), from memory as above.
        let of_fit = 12.0 / (taps * (taps * taps - 1.0));
        let of_loop =
            2.0 * PERIOD_GAIN * PERIOD_GAIN / (PHASE_GAIN * (4.0 - 2.0 * PHASE_GAIN - PERIOD_GAIN));
        let share = match self.taps > FITTED {
            true => of_loop.max(of_fit),
            false => of_fit,
        };
        let df = (self.squares.1 + USUAL_WEIGHT - 2.0).max(1.0) as usize;
        let of_scatter = t_quantile(df).unwrap_or(2.0) * self.scatter_s() * share.sqrt();
        // Both factors are fitted to the simulation below: the loop is steadier than the bound,
        // and a change that has just begun is worse known than its mean error says.
        0.7 * of_scatter + 2.0 * (PHASE_GAIN - PERIOD_GAIN / 2.0) * self.drift_s.abs()
    }
}

/// Numbers of entries for times, by steps of the period.
fn numbered(times_s: &[f64], period_s: f64) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::with_capacity(times_s.len());
    for &time in times_s {
        let number = match found.last() {
            None => 0.0,
            Some((number, before)) => number + ((time - before) / period_s).round().max(1.0),
        };
        found.push((number, time));
    }
    found
}

/// Theil-Sen: the median slope over all pairs, and the median of where it begins.
fn track(points: &[(f64, f64)]) -> Option<Track> {
    let period_s = theil_sen(points)?;
    let begins: Vec<f64> = points.iter().map(|(n, t)| t - n * period_s).collect();
    let begin = median(&begins)?;
    let squares: f64 = begins.iter().map(|b| (b - begin).powi(2)).sum();
    let (entry, _) = *points.last()?;
    Some(Track {
        entry,
        at_s: begin + entry * period_s,
        period_s,
        taps: points.len(),
        squares: (squares, points.len() as f64 - 2.0),
        drift_s: 0.0,
    })
}

#[cfg(test)]
mod tests;
