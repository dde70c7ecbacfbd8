//! `log add`: the repeats of a set, from the command line or asked for on deck.

use std::io::{self, IsTerminal};

use super::added::added;
use crate::cli::shared::date::today;
use crate::cli::shared::out;
use crate::cli::shared::swum::{Swam, WaterArgs};
use crate::error::{Error, Result};
use crate::files::{append, set_field};
use crate::model::log::Row;
use crate::units::{Length, Quantity, exact};

#[derive(Debug, Clone, clap::Args)]
pub struct AddArgs {
    /// The set: 4x50, 8x25yd, 400m
    pub set: Option<String>,
    /// A time for each repeat: 48.1, 1:02.4, or - for none
    #[arg(value_name = "TIME", allow_negative_numbers = true)]
    pub times: Vec<String>,
    /// The log; made if it is not there
    #[arg(long, value_name = "FILE", default_value = "log.csv")]
    pub log: String,
    /// Strokes of both arms: 44, 22/length, or one for each repeat: 44,45,44,46
    #[arg(long)]
    pub strokes: Option<String>,
    /// Did the kick follow the cue, by video or a coach's eye: yes, part, no; or one for each repeat
    #[arg(long)]
    pub kept: Option<String>,
    /// Effort, 0 to 10; or one for each repeat
    #[arg(long)]
    pub effort: Option<String>,
    /// The rate that was cued: "54 spm"
    #[arg(long, value_name = "RATE")]
    pub rate_cued: Option<String>,
    /// The pairing that was cued
    #[arg(long)]
    pub pairing: Option<String>,
    /// The kick that was cued
    #[arg(long)]
    pub kick: Option<String>,
    /// The day, as 2026-03-14 [default: today]
    #[arg(long)]
    pub date: Option<String>,
    /// The session's name
    #[arg(long)]
    pub session: Option<String>,
    /// The set's name
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
    /// The trial it belongs to
    #[arg(long)]
    pub trial: Option<String>,
    /// Anything else
    #[arg(long)]
    pub note: Option<String>,
    #[command(flatten)]
    pub water: WaterArgs,
}

/// Runs `log add`.
pub fn run(args: &AddArgs) -> Result<()> {
    const EXAMPLE: &str = "cuelane log add 4x50 48.1 48.4 48.0 49.2 --strokes 22/length --kept yes";
    let swam = Swam::new(&args.water)?;
    let mut args = args.clone();
    if given(&args.set).is_empty() {
        if !io::stdin().is_terminal() {
            return Err(Error::input("no set was given")
                .accepted("the set and its times")
                .example(EXAMPLE));
        }
        ask_for_the_rest(&mut args, &swam.water.pool)?;
    }
    let rows = rows(&args, &swam)?;
    append(&args.log, &rows)?;
    out::result(&added(&args.log, &rows, &swam))
}

fn given(flag: &Option<String>) -> &str {
    flag.as_deref().unwrap_or_default()
}

/// Asks for what was not given. An answer that does not hold is said and asked for again, so that
/// a slip in the last of them costs none of the others.
fn ask_for_the_rest(args: &mut AddArgs, pool: &Length) -> Result<()> {
    let set = ask("Set, such as 4x50", |answer| set_of(answer, pool).map(drop))?;
    let (repeats, distance) = set_of(&set, pool)?;
    args.set = Some(set);
    let field = |column: &'static str| {
        move |answer: &str| {
            (0..repeats).try_for_each(|index| {
                let one = one_of(answer, index, repeats, column)?;
                set_field(&mut Row::default(), column, &one).map_err(|why| refused(column, &why))
            })
        }
    };
    let split = |answer: &str| answer.split_whitespace().map(String::from).collect();
    let times = ask("Times, such as 48.1 48.4 48.0 49.2, - for none", |answer| {
        let times: Vec<String> = split(answer);
        times_for(&times, repeats, &distance)?;
        (times.iter()).try_for_each(|time| field("time")(&time_of(time)))
    })?;
    args.times = split(&times);
    let strokes = "Strokes of both arms, such as 44 or 22/length";
    let kept = "Did the kick follow the cue: yes, part, no";
    for (what, column, answer) in [
        (strokes, "strokes", &mut args.strokes),
        (kept, "kept", &mut args.kept),
        ("Effort, 0 to 10", "effort", &mut args.effort),
    ] {
        if given(answer).is_empty() {
            *answer = Some(ask(&format!("{what} (empty: leave open)"), field(column))?);
        }
    }
    Ok(())
}

/// Asks until the answer holds.
fn ask(what: &str, holds: impl Fn(&str) -> Result<()>) -> Result<String> {
    loop {
        let Some(answer) = out::ask(&format!("{what}: "))? else {
            return Err(Error::input("standard input ended before the last answer")
                .accepted("an answer to each question; nothing was written"));
        };
        match holds(&answer) {
            Ok(()) => return Ok(answer),
            Err(error) => out::note(&error.to_string()),
        }
    }
}

/// A time for each repeat.
fn times_for(times: &[String], repeats: usize, distance: &Length) -> Result<()> {
    if times.len() == repeats {
        Ok(())
    } else {
        Err(Error::input(format!(
            "found {} times for {repeats} repeats of {distance}",
            times.len()
        ))
        .accepted("a time for each repeat; - where none was taken")
        .example("cuelane log add 4x50 48.1 48.4 - 49.2"))
    }
}

/// The rows of a set: what is said once holds for every repeat.
fn rows(args: &AddArgs, swam: &Swam) -> Result<Vec<Row>> {
    let (repeats, distance) = set_of(given(&args.set), &swam.water.pool)?;
    times_for(&args.times, repeats, &distance)?;
    let date = (args.date.clone()).unwrap_or_else(|| today().to_string());
    let row = |index: usize| {
        let mut row = Row {
            repeat: Some(index as u64 + 1),
            distance: Some(distance.clone()),
            ..Row::default()
        };
        let one = |text, flag| one_of(given(text), index, repeats, flag);
        let (time, strokes) = (
            time_of(&args.times[index]),
            one(&args.strokes, "--strokes")?,
        );
        let (effort, kept) = (one(&args.effort, "--effort")?, one(&args.kept, "--kept")?);
        for (column, text) in [
            ("date", date.as_str()),
            ("swimmer", given(&swam.name)),
            ("session", given(&args.session)),
            ("set", given(&args.name)),
            ("time", &time),
            ("strokes", &strokes),
            ("rate_cued", given(&args.rate_cued)),
            ("pairing", given(&args.pairing)),
            ("kick", given(&args.kick)),
            ("effort", &effort),
            ("kept", &kept),
            ("trial", given(&args.trial)),
            ("note", given(&args.note)),
        ] {
            set_field(&mut row, column, text).map_err(|why| refused(column, &why))?;
        }
        Ok(row)
    };
    (0..repeats).map(row).collect()
}

/// A field that does not hold, with an example of its own.
fn refused(column: &str, why: &str) -> Error {
    let example = match column {
        "date" => "--date 2026-03-14",
        "time" => "cuelane log add 4x50 48.1 48.4 48.0 49.2",
        "strokes" => "--strokes 22/length",
        "rate_cued" => "--rate-cued \"54 spm\"",
        "pairing" => "--pairing same-side",
        "kick" => "--kick two-beat",
        "effort" => "--effort 6",
        _ => "--kept yes",
    };
    Error::input(why).example(example)
}

/// `4x50`, `8 x 25yd`, `400m`: how many, and how far; the pool's unit where none is said.
fn set_of(text: &str, pool: &Length) -> Result<(usize, Length)> {
    let refuse = |why: String| {
        Error::input(why)
            .accepted("REPEATSxDISTANCE or DISTANCE, up to 200 repeats")
            .example("cuelane log add 4x50 48.1 48.4 48.0 49.2")
    };
    let lower = text.to_lowercase().replace('×', "x");
    let (repeats, distance) = lower.split_once('x').unwrap_or(("1", &lower));
    let repeats: usize = (repeats.trim().parse().ok())
        .filter(|repeats| (1..=200).contains(repeats))
        .ok_or_else(|| refuse(format!("found {text:?}, which is not a set")))?;
    let distance = distance.trim();
    let bare = !distance.is_empty() && distance.bytes().all(|byte| byte.is_ascii_digit());
    let unit = match (bare, pool.in_yards()) {
        (false, _) => "",
        (true, true) => " yd",
        (true, false) => " m",
    };
    let distance = Length::parse(&format!("{distance}{unit}")).map_err(refuse)?;
    if *distance.metres() > exact(0) {
        Ok((repeats, distance))
    } else {
        Err(refuse(format!("found {text:?}, no distance at all")))
    }
}

/// A time on deck: seconds where no unit is said, empty for `-`.
fn time_of(text: &str) -> String {
    let text = text.trim();
    match text {
        "-" => String::new(),
        _ if (text.bytes()).all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-')) => {
            format!("{text} s")
        }
        _ => text.to_string(),
    }
}

/// One value for all, or the one of this repeat out of a list.
fn one_of(text: &str, index: usize, repeats: usize, flag: &str) -> Result<String> {
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    match parts.len() {
        1 => Ok(parts[0].to_string()),
        // As with times, - is what was not noted.
        found if found == repeats && parts[index] == "-" => Ok(String::new()),
        found if found == repeats => Ok(parts[index].to_string()),
        found => Err(
            Error::input(format!("found {found} values for {repeats} repeats"))
                .at(flag)
                .accepted("one for all, or one for each repeat, separated by commas"),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_is_read_as_it_is_said_on_deck() {
        let metres = Length::parse("25 m").expect("25 m");
        let yards = Length::parse("25 yd").expect("25 yd");
        for (text, pool, repeats, distance) in [
            ("4x50", &metres, 4, "50 m"),
            ("4x50", &yards, 4, "50 yd"),
            ("8 X 25yd", &metres, 8, "25 yd"),
            ("400m", &metres, 1, "400 m"),
            ("100", &metres, 1, "100 m"),
        ] {
            let (found, length) = set_of(text, pool).expect(text);
            assert_eq!(
                (found, length.to_string().as_str()),
                (repeats, distance),
                "{text}"
            );
        }
        for text in ["", "x50", "4x", "0x50", "4x0", "201x50", "4x50 spm", "fast"] {
            assert!(set_of(text, &metres).is_err(), "{text}");
        }
    }
}
