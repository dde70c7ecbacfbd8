//! Seeded swimmers on a plan, by kinds: those who adapt reach the goal in time, those who fall are
//! held within two steps and taken back, those whom nothing gains are told so; with stated rates.
//!
//! The rates that they are held against are those of a second program in numpy, which has the
//! same swimmers and the same rule, 1000 of each kind with seeds of its own; it found them before
//! this one was written. Here 200 of the main kinds, in `make soak` 1000 of each.

#[path = "plan/athletes.rs"]
mod athletes;

use athletes::{ADAPTS, Athlete, Shares, many, plan_of};
use cuelane::analysis::weeks::{Finding, LoggedSwim, Standing, Timed, WeekVerdict, follow};
use cuelane::model::plan::{TrainingPlan, shown};
use cuelane::units::to_f64;
use jiff::Span;
use jiff::civil::Date;

const FLAT: Athlete = Athlete {
    gain: 0.0,
    ..ADAPTS
};
const FALLS: Athlete = Athlete {
    gain: -0.01,
    ..ADAPTS
};
const BREAKS: Athlete = Athlete {
    break_at: Some(3),
    after: -0.01,
    ..ADAPTS
};

/// A share that is asked of a kind of swimmer.
type Of = fn(&Shares) -> f64;

const SOON: (&str, Of) = ("goal by plan + 3", |shares| shares.soon);
const BY_16: (&str, Of) = ("goal by week 16", |shares| shares.by_16);
const WITHIN_2: (&str, Of) = ("within two steps", |shares| shares.within_two);
const BACK: (&str, Of) = ("back in 3 weeks", |shares| shares.back_in_3);
const TOLD: (&str, Of) = ("told no gain", |shares| shares.told);
const MOST_3: (&str, Of) = ("at most step 3", |shares| shares.at_most_3);
const EFFORT: (&str, Of) = ("held for effort", |shares| shares.effort);

/// A share, and what numpy found at a day-to-day scatter of 0.5, 1 and 1.5 %.
type Wanted = ((&'static str, Of), [f64; 3]);

const DAYS: [f64; 3] = [0.005, 0.01, 0.015];

/// Every share is within five points of what numpy found; prints both.
#[allow(clippy::print_stdout)] // the figures are for people: cargo test -- --nocapture
fn check(name: &str, athlete: Athlete, days: &[usize], count: u64, wanted: &[Wanted]) {
    for at in days {
        let day = DAYS[*at];
        let found = many(&Athlete { day, ..athlete }, count, 1);
        for ((what, share), by_numpy) in wanted {
            let (found, by_numpy) = (share(&found), by_numpy[*at]);
            println!(
                "{name}, day {:.1} %: {what} {found:.0} % ({by_numpy:.0})",
                day * 100.0
            );
            assert!(
                (found - by_numpy).abs() <= 5.0,
                "{name}, day {day}: {what} {found} %, by numpy {by_numpy} %"
            );
        }
    }
}

fn all(share: (&'static str, Of)) -> Wanted {
    (share, [100.0; 3])
}

// The rule before asked each week for proof that nothing was lost, by the same swimmers at 1 and
// 1.5 %: who adapts was at the goal in 6 and 0 %; who falls was back in 84 and 86 %; who breaks in
// 98 and 100 %; nobody was told "no gain".

#[test]
fn who_adapts_reaches_the_goal_in_time() {
    check("adapts", ADAPTS, &[1], 200, &[all(SOON)]);
}

#[test]
fn who_falls_is_held_within_two_steps_and_taken_back() {
    check("falls", FALLS, &[1], 200, &[all(WITHIN_2), all(BACK)]);
}

#[test]
fn who_falls_after_three_good_steps_is_taken_back_too() {
    let back = (BACK, [98.0, 96.0, 97.0]);
    check("breaks", BREAKS, &[1], 200, &[all(WITHIN_2), back]);
}

#[test]
fn whom_nothing_gains_is_told_so_and_held() {
    let wanted = [(TOLD, [96.0, 95.0, 93.0]), (MOST_3, [96.0, 97.0, 97.0])];
    check("flat", FLAT, &[1], 200, &wanted);
}

#[test]
fn records_as_people_keep_them_change_nothing() {
    for (name, athlete) in [
        (
            "even counts",
            Athlete {
                even: true,
                ..ADAPTS
            },
        ),
        (
            "whole seconds",
            Athlete {
                whole: true,
                ..ADAPTS
            },
        ),
        (
            "one arm",
            Athlete {
                one_arm: 0.2,
                ..ADAPTS
            },
        ),
        (
            "effort noise",
            Athlete {
                effort_noise: true,
                ..ADAPTS
            },
        ),
    ] {
        check(name, athlete, &[1], 100, &[all(SOON)]);
    }
    let half = Athlete {
        logged: 0.5,
        ..ADAPTS
    };
    check(
        "half logged",
        half,
        &[1],
        100,
        &[(SOON, [98.0, 96.0, 92.0])],
    );
}

/// Another kind of swimmer, and what numpy found.
struct Case(&'static str, Athlete, Vec<Wanted>);

fn soak(cases: Vec<Case>) {
    for Case(name, athlete, wanted) in cases {
        check(name, athlete, &[0, 1, 2], 1000, &wanted);
    }
}

#[test]
#[ignore = "long: make soak"]
fn soak_a_thousand_swimmers_of_each_main_kind() {
    soak(vec![
        Case("adapts", ADAPTS, vec![(SOON, [100.0, 100.0, 99.0])]),
        Case(
            "flat",
            FLAT,
            vec![(TOLD, [96.0, 95.0, 93.0]), (MOST_3, [96.0, 97.0, 97.0])],
        ),
        Case("falls", FALLS, vec![all(WITHIN_2), all(BACK)]),
        Case(
            "breaks",
            BREAKS,
            vec![all(WITHIN_2), (BACK, [98.0, 96.0, 97.0])],
        ),
        Case(
            "half adapts",
            Athlete {
                gain: 0.005,
                ..ADAPTS
            },
            vec![
                (SOON, [84.0, 82.0, 80.0]),
                (BY_16, [90.0, 89.0, 89.0]),
                (TOLD, [34.0, 37.0, 40.0]),
            ],
        ),
        Case(
            "falls by 2 %",
            Athlete {
                gain: -0.02,
                ..ADAPTS
            },
            vec![all(WITHIN_2), all(BACK)],
        ),
        Case(
            "breaks by 2 %",
            Athlete {
                after: -0.02,
                ..BREAKS
            },
            vec![all(WITHIN_2), all(BACK)],
        ),
    ]);
}

#[test]
#[ignore = "long: make soak"]
fn soak_without_comparison_swims() {
    let without = |athlete| Athlete {
        comparison: 0,
        ..athlete
    };
    for (name, athlete, wanted) in [
        (
            "adapts",
            ADAPTS,
            vec![(SOON, [0.0, 92.0, 82.0]), (BY_16, [0.0, 97.0, 92.0])],
        ),
        (
            "flat",
            FLAT,
            vec![(TOLD, [0.0, 69.0, 61.0]), (MOST_3, [0.0, 88.0, 84.0])],
        ),
        (
            "falls",
            FALLS,
            vec![(WITHIN_2, [0.0, 96.0, 91.0]), (BACK, [0.0, 92.0, 86.0])],
        ),
        (
            "breaks",
            BREAKS,
            vec![(WITHIN_2, [0.0, 100.0, 98.0]), (BACK, [0.0, 87.0, 78.0])],
        ),
    ] {
        check(
            &format!("{name}, no comparison"),
            without(athlete),
            &[1, 2],
            1000,
            &wanted,
        );
    }
}

#[test]
#[ignore = "long: make soak"]
fn soak_records_as_people_keep_them() {
    let half = |athlete| Athlete {
        logged: 0.5,
        ..athlete
    };
    soak(vec![
        Case(
            "even counts",
            Athlete {
                even: true,
                ..ADAPTS
            },
            vec![all(SOON)],
        ),
        Case(
            "falls, even counts",
            Athlete {
                even: true,
                ..FALLS
            },
            vec![all(WITHIN_2), all(BACK)],
        ),
        Case(
            "whole seconds",
            Athlete {
                whole: true,
                ..ADAPTS
            },
            vec![all(SOON)],
        ),
        Case(
            "whole seconds, even",
            Athlete {
                whole: true,
                even: true,
                ..ADAPTS
            },
            vec![all(SOON)],
        ),
        Case(
            "one arm",
            Athlete {
                one_arm: 0.2,
                ..ADAPTS
            },
            vec![all(SOON)],
        ),
        Case(
            "effort noise",
            Athlete {
                effort_noise: true,
                ..ADAPTS
            },
            vec![all(SOON)],
        ),
        Case(
            "half logged",
            half(ADAPTS),
            vec![(SOON, [98.0, 96.0, 92.0])],
        ),
        Case(
            "falls, half logged",
            half(FALLS),
            vec![(WITHIN_2, [100.0, 99.0, 99.0]), (BACK, [98.0, 98.0, 97.0])],
        ),
        Case(
            "days missing",
            Athlete {
                missing: 0.3,
                ..ADAPTS
            },
            vec![(SOON, [79.0, 77.0, 78.0]), (BY_16, [99.0, 99.0, 98.0])],
        ),
        Case(
            "one comparison swim",
            Athlete {
                comparison: 1,
                ..ADAPTS
            },
            vec![all(SOON)],
        ),
        Case(
            "breaks, one comparison swim",
            Athlete {
                comparison: 1,
                ..BREAKS
            },
            vec![all(WITHIN_2), (BACK, [96.0, 94.0, 94.0])],
        ),
    ]);
}

#[test]
#[ignore = "long: make soak"]
fn soak_effort_and_illness() {
    let up = |athlete| Athlete {
        effort_a_week: 0.25,
        ..athlete
    };
    let ill = Athlete {
        ill: &[5, 6],
        ..ADAPTS
    };
    soak(vec![
        Case(
            "effort up by one",
            up(ADAPTS),
            vec![(SOON, [98.0, 97.0, 97.0]), (EFFORT, [86.0; 3])],
        ),
        Case(
            "flat, effort up by one",
            up(FLAT),
            vec![(TOLD, [95.0, 94.0, 94.0]), (MOST_3, [98.0, 98.0, 96.0])],
        ),
        Case(
            "effort up with each step",
            Athlete {
                effort_a_step: 1.0,
                ..ADAPTS
            },
            vec![(SOON, [0.0; 3]), (EFFORT, [100.0, 100.0, 99.0])],
        ),
        Case(
            "ill, not noted",
            ill,
            vec![(SOON, [50.0, 60.0, 70.0]), (BY_16, [100.0; 3])],
        ),
        Case(
            "slower each week",
            Athlete {
                trend: -0.003,
                ..FLAT
            },
            vec![(TOLD, [51.0, 54.0, 56.0]), (MOST_3, [100.0, 99.0, 98.0])],
        ),
        Case(
            "falls, faster each week",
            Athlete {
                trend: 0.003,
                ..FALLS
            },
            vec![all(WITHIN_2), all(BACK)],
        ),
        Case(
            "flat, tries harder",
            Athlete {
                tries: 0.004,
                ..FLAT
            },
            vec![(TOLD, [98.0, 97.0, 96.0]), (MOST_3, [78.0, 77.0, 76.0])],
        ),
        Case(
            "comparison swum easier, not noted",
            Athlete { easy: 0.01, ..FLAT },
            vec![(TOLD, [98.0, 97.0, 96.0]), (MOST_3, [3.0, 3.0, 6.0])],
        ),
        Case(
            "comparison swum easier, noted",
            Athlete {
                easy: 0.01,
                felt_easier: 1.0,
                ..FALLS
            },
            vec![(WITHIN_2, [98.0, 96.0, 89.0]), (BACK, [96.0, 93.0, 85.0])],
        ),
    ]);
    // A step down for illness is no failure of the rate: it is tried again at once.
    let noted = many(&Athlete { noted: true, ..ill }, 1000, 1);
    assert!(noted.soon >= 90.0, "{noted:?}");
}

#[test]
#[ignore = "long: make soak"]
fn soak_other_days_and_other_paths() {
    for (name, of, told, most_3, back) in [
        (
            "fast out, sprint home",
            (|athlete| Athlete {
                first: 0.02,
                last: 0.01,
                ..athlete
            }) as fn(Athlete) -> Athlete,
            [98.0, 96.0, 95.0],
            [98.0, 97.0, 96.0],
            [98.0, 96.0, 96.0],
        ),
        (
            "6 swims a day",
            |athlete| Athlete {
                swims: 6,
                ..athlete
            },
            [94.0, 91.0, 92.0],
            [97.0, 96.0, 94.0],
            [97.0, 96.0, 94.0],
        ),
        (
            "5 swims a day",
            |athlete| Athlete {
                swims: 5,
                ..athlete
            },
            [92.0, 88.0, 84.0],
            [94.0, 94.0, 93.0],
            [95.0, 94.0, 92.0],
        ),
        (
            "2 days a week",
            |athlete| Athlete { days: 2, ..athlete },
            [92.0, 91.0, 85.0],
            [95.0, 96.0, 95.0],
            [96.0, 96.0, 93.0],
        ),
        (
            "5 days a week",
            |athlete| Athlete { days: 5, ..athlete },
            [99.0, 98.0, 98.0],
            [98.0, 99.0, 99.0],
            [99.0; 3],
        ),
        (
            "64 to 72 spm",
            |athlete| Athlete {
                path: (64, 72),
                ..athlete
            },
            [97.0, 96.0, 94.0],
            [97.0, 97.0, 96.0],
            [95.0, 94.0, 93.0],
        ),
    ] {
        soak(vec![
            Case(name, of(ADAPTS), vec![(SOON, [100.0, 99.0, 98.0])]),
            Case(name, of(FLAT), vec![(TOLD, told), (MOST_3, most_3)]),
            Case(name, of(FALLS), vec![all(WITHIN_2), all(BACK)]),
            Case(name, of(BREAKS), vec![all(WITHIN_2), (BACK, back)]),
        ]);
    }
}

/// A log of whole weeks without scatter but for a tenth between swims: speeds as shares of the
/// first, a week each, at the rates of the path, efforts beside them.
fn log(plan: &TrainingPlan, weeks: &[(f64, usize, f64)]) -> Vec<LoggedSwim> {
    let mut log = Vec::new();
    for (at, (speed, place, effort)) in weeks.iter().enumerate() {
        let spm = |place: usize| to_f64(&shown(plan.path().rate(place)));
        for day in [0, 2, 4] {
            for swim in 1..=8 {
                let compares = spm(*place) > spm(1) && (swim == 3 || swim == 6);
                let cue = if compares { spm(1) } else { spm(*place) };
                let share = if compares { 1.0 } else { *speed };
                let time_s = 56.0 / share + 0.1 * f64::from(swim % 3);
                log.push(LoggedSwim {
                    date: plan.first_day(at + 1).saturating_add(Span::new().days(day)),
                    distance_m: 50.0,
                    cued_spm: Some(cue),
                    strokes: Some((cue * (time_s - 6.0) / 60.0).round()),
                    rate_spm: Some(cue),
                    speed_m_s: Some(50.0 / time_s),
                    length_m: Some(0.9),
                    effort: Some(*effort),
                    kept: Some(cuelane::model::log::Kept::Yes),
                    ill: false,
                    pain: false,
                });
            }
        }
    }
    log
}

fn ask(plan: &TrainingPlan, log: &[LoggedSwim], today: Date) -> Standing {
    follow(plan, log, None, &[], today, None)
}

fn verdicts(standing: &Standing) -> Vec<WeekVerdict> {
    standing
        .weeks
        .iter()
        .filter_map(|week| week.verdict)
        .collect()
}

/// Swims the plan at whatever rate it gives, week by week, at these shares of the first speed.
fn follow_along(plan: &TrainingPlan, speeds: &[f64]) -> (Standing, Vec<LoggedSwim>) {
    let mut weeks = Vec::new();
    let mut standing = ask(plan, &[], plan.first_day(1));
    let mut swum = Vec::new();
    for (at, speed) in speeds.iter().enumerate() {
        weeks.push((*speed, standing.weeks[at].placed.rate, 5.0));
        swum = log(plan, &weeks);
        standing = ask(plan, &swum, plan.first_day(at + 2));
    }
    (standing, swum)
}

#[test]
fn the_first_week_always_goes_on() {
    let plan = plan_of(&ADAPTS);
    for speed in [0.5, 1.0, 1.5] {
        let standing = ask(&plan, &log(&plan, &[(speed, 1, 9.0)]), plan.first_day(2));
        assert_eq!(verdicts(&standing), [WeekVerdict::GoOn]);
        assert!(standing.weeks[0].findings.contains(&Finding::FirstWeek));
    }
}

#[test]
fn a_week_before_a_holding_one_never_asks_what_the_next_rate_would_cost() {
    let plan = plan_of(&ADAPTS);
    let (standing, _) = follow_along(&plan, &[1.0, 1.01, 1.02, 1.02]);
    let next = |week: usize| {
        let weighed = standing.weeks[week - 1].figures.weighed.as_ref();
        weighed.expect("it was weighed").loss_next
    };
    assert!(next(2).is_some() && next(4).is_some());
    assert_eq!(next(3), None, "weeks 3 and 4 swim one rate");
}

#[test]
fn with_nothing_swum_above_the_first_step_is_taken() {
    let plan = plan_of(&ADAPTS);
    let (standing, _) = follow_along(&plan, &[1.0, 1.0]);
    assert_eq!(verdicts(&standing), [WeekVerdict::GoOn; 2]);
    // By numpy: two rates up the prior alone makes a loss 0.31 likely.
    let weighed = standing.weeks[0].figures.weighed.clone().expect("weighed");
    let next = weighed.loss_next.expect("week 2 is faster");
    assert!(next > 0.25 && next < 0.35, "{next}");
}

#[test]
fn two_weeks_far_off_hold_then_step_back_and_stay_out_of_the_model() {
    let plan = plan_of(&ADAPTS);
    let (standing, swum) = follow_along(&plan, &[1.0, 1.01, 1.02]);
    let place = standing.weeks[3].placed.rate;
    let off = |share: f64, weeks: &[usize]| -> Vec<LoggedSwim> {
        // Ill all day: the comparison swims are as slow as the others.
        let mut all = swum.clone();
        for week in weeks {
            let like = log(&plan, &[(1.0, place, 5.0)]);
            let shift = Span::new().days(7 * (*week as i64 - 1));
            all.extend(like.into_iter().map(|swim| LoggedSwim {
                date: swim.date.saturating_add(shift),
                speed_m_s: swim.speed_m_s.map(|speed| speed * share),
                ..swim
            }));
        }
        all
    };
    let one = ask(&plan, &off(0.96, &[4]), plan.first_day(5));
    assert_eq!(one.weeks[3].verdict, Some(WeekVerdict::Hold));
    assert!(
        one.weeks[3].findings.contains(&Finding::OffWeek),
        "{:?}",
        one.weeks[3]
    );
    let two = ask(&plan, &off(0.96, &[4, 5]), plan.first_day(6));
    assert_eq!(two.weeks[4].verdict, Some(WeekVerdict::StepBack));
    assert!(two.weeks[4].findings.contains(&Finding::OffWeekAgain));
    // Well again: on as if the two weeks had not been.
    let lower = two.weeks[5].placed.rate;
    let mut all = off(0.96, &[4, 5]);
    let well = log(&plan, &[(1.01, lower, 5.0)]);
    let shift = Span::new().days(35);
    all.extend(well.into_iter().map(|swim| LoggedSwim {
        date: swim.date.saturating_add(shift),
        ..swim
    }));
    let after = ask(&plan, &all, plan.first_day(7));
    let week = &after.weeks[5];
    assert_eq!(week.verdict, Some(WeekVerdict::Hold), "{:?}", week.findings);
    assert!(
        week.findings.contains(&Finding::TooSoon),
        "{:?}",
        week.findings
    );
    assert!(
        week.figures
            .weighed
            .as_ref()
            .is_some_and(|weighed| weighed.loss_here < 0.2)
    );
}

#[test]
fn even_counts_and_one_arm_give_the_verdicts_of_a_clean_log() {
    let plan = plan_of(&ADAPTS);
    let speeds = [1.0, 1.01, 1.0, 0.995, 1.0, 1.0, 1.0];
    let (clean, swum) = follow_along(&plan, &speeds);
    let today = plan.first_day(speeds.len() + 1);
    let with = |change: fn(usize, &mut LoggedSwim)| {
        let mut swum = swum.clone();
        swum.iter_mut()
            .enumerate()
            .for_each(|(at, swim)| change(at, swim));
        verdicts(&ask(&plan, &swum, today))
    };
    let wanted = verdicts(&clean);
    assert_eq!(
        with(|_, swim| {
            let was = swim.strokes.expect("counted");
            let even = 2.0 * (was / 2.0).round();
            swim.rate_spm = swim.rate_spm.map(|rate| rate * even / was);
            swim.strokes = Some(even);
        }),
        wanted
    );
    assert_eq!(
        with(|at, swim| {
            if at % 5 == 0 {
                swim.rate_spm = swim.rate_spm.map(|rate| rate / 2.0);
                swim.strokes = swim.strokes.map(|strokes| strokes / 2.0);
            }
        }),
        wanted
    );
    assert_eq!(
        with(|at, swim| {
            if at % 3 == 0 {
                (swim.rate_spm, swim.strokes, swim.length_m) = (None, None, None);
            }
        }),
        wanted,
        "speed needs no strokes"
    );
}

#[test]
fn a_gain_is_asked_for_three_rates_below() {
    let plan = plan_of(&ADAPTS);
    let (standing, _) = follow_along(&plan, &[1.0; 7]);
    let told: Vec<f64> = (standing.weeks.iter())
        .filter(|week| week.findings.contains(&Finding::NoGain))
        .filter_map(|week| week.figures.weighed.as_ref()?.gain)
        .map(|(below, _)| below)
        .collect();
    assert!(!told.is_empty());
    assert_eq!(told[0], 54.0, "57 spm is three rates above");
}

/// Effort of the comparison swims and of the others, week by week.
fn felt(weeks: &[[f64; 2]]) -> (TrainingPlan, Vec<LoggedSwim>) {
    let plan = plan_of(&ADAPTS);
    let speeds = vec![1.0; weeks.len()];
    let (_, mut swum) = follow_along(&plan, &speeds);
    for swim in &mut swum {
        let week = plan.start.until(swim.date).expect("in order").get_days() / 7;
        let [comparison, others] = weeks[week as usize];
        let compares = week > 0 && swim.cued_spm == Some(54.0);
        swim.effort = Some(if compares { comparison } else { others });
    }
    (plan, swum)
}

#[test]
fn comparison_swims_that_feel_easier_give_no_difference() {
    let (plan, swum) = felt(&[[5.0, 5.0], [4.0, 5.0], [4.0, 5.0], [4.0, 5.0]]);
    let standing = ask(&plan, &swum, plan.first_day(5));
    for week in &standing.weeks[1..4] {
        assert!(
            week.findings.contains(&Finding::ComparisonFelt),
            "{:?}",
            week.findings
        );
        assert_eq!(week.figures.same_day, None);
    }
}

#[test]
fn one_day_on_which_they_felt_two_points_apart_is_left_out_alone() {
    let (plan, mut swum) = felt(&[[5.0, 5.0], [5.0, 5.0], [5.0, 5.0], [5.0, 5.0]]);
    let day = plan.first_day(3);
    for swim in swum.iter_mut().filter(|swim| swim.date == day) {
        swim.effort = Some(if swim.cued_spm == Some(54.0) {
            3.0
        } else {
            5.0
        });
    }
    let standing = ask(&plan, &swum, plan.first_day(5));
    let week = &standing.weeks[2];
    assert!(
        week.findings.contains(&Finding::DaysApart(1)),
        "{:?}",
        week.findings
    );
    assert!(week.figures.same_day.is_some());
    for week in [1, 3] {
        assert!(standing.weeks[week].figures.same_day.is_some());
        let findings = &standing.weeks[week].findings;
        assert!(
            !findings
                .iter()
                .any(|found| matches!(found, Finding::DaysApart(_)))
        );
    }
}

#[test]
fn a_fast_first_swim_moves_the_days_middle_and_not_its_difference() {
    let plan = plan_of(&ADAPTS);
    let (_, mut swum) = follow_along(&plan, &[1.0, 1.0]);
    for (at, swim) in swum.iter_mut().enumerate() {
        let part = (5 * at % 8) as f64 / 8.0;
        swim.speed_m_s = swim.speed_m_s.map(|speed| speed * (1.0 + 0.01 * part));
    }
    let before = ask(&plan, &swum, plan.first_day(3));
    let first = plan.first_day(2);
    let dates = [0, 2, 4].map(|day| first.saturating_add(Span::new().days(day)));
    for date in dates {
        let swim = swum
            .iter_mut()
            .find(|swim| swim.date == date)
            .expect("swum");
        swim.speed_m_s = swim.speed_m_s.map(|speed| speed * 1.02);
    }
    let after = ask(&plan, &swum, plan.first_day(3));
    let figures = |standing: &Standing| standing.weeks[1].figures.clone();
    let (before, after) = (figures(&before), figures(&after));
    assert!(after.speed_m_s.expect("swum").value > before.speed_m_s.expect("swum").value);
    let same_day = |figures: &cuelane::analysis::weeks::Figures| {
        figures.same_day.expect("comparison swims").value
    };
    assert_eq!(same_day(&after), same_day(&before));
}

#[test]
fn a_log_without_kept_holds_the_rate_and_keeps_the_cues() {
    let plan = plan_of(&ADAPTS);
    let (kept, mut swum) = follow_along(&plan, &[1.0, 1.01, 1.02]);
    assert_eq!(kept.weeks[3].placed.share, kept.weeks[3].placed.rate);
    swum.iter_mut().for_each(|swim| swim.kept = None);
    let open = ask(&plan, &swum, plan.first_day(4));
    assert_eq!(open.weeks[3].placed.rate, kept.weeks[3].placed.rate);
    assert_eq!(open.weeks[3].placed.share, 1, "not thinned");
    assert_eq!(open.weeks[2].timed, Timed::NotMeasured);
}

#[test]
fn two_weeks_away_take_one_step_down_and_one_week_none() {
    let plan = plan_of(&ADAPTS);
    let path = plan.path();
    let (_, swum) = follow_along(&plan, &[1.0, 1.01, 1.02, 1.02, 1.03]);
    let at = |week: usize| {
        ask(&plan, &swum, plan.first_day(week)).weeks[week - 1]
            .placed
            .rate
    };
    let place = at(6);
    assert!(place > 2, "some weeks went on: {place}");
    assert_eq!(at(7), place, "one week away: the path waits");
    assert_eq!(
        at(8),
        path.step_down(place),
        "two weeks away: one step down"
    );
    assert_eq!(at(10), path.step_down(place), "and only one");
}

#[test]
fn rows_after_today_are_not_looked_at() {
    let plan = plan_of(&ADAPTS);
    let (_, swum) = follow_along(&plan, &[1.0, 1.01]);
    let monday = plan.first_day(2);
    let standing = ask(&plan, &swum, monday);
    assert_eq!(
        (standing.weeks[1].swims, standing.weeks[1].kept),
        (8, [8, 0, 0])
    );
}

#[test]
fn a_rate_that_is_kept_rises_no_more_while_the_cues_go() {
    use cuelane::model::plan::{Way, WayOn};
    use cuelane::units::{Quantity, Rate};
    let mut plan = plan_of(&ADAPTS);
    let keep = Way::Keep(Rate::parse("55 spm").expect("a rate"));
    plan.decisions = vec![WayOn {
        week: 4,
        choice: keep,
    }];
    let (standing, _) = follow_along(&plan, &[1.0, 1.01, 1.02, 1.02, 1.01, 1.01]);
    let path = plan.path();
    let rates: Vec<f64> = standing
        .weeks
        .iter()
        .map(|week| to_f64(path.rate(week.placed.rate)))
        .collect();
    assert_eq!(rates[..4], [54.0, 55.0, 56.0, 56.0]);
    assert!(rates[4..].iter().all(|rate| *rate == 55.0), "{rates:?}");
    assert!(standing.weeks[6].placed.share > standing.weeks[4].placed.share);
    assert_eq!(standing.goal_week, Some(2));
}

#[test]
fn who_goes_on_knowingly_is_not_held_for_want_of_a_gain() {
    use cuelane::model::plan::{Way, WayOn};
    let speeds = [1.0; 8];
    let mut plan = plan_of(&ADAPTS);
    let (held, _) = follow_along(&plan, &speeds);
    let told = held
        .weeks
        .iter()
        .find(|week| week.findings.contains(&Finding::NoGain));
    let week = told.expect("nothing is gained").week;
    plan.decisions = vec![WayOn {
        week,
        choice: Way::GoOn,
    }];
    let (on, _) = follow_along(&plan, &speeds);
    let known = &on.weeks[week - 1];
    assert_eq!(
        known.verdict,
        Some(WeekVerdict::GoOn),
        "{:?}",
        known.findings
    );
    assert!(known.findings.contains(&Finding::NoGainKnown));
}
