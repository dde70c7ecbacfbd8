//! What the swimmer's log says before a trial: how their times scatter, and which pairing they are
//! used to.

use std::collections::BTreeMap;
use std::path::Path;

use jiff::civil::Date;

use crate::analysis::trial_foreseen::SwimScatter;
use crate::cli::shared::swum::say_broken;
use crate::error::Result;
use crate::files::open_log;
use crate::model::kick::Pairing;
use crate::model::log::{Kept, Row, Water};
use crate::model::swimmer::Swimmer;
use crate::units::to_f64;

/// What is known of the swimmer before the first swim.
pub struct Before {
    /// How like swims scatter.
    pub scatter: SwimScatter,
    /// Pairings that the log does not say were kept on [`DAYS_KEPT`] days.
    pub not_yet_kept: Vec<Pairing>,
}

/// A pairing is no longer new after so many days on which it was kept.
const DAYS_KEPT: usize = 2;
/// It was kept on a day on three of four lengths, of so many at least (common practice, no source).
const FEWEST_LENGTHS: u64 = 4;

/// Reads the swimmer's rows of a log; of `log.csv` where there is one and none was named.
///
/// # Errors
/// When the log cannot be read.
pub fn before(log: Option<&str>, swimmer: Option<&Swimmer>) -> Result<Before> {
    const USUAL: &str = "log.csv";
    let usual = Path::new(USUAL).is_file().then_some(USUAL);
    let water = swimmer.map(|swimmer| Water::of(&swimmer.wishes));
    let water = water.unwrap_or_default();
    let rows = match log.or(usual) {
        Some(file) => own_rows(file, swimmer, &water)?,
        None => Vec::new(),
    };
    let days = kept_days(&rows, &water);
    let not_yet = |pairing: &Pairing| {
        days.get(pairing.word())
            .is_none_or(|days| *days < DAYS_KEPT)
    };
    Ok(Before {
        scatter: SwimScatter::of(&neighbours(&rows)),
        not_yet_kept: [Pairing::SameSide, Pairing::OppositeSide]
            .into_iter()
            .filter(not_yet)
            .collect(),
    })
}

/// The swimmer's rows, in written order. Without a swimmer the rows of whoever the log is of, if
/// it is of one.
fn own_rows(file: &str, swimmer: Option<&Swimmer>, water: &Water) -> Result<Vec<Row>> {
    let log = open_log(file)?.in_pool(&water.pool).all()?;
    say_broken(&log.file, &log.broken);
    let mut rows: Vec<Row> = log.rows.into_iter().map(|line| line.row).collect();
    match swimmer {
        Some(swimmer) => {
            let name = swimmer.name.to_lowercase();
            rows.retain(|row| row.swimmer.to_lowercase() == name);
        }
        None if rows.iter().any(|row| row.swimmer != rows[0].swimmer) => rows.clear(),
        None => {}
    }
    Ok(rows)
}

/// 100 ln (time / time before) of swims that follow each other in one set of one day and are alike.
fn neighbours(rows: &[Row]) -> Vec<f64> {
    let alike = |row: &Row| {
        let same = (row.date, row.pairing, row.kick);
        let cued = row.rate_cued.clone();
        (
            same,
            row.session.clone(),
            row.set.clone(),
            row.distance.clone(),
            cued,
        )
    };
    (rows.windows(2))
        .filter(|two| two[0].date.is_some() && two[0].distance.is_some())
        .filter(|two| alike(&two[0]) == alike(&two[1]))
        .filter_map(|two| {
            let [one, next] = [two[0].time.as_ref()?, two[1].time.as_ref()?];
            Some(100.0 * (to_f64(next.s()) / to_f64(one.s())).ln())
        })
        .collect()
}

/// On how many days each pairing was kept, by its word.
fn kept_days(rows: &[Row], water: &Water) -> BTreeMap<&'static str, usize> {
    // Lengths of which somebody looked, and of those the kept ones.
    let mut days: BTreeMap<(&str, Date), [u64; 2]> = BTreeMap::new();
    for row in rows {
        let (Some(pairing), Some(date), Some(distance)) = (row.pairing, row.date, &row.distance)
        else {
            continue;
        };
        let Some(kept) = row.kept.filter(|kept| !kept.is_felt()) else {
            continue;
        };
        let lengths = water.lengths(distance);
        let day = days.entry((pairing.word(), date)).or_default();
        day[0] += lengths;
        day[1] += if kept == Kept::Yes { lengths } else { 0 };
    }
    let mut kept = BTreeMap::new();
    for ((pairing, _), [seen, yes]) in days {
        if seen >= FEWEST_LENGTHS && 4 * yes >= 3 * seen {
            *kept.entry(pairing).or_default() += 1;
        }
    }
    kept
}
