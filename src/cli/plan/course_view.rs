//! What `plan show` shows of a course, as JSON and in words.

use serde::Serialize;

use super::course::{next, outcome, stands};
use super::inputs::Given;
use crate::analysis::weeks::CourseStanding;
use crate::cli::shared::report::{Micro, Report};
use crate::cli::shared::table::{
    self,
    Column::{Left, Right},
};
use crate::cli::shared::words::Page;
use crate::model::plan::{COURSE, weekday_word};
use crate::model::words::PLAN_CAUTION;

/// A course's days, and where the swimmer stands.
#[derive(Serialize)]
pub struct CourseReport<'a> {
    plan: &'a str,
    swimmer: &'a str,
    log: Option<&'a str>,
    course: &'static str,
    from_spm: Micro,
    start: String,
    today: TodayInCourse,
    course_days: Vec<CourseDayShown>,
    notes: &'a [String],
    caution: &'static str,
    #[serde(skip)]
    rate: String,
}

#[derive(Serialize)]
struct TodayInCourse {
    date: String,
    state: &'static str,
    step: Option<&'static str>,
    next_date: Option<String>,
    kept_days: usize,
    counted_days: usize,
    reasons: Vec<String>,
}

#[derive(Serialize)]
struct CourseDayShown {
    week: usize,
    date: String,
    step: &'static str,
    outcome: &'static str,
    #[serde(skip)]
    weekday: &'static str,
}

impl<'a> CourseReport<'a> {
    /// Where the swimmer stands.
    pub fn new(given: &'a Given, course: &CourseStanding) -> Self {
        let plan = &given.plan;
        let (kept_days, counted_days) = course.kept_of;
        Self {
            plan: &plan.source,
            swimmer: &given.swimmer.name,
            log: given.log.as_deref(),
            course: COURSE,
            from_spm: plan.from.spm().into(),
            start: plan.start.to_string(),
            today: TodayInCourse {
                date: given.today.to_string(),
                state: match course.step {
                    None => "ended",
                    Some(_) if given.today < plan.start => "not begun",
                    Some(_) => "under way",
                },
                step: course.step.map(|step| step.name()),
                next_date: next(course).map(|day| day.day.date.to_string()),
                kept_days,
                counted_days,
                reasons: stands(given, course),
            },
            course_days: (course.days.iter())
                .map(|day| CourseDayShown {
                    week: day.day.week,
                    date: day.day.date.to_string(),
                    step: day.day.step.map_or("", |step| step.name()),
                    outcome: outcome(day),
                    weekday: weekday_word(day.day.date.weekday()),
                })
                .collect(),
            notes: &given.notes,
            caution: PLAN_CAUTION,
            rate: plan.from.both_ways(),
        }
    }
}

impl Report for CourseReport<'_> {
    fn words(&self, to: &mut Page) {
        let days = self.course_days.len();
        to.fill(format!(
            "{}: the course {}, at {} throughout, from {}; {days} days if all goes well",
            self.swimmer, self.course, self.rate, self.start,
        ));
        to.line("\n week  date             step                          came to");
        for day in &self.course_days {
            to.line(table::line([
                (Right(5), day.week.to_string()),
                (Left(2), String::new()),
                (Left(17), format!("{} {}", day.weekday, day.date)),
                (Left(30), day.step.into()),
                (Left(8), day.outcome.into()),
            ]));
        }
        to.gap();
        for sentence in &self.today.reasons {
            to.fill(sentence);
        }
        if self.log.is_none() {
            to.line("There is no log: where you stand is computed from it. --log FILE names it.");
        }
        to.gap();
        to.fill(self.caution);
    }
}
