//! The session as a poster: A4, black and white, for the wall beside the lane.

use std::f64::consts::TAU;
use std::fmt::Write;

use super::escaped;
use crate::model::cue::{Kind, Side};
use crate::model::kick::{Kick, beats};
use crate::model::resolve::{Resolved, Set};
use crate::model::words;
use crate::timeline::{Repeat, Schedule};
use crate::units::{Exact, Time, to_f64};

/// The sheet and its margin, mm.
const WIDTH: f64 = 210.0;
const HEIGHT: f64 = 297.0;
const LEFT: f64 = 14.0;
/// Where the sets end and the circles begin.
const SETS_TOP: f64 = 40.0;
const SETS_END: f64 = 148.0;
const CIRCLES_Y: f64 = 190.0;
/// The ring of a cycle, mm.
const RING: f64 = 20.0;
/// Letters of text a mm wide at a font of 1 mm: set wide enough for capitals.
const LETTER: f64 = 0.52;
/// Different cycles that are drawn.
const CIRCLES: usize = 2;
/// Starts that a set lists.
const STARTS: usize = 6;

/// The poster of a session.
pub fn poster(session: &Resolved, schedule: &Schedule) -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}mm\" height=\"{HEIGHT}mm\" \
         viewBox=\"0 0 {WIDTH} {HEIGHT}\" font-family=\"sans-serif\" fill=\"black\">\n\
         <title>{}</title>\n<rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"white\"/>\n",
        escaped(&session.title)
    );
    heading(&mut svg, session, schedule);
    sets(&mut svg, session, schedule);
    circles(&mut svg, session, schedule);
    join_in(&mut svg);
    svg.push_str("</svg>\n");
    svg
}

fn text(svg: &mut String, (x, y): (f64, f64), size: f64, style: &str, words: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(
        svg,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size:.1}\" {style}>{}</text>",
        escaped(words)
    );
}

/// Lines of at most `width` mm from a place downwards; gives the height after them.
fn paragraph(svg: &mut String, x: f64, mut y: f64, size: f64, width: f64, words: &str) -> f64 {
    let columns = (width / (size * LETTER)) as usize;
    for line in textwrap::wrap(words, columns.max(10)) {
        text(svg, (x, y), size, "", &line);
        y += size * 1.3;
    }
    y
}

fn heading(svg: &mut String, session: &Resolved, schedule: &Schedule) {
    let room = WIDTH - 2.0 * LEFT;
    let size = (room / (session.title.chars().count().max(1) as f64 * LETTER)).clamp(3.0, 9.0);
    let title = textwrap::wrap(&session.title, (room / (size * LETTER)) as usize);
    let title = title
        .first()
        .map(|line| line.to_string())
        .unwrap_or_default();
    text(svg, (LEFT, 20.0), size, "font-weight=\"bold\"", &title);
    let total = Time::from_s(schedule.total_s.clone()).rounded();
    let who = session.swimmer.as_deref().unwrap_or("any swimmer");
    let line = format!(
        "{who} · {total} in all · first start at {}",
        session.lead_in.rounded()
    );
    paragraph(svg, LEFT, 28.0, 4.0, room, &line);
    let _ = writeln!(
        svg,
        "<line x1=\"{LEFT}\" y1=\"33\" x2=\"{}\" y2=\"33\" stroke=\"black\" stroke-width=\"0.6\"/>",
        WIDTH - LEFT
    );
}

fn sets(svg: &mut String, session: &Resolved, schedule: &Schedule) {
    let count = session.sets.len();
    // Four lines a set where there is room; a long session is listed as far as the sheet goes.
    let each = ((SETS_END - SETS_TOP) / count as f64).clamp(9.0, 27.0);
    let listed = (((SETS_END - SETS_TOP) / each) as usize).min(count);
    let size = (each / 5.6).clamp(2.2, 4.2);
    for (index, set) in session.sets.iter().enumerate().take(listed) {
        let y = SETS_TOP + each * index as f64;
        let repeats: Vec<&Repeat> = (schedule.repeats.iter())
            .filter(|repeat| repeat.set == index)
            .collect();
        let head = format!("{}  {}: {}", index + 1, set.name, words::notation(set));
        let head = cut(&head, WIDTH - 2.0 * LEFT - 34.0, size * 1.25);
        text(svg, (LEFT, y), size * 1.25, "font-weight=\"bold\"", &head);
        let right = "font-weight=\"bold\" text-anchor=\"end\"";
        text(
            svg,
            (WIDTH - LEFT, y),
            size * 1.25,
            right,
            &set.rate.short(),
        );
        let lines = [
            format!("{}: {}", words::kick(set), words::feet(set)),
            format!("sounds: {}", words::cues(set)),
            starts(&repeats),
        ];
        for (line, words) in lines.iter().enumerate() {
            let at = (LEFT + 5.0, y + size * 1.35 * (line + 1) as f64);
            let room = WIDTH - 2.0 * LEFT - 5.0;
            // A long line is written smaller before it is cut: which foot goes with what matters.
            let wide = room / (words.chars().count().max(1) as f64 * LETTER);
            let size = size.min(wide.max(2.2));
            text(svg, at, size, "", &cut(words, room, size));
        }
    }
    if listed < count {
        let words = format!("and {} more sets: see contents.txt", count - listed);
        text(svg, (LEFT, SETS_END + 1.0), 3.0, "", &words);
    }
}

/// As much of a line as is so wide, mm.
fn cut(words: &str, width: f64, size: f64) -> String {
    let most = (width / (size * LETTER)) as usize;
    match words.chars().count() > most {
        true => words
            .chars()
            .take(most.saturating_sub(1))
            .chain(['…'])
            .collect(),
        false => words.to_string(),
    }
}

fn starts(repeats: &[&Repeat]) -> String {
    let clock = |s: &Exact| Time::from_s(s.clone()).rounded();
    let mut starts: Vec<String> = (repeats.iter().take(STARTS))
        .map(|repeat| clock(&repeat.start_s))
        .collect();
    if repeats.len() > STARTS {
        starts.push("…".into());
        starts.extend(repeats.last().map(|repeat| clock(&repeat.start_s)));
    }
    format!("starts at {}", starts.join(", "))
}

/// The first few different cycles.
fn circles(svg: &mut String, session: &Resolved, schedule: &Schedule) {
    let mut different: Vec<usize> = Vec::new();
    for (index, set) in session.sets.iter().enumerate() {
        let same = |other: &usize| {
            let other = &session.sets[*other];
            (other.pairing, other.kick, other.three_on) == (set.pairing, set.kick, set.three_on)
                && other.stroke() == set.stroke()
        };
        if !different.iter().any(same) {
            different.push(index);
        }
    }
    different.truncate(CIRCLES);
    for (at, index) in different.iter().copied().enumerate() {
        let set = &session.sets[index];
        let rate = (schedule.repeats.iter()).find(|repeat| repeat.set == index);
        let x = WIDTH / different.len() as f64 * (at as f64 + 0.5);
        let ms = rate.map_or(0.0, |repeat| to_f64(&repeat.from.cycle_s()) * 1000.0);
        circle(svg, (x, CIRCLES_Y), set, ms);
        let under = format!("one cycle of set {}, {ms:.0} ms", index + 1);
        let middle = "text-anchor=\"middle\"";
        text(svg, (x, CIRCLES_Y + RING + 17.0), 3.4, middle, &under);
    }
    let key = "Clockwise from the left hand at the top. Outside: hands, in (round) and catch (square). \
               Inside: feet, at their lowest. Black: left. White: right. Small: the kicks between.";
    paragraph(
        svg,
        LEFT,
        CIRCLES_Y + RING + 24.0,
        3.0,
        WIDTH - 2.0 * LEFT,
        key,
    );
}

fn circle(svg: &mut String, centre: (f64, f64), set: &Set, cycle_ms: f64) {
    let (x, y) = centre;
    let _ = writeln!(
        svg,
        "<circle cx=\"{x}\" cy=\"{y}\" r=\"{RING}\" fill=\"none\" stroke=\"black\" stroke-width=\"0.6\"/>\n\
         <path d=\"M{:.1} {:.1}a{RING} {RING} 0 0 1 4 2.2l-1.9 0.5m1.9 -0.5l-0.6 -1.9\" fill=\"none\" \
         stroke=\"black\" stroke-width=\"0.6\"/>",
        x + 8.0,
        y - (RING * RING - 64.0).sqrt()
    );
    let place = |phase: f64, radius: f64| {
        let (sine, cosine) = (phase * TAU).sin_cos();
        (x + radius * sine, y - radius * cosine)
    };
    for side in Side::BOTH {
        let entry = to_f64(&set.stroke().entry(side));
        mark(svg, place(entry, RING + 4.5), Shape::Round, side, 1.0);
        label(svg, place(entry, RING + 10.0), &format!("{side} hand in"));
        let catch = to_f64(&set.stroke().catch(side));
        mark(svg, place(catch, RING + 4.5), Shape::Square, side, 1.0);
    }
    if set.kick == Kick::Pull {
        label(svg, (x, y), "arms alone");
        return;
    }
    for beat in beats(&set.stroke(), set.pairing, set.kick, set.three_on) {
        let kind = if beat.paired { Kind::Kick } else { Kind::Fill };
        let size = if kind == Kind::Kick { 1.0 } else { 0.6 };
        let phase = to_f64(&beat.phase);
        mark(
            svg,
            place(phase, RING - 5.0),
            Shape::Diamond,
            beat.foot,
            size,
        );
        if beat.paired {
            let ms = format!("{:.0} ms", phase.rem_euclid(1.0) * cycle_ms);
            label(svg, place(phase, RING - 13.0), &ms);
        }
    }
}

fn label(svg: &mut String, (x, y): (f64, f64), words: &str) {
    text(svg, (x, y + 1.0), 2.8, "text-anchor=\"middle\"", words);
}

enum Shape {
    Round,
    Square,
    Diamond,
}

fn mark(svg: &mut String, (x, y): (f64, f64), shape: Shape, side: Side, size: f64) {
    let fill = match side {
        Side::Left => "black",
        Side::Right => "white",
    };
    let style = format!("fill=\"{fill}\" stroke=\"black\" stroke-width=\"0.5\"");
    let r = 2.2 * size;
    let _ = match shape {
        Shape::Round => writeln!(
            svg,
            "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{r:.2}\" {style}/>"
        ),
        Shape::Square => writeln!(
            svg,
            "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{w:.2}\" height=\"{w:.2}\" {style}/>",
            x - r * 0.9,
            y - r * 0.9,
            w = r * 1.8
        ),
        Shape::Diamond => writeln!(
            svg,
            "<path d=\"M{x:.2} {:.2}l{r:.2} {r:.2}l-{r:.2} {r:.2}l-{r:.2} -{r:.2}z\" {style}/>",
            y - r
        ),
    };
}

fn join_in(svg: &mut String) {
    let room = WIDTH - 2.0 * LEFT;
    let mut y = CIRCLES_Y + RING + 36.0;
    for (head, words) in [
        ("How to join in", words::JOIN_IN),
        ("Late, or crossed", words::LATE_OR_CROSSED),
    ] {
        text(svg, (LEFT, y), 3.4, "font-weight=\"bold\"", head);
        y = paragraph(svg, LEFT, y + 4.0, 2.8, room, words) + 1.6;
    }
    for caution in words::CAUTIONS {
        y = paragraph(svg, LEFT, y, 2.6, room, caution);
    }
}
