//! `swimmer new`: a swimmer's file, asked for where there is a terminal.

use std::io::{self, IsTerminal};
use std::path::PathBuf;

use crate::cli::shared::args::one_of;
use crate::cli::shared::out;
use crate::cli::shared::save::{may_write, save};
use crate::error::{Error, Result};
use crate::files::{NewSwimmer, new_swimmer};
use crate::model::log::{Row, Strokes, Water};
use crate::model::track_format::Format;
use crate::units::{Length, Pace, Quantity, Rate, Time, with_unit};

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
    /// What beginners know: strokes of both arms and the time of one length: "22 in 30 s"
    #[arg(long, value_name = "STROKES in TIME", conflicts_with_all = ["rate", "pace", "stroke_length"])]
    pub one_length: Option<String>,
    /// Format of the player's files [default: mp3, or wav where this build writes no MP3]
    #[arg(long, value_parser = one_of::<Format>())]
    pub format: Option<Format>,
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
        format: args.format.unwrap_or(if cfg!(feature = "mp3") {
            Format::Mp3
        } else {
            Format::Wav
        }),
    };
    let mut one_length = args.one_length.clone();
    if io::stdin().is_terminal() {
        ask_for_the_rest(&mut new, &mut one_length)?;
    }
    if let Some(told) = &one_length {
        let pool = new.pool.as_deref();
        let (rate, pace) = rate_and_pace(told, pool).map_err(|why| one_length_refused(&why))?;
        (new.rate, new.pace) = (Some(rate), Some(pace));
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
fn ask_for_the_rest(new: &mut NewSwimmer, one_length: &mut Option<String>) -> Result<()> {
    if new.name.is_empty() {
        new.name = ask("Name", |_| Ok(()))?.unwrap_or_default();
    }
    if new.pool.is_none() {
        let pool = ask("Pool, in m, or such as 25 yd", |answer| {
            known::<Length>(&with_unit(answer, "m"))
        })?;
        new.pool = pool.map(|pool| with_unit(&pool, "m"));
    }
    let knows_neither = new.rate.is_none() && new.pace.is_none() && new.stroke_length.is_none();
    if knows_neither && one_length.is_none() {
        let pool = new.pool.clone();
        *one_length = ask(
            "Strokes of both arms and seconds for one length, such as 22 in 30 s",
            |answer| rate_and_pace(answer, pool.as_deref()).map(|_| ()),
        )?;
    }
    if one_length.is_some() {
        return Ok(());
    }
    if new.rate.is_none() {
        new.rate = ask(
            "Own stroke rate in strokes/min of both arms, such as 54",
            |answer| known::<Rate>(&with_unit(answer, "spm")),
        )?;
        new.rate = new.rate.take().map(|rate| with_unit(&rate, "spm"));
    }
    if new.pace.is_none() && new.stroke_length.is_none() {
        let pace = ask("Easy pace for 100 m, such as 2:05", |answer| {
            known::<Pace>(&pace_of(answer))
        })?;
        new.pace = pace.map(|pace| pace_of(&pace));
    }
    Ok(())
}

/// The own rate and the easy pace of a swimmer who counted one length: `22 in 30 s`.
///
/// The rate leaves the push-off out, as that of the log does; the pace is by the clock.
fn rate_and_pace(told: &str, pool: Option<&str>) -> Result<(String, String), String> {
    let odd = || format!("found {told:?}, not strokes and a time");
    let (strokes, time) = told.split_once(" in ").ok_or_else(odd)?;
    let strokes = Strokes::parse(strokes)?;
    let time = Time::parse(&with_unit(time, "s"))?;
    let usual = Water::default();
    let pool = pool.map_or(Ok(usual.pool.clone()), Length::parse)?;
    let row = Row {
        distance: Some(pool.clone()),
        time: Some(time.clone()),
        strokes: Some(strokes),
        ..Row::default()
    };
    let water = Water {
        pool: pool.clone(),
        ..usual
    };
    let spm = row.swum(&water).rate_spm.ok_or_else(odd)?;
    // To halves: a stroke more or less in the count is far more than that.
    let rate = format!("{} spm", (spm * 2.0).round() / 2.0);
    Rate::parse(&rate)?;
    Ok((rate, format!("{time} / {pool}")))
}

/// A pace of which the question said the distance: `1:55`, `115`.
fn pace_of(answer: &str) -> String {
    let time = with_unit(answer, "s");
    if Time::parse(&time).is_ok() {
        format!("{time} / 100 m")
    } else {
        time
    }
}

fn one_length_refused(why: &str) -> Error {
    Error::input(why.to_string())
        .at("--one-length")
        .accepted("strokes of both arms, \"in\", and the time of one length of the pool")
        .example("--one-length \"22 in 30 s\"")
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
