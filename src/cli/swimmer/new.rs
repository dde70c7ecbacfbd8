//! `swimmer new`: a swimmer's file, asked for where there is a terminal.

use std::io::{self, IsTerminal};
use std::path::PathBuf;

use crate::cli::shared::out;
use crate::cli::shared::save::{may_write, save};
use crate::error::{Error, Result};
use crate::files::{NewSwimmer, new_swimmer};
use crate::units::{Length, Pace, Quantity, Rate};

#[derive(Debug, clap::Args)]
pub struct NewSwimmerArgs {
    /// The file to write
    pub file: PathBuf,
    /// The swimmer's name
    #[arg(long)]
    pub name: Option<String>,
    /// The pool: "25 m", "25 yd", "33 1/3 m"
    #[arg(long)]
    pub pool: Option<String>,
    /// The swimmer's own stroke rate: "54 spm", "27 cpm", "1.1 s/stroke"
    #[arg(long)]
    pub rate: Option<String>,
    /// A clock pace: "2:05 / 100 m"
    #[arg(long, conflicts_with = "stroke_length")]
    pub pace: Option<String>,
    /// Metres swum a stroke, push-off left out: "0.95 m/stroke"
    #[arg(long)]
    pub stroke_length: Option<String>,
    /// same-side or opposite-side
    #[arg(long)]
    pub pairing: Option<String>,
    /// two-beat, four-beat, six-beat or pull
    #[arg(long)]
    pub kick: Option<String>,
    /// Replace a file that is there
    #[arg(long)]
    pub force: bool,
}

/// Runs `swimmer new`.
pub fn run(args: &NewSwimmerArgs) -> Result<()> {
    let file = args.file.display().to_string();
    may_write(&args.file, args.force)?;
    let Some(stem) = args.file.file_stem().and_then(|stem| stem.to_str()) else {
        return Err(Error::input("this names no file")
            .at(&file)
            .example("cuelane swimmer new alex.toml"));
    };
    let mut new = NewSwimmer {
        name: args.name.clone().unwrap_or_default(),
        pool: args.pool.clone(),
        rate: args.rate.clone(),
        pace: args.pace.clone(),
        stroke_length: args.stroke_length.clone(),
        pairing: args.pairing.clone(),
        kick: args.kick.clone(),
    };
    if io::stdin().is_terminal() {
        ask_for_the_rest(&mut new)?;
    }
    if new.name.is_empty() {
        new.name = stem.to_string();
    }
    save(&args.file, &new_swimmer(&file, &new)?)?;
    let mut open = Vec::new();
    if new.rate.is_none() {
        open.push("rate");
    }
    if new.pace.is_none() && new.stroke_length.is_none() {
        open.push("pace (or stroke_length)");
    }
    let still_open = if open.is_empty() {
        String::new()
    } else {
        format!(
            "Still open, and every preset needs it: {}. Write it into the file, then:\n",
            open.join(", ")
        )
    };
    out::result(&format!(
        "Wrote {file}; edit it by hand whenever you like.\n\
         {still_open}Next: cuelane show try-both-pairings --swimmer {file}\n"
    ))
}

/// Asks at the terminal for what no flag gave. An empty answer leaves a thing open.
fn ask_for_the_rest(new: &mut NewSwimmer) -> Result<()> {
    if new.name.is_empty() {
        new.name = ask("Name", |_| Ok(()))?.unwrap_or_default();
    }
    if new.pool.is_none() {
        new.pool = ask("Pool, such as 25 m or 25 yd", known::<Length>)?;
    }
    if new.rate.is_none() {
        new.rate = ask(
            "Own stroke rate, such as 54 spm (both arms) or 27 cpm",
            known::<Rate>,
        )?;
    }
    if new.pace.is_none() && new.stroke_length.is_none() {
        new.pace = ask("Easy pace, such as 2:05 / 100 m", known::<Pace>)?;
    }
    Ok(())
}

fn known<Q: Quantity>(answer: &str) -> Result<(), String> {
    Q::parse(answer).map(|_| ())
}

/// Asks until the answer holds or is empty, so that a slip costs one line and not all of them.
fn ask(what: &str, check: impl Fn(&str) -> Result<(), String>) -> Result<Option<String>> {
    loop {
        let answer = out::ask(&format!("{what} (empty: leave open): "))?;
        let Some(answer) = answer.filter(|answer| !answer.is_empty()) else {
            return Ok(None);
        };
        match check(&answer) {
            Ok(()) => return Ok(Some(answer)),
            Err(why) => out::note(&format!("  {why}")),
        }
    }
}
