//! `plan chart`: the weeks as a picture, or the days of a course.

use std::path::PathBuf;

use super::inputs::{Given, PlanFileArgs, say_notes, write_and_tell};
use super::verdict::moved;
use crate::analysis::weeks::{Standing, Week};
use crate::chart::course::{self, course_chart};
use crate::chart::weeks::{WeekRow, weeks_chart};
use crate::cli::shared::words::count;
use crate::error::Result;
use crate::model::plan::shown;
use crate::units::to_f64;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  cuelane plan chart alex-plan.toml --log log.csv --out weeks.svg"
)]
pub struct PlanChartArgs {
    #[command(flatten)]
    pub plan: PlanFileArgs,
    /// The picture to write
    #[arg(long, value_name = "FILE.svg")]
    pub out: PathBuf,
}

/// Runs `plan chart`.
pub fn run(args: &PlanChartArgs) -> Result<()> {
    let given = Given::read(&args.plan)?;
    say_notes(&given);
    let standing = given.standing(None);
    let about = match &standing.course {
        Some(course) => format!(": {}", count(course.days.len(), "day")),
        None => format!(": {} weeks", standing.weeks.len()),
    };
    write_and_tell(&args.out, &picture(&given, &standing)?, &about)
}

/// What the picture shows, in one sentence.
pub fn in_words(standing: &Standing) -> &'static str {
    match &standing.course {
        Some(_) => course::IN_WORDS,
        None => WEEKS_IN_WORDS,
    }
}

const WEEKS_IN_WORDS: &str = "Line: planned; dashed: where the log has moved the rate; disc: swum, \
    middle of the days, with its 95 % interval";

/// The weeks as a picture, or the days of a course.
///
/// # Errors
/// When it cannot be drawn.
pub fn picture(given: &Given, standing: &Standing) -> Result<String> {
    if let Some(course) = &standing.course {
        return Ok(course_chart(course));
    }
    let plan = &given.plan;
    let path = plan.path();
    let any_moved = standing.weeks.iter().any(|week| moved(plan, week));
    let rate = |place: usize| to_f64(&shown(path.rate(place)));
    let row = |week: &Week| WeekRow {
        week: week.week,
        planned_spm: (week.week <= plan.weeks).then(|| rate(week.week)),
        moved_spm: any_moved.then(|| rate(week.placed.rate)),
        cued_percent: to_f64(path.share(week.placed.share)) * 100.0,
        swum_spm: week.figures.rate_spm,
        speed_m_s: week.figures.speed_m_s,
        length_m: week.figures.length_m,
        effort: week.figures.effort,
    };
    let rows: Vec<WeekRow> = standing.weeks.iter().map(row).collect();
    weeks_chart(WEEKS_IN_WORDS, "cycles with cues, %", &rows)
}
