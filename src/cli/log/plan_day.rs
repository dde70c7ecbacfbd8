//! Rows without a cued rate, matched by their date to what a plan swims on that day.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::cli::plan::PlannedDays;
use crate::cli::shared::words::count;
use crate::error::Result;
use crate::files::open_log;
use crate::model::log::Row;

/// Gives rows without a cued rate what the plan has for their day: the swims of a day in their
/// order, those of another distance and those that the log has already passed over. Gives what
/// is to be said of it.
///
/// # Errors
/// When the plan or the log cannot be read.
pub fn match_to_plan(rows: Vec<&mut Row>, plan: &str, log: &str) -> Result<Vec<String>> {
    let mut by_day: BTreeMap<Date, Vec<&mut Row>> = BTreeMap::new();
    for row in rows {
        if let (None, Some(date)) = (&row.rate_cued, row.date) {
            by_day.entry(date).or_default().push(row);
        }
    }
    let Some(last) = by_day.keys().next_back().copied() else {
        return Ok(Vec::new());
    };
    let is_there = std::path::Path::new(log).exists();
    let planned = PlannedDays::read(plan, is_there.then_some(log), last)?;
    let logged = if is_there {
        open_log(log)?.all()?.rows
    } else {
        Vec::new()
    };
    let mut said = Vec::new();
    for (date, rows) in by_day {
        let mut swims = planned.rows(date)?;
        if swims.is_empty() {
            said.push(format!(
                "{date} is no training day of {plan}: no cued rate was filled in."
            ));
            continue;
        }
        let is_logged = |swim: &Row| {
            (logged.iter()).any(|line| {
                let same = |of: fn(&Row) -> &str| of(&line.row).eq_ignore_ascii_case(of(swim));
                line.row.date == swim.date
                    && line.row.repeat == swim.repeat
                    && same(|row| &row.swimmer)
                    && same(|row| &row.set)
            })
        };
        swims.retain(|swim| !is_logged(swim));
        said.push(match_day(rows, swims, &format!("{plan}, {date}")));
    }
    Ok(said)
}

/// Matches the rows of a day in their order; gives what is to be said.
fn match_day(rows: Vec<&mut Row>, swims: Vec<Row>, day: &str) -> String {
    let mut swims = swims.into_iter();
    let (mut told, mut open) = (Vec::new(), 0);
    for row in rows {
        // A swim that the plan has without a distance fits any.
        let like = |swim: &Row| swim.distance.is_none() || swim.distance == row.distance;
        let mut later = swims.clone();
        let Some(swim) = later.find(like) else {
            open += 1;
            continue;
        };
        swims = later;
        let cued = swim.rate_cued.as_ref();
        told.push(cued.map_or("without cues".into(), |rate| rate.short()));
        take_over(row, swim);
    }
    let rates: Vec<String> = told.chunk_by(|one, next| one == next).map(times).collect();
    let rates = match rates.as_slice() {
        [] => "none".to_string(),
        rates => rates.join(", "),
    };
    let open = match open {
        0 => String::new(),
        open => format!(
            " {} left open: the plan has no such swim left.",
            count(open, "row")
        ),
    };
    format!("Rate cued, matched by the date ({day}): {rates}.{open}")
}

/// `2 x 54 spm`.
fn times(run: &[String]) -> String {
    match run {
        [one] => one.clone(),
        run => format!("{} x {}", run.len(), run[0]),
    }
}

/// What the plan says of a swim, where the row leaves it open.
fn take_over(row: &mut Row, swim: Row) {
    let or = |text: &mut String, other: String| {
        if text.is_empty() {
            *text = other;
        }
    };
    if row.set.is_empty() {
        row.repeat = swim.repeat;
    }
    or(&mut row.set, swim.set);
    or(&mut row.swimmer, swim.swimmer);
    or(&mut row.session, swim.session);
    row.rate_cued = swim.rate_cued;
    row.pairing = row.pairing.or(swim.pairing);
    row.kick = row.kick.or(swim.kick);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::set_field;

    fn row(fields: &[(&str, &str)]) -> Row {
        let mut row = Row::default();
        for (column, text) in fields {
            set_field(&mut row, column, text).expect("the test's own fields hold");
        }
        row
    }

    #[test]
    fn rows_take_the_swims_of_their_distance_in_order_and_the_rest_stay_open() {
        let swim = |number: &str, distance: &str, rate: &str| {
            row(&[
                ("set", "With cues"),
                ("repeat", number),
                ("distance", distance),
                ("rate_cued", rate),
            ])
        };
        let swims = vec![
            swim("1", "50 m", ""),
            swim("2", "25 m", "60 spm"),
            swim("3", "50 m", "54 spm"),
            swim("4", "50 m", "54 spm"),
        ];
        let mut rows = vec![row(&[("distance", "50 m"), ("repeat", "9")]); 4];
        let said = match_day(rows.iter_mut().collect(), swims, "plan.toml, 2027-03-29");
        let rates: Vec<String> = (rows.iter())
            .map(|row| {
                row.rate_cued
                    .as_ref()
                    .map(|rate| rate.short())
                    .unwrap_or_default()
            })
            .collect();
        assert_eq!(rates, ["", "54 spm", "54 spm", ""]);
        let repeats: Vec<Option<u64>> = rows.iter().map(|row| row.repeat).collect();
        assert_eq!(repeats, [Some(1), Some(3), Some(4), Some(9)]);
        assert_eq!(
            said,
            "Rate cued, matched by the date (plan.toml, 2027-03-29): without cues, 2 x 54 spm. \
             1 row left open: the plan has no such swim left."
        );
    }
}
