//! What differences between paired swims say: how large, how sure.
//!
//! In: differences, one a pair. Out: Hodges-Lehmann estimate with its exact interval, exact P of
//! the sign-flip test. Nothing here is random but the sign-flip test of more than [`EXACT_PAIRS`]
//! pairs, which starts at a fixed seed.
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

/// What the sign-flip test says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flips {
    /// Two-sided P.
    pub p: f64,
    /// How many ways were counted; drawn rather than counted if not `exact`.
    pub ways: u64,
    /// Whether every way to set the signs was counted.
    pub exact: bool,
}

/// The sign-flip (paired permutation) test: if nothing differs, each difference could as well have
/// the other sign. P is the share of all ways to set the signs in which the sum is at least as far
/// from nothing as the sum observed; 1 without differences.
///
/// # Panics
/// When there are more than [`MOST_PAIRS`].
pub fn sign_flip(differences: &[f64]) -> Flips {
    let pairs = differences.len();
    assert!(pairs <= MOST_PAIRS, "{pairs} pairs");
    let whole = billionths(differences);
    let exact = pairs <= EXACT_PAIRS;
    let (as_far, ways) = if exact {
        every_way(&whole)
    } else {
        some_ways(&whole)
    };
    Flips {
        p: as_far as f64 / ways as f64,
        ways,
        exact,
    }
}

/// How many ways are as far out as the signs observed, and how many there are: all signs in Gray
/// code, one flip a step. Turning all signs at once changes no distance from nothing, so the last
/// sign can stay.
fn every_way(differences: &[i64]) -> (u64, u64) {
    let observed: i64 = differences.iter().sum();
    let mut signed = differences.to_vec();
    let (mut sum, mut as_far) = (observed, 1);
    let ways = 1u64 << differences.len().saturating_sub(1);
    for step in 1..ways {
        let turned = &mut signed[step.trailing_zeros() as usize];
        sum -= 2 * *turned;
        *turned = -*turned;
        as_far += u64::from(sum.abs() >= observed.abs());
    }
    (as_far, ways)
}

/// The same of ways that are drawn. The signs observed count as one draw, so that no P is ever 0
/// and none too small.
fn some_ways(differences: &[i64]) -> (u64, u64) {
    let observed: i64 = differences.iter().sum();
    let mut draw = Draw::new(DRAWS_SEED);
    let mut words = vec![0u64; differences.len().div_ceil(64)];
    let drawn = (0..DRAWS).filter(|_| {
        words.fill_with(|| draw.bits());
        let turned = |pair: usize| words[pair / 64] >> (pair % 64) & 1 == 1;
        let signed = |(pair, d): (usize, &i64)| if turned(pair) { -d } else { *d };
        let sum: i64 = differences.iter().enumerate().map(signed).sum();
        sum.abs() >= observed.abs()
    });
    (1 + drawn.count() as u64, 1 + DRAWS)
}

/// Whole billionths; what is beyond ± 1e6, which no swim reaches, counts as 1e6.
pub(super) fn billionths(values: &[f64]) -> Vec<i64> {
    let whole = |value: &f64| (value.clamp(-1e6, 1e6) * 1e9).round() as i64;
    values.iter().map(whole).collect()
}

#[cfg(test)]
mod tests;
