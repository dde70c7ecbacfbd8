//! The course as a picture: its steps, one above the other, over the days.
//!
//! In: where the swimmer stands. Out: the text of an SVG file. Black on white: what a day came to is
//! told by the form of its mark.

use std::fmt::Write as _;

use crate::analysis::weeks::{CourseDay, CourseStanding, Outcome};
use crate::model::plan::CourseStep;

/// What the picture shows, in one sentence.
pub const IN_WORDS: &str = "Disc: kept, or done; circle: not kept; cross: kept not logged; dashed \
    square: ahead, if each day is kept";

/// Width, the steps' names, a step's height, above and below the days, pixels.
const WIDTH: f64 = 820.0;
const NAMES: f64 = 232.0;
const STEP: f64 = 34.0;
const ABOVE: f64 = 44.0;
const BELOW: f64 = 96.0;
const RIGHT: f64 = 20.0;
/// A mark's half.
const MARK: f64 = 6.0;
/// Dates that stand upright take so much.
const DATE: f64 = 18.0;

/// The picture. No day at all leaves the steps alone.
pub fn course_chart(course: &CourseStanding) -> String {
    let steps = CourseStep::ALL.len() as f64;
    let foot = ABOVE + steps * STEP;
    let height = foot + BELOW;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" \
         width=\"{WIDTH}\" height=\"{height}\" font-family=\"sans-serif\" font-size=\"14\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n\
         <text x=\"{:.1}\" y=\"24\" text-anchor=\"middle\" font-size=\"13\">{IN_WORDS}</text>\n",
        WIDTH / 2.0
    );
    for step in CourseStep::ALL {
        let y = height_of(step);
        let _ = writeln!(
            svg,
            "<line x1=\"{NAMES}\" y1=\"{y:.1}\" x2=\"{:.1}\" y2=\"{y:.1}\" stroke=\"black\" \
             stroke-opacity=\"0.2\"/>\n<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            WIDTH - RIGHT,
            NAMES - 8.0,
            y + 5.0,
            step.name()
        );
    }
    let days: Vec<(f64, f64, &CourseDay)> = places(&course.days);
    let swum = days.partition_point(|(_, _, day)| day.outcome.is_some());
    way(&mut svg, &days[..swum], "");
    // What lies ahead hangs on to the last day that was swum.
    way(
        &mut svg,
        &days[swum.saturating_sub(1)..],
        " stroke-dasharray=\"5 4\"",
    );
    let width = (WIDTH - RIGHT - NAMES) / days.len().max(1) as f64;
    let every = (DATE / width).ceil().max(1.0) as usize;
    for (number, (x, y, day)) in days.iter().enumerate() {
        mark(&mut svg, (*x, *y), day.outcome);
        if number % every == 0 {
            let (x, y) = (x + 5.0, foot + 10.0);
            let _ = writeln!(
                svg,
                "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"end\" \
                 transform=\"rotate(-90 {x:.1} {y:.1})\">{}</text>",
                day.day.date
            );
        }
    }
    svg.push_str("</svg>\n");
    svg
}

/// How low a step lies: the first one lowest.
fn height_of(step: CourseStep) -> f64 {
    let above = CourseStep::ALL.len() - 1 - step as usize;
    ABOVE + (above as f64 + 0.5) * STEP
}

/// The days side by side, each at its step.
fn places(days: &[CourseDay]) -> Vec<(f64, f64, &CourseDay)> {
    let width = (WIDTH - RIGHT - NAMES) / days.len().max(1) as f64;
    (days.iter().enumerate())
        .filter_map(|(number, day)| {
            let x = NAMES + (number as f64 + 0.5) * width;
            Some((x, height_of(day.day.step?), day))
        })
        .collect()
}

fn way(svg: &mut String, days: &[(f64, f64, &CourseDay)], dashes: &str) {
    let points: Vec<String> = (days.iter())
        .map(|(x, y, _)| format!("{x:.1},{y:.1}"))
        .collect();
    let _ = writeln!(
        svg,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"black\"{dashes}/>",
        points.join(" ")
    );
}

fn mark(svg: &mut String, (x, y): (f64, f64), outcome: Option<Outcome>) {
    let disc = |fill| {
        format!(
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{MARK}\" fill=\"{fill}\" stroke=\"black\"/>"
        )
    };
    let (left, right, top, bottom) = (x - MARK, x + MARK, y - MARK, y + MARK);
    let mark = match outcome {
        Some(Outcome::Done | Outcome::Kept) => disc("black"),
        Some(Outcome::NotKept) => disc("white"),
        Some(Outcome::NotSaid) => format!(
            "<path d=\"M{left:.1} {top:.1} L{right:.1} {bottom:.1} M{left:.1} {bottom:.1} \
             L{right:.1} {top:.1}\" stroke=\"black\" stroke-width=\"2\"/>"
        ),
        None => format!(
            "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{0}\" height=\"{0}\" fill=\"white\" \
             stroke=\"black\" stroke-dasharray=\"3 2\"/>",
            2.0 * MARK
        ),
    };
    let _ = writeln!(svg, "{mark}");
}
