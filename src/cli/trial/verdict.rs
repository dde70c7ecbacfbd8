//! What a trial says, in sentences that a coach can read out.

use crate::analysis::trial::{FEWEST_PAIRS, MOST_WANTED, Reading, TrialOutcome, TrialVerdict};
use crate::model::cue::Side;
use crate::model::kick::Pairing;

/// A pairing in full, told by one foot: `right foot with right catch`.
pub fn full(pairing: Pairing) -> String {
    pairing.in_words(Side::Right)
}

/// A pairing told by both feet, as it is spoken.
pub fn feet(pairing: Pairing) -> String {
    let [left, right] = Side::BOTH.map(|foot| pairing.in_words(foot));
    format!("{}, {left}", capital(&right))
}

/// The same text with a capital first letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    (letters.next().into_iter().flat_map(char::to_uppercase))
        .chain(letters)
        .collect()
}

/// How one outcome is spoken of.
struct Manner {
    /// At the head of its line.
    title: &'static str,
    /// Inside a sentence.
    what: &'static str,
    /// What a pairing did: `was` 0.3 s faster.
    verb: &'static str,
    /// `was faster`: less of it, without a number.
    less: &'static str,
    /// The bare words for less and more of it.
    words: [&'static str; 2],
    /// No difference at all.
    equal: &'static str,
    /// The unit after a number, one and several.
    units: [&'static str; 2],
    /// Decimals.
    places: usize,
}

const MANNERS: [Manner; 3] = [
    Manner {
        title: "Time",
        what: "time",
        verb: "was",
        less: "was faster",
        words: ["faster", "slower"],
        equal: "was as fast",
        units: ["s", "s"],
        places: 2,
    },
    Manner {
        title: "Strokes",
        what: "strokes",
        verb: "took",
        less: "took fewer",
        words: ["fewer", "more"],
        equal: "took as many",
        units: ["stroke", "strokes"],
        places: 1,
    },
    Manner {
        title: "Effort, 0 to 10",
        what: "effort",
        verb: "felt",
        less: "felt easier",
        words: ["easier", "harder"],
        equal: "felt the same",
        units: ["point", "points"],
        places: 1,
    },
];

impl Manner {
    /// A size without its sign: `0.6 s`, `1 stroke`.
    fn size(&self, value: f64) -> String {
        let number = self.number(value);
        let unit = self.units[usize::from(number != "1")];
        format!("{number} {unit}")
    }

    /// A number without its sign: `0.6`.
    fn number(&self, value: f64) -> String {
        let text = format!("{:.places$}", value.abs(), places = self.places);
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    }

    /// `0.3 s slower`, of the same-side pairing against the other.
    fn against(&self, value: f64) -> String {
        match self.number(value).as_str() {
            "0" => "no difference".into(),
            _ => {
                let word = self.words[usize::from(value > 0.0)];
                format!("{} {word}", self.size(value))
            }
        }
    }

    /// `was 0.3 s slower`, likewise.
    fn did(&self, value: f64) -> String {
        match self.number(value).as_str() {
            "0" => self.equal.into(),
            _ => format!("{} {}", self.verb, self.against(value)),
        }
    }
}

/// The first sentence: what came of the trial as a whole.
pub fn headline(reading: &Reading, pairs: usize) -> String {
    if pairs == 0 {
        return format!(
            "No pair of swims is filled in yet; at least {FEWEST_PAIRS} are needed to call anything."
        );
    }
    let is_too_few = |outcome: &TrialOutcome| outcome.verdict == TrialVerdict::TooFew;
    if reading.outcomes.iter().all(is_too_few) {
        let confirmed = if reading.confirmed {
            ""
        } else {
            " And cued, not confirmed: on most swims nobody saw the kick follow the cue."
        };
        return format!(
            "Too few pairs to call anything: {pairs}. From {FEWEST_PAIRS} on a result can stand out \
             from chance; at least {} more are needed.{confirmed}",
            missing(reading)
        );
    }
    if !reading.confirmed {
        return "Cued, not confirmed: no verdict. Cued is not kicked, and whether the kick followed \
                the cue was not seen on most swims of both pairings."
            .into();
    }
    called(reading)
}

/// Which pairing was better at what, where the kick was seen to follow.
fn called(reading: &Reading) -> String {
    let votes: Vec<(Pairing, String)> = (reading.outcomes.iter().zip(&MANNERS))
        .filter_map(|(outcome, manner)| {
            let TrialVerdict::Better(pairing) = outcome.verdict else {
                return None;
            };
            let by = manner.size(outcome.middle?.value);
            Some((pairing, format!("{} by {by}", manner.words[0])))
        })
        .collect();
    let of = |pairing| {
        let votes = votes.iter().filter(|(vote, _)| *vote == pairing);
        let votes: Vec<&str> = votes.map(|(_, how)| how.as_str()).collect();
        votes.join(", ")
    };
    let (same, opposite) = (of(Pairing::SameSide), of(Pairing::OppositeSide));
    let better = |pairing, how| format!("{} was better: {how}.", capital(&full(pairing)));
    match (same.is_empty(), opposite.is_empty()) {
        (true, true) => {
            let nearest = (reading.outcomes.iter().zip(&MANNERS))
                .filter_map(|(outcome, manner)| Some((outcome.more_pairs?, manner.what)))
                .min();
            let more = match nearest {
                Some((more, what)) => {
                    format!("It would take about {more} more pairs, and {what} would tell first.")
                }
                None => format!("It would take more than {MOST_WANTED} pairs."),
            };
            format!("Neither pairing can be called the better one. {more}")
        }
        (false, true) => better(Pairing::SameSide, same),
        (true, false) => better(Pairing::OppositeSide, opposite),
        (false, false) => format!(
            "Each has something for it: {} was {same}; {} was {opposite}. Comfort counts: the \
             swimmer chooses.",
            full(Pairing::SameSide),
            full(Pairing::OppositeSide)
        ),
    }
}

/// Pairs that lack to the fewest that can be called, of the outcome that has most.
fn missing(reading: &Reading) -> usize {
    let pairs = reading
        .outcomes
        .iter()
        .map(|outcome| outcome.differences.len());
    let most = pairs.max();
    FEWEST_PAIRS.saturating_sub(most.unwrap_or(0))
}

/// A sentence for each outcome, in the order of the readings.
pub fn sentences(reading: &Reading) -> [String; 3] {
    [0, 1, 2].map(|at| {
        let manner = &MANNERS[at];
        format!(
            "{}: {}",
            manner.title,
            sentence(&reading.outcomes[at], manner)
        )
    })
}

fn sentence(outcome: &TrialOutcome, manner: &Manner) -> String {
    let n = outcome.differences.len();
    let Some(middle) = outcome.middle else {
        return "not noted for both swims of any pair.".into();
    };
    if outcome.differences.iter().all(|one| *one == 0.0) {
        return format!("the same with both in every pair ({n}).");
    }
    let same = full(Pairing::SameSide);
    let Some((lo, hi)) = middle.interval else {
        return format!(
            "too few pairs ({n}). So far {same} {}; {}.",
            manner.did(middle.value),
            more_in_words(outcome)
        );
    };
    let seen = format!(
        "{same} {}, and it could be anything from {} to {}",
        manner.did(middle.value),
        manner.against(lo),
        manner.against(hi)
    );
    match outcome.verdict {
        TrialVerdict::Better(pairing) => {
            let (near, far) = if lo > 0.0 { (lo, hi) } else { (hi, lo) };
            format!(
                "{} {}, by {} a swim (95 % interval {} to {}, {n} pairs).",
                full(pairing),
                manner.less,
                manner.size(middle.value),
                manner.number(near),
                manner.size(far)
            )
        }
        TrialVerdict::NotConfirmed | TrialVerdict::TooFew => {
            format!("cued, not confirmed. On paper {seen} ({n} pairs).")
        }
        TrialVerdict::Neither if outcome.not_at_the_same_time => format!(
            "neither can be called. {}; but fewer strokes count at the same time only, and here \
             the time was slower or not noted.",
            capital(&seen)
        ),
        TrialVerdict::Neither => {
            let alone = outcome.p.is_some_and(|p| p <= 0.05) && (lo > 0.0 || hi < 0.0);
            let alone = if alone {
                " Looked at alone it could be called; of several things looked at, one \
                     stands out by chance too often."
            } else {
                ""
            };
            format!(
                "neither can be called. {} ({n} pairs).{alone} {}.",
                capital(&seen),
                capital(&more_in_words(outcome))
            )
        }
    }
}

/// How many more pairs it would take.
fn more_in_words(outcome: &TrialOutcome) -> String {
    let lacking = FEWEST_PAIRS.saturating_sub(outcome.differences.len());
    let least = match lacking {
        0 => String::new(),
        n => format!("at least {n} more pairs are needed, and "),
    };
    match outcome.more_pairs {
        Some(more) => {
            let more = more.max(lacking.next_multiple_of(2));
            format!("{least}about {more} more pairs would tell, if swims go on like these")
        }
        None if lacking > 0 => {
            format!("at least {lacking} more pairs are needed before anything can be said")
        }
        None => format!(
            "if swims go on like these, even {MOST_WANTED} pairs would not tell: the difference is \
             too small beside the scatter"
        ),
    }
}

/// How many swims kept the cue, for both pairings.
pub fn kept(reading: &Reading) -> String {
    let of = |(kept, all): (usize, usize), pairing| {
        format!("{kept} of {all} swims cued {}", full(pairing))
    };
    let [same, opposite] = reading.kept;
    format!(
        "The kick followed the cue on {}, and on {}.",
        of(same, Pairing::SameSide),
        of(opposite, Pairing::OppositeSide)
    )
}
