//! `log chart`: rows over time, as a picture.

use std::path::PathBuf;

use crate::analysis::weeks::{LoggedSwim, Weekly, weekly};
use crate::chart::lines::{Dot, log_chart};
use crate::chart::weeks::{WeekRow, weeks_chart};
use crate::cli::shared::out;
use crate::cli::shared::picked::{Picked, WantedRows};
use crate::cli::shared::save::save;
use crate::error::{Error, Result};
use crate::files::open_log;
use crate::model::log::LogLine;

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  cuelane log chart --swimmer Alex --out alex.svg")]
pub struct LogChartArgs {
    #[command(flatten)]
    pub wanted: WantedRows,
    /// A mark a week, the middle of its days, with its interval
    #[arg(long)]
    pub by_week: bool,
    /// The picture to write
    #[arg(long, value_name = "FILE.svg")]
    pub out: PathBuf,
}

/// Runs `log chart`.
pub fn run(args: &LogChartArgs) -> Result<()> {
    let picked = Picked::new(&args.wanted)?;
    let water = &picked.swam.water;
    let mut log = open_log(&args.wanted.log)?.in_pool(&water.pool);
    let (mut dots, mut swims, mut rows) = (Vec::new(), Vec::new(), 0);
    while let Some(LogLine { row, .. }) = picked.read(&mut log)? {
        rows += 1;
        if args.by_week {
            swims.extend(row.date.map(|date| LoggedSwim::of(&row, date, water)));
        } else {
            dots.push(Dot::of(&row, water));
        }
    }
    let (svg, thinned) = if args.by_week {
        (by_week(&swims)?, None)
    } else {
        log_chart(&dots)?
    };
    save(&args.out, &svg)?;
    let thinned = thinned.map(|thinned| format!("{thinned}\n"));
    out::result(&format!(
        "Wrote {}: {rows} rows\n{}",
        args.out.display(),
        thinned.unwrap_or_default()
    ))
}

/// The swims week by week.
fn by_week(swims: &[LoggedSwim]) -> Result<String> {
    let weeks = weekly(swims);
    let Some(first) = weeks.first() else {
        return Err(
            Error::input("no row has a date, so there is no week to draw")
                .accepted("rows with date, distance, time and strokes"),
        );
    };
    let caption = format!(
        "Weeks from {}; line: rate cued, share of swims with cues; disc: swum, 95 % interval",
        first.monday
    );
    let row = |week: &Weekly| WeekRow {
        week: week.week,
        planned_spm: week.cued_spm,
        moved_spm: None,
        cued_percent: week.cued_share * 100.0,
        swum_spm: week.figures.rate_spm,
        speed_m_s: week.figures.speed_m_s,
        length_m: week.figures.length_m,
        effort: week.figures.effort,
    };
    let rows: Vec<WeekRow> = weeks.iter().map(row).collect();
    weeks_chart(&caption, "swims with cues, %", &rows)
}
