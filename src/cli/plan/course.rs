//! Where a swimmer stands in the course, in words.

use std::fmt::Write as _;

use super::inputs::Given;
use crate::analysis::weeks::{CourseDay, CourseStanding, Outcome};
use crate::cli::shared::words::count;
use crate::model::plan::{CourseStep, weekday_word};

/// What a day came to, or that it lies ahead.
pub fn outcome(day: &CourseDay) -> &'static str {
    match day.outcome {
        None => "ahead",
        Some(Outcome::Done) => "done",
        Some(Outcome::Kept) => "kept",
        Some(Outcome::NotKept) => "not kept",
        Some(Outcome::NotSaid) => "kept not logged, does not count",
    }
}

/// The next day to swim, if there is one.
pub fn next(course: &CourseStanding) -> Option<&CourseDay> {
    course.days.iter().find(|day| day.outcome.is_none())
}

/// Where the swimmer stands, in a few sentences.
pub fn stands(given: &Given, course: &CourseStanding) -> Vec<String> {
    let mut said = Vec::new();
    let swum = course
        .days
        .iter()
        .filter(|day| day.outcome.is_some())
        .count();
    match (course.step, next(course)) {
        (None, _) => said.push(format!(
            "The course is through, after {}. The kick is yours: swim it without cues, and hear \
             them again when it slips.",
            count(swum, "day")
        )),
        (Some(step), next) => {
            let at = CourseStep::ALL
                .iter()
                .position(|other| *other == step)
                .unwrap_or(0)
                + 1;
            let mut text = format!(
                "Step {at} of {}, {}; {} swum so far.",
                CourseStep::ALL.len(),
                step.name(),
                count(swum, "day")
            );
            if let Some(next) = next {
                let date = next.day.date;
                let _ = write!(text, " Next: {} {date}.", weekday_word(date.weekday()));
            } else {
                text += " No training day is left within a year of the course: begin it anew.";
            }
            said.push(text);
            said.push(goes_on(step, course.kept_of));
        }
    }
    let unsaid = |day: &&CourseDay| day.outcome == Some(Outcome::NotSaid);
    let unsaid = course.days.iter().filter(unsaid).count();
    if unsaid > 0 {
        said.push(format!(
            "{} of the log without kept: the course cannot count them. Add yes, part or no, or, \
             alone, felt-yes, felt-part or felt-no.",
            count(unsaid, "day")
        ));
    }
    said.extend(help(given, course));
    said
}

/// What takes the swimmer to the next step.
fn goes_on(step: CourseStep, (kept, counted): (usize, usize)) -> String {
    match step {
        CourseStep::Without => {
            "Swims without cues 1, 3 and 7 to 10 days after the last with them; on \
                          each, three of four lengths are to be kept."
                .into()
        }
        step if step.is_judged() => format!(
            "On once three of four lengths were kept on two days: {kept} so far, of {}; after four \
             days without, one step back.",
            count(counted, "day")
        ),
        _ => "It is done once.".into(),
    }
}

/// What is worth doing where a step was not kept, or one way alone.
fn help(given: &Given, course: &CourseStanding) -> Vec<String> {
    let mut said = Vec::new();
    if let Some((step, times)) = course.stuck {
        let name = step.name();
        said.push(if times == 1 {
            format!(
                "The step \"{name}\" was not kept in its days: one step back, then again. Remedies on the way, \
                 no gates: cuelane export kick-with-board, cuelane export one-arm (leave kept \
                 empty for their rows)."
            )
        } else {
            let other = match step {
                CourseStep::OneWay => "the other way is next",
                _ => "try the other pairing (pairing in your swimmer's file, from hold on)",
            };
            format!("The step \"{name}\" was not kept, {times} times: {other}, or ask a coach to look.")
        });
    }
    let first = given.swimmer.nearest_pairing();
    let only = match course.ways {
        [true, false] => Some(first),
        [false, true] => Some(first.other()),
        _ => None,
    };
    let past_both = course.step.is_none_or(|step| step > CourseStep::Try);
    if let Some(way) = only.filter(|_| past_both) {
        said.push(format!(
            "One way was kept, {way}: it is yours for now. See that the swimmer's file says pairing \
             = \"{way}\", which is what is cued from here on."
        ));
    }
    said
}
