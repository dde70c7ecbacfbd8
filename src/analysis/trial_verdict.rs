//! What a trial decides: which pairing was faster, by time alone.
//!
//! In: how many per cent slower the same-side swim of each pair was, in the order in which they
//! were swum, and the looks that were drawn. Out: a verdict that is false at most once in twenty,
//! however many of the looks were taken, and the sizes that are not ruled out.
//!
//! At one cued rate strokes follow time, and effort is felt by someone who knows which pairing it
//! was: neither decides. No verdict ever says that a pairing is bad.

use super::paired::{billionths, hodges_lehmann};
use super::sequential::{Tails, capped, given_up_at};
use super::trial::{Pair, Reading};
use crate::model::kick::Pairing;
use crate::model::trial_looks::TrialLooks;

/// What came of a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrialVerdict {
    /// The log does not say how many pairs were drawn.
    NotDrawn,
    /// Its rows say different things about it.
    DrawnTwice,
    /// There are more pairs than were drawn.
    TooMany,
    /// Nobody saw whether the kick followed the cue.
    NotConfirmed,
    /// Nothing yet: the next look is after so many pairs.
    NotYet {
        /// So many pairs in all.
        next: usize,
    },
    /// All looks are taken, and none told.
    Undecided,
    /// No difference worth having: the margin is ruled out on both sides.
    NoDifference,
    /// This pairing took less time.
    Faster {
        /// Which.
        pairing: Pairing,
        /// By less than the margin: a larger difference was ruled out at the same look.
        under_margin: bool,
    },
}

impl TrialVerdict {
    /// The word in JSON; none where nothing was decided because nothing could be.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::NotDrawn | Self::DrawnTwice | Self::TooMany => None,
            Self::NotConfirmed => Some("not confirmed"),
            Self::NotYet { .. } => Some("not yet"),
            Self::Undecided => Some("undecided"),
            Self::NoDifference => Some("no difference worth having"),
            Self::Faster { pairing, .. } => Some(pairing.word()),
        }
    }
}

/// A verdict, and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialDecision {
    /// The verdict.
    pub verdict: TrialVerdict,
    /// By how many per cent same-side was slower, 100 ln of the times' ratio, one a timed pair.
    pub differences_percent: Vec<f64>,
    /// The pairs of the last look that was taken; 0 before the first. Later pairs change nothing
    /// once something was called.
    pub looked_at: usize,
    /// Hodges-Lehmann middle of those pairs, or of all where there was no look: by how many per
    /// cent same-side was slower.
    pub percent: Option<f64>,
    /// The sizes that no look has ruled out, per cent: holds in 95 of 100 trials whenever it is
    /// read. None before the first look, and where nothing can be ruled out yet.
    pub interval_percent: Option<(f64, f64)>,
}

/// Decides a trial. `drawn` is what its rows say about looks, each once; `reading` describes the
/// same pairs.
pub fn decide(pairs: &[Pair], drawn: &[TrialLooks], reading: &Reading) -> TrialDecision {
    let differences: Vec<f64> = pairs.iter().filter_map(Pair::time_percent).collect();
    let numbers = |verdict| TrialDecision {
        verdict,
        looked_at: 0,
        percent: hodges_lehmann(&differences).map(|middle| middle.value),
        interval_percent: None,
        differences_percent: differences.clone(),
    };
    match drawn {
        [] => numbers(TrialVerdict::NotDrawn),
        [looks] if differences.len() > looks.most() => numbers(TrialVerdict::TooMany),
        [_] if !pairs.is_empty() && !reading.confirmed => numbers(TrialVerdict::NotConfirmed),
        [looks] => decide_by_time(&differences, looks),
        _ => numbers(TrialVerdict::DrawnTwice),
    }
}

/// Decides by the differences in time alone, per cent.
pub fn decide_by_time(differences: &[f64], looks: &TrialLooks) -> TrialDecision {
    let (verdict, looked_at) = call(differences, looks);
    let all = billionths(differences);
    let seen = &all[..looked_at];
    let middle = if looked_at > 0 { seen } else { &all[..] };
    TrialDecision {
        verdict,
        differences_percent: differences.to_vec(),
        looked_at,
        percent: middle_of(middle).map(percent),
        interval_percent: interval(seen, looks.at()).map(|(lo, hi)| (percent(lo), percent(hi))),
    }
}

/// The verdict of [`decide_by_time`], and the pairs of the last look that was taken.
pub fn call(differences: &[f64], looks: &TrialLooks) -> (TrialVerdict, usize) {
    let all = billionths(differences);
    let at = looks.at();
    let margin = billionths(&[looks.margin_percent()])[0];
    let differs = given_up_at(&all, at, Tails::Both);
    let above: Vec<i64> = all.iter().map(|d| margin + d).collect();
    let below: Vec<i64> = all.iter().map(|d| margin - d).collect();
    // Both sides of the margin are ruled out at the later of the two looks.
    let within = given_up_at(&above, at, Tails::Upper)
        .zip(given_up_at(&below, at, Tails::Upper))
        .map(|(above, below)| above.max(below));
    match (differs, within) {
        (Some(differs), within) if within.is_none_or(|within| differs <= within) => {
            let slower: i64 = capped(&all[..differs]).iter().sum();
            let pairing = if slower < 0 {
                Pairing::SameSide
            } else {
                Pairing::OppositeSide
            };
            let under_margin = within == Some(differs);
            let faster = TrialVerdict::Faster {
                pairing,
                under_margin,
            };
            (faster, differs)
        }
        (_, Some(within)) => (TrialVerdict::NoDifference, within),
        _ => {
            let reached = at.partition_point(|pairs| *pairs <= all.len());
            let looked_at = reached.checked_sub(1).map_or(0, |last| at[last]);
            match at.get(reached) {
                Some(next) => (TrialVerdict::NotYet { next: *next }, looked_at),
                None => (TrialVerdict::Undecided, looked_at),
            }
        }
    }
}

fn percent(billionths: i64) -> f64 {
    billionths as f64 / 1e9
}

/// Hodges-Lehmann middle, to a billionth.
fn middle_of(whole: &[i64]) -> Option<i64> {
    let differences: Vec<f64> = whole.iter().map(|d| percent(*d)).collect();
    hodges_lehmann(&differences).map(|middle| (middle.value * 1e9).round() as i64)
}

/// How closely the ends of an interval are found: 0.001 %, in billionths.
const CLOSE: i64 = 1_000_000;

/// The differences that no look so far gives up when they are taken off: the test turned round.
/// None where it can give up nothing yet, or gives up every middle that a look has seen.
fn interval(seen: &[i64], looks: &[usize]) -> Option<(i64, i64)> {
    let ruled_out = |shift: i64| {
        let shifted: Vec<i64> = seen.iter().map(|d| d - shift).collect();
        given_up_at(&shifted, looks, Tails::Both).is_some()
    };
    let inside = (looks.iter().rev())
        .filter_map(|pairs| middle_of(seen.get(..*pairs)?))
        .find(|middle| !ruled_out(*middle))?;
    let (least, most) = (seen.iter().min()? - 1, seen.iter().max()? + 1);
    if !ruled_out(least) || !ruled_out(most) {
        return None;
    }
    // Where nothing-at-all is ruled out the interval ends before it: sentence and interval never
    // contradict each other.
    let (mut lo, mut hi) = (least, most);
    if ruled_out(0) {
        if inside > 0 {
            lo = lo.max(0);
        } else {
            hi = hi.min(0);
        }
    }
    Some((
        last_inside(lo, inside, &ruled_out),
        last_inside(hi, inside, &ruled_out),
    ))
}

/// By bisection: the shift nearest to `outside` that is still not ruled out.
fn last_inside(mut outside: i64, mut inside: i64, ruled_out: &impl Fn(i64) -> bool) -> i64 {
    while outside.abs_diff(inside) > CLOSE as u64 {
        let between = outside + (inside - outside) / 2;
        if ruled_out(between) {
            outside = between;
        } else {
            inside = between;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    fn looks(text: &str) -> TrialLooks {
        TrialLooks::parse(text).expect(text)
    }

    fn twenty() -> TrialLooks {
        looks("after 8 12 16 20 pairs: margin 1 %")
    }

    #[test]
    fn a_clear_difference_is_called_at_the_first_look_and_stays() {
        let mut differences: Vec<f64> = (0..8).map(|n| -2.0 - 0.1 * f64::from(n)).collect();
        let early = decide_by_time(&differences, &twenty());
        let faster = TrialVerdict::Faster {
            pairing: Pairing::SameSide,
            under_margin: false,
        };
        assert_eq!((early.verdict, early.looked_at), (faster, 8));
        let (lo, hi) = early.interval_percent.expect("a look was taken");
        assert!(lo < -2.0 && hi < 0.0 && hi > -2.5, "{lo} {hi}");
        // Whatever comes later: it was called.
        differences.extend([3.0; 12]);
        let late = decide_by_time(&differences, &twenty());
        assert_eq!(
            (late.verdict, late.looked_at, late.interval_percent),
            (early.verdict, early.looked_at, early.interval_percent)
        );
        // The other way round it is the other pairing.
        let turned: Vec<f64> = differences.iter().map(|d| -d).collect();
        assert_eq!(
            decide_by_time(&turned, &twenty()).verdict.word(),
            Some("opposite-side")
        );
    }

    #[test]
    fn no_difference_worth_having_is_called_too() {
        let differences: Vec<f64> = (0..12).map(|n| [0.2, -0.2, 0.1, -0.1][n % 4]).collect();
        let found = decide_by_time(&differences, &twenty());
        assert_eq!(
            (found.verdict, found.looked_at),
            (TrialVerdict::NoDifference, 8)
        );
        // Small, sure, and not worth having: both at the same look.
        let small: Vec<f64> = (0..8).map(|n| 0.3 + 0.01 * f64::from(n)).collect();
        assert_eq!(
            decide_by_time(&small, &twenty()).verdict,
            TrialVerdict::Faster {
                pairing: Pairing::OppositeSide,
                under_margin: true,
            }
        );
    }

    #[test]
    fn before_and_after_the_looks_nothing_is_called() {
        let scattered =
            |pairs: u32| -> Vec<f64> { (0..pairs).map(|n| f64::from(n * 7 % 11) - 4.6).collect() };
        let at = |pairs| {
            let found = decide_by_time(&scattered(pairs), &twenty());
            (
                found.verdict,
                found.looked_at,
                found.interval_percent.is_some(),
            )
        };
        assert_eq!(at(0), (TrialVerdict::NotYet { next: 8 }, 0, false));
        assert_eq!(at(7), (TrialVerdict::NotYet { next: 8 }, 0, false));
        assert_eq!(at(8), (TrialVerdict::NotYet { next: 12 }, 8, true));
        assert_eq!(at(19), (TrialVerdict::NotYet { next: 20 }, 16, true));
        assert_eq!(at(20), (TrialVerdict::Undecided, 20, true));
    }

    #[test]
    fn the_interval_grows_no_wider_than_the_looks_before_left_it() {
        // What one look has ruled out stays so.
        let differences: Vec<f64> = (0..20).map(|n| f64::from(n * 7 % 11) / 5.0 - 0.6).collect();
        let mut before = (f64::MIN, f64::MAX);
        for pairs in [8, 12, 16, 20] {
            let found = decide_by_time(&differences[..pairs], &twenty());
            let (lo, hi) = found.interval_percent.expect("a look was taken");
            assert!(
                lo >= before.0 - 0.001 && hi <= before.1 + 0.001,
                "{pairs}: {lo} {hi}"
            );
            before = (lo, hi);
        }
    }
}
