//! `log`: rows added on deck, listed and drawn.

mod add;
mod added;
mod args;
mod ask;
mod chart;
mod import;
mod list;
mod listed;
mod plan_day;
mod take;
mod typed;

use crate::error::Result;

#[derive(Debug, clap::Args)]
pub struct LogArgs {
    #[command(subcommand)]
    pub command: LogCommand,
}

#[derive(Debug, clap::Subcommand)]
pub enum LogCommand {
    /// Add the repeats of a set to the log
    #[command(
        after_help = "Examples:\n  cuelane log add 4x50 48.1 48.4 48.0 49.2 --strokes 22/length --kept yes\n  \
                      cuelane log add 50 47.9 --strokes 43 --rate-cued \"54 spm\" --swimmer alex.toml\n  \
                      cuelane log add 8x50 48 48 48 49 48 49 49 49 --plan alex-plan.toml\n  \
                      cuelane log add --from tracks/week-05-2027-03-29-mon/log-to-fill.csv\n  \
                      cuelane log add --import watch.csv --map date=Date --map distance=Metres:m \\\n    \
                      --map time=Duration:s --map strokes=Strokes --counted one-arm --swimmer Alex\n\n\
                      Distances without a unit are in the pool's, times without one in seconds; - is a\n\
                      time that was not taken. Strokes count both arms. Without a set, it asks. What is in the\n\
                      log already is known again, so that a file may be taken in twice."
    )]
    Add(args::AddArgs),
    /// List rows, with speed, rate swum and distance per stroke
    List(list::LogListArgs),
    /// Draw rows over time, as SVG
    Chart(chart::LogChartArgs),
}

/// Runs `log`.
pub fn run(args: &LogArgs) -> Result<()> {
    match &args.command {
        LogCommand::Add(args) => add::run(args),
        LogCommand::List(args) => list::run(args),
        LogCommand::Chart(args) => chart::run(args),
    }
}
