//! `log list`: rows and what follows from them, from the log or from any other CSV.

use super::listed::{print_json, print_table};
use crate::cli::shared::picked::{Picked, WantedRows};
use crate::error::Result;
use crate::files::{Mapped, import_log, open_log};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane log list --swimmer Alex --from 2026-03-01\n  \
                  cuelane log list --import watch.csv --map date=Date --map distance=Metres:m \\\n    \
                  --map time=Duration:s --map strokes=Strokes --counted one-arm"
)]
pub struct LogListArgs {
    #[command(flatten)]
    pub wanted: WantedRows,
    /// Read this CSV file instead of the log, and leave the log alone
    #[arg(long, value_name = "FILE", requires = "map")]
    pub import: Option<String>,
    /// Which of its columns is which: COLUMN=HEADER, or COLUMN=HEADER:UNIT for bare numbers
    #[arg(long, value_name = "COLUMN=HEADER", requires = "import")]
    pub map: Vec<String>,
    /// Whose strokes the imported file counts
    #[arg(long, requires = "import")]
    pub counted: Option<Counted>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Counted {
    /// One arm: a stroke of the file is a cycle
    OneArm,
    /// Both arms
    BothArms,
}

/// Runs `log list`.
pub fn run(args: &LogListArgs) -> Result<()> {
    let picked = Picked::new(&args.wanted)?;
    let mut rows = match &args.import {
        None => open_log(&args.wanted.log)?.in_pool(&picked.swam.water.pool),
        Some(file) => {
            let map = args.map.iter().map(|text| Mapped::parse(text));
            let map = map.collect::<Result<Vec<_>>>()?;
            let arms = args.counted.map(|counted| match counted {
                Counted::OneArm => 1,
                Counted::BothArms => 2,
            });
            import_log(file, &map, arms)?
        }
    };
    if args.json {
        print_json(&picked, rows)
    } else {
        print_table(&picked, &mut rows)
    }
}
