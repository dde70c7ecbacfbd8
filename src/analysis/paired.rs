//! What differences between paired swims say: how large, how sure.
//!
//! In: differences, one a pair, and for several outcomes of the same pairs an empty place where
//! one was not noted. Out: Hodges-Lehmann estimate with its exact interval, exact P of the
//! sign-flip test, of each outcome alone and of all together. Nothing here is random but the
//! sign-flip test of more than [`EXACT_PAIRS`] pairs, which starts at a fixed seed.
//!
//! Differences are kept as whole billionths, so that ties are ties: a log has at most 9 decimals.

use super::random::Draw;

/// Up to so many pairs every one of the 2ⁿ ways to set the signs is counted.
pub const EXACT_PAIRS: usize = 20;
/// More pairs than anyone swims; sums of so many differences fit 64 bits.
pub const MOST_PAIRS: usize = 2000;
/// Beyond [`EXACT_PAIRS`], so many are drawn.
pub const DRAWS: u64 = 99_999;
/// The seed of those draws: the same log always gives the same P.
pub const DRAWS_SEED: u64 = 1;

/// The two tails that a 95 % interval leaves, each.
const TAIL: f64 = 0.025;

/// Where the middle of the differences lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Middle {
    /// Hodges-Lehmann estimate: the median of all Walsh averages (of every two differences, and
    /// of each with itself).
    pub value: f64,
    /// Distribution-free interval of at least 95 %: the signed-rank test turned round. Closed.
    /// None for fewer than six differences: no interval reaches 95 %.
    pub interval: Option<(f64, f64)>,
}

/// Hodges-Lehmann estimate and interval; none without differences.
///
/// Memory grows with the square of the number of differences: meant for up to [`MOST_PAIRS`].
pub fn hodges_lehmann(differences: &[f64]) -> Option<Middle> {
    let whole = billionths(differences);
    // Twice the Walsh averages: sums stay whole.
    let mut sums: Vec<i64> = (whole.iter().enumerate())
        .flat_map(|(at, one)| whole[at..].iter().map(move |other| one + other))
        .collect();
    sums.sort_unstable();
    let middle = sums.len().checked_sub(1)? / 2;
    let half = |sum: i64| sum as f64 / 2e9;
    let value = match sums.len() % 2 {
        1 => half(sums[middle]),
        _ => (sums[middle] + sums[middle + 1]) as f64 / 4e9,
    };
    let interval = outermost_rejected(whole.len())
        .map(|rank_sum| (half(sums[rank_sum]), half(sums[sums.len() - 1 - rank_sum])));
    Some(Middle { value, interval })
}

/// The largest signed-rank sum whose lower tail is at most [`TAIL`]: at n = 6 it is 0, at n = 8
/// it is 3. None where not even the sum 0 is that rare.
fn outermost_rejected(n: usize) -> Option<usize> {
    let ranks: Vec<usize> = (1..=n).collect();
    let mut tail = 0.0;
    (tail_chances(&ranks).into_iter())
        .take_while(|chance| {
            tail += chance;
            tail <= TAIL
        })
        .count()
        .checked_sub(1)
}

/// The chance of each sum, from 0 to half the largest, when each rank counts with chance 1/2.
fn tail_chances(ranks: &[usize]) -> Vec<f64> {
    let half = ranks.iter().sum::<usize>() / 2;
    let mut chances = vec![0.0; half + 1];
    chances[0] = 1.0;
    for &rank in ranks {
        for sum in (0..=half).rev() {
            let with = sum.checked_sub(rank).map_or(0.0, |rest| chances[rest]);
            chances[sum] = (chances[sum] + with) / 2.0;
        }
    }
    chances
}

/// Wilcoxon's signed-rank test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignedRank {
    /// The smaller of the two rank sums.
    pub w: f64,
    /// Two-sided P, exact also where ranks are tied.
    pub p: f64,
}

/// Wilcoxon's signed-rank test: differences of nothing left out, ties sharing their mean rank.
/// None where every difference is nothing.
pub fn signed_rank(differences: &[f64]) -> Option<SignedRank> {
    let mut whole = billionths(differences);
    whole.retain(|difference| *difference != 0);
    whole.sort_unstable_by_key(|difference| difference.abs());
    // Twice the mean ranks: whole.
    let mut ranks = Vec::with_capacity(whole.len());
    for tied in whole.chunk_by(|one, next| one.abs() == next.abs()) {
        let (first, last) = (ranks.len() + 1, ranks.len() + tied.len());
        ranks.extend(std::iter::repeat_n(first + last, tied.len()));
    }
    let all: usize = ranks.iter().sum();
    let positive: usize = (whole.iter().zip(&ranks))
        .filter_map(|(difference, rank)| (*difference > 0).then_some(*rank))
        .sum();
    let smaller = positive.min(all - positive);
    let tail: f64 = tail_chances(&ranks).iter().take(smaller + 1).sum();
    (!ranks.is_empty()).then_some(SignedRank {
        w: smaller as f64 / 2.0,
        p: (2.0 * tail).min(1.0),
    })
}

/// What the sign-flip test says of several outcomes of the same pairs.
#[derive(Debug, Clone, PartialEq)]
pub struct Flips {
    /// Two-sided P of each outcome by itself.
    pub alone: Vec<f64>,
    /// P of each outcome where all are looked at: calling an outcome when this is at most 0.05
    /// calls anything at all, in trials without any difference, at most once in twenty.
    pub together: Vec<f64>,
    /// How many ways were counted; drawn rather than counted if not `exact`.
    pub ways: u64,
    /// Whether every way to set the signs was counted.
    pub exact: bool,
}

/// The sign-flip (paired permutation) test: if the pairings make no difference, each pair's
/// differences could as well have the other sign. P is the share of all ways to set the signs in
/// which the sum is at least as far from nothing as the sum observed.
///
/// A pair flips as a whole, in all outcomes at once. `together` is the step-down maximum of the
/// sums over their root sums of squares (Westfall & Young, Resampling-based multiple testing,
/// 1993, from memory): it holds whatever the outcomes have to do with each other.
///
/// Each outcome has one place a pair, empty where it was not noted.
///
/// # Panics
/// When the outcomes differ in their number of pairs, or have more than [`MOST_PAIRS`].
pub fn sign_flip(outcomes: &[Vec<Option<f64>>]) -> Flips {
    let pairs = outcomes.first().map_or(0, Vec::len);
    assert!(pairs <= MOST_PAIRS, "{pairs} pairs");
    let columns: Vec<Vec<i64>> = (outcomes.iter())
        .map(|outcome| {
            assert_eq!(outcome.len(), pairs, "outcomes of the same pairs");
            // What was not noted flips without a trace.
            let noted: Vec<f64> = outcome.iter().map(|d| d.unwrap_or(0.0)).collect();
            billionths(&noted)
        })
        .collect();
    let mut tally = Tally::new(&columns);
    let exact = pairs <= EXACT_PAIRS;
    if exact {
        every_way(&columns, pairs, &mut tally)
    } else {
        some_ways(&columns, pairs, &mut tally)
    }
    Flips {
        alone: tally.alone(),
        together: tally.together(),
        ways: tally.ways,
        exact,
    }
}

/// Goes through all signs in Gray code, one flip a step. Turning all signs at once changes no
/// distance from nothing, so the last sign can stay.
fn every_way(columns: &[Vec<i64>], pairs: usize, tally: &mut Tally) {
    let mut flipped = vec![false; pairs];
    let mut sums = tally.observed.clone();
    tally.count(&sums);
    for step in 1..1u64 << pairs.saturating_sub(1) {
        let pair = step.trailing_zeros() as usize;
        for (sum, column) in sums.iter_mut().zip(columns) {
            let change = 2 * column[pair];
            *sum += if flipped[pair] { change } else { -change };
        }
        flipped[pair] = !flipped[pair];
        tally.count(&sums);
    }
}

/// Draws signs. The signs observed count as one draw, so that no P is ever 0 and none too small.
fn some_ways(columns: &[Vec<i64>], pairs: usize, tally: &mut Tally) {
    let mut draw = Draw::new(DRAWS_SEED);
    let mut sums = tally.observed.clone();
    tally.count(&sums);
    let mut words = vec![0u64; pairs.div_ceil(64)];
    for _ in 0..DRAWS {
        words.fill_with(|| draw.bits());
        for (sum, column) in sums.iter_mut().zip(columns) {
            *sum = (column.iter().enumerate())
                .map(|(pair, d)| {
                    if words[pair / 64] >> (pair % 64) & 1 == 1 {
                        -d
                    } else {
                        *d
                    }
                })
                .sum();
        }
        tally.count(&sums);
    }
}

/// Counts how often flipped sums are as far out as those observed.
struct Tally {
    observed: Vec<i64>,
    /// One over the root sum of squares, which no flip changes; 0 where all is nothing.
    scale: Vec<f64>,
    /// The outcomes from the clearest to the least clear.
    order: Vec<usize>,
    ways: u64,
    alone: Vec<u64>,
    /// By place in `order`.
    together: Vec<u64>,
}

/// Two outcomes that only differ in their unit must tie, whatever the last bit says.
const SLACK: f64 = 1.0 - 1e-12;

impl Tally {
    fn new(columns: &[Vec<i64>]) -> Self {
        let observed: Vec<i64> = columns.iter().map(|column| column.iter().sum()).collect();
        let scale: Vec<f64> = (columns.iter())
            .map(|column| column.iter().map(|d| (*d as f64).powi(2)).sum::<f64>())
            .map(|squares| {
                if squares > 0.0 {
                    squares.sqrt().recip()
                } else {
                    0.0
                }
            })
            .collect();
        let clear = |at: usize| observed[at].unsigned_abs() as f64 * scale[at];
        let mut order: Vec<usize> = (0..columns.len()).collect();
        order.sort_by(|one, other| clear(*other).total_cmp(&clear(*one)));
        let none = vec![0; columns.len()];
        Self {
            observed,
            scale,
            order,
            ways: 0,
            alone: none.clone(),
            together: none,
        }
    }

    fn count(&mut self, sums: &[i64]) {
        self.ways += 1;
        let mut farthest = 0.0_f64;
        for (place, &at) in self.order.iter().enumerate().rev() {
            let (sum, observed) = (sums[at].unsigned_abs(), self.observed[at].unsigned_abs());
            self.alone[at] += u64::from(sum >= observed);
            farthest = farthest.max(sum as f64 * self.scale[at]);
            let observed = observed as f64 * self.scale[at];
            self.together[place] += u64::from(farthest >= observed * SLACK);
        }
    }

    fn alone(&self) -> Vec<f64> {
        let share = |count: &u64| *count as f64 / self.ways as f64;
        self.alone.iter().map(share).collect()
    }

    fn together(&self) -> Vec<f64> {
        let mut shares = vec![1.0; self.order.len()];
        let mut least = 0.0_f64;
        for (count, &at) in self.together.iter().zip(&self.order) {
            least = least.max(*count as f64 / self.ways as f64);
            shares[at] = least;
        }
        shares
    }
}

/// Whole billionths; what is beyond ± 1e6, which no swim reaches, counts as 1e6.
fn billionths(values: &[f64]) -> Vec<i64> {
    let whole = |value: &f64| (value.clamp(-1e6, 1e6) * 1e9).round() as i64;
    values.iter().map(whole).collect()
}

#[cfg(test)]
mod tests;
