//! A week of a plan: its line of the table, and all of it for programs.

use serde::Serialize;

use super::film::WeekFilm;
use super::inputs::Given;
use super::reasons::reasons;
use super::verdict::moved;
use crate::analysis::Estimate;
use crate::analysis::weeks::{Difference, Week, WeekTense, WeekVerdict, Weighed};
use crate::cli::shared::came::OffsetShown;
use crate::cli::shared::report::{Estimated, Known, Micro};
use crate::cli::shared::table::{
    self,
    Column::{Left, Right},
};
use crate::cli::shared::words::Page;
use crate::model::plan::{Path, shown};
use crate::units::to_f64;

/// A week, planned and swum.
#[derive(Serialize)]
pub struct WeekShown<'a> {
    week: usize,
    starts: String,
    rate_spm: Micro,
    cued_percent: f64,
    holds: bool,
    verdict: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reasons: Option<Vec<String>>,
    swims: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    moved_rate_spm: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    moved_cued_percent: Option<f64>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    supposed: bool,
    #[serde(flatten)]
    swum: Option<WeekSwum>,
    #[serde(skip)]
    given: &'a Given,
    #[serde(skip)]
    of: &'a Week,
}

/// What was swum in it.
#[derive(Serialize)]
struct WeekSwum {
    #[serde(flatten)]
    figures: Known<Estimated>,
    #[serde(skip_serializing_if = "Option::is_none")]
    distance_m: Option<f64>,
    #[serde(flatten)]
    weighed: Option<WeighedShown>,
    days: usize,
    kept: KeptSwims,
    timing: &'static str,
    #[serde(flatten)]
    film: Option<FilmShown>,
}

/// What the speed was weighed by: how likely a loss is, here and at the next rate.
#[derive(Serialize)]
struct WeighedShown {
    fastest_rate_spm: Micro,
    loss_likely_percent: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    next_loss_likely_percent: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gain_over_spm: Option<Micro>,
}

impl From<&Weighed> for WeighedShown {
    fn from(weighed: &Weighed) -> Self {
        let tenths = |share: f64| (share * 1000.0).round() / 10.0;
        Self {
            fastest_rate_spm: weighed.fastest_spm.into(),
            loss_likely_percent: tenths(weighed.loss_here),
            next_loss_likely_percent: weighed.loss_next.map(tenths),
            gain_over_spm: weighed.gain.map(|(spm, _)| spm.into()),
        }
    }
}

#[derive(Serialize)]
struct KeptSwims {
    yes: usize,
    part: usize,
    no: usize,
}

#[derive(Serialize)]
struct FilmShown {
    kick_scatter_ms: f64,
    kick_scatter_deg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    feet_with_sound: Option<OffsetShown>,
    #[serde(skip_serializing_if = "Option::is_none")]
    feet_without_sound: Option<OffsetShown>,
}

impl From<&WeekFilm> for FilmShown {
    fn from(film: &WeekFilm) -> Self {
        let feet = film.feet.as_ref();
        Self {
            kick_scatter_ms: film.scatter_ms,
            kick_scatter_deg: film.scatter_deg,
            feet_with_sound: (feet.and_then(|feet| feet.with_sound.clone())).map(OffsetShown::new),
            feet_without_sound: (feet.and_then(|feet| feet.without_sound.clone()))
                .map(OffsetShown::new),
        }
    }
}

/// The rate of a place on the path, as it is shown.
pub fn rate_spm(path: &Path, place: usize) -> Micro {
    (&shown(path.rate(place))).into()
}

/// The share of cues of a place on the path, to the tenth of a percent.
pub fn cued_percent(path: &Path, place: usize) -> f64 {
    (to_f64(path.share(place)) * 1000.0).round() / 10.0
}

impl<'a> WeekShown<'a> {
    /// A week of the plan.
    pub fn new(given: &'a Given, path: &Path, week: &'a Week) -> Self {
        let plan = &given.plan;
        let (place, planned) = (week.placed, week.week.min(plan.weeks));
        let has_swum = week.ahead != WeekTense::Ahead && week.swims > 0;
        Self {
            week: week.week,
            starts: week.first.to_string(),
            rate_spm: rate_spm(path, week.week),
            cued_percent: cued_percent(path, week.week),
            holds: path.holds(week.week) && week.week <= plan.weeks,
            verdict: week.verdict.map(WeekVerdict::words),
            reasons: week.verdict.map(|_| reasons(given, week)),
            swims: week.swims,
            moved_rate_spm: moved(plan, week).then(|| rate_spm(path, place.rate)),
            moved_cued_percent: (place.share != planned).then(|| cued_percent(path, place.share)),
            supposed: week.supposed,
            swum: has_swum.then(|| WeekSwum::new(given, week)),
            given,
            of: week,
        }
    }

    /// Its line of the table, in 79 columns, and below it what follows from it.
    pub fn words(&self, path: &Path, to: &mut Page) {
        let (week, plan) = (self.of, &self.given.plan);
        let is_planned = week.week <= plan.weeks;
        let only = |is_so: bool, text: String| if is_so { text } else { String::new() };
        let rate = |place: usize| format!("{:.1}", to_f64(&shown(path.rate(place))));
        let plain = |value: Option<Estimate>, places: usize| {
            let text = value.map(|value| format!("{:.places$}", value.value));
            text.unwrap_or_default()
        };
        let swum = week.figures.rate_spm.map(|rate| match rate.half_width() {
            Some(half) => format!("{:.1} ±{half:.1}", rate.value),
            None => format!("{:.1}", rate.value),
        });
        let said: usize = week.kept.iter().sum();
        let now = if week.ahead == WeekTense::Now {
            '>'
        } else {
            ' '
        };
        let cued = to_f64(path.share(week.placed.share)) * 100.0;
        to.line(table::line([
            (Left(5), format!("{now}{:>4}", week.week)),
            (Right(11), week.first.to_string()),
            (Right(7), only(is_planned, rate(week.week))),
            (
                Right(6),
                only(moved(plan, week) || !is_planned, rate(week.placed.rate)),
            ),
            (Right(6), format!("{cued:.0}")),
            (Right(12), swum.unwrap_or_default()),
            (Right(7), plain(week.figures.speed_m_s, 3)),
            (Right(8), plain(week.figures.length_m, 3)),
            (Right(6), plain(week.figures.effort, 1)),
            (Right(5), only(said > 0, format!("{}/{said}", week.kept[0]))),
        ]));
        let remark = match (self.verdict, week.supposed, week.holds) {
            (Some(verdict), _, _) if week.swims == 0 => format!("{verdict}, no swim"),
            (Some(verdict), _, _) => verdict.into(),
            (None, true, _) => "supposed".into(),
            (None, false, true) if is_planned => "holds by rule".into(),
            _ => return,
        };
        to.line(format_args!("       {remark}"));
    }
}

impl WeekSwum {
    fn new(given: &Given, week: &Week) -> Self {
        let figures = &week.figures;
        let swims = figures.speed_m_s.map_or(0, |speed| speed.n);
        let percent = |change: Option<Difference>| {
            let estimate = change.map(|change| change.estimate(swims));
            estimate.map(|estimate| estimate.map(|log| log.exp_m1() * 100.0))
        };
        let weighed = figures.weighed.as_ref();
        let below = weighed.and_then(|weighed| weighed.below_fastest);
        let gain = weighed.and_then(|weighed| weighed.gain);
        let known = [
            ("rate_swum_spm", figures.rate_spm),
            ("rate_error_spm", figures.rate_error_spm),
            ("uncued_rate_error_spm", figures.uncued_error_spm),
            ("speed_m_s", figures.speed_m_s),
            ("distance_per_stroke_m", figures.length_m),
            ("effort", figures.effort),
            (
                "effort_change",
                figures.effort_change.map(|change| change.estimate(swims)),
            ),
            (
                "speed_change_percent",
                percent(below.map(Difference::turned)),
            ),
            ("same_day_change_percent", percent(figures.same_day)),
            ("gain_percent", percent(gain.map(|(_, gain)| gain))),
            (
                "distance_per_stroke_change_percent",
                percent(figures.length_change),
            ),
        ];
        let film = given.films.iter().find(|film| film.week == week.week);
        let [yes, part, no] = week.kept;
        Self {
            figures: Known::of(known.map(|(key, found)| (key, found.map(Estimated)))),
            distance_m: figures.distance_m,
            weighed: weighed.map(WeighedShown::from),
            days: week.days,
            kept: KeptSwims { yes, part, no },
            timing: week.timed.words(),
            film: film.map(FilmShown::from),
        }
    }
}
