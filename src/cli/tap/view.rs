//! The rate that was tapped, as JSON and in words.

use serde::Serialize;

use crate::analysis::taps::{ENOUGH_SPM, ENOUGH_TAPS, Each, Taps};
use crate::cli::shared::report::{Estimated, Report};
use crate::cli::shared::words::Page;
use crate::model::value::Word;
use crate::model::words::RATE_CAUTION;

/// What `tap` found. A rate that is not known has no key.
#[derive(Debug, Serialize)]
pub struct TapReport {
    each: &'static str,
    taps: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    rate_spm: Option<Estimated>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cycle_time_s: Option<Estimated>,
    enough: bool,
    doubles: Vec<usize>,
    gaps: Vec<Gap>,
    pauses_after_tap: Vec<usize>,
    caution: &'static str,
}

#[derive(Debug, Serialize)]
struct Gap {
    after_tap: usize,
    missing: usize,
}

impl TapReport {
    /// What these taps, at these times, say.
    pub fn new(times: &[f64], taps: Taps, each: Each) -> Self {
        let gap = |&(after_tap, missing): &(usize, usize)| Gap { after_tap, missing };
        let cycle_s = (taps.rate_spm).map(|rate| rate.map(|spm| 120.0 / spm));
        Self {
            each: each.word(),
            taps: times.len(),
            rate_spm: taps.rate_spm.map(Estimated),
            cycle_time_s: cycle_s.map(Estimated),
            enough: taps.enough(),
            gaps: taps.gaps.iter().map(gap).collect(),
            doubles: taps.doubles,
            pauses_after_tap: taps.pauses,
            caution: RATE_CAUTION,
        }
    }

    fn rate(&self, to: &mut Page) {
        let (Some(Estimated(rate)), Some(Estimated(cycle))) = (self.rate_spm, self.cycle_time_s)
        else {
            to.line(format_args!(
                "{} taps: too few for a rate, or nothing regular in them. From the fourth on there \
                 is one.",
                self.taps
            ));
            return;
        };
        let between = rate
            .interval
            .map(|(lo, hi)| format!(", {lo:.1} to {hi:.1} (95 %)"));
        to.line(format_args!(
            "Rate {:.1} spm ({:.1} cycles/min){}; cycle {:.2} s",
            rate.value,
            rate.value / 2.0,
            between.unwrap_or_default(),
            cycle.value
        ));
        let enough = if self.enough {
            format!("Enough: known to within {ENOUGH_SPM:.0} spm.")
        } else if rate.n < ENOUGH_TAPS {
            format!("Tap on, to {ENOUGH_TAPS} or more: a few may agree by chance.")
        } else {
            format!("Tap on to know it within {ENOUGH_SPM:.0} spm.")
        };
        to.line(format_args!(
            "{} taps, one a {}. {enough}",
            self.taps, self.each
        ));
    }
}

impl Report for TapReport {
    fn words(&self, to: &mut Page) {
        self.rate(to);
        if !self.doubles.is_empty() {
            to.fill(format!(
                "Set aside as doubles: tap {}.",
                listed(&self.doubles)
            ));
        }
        if !self.gaps.is_empty() {
            let missing: usize = self.gaps.iter().map(|gap| gap.missing).sum();
            let after: Vec<usize> = self.gaps.iter().map(|gap| gap.after_tap).collect();
            let after = listed(&after);
            to.fill(format!(
                "Missing: {missing}, after tap {after}; counted over."
            ));
        }
        if !self.pauses_after_tap.is_empty() {
            to.fill(format!(
                "Paused after tap {}.",
                listed(&self.pauses_after_tap)
            ));
        }
        if self.rate_spm.is_some() {
            to.gap();
            to.fill(self.caution);
        }
    }
}

/// The first few of them.
fn listed(taps: &[usize]) -> String {
    let words: Vec<String> = taps.iter().take(12).map(usize::to_string).collect();
    words.join(", ") + if taps.len() > 12 { ", ..." } else { "" }
}
