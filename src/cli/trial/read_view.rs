//! What `trial read` found, as JSON and in words.

use serde::Serialize;

use super::choose::Chosen;
use super::verdict::{full, headline, kept, sentences};
use crate::analysis::paired::{DRAWS, DRAWS_SEED};
use crate::analysis::sequential::spent;
use crate::analysis::trial::{OUTCOMES, Paired, Reading, TrialOutcome};
use crate::analysis::trial_verdict::{TrialDecision, TrialVerdict};
use crate::cli::shared::report::{LeftOut, Report};
use crate::cli::shared::words::{Page, count};
use crate::model::kick::Pairing;
use crate::model::trial_looks::TrialLooks;
use crate::model::words::PAIRING_CAUTION;

/// All that reading a trial gives.
#[derive(Clone, Copy)]
pub struct TrialRead<'a> {
    pub chosen: &'a Chosen<'a>,
    pub paired: &'a Paired<'a>,
    pub reading: &'a Reading,
    pub drawn: &'a [TrialLooks],
    pub decision: &'a TrialDecision,
}

/// A trial as read.
#[derive(Serialize)]
pub struct TrialReport<'a> {
    trial: &'a str,
    swimmer: &'a str,
    pairs: usize,
    confirmed: bool,
    kept: KeptShown,
    verdict: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    under_margin: Option<bool>,
    difference_percent: Option<f64>,
    interval_percent: Option<(f64, f64)>,
    margin_percent: Option<f64>,
    looks: Vec<LookShown>,
    time_s: OutcomeShown,
    strokes: OutcomeShown,
    effort: OutcomeShown,
    exact: bool,
    headline: String,
    sentences: [String; 3],
    set_aside: Vec<LeftOut>,
    notes: &'a [String],
    #[serde(skip)]
    read: TrialRead<'a>,
    #[serde(skip)]
    detail: bool,
}

/// One look: after how many pairs, up to which level by then, and whether it was taken.
#[derive(Serialize)]
struct LookShown {
    pairs: usize,
    level: f64,
    taken: bool,
}

impl LookShown {
    fn all(drawn: &[TrialLooks], looked_at: usize) -> Vec<Self> {
        let [looks] = drawn else {
            return Vec::new();
        };
        let shown = |pairs: &usize| Self {
            pairs: *pairs,
            level: spent(*pairs, looks.most()),
            taken: *pairs <= looked_at,
        };
        looks.at().iter().map(shown).collect()
    }
}

#[derive(Serialize)]
struct KeptShown {
    same_side: KeptOf,
    opposite_side: KeptOf,
}

#[derive(Serialize)]
struct KeptOf {
    kept: usize,
    swims: usize,
}

/// What cannot be estimated is absent.
#[derive(Serialize)]
struct OutcomeShown {
    #[serde(skip_serializing_if = "Option::is_none")]
    hodges_lehmann: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lo: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    hi: Option<f64>,
    n: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    mean: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    p: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    signed_rank_p: Option<f64>,
}

impl From<&TrialOutcome> for OutcomeShown {
    fn from(outcome: &TrialOutcome) -> Self {
        let interval = outcome.middle.and_then(|middle| middle.interval);
        Self {
            hodges_lehmann: outcome.middle.map(|middle| middle.value),
            lo: interval.map(|(lo, _)| lo),
            hi: interval.map(|(_, hi)| hi),
            n: outcome.differences.len(),
            mean: outcome.mean,
            p: outcome.flips.map(|flips| flips.p),
            signed_rank_p: outcome.signed_rank.map(|test| test.p),
        }
    }
}

impl<'a> TrialReport<'a> {
    /// What the pairs of the chosen rows say.
    pub fn new(read: TrialRead<'a>, notes: &'a [String], detail: bool) -> Self {
        let TrialRead {
            chosen,
            paired,
            reading,
            drawn,
            decision,
        } = read;
        let [same_side, opposite_side] = reading.kept.map(|(kept, swims)| KeptOf { kept, swims });
        let [time_s, strokes, effort] = reading.outcomes.each_ref().map(OutcomeShown::from);
        let aside = paired.aside.iter();
        Self {
            trial: chosen.trial,
            swimmer: chosen.swimmer,
            pairs: paired.pairs.len(),
            confirmed: reading.confirmed,
            kept: KeptShown {
                same_side,
                opposite_side,
            },
            verdict: decision.verdict.word(),
            under_margin: match decision.verdict {
                TrialVerdict::Faster { under_margin, .. } => Some(under_margin),
                _ => None,
            },
            difference_percent: decision.percent,
            interval_percent: decision.interval_percent,
            margin_percent: drawn.first().map(TrialLooks::margin_percent),
            looks: LookShown::all(drawn, decision.looked_at),
            time_s,
            strokes,
            effort,
            exact: reading.exact(),
            headline: headline(decision, reading, drawn),
            sentences: sentences(decision, reading),
            set_aside: aside
                .map(|swim| LeftOut::new(swim.line, &swim.why))
                .collect(),
            notes,
            read,
            detail,
        }
    }

    /// Every pair, the tests' figures, and what they hold.
    fn details(&self, to: &mut Page) {
        let [one, other] = [Pairing::SameSide, Pairing::OppositeSide].map(full);
        to.fill(format!("Differences, {one} minus {other}:"));
        to.line("\n  pair  lines          time_s   strokes    effort");
        for (number, pair) in self.read.paired.pairs.iter().enumerate() {
            let lines = format!("{}, {}", pair.same.line, pair.opposite.line);
            let differences = (0..OUTCOMES.len()).map(|at| match pair.difference(at) {
                Some(difference) => format!(" {difference:>+9.2}"),
                None => " ".repeat(10),
            });
            let differences = differences.collect::<String>();
            to.line(format_args!(
                "  {:>4}  {lines:<10}{differences}",
                number + 1
            ));
        }
        self.figures(to);
        self.looks(to);
        let how = if self.exact {
            "all ways to set the signs counted".into()
        } else {
            format!("{DRAWS} ways to set the signs drawn (seed {DRAWS_SEED})")
        };
        to.gap();
        to.fill(format!(
            "The figures above describe each outcome by itself, as if looked at once ({how}). What \
             decides is the time in per cent, looked at as it was drawn: where the pairings make no \
             difference, at most one trial in twenty calls one faster, all looks together."
        ));
        to.gap();
    }

    /// When the trial is looked at.
    fn looks(&self, to: &mut Page) {
        for (number, look) in self.looks.iter().enumerate() {
            let taken = if look.taken { "taken" } else { "not taken" };
            let first = if number == 0 { "\n" } else { "" };
            to.line(format_args!(
                "{first}  look {}  after {:>2} pairs, level {:.4}, {taken}",
                number + 1,
                look.pairs,
                look.level
            ));
        }
    }

    fn figures(&self, to: &mut Page) {
        to.line("\n                             time_s   strokes    effort");
        let outcomes = [&self.time_s, &self.strokes, &self.effort];
        let mut row = |name: &str, figure: fn(&OutcomeShown) -> Option<String>| {
            let [time, strokes, effort] =
                outcomes.map(|outcome| figure(outcome).unwrap_or_default());
            to.line(format_args!(
                "  {name:<23} {time:>9} {strokes:>9} {effort:>9}"
            ));
        };
        row("Hodges-Lehmann", |shown| shown.hodges_lehmann.map(signed));
        row("95 % interval, from", |shown| shown.lo.map(signed));
        row("95 % interval, to", |shown| shown.hi.map(signed));
        row("mean", |shown| shown.mean.map(signed));
        row("sign-flip P", |shown| shown.p.map(plain));
        row("signed-rank P", |shown| shown.signed_rank_p.map(plain));
    }
}

fn signed(value: f64) -> String {
    format!("{value:+.3}")
}

fn plain(value: f64) -> String {
    format!("{value:.4}")
}

impl Report for TrialReport<'_> {
    fn words(&self, to: &mut Page) {
        let whose = match self.swimmer {
            "" => String::new(),
            name => format!(", {name}"),
        };
        let count = count(self.pairs, "pair");
        to.fill(format!(
            "Trial \"{}\"{whose}: {count} of swims.",
            self.trial
        ));
        to.fill(&self.headline);
        to.gap();
        if self.pairs == 0 {
            return;
        }
        for sentence in &self.sentences {
            to.hang("  ", "    ", sentence);
        }
        to.hang("  ", "    ", kept(self.read.reading));
        to.gap();
        if self.detail {
            self.details(to);
        }
        to.fill(PAIRING_CAUTION);
    }
}
