//! What `plan show` shows, as JSON and in words.

use serde::Serialize;

use super::inputs::Given;
use super::reasons::{reasons, reasons_and_next};
use super::verdict::{last_judged, moved, takes, to_swim, today, verdict};
use super::week_view::{WeekShown, cued_percent, rate_spm};
use crate::analysis::weeks::{Standing, Week, WeekTense, WeekVerdict};
use crate::cli::shared::report::{Micro, Report};
use crate::cli::shared::words::Page;
use crate::model::plan::weekday_word;
use crate::model::words::PLAN_CAUTION;

/// A plan's weeks, and where the swimmer stands.
#[derive(Serialize)]
pub struct PlanReport<'a> {
    plan: &'a str,
    swimmer: &'a str,
    log: Option<&'a str>,
    from_spm: Micro,
    to_spm: Micro,
    start: String,
    today: TodayShown,
    weeks: Vec<WeekShown<'a>>,
    edited_from_week: Option<usize>,
    notes: &'a [String],
    caution: &'static str,
    #[serde(skip)]
    given: &'a Given,
    #[serde(skip)]
    standing: &'a Standing,
    #[serde(skip)]
    detail: bool,
}

#[derive(Serialize)]
struct TodayShown {
    date: String,
    state: &'static str,
    week: Option<usize>,
    verdict: Option<&'static str>,
    judged_week: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reasons: Option<Vec<String>>,
    #[serde(flatten)]
    next: Option<NextWeek>,
    goal_week: Option<usize>,
}

/// The week to swim.
#[derive(Serialize)]
struct NextWeek {
    next_week: usize,
    rate_spm: Micro,
    #[serde(skip_serializing_if = "Option::is_none")]
    moved_rate_spm: Option<Micro>,
    cued_percent: f64,
}

impl TodayShown {
    fn new(given: &Given, standing: &Standing) -> Self {
        let (plan, path) = (&given.plan, given.plan.path());
        let is_over = |week: &Week| week.ahead == WeekTense::Past;
        let judged = last_judged(standing);
        Self {
            date: given.today.to_string(),
            state: match standing.now {
                None => "not begun",
                Some(_) if standing.weeks.iter().all(is_over) => "ended",
                Some(_) => "under way",
            },
            week: standing.now,
            verdict: judged.and_then(|week| week.verdict).map(WeekVerdict::words),
            judged_week: judged.map(|week| week.week),
            reasons: judged.map(|week| reasons_and_next(given, standing, week)),
            next: to_swim(standing).map(|week| NextWeek {
                next_week: week.week,
                rate_spm: rate_spm(&path, week.week),
                moved_rate_spm: moved(plan, week).then(|| rate_spm(&path, week.placed.rate)),
                cued_percent: cued_percent(&path, week.placed.share),
            }),
            goal_week: standing.goal_week,
        }
    }
}

impl<'a> PlanReport<'a> {
    /// Where the swimmer stands; for people with the reasons of every week, where wanted.
    pub fn new(given: &'a Given, standing: &'a Standing, detail: bool) -> Self {
        let (plan, path) = (&given.plan, given.plan.path());
        let week = |week: &'a Week| WeekShown::new(given, &path, week);
        Self {
            plan: &plan.source,
            swimmer: &given.swimmer.name,
            log: given.log.as_deref(),
            from_spm: plan.from.spm().into(),
            to_spm: plan.to.spm().into(),
            start: plan.start.to_string(),
            today: TodayShown::new(given, standing),
            weeks: standing.weeks.iter().map(week).collect(),
            edited_from_week: plan.edited_from(),
            notes: &given.notes,
            caution: PLAN_CAUTION,
            given,
            standing,
            detail,
        }
    }
}

impl Report for PlanReport<'_> {
    fn words(&self, to: &mut Page) {
        let (given, plan, path) = (self.given, &self.given.plan, self.given.plan.path());
        let days: Vec<&str> = plan.days.iter().map(|day| weekday_word(*day)).collect();
        to.fill(format!(
            "{}: {} to {} in {} weeks from {}, {}",
            self.swimmer,
            plan.from.both_ways(),
            plan.to.both_ways(),
            plan.weeks,
            self.start,
            days.join(" ")
        ));
        to.line(
            "\n      first day    rate  moved   cues    rate swum   speed  metres/ effort  kept\n \
             week                spm    spm      %          spm     m/s   stroke",
        );
        for week in &self.weeks {
            week.words(&path, to);
        }
        to.gap();
        to.fill(today(plan, &path, self.standing, given.today));
        if self.standing.now.is_none() {
            to.fill(takes(plan, &given.swims));
        }
        if self.log.is_none() && self.standing.now.is_some() {
            to.line("There is no log: nothing can be judged. --log FILE names it.");
        }
        let judged = self.standing.weeks.iter();
        let judged = judged.filter(|week| week.verdict.is_some());
        // All of them, or the last.
        let passed_over = if self.detail {
            0
        } else {
            judged.clone().count().max(1) - 1
        };
        for week in judged.skip(passed_over) {
            to.fill(format!("Week {}, {}:", week.week, verdict(week)));
            let is_last = last_judged(self.standing).is_some_and(|last| last.week == week.week);
            let reasons = if is_last {
                reasons_and_next(given, self.standing, week)
            } else {
                reasons(given, week)
            };
            for reason in reasons {
                to.hang("  - ", "    ", reason);
            }
        }
        to.gap();
        to.fill(self.caution);
    }
}
