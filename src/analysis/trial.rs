//! A fair try of the two pairings: the order in which they are swum, and what came of it.
//!
//! In: swims in the order in which they were written. Out: pairs of neighbours, and for time,
//! strokes and effort what the differences same-side minus opposite-side look like. All of this
//! describes; what decides is the time alone, in `trial_verdict`.

use super::paired::{Flips, Middle, SignedRank, hodges_lehmann, sign_flip, signed_rank};
use super::random::Draw;
use super::stats::mean;
use crate::model::kick::Pairing;

/// Below so many pairs nothing can be called: with n pairs the smallest P is 2 / 2ⁿ.
pub const FEWEST_PAIRS: usize = 6;

/// The order of a trial: one block of four swims after another, each ABBA or BAAB, as many of one
/// as of the other (one more of either where the number is odd), shuffled by the seed. In each,
/// a drift along a straight line weighs on both pairings alike (arithmetic).
pub fn order(blocks: usize, seed: u64) -> Vec<[Pairing; 4]> {
    let mut draw = Draw::new(seed);
    let (same, opposite) = (Pairing::SameSide, Pairing::OppositeSide);
    let mut kinds = [
        [same, opposite, opposite, same],
        [opposite, same, same, opposite],
    ];
    draw.shuffle(&mut kinds);
    let mut order: Vec<_> = (0..blocks).map(|block| kinds[block % 2]).collect();
    draw.shuffle(&mut order);
    order
}

/// What must be alike in the two swims of a pair, as a person reads it; empty where not noted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Conditions {
    /// Distance swum.
    pub distance: String,
    /// Rate cued.
    pub rate: String,
    /// Kick.
    pub kick: String,
}

/// One swim of a trial.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialSwim {
    /// Where it stands, for messages: the line of its file.
    pub line: usize,
    /// The pairing that was cued. A row without one, or one that does not hold, keeps its place:
    /// the swims around it must not move up.
    pub pairing: Option<Pairing>,
    /// What must be alike.
    pub conditions: Conditions,
    /// Day of the swim, empty where not noted. Two days in one pair are worth a word, no more.
    pub date: String,
    /// Time, strokes (both arms) and effort (0 to 10), each where noted.
    pub noted: [Option<f64>; 3],
    /// Whether the kick followed the cue, at least in part.
    pub kept: bool,
}

/// The places of [`TrialSwim::noted`] and [`Reading::outcomes`].
pub const OUTCOMES: [&str; 3] = ["time_s", "strokes", "effort"];
const TIME: usize = 0;
const EFFORT: usize = 2;

/// A swim that is in no pair, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// Its line.
    pub line: usize,
    /// Why, as the end of a sentence that begins with the line.
    pub why: String,
}

/// Two neighbouring swims, one of each pairing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair<'a> {
    /// The swim with the same-side pairing.
    pub same: &'a TrialSwim,
    /// The other.
    pub opposite: &'a TrialSwim,
}

impl Pair<'_> {
    /// Same-side minus opposite-side of one outcome, where both were noted.
    pub fn difference(&self, outcome: usize) -> Option<f64> {
        Some(self.same.noted[outcome]? - self.opposite.noted[outcome]?)
    }

    /// 100 ln (time same-side / time opposite-side), where both were noted: by how many per cent
    /// the same-side swim was slower.
    pub fn time_percent(&self) -> Option<f64> {
        Some(100.0 * (self.same.noted[TIME]? / self.opposite.noted[TIME]?).ln())
    }
}

/// The swims of a trial, two by two.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Paired<'a> {
    /// Pairs that say something: at least one outcome is noted for both swims.
    pub pairs: Vec<Pair<'a>>,
    /// Swims in no pair, by name.
    pub aside: Vec<Aside>,
    /// Pairs that say nothing yet.
    pub open: usize,
}

/// Pairs neighbours in written order: 1-2, 3-4, ... A swim whose neighbour has no pairing, or is
/// unlike it in what must be alike, is set aside by name with it. Of two with the same pairing (a
/// row between them is missing) the first is set aside, and pairing goes on with the second.
pub fn pairs(swims: &[TrialSwim]) -> Paired<'_> {
    let mut paired = Paired::default();
    let mut set_aside = |line, why: String| paired.aside.push(Aside { line, why });
    let mut waiting: Option<&TrialSwim> = None;
    for swim in swims {
        let Some(first) = waiting.take() else {
            waiting = Some(swim);
            continue;
        };
        let (same, opposite) = match (first.pairing, swim.pairing) {
            (Some(Pairing::SameSide), Some(Pairing::OppositeSide)) => (first, swim),
            (Some(Pairing::OppositeSide), Some(Pairing::SameSide)) => (swim, first),
            (Some(_), Some(_)) => {
                let next = swim.line;
                set_aside(
                    first.line,
                    format!("the swim after it, line {next}, has the same pairing"),
                );
                waiting = Some(swim);
                continue;
            }
            _ => {
                for (one, other) in [(first, swim), (swim, first)] {
                    set_aside(one.line, without_pairing(one, other.line));
                }
                continue;
            }
        };
        if let Some(unlike) = unlike(&first.conditions, &swim.conditions) {
            for (one, other) in [(first, swim), (swim, first)] {
                set_aside(
                    one.line,
                    format!("its neighbour, line {}, has another {unlike}", other.line),
                );
            }
            continue;
        }
        let pair = Pair { same, opposite };
        if (0..OUTCOMES.len()).any(|at| pair.difference(at).is_some()) {
            paired.pairs.push(pair)
        } else {
            paired.open += 1
        }
    }
    if let Some(alone) = waiting {
        set_aside(alone.line, "no swim of the other pairing follows it".into());
    }
    paired
}

fn without_pairing(one: &TrialSwim, other: usize) -> String {
    match one.pairing {
        None => "no pairing could be read".into(),
        Some(_) => format!("of its neighbour, line {other}, no pairing could be read"),
    }
}

fn unlike(one: &Conditions, other: &Conditions) -> Option<&'static str> {
    [
        ("distance", one.distance != other.distance),
        ("cued rate", one.rate != other.rate),
        ("kick", one.kick != other.kick),
    ]
    .into_iter()
    .find_map(|(what, differs)| differs.then_some(what))
}

/// What one outcome of a trial looks like. Differences are same-side minus opposite-side.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialOutcome {
    /// Differences, one a pair in which both swims were noted.
    pub differences: Vec<f64>,
    /// Their mean; none without differences.
    pub mean: Option<f64>,
    /// Where their middle lies; none without differences.
    pub middle: Option<Middle>,
    /// The sign-flip test, as if looked at once; none without differences.
    pub flips: Option<Flips>,
    /// Wilcoxon's signed-rank test, a second opinion.
    pub signed_rank: Option<SignedRank>,
}

impl TrialOutcome {
    fn of(pairs: &[Pair], outcome: usize) -> Self {
        let differences: Vec<f64> = (pairs.iter())
            .filter_map(|pair| pair.difference(outcome))
            .collect();
        Self {
            mean: mean(&differences),
            middle: hodges_lehmann(&differences),
            flips: (!differences.is_empty()).then(|| sign_flip(&differences)),
            signed_rank: signed_rank(&differences),
            differences,
        }
    }
}

/// A trial as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Time, strokes, effort.
    pub outcomes: [TrialOutcome; 3],
    /// Whether the kick followed the cue on most swims of both pairings.
    pub confirmed: bool,
    /// Of the swims in pairs, same-side then opposite-side: kept at least in part, and all.
    pub kept: [(usize, usize); 2],
}

/// Describes the pairs of a trial.
pub fn read(pairs: &[Pair]) -> Reading {
    let kept = [
        kept_of(pairs.iter().map(|pair| pair.same)),
        kept_of(pairs.iter().map(|pair| pair.opposite)),
    ];
    Reading {
        outcomes: [0, 1, 2].map(|outcome| TrialOutcome::of(pairs, outcome)),
        confirmed: kept.iter().all(|(kept, all)| 2 * kept > *all),
        kept,
    }
}

impl Reading {
    /// Whether every way to set the signs was counted, of every outcome.
    pub fn exact(&self) -> bool {
        let flips = self.outcomes.iter().filter_map(|outcome| outcome.flips);
        flips.into_iter().all(|flips| flips.exact)
    }

    /// How many points of effort more this pairing felt like, on average; none where effort was
    /// not noted.
    pub fn felt_harder(&self, pairing: Pairing) -> Option<f64> {
        self.outcomes[EFFORT].mean.map(|mean| match pairing {
            Pairing::SameSide => mean,
            Pairing::OppositeSide => -mean,
        })
    }
}

fn kept_of<'a>(swims: impl Iterator<Item = &'a TrialSwim>) -> (usize, usize) {
    swims.fold((0, 0), |(kept, all), swim| {
        (kept + usize::from(swim.kept), all + 1)
    })
}

#[cfg(test)]
mod tests;
