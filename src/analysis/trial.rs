//! A fair try of the two pairings: the order in which they are swum, and what came of it.
//!
//! In: swims in the order in which they were written. Out: pairs of neighbours, and for time,
//! strokes and effort the difference same-side minus opposite-side with a verdict. Less is better
//! for all three. No verdict ever says that a pairing is bad: only which of them was better here,
//! or that this cannot be told.

use super::paired::{Middle, SignedRank, hodges_lehmann, sign_flip, signed_rank};
use super::random::Draw;
use crate::model::kick::Pairing;

/// Below so many pairs nothing can be called: with n pairs the smallest P is 2 / 2ⁿ.
pub const FEWEST_PAIRS: usize = 6;
/// A verdict needs a P of at most this.
pub const LEVEL: f64 = 0.05;
/// Estimates of how many pairs it would take end here.
pub const MOST_WANTED: usize = 100;

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
const STROKES: usize = 1;

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

/// What can be said of one outcome.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrialVerdict {
    /// This pairing had less of it.
    Better(Pairing),
    /// It cannot be told.
    Neither,
    /// Fewer than [`FEWEST_PAIRS`] pairs.
    TooFew,
    /// Nobody saw whether the kick followed the cue.
    NotConfirmed,
}

impl TrialVerdict {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Better(pairing) => pairing.word(),
            Self::Neither => "neither",
            Self::TooFew => "too few",
            Self::NotConfirmed => "not confirmed",
        }
    }
}

/// One outcome of a trial. Differences are same-side minus opposite-side.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialOutcome {
    /// Differences, one a pair in which both swims were noted.
    pub differences: Vec<f64>,
    /// Where their middle lies; none without differences.
    pub middle: Option<Middle>,
    /// Sign-flip P of this outcome alone; none without differences.
    pub p: Option<f64>,
    /// Sign-flip P with all outcomes looked at together; none below [`FEWEST_PAIRS`].
    pub p_together: Option<f64>,
    /// Wilcoxon's signed-rank test, a second opinion.
    pub signed_rank: Option<SignedRank>,
    /// What can be said.
    pub verdict: TrialVerdict,
    /// Strokes only: fewer with one pairing, but its time was called the worse, or no time can be
    /// called to compare them by. Fewer strokes count at the same time only.
    pub not_at_the_same_time: bool,
    /// About how many more pairs it would take, where nothing was called; none where more than
    /// [`MOST_WANTED`] would not do, or nothing can be said of the scatter.
    pub more_pairs: Option<usize>,
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
    /// Whether every way to set the signs was counted; else how many were drawn.
    pub exact: bool,
    /// Ways counted or drawn.
    pub ways: u64,
}

/// Reads a trial.
///
/// A verdict needs three things: most swims kept the cue; a P of at most [`LEVEL`] with all
/// outcomes looked at together, so that a trial without any difference calls anything at most
/// once in twenty; and an interval that leaves out nothing-at-all, so that sentence and interval
/// never contradict each other.
pub fn read(pairs: &[Pair]) -> Reading {
    let kept = [
        kept_of(pairs.iter().map(|pair| pair.same)),
        kept_of(pairs.iter().map(|pair| pair.opposite)),
    ];
    let confirmed = kept.iter().all(|(kept, all)| 2 * kept > *all);
    let column = |outcome: usize| -> Vec<Option<f64>> {
        pairs.iter().map(|pair| pair.difference(outcome)).collect()
    };
    let columns: Vec<_> = (0..OUTCOMES.len()).map(column).collect();
    let noted = |column: &Vec<Option<f64>>| column.iter().flatten().count();
    let alone = sign_flip(&columns);
    // What can never be called must not make the others harder to call.
    let enough: Vec<usize> = (0..columns.len())
        .filter(|at| noted(&columns[*at]) >= FEWEST_PAIRS)
        .collect();
    let callable: Vec<_> = enough.iter().map(|at| columns[*at].clone()).collect();
    let together = if enough.len() == columns.len() {
        alone.together.clone()
    } else {
        sign_flip(&callable).together
    };
    let mut outcomes = [0, 1, 2].map(|at| {
        let differences: Vec<f64> = columns[at].iter().flatten().copied().collect();
        let place = enough.iter().position(|callable| *callable == at);
        let p_together = place.map(|place| together[place]);
        let middle = hodges_lehmann(&differences);
        let verdict = verdict(middle, p_together, confirmed);
        TrialOutcome {
            middle,
            p: (!differences.is_empty()).then(|| alone.alone[at]),
            p_together,
            signed_rank: signed_rank(&differences),
            verdict,
            not_at_the_same_time: false,
            more_pairs: None,
            differences,
        }
    });
    let time = outcomes[TIME].verdict;
    if let TrialVerdict::Better(fewer) = outcomes[STROKES].verdict
        && time != TrialVerdict::Better(fewer)
        && time != TrialVerdict::Neither
    {
        outcomes[STROKES].verdict = TrialVerdict::Neither;
        outcomes[STROKES].not_at_the_same_time = true;
    }
    want_more(&mut outcomes);
    Reading {
        outcomes,
        confirmed,
        kept,
        exact: alone.exact,
        ways: alone.ways,
    }
}

/// Says of each outcome that nothing was called of how many more pairs it would take.
fn want_more(outcomes: &mut [TrialOutcome; 3]) {
    // What is the same in every pair costs the others nothing.
    let rivals = |outcome: &&TrialOutcome| {
        outcome.p_together.is_some() && outcome.differences.iter().any(|d| *d != 0.0)
    };
    let rivals = outcomes.iter().filter(rivals).count();
    for outcome in outcomes {
        let open = matches!(
            outcome.verdict,
            TrialVerdict::Neither | TrialVerdict::TooFew
        ) && !outcome.not_at_the_same_time;
        let wanted = open.then(|| pairs_wanted(&outcome.differences, rivals.max(1)));
        let have = outcome.differences.len();
        // A block of four swims is two pairs; what just missed needs one block at least.
        outcome.more_pairs =
            (wanted.flatten()).map(|wanted| wanted.saturating_sub(have).next_multiple_of(2).max(2));
    }
}

fn kept_of<'a>(swims: impl Iterator<Item = &'a TrialSwim>) -> (usize, usize) {
    swims.fold((0, 0), |(kept, all), swim| {
        (kept + usize::from(swim.kept), all + 1)
    })
}

fn verdict(middle: Option<Middle>, p_together: Option<f64>, confirmed: bool) -> TrialVerdict {
    let (Some(p), Some((lo, hi))) = (p_together, middle.and_then(|middle| middle.interval)) else {
        return TrialVerdict::TooFew;
    };
    match (confirmed, p <= LEVEL) {
        (false, _) => TrialVerdict::NotConfirmed,
        (true, true) if hi < 0.0 => TrialVerdict::Better(Pairing::SameSide),
        (true, true) if lo > 0.0 => TrialVerdict::Better(Pairing::OppositeSide),
        _ => TrialVerdict::Neither,
    }
}

/// Two-sided normal quantiles for 0.05 / k with k = 1, 2, 3 outcomes.
const QUANTILES: [f64; 3] = [1.960, 2.241, 2.394];
/// Four chances in five to find what is there.
const POWER_QUANTILE: f64 = 0.842;

/// How many pairs would find a difference such as the mean of these, in four trials of five, if
/// later ones scatter as these do: ((z + z') sd / mean)² + z² / 2, the normal approximation with
/// its correction for an estimated scatter (Guenther 1981, from memory). At least
/// [`FEWEST_PAIRS`]; none beyond [`MOST_WANTED`], or without two differences to tell the scatter.
pub fn pairs_wanted(differences: &[f64], outcomes: usize) -> Option<usize> {
    let n = differences.len() as f64;
    if differences.len() < 2 {
        return None;
    }
    let mean = differences.iter().sum::<f64>() / n;
    let squares: f64 = differences.iter().map(|d| (d - mean).powi(2)).sum();
    let z = QUANTILES[outcomes.clamp(1, QUANTILES.len()) - 1];
    let wanted = (z + POWER_QUANTILE).powi(2) * squares / (n - 1.0) / mean.powi(2) + z * z / 2.0;
    // No mean at all gives infinity, or nothing over nothing: neither is within reach.
    (wanted <= MOST_WANTED as f64).then(|| (wanted.ceil() as usize).max(FEWEST_PAIRS))
}

#[cfg(test)]
mod tests;
