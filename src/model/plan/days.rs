//! Training days: which dates, and which of their swims are without cues.

use jiff::Span;
use jiff::civil::{Date, Weekday};

use super::TrainingPlan;
use super::course::CourseStep;

/// The days of the week by their words, Monday first.
pub const WEEKDAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Monday),
    ("tue", Weekday::Tuesday),
    ("wed", Weekday::Wednesday),
    ("thu", Weekday::Thursday),
    ("fri", Weekday::Friday),
    ("sat", Weekday::Saturday),
    ("sun", Weekday::Sunday),
];

/// The word of a day of the week.
pub fn weekday_word(day: Weekday) -> &'static str {
    WEEKDAYS[day.to_monday_zero_offset() as usize].0
}

/// What a calendar week swims: places on the path, as planned or as the log has moved them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeekPlaces {
    /// The place whose rate is cued.
    pub rate: usize,
    /// The place whose share of cues is heard.
    pub share: usize,
    /// The place whose rate was last held: the swim without cues that opens the week.
    pub held: usize,
}

impl WeekPlaces {
    /// The first rate, with all cues.
    pub const FIRST: Self = Self {
        rate: 1,
        share: 1,
        held: 1,
    };
}

/// Every week of a plan as planned.
pub fn placed(plan: &TrainingPlan) -> Vec<WeekPlaces> {
    let week = |week: usize| WeekPlaces {
        rate: week,
        share: week,
        held: (week - 1).max(1),
    };
    (1..=plan.weeks).map(week).collect()
}

/// A training day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Day {
    /// Its week, from 1.
    pub week: usize,
    /// Which training day of the week, from 0.
    pub number: usize,
    /// Its date.
    pub date: Date,
    /// What the week swims.
    pub placed: WeekPlaces,
    /// Swims without cues, in the order in which they are swum, before the cued ones.
    pub uncued: Vec<Uncued>,
    /// The step of the course, in a plan that is one.
    pub step: Option<CourseStep>,
}

/// A swim without cues.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Uncued {
    /// Opens the week, at the rate last held; the step comes after it.
    Opening,
    /// So many days after the Monday of a hold week, at that week's rate: is it still there?
    Kept {
        /// The hold week, from 1.
        week: usize,
        /// Its place on the path.
        place: usize,
        /// Days after its Monday.
        days: u64,
    },
}

/// Which swims of a day are swum at the plan's first rate, counted from 1: two of six or more, one
/// of four or five, none of fewer. They lie evenly about the middle, so that tiring cancels.
pub fn comparison_places(swims: usize) -> Vec<usize> {
    match swims {
        0..=3 => Vec::new(),
        4 | 5 => vec![swims.div_ceil(2)],
        _ => {
            let first = (2 * (swims + 1) + 3) / 6;
            vec![first, swims + 1 - first]
        }
    }
}

/// Every training day of a plan whose weeks swim `placed`. For every hold week, swims without cues
/// fall on the first training days on or after so many days from its Monday (the first Monday of
/// the week's seven days), none past the last week; two that fall on one day are one swim.
pub fn days_of(plan: &TrainingPlan, placed: &[WeekPlaces]) -> Vec<Day> {
    let mut all: Vec<Day> = Vec::new();
    for (at, placed) in placed.iter().enumerate() {
        let first = plan.first_day(at + 1);
        let dates = (0..7).map(|day| after(first, day));
        let training = dates.filter(|date| plan.days.contains(&date.weekday()));
        all.extend(training.enumerate().map(|(number, date)| Day {
            week: at + 1,
            number,
            date,
            placed: *placed,
            uncued: match number {
                0 => vec![Uncued::Opening],
                _ => Vec::new(),
            },
            step: None,
        }));
    }
    let path = plan.path();
    for (at, placed) in placed.iter().enumerate() {
        let week = at + 1;
        if !path.holds(placed.rate) {
            continue;
        }
        let first = plan.first_day(week);
        let to_monday = (7 - first.weekday().to_monday_zero_offset()) % 7;
        let monday = after(first, to_monday.into());
        let mut last = None;
        for &days in &plan.rules.uncued_after_days {
            let due = after(monday, days as i64);
            let Some(found) = all.iter().position(|day| day.date >= due) else {
                continue;
            };
            if last != Some(found) {
                all[found].uncued.push(Uncued::Kept {
                    week,
                    place: placed.rate,
                    days,
                });
            }
            last = Some(found);
        }
    }
    all
}

fn after(date: Date, days: i64) -> Date {
    date.saturating_add(Span::new().days(days))
}

/// The week that a date falls into, from 1; none before the start.
pub fn week_of(plan: &TrainingPlan, date: Date) -> Option<usize> {
    let days = plan.start.until(date).ok()?.get_days();
    usize::try_from(days).ok().map(|days| days / 7 + 1)
}

#[cfg(test)]
mod tests {
    use super::super::tests_of::plan;
    use super::*;

    #[test]
    fn comparison_swims_lie_evenly_about_the_middle_of_a_day() {
        let places: Vec<Vec<usize>> = (3..=12).map(comparison_places).collect();
        let wanted: [&[usize]; 10] = [
            &[],
            &[2],
            &[3],
            &[2, 5],
            &[3, 5],
            &[3, 6],
            &[3, 7],
            &[4, 7],
            &[4, 8],
            &[4, 9],
        ];
        assert_eq!(places, wanted);
    }

    #[test]
    fn a_hold_weeks_swims_without_cues_fall_on_the_days_of_the_rule() {
        // By hand: week 4 starts on Monday 2027-03-22; + 1 is Tuesday, so Wednesday 24; + 3 is
        // Thursday, so Friday 26; + 10 is Thursday 1 April, so Friday 2 April, in week 5.
        let plan = plan(12, "mon wed fri");
        let days = days_of(&plan, &placed(&plan));
        assert_eq!(days.len(), 36);
        let kept: Vec<(usize, String, usize, u64)> = (days.iter())
            .flat_map(|day| day.uncued.iter().map(move |swim| (day, swim)))
            .filter_map(|(day, swim)| match swim {
                Uncued::Kept { week, days, .. } => {
                    Some((day.week, day.date.to_string(), *week, *days))
                }
                Uncued::Opening => None,
            })
            .collect();
        let wanted = [
            (4, "2027-03-24", 4, 1),
            (4, "2027-03-26", 4, 3),
            (5, "2027-04-02", 4, 10),
            (8, "2027-04-21", 8, 1),
            (8, "2027-04-23", 8, 3),
            (9, "2027-04-30", 8, 10),
            (12, "2027-05-19", 12, 1),
            (12, "2027-05-21", 12, 3),
        ];
        let wanted = wanted.map(|(week, date, hold, days)| (week, date.to_string(), hold, days));
        assert_eq!(
            kept, wanted,
            "the tenth day of week 12 is past the last week"
        );
    }

    #[test]
    fn every_week_opens_with_a_swim_without_cues_at_the_rate_last_held() {
        let plan = plan(6, "tue sat");
        for day in days_of(&plan, &placed(&plan)) {
            assert_eq!(
                day.uncued.first() == Some(&Uncued::Opening),
                day.number == 0
            );
            assert_eq!(day.placed.held, (day.week - 1).max(1));
        }
    }

    #[test]
    fn one_training_day_a_week_swims_two_that_are_due_as_one() {
        let plan = plan(8, "mon");
        let days = days_of(&plan, &placed(&plan));
        // Week 4's Monday + 1 and + 3 fall on the next Monday, + 10 on the one after.
        let count = |week: usize| days[week - 1].uncued.len();
        assert_eq!([count(4), count(5), count(6)], [1, 2, 2]);
    }

    #[test]
    fn weeks_run_seven_days_from_the_start_whatever_day_that_is() {
        let mut plan = plan(2, "mon wed fri");
        plan.start = "2027-03-03".parse().expect("a Wednesday");
        let days = days_of(&plan, &placed(&plan));
        let dates: Vec<String> = days.iter().map(|day| day.date.to_string()).collect();
        assert_eq!(
            dates,
            [
                "2027-03-03",
                "2027-03-05",
                "2027-03-08",
                "2027-03-10",
                "2027-03-12",
                "2027-03-15"
            ]
        );
        assert_eq!(
            week_of(&plan, "2027-03-09".parse().expect("a date")),
            Some(1)
        );
        assert_eq!(week_of(&plan, "2027-03-02".parse().expect("a date")), None);
    }
}
