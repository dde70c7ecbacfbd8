//! Marks put in order: passes, doubles set aside, gaps found. Nothing is invented.

use std::collections::BTreeMap;

use super::hands_mixed::read_row;
use super::pass::Pass;
use super::stats::median;
use crate::error::{Error, Result};
use crate::model::cue::Side;
use crate::model::record::{Mark, Marks, StrokeMoment};

/// Passes in order, and what was set aside, by name.
pub struct Tidy {
    pub passes: Vec<Pass>,
    pub set_aside: Vec<String>,
    pub missing: Vec<String>,
    /// Whether the file was out of order.
    pub sorted: bool,
    /// What is wrong with the sides of the hands.
    pub hands: MixedHands,
}

/// Marks of the hands whose left and right do not go with the row of strokes.
#[derive(Debug, Default)]
pub struct MixedHands {
    /// Single marks that were taken out.
    pub taken_out: usize,
    /// Of so many marks of the hands.
    pub of: usize,
    /// Whether entries are among them: the rate is read from those.
    pub entries: bool,
    /// Where left and right go on the other way round: the first such moment, s.
    pub turns_at_s: Option<f64>,
}

/// Arm marks closer than this share of a cycle are one event marked twice.
const ARM_DOUBLE: f64 = 0.5;
/// The same for kicks: the feet of a six-beat kick are a third of a cycle apart.
const KICK_DOUBLE: f64 = 0.15;
/// Which marks of the hands are believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BelievedSides {
    /// Those whose side goes with the row of strokes.
    Checked,
    /// All of them.
    AsMarked,
}

/// Sorts marks into passes.
///
/// # Errors
/// When all are at one time, or no hand has two entries in one pass.
pub fn tidy(marks: &Marks, sides: BelievedSides) -> Result<Tidy> {
    let mut by_pass: BTreeMap<u32, Vec<Mark>> = BTreeMap::new();
    for mark in &marks.marks {
        by_pass.entry(mark.pass).or_default().push(*mark);
    }
    let mut sorted = false;
    let by_time = |a: &Mark, b: &Mark| a.time_s.total_cmp(&b.time_s);
    for marks in by_pass.values_mut() {
        if !marks.is_sorted_by(|a, b| a.time_s <= b.time_s) {
            sorted = true;
            marks.sort_by(by_time);
        }
    }
    let mut cycle_s = usual_cycle(&by_pass).ok_or_else(|| no_cycle(marks))?;
    if sides == BelievedSides::Checked {
        cycle_s = cycle_of_row(&by_pass, cycle_s);
    }
    let mut tidy = Tidy {
        passes: Vec::new(),
        set_aside: Vec::new(),
        missing: Vec::new(),
        sorted,
        hands: MixedHands::default(),
    };
    let several = by_pass.len() > 1;
    for (number, mut marks) in by_pass {
        if sides == BelievedSides::Checked {
            take_out_exchanged(&mut marks, cycle_s, &mut tidy);
        }
        let mut times: [[Vec<f64>; 2]; 5] = Default::default();
        for (moment, side) in all_events() {
            let of_event = |mark: &&Mark| (mark.moment, mark.side) == (moment, side);
            let of_event: Vec<Mark> = marks.iter().filter(of_event).copied().collect();
            times[moment as usize][side as usize] =
                singles(&of_event, cycle_s, &mut tidy.set_aside);
        }
        match Pass::new(number, times, cycle_s) {
            Some(pass) => {
                tidy.missing.extend(missing(&pass, several));
                tidy.passes.push(pass);
            }
            None => tidy.set_aside.push(format!(
                "pass {number}: no hand has two entries, so it holds no cycle"
            )),
        }
    }
    if tidy.passes.is_empty() {
        Err(no_cycle(marks))
    } else {
        Ok(tidy)
    }
}

/// Takes single marks out whose side does not go with the row of strokes, by name.
fn take_out_exchanged(marks: &mut Vec<Mark>, cycle_s: f64, tidy: &mut Tidy) {
    for moment in [StrokeMoment::Entry, StrokeMoment::Catch, StrokeMoment::Exit] {
        let of_moment: Vec<Mark> = (marks.iter())
            .filter(|mark| mark.moment == moment)
            .copied()
            .collect();
        let row = read_row(&of_moment, cycle_s);
        let hands = &mut tidy.hands;
        hands.of += of_moment.len();
        hands.taken_out += row.exchanged.len();
        hands.entries |= moment == StrokeMoment::Entry && !row.exchanged.is_empty();
        hands.turns_at_s = (hands.turns_at_s.into_iter().chain(row.turns_at_s)).reduce(f64::min);
        let exchanged: Vec<Mark> = row.exchanged.iter().map(|at| of_moment[*at]).collect();
        tidy.set_aside.extend(exchanged.iter().map(|mark| {
            format!(
                "{}_{} at {:.3} s (line {}): looks like the {} hand's",
                mark.side,
                moment.word(),
                mark.time_s,
                mark.line,
                mark.side.other()
            )
        }));
        marks.retain(|mark| !exchanged.contains(mark));
    }
}

fn all_events() -> impl Iterator<Item = (StrokeMoment, Side)> {
    (StrokeMoment::ALL.into_iter()).flat_map(|moment| Side::BOTH.map(|side| (moment, side)))
}

/// The middle interval between entries of one hand in one pass, s.
fn usual_cycle(passes: &BTreeMap<u32, Vec<Mark>>) -> Option<f64> {
    let mut intervals = Vec::new();
    for marks in passes.values() {
        for side in Side::BOTH {
            let entries = (marks.iter())
                .filter(|mark| (mark.moment, mark.side) == (StrokeMoment::Entry, side));
            let times: Vec<f64> = entries.map(|mark| mark.time_s).collect();
            intervals.extend(times.windows(2).map(|pair| pair[1] - pair[0]));
        }
    }
    median(&intervals).filter(|cycle_s| *cycle_s > 0.0)
}

/// The usual cycle of entries whose sides may be mixed up: the middle time from an entry to the
/// second one after it, whichever hand's, where that explains the row of entries better than
/// `by_hand`, the middle interval of one hand.
fn cycle_of_row(passes: &BTreeMap<u32, Vec<Mark>>, by_hand: f64) -> f64 {
    let rows: Vec<Vec<Mark>> = (passes.values())
        .map(|marks| {
            let entries = marks
                .iter()
                .filter(|mark| mark.moment == StrokeMoment::Entry);
            entries.copied().collect()
        })
        .collect();
    let cost = |cycle_s: f64| -> f64 { rows.iter().map(|row| read_row(row, cycle_s).cost).sum() };
    let dear = cost(by_hand);
    let seconds: Vec<f64> = (rows.iter())
        .flat_map(|row| {
            row.windows(3)
                .map(|three| three[2].time_s - three[0].time_s)
        })
        .collect();
    median(&seconds)
        .filter(|by_row| dear > 0.0 && *by_row > 0.0 && cost(*by_row) < dear)
        .unwrap_or(by_hand)
}

fn no_cycle(marks: &Marks) -> Error {
    let first = marks.marks.first().map(|mark| mark.time_s);
    let same = marks.marks.iter().all(|mark| Some(mark.time_s) == first);
    let what = if same {
        format!("all {} marks are at one time", marks.marks.len())
    } else {
        "no hand has two entries in one pass, so there is no cycle to read".into()
    };
    Error::input(what)
        .at(&marks.source)
        .accepted("entries of one hand over two cycles or more; six or more give intervals")
        .example("time,event\n  12.480,left_entry\n  14.560,left_entry\n  16.630,left_entry")
}

/// Times without doubles. Of two that are too close, the one that is nearer to a cycle after the
/// mark before stays; kicks, and a first mark, keep the earlier.
fn singles(marks: &[Mark], cycle_s: f64, set_aside: &mut Vec<String>) -> Vec<f64> {
    let mut kept: Vec<Mark> = Vec::with_capacity(marks.len());
    for mark in marks {
        let share = if mark.moment == StrokeMoment::Kick {
            KICK_DOUBLE
        } else {
            ARM_DOUBLE
        };
        let double = (kept.last()).filter(|last| mark.time_s - last.time_s < share * cycle_s);
        let Some(last) = double.copied() else {
            kept.push(*mark);
            continue;
        };
        let before = kept.len().checked_sub(2).map(|at| kept[at].time_s);
        let off = |mark: &Mark| before.map_or(0.0, |before| (mark.time_s - before - cycle_s).abs());
        let later_fits = mark.moment != StrokeMoment::Kick && off(mark) < off(&last);
        let (stays, goes) = if later_fits {
            (*mark, last)
        } else {
            (last, *mark)
        };
        let end = kept.len() - 1;
        kept[end] = stays;
        set_aside.push(format!(
            "{}_{} at {:.3} s (line {}): marked twice, {:.3} s apart",
            goes.side,
            goes.moment.word(),
            goes.time_s,
            goes.line,
            mark.time_s - last.time_s
        ));
    }
    kept.into_iter().map(|mark| mark.time_s).collect()
}

/// What each cycle of a pass should have and has not, where the pass has that event at all.
fn missing(pass: &Pass, several: bool) -> Vec<String> {
    let mut missing = Vec::new();
    let within = if several {
        format!(" in pass {}", pass.number)
    } else {
        String::new()
    };
    for side in Side::BOTH {
        for (from, to) in pass.gaps(side) {
            let cycles = (to - from) / pass.cycle_s;
            missing.push(if cycles < 3.5 {
                format!("{side}_entry{within}: none between {from:.3} and {to:.3} s")
            } else {
                format!("{side} entries{within}: a break from {from:.3} to {to:.3} s")
            });
        }
        for moment in [StrokeMoment::Catch, StrokeMoment::Exit] {
            if pass.of(moment, side).is_empty() {
                continue;
            }
            for entry in pass.entries_without(moment, side) {
                missing.push(format!(
                    "{side}_{}{within}: none in the cycle from {entry:.3} s",
                    moment.word()
                ));
            }
        }
    }
    missing
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(events: &[(f64, StrokeMoment)]) -> Marks {
        let mark = |(line, (time_s, moment)): (usize, &(f64, StrokeMoment))| Mark {
            time_s: *time_s,
            moment: *moment,
            side: Side::Left,
            pass: 1,
            line: line + 2,
        };
        Marks {
            source: "swim.csv".into(),
            marks: events.iter().enumerate().map(mark).collect(),
            frame_rate_hz: None,
            film: crate::model::record::MarkedFilm::default(),
            notes: Vec::new(),
        }
    }

    #[test]
    fn a_double_is_set_aside_by_name_and_the_fitting_one_stays() {
        let entries = [0.0, 2.0, 3.7, 4.0, 6.0, 8.0].map(|s| (s, StrokeMoment::Entry));
        let tidy = tidy(&marks(&entries), BelievedSides::Checked).expect("cycles");
        assert_eq!(
            tidy.passes[0].of(StrokeMoment::Entry, Side::Left),
            [0.0, 2.0, 4.0, 6.0, 8.0]
        );
        assert_eq!(
            tidy.set_aside,
            ["left_entry at 3.700 s (line 4): marked twice, 0.300 s apart"]
        );
    }

    #[test]
    fn a_missing_entry_and_a_missing_catch_are_named() {
        let mut events = vec![(0.6, StrokeMoment::Catch), (8.6, StrokeMoment::Catch)];
        events.extend([0.0, 2.0, 4.0, 8.0].map(|s| (s, StrokeMoment::Entry)));
        let tidy = tidy(&marks(&events), BelievedSides::Checked).expect("cycles");
        assert!(tidy.sorted);
        assert_eq!(
            tidy.missing,
            [
                "left_entry: none between 4.000 and 8.000 s",
                "left_catch: none in the cycle from 2.000 s"
            ]
        );
    }

    #[test]
    fn marks_at_one_time_are_refused() {
        let same = [
            (1.0, StrokeMoment::Entry),
            (1.0, StrokeMoment::Entry),
            (1.0, StrokeMoment::Kick),
        ];
        let error = tidy(&marks(&same), BelievedSides::Checked)
            .err()
            .expect("no cycle");
        assert!(error.to_string().contains("at one time"), "{error}");
    }
}
