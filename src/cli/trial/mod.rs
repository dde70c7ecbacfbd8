//! `trial`: a fair try of the two pairings, set out and read.

mod before;
mod choose;
mod new;
mod new_view;
mod read;
mod read_view;
mod shared;
mod sheets;
mod verdict;

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
    New(Box<new::NewTrialArgs>),
    /// Read a filled-in log: which pairing was better, by how much, or that it cannot be told
    #[command(after_help = "Example:\n  cuelane trial read trial-alex/log.csv")]
    Read(read::ReadTrialArgs),
}

/// Runs `trial`.
pub fn run(args: &TrialArgs) -> Result<()> {
    match &args.command {
        TrialCommand::New(args) => new::run(args),
        TrialCommand::Read(args) => read::run(args),
    }
}
