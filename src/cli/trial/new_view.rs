//! What `trial new` set out, as JSON and in words.

use std::path::Path;

use serde::Serialize;

use crate::analysis::trial::FEWEST_PAIRS;
use crate::cli::shared::report::Report;
use crate::cli::shared::words::Page;
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
    #[serde(skip)]
    pub swim: String,
    #[serde(skip)]
    pub rate: String,
    /// The swimmer as the flag named it.
    #[serde(skip)]
    pub swimmer: Option<String>,
}

impl Report for TrialSetOut {
    fn words(&self, to: &mut Page) {
        let in_folder = |name: &str| Path::new(&self.folder).join(name).display().to_string();
        to.line(format_args!(
            "Trial \"{}\" in {}: {} swims of {} at {}, {} pairs, seed {}.\n",
            self.trial,
            self.folder,
            2 * self.pairs,
            self.swim,
            self.rate,
            self.pairs,
            self.seed
        ));
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
                 alike.",
                days.join(", ")
            ),
        );
        step("3. ", FILL_IN);
        step(
            "4. ",
            &format!("cuelane trial read {}", in_folder("log.csv")),
        );
        if self.pairs < FEWEST_PAIRS {
            step(
                "   ",
                &format!(
                    "{} pairs are too few by themselves: put the rows under those of an earlier \
                     trial of the same name.",
                    self.pairs
                ),
            );
        }
        let with = self
            .swimmer
            .as_ref()
            .map(|file| format!(" --swimmer {file}"));
        to.line(format_args!(
            "\nNext:\n  cuelane export {}{} \\\n    --files one --out tracks\n",
            in_folder("practise-same-side.toml"),
            with.unwrap_or_default()
        ));
        to.fill(RATE_CAUTION);
        to.fill(PAIRING_CAUTION);
    }
}

const FILL_IN: &str = "Fill in log.csv: time, strokes of both arms (or 22/length), effort 0 to 10, \
    and kept: yes, part or no, did the kick follow the cue, by video or a coach's eye. Leave the \
    rows in their order; a swim that was not swum keeps its empty row.";
