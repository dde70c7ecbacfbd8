//! `trial new`: the sessions of a trial and the rows to fill in.

use std::fmt::Write as _;
use std::io::Write;
use std::time::{SystemTime, UNIX_EPOCH};

use serde_json::json;

use super::NewArgs;
use super::sheets::{TrialFile, day, day_comment, day_rows, lay_out, practise, sheet, spread};
use crate::analysis::trial::{FEWEST_PAIRS, order};
use crate::cli::shared::load::in_any_folder;
use crate::cli::shared::out;
use crate::cli::shared::swum::quantity;
use crate::error::{Error, Result};
use crate::export::{WriteError, publish};
use crate::files::{log_csv, read_swimmer};
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::{Resolved, Set, resolve};
use crate::model::session::{RatePlan, RepeatSwim};
use crate::model::swimmer::Swimmer;
use crate::model::value::words;
use crate::model::wishes::{Session, Wishes, said};
use crate::model::words::{PAIRING_CAUTION, RATE_CAUTION};
use crate::units::{Quantity, Rate, RateWish};

/// Runs `trial new`.
pub fn run(args: &NewArgs) -> Result<()> {
    let swimmer = args.swimmer.as_deref().map(read_swimmer).transpose()?;
    let name = name(args)?;
    check_numbers(args)?;
    let mut base = base(args, swimmer.as_ref())?;
    base.sets[0].rest = Some(quantity("--rest", &args.rest)?);
    let seed = args.seed.unwrap_or_else(by_the_clock);
    let blocks = order(usize::from(args.pairs) / 2, seed);
    let days = spread(&blocks, usize::from(args.days));

    let mut sheets: Vec<TrialFile> = [Pairing::SameSide, Pairing::OppositeSide]
        .map(|pairing| practise(&name, &base, pairing))
        .into();
    let mut rows = Vec::new();
    for (at, swims) in days.iter().enumerate() {
        let day = day(&name, &base, at + 1, swims);
        let date = args.on.get(at).map(String::as_str).unwrap_or_default();
        rows.extend(day_rows(&name, swimmer.as_ref(), &day, date)?);
        let name = format!("day-{}.toml", at + 1);
        sheets.push(sheet(name, &day_comment(seed), &day));
    }
    for file in &sheets {
        lay_out(file)?;
    }
    let log = TrialFile {
        name: "log.csv".into(),
        text: log_csv(&rows),
    };
    sheets.push(log);
    write(args, &sheets)?;
    say(args, &name, seed, &base.sets[0], &days, &sheets)
}

fn name(args: &NewArgs) -> Result<String> {
    let folder = args.out.file_name().and_then(|name| name.to_str());
    let name = args.name.as_deref().or(folder).unwrap_or_default();
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    let count = name.chars().count();
    let found = match name.chars().find(|c| c.is_control()) {
        _ if name.is_empty() => "the trial has no name".to_string(),
        Some(c) => format!("found {}, which cannot be shown", c.escape_unicode()),
        None if count > 60 => format!("found {count} characters, too long for a log"),
        None => return Ok(name),
    };
    Err(Error::input(found)
        .at("--name")
        .accepted("1 to 60 characters that can be shown")
        .example("--name spring"))
}

fn check_numbers(args: &NewArgs) -> Result<()> {
    if args.pairs % 2 == 1 {
        return Err(Error::input(format!("found {}, an odd number", args.pairs))
            .at("--pairs")
            .accepted("an even number: a block of four swims is two pairs")
            .example("--pairs 8"));
    }
    if args.pairs / 2 < args.days {
        return Err(Error::input(format!(
            "{} pairs are {} blocks, fewer than {} days",
            args.pairs,
            args.pairs / 2,
            args.days
        ))
        .at("--days")
        .accepted("a block (two pairs) or more a day")
        .example("--pairs 8 --days 2"));
    }
    let mut dates = args.on.clone();
    dates.sort();
    dates.dedup();
    if !args.on.is_empty()
        && (dates.len() != args.on.len() || dates.len() != usize::from(args.days))
    {
        return Err(Error::input(format!(
            "found {} dates, {} of them different, for {} days",
            args.on.len(),
            dates.len(),
            args.days
        ))
        .at("--on")
        .accepted("one date a day, or none at all")
        .example("--on 2026-11-27 --on 2026-11-30"));
    }
    Ok(())
}

/// What every swim shares, decided from flags and swimmer as any set is.
fn base(args: &NewArgs, swimmer: Option<&Swimmer>) -> Result<Resolved> {
    let swim: RepeatSwim = quantity("--swim", &args.swim)?;
    if matches!(swim, RepeatSwim::Time(_)) {
        return Err(
            Error::input(format!("found {swim}, a time: times are what is compared"))
                .at("--swim")
                .accepted("a distance")
                .example("--swim \"50 m\""),
        );
    }
    let kick = args.kick.as_deref().map(kick).transpose()?;
    let own = swimmer.and_then(|swimmer| swimmer.rate.as_ref());
    let rate = match &args.stroke_rate {
        Some(text) => quantity::<RateWish>("--stroke-rate", text)?
            .resolve(own)
            .map_err(|why| rate_needed(&why))?,
        None => own
            .cloned()
            .ok_or_else(|| rate_needed("no stroke rate is known"))?,
    };
    let has_going = swimmer.is_some_and(|swimmer| {
        swimmer.wishes.pace.is_some() || swimmer.wishes.stroke_length.is_some()
    });
    if args.pace.is_none() && !has_going {
        return Err(Error::input(
            "how long a swim takes is not known: neither pace nor stroke_length",
        )
        .at("--pace")
        .accepted("a pace, or a swimmer's file that has either")
        .example("--pace \"2:05 / 100 m\""));
    }
    let layer = Wishes {
        swim: said(swim),
        rate: said(RatePlan::Steady(RateWish::Absolute(writable(rate)?))),
        kick: kick.and_then(said),
        pool: args
            .pool
            .as_deref()
            .map(|text| quantity("--pool", text))
            .transpose()?
            .and_then(said),
        pace: args
            .pace
            .as_deref()
            .map(|text| quantity("--pace", text))
            .transpose()?
            .and_then(said),
        ..Wishes::default()
    };
    let session = Session {
        source: "trial new".into(),
        defaults: layer,
        sets: said(Wishes::default()).into_iter().collect(),
        ..Session::default()
    };
    let resolved = resolve(&session, swimmer, &Wishes::default())?;
    match resolved.sets[0].kick {
        Kick::Pull => Err(
            Error::input("found pull: without a kick there is no pairing")
                .at("--kick")
                .accepted("two-beat, four-beat, six-beat")
                .example("--kick two-beat"),
        ),
        _ => in_any_folder(&resolved),
    }
}

fn kick(text: &str) -> Result<Kick> {
    let found = words().into_iter().find(|(word, _)| *word == text);
    found.map(|(_, kick)| kick).ok_or_else(|| {
        Error::input(format!("found {text:?}"))
            .at("--kick")
            .accepted("two-beat, four-beat, six-beat")
            .example("--kick two-beat")
    })
}

fn rate_needed(why: &str) -> Error {
    Error::input(format!("{why}; all swims of a trial have one rate"))
        .at("--stroke-rate")
        .accepted("a rate, or a swimmer's file that has one")
        .example("--stroke-rate \"54 spm\"")
}

/// A rate that reads back from its own text: a share of another may have no short decimal in any
/// unit, and is then taken to hundredths.
fn writable(rate: Rate) -> Result<Rate> {
    let short = || Rate::parse(&rate.short());
    Rate::parse(&rate.to_string())
        .or_else(|_| short())
        .map_err(|why| rate_needed(&why))
}

/// Any seed will do; six digits are easily kept and typed.
fn by_the_clock() -> u64 {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    u64::from(since.subsec_nanos()) % 1_000_000
}

fn write(args: &NewArgs, sheets: &[TrialFile]) -> Result<()> {
    let folder = args.out.display();
    if args.out.exists() && !args.out.is_dir() {
        return Err(Error::failed("this is a file, and a trial needs a folder")
            .at(folder)
            .example("--out trial-alex"));
    }
    let there = sheets
        .iter()
        .find(|sheet| args.out.join(&sheet.name).exists());
    if let (Some(sheet), false) = (there, args.force) {
        return Err(Error::failed("is there already")
            .at(args.out.join(&sheet.name).display())
            .accepted("another folder, or --force to replace what is there, a filled-in log too")
            .example("--out trial-alex-2"));
    }
    std::fs::create_dir_all(&args.out)
        .map_err(|error| Error::io("this folder cannot be made", folder, &error))?;
    for sheet in sheets {
        publish(&args.out, &sheet.name, |file| {
            file.write_all(sheet.text.as_bytes())
                .map_err(WriteError::Io)
        })
        .map_err(|error| match error {
            WriteError::Io(error) => Error::io(
                "cannot be written",
                args.out.join(&sheet.name).display(),
                &error,
            ),
            WriteError::Stopped(error) => error,
        })?;
    }
    Ok(())
}

fn say(
    args: &NewArgs,
    name: &str,
    seed: u64,
    base: &Set,
    days: &[Vec<Pairing>],
    sheets: &[TrialFile],
) -> Result<()> {
    let letters = |swims: &[Pairing]| -> Vec<&str> { swims.iter().map(|p| p.word()).collect() };
    let names: Vec<&str> = sheets.iter().map(|sheet| sheet.name.as_str()).collect();
    if args.json {
        return out::json(&json!({
            "format": 1,
            "trial": name,
            "folder": args.out.display().to_string(),
            "seed": seed,
            "pairs": args.pairs,
            "days": days.iter().map(|swims| letters(swims)).collect::<Vec<_>>(),
            "files": names,
        }));
    }
    let rate = base.rate.ends().0.both_ways();
    let mut text = format!(
        "Trial \"{name}\" in {}: {} swims of {} at {rate}, {} pairs, seed {seed}.\n\n",
        args.out.display(),
        2 * u32::from(args.pairs),
        base.swim,
        args.pairs
    );
    let mut paragraph = |first: &str, body: &str| {
        let options = textwrap::Options::new(79)
            .initial_indent(first)
            .subsequent_indent("   ");
        text.push_str(&textwrap::fill(body, options));
        text.push('\n');
    };
    paragraph(
        "1. ",
        "First practise each pairing on two or three days: practise-same-side.toml and \
         practise-opposite-side.toml, the two as often as each other.",
    );
    let files: Vec<String> = (1..=days.len())
        .map(|day| format!("day-{day}.toml"))
        .collect();
    paragraph(
        "2. ",
        &format!(
            "Then swim {}, each on a day of its own, after your usual warm-up. Each pair of \
             neighbouring swims is one with each pairing; tiring along the way weighs on both alike.",
            files.join(", ")
        ),
    );
    paragraph(
        "3. ",
        "Fill in log.csv: time, strokes of both arms (or 22/length), effort 0 to 10, and kept: \
         yes, part or no, did the kick follow the cue, by video or a coach's eye. Leave the rows \
         in their order; a swim that was not swum keeps its empty row.",
    );
    paragraph(
        "4. ",
        &format!("cuelane trial read {}", args.out.join("log.csv").display()),
    );
    if usize::from(args.pairs) < FEWEST_PAIRS {
        paragraph(
            "   ",
            &format!(
                "{} pairs are too few by themselves: put the rows under those of an earlier trial \
                 of the same name.",
                args.pairs
            ),
        );
    }
    let with = args
        .swimmer
        .as_ref()
        .map(|file| format!(" --swimmer {file}"))
        .unwrap_or_default();
    let _ = writeln!(
        text,
        "\nNext:\n  cuelane export {}{with} \\\n    --files one --out tracks\n",
        args.out.join("practise-same-side.toml").display()
    );
    text.push_str(&textwrap::fill(RATE_CAUTION, 79));
    text.push('\n');
    text.push_str(&textwrap::fill(PAIRING_CAUTION, 79));
    text.push('\n');
    out::result(&text)
}
