//! `tap`: a rate from taps, at the keyboard or from a list of times.

mod keys;
mod view;

use std::io::{self, IsTerminal};

use crate::analysis::taps::{Each, read_taps};
use crate::cli::shared::args::one_of;
use crate::cli::shared::out;
use crate::cli::shared::report::tell;
use crate::error::{Error, Result};
use crate::files::read_tap_times;
use crate::model::value::Word;
use crate::units::Rate;
use keys::tapped;
use view::TapReport;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane tap\n  cuelane tap --each stroke\n  cuelane tap --times taps.txt --json\n\n\
                  Tap any key at each entry of one hand; Backspace takes the last tap back, Enter ends."
)]
pub struct TapArgs {
    /// Tap each entry of one arm (cycle), or of both (stroke)
    #[arg(long, default_value = "cycle", value_parser = one_of::<Each>())]
    pub each: Each,
    /// Times of taps in s, separated by white space or commas, instead of the keyboard
    #[arg(long, value_name = "FILE|-")]
    pub times: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `tap`.
pub fn run(args: &TapArgs) -> Result<()> {
    let times = match &args.times {
        Some(file) => read_tap_times(file, |note| out::note(&format!("note: {note}")))?,
        None if io::stdin().is_terminal() => tapped(args.each)?,
        None => {
            return Err(Error::input("standard input is no terminal to tap at")
                .accepted("a terminal, or --times with the times of taps in s")
                .example("cuelane tap --times -"));
        }
    };
    let taps = read_taps(&times, args.each);
    if let Some(rate) = taps
        .rate_spm
        .filter(|rate| !Rate::RANGE_SPM.contains(&rate.value))
    {
        let other = match args.each {
            Each::Cycle => "--each stroke",
            Each::Stroke => "--each cycle",
        };
        return Err(Error::input(format!(
            "these taps, one a {}, make {}, outside 10 to 160 spm",
            args.each.word(),
            Rate::outside(rate.value)
        ))
        .accepted(format!(
            "taps at the entries of one arm, or of both; is it {other}?"
        )));
    }
    tell(&TapReport::new(&times, taps, args.each), args.json)
}
