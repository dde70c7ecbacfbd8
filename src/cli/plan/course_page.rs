//! `plan show --page`: the next day of a course on one page, to print.

use super::calendar::set_list;
use super::course::{next, stands};
use super::inputs::Given;
use super::prepare::{decided, folder_name, written_sessions};
use crate::analysis::weeks::CourseStanding;
use crate::cli::shared::table::{
    self,
    Column::{Cut, Left, Right},
};
use crate::cli::shared::words::Page;
use crate::error::Result;
use crate::model::resolve::Resolved;
use crate::model::words::{CAUTIONS, HOW_KEPT, PLAN_CAUTION};

/// The page: the track, three things to feel, boxes to fill. Once no day is left it says where
/// the course stands.
///
/// # Errors
/// Those of the session and of the swimmer.
pub fn page(given: &Given, course: &CourseStanding) -> Result<String> {
    let mut to = Page::default();
    let plan = &given.plan;
    let Some((day, step)) = next(course).and_then(|day| Some((&day.day, day.day.step?))) else {
        stands(given, course).iter().for_each(|said| to.fill(said));
        return Ok(to.text());
    };
    let session = decided(
        plan,
        &given.swimmer,
        &written_sessions(plan)?,
        given.line,
        day,
    )?;
    to.fill(format!("{}: {}", given.swimmer.name, session.title));
    to.gap();
    to.fill(step.beside());
    to.gap();
    to.line(format_args!("The track, in {}", folder_name(day)));
    for set in set_list(&session) {
        to.hang("  ", "    ", set);
    }
    to.fill(format!(
        "Made by: cuelane plan export {} --week {} --out tracks",
        plan.source, day.week
    ));
    to.line("\nThree things to feel");
    for feel in step.feel() {
        to.hang("  [ ] ", "      ", feel);
    }
    to.gap();
    boxes(&session, &mut to);
    to.gap();
    to.fill(HOW_KEPT);
    to.gap();
    to.fill(CAUTIONS[1]);
    to.fill(PLAN_CAUTION);
    Ok(to.text())
}

/// A line a swim.
fn boxes(session: &Resolved, to: &mut Page) {
    let line = |set: &str, number: &str, swim: &str, kept: &str, strokes: &str| {
        table::line([
            (Cut(22), set.to_string()),
            (Right(3), number.to_string()),
            (Left(10), format!("  {swim}")),
            (Left(20), kept.to_string()),
            (Left(16), strokes.to_string()),
        ])
    };
    to.line(line("set", "no.", "swim", "kept", "strokes, both arms"));
    for set in &session.sets {
        for number in 1..=set.repeats {
            let (name, number) = (set.name.as_str(), number.to_string());
            let swim = set.swim.to_string();
            to.line(line(
                name,
                &number,
                &swim,
                "[                ]",
                "[            ]",
            ));
        }
    }
}
