//! One cycle as a circle: hands outside, feet inside, every mark a point.
//!
//! Time runs clockwise from the left entry at the top. Left and right differ in fill, events in
//! shape, so that the picture reads in black and white.

use std::f64::consts::TAU;
use std::fmt::Write;

use super::escaped;
use super::letters::{Weight, lines, width};
use crate::analysis::circular::Circular;
use crate::analysis::timing::Timing;
use crate::model::cue::Side;
use crate::model::record::StrokeMoment;

const SIZE: f64 = 720.0;
const CENTRE: (f64, f64) = (360.0, 360.0);
/// The ring itself.
const RING: f64 = 200.0;
/// The size of the title, and where it takes two lines.
const TITLE: f64 = 18.0;
const LONG_TITLE: f64 = 14.0;
/// Half the length of a mean's bar: the rings of the hands lie closer than those of the feet.
const HAND_BAR: f64 = 8.0;
const FOOT_BAR: f64 = 15.0;
/// More points of one event than this would only blacken the paper.
const MOST_POINTS: usize = 300;

/// The picture, with the swimmer's name where there is one.
pub fn cycle_circle(timing: &Timing, name: Option<&str>) -> String {
    let mut svg = String::new();
    head(&mut svg, timing, name);
    quarters(&mut svg, timing);
    for (at, moment) in [StrokeMoment::Entry, StrokeMoment::Catch, StrokeMoment::Exit]
        .into_iter()
        .enumerate()
    {
        for side in Side::BOTH {
            let radius = RING + 30.0 + 32.0 * at as f64 + 13.0 * f64::from(side as u8);
            let phases = timing.phases(moment, side);
            points(&mut svg, &phases, moment, side, radius);
            if let Some(hand) = Circular::of(&phases) {
                let half = hand.half_width(0.0);
                let interval = half.map(|half| (hand.mean - half, hand.mean + half));
                mean(&mut svg, hand.mean, interval, radius, HAND_BAR);
            }
        }
    }
    for leg in Side::BOTH {
        let radius = RING - 32.0 - 42.0 * f64::from(leg as u8);
        points(
            &mut svg,
            &timing.phases(StrokeMoment::Kick, leg),
            StrokeMoment::Kick,
            leg,
            radius,
        );
        if let Some(kick) = timing.kicks.of(leg) {
            mean(
                &mut svg,
                kick.circular.mean,
                kick.interval,
                radius,
                FOOT_BAR,
            );
        }
        targets(&mut svg, timing, leg, radius);
    }
    legend(&mut svg);
    svg.push_str("</svg>\n");
    svg
}

/// The sheet with its title and the ring.
fn head(svg: &mut String, timing: &Timing, name: Option<&str>) {
    let words = format!(
        "one cycle at {:.1} spm, from {} cycles",
        timing.rate_spm.value, timing.cycles
    );
    let title = match name {
        Some(name) => format!("{name}: {words}"),
        None => words.clone(),
    };
    let height = SIZE + 250.0;
    // Writing to a string cannot fail.
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {SIZE} {height}\" \
         width=\"{SIZE}\" height=\"{height}\" font-family=\"sans-serif\" font-size=\"15\">\n\
         <title>{title}</title>\n\
         <rect width=\"{SIZE}\" height=\"{height}\" fill=\"white\"/>\n\
         <circle cx=\"{}\" cy=\"{}\" r=\"{RING}\" fill=\"none\" stroke=\"black\" stroke-width=\"2\"/>\n",
        CENTRE.0,
        CENTRE.1,
        title = escaped(&title),
    );
    // A long name has a line of its own, and is cut.
    let lines = if width(&title, Weight::Plain) * TITLE <= SIZE - 40.0 {
        vec![(30.0, TITLE, title)]
    } else {
        let room = (SIZE - 40.0) / LONG_TITLE;
        let name = lines(name.unwrap_or_default(), Weight::Plain, room, 1);
        vec![(19.0, LONG_TITLE, name.concat()), (36.0, LONG_TITLE, words)]
    };
    for (y, size, words) in lines {
        let _ = writeln!(
            svg,
            "<text x=\"20\" y=\"{y}\" font-size=\"{size}\">{}</text>",
            escaped(&words)
        );
    }
}

/// A phase on a circle of some radius.
fn place(phase: f64, radius: f64) -> (f64, f64) {
    let (sine, cosine) = (phase * TAU).sin_cos();
    (CENTRE.0 + radius * sine, CENTRE.1 - radius * cosine)
}

/// Ticks at the quarters of the cycle, with their times in the middle, where no mark comes.
fn quarters(svg: &mut String, timing: &Timing) {
    for quarter in 0..4 {
        let phase = f64::from(quarter) / 4.0;
        let ((x1, y1), (x2, y2)) = (place(phase, RING - 8.0), place(phase, RING + 8.0));
        let ((x3, y3), (x, y)) = (place(phase, RING - 100.0), place(phase, RING - 140.0));
        let _ = writeln!(
            svg,
            "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" stroke=\"black\"/>\
             <line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x3:.1}\" y2=\"{y3:.1}\" stroke=\"black\" \
             stroke-width=\"0.5\" stroke-dasharray=\"1 4\"/>\
             <text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"12\" text-anchor=\"middle\">{:.0} ms</text>",
            y + 4.0,
            phase * timing.cycle_s.value * 1000.0
        );
    }
}

/// Every mark of one event.
fn points(svg: &mut String, phases: &[f64], moment: StrokeMoment, side: Side, radius: f64) {
    let step = phases.len().div_ceil(MOST_POINTS).max(1);
    for phase in phases.iter().step_by(step) {
        shape(svg, place(*phase, radius), moment, side);
    }
}

/// A mark's shape: entry circle, catch square, exit triangle, kick diamond; left filled, right open.
fn shape(svg: &mut String, (x, y): (f64, f64), moment: StrokeMoment, side: Side) {
    let fill = match side {
        Side::Left => "black",
        Side::Right => "white",
    };
    let style = format!("fill=\"{fill}\" stroke=\"black\"");
    let _ = match moment {
        StrokeMoment::Entry => writeln!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\" {style}/>"
        ),
        StrokeMoment::Catch => writeln!(
            svg,
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"8\" height=\"8\" {style}/>",
            x - 4.0,
            y - 4.0
        ),
        StrokeMoment::Exit => {
            writeln!(svg, "<path d=\"M{x:.1} {:.1}l5 9h-10z\" {style}/>", y - 5.0)
        }
        StrokeMoment::Kick | StrokeMoment::Breath => writeln!(
            svg,
            "<path d=\"M{x:.1} {:.1}l6 6l-6 6l-6 -6z\" {style}/>",
            y - 6.0
        ),
    };
}

/// A mean as a spoke, `bar` to either side of its ring, with its interval as an arc at the end.
fn mean(svg: &mut String, phase: f64, interval: Option<(f64, f64)>, radius: f64, bar: f64) {
    let ((x1, y1), (x2, y2)) = (place(phase, radius - bar), place(phase, radius + bar));
    let _ = writeln!(
        svg,
        "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" stroke=\"black\" \
         stroke-width=\"3\"/>"
    );
    let Some((low, high)) = interval else {
        return;
    };
    let turn = (high - low) - (high - low).floor();
    let ((x1, y1), (x2, y2)) = (place(low, radius + bar), place(high, radius + bar));
    let (large, radius) = (u8::from(turn > 0.5), radius + bar);
    let _ = writeln!(
        svg,
        "<path d=\"M{x1:.1} {y1:.1}A{radius:.1} {radius:.1} 0 {large} 1 {x2:.1} {y2:.1}\" \
         fill=\"none\" stroke=\"black\" stroke-width=\"3\"/>"
    );
}

/// Where each pairing would have a leg's kick: S and O on the leg's own circle.
fn targets(svg: &mut String, timing: &Timing, leg: Side, radius: f64) {
    let entry = |hand: Side| match hand {
        Side::Left => 0.0,
        Side::Right => timing.right_entry_or_half(),
    };
    let same = timing
        .catch_after_entry
        .of(leg)
        .map(|catch| entry(leg) + catch.value);
    for (letter, phase) in [("S", same), ("O", Some(entry(leg.other())))] {
        let Some(phase) = phase else {
            continue;
        };
        let (x, y) = place(phase, radius - 20.0);
        let _ = writeln!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"9\" fill=\"white\" stroke=\"black\" \
             stroke-dasharray=\"3 2\"/><text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"12\" \
             text-anchor=\"middle\">{letter}</text>",
            y + 4.0
        );
    }
}

fn legend(svg: &mut String) {
    let top = SIZE + 20.0;
    let rows = [
        (StrokeMoment::Entry, "hand goes in"),
        (StrokeMoment::Catch, "catch"),
        (StrokeMoment::Exit, "hand leaves"),
        (StrokeMoment::Kick, "foot at its lowest point"),
    ];
    for (at, (moment, words)) in rows.into_iter().enumerate() {
        let y = top + 24.0 * at as f64;
        shape(svg, (30.0, y), moment, Side::Left);
        shape(svg, (50.0, y), moment, Side::Right);
        let _ = writeln!(svg, "<text x=\"68\" y=\"{:.1}\">{words}</text>", y + 5.0);
    }
    let lines = [
        "filled: left; open: right. Clockwise from the left entry; hands outside, feet inside",
        "(outer of the two: the left foot). Bar and arc: a mean and its 95 % interval.",
        "S: that foot's kick with the catch of its own side.",
        "O: that foot's kick as the other hand goes in.",
    ];
    for (at, words) in lines.into_iter().enumerate() {
        let y = top + 24.0 * (rows.len() + at) as f64 + 5.0;
        let _ = writeln!(svg, "<text x=\"22\" y=\"{y:.1}\">{words}</text>");
    }
}
