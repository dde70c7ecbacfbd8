//! `css`: critical speed from all-out swims.

mod view;

use crate::analysis::css::{AllOutSwim, critical_speed};
use crate::cli::shared::report::tell;
use crate::cli::shared::swum::quantity;
use crate::error::{Error, Result};
use crate::units::{Length, Time, exact};
use view::CssReport;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane css 200m=2:50 400m=5:56\n  cuelane css 100m=1:19 200m=2:50 400m=5:56 --json\n\n\
                  Swim each distance all-out, rested, within a few days. From three distances on there\n\
                  is an interval."
)]
pub struct CssArgs {
    /// All-out swims, as DISTANCE=TIME
    #[arg(value_name = "DISTANCE=TIME", required = true)]
    pub swims: Vec<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `css`.
pub fn run(args: &CssArgs) -> Result<()> {
    let swims = args
        .swims
        .iter()
        .map(|word| swim(word))
        .collect::<Result<Vec<_>>>()?;
    let found = critical_speed(&swims)?;
    tell(&CssReport::new(&swims, found), args.json)
}

fn swim(word: &str) -> Result<AllOutSwim> {
    let Some((distance, time)) = word.split_once('=') else {
        return Err(Error::input(format!("found {word:?}, without an ="))
            .accepted("all-out swims as DISTANCE=TIME")
            .example("cuelane css 200m=2:50 400m=5:56"));
    };
    let swim = AllOutSwim {
        distance: quantity::<Length>(word, distance).map_err(|error| error.example("200m=2:50"))?,
        time: quantity::<Time>(word, time).map_err(|error| error.example("200m=2:50"))?,
    };
    if *swim.distance.metres() > exact(0) && *swim.time.s() > exact(0) {
        Ok(swim)
    } else {
        Err(Error::input("found nothing or less")
            .at(word)
            .accepted("a distance and a time above zero")
            .example("200m=2:50"))
    }
}
