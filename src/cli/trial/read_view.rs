//! What `trial read` found, as JSON and in words.

use serde::Serialize;

use super::choose::Chosen;
use super::verdict::{full, headline, kept, sentences};
use crate::analysis::paired::DRAWS_SEED;
use crate::analysis::trial::{OUTCOMES, Paired, Reading, TrialOutcome};
use crate::cli::shared::report::{LeftOut, Report};
use crate::cli::shared::words::{Page, count};
use crate::model::kick::Pairing;
use crate::model::words::PAIRING_CAUTION;

/// A trial as read.
#[derive(Serialize)]
pub struct TrialReport<'a> {
    trial: &'a str,
    swimmer: &'a str,
    pairs: usize,
    confirmed: bool,
    kept: KeptShown,
    time_s: OutcomeShown,
    strokes: OutcomeShown,
    effort: OutcomeShown,
    exact: bool,
    headline: String,
    sentences: [String; 3],
    set_aside: Vec<LeftOut>,
    notes: &'a [String],
    #[serde(skip)]
    paired: &'a Paired<'a>,
    #[serde(skip)]
    reading: &'a Reading,
    #[serde(skip)]
    detail: bool,
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
    p: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    p_together: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    signed_rank_p: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    more_pairs: Option<usize>,
    verdict: &'static str,
}

impl From<&TrialOutcome> for OutcomeShown {
    fn from(outcome: &TrialOutcome) -> Self {
        let interval = outcome.middle.and_then(|middle| middle.interval);
        Self {
            hodges_lehmann: outcome.middle.map(|middle| middle.value),
            lo: interval.map(|(lo, _)| lo),
            hi: interval.map(|(_, hi)| hi),
            n: outcome.differences.len(),
            p: outcome.p,
            p_together: outcome.p_together,
            signed_rank_p: outcome.signed_rank.map(|test| test.p),
            more_pairs: outcome.more_pairs,
            verdict: outcome.verdict.word(),
        }
    }
}

impl<'a> TrialReport<'a> {
    /// What the pairs of the chosen rows say.
    pub fn new(
        chosen: &Chosen<'a>,
        paired: &'a Paired<'a>,
        reading: &'a Reading,
        notes: &'a [String],
        detail: bool,
    ) -> Self {
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
            time_s,
            strokes,
            effort,
            exact: reading.exact,
            headline: headline(reading, paired.pairs.len()),
            sentences: sentences(reading),
            set_aside: aside
                .map(|swim| LeftOut::new(swim.line, &swim.why))
                .collect(),
            notes,
            paired,
            reading,
            detail,
        }
    }

    /// Every pair, the tests' figures, and what they hold.
    fn details(&self, to: &mut Page) {
        let [one, other] = [Pairing::SameSide, Pairing::OppositeSide].map(full);
        to.fill(format!("Differences, {one} minus {other}:"));
        to.line("\n  pair  lines          time_s   strokes    effort");
        for (number, pair) in self.paired.pairs.iter().enumerate() {
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
        let ways = self.reading.ways;
        let how = if self.exact {
            format!("All {} ways to set the signs were counted", 2 * ways)
        } else {
            format!(
                "{} ways to set the signs were drawn (seed {DRAWS_SEED}), not all counted",
                ways - 1
            )
        };
        to.gap();
        to.fill(format!(
            "{how}. Called is what has a P of at most 0.05 with all outcomes looked at together \
             and an interval without 0: where the pairings make no difference, at most one trial \
             in twenty calls anything. Each interval holds by itself."
        ));
        to.gap();
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
        row("sign-flip P", |shown| shown.p.map(plain));
        row("sign-flip P, together", |shown| shown.p_together.map(plain));
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
        to.hang("  ", "    ", kept(self.reading));
        to.gap();
        if self.detail {
            self.details(to);
        }
        to.fill(PAIRING_CAUTION);
    }
}
