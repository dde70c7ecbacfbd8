//! From plan and log to where the athlete stands, and to the weeks ahead.

use jiff::civil::Date;

use super::LoggedSwim;
use super::course::{CourseDay, CourseStanding, follow_course};
use super::path_walk::Walk;
use super::verdict::Figures;
use super::verdict::{Timed, WeekVerdict};
use super::week::{Week, WeekTense};
use crate::model::log::Kept;
use crate::model::plan::{TrainingPlan, WEEKS_BEYOND, WeekPlaces, week_of};

/// What could happen in the coming weeks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhatIf {
    /// So many weeks without a swim.
    Miss(usize),
    /// So many weeks with illness.
    Ill(usize),
    /// So many weeks that only hold.
    Hold(usize),
}

/// Where the athlete stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Every week, to the last of the plan and on until the moved path ends.
    pub weeks: Vec<Week>,
    /// The week of today; none before the start.
    pub now: Option<usize>,
    /// The week in which the goal's rate is first swum, if all goes well from here.
    pub goal_week: Option<usize>,
    /// Where the course stands, in a plan that is one. Its weeks have no verdict.
    pub course: Option<CourseStanding>,
}

/// Follows a plan through a log up to today; later rows are not looked at. `line` is how distance
/// per stroke falls with rate by the swimmer's step test, m a stroke/min, where there is one;
/// `filmed` has the weeks of which films were read.
pub fn follow(
    plan: &TrainingPlan,
    swims: &[LoggedSwim],
    line: Option<f64>,
    filmed: &[(usize, Timed)],
    today: Date,
    what_if: Option<WhatIf>,
) -> Standing {
    let path = plan.path();
    let now = week_of(plan, today);
    if plan.is_course {
        return in_course(plan, swims, today);
    }
    let mut walk = Walk::new(plan, &path, line);
    let mut supposed = what_if;
    let mut weeks: Vec<Week> = Vec::new();
    for number in 1..=plan.weeks + WEEKS_BEYOND {
        let first = plan.first_day(number);
        let next = plan.first_day(number + 1);
        let in_week = |swim: &&LoggedSwim| (first..next).contains(&swim.date) && swim.date <= today;
        let swam: Vec<&LoggedSwim> = swims.iter().filter(in_week).collect();
        let film = filmed.iter().find(|(week, _)| *week == number);
        let mut week = walk.week(number, first, &swam, film.map(|(_, timed)| *timed));
        week.ahead = ahead(plan, number, today);
        // Judged on what is planned for it, then the path moves on.
        match week.ahead {
            WeekTense::Past => {
                let (verdict, findings) = walk.judge(&mut week, &swam);
                week.verdict = Some(verdict);
                week.findings = findings;
                walk.move_on(&week, verdict);
            }
            WeekTense::Now if !swam.is_empty() => {
                walk.measure(&mut week, &swam);
                walk.place_as_if(number, WeekVerdict::GoOn, false, true);
            }
            WeekTense::Now | WeekTense::Ahead => {
                let (verdict, missed, is_supposed) = suppose(&mut supposed);
                week.supposed = is_supposed;
                walk.place_as_if(number, verdict, missed, true);
            }
        }
        let ended = number >= plan.weeks && walk.done();
        weeks.push(week);
        if ended {
            break;
        }
    }
    let goal = path.rate(walk.last());
    let goal_week = weeks
        .iter()
        .find(|week| path.rate(week.placed.rate) == goal)
        .map(|week| week.week);
    Standing {
        weeks,
        now,
        goal_week,
        course: None,
    }
}

/// The weeks of a course, to the last of its days.
fn in_course(plan: &TrainingPlan, swims: &[LoggedSwim], today: Date) -> Standing {
    let course = follow_course(plan, swims, today);
    let last = course.days.last().map_or(1, |day| day.day.week);
    let week = |week: usize| {
        let first = plan.first_day(week);
        let next = plan.first_day(week + 1);
        let in_week = |swim: &&LoggedSwim| (first..next).contains(&swim.date) && swim.date <= today;
        let swam: Vec<&LoggedSwim> = swims.iter().filter(in_week).collect();
        let swum = |day: &&CourseDay| day.day.week == week && day.outcome.is_some();
        Week {
            week,
            first,
            ahead: ahead(plan, week, today),
            placed: WeekPlaces::FIRST,
            holds: false,
            verdict: None,
            findings: Vec::new(),
            figures: Figures::default(),
            swims: swam.len(),
            days: course.days.iter().filter(swum).count(),
            kept: Kept::SEEN.map(|kept| swam.iter().filter(|s| s.kept == Some(kept)).count()),
            timed: Timed::NotMeasured,
            supposed: false,
        }
    };
    Standing {
        weeks: (1..=last).map(week).collect(),
        now: week_of(plan, today),
        goal_week: None,
        course: Some(course),
    }
}

fn suppose(what_if: &mut Option<WhatIf>) -> (WeekVerdict, bool, bool) {
    let less = |weeks: usize, make: fn(usize) -> WhatIf| (weeks > 1).then(|| make(weeks - 1));
    let Some(what) = *what_if else {
        return (WeekVerdict::GoOn, false, false);
    };
    let (verdict, missed, rest) = match what {
        WhatIf::Miss(weeks) => (WeekVerdict::NotEnough, true, less(weeks, WhatIf::Miss)),
        WhatIf::Ill(weeks) => (WeekVerdict::StepBack, true, less(weeks, WhatIf::Ill)),
        WhatIf::Hold(weeks) => (WeekVerdict::Hold, false, less(weeks, WhatIf::Hold)),
    };
    *what_if = rest;
    (verdict, missed, true)
}

/// A week is over once the day after its last training day has come.
fn ahead(plan: &TrainingPlan, number: usize, today: Date) -> WeekTense {
    let first = plan.first_day(number);
    let last = (0..7)
        .map(|day| first.saturating_add(jiff::Span::new().days(day)))
        .filter(|date| plan.days.contains(&date.weekday()))
        .max()
        .unwrap_or(first);
    match (today > last, today >= first) {
        (true, _) => WeekTense::Past,
        (false, true) => WeekTense::Now,
        (false, false) => WeekTense::Ahead,
    }
}
