//! One week of a plan, as it was swum and judged or as it lies ahead.

use jiff::civil::Date;

use super::verdict::{Figures, Finding, Timed, WeekVerdict};
use crate::model::plan::WeekPlaces;

/// Where a week lies, seen from today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeekTense {
    /// Its training days are over.
    Past,
    /// It has begun.
    Now,
    /// It has not.
    Ahead,
}

/// One calendar week.
#[derive(Debug, Clone, PartialEq)]
pub struct Week {
    /// Its number, from 1; beyond the plan's last where the path has moved.
    pub week: usize,
    /// Its first day.
    pub first: Date,
    /// Where it lies.
    pub ahead: WeekTense,
    /// What it swims, as the log has moved the path.
    pub placed: WeekPlaces,
    /// Whether the moved path holds the rate by rule.
    pub holds: bool,
    /// The verdict; none until the week is over.
    pub verdict: Option<WeekVerdict>,
    /// What the verdict rests on.
    pub findings: Vec<Finding>,
    /// The figures.
    pub figures: Figures,
    /// Rows of the log, and days with rows.
    pub swims: usize,
    /// Days on which there were swims with cues that could be used.
    pub days: usize,
    /// Swims that say `yes`, `part`, `no`.
    pub kept: [usize; 3],
    /// Whether the timing held.
    pub timed: Timed,
    /// Whether it is only supposed (`--what-if`).
    pub supposed: bool,
}

impl Week {
    /// What decided: the first finding that says what the verdict says.
    pub fn decided_by(&self) -> Option<Finding> {
        let verdict = self.verdict?;
        (self.findings.iter().copied()).find(|finding| finding.verdict() == verdict)
    }
}
