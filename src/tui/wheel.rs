//! The cycle as a line: hands above, feet below, a point that moves.

use super::face::Wheel;
use crate::model::cue::Side;

/// Columns for the names in front.
const NAMES: usize = 12;

/// Five lines of at most `columns` columns.
pub fn lines(wheel: &Wheel, point: Option<f64>, columns: usize) -> [String; 5] {
    let length = columns.saturating_sub(NAMES).max(8);
    let place = |phase: f64| ((phase * length as f64) as usize).min(length - 1);
    let named = |name: &str, cells: Vec<char>| {
        let cells: String = cells.into_iter().collect();
        format!("{name:<NAMES$}{cells}").trim_end().to_string()
    };
    let hand = |side: Side| {
        let mut cells = vec![' '; length];
        if let Some((entry, catch)) = wheel.hands[side as usize] {
            let (from, to) = (place(entry), place(catch));
            for step in 1..(to + length - from) % length {
                cells[(from + step) % length] = '-';
            }
            cells[from] = 'E';
            cells[to] = 'C';
        } else {
            cells = "rests in front".chars().collect();
        }
        named(&format!("{side} hand"), cells)
    };
    let foot = |side: Side| {
        let mut cells = vec![' '; length];
        for (phase, paired) in &wheel.feet[side as usize] {
            cells[place(*phase)] = if *paired { 'K' } else { 'k' };
        }
        named(&format!("{side} foot"), cells)
    };
    let mut line = vec!['─'; length];
    if let Some(point) = point {
        line[place(point)] = '█';
    }
    [
        hand(Side::Left),
        hand(Side::Right),
        named("", line),
        foot(Side::Left),
        foot(Side::Right),
    ]
}
