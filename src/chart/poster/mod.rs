//! The session as a poster: A4, black and white, for the wall beside the lane.
//!
//! The first sheet has as many sets as it takes, the cycle, how to join in and the cautions; where
//! that is not all, further sheets have the other sets, and the cautions again.

mod cycle;
mod sets;
mod text;

use std::fmt::Write;

use super::escaped;
use super::letters::{Weight, lines, width};
use crate::model::resolve::Resolved;
use crate::model::words;
use crate::timeline::Schedule;
use crate::units::{Time, to_f64};
use cycle::{RING, cycle};
use sets::{PITCH, RISE, sheets};
use text::{ACROSS, Anchor, LEFT, RIGHT, WIDTH, text};

/// The sheet from above to below, mm.
const HEIGHT: f64 = 297.0;
const TOP: f64 = 11.0;
const BOTTOM: f64 = HEIGHT - 8.0;
/// Where the sets of the first sheet end, and the middle of the circles below them.
const SETS_END: f64 = 158.0;
const CIRCLES_Y: f64 = 195.0;
/// Different cycles that are drawn.
const CIRCLES: usize = 2;
/// The size of the title: at most, on further sheets, and before it is broken into two lines.
const TITLE: f64 = 9.0;
const FURTHER_TITLE: f64 = 6.0;
const LEAST_TITLE: f64 = 5.0;
/// The size of the cautions.
const CAUTIONS: f64 = 2.6;

/// The poster of a session: the text of an SVG file for each sheet, one or more.
pub fn poster(session: &Resolved, schedule: &Schedule) -> Vec<String> {
    // Headings are as high whatever the number of sheets, so they can be measured first.
    let end = |most, sheet| heading(&mut String::new(), session, schedule, most, (sheet, sheet));
    let foot = BOTTOM - cautions(&mut String::new(), 0.0);
    let first = SETS_END - end(TITLE, 1);
    let further = foot - 4.0 - end(FURTHER_TITLE, 2);
    let sheets = sheets(session, schedule, first, further);
    let of = sheets.len();
    let draw = |(at, sheet): (usize, &sets::PosterSheet)| {
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}mm\" height=\"{HEIGHT}mm\" \
             viewBox=\"0 0 {WIDTH} {HEIGHT}\" font-family=\"sans-serif\" fill=\"black\">\n\
             <title>{}</title>\n<rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"white\"/>\n",
            escaped(&session.title)
        );
        let most = if at == 0 { TITLE } else { FURTHER_TITLE };
        let top = heading(&mut svg, session, schedule, most, (at + 1, of));
        sheet.draw(&mut svg, top);
        match at {
            0 => {
                let y = circles(&mut svg, session, schedule);
                join_in(&mut svg, y);
            }
            _ => {
                cautions(&mut svg, foot);
            }
        }
        svg.push_str("</svg>\n");
        svg
    };
    sheets.iter().enumerate().map(draw).collect()
}

/// Lines across the sheet from a height downwards, at most so many; gives the height after them.
fn paragraph(
    svg: &mut String,
    mut y: f64,
    (size, weight): (f64, Weight),
    words: &str,
    most: usize,
) -> f64 {
    for line in lines(words, weight, ACROSS / size, most) {
        text(
            svg,
            (LEFT, y + size * RISE),
            size,
            (weight, Anchor::Start),
            &line,
        );
        y += size * PITCH;
    }
    y
}

/// Title, swimmer and times, with a rule below; gives the height after it.
fn heading(
    svg: &mut String,
    session: &Resolved,
    schedule: &Schedule,
    most: f64,
    (sheet, of): (usize, usize),
) -> f64 {
    let fits = ACROSS / width(&session.title, Weight::Bold);
    let size = fits.clamp(LEAST_TITLE, most);
    let rows = if sheet == 1 { 2 } else { 1 };
    let y = paragraph(svg, TOP, (size, Weight::Bold), &session.title, rows);
    let total = Time::from_s(schedule.total_s).rounded();
    let first = session.lead_in.rounded();
    let mut times = format!(" · {total} in all · first start at {first}");
    if of > 1 {
        let _ = write!(times, " · sheet {sheet} of {of}");
    }
    // A long name is cut, the times stay; room is kept for the number of the sheet.
    const SIZE: f64 = 4.0;
    let room = ACROSS / SIZE - width(&times, Weight::Plain);
    let who = session.swimmer.as_deref().unwrap_or("any swimmer");
    let who = lines(who, Weight::Plain, room, 1).concat();
    let y = paragraph(
        svg,
        y + 1.2,
        (SIZE, Weight::Plain),
        &format!("{who}{times}"),
        1,
    ) + 2.2;
    let _ = writeln!(
        svg,
        "<line x1=\"{LEFT}\" y1=\"{y:.2}\" x2=\"{RIGHT}\" y2=\"{y:.2}\" stroke=\"black\" stroke-width=\"0.6\"/>"
    );
    y + 3.0
}

/// The first few different cycles, and what their marks are; gives the height after them.
fn circles(svg: &mut String, session: &Resolved, schedule: &Schedule) -> f64 {
    let mut different: Vec<usize> = Vec::new();
    for (index, set) in session.sets.iter().enumerate() {
        let same = |other: &usize| {
            let other = &session.sets[*other];
            (other.pairing, other.kick, other.three_on, other.arms)
                == (set.pairing, set.kick, set.three_on, set.arms)
                && other.stroke() == set.stroke()
        };
        if different.len() < CIRCLES && !different.iter().any(same) {
            different.push(index);
        }
    }
    for (at, index) in different.iter().copied().enumerate() {
        let rate = (schedule.repeats.iter()).find(|repeat| repeat.set == index);
        let x = WIDTH / different.len() as f64 * (at as f64 + 0.5);
        let ms = rate.map_or(0.0, |repeat| to_f64(&repeat.from.cycle_s()) * 1000.0);
        cycle(svg, (x, CIRCLES_Y), &session.sets[index], ms);
        let under = format!("one cycle of set {}, {ms:.0} ms", index + 1);
        let at = (x, CIRCLES_Y + RING + 17.0);
        text(svg, at, 3.4, (Weight::Plain, Anchor::Middle), &under);
    }
    let key = "Clockwise from the left hand at the top. Outside: hands, in (round) and catch (square). \
               Inside: feet, at their lowest. Black: left. White: right. Small: the kicks between.";
    paragraph(svg, CIRCLES_Y + RING + 21.0, (3.0, Weight::Plain), key, 3)
}

fn join_in(svg: &mut String, mut y: f64) {
    for (head, words) in [
        ("How to join in", words::JOIN_IN),
        ("Late, or crossed", words::LATE_OR_CROSSED),
    ] {
        y = paragraph(svg, y + 1.4, (3.4, Weight::Bold), head, 1);
        y = paragraph(svg, y, (2.8, Weight::Plain), words, 4);
    }
    cautions(svg, y + 1.4);
}

/// The cautions from a height downwards; gives the height after them.
fn cautions(svg: &mut String, mut y: f64) -> f64 {
    for caution in words::CAUTIONS {
        y = paragraph(svg, y, (CAUTIONS, Weight::Plain), caution, 2);
    }
    y
}
