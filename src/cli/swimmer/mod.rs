//! `swimmer`: a file for a swimmer, made once and edited by hand.

mod new;
mod view;

use crate::cli::shared::report::tell;
use crate::error::Result;
use crate::files::read_swimmer;
use view::SwimmerReport;

#[derive(Debug, clap::Args)]
pub struct SwimmerArgs {
    #[command(subcommand)]
    pub command: SwimmerCommand,
}

#[derive(Debug, clap::Subcommand)]
pub enum SwimmerCommand {
    /// Write a swimmer's file; asks for what is not given where there is a terminal
    #[command(
        after_help = "Example:\n  cuelane swimmer new alex.toml --name Alex --pool \"25 m\" \
                            --rate \"54 spm\" --pace \"2:05 / 100 m\""
    )]
    New(new::NewSwimmerArgs),
    /// Show a swimmer's values, and what was measured beside what is cued
    Show {
        /// The swimmer's file, or the name of an invented swimmer
        file: String,
        /// Print the result as JSON
        #[arg(long)]
        json: bool,
    },
}

/// Runs `swimmer`.
pub fn run(args: &SwimmerArgs) -> Result<()> {
    match &args.command {
        SwimmerCommand::New(args) => new::run(args),
        SwimmerCommand::Show { file, json } => {
            tell(&SwimmerReport::new(&read_swimmer(file)?), *json)
        }
    }
}
