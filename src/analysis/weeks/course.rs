//! Where a swimmer stands in the course: by the days in the log, step after step.
//!
//! A step goes on once three of four lengths were kept on two days. After four days without that
//! it goes one step back; the second time the other pairing is worth a try, or a coach is asked
//! (all of it common practice, no source). What the swimmer felt counts here as what was seen.

use jiff::Span;
use jiff::civil::Date;

use super::swims::LoggedSwim;
use crate::model::log::Kept;
use crate::model::plan::{CourseStep, Day, TrainingPlan, WEEKS_BEYOND, WeekPlaces, week_of};

/// Days on which a step has to be kept.
const KEPT_DAYS: usize = 2;
/// Days that a step may take.
const MOST_DAYS: usize = 4;
/// Swims without cues: so many days after the last with them, and the last up to ten days after.
const WITHOUT_AFTER: [i64; 3] = [1, 3, 7];

/// What a day came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// A step that is done once was done.
    Done,
    /// Three of four lengths were kept.
    Kept,
    /// Fewer were.
    NotKept,
    /// Nobody said what was kept: the day does not count.
    NotSaid,
}

/// A day of the course.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseDay {
    /// When, and which step.
    pub day: Day,
    /// What it came to; none where it lies ahead.
    pub outcome: Option<Outcome>,
}

/// Where the swimmer stands.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseStanding {
    /// The days that the log has, then the days ahead if each of them is kept.
    pub days: Vec<CourseDay>,
    /// The step to swim next; none once the course is through.
    pub step: Option<CourseStep>,
    /// Days on which it was kept so far, and days that counted, since it was last begun.
    pub kept_of: (usize, usize),
    /// The step that was not kept in its days, and how often, until it is.
    pub stuck: Option<(CourseStep, usize)>,
    /// Whether the two pairings were kept, the first one and the other.
    pub ways: [bool; 2],
}

/// Follows a course through a log up to today; later rows are not looked at. The swims are in the
/// order of their dates.
pub fn follow_course(plan: &TrainingPlan, swims: &[LoggedSwim], today: Date) -> CourseStanding {
    let mut walk = Walk::new(plan);
    let mut days = Vec::new();
    let counted = |swim: &&LoggedSwim| (plan.start..=today).contains(&swim.date);
    let swims: Vec<&LoggedSwim> = swims.iter().filter(counted).collect();
    for swam in swims.chunk_by(|one, next| one.date == next.date) {
        let date = swam[0].date;
        let Some(step) = walk.step_on(date) else {
            continue;
        };
        let outcome = walk.take(date, kept_share(swam));
        days.push(course_day(plan, date, step, Some(outcome)));
    }
    let standing = walk.clone();
    let is_swum = swims.last().is_some_and(|swim| swim.date == today);
    let mut date = plan
        .start
        .max(if is_swum { after(today, 1) } else { today });
    let bound = plan.first_day(plan.weeks + WEEKS_BEYOND + 1);
    while walk.step.is_some() && date < bound {
        if plan.days.contains(&date.weekday())
            && let Some(step) = walk.step_on(date)
        {
            walk.take(date, Some(1.0));
            days.push(course_day(plan, date, step, None));
        }
        date = after(date, 1);
    }
    CourseStanding {
        step: standing.step,
        kept_of: (standing.kept, standing.counted),
        stuck: standing.stuck(),
        ways: [CourseStep::OneWay, CourseStep::OtherWay].map(|way| standing.has(way)),
        days,
    }
}

fn after(date: Date, days: i64) -> Date {
    date.saturating_add(Span::new().days(days))
}

fn course_day(
    plan: &TrainingPlan,
    date: Date,
    step: CourseStep,
    outcome: Option<Outcome>,
) -> CourseDay {
    CourseDay {
        day: Day {
            week: week_of(plan, date).unwrap_or(1),
            number: 0,
            date,
            placed: WeekPlaces::FIRST,
            uncued: Vec::new(),
            step: Some(step),
        },
        outcome,
    }
}

/// The share of the lengths that were kept, of those of which somebody said it. A swim by time
/// counts as one; a session has no swims of both kinds.
fn kept_share(swam: &[&LoggedSwim]) -> Option<f64> {
    let (mut kept, mut said) = (0.0, 0.0);
    for swim in swam {
        let Some(answer) = swim.kept else { continue };
        let lengths = if swim.distance_m > 0.0 {
            swim.distance_m
        } else {
            1.0
        };
        said += lengths;
        if matches!(answer, Kept::Yes | Kept::FeltYes) {
            kept += lengths;
        }
    }
    (said > 0.0).then(|| kept / said)
}

#[derive(Debug, Clone)]
struct Walk<'a> {
    plan: &'a TrainingPlan,
    step: Option<CourseStep>,
    /// Days on which the step was kept, and days that counted.
    kept: usize,
    counted: usize,
    /// How often each step was not kept in its days, since it last was.
    failed: [usize; CourseStep::ALL.len()],
    /// Which steps are behind.
    passed: [bool; CourseStep::ALL.len()],
    /// When the swims without cues that are left are due; when a step that waits may begin.
    due: Vec<Date>,
}

impl<'a> Walk<'a> {
    fn new(plan: &'a TrainingPlan) -> Self {
        Self {
            plan,
            step: Some(CourseStep::March),
            kept: 0,
            counted: 0,
            failed: [0; CourseStep::ALL.len()],
            passed: [false; CourseStep::ALL.len()],
            due: Vec::new(),
        }
    }

    /// What is to be swum on a day, if anything.
    fn step_on(&self, date: Date) -> Option<CourseStep> {
        let is_due = self.due.is_empty() || self.due.iter().any(|due| *due <= date);
        self.step.filter(|_| is_due)
    }

    /// Takes in a day of the present step, with the share of lengths that were kept.
    fn take(&mut self, date: Date, share: Option<f64>) -> Outcome {
        let Some(step) = self.step else {
            return Outcome::Done;
        };
        if !step.is_judged() {
            self.go_on(step, date);
            return Outcome::Done;
        }
        let Some(share) = share else {
            return Outcome::NotSaid;
        };
        let is_kept = share >= 0.75;
        self.counted += 1;
        self.kept += usize::from(is_kept);
        if step == CourseStep::Without {
            self.due.retain(|due| *due > date);
            match (self.due.is_empty(), self.kept == self.counted) {
                (true, true) => self.go_on(step, date),
                (true, false) => self.go_back(step, date),
                (false, _) => {}
            }
        } else if self.kept == KEPT_DAYS {
            self.go_on(step, date);
        } else if self.counted == MOST_DAYS {
            self.go_back(step, date);
        }
        if is_kept {
            Outcome::Kept
        } else {
            Outcome::NotKept
        }
    }

    fn has(&self, step: CourseStep) -> bool {
        self.passed[step as usize]
    }

    fn go_on(&mut self, step: CourseStep, date: Date) {
        self.passed[step as usize] = true;
        self.failed[step as usize] = 0;
        let next = match step.after() {
            // Who has one way only has nothing to choose from.
            Some(CourseStep::Try)
                if !(self.has(CourseStep::OneWay) && self.has(CourseStep::OtherWay)) =>
            {
                Some(CourseStep::Hold)
            }
            next => next,
        };
        self.begin(next, date);
    }

    fn go_back(&mut self, step: CourseStep, date: Date) {
        self.failed[step as usize] += 1;
        self.passed[step as usize] = false;
        let again = self.failed[step as usize] >= 2;
        let next = match step {
            CourseStep::OneWay if again => CourseStep::OtherWay,
            CourseStep::OtherWay if again && self.has(CourseStep::OneWay) => CourseStep::Hold,
            CourseStep::Hold if !self.has(CourseStep::OneWay) => CourseStep::OtherWay,
            CourseStep::Hold if !self.has(CourseStep::OtherWay) => CourseStep::OneWay,
            _ => step.before().unwrap_or(step),
        };
        self.begin(Some(next), date);
    }

    fn begin(&mut self, step: Option<CourseStep>, date: Date) {
        (self.step, self.kept, self.counted) = (step, 0, 0);
        if step == Some(CourseStep::Hold) {
            // Whichever way was kept is good enough from here on.
            self.failed[CourseStep::OneWay as usize] = 0;
            self.failed[CourseStep::OtherWay as usize] = 0;
        }
        self.due = match step {
            // Another week, so that the two ways are not mixed up.
            Some(CourseStep::OtherWay) => {
                let week = week_of(self.plan, date).unwrap_or(1);
                vec![self.plan.first_day(week + 1)]
            }
            Some(CourseStep::Without) => WITHOUT_AFTER.map(|days| after(date, days)).to_vec(),
            _ => Vec::new(),
        };
    }

    /// The last step that was not kept and is still to be.
    fn stuck(&self) -> Option<(CourseStep, usize)> {
        let failed = |step: &CourseStep| self.failed[*step as usize] > 0;
        let step = CourseStep::ALL.into_iter().rev().find(failed)?;
        Some((step, self.failed[step as usize]))
    }
}
