//! Weeks: the path from one stroke rate to another, and what each training day holds.
//!
//! In: a plan as a person keeps it. Out: the rate and the share of cues of every week, and the
//! training days with their swims without cues. The path is computed, never stored. Nothing here
//! looks at a clock; where the athlete stands is [`crate::analysis::weeks`]'s.

mod course;
mod course_session;
mod days;
mod pace;
mod path;
mod rules;
mod sessions;

pub use course::{COURSE, COURSE_WEEKS, CourseStep, course_presets};
pub use course_session::course_session;
pub use days::{
    Day, Uncued, WEEKDAYS, WeekPlaces, comparison_places, days_of, placed, week_of, weekday_word,
};
pub use pace::OwnSpeed;
pub use path::{Grid, MOST_WEEKS, Path, is_half, shown};
pub use rules::Rules;
pub use sessions::{fade_for, session_of};

use jiff::civil::{Date, Time as Clock, Weekday};

use super::session::RepeatSwim;
use super::wishes::Said;
use crate::units::{Fix, Rate, Time, exact, fraction};

/// A plan as written.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainingPlan {
    /// The file, as the person named it.
    pub source: String,
    /// The swimmer's file, as the plan names it, or an invented swimmer.
    pub swimmer: String,
    /// The rate of week 1.
    pub from: Rate,
    /// The goal; not below `from`.
    pub to: Rate,
    /// How many weeks, 1 to [`MOST_WEEKS`].
    pub weeks: usize,
    /// Training days, in the order of the week, none twice, at least one.
    pub days: Vec<Weekday>,
    /// The first day of week 1. Every week runs seven days from its first day.
    pub start: Date,
    /// When a session starts, for the calendar.
    pub time: Option<Clock>,
    /// The time zone of `time`, by its name in the time zone database; none is "local time".
    pub zone: Option<String>,
    /// How long before a session the calendar gives an alarm.
    pub alarm: Time,
    /// Session files for the training days of a week, in turn; none takes [`Work`].
    pub sessions: Vec<Said<String>>,
    /// What a training day swims where no session file says it.
    pub work: Work,
    /// The swimmer's log.
    pub log: Option<String>,
    /// The swimmer's step test.
    pub steps: Option<String>,
    /// Whether it is the course of who has never done it, at the first rate throughout, in place of
    /// weeks in which the rate rises.
    pub is_course: bool,
    /// Whether a goal more than 20 % from the first rate was confirmed.
    pub confirmed: bool,
    /// Whether two swims of a day are swum at the first rate, for comparison.
    pub compare: bool,
    /// What the swimmer decided on the way, in the order of the weeks.
    pub decisions: Vec<WayOn>,
    /// Whether the file's rules are those of the earlier verdict, which asked each week for proof
    /// that nothing was lost.
    pub earlier_rules: bool,
    /// The rates of the path when the file was written, to 0.1 spm; empty where it does not say.
    pub written: Vec<Fix>,
    /// The rules.
    pub rules: Rules,
}

/// What a swimmer decides once the weeks have said that nothing is gained, or at any time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WayOn {
    /// After which week, from 1.
    pub week: usize,
    /// What.
    pub choice: Way,
}

/// See [`WayOn`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Way {
    /// The rate rises no farther than this one of the path; the cues are thinned out on it.
    Keep(Rate),
    /// The rate rises although nothing is gained; a loss still holds it or takes it back.
    GoOn,
}

/// A goal farther from the first rate than this share of it needs a confirmation (common
/// practice, no source).
pub fn far() -> Fix {
    fraction(20, 100)
}

/// What a training day swims, swims without cues included: so a week's distance is the same in
/// every week, and never rises in a week in which the rate does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// Swims a day, at least 3: two may be without cues.
    pub repeats: u64,
    /// What each swims.
    pub swim: RepeatSwim,
    /// From each swim's end to the next start.
    pub rest: Time,
}

impl Default for Work {
    /// 8 x 50 m with 30 s rest (common practice, no source).
    fn default() -> Self {
        Self {
            repeats: 8,
            swim: RepeatSwim::Distance(crate::units::Length::from_metres(exact(50))),
            rest: Time::whole_s(30),
        }
    }
}

/// How many weeks a plan is followed beyond its last, where the log has moved it.
pub const WEEKS_BEYOND: usize = 52;

/// The last day on which a plan may end: so many weeks later all dates still have four digits of a
/// year.
pub const LATEST_END: Date = jiff::civil::date(9998, 12, 31);

impl TrainingPlan {
    /// The rate and the share of cues, week by week.
    pub fn path(&self) -> Path {
        Path::new(&self.from, &self.to, self.weeks, &self.rules, self.grid())
    }

    /// The rates that the path may take. One that was written in tenths stays in tenths.
    pub fn grid(&self) -> Grid {
        let is_end = |rate: &&Fix| *rate == self.from.spm() || *rate == self.to.spm();
        let inside = self.written.iter().filter(|rate| !is_end(rate));
        if inside.copied().all(is_half) {
            Grid::Halves
        } else {
            Grid::Any
        }
    }

    /// The last of what was decided up to a week.
    fn decided(&self, week: usize) -> Option<&Way> {
        let so_far = |decision: &&WayOn| decision.week <= week;
        let last = self.decisions.iter().rev().find(so_far);
        last.map(|decision| &decision.choice)
    }

    /// The rate that is kept after a week, by what was decided so far.
    pub fn kept_rate(&self, week: usize) -> Option<&Rate> {
        match self.decided(week)? {
            Way::Keep(rate) => Some(rate),
            Way::GoOn => None,
        }
    }

    /// Whether the swimmer goes on after a week knowing that nothing is gained.
    pub fn goes_on_knowing(&self, week: usize) -> bool {
        self.decided(week) == Some(&Way::GoOn)
    }

    /// The first day of a week, numbered from 1.
    pub fn first_day(&self, week: usize) -> Date {
        let days = jiff::Span::new().days(7 * (week as i64 - 1));
        self.start.saturating_add(days)
    }

    /// The last day of the plan.
    pub fn last_day(&self) -> Date {
        (self.first_day(self.weeks + 1)).saturating_sub(jiff::Span::new().days(1))
    }

    /// The first week whose rate is no longer the one that the file was written with, if any.
    pub fn edited_from(&self) -> Option<usize> {
        if self.written.is_empty() {
            return None;
        }
        let path = self.path();
        let now: Vec<Fix> = (1..=self.weeks)
            .map(|week| shown(path.rate(week)))
            .collect();
        let first = now.iter().zip(&self.written).position(|(a, b)| a != b);
        match first {
            Some(at) => Some(at + 1),
            None if now.len() != self.written.len() => Some(now.len().min(self.written.len()) + 1),
            None => None,
        }
    }
}

/// A plan for tests of this room.
#[cfg(test)]
pub(crate) mod tests_of {
    use super::*;
    use crate::units::Quantity;

    /// From 52 to 60 spm from Monday 2027-03-01 on.
    pub fn plan(weeks: usize, days: &str) -> TrainingPlan {
        let day = |word: &str| {
            WEEKDAYS
                .iter()
                .find(|(known, _)| *known == word)
                .map(|(_, day)| *day)
        };
        TrainingPlan {
            source: "plan.toml".into(),
            swimmer: "alex.toml".into(),
            from: Rate::parse("52 spm").expect("a rate"),
            to: Rate::parse("60 spm").expect("a rate"),
            weeks,
            days: days.split(' ').filter_map(day).collect(),
            start: "2027-03-01".parse().expect("a date"),
            time: None,
            zone: None,
            alarm: Time::whole_s(3600),
            sessions: Vec::new(),
            work: Work::default(),
            log: None,
            steps: None,
            is_course: false,
            confirmed: false,
            compare: true,
            decisions: Vec::new(),
            earlier_rules: false,
            written: Vec::new(),
            rules: Rules::default(),
        }
    }

    #[test]
    fn a_plan_that_was_edited_says_from_which_week_on() {
        let mut plan = plan(12, "mon");
        assert_eq!(
            plan.edited_from(),
            None,
            "it does not say how it was written"
        );
        let path = plan.path();
        plan.written = (1..=12).map(|week| shown(path.rate(week))).collect();
        assert_eq!(plan.edited_from(), None);
        plan.rules.hold_every = 3;
        assert_eq!(plan.edited_from(), Some(3));
        plan.rules.hold_every = 4;
        plan.weeks = 11;
        assert_eq!(plan.edited_from(), Some(12));
    }
}
