//! `trial`: a fair try of the two pairings, set out and read.

mod new;
mod read;
mod report;
mod sheets;
mod words;

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::error::Result;

/// Arguments of `trial`.
#[derive(Debug, Args)]
pub struct TrialArgs {
    #[command(subcommand)]
    command: TrialCommand,
}

#[derive(Debug, Subcommand)]
enum TrialCommand {
    /// Write a trial: sessions ready for export, and the log rows to fill in
    #[command(
        after_help = "Example:\n  cuelane trial new --out trial-alex --swimmer alex.toml\n\n\
                      The folder gets practise-*.toml, one day-N.toml a day, and log.csv."
    )]
    New(NewArgs),
    /// Read a filled-in log: which pairing was better, by how much, or that it cannot be told
    #[command(after_help = "Example:\n  cuelane trial read trial-alex/log.csv")]
    Read(ReadArgs),
}

#[derive(Debug, Args)]
struct NewArgs {
    /// Folder for the files; made if it is not there
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// What the trial is called in the log [default: the folder's name]
    #[arg(long)]
    name: Option<String>,
    /// The swimmer's file, or the name of an invented swimmer
    #[arg(long, value_name = "FILE")]
    swimmer: Option<String>,
    /// The one stroke rate of all swims: "54 spm", "27 cpm", "-2 spm" [default: the swimmer's]
    #[arg(long, value_name = "RATE", allow_hyphen_values = true)]
    stroke_rate: Option<String>,
    /// two-beat, four-beat or six-beat [default: the swimmer's, or two-beat]
    #[arg(long)]
    kick: Option<String>,
    /// The distance of each swim
    #[arg(long, value_name = "DISTANCE", default_value = "50 m")]
    swim: String,
    /// The pool [default: the swimmer's, or 25 m]
    #[arg(long, value_name = "LENGTH")]
    pool: Option<String>,
    /// A clock pace, to tell how long a swim takes: "2:05 / 100 m" [default: the swimmer's]
    #[arg(long)]
    pace: Option<String>,
    /// The rest after every swim
    #[arg(long, value_name = "TIME", default_value = "60 s")]
    rest: String,
    /// Pairs of swims in all, an even number: two a block of four swims
    #[arg(long, value_name = "N", default_value = "8", value_parser = clap::value_parser!(u8).range(4..=40))]
    pairs: u8,
    /// Days over which they are spread
    #[arg(long, value_name = "N", default_value = "2", value_parser = clap::value_parser!(u8).range(2..=10))]
    days: u8,
    /// A day's date for the log, once for every day: 2026-11-27 [default: left to fill in]
    #[arg(long = "on", value_name = "DATE")]
    on: Vec<String>,
    /// Draws the order of the blocks; the same seed gives the same order [default: by the clock]
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Replace files that are there
    #[arg(long)]
    force: bool,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct ReadArgs {
    /// The log, filled in (- is standard input)
    log: String,
    /// Which trial, where the log holds several
    #[arg(long, value_name = "NAME")]
    trial: Option<String>,
    /// Whose swims, where the log holds several: the name in the log, or the swimmer's file
    #[arg(long, value_name = "NAME|FILE")]
    swimmer: Option<String>,
    /// The pool, for strokes noted by the length [default: that of the swimmer's file, or 25 m]
    #[arg(long, value_name = "LENGTH")]
    pool: Option<String>,
    /// Add every pair, the tests' figures, and what is held to how many chances
    #[arg(long, conflicts_with = "json")]
    detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

/// Runs `trial`.
pub fn run(args: &TrialArgs) -> Result<()> {
    match &args.command {
        TrialCommand::New(args) => new::run(args),
        TrialCommand::Read(args) => read::run(args),
    }
}
