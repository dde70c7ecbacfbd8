//! The exact group-sequential sign-flip test: one question about paired differences, asked again
//! after more pairs, and answered falsely at most once in twenty over all the looks together.
//!
//! In: differences in whole billionths, in the order in which they came, and after how many of
//! them they are looked at. Out: the look at which "no difference" is given up.
//!
//! If nothing differs, each difference could as well have the other sign. Of all ways to set the
//! signs, each look gives up those with the farthest sums, as many as it may by then; what was
//! given up once stays so. A look may reach 0.05 (n / N)^1.5 of the ways after n of N pairs
//! (alpha spending: Lan & DeMets 1983, from memory). Where more than [`EXACT_PAIRS`] pairs may be
//! swum, the ways are drawn and not all counted.

use super::paired::{DRAWS, DRAWS_SEED, EXACT_PAIRS};
use super::random::Draw;

/// Of so many ways all looks together may give up.
pub const LEVEL: f64 = 0.05;
/// Sums count at most so many times the middle difference: one wild time decides nothing.
/// It depends on the sizes alone, so that the test stays exact.
const CAP: (i64, i64) = (5, 2);

/// Which sums are far out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tails {
    /// Large ones of either sign: "there is no difference".
    Both,
    /// Large ones above nothing: "it is not above nothing".
    Upper,
}

/// The share of the ways that may be given up after so many pairs of the most.
pub fn spent(pairs: usize, most: usize) -> f64 {
    let share = pairs as f64 / most as f64;
    LEVEL * share * share.sqrt()
}

/// The pairs at the first look that gives up "no difference", of the looks that so many
/// differences reach; none where none does. `looks` rise; the last has the most pairs.
///
/// # Panics
/// When `looks` has more than 64 pairs.
pub fn given_up_at(differences: &[i64], looks: &[usize], tails: Tails) -> Option<usize> {
    let most = looks.last().copied()?;
    assert!(most <= 64, "{most} pairs");
    let reached: Vec<usize> = (looks.iter().copied())
        .take_while(|pairs| *pairs <= differences.len())
        .collect();
    let mut alive = Alive::of(most);
    for (place, &pairs) in reached.iter().enumerate() {
        let look = alive.look(&capped(&differences[..pairs]), tails);
        let allowed = alive.allowed(pairs, most);
        if look.as_far_as_observed() <= allowed {
            return Some(pairs);
        }
        if place + 1 < reached.len() {
            alive = alive.without_farthest(&look, allowed);
        }
    }
    None
}

/// Differences of which none counts more than 2.5 times the median size.
pub fn capped(differences: &[i64]) -> Vec<i64> {
    let mut sizes: Vec<i64> = differences.iter().map(|d| d.abs()).collect();
    sizes.sort_unstable();
    let Some(last) = sizes.len().checked_sub(1) else {
        return Vec::new();
    };
    let twice_median = sizes[last / 2] + sizes[sizes.len() / 2];
    let cap = twice_median * CAP.0 / CAP.1 / 2;
    differences.iter().map(|d| (*d).clamp(-cap, cap)).collect()
}

/// The ways to set the signs that no look has given up yet.
struct Alive {
    /// Bit i set: the sign of difference i is turned. The first way turns none.
    patterns: Vec<u64>,
    /// So many signs are told by a pattern; it stands for all ways to set the later ones.
    told: usize,
    /// How many ways there are where they are drawn; none where all are counted.
    drawn: Option<usize>,
}

/// More signs than that are not spread out behind one pattern.
const MOST_SPREAD: usize = 10;

impl Alive {
    fn of(most: usize) -> Self {
        if most <= EXACT_PAIRS {
            return Self {
                patterns: vec![0],
                told: 0,
                drawn: None,
            };
        }
        let mut draw = Draw::new(DRAWS_SEED);
        // The signs observed count as one draw: no answer is surer than the draws can be.
        let patterns: Vec<u64> = std::iter::once(0)
            .chain((0..DRAWS).map(|_| draw.bits()))
            .collect();
        Self {
            drawn: Some(patterns.len()),
            told: 64,
            patterns,
        }
    }

    /// How many ways still alive this look may give up.
    fn allowed(&self, pairs: usize, most: usize) -> usize {
        let spread = pairs.saturating_sub(self.told);
        let ways = self.drawn.unwrap_or(1 << pairs);
        // The sum is whole in exact numbers where the share is.
        let may = (spent(pairs, most) * ways as f64 + 1e-9).floor() as usize;
        may.saturating_sub(ways - (self.patterns.len() << spread))
    }

    /// The sums of all ways alive; patterns first tell more signs where too many are open.
    fn look(&mut self, differences: &[i64], tails: Tails) -> Look {
        while differences.len().saturating_sub(self.told) > MOST_SPREAD {
            let next = 1 << self.told;
            self.patterns = (self.patterns.iter())
                .flat_map(|pattern| [*pattern, pattern | next])
                .collect();
            self.told += 1;
        }
        let told = self.told.min(differences.len());
        let tables = tables(&differences[..told]);
        let spread = all_sums(&differences[told..]);
        let mut sorted = spread.clone();
        sorted.sort_unstable();
        Look {
            told: (self.patterns.iter())
                .map(|pattern| sum_by(&tables, *pattern))
                .collect(),
            spread,
            sorted,
            tails,
        }
    }

    /// Gives up the farthest, at most as many as allowed; ways that are equally far go together
    /// or not at all.
    fn without_farthest(&self, look: &Look, allowed: usize) -> Self {
        let far = |told: &i64, spread: &i64| look.tails.far(told + spread);
        let mut all: Vec<i64> = (look.told.iter())
            .flat_map(|told| look.spread.iter().map(move |spread| far(told, spread)))
            .collect();
        let farthest_kept = match allowed {
            _ if allowed >= all.len() => i64::MIN,
            _ => {
                *all.select_nth_unstable_by(allowed, |one, other| other.cmp(one))
                    .1
            }
        };
        let mut patterns = Vec::new();
        for (pattern, told) in self.patterns.iter().zip(&look.told) {
            for (later, spread) in look.spread.iter().enumerate() {
                if far(told, spread) <= farthest_kept {
                    // Nothing is spread where a pattern tells all signs.
                    patterns
                        .push(pattern | (later as u64).checked_shl(self.told as u32).unwrap_or(0));
                }
            }
        }
        Self {
            patterns,
            told: self.told + look.spread.len().trailing_zeros() as usize,
            drawn: self.drawn,
        }
    }
}

impl Tails {
    fn far(self, sum: i64) -> i64 {
        match self {
            Self::Both => sum.abs(),
            Self::Upper => sum,
        }
    }
}

/// The sums of the ways alive at one look: each is one of `told` and one of `spread`.
struct Look {
    /// By pattern: the sum of the differences whose signs it tells.
    told: Vec<i64>,
    /// The sums of the others, by the bits of their signs.
    spread: Vec<i64>,
    /// `spread`, rising.
    sorted: Vec<i64>,
    tails: Tails,
}

impl Look {
    /// How many ways alive are as far out as the signs observed.
    fn as_far_as_observed(&self) -> usize {
        // Which are alive themselves: else an earlier look would have ended it.
        let observed = self.tails.far(self.told[0] + self.spread[0]);
        let below = |sum: i64| self.sorted.partition_point(|spread| *spread < sum);
        let above = |told: &i64| self.sorted.len() - below(observed - told);
        match self.tails {
            Tails::Both if observed == 0 => self.told.len() * self.sorted.len(),
            // As far below nothing, too.
            Tails::Both => (self.told.iter())
                .map(|told| above(told) + below(1 - observed - told))
                .sum(),
            Tails::Upper => self.told.iter().map(above).sum(),
        }
    }
}

/// The sum of some differences with any signs, looked up eight signs at a time.
fn tables(differences: &[i64]) -> Vec<Vec<i64>> {
    differences.chunks(8).map(all_sums).collect()
}

fn sum_by(tables: &[Vec<i64>], pattern: u64) -> i64 {
    (tables.iter().enumerate())
        .map(|(place, table)| table[(pattern >> (8 * place)) as usize & (table.len() - 1)])
        .sum()
}

/// The sums with every way to set the signs, by its bits.
fn all_sums(differences: &[i64]) -> Vec<i64> {
    let mut sums = vec![0];
    for difference in differences {
        let turned: Vec<i64> = sums.iter().map(|sum| sum - difference).collect();
        sums.iter_mut().for_each(|sum| *sum += difference);
        sums.extend(turned);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_level_grows_with_the_pairs() {
        // By hand: 0.05 (8/20)^1.5 = 0.01265: 3 of 256 ways, and they come in twos.
        assert!((spent(8, 20) - 0.012_649_110_6).abs() < 1e-9);
        assert!((spent(20, 20) - LEVEL).abs() < 1e-15);
        let clear: Vec<i64> = (100..108).collect();
        assert_eq!(given_up_at(&clear, &[8, 12, 16, 20], Tails::Both), Some(8));
        // The one nearest to nothing turned: 4 of 256 ways are as far out.
        let mut less = clear.clone();
        less[0] = -100;
        assert_eq!(given_up_at(&less, &[8, 12, 16, 20], Tails::Both), None);
        assert_eq!(given_up_at(&less, &[8], Tails::Both), Some(8));
        assert_eq!(given_up_at(&less, &[8, 12, 16, 20], Tails::Upper), Some(8));
    }

    #[test]
    fn five_pairs_are_too_few_and_six_may_do() {
        for pairs in 1..=7 {
            let equal: Vec<i64> = vec![10; pairs];
            let found = given_up_at(&equal, &[pairs], Tails::Both);
            assert_eq!(found, Some(pairs).filter(|_| pairs >= 6), "{pairs}");
        }
    }

    #[test]
    fn nothing_at_all_is_never_given_up() {
        assert_eq!(given_up_at(&[0; 20], &[8, 12, 16, 20], Tails::Both), None);
        assert_eq!(given_up_at(&[0; 20], &[8, 12, 16, 20], Tails::Upper), None);
        assert_eq!(given_up_at(&[5; 20], &[], Tails::Both), None);
        assert_eq!(given_up_at(&[], &[8], Tails::Both), None);
    }

    #[test]
    fn a_wild_time_counts_no_more_than_a_large_one() {
        assert_eq!(capped(&[4, -8, 6, 1000]), [4, -8, 6, 17]);
        assert_eq!(capped(&[-3]), [-3]);
        assert!(capped(&[]).is_empty());
    }

    #[test]
    fn drawn_ways_agree_with_counted_ones() {
        // Beyond twenty pairs the ways are drawn. Clear differences are seen at the first look
        // that lets as many ways go as they leave; noise is not.
        let clear: Vec<i64> = (100..140).collect();
        // By hand: 2 of 256 ways are 781 of 100 000, where 447 may go; 2 of 2^16 are about 3.
        assert_eq!(given_up_at(&clear, &[8, 16, 40], Tails::Both), Some(16));
        let noise: Vec<i64> = (0..40)
            .map(|n| if n % 2 == 0 { 100 } else { -101 })
            .collect();
        assert_eq!(given_up_at(&noise, &[8, 16, 24, 32, 40], Tails::Both), None);
    }
}
