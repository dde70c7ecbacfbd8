//! `steps`: a rate step test.

mod view;

use std::path::PathBuf;

use crate::analysis::steps::{Step, step_test};
use crate::chart::lines::steps_chart;
use crate::cli::shared::out;
use crate::cli::shared::picked::{Picked, WantedRows};
use crate::cli::shared::report::tell;
use crate::cli::shared::save::save;
use crate::cli::shared::swum::say_broken;
use crate::cli::shared::words::fill;
use crate::error::{Error, Result};
use crate::files::{RateSpeed, StepFile, read_steps};
use crate::model::log::Broken;
use view::StepsReport;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane steps steps.csv --chart steps.svg\n  \
                  cuelane steps log.csv --set Steps --from 2026-03-14\n\n\
                  A step test: the same distance at the same effort, a few strokes a minute faster each\n\
                  time. FILE is a log, or CSV with the header rate_spm,speed_m_s or\n\
                  rate_spm,time_s,distance_m; rates count both arms. The filters are for a log."
)]
pub struct StepsArgs {
    /// A log, or CSV with rates and speeds (- is standard input)
    pub file: String,
    /// Write a picture
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// Add the curve itself and the robust slope
    #[arg(long)]
    pub detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub wanted: WantedRows,
}

/// Runs `steps`.
pub fn run(args: &StepsArgs) -> Result<()> {
    let (mut steps, left_out) = read(args)?;
    if steps.is_empty() {
        return Err(Error::input("no swim has both a rate and a speed")
            .at(&args.file)
            .accepted("rows with distance, time and strokes; or CSV rate_spm,speed_m_s"));
    }
    steps.sort_by(|a, b| a.rate_spm.total_cmp(&b.rate_spm));
    let test = step_test(&steps);
    if let Some(path) = &args.chart {
        save(path, &steps_chart(&steps, &test)?)?;
    }
    let mut report = StepsReport::new(&steps, test, &left_out);
    report.detail = args.detail;
    report.chart = args.chart.as_deref();
    tell(&report, args.json)
}

fn read(args: &StepsArgs) -> Result<(Vec<Step>, Vec<Broken>)> {
    match read_steps(&args.file)? {
        StepFile::Numbers(numbers, broken, notes) => {
            for note in notes {
                out::note(&format!("note: {}: {note}", args.file));
            }
            say_broken(&args.file, &broken);
            let step = |row: RateSpeed| Step::new(row.rate_spm, row.speed_m_s);
            Ok((numbers.into_iter().map(step).collect(), broken))
        }
        StepFile::Log(mut rows) => {
            let picked = Picked::new(&args.wanted)?;
            let (mut steps, mut silent) = (Vec::new(), 0);
            while let Some(line) = picked.read(&mut rows)? {
                match Step::of(&line.row.swum(&picked.swam.water)) {
                    Some(step) => steps.push(step),
                    None => silent += 1,
                }
            }
            if silent > 0 {
                out::note(&format!(
                    "{}: {silent} rows without distance, time and strokes left out",
                    rows.file
                ));
            }
            out::note(&fill(&picked.swam.in_words()));
            Ok((steps, rows.broken))
        }
    }
}
