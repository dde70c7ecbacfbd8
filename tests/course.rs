//! The course of who has never done it: written, shown, exported; and swimmers who keep the kick, or
//! do not, simulated day by day. No swimmer has been measured: these are invented.

use std::fmt::Write as _;
use std::path::Path;

use cuelane::analysis::weeks::{CourseStanding, LoggedSwim, Outcome, follow};
use cuelane::files::parse_plan;
use cuelane::model::log::{Kept, Row, Water};
use cuelane::model::plan::{CourseStep, TrainingPlan};
use fastrand::Rng;
use jiff::civil::Date;
use serde_json::Value;

use crate::support::{ok, refused, write};

fn plan() -> TrainingPlan {
    let text = "course = \"first-kick\"\nswimmer = \"alex.toml\"\nfrom = \"52 spm\"\n\
                days = [\"mon\", \"wed\", \"fri\"]\nstart = \"2027-03-01\"\n";
    parse_plan("course.toml", text).expect("the test's own course")
}

fn standing(plan: &TrainingPlan, log: &[LoggedSwim], today: Date) -> CourseStanding {
    let standing = follow(plan, log, None, &[], today, None);
    standing.course.expect("the plan is a course")
}

/// Eight lengths of a day, each kept by a law of the step.
fn day(rng: &mut Rng, date: Date, keeps: f64) -> Vec<LoggedSwim> {
    let mut length = || {
        let row = Row {
            kept: Some(if rng.f64() < keeps {
                Kept::FeltYes
            } else {
                Kept::FeltPart
            }),
            ..Row::default()
        };
        LoggedSwim::of(&row, date, &Water::default())
    };
    (0..8).map(|_| length()).collect()
}

/// Swims the next day that the program names, so many times at most; gives every standing.
fn live(seed: u64, most: usize, keeps: impl Fn(CourseStep) -> f64) -> Vec<CourseStanding> {
    let plan = plan();
    let mut rng = Rng::with_seed(seed);
    let mut log = Vec::new();
    let mut told = vec![standing(&plan, &log, plan.start)];
    for _ in 0..most {
        let last = told.last().expect("one at least");
        let next = last.days.iter().find(|day| day.outcome.is_none());
        let Some(next) = next.map(|day| day.day.clone()) else {
            break;
        };
        let step = next.step.expect("a day of a course has a step");
        log.extend(day(&mut rng, next.date, keeps(step)));
        told.push(standing(&plan, &log, next.date));
    }
    told
}

fn swum(course: &CourseStanding) -> usize {
    course
        .days
        .iter()
        .filter(|day| day.outcome.is_some())
        .count()
}

#[test]
fn who_keeps_nineteen_lengths_of_twenty_is_through_in_fourteen_to_eighteen_days() {
    let through = |seed: &u64| {
        let told = live(*seed, 40, |_| 0.95);
        let last = told.last().expect("one at least");
        last.step.is_none() && (14..=18).contains(&swum(last))
    };
    let swimmers = 400;
    let as_planned = (0..swimmers).filter(through).count();
    assert!(
        as_planned * 100 >= 95 * swimmers as usize,
        "{as_planned} of {swimmers}"
    );

    // By hand, without one slip: march, 2 of half lengths, 2 one way; the other way waits for another
    // week, so nothing on that Friday; 2 the other way, 1 try, 2 each of hold and the two fades are 14
    // days, the last on a Friday; then without cues on Monday (3 days on) and Friday (7).
    let told = live(1, 40, |_| 1.0);
    let last = told.last().expect("one at least");
    let dates: Vec<String> = (last.days.iter())
        .map(|day| day.day.date.to_string())
        .collect();
    assert_eq!(dates.len(), 16);
    assert_eq!(dates[13..], ["2027-04-02", "2027-04-05", "2027-04-09"]);
    let first = |step| (last.days.iter()).position(|day| day.day.step == Some(step));
    assert_eq!(first(CourseStep::OneWay), Some(3));
    assert_eq!(first(CourseStep::OtherWay), Some(5));
    assert_eq!(dates[5], "2027-03-15");
}

#[test]
fn who_never_keeps_goes_back_is_told_and_is_never_stuck_silently() {
    for stuck_at in CourseStep::ALL.into_iter().filter(|step| step.is_judged()) {
        let keeps = |step: CourseStep| if step == stuck_at { 0.0 } else { 1.0 };
        let told = live(3, 60, keeps);
        let steps: Vec<Option<CourseStep>> = told.iter().map(|course| course.step).collect();
        let begun = steps
            .iter()
            .position(|step| *step == Some(stuck_at))
            .expect("is met");
        // Four days, or the two without cues (Monday is both 1 and 3 days on); then the step before, and the program says why.
        let days = if stuck_at == CourseStep::Without {
            2
        } else {
            4
        };
        let back = &told[begun + days];
        assert_eq!(back.step, stuck_at.before(), "{stuck_at:?}");
        assert_eq!(back.stuck, Some((stuck_at, 1)));
        let twice = told
            .iter()
            .position(|course| course.stuck == Some((stuck_at, 2)));
        match stuck_at {
            // The other way is swum instead, and that is said.
            CourseStep::OneWay => {
                assert_eq!(told[twice.expect("told")].step, Some(CourseStep::OtherWay));
                let last = told.last().expect("one at least");
                assert_eq!((last.step, last.ways), (None, [false, true]));
            }
            CourseStep::OtherWay => {
                let last = told.last().expect("one at least");
                assert_eq!((last.step, last.ways), (None, [true, false]));
            }
            // To the end they are told how often.
            _ => {
                assert!(twice.is_some(), "{stuck_at:?}");
                let last = told.last().expect("one at least");
                assert!(
                    last.stuck
                        .is_some_and(|(step, times)| step == stuck_at && times > 2)
                );
            }
        }
    }
    // Nothing kept at all: half lengths again and again, said each time.
    let told = live(4, 30, |_| 0.0);
    let last = told.last().expect("one at least");
    assert_eq!(last.stuck, Some((CourseStep::HalfLengths, 6)));
    assert!(
        last.days
            .iter()
            .any(|day| day.outcome == Some(Outcome::NotKept))
    );
}

const SWIMMER: &str = "name = \"Alex Example\"\npool = \"25 m\"\nrate = \"52 spm\"\npace = \"2:05 / 100 m\"\n\
    [player]\nchannels = \"mono\"\n[measured]\npairing = \"opposite-side\"\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "alex.toml", SWIMMER);
    let said = ok(
        folder.path(),
        &[
            "plan",
            "new",
            "--course",
            "first-kick",
            "--swimmer",
            "alex.toml",
            "--days",
            "mon wed fri",
            "--start",
            "2027-03-01",
            "--log",
            "log.csv",
            "--out",
            "course.toml",
        ],
    );
    assert!(said.contains("stays at 52 spm"), "{said}");
    folder
}

fn show(folder: &Path, today: &str) -> Value {
    let args = ["plan", "show", "course.toml", "--json", "--today", today];
    serde_json::from_str(&ok(folder, &args)).expect("JSON")
}

#[test]
fn the_log_says_which_step_is_next_and_a_day_that_says_nothing_does_not_count() {
    let folder = folder();
    let found = show(folder.path(), "2027-03-01");
    assert_eq!(found["today"]["step"], "march on deck");
    assert_eq!(found["course_days"].as_array().map(Vec::len), Some(16));

    let mut log = String::from("date,swimmer,distance,time,kept\n2027-03-01,Alex Example,,,\n");
    for (date, kept) in [("2027-03-03", "felt-yes"), ("2027-03-05", "")] {
        for _ in 0..4 {
            let _ = writeln!(log, "{date},Alex Example,,,{kept}");
        }
    }
    // Three of four, seen by a coach; half felt on the sound is not kept.
    for kept in ["yes", "yes", "felt-yes", "felt-part"] {
        let _ = writeln!(log, "2027-03-08,Alex Example,,,{kept}");
    }
    write(folder.path(), "log.csv", log);
    let found = show(folder.path(), "2027-03-08");
    let outcomes: Vec<&str> = (found["course_days"].as_array().expect("days").iter())
        .filter_map(|day| day["outcome"].as_str())
        .take(5)
        .collect();
    let unsaid = "kept not logged, does not count";
    assert_eq!(outcomes, ["done", "kept", unsaid, "kept", "ahead"]);
    assert_eq!(found["today"]["step"], "first lengths");
    assert_eq!(found["today"]["next_date"], "2027-03-10");
    let told = ok(
        folder.path(),
        &["plan", "show", "course.toml", "--today", "2027-03-08"],
    );
    assert!(told.contains("1 day of the log without kept"), "{told}");
}

#[test]
fn a_week_is_exported_as_any_and_the_page_has_the_track_and_the_boxes() {
    let folder = folder();
    let at = ["--today", "2027-03-01"];
    let export = [
        "plan",
        "export",
        "course.toml",
        "--week",
        "1",
        "--out",
        "tracks",
    ];
    ok(folder.path(), &[&export[..], &at].concat());
    let day = "tracks/week-01-2027-03-03-wed";
    let session = std::fs::read_to_string(folder.path().join(day).join("session.toml"));
    let session = session.expect("is written");
    // Nearest to the film; seven cycles at 52 strokes a minute are 16.2 s.
    assert!(
        session.contains("opposite-side") && session.contains("\"17 s\""),
        "{session}"
    );
    ok(
        folder.path(),
        &["check", day, &format!("{day}/session.toml")],
    );
    let sheet = std::fs::read_to_string(folder.path().join(day).join("sheet.html"));
    let sheet = sheet.expect("is written");
    for words in ["on it, early, late?", "felt-yes", "felt-part", "felt-no"] {
        assert!(sheet.contains(words), "{words}: {sheet}");
    }
    assert!(!sheet.contains("decides nothing"), "felt is enough here");

    let page = ok(
        folder.path(),
        &[&["plan", "show", "course.toml", "--page"][..], &at].concat(),
    );
    for part in [
        "week-01-2027-03-01-mon",
        "[ ] ",
        "Three things to feel",
        "Breathe whenever",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert_eq!(page.matches("[                ]").count(), 2, "{page}");
    assert!(
        page.lines().all(|line| line.chars().count() <= 79),
        "{page}"
    );

    let calendar = ["plan", "calendar", "course.toml", "--out", "course.ics"];
    ok(folder.path(), &[&calendar[..], &at].concat());
    let calendar = std::fs::read_to_string(folder.path().join("course.ics")).expect("is written");
    assert_eq!(calendar.matches("BEGIN:VEVENT").count(), 16);
    let report = ["plan", "report", "course.toml", "--out", "course.html"];
    ok(folder.path(), &[&report[..], &at].concat());
    let report = std::fs::read_to_string(folder.path().join("course.html")).expect("is written");
    assert!(
        report.contains("Step 1 of 9") && report.contains("<svg"),
        "{report}"
    );
}

#[test]
fn the_picture_has_each_day_at_its_step_by_what_it_came_to() {
    let folder = folder();
    let mut log = String::from("date,swimmer,distance,time,kept\n2027-03-01,Alex Example,,,\n");
    for (date, kept) in [
        ("2027-03-03", "felt-yes"),
        ("2027-03-05", "felt-no"),
        ("2027-03-08", ""),
    ] {
        let _ = writeln!(log, "{date},Alex Example,,,{kept}");
    }
    write(folder.path(), "log.csv", log);
    let args = ["plan", "chart", "course.toml", "--out", "course.svg"];
    let said = ok(
        folder.path(),
        &[&args[..], &["--today", "2027-03-08"]].concat(),
    );
    let svg = std::fs::read_to_string(folder.path().join("course.svg")).expect("is written");
    for step in CourseStep::ALL {
        assert!(svg.contains(&format!(">{}<", step.name())), "{step:?}");
    }
    let forms = [
        ("fill=\"black\" stroke", 2),
        ("fill=\"white\" stroke=\"black\"/>", 1),
        ("<path", 1),
    ];
    for (form, times) in forms {
        assert_eq!(svg.matches(form).count(), times, "{form}: {svg}");
    }
    let ahead = svg.matches("stroke-dasharray=\"3 2\"").count();
    assert!(said.contains(&format!(": {} days", 4 + ahead)), "{said}");
    // All at the lowest step but one, after the march at the lowest: heights by hand.
    assert!(
        svg.contains("cy=\"333.0\"") && svg.contains("cy=\"299.0\""),
        "{svg}"
    );
}

#[test]
fn what_a_course_has_nothing_for_is_refused() {
    let folder = folder();
    for (args, words) in [
        (
            &["plan", "decide", "course.toml", "--keep"][..],
            "stays at one rate: there is no rate to decide on",
        ),
        (
            &["plan", "decide", "course.toml", "--go-on"],
            "the log decides, by kept",
        ),
        (
            &["plan", "show", "course.toml", "--what-if", "miss 1 week"],
            "plan show --today DATE",
        ),
        (
            &["plan", "new", "--course", "second", "--out", "b.toml"],
            "first-kick",
        ),
    ] {
        let message = refused(folder.path(), args, 2);
        assert!(message.contains(words), "{words}: {message}");
    }
    let text = std::fs::read_to_string(folder.path().join("course.toml")).expect("is written");
    for (line, words) in [
        ("to = \"60 spm\"", "course.toml"),
        ("weeks = 12", "course.toml"),
    ] {
        write(folder.path(), "course.toml", format!("{text}{line}\n"));
        let message = refused(folder.path(), &["plan", "show", "course.toml"], 2);
        assert!(
            message.starts_with("error: course.toml:") || message.contains(words),
            "{message}"
        );
    }
    write(
        folder.path(),
        "course.toml",
        text.replace("first-kick", "last-kick"),
    );
    let message = refused(folder.path(), &["plan", "show", "course.toml"], 2);
    assert!(message.contains("course: found \"last-kick\""), "{message}");
}
