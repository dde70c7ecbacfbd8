//! `log list`: rows and what follows from them, from the log or from any other CSV.

use super::import::ImportArgs;
use super::listed::{print_json, print_table};
use crate::cli::shared::picked::{Picked, WantedRows};
use crate::error::Result;
use crate::files::open_log;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane log list --swimmer Alex --from 2026-03-01\n  \
                  cuelane log list --import watch.csv --map date=Date --map distance=Metres:m \\\n    \
                  --map time=Duration:s --map strokes=Strokes --counted one-arm"
)]
pub struct LogListArgs {
    #[command(flatten)]
    pub wanted: WantedRows,
    #[command(flatten)]
    pub import: ImportArgs,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `log list`.
pub fn run(args: &LogListArgs) -> Result<()> {
    let picked = Picked::new(&args.wanted)?;
    let mut rows = match args.import.rows()? {
        None => open_log(&args.wanted.log)?.in_pool(&picked.swam.water.pool),
        Some(rows) => rows,
    };
    if args.json {
        print_json(&picked, rows)
    } else {
        print_table(&picked, &mut rows)
    }
}
