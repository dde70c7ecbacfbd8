//! One cycle of a set as a circle: hands outside, feet inside.

use std::f64::consts::TAU;
use std::fmt::Write;

use super::super::letters::{Weight, width};
use super::text::{Anchor, text};
use crate::model::cue::Side;
use crate::model::kick::{Kick, beats};
use crate::model::resolve::Set;
use crate::units::to_f64;

/// The ring of a cycle, mm.
pub const RING: f64 = 20.0;
/// The size of the words at it, and how far two of them stay apart from line to line, mm.
const SIZE: f64 = 2.8;
const PITCH: f64 = 3.6;

enum Shape {
    Round,
    Square,
    Diamond,
}

/// Draws a set's cycle, so many milliseconds long, around a centre.
pub fn cycle(svg: &mut String, (x, y): (f64, f64), set: &Set, cycle_ms: f64) {
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
    let stroke = set.stroke();
    for side in Side::BOTH {
        let entry = to_f64(&stroke.entry(side));
        let swims = set.arms.swims(side);
        if swims {
            mark(svg, place(entry, RING + 4.5), Shape::Round, side, 1.0);
        }
        let (at, beside) = (place(entry, RING + 10.0), place(entry, RING + 8.5));
        let words = if swims {
            format!("{side} hand in")
        } else {
            format!("{side} arm rests")
        };
        // At the top and the bottom the words stand over their mark, at the sides beside it.
        match at.0 - x {
            off if off > 5.0 => label(svg, beside, Anchor::Start, &words),
            off if off < -5.0 => label(svg, beside, Anchor::End, &words),
            _ => label(svg, at, Anchor::Middle, &words),
        }
        if swims {
            let catch = to_f64(&stroke.catch(side));
            mark(svg, place(catch, RING + 4.5), Shape::Square, side, 1.0);
        }
    }
    if set.kick == Kick::Pull {
        label(svg, (x, y), Anchor::Middle, "arms alone");
        return;
    }
    for beat in beats(&stroke, set.pairing, set.kick, set.three_on) {
        let (size, phase) = (if beat.paired { 1.0 } else { 0.6 }, to_f64(&beat.phase));
        mark(
            svg,
            place(phase, RING - 5.0),
            Shape::Diamond,
            beat.foot,
            size,
        );
    }
    let paired = set.pairing.paired_beats(&stroke);
    kick_times(
        svg,
        [&paired.left, &paired.right].map(to_f64),
        cycle_ms,
        place,
    );
}

/// When each foot's own kick is; two that would run into each other move apart.
fn kick_times(
    svg: &mut String,
    phases: [f64; 2],
    cycle_ms: f64,
    place: impl Fn(f64, f64) -> (f64, f64),
) {
    let of = |phase: f64| format!("{:.0} ms", phase.rem_euclid(1.0) * cycle_ms);
    let words = phases.map(of);
    let mut at = phases.map(|phase| place(phase, RING - 13.0));
    let wide: f64 = words
        .iter()
        .map(|words| SIZE * width(words, Weight::Plain))
        .sum();
    let (across, down) = (at[1].0 - at[0].0, at[1].1 - at[0].1);
    if across.abs() < wide / 2.0 + 1.0 && down.abs() < PITCH {
        let more = (PITCH - down.abs()) / 2.0;
        let more = if down < 0.0 { -more } else { more };
        at[0].1 -= more;
        at[1].1 += more;
    }
    for (at, words) in at.into_iter().zip(&words) {
        label(svg, at, Anchor::Middle, words);
    }
}

fn label(svg: &mut String, (x, y): (f64, f64), anchor: Anchor, words: &str) {
    text(svg, (x, y + 1.0), SIZE, (Weight::Plain, anchor), words);
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
