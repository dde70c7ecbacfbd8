//! `log add`: the repeats of a set, from the command line or asked for on deck, or those of a file.

use std::io::{self, IsTerminal};

use super::added::added;
use super::args::AddArgs;
use super::ask::ask_for_the_rest;
use super::plan_day::match_to_plan;
use super::take::{take, to_fill};
use super::typed::{given, rows};
use crate::cli::shared::out;
use crate::cli::shared::swum::Swam;
use crate::error::{Error, Result};
use crate::files::append;

/// Runs `log add`.
pub fn run(args: &AddArgs) -> Result<()> {
    const EXAMPLE: &str = "cuelane log add 4x50 48.1 48.4 48.0 49.2 --strokes 22/length --kept yes";
    let swam = Swam::new(&args.water)?;
    if let Some(file) = &args.from {
        return take(args, to_fill(file)?, &swam);
    }
    if let Some(rows) = args.import.rows()? {
        return take(args, rows, &swam);
    }
    if args.replace {
        return Err(Error::input("a set that is typed in replaces none")
            .at("--replace")
            .accepted("--replace beside --from or --import")
            .example("cuelane log add --from log-to-fill.csv --replace"));
    }
    let mut args = args.clone();
    if given(&args.set).is_empty() {
        if !io::stdin().is_terminal() {
            return Err(Error::input("no set was given")
                .accepted("the set and its times")
                .example(EXAMPLE));
        }
        ask_for_the_rest(&mut args, &swam)?;
    }
    let mut rows = rows(&args, &swam)?;
    let said = match &args.plan {
        None => Vec::new(),
        Some(plan) => match_to_plan(rows.iter_mut().collect(), plan, &args.log)?,
    };
    append(&args.log, &rows)?;
    out::result(&added(&args.log, &rows, &said, &swam))
}
