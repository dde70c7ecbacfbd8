//! Words at the terminal: one file a command, results on standard output, all else on standard error.

mod args;
mod check;
mod css;
mod export;
mod list;
mod live;
mod log;
mod mark;
mod plan;
mod play;
mod shared;
mod shell;
mod show;
mod steps;
mod swimmer;
mod tap;
mod timing;
mod trial;
mod welcome;

use std::ffi::OsString;

use clap::Parser;

use crate::error::{Error, ErrorKind, Result};
use args::{Args, Command};
use shared::out;

/// Runs one command line and gives its exit code.
///
/// # Errors
/// What the command could not do; [`Error::exit_code`] says how to leave.
pub fn run(line: impl IntoIterator<Item = OsString>) -> Result<u8> {
    let args = match Args::try_parse_from(line) {
        Ok(args) => args,
        Err(refused) => return out::clap(&refused),
    };
    match args.command {
        None => welcome::run().map(|()| 0),
        Some(Command::Export(args)) => export::run(&args).map(|()| 0),
        Some(Command::Show(args)) => show::run(&args).map(|()| 0),
        Some(Command::Check(args)) => check::run(&args),
        Some(Command::Mark(args)) => mark::run(&args).map(|()| 0),
        Some(Command::Timing(args)) => timing::run(&args).map(|()| 0),
        Some(Command::Tap(args)) => tap::run(&args).map(|()| 0),
        Some(Command::Log(args)) => log::run(&args).map(|()| 0),
        Some(Command::Steps(args)) => steps::run(&args).map(|()| 0),
        Some(Command::Css(args)) => css::run(&args).map(|()| 0),
        Some(Command::Swimmer(args)) => swimmer::run(&args).map(|()| 0),
        Some(Command::Plan(args)) => plan::run(&args),
        Some(Command::Trial(args)) => trial::run(&args).map(|()| 0),
        Some(Command::Live(args)) => live::run(&args).map(|()| 0),
        Some(Command::Play(args)) => play::run(&args).map(|()| 0),
        Some(Command::List(args)) => list::run(&args).map(|()| 0),
        Some(Command::Completions { shell }) => shell::completions(shell).map(|()| 0),
        Some(Command::Man { page }) => shell::man(&page).map(|()| 0),
    }
}

/// Prints an error where errors go. A closed pipe is none.
pub fn print_error(error: &Error) {
    if error.kind() != ErrorKind::ClosedPipe {
        out::note(&format!("error: {error}"));
    }
}
