//! What a step test found, as JSON and in words.

use std::path::Path;

use serde::Serialize;

use crate::analysis::Estimate;
use crate::analysis::steps::{Best, Step, StepTest};
use crate::cli::shared::report::{Estimated, LeftOut, Report};
use crate::cli::shared::words::{Page, ends};
use crate::model::log::Broken;
use crate::model::words::RATE_CAUTION;

/// What `steps` found. The last two have a key only where there is such a thing.
#[derive(Debug, Serialize)]
pub struct StepsReport<'a> {
    best_rate_spm: Option<Estimated>,
    best_speed_m_s: Option<Estimated>,
    quadratic: Option<[f64; 3]>,
    steps: Vec<StepSwum>,
    left_out: Vec<LeftOut>,
    caution: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_reached: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    length_on_rate: Option<LengthOnRate>,
    /// Whether the words have the curve and the robust slope.
    #[serde(skip)]
    pub detail: bool,
    /// The picture that was written.
    #[serde(skip)]
    pub chart: Option<&'a Path>,
}

#[derive(Debug, Serialize)]
struct StepSwum {
    rate_spm: f64,
    speed_m_s: f64,
    distance_per_stroke_m: f64,
}

#[derive(Debug, Serialize)]
struct LengthOnRate {
    slope_m_per_spm: Estimated,
    intercept_m: Estimated,
    robust_slope_m_per_spm: Option<f64>,
}

impl StepsReport<'_> {
    /// What these swims, from the slowest rate on, say together.
    pub fn new(steps: &[Step], test: StepTest, left_out: &[Broken]) -> Self {
        let (rate, speed) = match test.best {
            Best::Reached {
                rate_spm,
                speed_m_s,
            } => (Some(Estimated(rate_spm)), Some(Estimated(speed_m_s))),
            _ => (None, None),
        };
        let swum = |step: &Step| StepSwum {
            rate_spm: step.rate_spm,
            speed_m_s: step.speed_m_s,
            distance_per_stroke_m: step.stroke_length_m,
        };
        Self {
            best_rate_spm: rate,
            best_speed_m_s: speed,
            quadratic: test.speed.map(|fit| fit.coefficients),
            steps: steps.iter().map(swum).collect(),
            left_out: LeftOut::of(left_out),
            caution: RATE_CAUTION,
            not_reached: not_reached(test.best),
            length_on_rate: test.length.map(|fit| LengthOnRate {
                slope_m_per_spm: Estimated(fit.slope),
                intercept_m: Estimated(fit.intercept),
                robust_slope_m_per_spm: test.robust_length_slope,
            }),
            detail: false,
            chart: None,
        }
    }

    /// The rate of best speed, or why there is none.
    fn best(&self) -> String {
        let (Some(Estimated(rate)), Some(Estimated(speed))) =
            (self.best_rate_spm, self.best_speed_m_s)
        else {
            let why = self.not_reached.unwrap_or_default();
            return format!("Rate of best speed {why}.");
        };
        let fastest = self.steps.last().map_or(0.0, |step| step.rate_spm);
        let beyond = rate.interval.is_some_and(|(_, hi)| hi > fastest);
        let more = if rate.interval.is_none() {
            " Three swims give no interval: swim more."
        } else if beyond {
            " The interval reaches beyond the rates swum."
        } else {
            ""
        };
        format!(
            "Rate of best speed: {:.1} spm{}, at {:.2} m/s{}.{more}",
            rate.value,
            ends(&rate, |value| format!("{value:.1}")),
            speed.value,
            ends(&speed, |value| format!("{value:.2}"))
        )
    }

    /// The curve and the lines behind it.
    fn detail(&self, to: &mut Page) {
        if let Some([a, b, c]) = self.quadratic {
            to.line(format_args!("speed = {a:.6} rate² {b:+.5} rate {c:+.4}"));
        }
        if let Some(line) = &self.length_on_rate
            && let Some(robust) = line.robust_slope_m_per_spm
        {
            to.line(format_args!(
                "distance per stroke = {:.4} {:+.6} rate; median of all slopes {robust:+.6}",
                line.intercept_m.0.value, line.slope_m_per_spm.0.value
            ));
        }
    }
}

fn not_reached(best: Best) -> Option<&'static str> {
    Some(match best {
        Best::Reached { .. } => return None,
        Best::StillRising => "not reached: speed was still rising at the highest rate swum",
        Best::AlreadyFalling => "not reached: speed was falling from the lowest rate on",
        Best::CannotBeTold => {
            "not reached: these swims do not show where speed bends; more of them, further apart \
             in rate and alike in effort, would"
        }
    })
}

/// What a longer or shorter stroke means.
fn on_rate(slope: Estimate) -> String {
    let cm = slope.map(|slope| slope * 200.0);
    format!(
        "With each 2 spm more, a stroke gives {:+.1} cm{}. That is this swimmer's own line: a longer \
         stroke at the same rate and effort is better, a shorter one at a higher rate is only to be \
         expected.",
        cm.value,
        ends(&cm, |value| format!("{value:+.1}"))
    )
}

impl Report for StepsReport<'_> {
    fn words(&self, to: &mut Page) {
        to.line("    rate   speed  distance per stroke");
        for step in &self.steps {
            to.line(format_args!(
                "{:>5.1} spm  {:.3} m/s  {:.2} m",
                step.rate_spm, step.speed_m_s, step.distance_per_stroke_m
            ));
        }
        to.gap();
        to.fill(self.best());
        if let Some(line) = &self.length_on_rate {
            to.fill(on_rate(line.slope_m_per_spm.0));
        }
        if self.detail {
            self.detail(to);
        }
        if self.steps.iter().any(|step| step.speed_m_s > 2.5) {
            to.line("A speed over 2.5 m/s is faster than anybody swims: check the file's units.");
        }
        if let Some(path) = self.chart {
            to.line(format_args!("Wrote {}", path.display()));
        }
        to.gap();
        to.fill(RATE_CAUTION);
    }
}
