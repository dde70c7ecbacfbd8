//! A stroke followed tap by tap, while it is swum.
//!
//! In: times of taps as they come. Out: when the next entries are due, how fast they follow one
//! another, and how well that is known. The first taps are numbered by a robust fit (Theil-Sen);
//! from there on each tap corrects phase, period and change of period by a share of its error.
//! Doubled taps are set aside, missing ones counted over. Pure, and bounded in memory.

use super::Estimate;
use super::stats::{median, theil_sen};
use super::taps::{Each, read_taps};

mod track;

use track::StrokeEstimate;

/// Taps before there is anything to follow.
pub const FEWEST: usize = 4;

/// Taps of which all are read again at each one: what looks regular after four may turn out to
/// have been a slip.
const FITTED: usize = 8;
/// A tap this part of a period after the one before is a double. Between that and where the next
/// one is due it is strange: of two taps a period each second one would be a double for ever.
const DOUBLE: f64 = 0.3;
/// A tap farther from where it is due, in periods, belongs to another stroke.
const STRANGE: f64 = 0.3;
/// More strange taps than this among the last eight, and the stroke is taken for a new one.
const MOST_STRANGE: u32 = 2;
/// First taps that are kept: those that count, and as many doubles.
const KEPT: usize = 2 * FITTED;
/// No tap for so many periods: the swim is over.
const LONGEST_GAP: f64 = 5.0;

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
    /// Times of the first taps, s, doubles with them: after eight a tap may be none any more that
    /// was one after four.
    first: Vec<f64>,
    track: Option<StrokeEstimate>,
    last_s: f64,
    /// Whether the last eight were strange, a bit each.
    strange: u8,
}

impl Follow {
    /// Nothing tapped yet.
    pub fn new(each: Each) -> Self {
        Self {
            each,
            first: Vec::with_capacity(KEPT + 1),
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
            .is_some_and(|track| since > LONGEST_GAP * track.period_s())
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
        if self.first.len() > KEPT {
            self.first.remove(0);
        }
        self.first.push(time_s);
        let newest = self.first.len();
        let read = read_taps(&self.first, self.each);
        let is_double = |number: usize| read.doubles.binary_search(&number).is_ok();
        let Some(rate) = read.rate_spm.filter(|_| read.pauses.is_empty()) else {
            self.track = None;
            if newest - read.doubles.len() > FITTED {
                // Nothing regular in them: the oldest may have been a slip.
                self.first.remove(0);
            }
            return if is_double(newest) {
                Tap::Double
            } else {
                Tap::First
            };
        };
        let period_s = 60.0 * self.each.strokes() / rate.value;
        let counted = (1..).zip(&self.first).filter(|(n, _)| !is_double(*n));
        let numbered = numbered(counted.map(|(_, time)| *time), period_s);
        self.track = begun(&numbered);
        match numbered[..] {
            _ if is_double(newest) => Tap::Double,
            [.., (before, _), (last, _)] => Tap::Counted {
                missing: (last - before - 1.0) as u32,
            },
            _ => Tap::First,
        }
    }

    /// One tap more for a rate that is known.
    fn correct(&mut self, track: StrokeEstimate, time_s: f64) -> Tap {
        let periods = (time_s - track.at_s()) / track.period_s();
        if periods < DOUBLE {
            return Tap::Double;
        }
        let whole = periods.round().max(1.0) as u32;
        let due = track.ahead(whole);
        let is_strange = (time_s - due.at_s()).abs() > STRANGE * track.period_s();
        self.strange = self.strange << 1 | u8::from(is_strange);
        if is_strange {
            if self.strange.count_ones() > MOST_STRANGE {
                *self = Self::new(self.each);
                self.last_s = time_s;
                self.first.push(time_s);
                return Tap::First;
            }
            return Tap::Strange;
        }
        self.track = Some(due.tapped(time_s));
        Tap::Counted { missing: whole - 1 }
    }

    /// Taps behind the present estimate.
    pub fn taps(&self) -> usize {
        self.track.map_or(self.first.len(), |track| track.taps)
    }

    /// The rate in strokes/min with its 95 % interval; none before the fourth tap.
    pub fn rate_spm(&self) -> Option<Estimate> {
        let track = self.track?;
        let spm = |period_s: f64| 60.0 * self.each.strokes() / period_s;
        let (period, half) = (track.period_s(), track.half_s());
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
            track.at_s(),
            track.entry * cycles_a_tap,
            cycles_a_tap / track.period_s(),
        ))
    }
}

/// Numbers of entries for times, by steps of the period.
fn numbered(times_s: impl Iterator<Item = f64>, period_s: f64) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::with_capacity(KEPT);
    for time in times_s {
        let number = match found.last() {
            None => 0.0,
            Some((number, before)) => number + ((time - before) / period_s).round().max(1.0),
        };
        found.push((number, time));
    }
    found
}

/// What the first taps say: the median slope over all pairs and the median beginning (Theil-Sen)
/// tell which of them lie where an entry is; those are followed from the first one on.
fn begun(points: &[(f64, f64)]) -> Option<StrokeEstimate> {
    let period_s = theil_sen(points)?;
    let begins: Vec<f64> = points.iter().map(|(n, t)| t - n * period_s).collect();
    let begin = median(&begins)?;
    let due = |n: f64| begin + n * period_s;
    let mut regular = points
        .iter()
        .filter(|(n, t)| (t - due(*n)).abs() <= STRANGE * period_s);
    let &(first, time_s) = regular.next()?;
    let track = StrokeEstimate::new(first, due(first), period_s).tapped(time_s);
    Some(regular.fold(track, |track, &(n, time_s)| {
        track.ahead((n - track.entry) as u32).tapped(time_s)
    }))
}

#[cfg(test)]
mod tests;
