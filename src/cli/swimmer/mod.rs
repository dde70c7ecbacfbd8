//! `swimmer`: a file for a swimmer, made once and edited by hand.

use std::fmt::Write as _;
use std::io::{self, IsTerminal};
use std::path::PathBuf;

use serde_json::json;

use crate::cli::shared::out;
use crate::cli::shared::save::{may_write, save};
use crate::error::{Error, Result};
use crate::files::{NewSwimmer, new_swimmer, read_swimmer};
use crate::model::swimmer::Swimmer;
use crate::model::value::Value;
use crate::model::words;
use crate::units::{Length, Pace, Quantity, Rate, exact, to_f64};

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
    New(NewSwimmerArgs),
    /// Show a swimmer's values, and what was measured beside what is cued
    Show {
        /// The swimmer's file, or the name of an invented swimmer
        file: String,
        /// Print the result as JSON
        #[arg(long)]
        json: bool,
    },
}

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

/// Runs `swimmer`.
pub fn run(args: &SwimmerArgs) -> Result<()> {
    match &args.command {
        SwimmerCommand::New(args) => new(args),
        SwimmerCommand::Show { file, json } => show(&read_swimmer(file)?, *json),
    }
}

fn new(args: &NewSwimmerArgs) -> Result<()> {
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

fn show(swimmer: &Swimmer, as_json: bool) -> Result<()> {
    let layer = &swimmer.wishes;
    let said = |text: Option<String>| text.unwrap_or_else(|| "not said".into());
    let going = (layer.pace.as_ref().map(|said| said.value.to_string())).or_else(|| {
        layer
            .stroke_length
            .as_ref()
            .map(|said| said.value.both_ways())
    });
    let measured = swimmer.measured.as_ref();
    let cued_catch = (layer.catch_after_entry.as_ref()).map(|said| said.value.explain());
    let measured_catch = measured.and_then(|measured| measured.catch_after_entry.as_ref());
    if as_json {
        return out::json(&json!({
            "format": 1,
            "name": swimmer.name,
            "rate_spm": swimmer.rate.as_ref().map(|rate| out::micro(to_f64(rate.spm()))),
            "pool_m": layer.pool.as_ref().map(|said| out::micro(to_f64(said.value.metres()))),
            "pace": layer.pace.as_ref().map(|said| said.value.to_string()),
            "stroke_length_m": layer.stroke_length.as_ref().map(|said| out::micro(to_f64(said.value.metres()))),
            "catch_after_entry_cycle": layer.catch_after_entry.as_ref().map(|said| json!({
                "left": out::micro(to_f64(&said.value.left)),
                "right": out::micro(to_f64(&said.value.right)),
            })),
            "pairing": layer.pairing.as_ref().map(|said| said.value.word()),
            "kick": layer.kick.as_ref().map(|said| said.value.word()),
            "measured": measured.map(|measured| json!({
                "date": measured.date,
                "rate_spm": measured.rate.as_ref().map(|rate| out::micro(to_f64(rate.spm()))),
                "catch_after_entry_cycle": measured_catch.map(|sides| json!({
                    "left": out::micro(to_f64(&sides.left)),
                    "right": out::micro(to_f64(&sides.right)),
                })),
                "right_entry_cycle": measured.right_entry.as_ref().map(|value| out::micro(to_f64(value))),
                "pairing": measured.pairing,
                "kick": measured.kick,
            })),
        }));
    }
    let mut text = format!("{}\n\n", swimmer.name);
    let mut row = |key: &str, value: String| {
        let _ = writeln!(text, "  {key:<22}{value}");
    };
    row(
        "own rate",
        said(swimmer.rate.as_ref().map(|rate| rate.both_ways())),
    );
    row(
        "pool",
        said(layer.pool.as_ref().map(|said| said.value.to_string())),
    );
    row("pace or stroke length", said(going));
    let pairing = layer.pairing.as_ref().map(|said| said.value.to_string());
    row(
        "pairing",
        pairing.unwrap_or_else(|| "not said (same-side is cued)".into()),
    );
    let kick = layer.kick.as_ref().map(|said| said.value.in_words());
    row(
        "kick",
        kick.unwrap_or_else(|| "not said (a two-beat kick is cued)".into()),
    );
    row(
        "catch, cued",
        match (cued_catch, measured_catch) {
            (Some(cued), _) => format!("{cued} of a cycle after entry"),
            (None, Some(sides)) => {
                let mean = (sides.left + sides.right) / exact(2);
                format!(
                    "{} of a cycle after entry (mean of the measured two)",
                    to_f64(&mean)
                )
            }
            (None, None) => "0.3 of a cycle after entry (a guess until measured)".into(),
        },
    );
    if let Some(measured) = measured {
        let date = measured.date.as_deref().unwrap_or("without a date");
        row("measured", date.to_string());
        if let Some(rate) = &measured.rate {
            let between = measured.rate_interval.as_ref();
            let between =
                between.map(|(low, high)| format!(", {} to {}", low.short(), high.short()));
            row("  rate", rate.both_ways() + &between.unwrap_or_default());
        }
        if let Some(sides) = measured_catch {
            row(
                "  catch after entry",
                format!("{} of a cycle", sides.explain()),
            );
        }
        if let Some(value) = &measured.right_entry {
            row(
                "  right entry",
                format!("{} of a cycle after the left", to_f64(value)),
            );
        }
        if let Some(pairing) = &measured.pairing {
            row("  kick is nearer to", pairing.clone());
        }
    }
    let _ = writeln!(text, "\n{}", textwrap::fill(words::RATE_CAUTION, 79));
    out::result(&text)
}
