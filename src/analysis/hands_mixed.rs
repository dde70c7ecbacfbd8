//! Single marks of the hands with left and right exchanged, found by the pattern of the strokes.
//!
//! Strokes alternate: every second one is the same hand's. A mark whose side does not go with its
//! place in the row is one of the same hand twice in a row, half a cycle off. One such mark is a
//! slip of the marker; where the sides go on exchanged it is the row that has turned. Which of
//! the two is decided by the cheapest account of the whole row (Viterbi 1967, two states).

use crate::model::cue::Side;
use crate::model::record::Mark;

/// What one moment of the hands in one pass looks like.
#[derive(Debug, Default)]
pub(super) struct HandRow {
    /// The marks that look exchanged, by their place in the row.
    pub exchanged: Vec<usize>,
    /// Where the sides go on the other way round, s.
    pub turns_at_s: Vec<f64>,
    /// What the account costs: 0 where every mark has its place and its side.
    pub cost: f64,
}

/// An account of a row: what one exchanged mark costs, what it costs that the row turns, and that
/// it does over a gap, where the count of the strokes is not sure.
const EXCHANGED: f64 = 1.0;
const TURNED: f64 = 2.5;
const TURNED_IN_GAP: f64 = 0.5;
/// A gap is longer than so many strokes.
const GAP: f64 = 2.5;
/// A mark is placed in the row where it is no farther than this share of a stroke from a place.
const PLACED: f64 = 0.35;
/// Where more than this share looks exchanged, it is no slip of single marks.
const MOST_EXCHANGED: f64 = 1.0 / 3.0;
/// Fewer marks are no row.
const FEWEST: usize = 5;

/// Reads the marks of one moment of both hands in one pass, in order of time. `cycle_s` is the
/// usual cycle, s.
pub(super) fn read_row(marks: &[Mark], cycle_s: f64) -> HandRow {
    if marks.len() < FEWEST {
        return HandRow::default();
    }
    let places = places(marks, cycle_s / 2.0);
    let (account, cost) = cheapest(marks, &places);
    let without_place = (marks.len() - places.len()) as f64;
    let mut row = HandRow {
        cost: cost + EXCHANGED * without_place,
        ..HandRow::default()
    };
    let mut before = None;
    for place in &places {
        let state = account[place.mark];
        if before.is_some_and(|before| before != state) && !place.after_gap {
            row.turns_at_s.push(marks[place.mark].time_s);
        }
        before = Some(state);
        if !place.fits(marks, state) {
            row.exchanged.push(place.mark);
        }
    }
    if row.exchanged.len() as f64 > MOST_EXCHANGED * marks.len() as f64 {
        row.turns_at_s
            .extend(row.exchanged.first().map(|at| marks[*at].time_s));
        row.exchanged.clear();
    }
    row
}

/// The place of a mark in the row of strokes.
struct Place {
    mark: usize,
    even: bool,
    after_gap: bool,
}

impl Place {
    /// Whether the mark's side goes with its place, where even strokes are the left hand's
    /// (`state` 0) or the right's (1).
    fn fits(&self, marks: &[Mark], state: usize) -> bool {
        let left = (state == 0) == self.even;
        left == (marks[self.mark].side == Side::Left)
    }
}

/// Counts the strokes from mark to mark. A mark between two places, such as a double, is none.
fn places(marks: &[Mark], stroke_s: f64) -> Vec<Place> {
    let mut places = vec![Place {
        mark: 0,
        even: true,
        after_gap: false,
    }];
    let (mut last_s, mut even) = (marks[0].time_s, true);
    for (mark, next) in marks.iter().enumerate().skip(1) {
        let strokes = (next.time_s - last_s) / stroke_s;
        let after_gap = strokes > GAP;
        if !after_gap && (strokes - strokes.round()).abs() > PLACED {
            continue;
        }
        even ^= strokes.round() % 2.0 != 0.0;
        last_s = next.time_s;
        places.push(Place {
            mark,
            even,
            after_gap,
        });
    }
    places
}

/// The state at each mark (0 for marks without a place) in the cheapest account, and its cost.
fn cheapest(marks: &[Mark], places: &[Place]) -> (Vec<usize>, f64) {
    let mut cost = [0.0; 2];
    let mut came_from: Vec<[usize; 2]> = Vec::with_capacity(places.len());
    for place in places {
        let turned = if place.after_gap {
            TURNED_IN_GAP
        } else {
            TURNED
        };
        let step = [0, 1].map(|state| {
            let stay = (cost[state], state);
            let turn = (cost[1 - state] + turned, 1 - state);
            if turn.0 < stay.0 { turn } else { stay }
        });
        came_from.push(step.map(|(_, from)| from));
        cost = [0, 1].map(|state| {
            let slip = if place.fits(marks, state) {
                0.0
            } else {
                EXCHANGED
            };
            step[state].0 + slip
        });
    }
    let mut state = usize::from(cost[1] < cost[0]);
    let mut account = vec![0; marks.len()];
    for (place, from) in places.iter().zip(&came_from).rev() {
        account[place.mark] = state;
        state = from[state];
    }
    (account, cost[0].min(cost[1]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::record::StrokeMoment;

    /// Strokes 1 s apart; `sides` has a letter for each, `.` for none marked.
    fn row(sides: &str) -> HandRow {
        let marks: Vec<Mark> = (sides.chars().enumerate())
            .filter(|(_, letter)| *letter != '.')
            .map(|(at, letter)| Mark {
                time_s: at as f64 + if at % 3 == 0 { 0.08 } else { 0.0 },
                moment: StrokeMoment::Entry,
                side: if letter == 'L' {
                    Side::Left
                } else {
                    Side::Right
                },
                pass: 1,
                line: at + 2,
            })
            .collect();
        read_row(&marks, 2.0)
    }

    #[test]
    fn a_slip_is_found_wherever_it_is() {
        assert!(row("LRLRLRLRLR").exchanged.is_empty());
        assert_eq!(row("RRLRLRLRLR").exchanged, [0]);
        assert_eq!(row("LRLRRRLRLR").exchanged, [4]);
        assert_eq!(row("LRLRLRLRLL").exchanged, [9]);
        // Two in a row look like a turn of one stroke.
        assert_eq!(row("LRLRRLLRLRLR").exchanged, [4, 5]);
    }

    #[test]
    fn marks_that_are_missing_or_of_one_hand_keep_the_count() {
        assert_eq!(row("LR.RLRLLLR").exchanged, [6]);
        assert_eq!(row("L.L.L.R.L.L").exchanged, [3]);
        assert!(row("L.L.L.L.L").exchanged.is_empty());
        // A break of unknown strokes may turn the row.
        let found = row("LRLRLR....RLRLRLR");
        assert!(found.exchanged.is_empty() && found.turns_at_s.is_empty());
    }

    #[test]
    fn a_row_that_turns_is_told_and_nothing_is_taken_out() {
        let found = row("LRLRLRLRRLRLRLRLRL");
        assert!(found.exchanged.is_empty());
        assert_eq!(found.turns_at_s.len(), 1);
    }
}
