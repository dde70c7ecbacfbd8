//! A phone's clock held against the program's own, so that a moment keeps its time however late
//! the link delivers it.
//!
//! The program asks and the phone answers. Offset and round trip are those of RFC 5905 (Network
//! Time Protocol, version 4), section 8, "On-Wire Protocol". As its clock filter does (section 10),
//! the exchange of the least round trip counts, here one of every four seconds, since what waited
//! least says most. A line through these, weighted by how long each waited, is offset and drift.
//! Everything in milliseconds.

use std::collections::VecDeque;

/// Of exchanges in this time the one of the least round trip counts, ms.
const WINDOW_MS: f64 = 4_000.0;
/// As many of them are kept: three minutes.
const KEPT: usize = 45;
/// How well an exchange that waited for nothing is known, ms: clocks of a browser are read to a
/// tenth of a millisecond or to a whole one, as the browser likes.
const FINEST_MS: f64 = 1.0;
/// What is known of a drift before it was measured, as one standard deviation. Quartz clocks keep
/// to 100 parts in a million (common practice, no source).
const DRIFT: f64 = 100e-6;
/// Exchanges before a clock is known.
const FEWEST: usize = 3;
/// Half of the most by which the ways there and back may differ, ms. No exchange can see it: it
/// is what is assumed of the link.
const HALF_UNEVEN_MS: f64 = 10.0;
/// A moment that may be wrong by more is not vouched for, ms.
const VOUCHED_MS: f64 = 15.0;

/// A question and its answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchange {
    /// When the program asked, on its own clock.
    pub asked_ms: f64,
    /// When the phone got it, on the phone's clock.
    pub got_ms: f64,
    /// When the phone answered, on the phone's clock.
    pub answered_ms: f64,
    /// When the answer came, on the program's clock.
    pub came_ms: f64,
}

impl Exchange {
    /// How far the program's clock is ahead of the phone's.
    fn offset_ms(&self) -> f64 {
        ((self.asked_ms - self.got_ms) + (self.came_ms - self.answered_ms)) / 2.0
    }

    /// How long the link took, both ways.
    fn round_trip_ms(&self) -> f64 {
        (self.came_ms - self.asked_ms) - (self.answered_ms - self.got_ms)
    }
}

/// One of a window's exchanges, the one that waited least.
#[derive(Debug, Clone, Copy)]
struct Best {
    window: i64,
    phone_ms: f64,
    offset_ms: f64,
    round_trip_ms: f64,
}

/// What is known of one phone's clock.
#[derive(Debug, Clone, Default)]
pub struct PhoneClock {
    bests: VecDeque<Best>,
    exchanges: usize,
}

/// Offset and drift, as a line through the best of the exchanges.
struct Line {
    /// The middle of the exchanges on the phone's clock, and how far the program's is ahead there.
    middle_ms: f64,
    offset_ms: f64,
    drift: f64,
    /// What a moment away from the middle may be wrong by is made of these.
    scatter: f64,
    weight: f64,
    spread: f64,
}

impl Line {
    fn place(&self, phone_ms: f64) -> Placed {
        let away = phone_ms - self.middle_ms;
        let deviation = (self.scatter * (1.0 / self.weight + away * away / self.spread)).sqrt();
        Placed {
            at_ms: phone_ms + self.offset_ms + self.drift * away,
            within_ms: HALF_UNEVEN_MS + 2.0 * deviation,
        }
    }

    /// Until when its moments may be taken as they are, on the phone's clock; long ago where none may.
    fn sure_until_ms(&self) -> f64 {
        let most = ((VOUCHED_MS - HALF_UNEVEN_MS) / 2.0).powi(2) / self.scatter - 1.0 / self.weight;
        self.middle_ms + most.signum() * (most.abs() * self.spread).sqrt()
    }
}

/// A phone's moment on the program's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// When it was.
    pub at_ms: f64,
    /// By how much that may be wrong, at 95 %, where the ways there and back differ by at most 20 ms.
    pub within_ms: f64,
}

impl Placed {
    /// Whether it may be taken as it is.
    pub fn is_vouched_for(self) -> bool {
        self.within_ms <= VOUCHED_MS
    }
}

impl PhoneClock {
    /// Takes an exchange; one that cannot have been is left out.
    pub fn take(&mut self, exchange: Exchange) {
        let round_trip_ms = exchange.round_trip_ms();
        let holds = exchange.answered_ms >= exchange.got_ms && round_trip_ms >= 0.0;
        if !holds || !exchange.offset_ms().is_finite() {
            return;
        }
        self.forget_if_moved(&exchange);
        self.exchanges += 1;
        let best = Best {
            window: (exchange.asked_ms / WINDOW_MS) as i64,
            phone_ms: (exchange.got_ms + exchange.answered_ms) / 2.0,
            offset_ms: exchange.offset_ms(),
            round_trip_ms,
        };
        match self.bests.back_mut() {
            Some(last) if last.window == best.window => {
                if best.round_trip_ms < last.round_trip_ms {
                    *last = best;
                }
            }
            _ => {
                if self.bests.len() == KEPT {
                    self.bests.pop_front();
                }
                self.bests.push_back(best);
            }
        }
    }

    /// A phone's clock may stand while the phone sleeps. The true offset is within half a round trip
    /// of an exchange's: where what was known before lies outside of that, it holds no more.
    fn forget_if_moved(&mut self, exchange: &Exchange) {
        let Some(known) = self.place(exchange.got_ms) else {
            return;
        };
        let beside_ms = (known.at_ms - exchange.got_ms - exchange.offset_ms()).abs();
        if beside_ms > exchange.round_trip_ms() / 2.0 + 2.0 * known.within_ms {
            *self = Self::default();
        }
    }

    /// How well a moment of the program's clock is known on the phone's.
    pub fn known_at(&self, program_ms: f64) -> Option<Placed> {
        self.place(program_ms - self.bests.back()?.offset_ms)
    }

    /// For how long after a moment of the program's clock moments may still be taken as they are, without
    /// another exchange, ms; 0 where they may not.
    pub fn sure_for_ms(&self, program_ms: f64) -> f64 {
        let last = self.bests.back().zip(self.line());
        last.map_or(0.0, |(last, line)| {
            (line.sure_until_ms() - (program_ms - last.offset_ms)).max(0.0)
        })
    }

    /// A moment of the phone's on the program's clock; none before there were three exchanges.
    pub fn place(&self, phone_ms: f64) -> Option<Placed> {
        self.line().map(|line| line.place(phone_ms))
    }

    fn line(&self) -> Option<Line> {
        if self.exchanges < FEWEST {
            return None;
        }
        let least = (self.bests.iter()).map(|best| best.round_trip_ms);
        let least = least.fold(f64::INFINITY, f64::min);
        let weighed = self.bests.iter().map(|best| {
            let may_err = FINEST_MS + (best.round_trip_ms - least) / 2.0;
            (may_err.powi(-2), best)
        });
        let sum = |of: &dyn Fn(&Best) -> f64| -> f64 {
            weighed
                .clone()
                .map(|(weight, best)| weight * of(best))
                .sum()
        };
        let weight = sum(&|_| 1.0);
        let middle = sum(&|best| best.phone_ms) / weight;
        let offset = sum(&|best| best.offset_ms) / weight;
        // The line of least squares, where the drift is also known to be small.
        let spread = sum(&|best| (best.phone_ms - middle).powi(2)) + DRIFT.powi(-2);
        let drift = sum(&|best| (best.phone_ms - middle) * (best.offset_ms - offset)) / spread;
        let beside =
            sum(&|best| (best.offset_ms - offset - drift * (best.phone_ms - middle)).powi(2));
        let scatter = beside / (self.bests.len() as f64 - 2.0).max(1.0);
        Some(Line {
            middle_ms: middle,
            offset_ms: offset,
            drift,
            scatter: scatter.max(1.0),
            weight,
            spread,
        })
    }
}

#[cfg(test)]
mod tests;
