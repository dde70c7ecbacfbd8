//! What a trial says, in sentences that a coach can read out.

use crate::analysis::trial::{Reading, TrialOutcome};
use crate::analysis::trial_foreseen::SwimScatter;
use crate::analysis::trial_verdict::{TrialDecision, TrialVerdict};
use crate::cli::shared::words::count;
use crate::model::cue::Side;
use crate::model::kick::Pairing;
use crate::model::trial_looks::TrialLooks;
use crate::units::print_float;

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
    /// What a pairing did: `was` 0.3 s faster.
    verb: &'static str,
    /// The bare words for less and more of it.
    words: [&'static str; 2],
    /// No difference at all.
    equal: &'static str,
    /// The unit after a number, one and several.
    units: [&'static str; 2],
    /// Decimals.
    places: usize,
}

const TIME: Manner = Manner {
    title: "Time",
    verb: "was",
    words: ["faster", "slower"],
    equal: "was as fast",
    units: ["s", "s"],
    places: 2,
};

/// The same of time by its share.
const TIME_SHARE: Manner = Manner {
    units: ["%", "%"],
    places: 1,
    ..TIME
};

const STROKES: Manner = Manner {
    title: "Strokes",
    verb: "took",
    words: ["fewer", "more"],
    equal: "took as many",
    units: ["stroke", "strokes"],
    places: 1,
};

const EFFORT: Manner = Manner {
    title: "Effort, 0 to 10",
    verb: "felt",
    words: ["easier", "harder"],
    equal: "felt the same",
    units: ["point", "points"],
    places: 1,
};

impl Manner {
    /// A size without its sign: `0.6 s`, `1 stroke`.
    fn size(&self, value: f64) -> String {
        let number = self.number(value);
        let unit = self.units[usize::from(number != "1")];
        format!("{number} {unit}")
    }

    /// A number without its sign: `0.6`.
    fn number(&self, value: f64) -> String {
        print_float(value.abs(), self.places)
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

/// A difference in effort from which a faster pairing is one to talk about.
const MUCH_HARDER: f64 = 2.0;

/// The first sentence: what came of the trial. `drawn` is what its rows say about looks.
pub fn headline(decision: &TrialDecision, reading: &Reading, drawn: &[TrialLooks]) -> String {
    let looks = drawn.first();
    let margin = looks.map(TrialLooks::margin_in_words).unwrap_or_default();
    let most = looks.map_or(0, TrialLooks::most);
    let timed = reading.outcomes[0].differences.len();
    let after = count(decision.looked_at, "pair");
    match decision.verdict {
        TrialVerdict::NotDrawn => "Numbers, no verdict: this log does not say how many pairs were \
            drawn. Looked at again and again, chance alone stands out too often; trial new writes \
            into the log when it is looked at."
            .into(),
        TrialVerdict::DrawnTwice => {
            let all: Vec<String> = drawn.iter().map(TrialLooks::to_string).collect();
            format!(
                "Numbers, no verdict: the rows were drawn as different trials ({}). Each trial \
                 has a name of its own.",
                all.join("; ")
            )
        }
        TrialVerdict::TooMany => format!(
            "Numbers, no verdict: {timed} pairs, and {most} were drawn. More pairs are a new \
             trial, with a name and a log of its own."
        ),
        TrialVerdict::NotConfirmed => "Cued, not confirmed: no verdict. Cued is not kicked, and \
            whether the kick followed the cue was not seen on most swims of both pairings."
            .into(),
        TrialVerdict::NotYet { next } if timed == 0 => {
            format!("No pair of swims is timed yet; the first look is after {next} pairs.")
        }
        TrialVerdict::NotYet { next } => {
            let so_far = match decision.looked_at {
                0 => "Not yet".to_string(),
                _ => format!("Not yet: looked at after {after}, nothing is called"),
            };
            format!(
                "{so_far}. {timed} of {} timed; the next look is after {next}, {} more.",
                count(most, "pair"),
                next - timed
            )
        }
        TrialVerdict::Undecided => {
            let percent = looks.map_or(1.0, TrialLooks::margin_percent);
            let scatter = SwimScatter::of(&decision.differences_percent);
            format!(
                "Undecided after {after}, the last look. As these swims scatter, a difference of \
                 {margin} takes about {} pairs: a new trial, or swim the one that feels easier.",
                scatter.pairs_for(percent)
            )
        }
        TrialVerdict::NoDifference => format!(
            "No difference worth having: less than {margin} either way, after {after}. Swim the \
             one that feels easier{}.",
            easier(reading)
        ),
        TrialVerdict::Faster {
            pairing,
            under_margin,
        } => faster(pairing, under_margin.then_some(margin), decision, reading),
    }
}

/// `: right foot with right catch, by 0.5 points`, where effort says so.
fn easier(reading: &Reading) -> String {
    let by = |pairing| {
        let harder = reading.felt_harder(pairing)?;
        (EFFORT.number(harder) != "0" && harder < 0.0).then(|| EFFORT.size(harder))
    };
    let told = |pairing| by(pairing).map(|by| format!(": {}, by {by}", full(pairing)));
    told(Pairing::SameSide)
        .or_else(|| told(Pairing::OppositeSide))
        .unwrap_or_default()
}

fn faster(
    pairing: Pairing,
    under: Option<String>,
    decision: &TrialDecision,
    reading: &Reading,
) -> String {
    let size = |value: f64| match TIME_SHARE.number(value).as_str() {
        "0" => "less than 0.1 %".to_string(),
        _ => TIME_SHARE.size(value),
    };
    let least = (decision.interval_percent)
        .map(|(lo, hi)| lo.abs().min(hi.abs()))
        .filter(|least| TIME_SHARE.number(*least) != "0")
        .map(|least| format!(", by at least {}", size(least)))
        .unwrap_or_default();
    let under = under
        .map(|margin| format!(", but by less than {margin}"))
        .unwrap_or_default();
    let measured = (decision.percent)
        .map(|percent| {
            format!(
                " Measured: {}, and what is called comes out too large on average.",
                size(percent)
            )
        })
        .unwrap_or_default();
    let harder = (reading.felt_harder(pairing))
        .filter(|harder| *harder >= MUCH_HARDER)
        .map(|harder| {
            format!(
                " It felt {} harder: faster and harder, so talk to your coach.",
                EFFORT.size(harder)
            )
        })
        .unwrap_or_default();
    format!(
        "{} was faster{least}{under} ({}).{measured}{harder}",
        capital(&full(pairing)),
        count(decision.looked_at, "pair")
    )
}

/// A sentence for each outcome, in the order of the readings.
pub fn sentences(decision: &TrialDecision, reading: &Reading) -> [String; 3] {
    let [time, strokes, effort] = &reading.outcomes;
    let line = |manner: &Manner, outcome, value, rest: String| {
        format!("{}: {}{rest}", manner.title, told(manner, outcome, value))
    };
    let middle = |outcome: &TrialOutcome| outcome.middle.map(|middle| middle.value);
    let p = effort.flips.map(|flips| format!("P {:.2}, ", flips.p));
    let pairs = |outcome: &TrialOutcome, p: &str| match outcome.differences.len() {
        0 => ".".to_string(),
        n => format!(" ({p}{}).", count(n, "pair")),
    };
    let shares = shares(decision);
    [
        line(&TIME, time, middle(time), pairs(time, "") + &shares),
        line(&STROKES, strokes, middle(strokes), {
            pairs(strokes, "") + " At one cued rate strokes follow time: no news beside it."
        }),
        line(&EFFORT, effort, effort.mean, {
            pairs(effort, &p.unwrap_or_default())
                + " Felt, not measured: the swimmer knows which pairing it is."
        }),
    ]
}

/// What the same-side pairing did, by this middle of its differences.
fn told(manner: &Manner, outcome: &TrialOutcome, value: Option<f64>) -> String {
    let Some(value) = value else {
        return "not noted for both swims of any pair".into();
    };
    if outcome.differences.iter().all(|one| *one == 0.0) {
        return "the same with both in every pair".into();
    }
    format!("{} {}", full(Pairing::SameSide), manner.did(value))
}

/// What the looks taken so far leave open.
fn shares(decision: &TrialDecision) -> String {
    let Some((lo, hi)) = decision.interval_percent else {
        return String::new();
    };
    format!(
        " After {} it could be anything from {} to {}.",
        count(decision.looked_at, "pair"),
        TIME_SHARE.against(lo),
        TIME_SHARE.against(hi)
    )
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
