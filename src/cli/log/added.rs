//! What `log add` wrote, so that a slip shows while it can still be repaired.

use std::fmt::Write as _;

use crate::cli::shared::swum::Swam;
use crate::cli::shared::words::Page;
use crate::model::log::{CountedWrong, Row, Swum};
use crate::units::{Length, Rate, to_f64};

/// Speeds at which somebody may swim, m/s: from drifting to faster than anybody (from memory).
const SPEEDS_M_S: std::ops::RangeInclusive<f64> = 0.1..=2.6;

/// The rows, what is said of them, what follows from them, and what looks like a slip.
pub fn added(file: &str, rows: &[Row], said: &[String], swam: &Swam) -> String {
    let first = &rows[0];
    let distance = first.distance.as_ref().map(Length::to_string);
    let date = first.date.map(|date| date.to_string());
    let mut page = Page::default();
    page.line(format_args!(
        "Added to {file}: {} x {}, {}",
        rows.len(),
        distance.unwrap_or_default(),
        date.unwrap_or_default()
    ));
    let swum: Vec<Swum> = rows.iter().map(|row| row.swum(&swam.water)).collect();
    for (row, swum) in rows.iter().zip(&swum) {
        page.line(told(row, swum));
    }
    for slip in rows
        .iter()
        .zip(&swum)
        .flat_map(|(row, swum)| slips(row, swum))
    {
        page.line(slip);
    }
    for line in said {
        page.fill(line);
    }
    if rows.iter().any(|row| row.strokes.is_some()) {
        page.fill(swam.in_words());
    }
    page.text()
}

/// A row, and what follows from it.
pub fn told(row: &Row, swum: &Swum) -> String {
    let time = row
        .time
        .as_ref()
        .map(|time| format!("{:>8}", time.to_string()));
    let time = time.unwrap_or("no time".into());
    let mut line = format!("  {:>3}  {time}", row.repeat.unwrap_or(1));
    // A text takes all that is written to it.
    if let Some(speed) = swum.speed_m_s {
        let _ = write!(line, "  {speed:.2} m/s");
    }
    if let Some(rate) = swum.rate_spm {
        let _ = write!(line, "  rate swum {rate:.1} spm");
    }
    if let Some(length) = swum.stroke_length_m {
        let _ = write!(line, "  {length:.2} m/stroke");
    }
    line
}

/// What looks like a slip.
pub fn slips(row: &Row, swum: &Swum) -> impl Iterator<Item = String> {
    let speed = swum.speed_m_s.filter(|speed| !SPEEDS_M_S.contains(speed));
    let rate = swum.rate_spm.filter(|rate| !Rate::RANGE_SPM.contains(rate));
    let cued = row.rate_cued.as_ref().map(|cued| to_f64(cued.spm()));
    let counted = swum
        .rate_spm
        .zip(cued)
        .and_then(|(swum, cued)| CountedWrong::of(swum, cued));
    let number = row.repeat.unwrap_or(1);
    [
        speed.map(|speed| format!("{speed:.2} m/s: is the time a slip?")),
        rate.map(|rate| {
            let outside = Rate::outside(rate);
            format!("{outside}, outside 10 to 160: are the strokes a slip?")
        }),
        counted.map(|slip| format!("rate swum {}", slip.in_words())),
    ]
    .into_iter()
    .flatten()
    .map(move |slip| format!("Repeat {number}: {slip}"))
}
