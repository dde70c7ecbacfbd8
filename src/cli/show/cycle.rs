//! One cycle drawn as a line: hands above, feet below, left and right, in ms.

use crate::cli::shared::words::Page;
use crate::model::cue::Side;
use crate::model::kick::{Kick, beats, pairings_apart};
use crate::model::resolve::Set;
use crate::model::session::Going;
use crate::model::value::Value;
use crate::model::words;
use crate::units::{Fix, Rate, exact, to_f64};

/// Columns of the line; with the names in front it fills 78.
const COLUMNS: usize = 64;
const NAMES: usize = 13;

/// A name, a line of the picture, and the same in ms.
type Row = (String, [char; COLUMNS], String);

fn column(phase: &Fix) -> usize {
    (to_f64(phase) * COLUMNS as f64) as usize % COLUMNS
}

/// A hand's entry and catch. The reach between them is drawn, also where it passes the end of the
/// line. Of an arm that rests nothing is drawn.
fn hand(set: &Set, side: Side, ms: &dyn Fn(&Fix) -> String) -> Row {
    let (entry, catch) = (set.stroke().entry(side), set.stroke().catch(side));
    let mut row = [' '; COLUMNS];
    if !set.arms.swims(side) {
        return (format!("{side} hand"), row, "rests in front".into());
    }
    let (from, until) = (column(&entry), column(&catch));
    let steps = (until + COLUMNS - from) % COLUMNS;
    for step in 1..steps {
        row[(from + step) % COLUMNS] = '-';
    }
    row[from] = 'E';
    row[until] = 'C';
    let told = format!("entry {}, catch {} ms", ms(&entry), ms(&catch));
    (format!("{side} hand"), row, told)
}

/// A foot's kicks.
fn foot(set: &Set, side: Side, ms: &dyn Fn(&Fix) -> String) -> Row {
    let mut kicks: Vec<(Fix, bool)> = beats(&set.stroke(), set.pairing, set.kick, set.three_on)
        .into_iter()
        .filter(|beat| beat.foot == side)
        .map(|beat| (beat.phase, beat.paired))
        .collect();
    kicks.sort();
    let mut row = [' '; COLUMNS];
    for (phase, paired) in &kicks {
        row[column(phase)] = if *paired { 'K' } else { 'k' };
    }
    let times: Vec<String> = kicks.iter().map(|(phase, _)| ms(phase)).collect();
    let told = if times.is_empty() {
        "rests".into()
    } else {
        format!("kick {} ms", times.join(", "))
    };
    (format!("{side} foot"), row, told)
}

/// Draws one set's cycle at a rate.
pub fn picture(set: &Set, rate: &Rate, to: &mut Page) {
    let cycle_ms = rate.cycle_s() * exact(1000);
    let ms = |phase: &Fix| format!("{:.0}", to_f64(&(phase * cycle_ms)));
    let mut line = std::array::from_fn(|at| if at % 16 == 0 { '+' } else { '-' });
    line[COLUMNS - 1] = '>';
    let mut rows = Side::BOTH.map(|side| hand(set, side, &ms)).to_vec();
    rows.push((String::new(), line, String::new()));
    rows.extend(Side::BOTH.map(|side| foot(set, side, &ms)));

    for (name, row, _) in &rows {
        let row = String::from_iter(row);
        to.line(format!("  {name:<NAMES$}{row}").trim_end());
    }
    let quarters: String = (0..4)
        .map(|quarter| format!("{:<16}", ms(&(exact(quarter) / exact(4)))))
        .collect();
    to.line(format!("  {:<NAMES$}{quarters}", "ms").trim_end());
    let fills = if set.kick.has_fills() {
        "; k the kicks between"
    } else {
        ""
    };
    let kicks = match set.kick {
        Kick::Pull => String::new(),
        _ => format!(", K kick{fills}"),
    };
    let arm_cue = words::arm_cue(set).map_or_else(String::new, |told| format!("; {told}"));
    to.line(format_args!("  E entry, C catch{kicks}{arm_cue}"));
    for (name, _, told) in rows.iter().filter(|(name, ..)| !name.is_empty()) {
        to.line(format_args!("  {name:<NAMES$}{told}"));
    }
}

/// Below this people cannot place a kick by ear any better: human taps scatter by 20 to 40 ms sd
/// (from memory).
const HARDLY_MATTERS_MS: f64 = 30.0;

/// How far apart the two pairings are for this swimmer, in a sentence; nothing for a pull.
pub fn apart(set: &Set, rate: &Rate) -> Option<String> {
    let ms = apart_ms(set, rate)?;
    let meaning = if ms.abs() < HARDLY_MATTERS_MS {
        "so close that the choice hardly matters"
    } else {
        "swimmers differ in which suits them, so try both"
    };
    Some(format!(
        "The two pairings put this kick {ms:.0} ms apart at {}; {meaning}.",
        rate.short()
    ))
}

/// How far apart the two pairings are, in ms; nothing for a pull.
pub fn apart_ms(set: &Set, rate: &Rate) -> Option<f64> {
    let cycles = pairings_apart(&set.stroke(), set.kick)?;
    Some(to_f64(&(cycles * rate.cycle_s() * exact(1000))))
}

/// The catch as cued, and how well it is known.
pub fn catch_in_words(set: &Set) -> String {
    let catch = set.catch_after_entry.explain();
    let known = if set.catch_is_guess() {
        ", a guess until it is measured"
    } else {
        ""
    };
    format!("Catch {catch} of a cycle after entry{known}.")
}

/// How a distance's time is predicted, for `show`.
pub fn going_in_words(set: &Set) -> Option<String> {
    Some(match set.going()? {
        Going::Pace(pace) => format!("pace {pace}"),
        Going::StrokeLength(length) => format!("stroke length {}", length.both_ways()),
    })
}
