//! How many swims a verdict takes, before one is swum.

use super::LoggedSwim;
use super::days::Squares;
use super::levels::{day_error2, same_day_error2};
use super::observed::own_scatter;
use super::rules::{DAY_SD, SWIM_SD, SWIM_WEIGHT, WEEK_SD};
use crate::model::plan::{TrainingPlan, comparison_places};
use crate::units::to_f64;

/// What is foretold of a plan's verdicts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ahead {
    /// Squares from swim to swim, as a share of speed.
    pub scatter: f64,
    /// How many differences of the swimmer's own it rests on; 0 is the default alone.
    pub own: usize,
    /// After so many weeks at a rate its speed is known to the plan's limit, eight times in ten.
    pub weeks: usize,
    /// Those weeks' swims.
    pub swims: usize,
}

/// Half the width of an interval that holds eight times in ten, in standard errors: the 90 %
/// quantile of the normal distribution.
const EIGHT_IN_TEN: f64 = 1.281_552;

impl Ahead {
    /// Of a plan, by swims of any time before.
    pub fn of(plan: &TrainingPlan, swims: &[LoggedSwim]) -> Self {
        let own: Squares = own_scatter(swims);
        let variance = own.variance_with(SWIM_WEIGHT, SWIM_SD);
        let repeats = plan.work.repeats as usize;
        let places = comparison_places(repeats);
        let days = plan.days.len();
        // The first and the last swim of a day stay out of its difference.
        let others = repeats.saturating_sub(places.len() + 2);
        let a_week = if plan.compare && !places.is_empty() && others > 0 {
            let share = 1.0 / places.len() as f64 + 1.0 / others as f64;
            same_day_error2(variance, share / days as f64)
        } else {
            2.0 * (day_error2(DAY_SD * DAY_SD, days) + WEEK_SD * WEEK_SD)
        };
        let limit = to_f64(&plan.rules.speed_loss).max(1e-4);
        let weeks = (EIGHT_IN_TEN.powi(2) * a_week / (limit * limit)).ceil() as usize;
        let weeks = weeks.max(1);
        Self {
            scatter: variance.sqrt(),
            own: own.df,
            weeks,
            swims: weeks * days * repeats,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_steady_swimmer_with_comparison_swims_needs_the_fewest_weeks() {
        let text = "swimmer = \"alex.toml\"\nfrom = \"54 spm\"\nto = \"60 spm\"\nweeks = 10\n\
            days = [\"mon\", \"wed\", \"fri\"]\nstart = \"2027-03-01\"\n";
        let plan = crate::files::parse_plan("plan.toml", text).expect("holds");
        // By hand: 1.045² x 0.01² x (1/2 + 1/4) / 3 + 0.002² = 3.13e-5; 1.2816² of it over
        // 0.007² is 1.05: two weeks of 24 swims.
        let usual = Ahead::of(&plan, &[]);
        assert_eq!((usual.weeks, usual.swims, usual.own), (2, 48, 0));
        assert!((usual.scatter - 0.01).abs() < 1e-12);
        // Without: 2 (1.045² x 0.01² / 3 + 0.004²) = 1.05e-4: four weeks.
        let without = TrainingPlan {
            compare: false,
            ..plan.clone()
        };
        assert_eq!(Ahead::of(&without, &[]).weeks, 4);
        let swims: Vec<LoggedSwim> = (0..32)
            .map(|at| LoggedSwim {
                date: plan.start,
                distance_m: 50.0,
                cued_spm: Some(54.0),
                strokes: None,
                rate_spm: None,
                speed_m_s: Some(1.0 + 0.002 * f64::from(at % 3)),
                length_m: None,
                effort: None,
                kept: None,
                ill: false,
                pain: false,
            })
            .collect();
        let steady = Ahead::of(&plan, &swims);
        assert_eq!((steady.weeks, steady.own), (1, 31));
        assert!(steady.scatter < 0.006);
    }
}
