//! What `trial new` set out, as JSON and in words.

use std::path::Path;

use serde::Serialize;

use crate::analysis::trial::FEWEST_PAIRS;
use crate::analysis::trial_foreseen::{SwimScatter, USUAL_PERCENT};
use crate::cli::shared::report::Report;
use crate::cli::shared::words::Page;
use crate::model::trial_looks::TrialLooks;
use crate::model::words::{PAIRING_CAUTION, RATE_CAUTION};

/// A trial that was set out.
#[derive(Debug, Serialize)]
pub struct TrialSetOut {
    pub trial: String,
    pub folder: String,
    pub seed: u64,
    pub pairs: usize,
    /// The pairing of each swim, day by day.
    pub days: Vec<Vec<&'static str>>,
    pub files: Vec<String>,
    #[serde(flatten)]
    pub foreseen: Foreseen,
    pub warnings: Vec<String>,
    #[serde(skip)]
    pub looks: TrialLooks,
    #[serde(skip)]
    pub swim: String,
    #[serde(skip)]
    pub rate: String,
    /// The swimmer as the flag named it.
    #[serde(skip)]
    pub swimmer: Option<String>,
}

/// What the trial can find, before anything is swum.
#[derive(Debug, Serialize)]
pub struct Foreseen {
    /// After so many pairs it is looked at.
    looks: Vec<usize>,
    margin_percent: f64,
    /// How like swims scatter, and by how many differences of the log; 0 is the usual scatter.
    scatter_percent: f64,
    scatter_differences: usize,
    /// The smallest difference found in four trials of five; null for too few pairs.
    least_percent: Option<f64>,
    least_s: Option<f64>,
    /// How many pairs would find half of it.
    pairs_for_half: Option<usize>,
    swim_s: f64,
}

impl Foreseen {
    /// What these looks find where like swims of so many seconds scatter so.
    pub fn new(scatter: &SwimScatter, looks: &TrialLooks, swim_s: f64) -> Self {
        let least = (looks.most() >= FEWEST_PAIRS)
            .then(|| scatter.least_percent(looks.most()))
            .flatten();
        Self {
            looks: looks.at().to_vec(),
            margin_percent: looks.margin_percent(),
            scatter_percent: scatter.percent,
            scatter_differences: scatter.differences,
            least_percent: least,
            least_s: least.map(|percent| percent / 100.0 * swim_s),
            pairs_for_half: least.map(|percent| scatter.pairs_for(percent / 2.0)),
            swim_s,
        }
    }

    fn in_words(&self) -> String {
        let whence = match self.scatter_differences {
            0 => format!(
                "Like swims are taken to scatter by {USUAL_PERCENT:.1} %, hand-held times included \
                 (a default, no source)."
            ),
            n => format!(
                "Like swims of this swimmer scatter by {:.1} % ({n} differences in the log).",
                self.scatter_percent
            ),
        };
        let (Some(percent), Some(s), Some(more)) =
            (self.least_percent, self.least_s, self.pairs_for_half)
        else {
            return whence;
        };
        format!(
            "{whence} So a difference of {percent:.1} %, {s:.1} s in {:.0} s, is found in four \
             trials of five, and a smaller one will mostly be missed; half of it would take \
             {more} pairs.",
            self.swim_s
        )
    }
}

impl TrialSetOut {
    fn in_folder(&self, name: &str) -> String {
        Path::new(&self.folder).join(name).display().to_string()
    }

    /// What to do, one after another.
    fn steps(&self, to: &mut Page) {
        let mut step = |first: &str, text: &str| to.hang(first, "   ", text);
        step(
            "1. ",
            "First practise each pairing on two or three days: practise-same-side.toml and \
             practise-opposite-side.toml, the two as often as each other.",
        );
        let days: Vec<String> = (1..=self.days.len())
            .map(|day| format!("day-{day}.toml"))
            .collect();
        step(
            "2. ",
            &format!(
                "Then swim {}, each on a day of its own, after your usual warm-up. Each pair of \
                 neighbouring swims is one with each pairing; tiring along the way weighs on both \
                 alike. An easy length without cues, in the rest before the pairing changes, keeps \
                 the one out of the other.",
                days.join(", ")
            ),
        );
        step("3. ", FILL_IN);
        step(
            "4. ",
            &format!("cuelane trial read {}", self.in_folder("log.csv")),
        );
        let at: Vec<String> = self.looks.at().iter().map(usize::to_string).collect();
        step(
            "   ",
            &format!(
                "after each day from the second, that is after {} pairs. It may end early: one \
                 pairing is faster, or no difference worth having ({}) is left.",
                at.join(", "),
                self.looks.margin_in_words()
            ),
        );
        if self.pairs < FEWEST_PAIRS {
            step(
                "   ",
                &format!(
                    "{} pairs are too few to call anything: {FEWEST_PAIRS} are the fewest.",
                    self.pairs
                ),
            );
        }
    }
}

impl Report for TrialSetOut {
    fn words(&self, to: &mut Page) {
        to.line(format_args!(
            "Trial \"{}\" in {}: up to {} swims of {} at {}, {} pairs, seed {}.",
            self.trial,
            self.folder,
            2 * self.pairs,
            self.swim,
            self.rate,
            self.pairs,
            self.seed
        ));
        to.gap();
        to.fill(self.foreseen.in_words());
        for warning in &self.warnings {
            to.fill(format!("Warning: {warning}."));
        }
        to.gap();
        self.steps(to);
        let with = self
            .swimmer
            .as_ref()
            .map(|file| format!(" --swimmer {file}"));
        to.line(format_args!(
            "\nNext:\n  cuelane export {}{} \\\n    --files one --out tracks\n",
            self.in_folder("practise-same-side.toml"),
            with.unwrap_or_default()
        ));
        to.fill(RATE_CAUTION);
        to.fill(PAIRING_CAUTION);
    }
}

const FILL_IN: &str = "Fill in log.csv: time, strokes of both arms (or 22/length), effort 0 to 10, \
    and kept: yes, part or no, did the kick follow the cue, by video or a coach's eye. Leave the \
    rows in their order; a swim that was not swum keeps its empty row.";
