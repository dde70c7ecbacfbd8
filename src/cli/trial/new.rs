//! `trial new`: the sessions of a trial and the rows to fill in.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

use super::before::{Before, before};
use super::new_view::{Foreseen, TrialSetOut};
use super::shared::{LONG_ENOUGH_S, SharedArgs, swim_s};
use super::sheets::{TrialFile, day, day_comment, day_rows, lay_out, practise, sheet, spread};
use super::verdict::full;
use crate::analysis::trial::order;
use crate::analysis::trial_foreseen::PAIRS_A_DAY;
use crate::cli::shared::report::tell;
use crate::cli::shared::save::{may_write, save};
use crate::error::{Error, Result};
use crate::files::{log_csv, read_swimmer};
use crate::model::kick::Pairing;
use crate::model::trial_looks::{MOST_DRAWN, TrialLooks};
use crate::units::{Fix, decimal};

#[derive(Debug, clap::Args)]
pub struct NewTrialArgs {
    /// Folder for the files; made if it is not there
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// What the trial is called in the log [default: the folder's name]
    #[arg(long)]
    name: Option<String>,
    /// The swimmer's file, or the name of an invented swimmer
    #[arg(long, value_name = "FILE")]
    swimmer: Option<String>,
    #[command(flatten)]
    shared: SharedArgs,
    /// The most pairs of swims, an even number: two a block of four swims
    #[arg(long, value_name = "N", default_value = "20", value_parser = clap::value_parser!(u8).range(4..=MOST_DRAWN as i64))]
    pairs: u8,
    /// Days over which they are spread [default: one for every four pairs, two or more]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(2..=10))]
    days: Option<u8>,
    /// The difference in time that is worth having
    #[arg(long, value_name = "PERCENT", default_value = "1 %")]
    margin: String,
    /// The swimmer's log, for how their times scatter [default: log.csv where there is one]
    #[arg(long, value_name = "FILE")]
    log: Option<String>,
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

/// Runs `trial new`.
pub fn run(args: &NewTrialArgs) -> Result<()> {
    let swimmer = args.swimmer.as_deref().map(read_swimmer).transpose()?;
    let name = name(args)?;
    check_numbers(args)?;
    let base = args.shared.resolve(swimmer.as_ref())?;
    let before = before(args.log.as_deref(), swimmer.as_ref())?;
    let seed = args.seed.unwrap_or_else(by_the_clock);
    let days = spread(&order(usize::from(args.pairs) / 2, seed), args.days());
    let looks = looks(&days, margin(args)?)?;

    let mut sheets: Vec<TrialFile> = [Pairing::SameSide, Pairing::OppositeSide]
        .map(|pairing| practise(&name, &base, pairing))
        .into();
    let mut rows = Vec::new();
    for (at, swims) in days.iter().enumerate() {
        let day = day(&name, &base, at + 1, swims);
        let date = args.on.get(at).map(String::as_str).unwrap_or_default();
        rows.extend(day_rows(&name, swimmer.as_ref(), &day, date, &looks)?);
        let name = format!("day-{}.toml", at + 1);
        sheets.push(sheet(name, &day_comment(seed, &looks), &day));
    }
    for file in &sheets {
        lay_out(file)?;
    }
    sheets.push(TrialFile {
        name: "log.csv".into(),
        text: log_csv(&rows),
    });
    write(args, &sheets)?;
    let swim_s = swim_s(&base)?;
    let report = TrialSetOut {
        trial: name,
        folder: args.out.display().to_string(),
        seed,
        pairs: usize::from(args.pairs),
        days: in_words(days),
        files: sheets.into_iter().map(|sheet| sheet.name).collect(),
        warnings: warnings(&before, swim_s),
        foreseen: Foreseen::new(&before.scatter, &looks, swim_s),
        swim: base.sets[0].swim.to_string(),
        rate: base.sets[0].rate.ends().0.both_ways(),
        swimmer: args.swimmer.clone(),
        looks,
    };
    tell(&report, args.json)
}

impl NewTrialArgs {
    /// A day for every four pairs, unless it was said.
    fn days(&self) -> usize {
        let usual = usize::from(self.pairs).div_ceil(PAIRS_A_DAY).max(2);
        self.days.map_or(usual, usize::from)
    }
}

/// The pairing of each swim, day by day, in words.
fn in_words(days: Vec<Vec<Pairing>>) -> Vec<Vec<&'static str>> {
    let words = |swims: Vec<Pairing>| swims.into_iter().map(Pairing::word).collect();
    days.into_iter().map(words).collect()
}

/// A trial is looked at after each day from the second on.
fn looks(days: &[Vec<Pairing>], margin: Fix) -> Result<TrialLooks> {
    let mut pairs = 0;
    let after: Vec<usize> = (days.iter())
        .map(|swims| {
            pairs += swims.len() / 2;
            pairs
        })
        .collect();
    TrialLooks::new(after[1..].to_vec(), margin).map_err(margin_refused)
}

/// The difference worth having, per cent.
fn margin(args: &NewTrialArgs) -> Result<Fix> {
    let number = args.margin.trim().strip_suffix('%').map(str::trim_end);
    number
        .ok_or_else(|| format!("found {:?}, without its %", args.margin))
        .and_then(decimal)
        .map_err(margin_refused)
}

fn margin_refused(why: String) -> Error {
    Error::input(why)
        .at("--margin")
        .accepted("a share of the time, 0.1 % to 10 %")
        .example("--margin \"1 %\"")
}

/// What a hand-held time is off by, s (common practice, no source).
const HAND_HELD_S: f64 = 0.2;

/// What the swimmer should know before the trial.
fn warnings(before: &Before, swim_s: f64) -> Vec<String> {
    let kept = |pairings: &str, was: &str| {
        format!(
            "{pairings} {was} not yet kept on two days (three of four lengths), as far as a log \
             says: this measures what you are used to. Practise first"
        )
    };
    let new = match &before.not_yet_kept[..] {
        [] => None,
        [one] => Some(kept(&full(*one), "was")),
        _ => Some(kept("the two pairings", "were")),
    };
    let short = (swim_s < LONG_ENOUGH_S).then(|| {
        format!(
            "a swim takes {swim_s:.0} s, of which the {HAND_HELD_S} s of a hand-held time are \
             {:.1} %: swims of {LONG_ENOUGH_S} s or more find smaller differences",
            100.0 * HAND_HELD_S / swim_s
        )
    });
    new.into_iter().chain(short).collect()
}

fn name(args: &NewTrialArgs) -> Result<String> {
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

fn check_numbers(args: &NewTrialArgs) -> Result<()> {
    let (pairs, blocks, days) = (args.pairs, usize::from(args.pairs / 2), args.days());
    if pairs % 2 == 1 {
        return Err(Error::input(format!("found {pairs}, an odd number"))
            .at("--pairs")
            .accepted("an even number: a block of four swims is two pairs")
            .example("--pairs 8"));
    }
    if blocks < days {
        let found = format!("{pairs} pairs are {blocks} blocks, fewer than {days} days");
        return Err(Error::input(found)
            .at("--days")
            .accepted("a block (two pairs) or more a day")
            .example("--pairs 8 --days 2"));
    }
    let (all, different) = (args.on.len(), BTreeSet::from_iter(&args.on).len());
    if all > 0 && (different != all || different != days) {
        let found = format!("found {all} dates, {different} of them different, for {days} days");
        return Err(Error::input(found)
            .at("--on")
            .accepted("one date a day, or none at all")
            .example("--on 2026-11-27 --on 2026-11-30"));
    }
    Ok(())
}

/// Any seed will do; six digits are easily kept and typed.
fn by_the_clock() -> u64 {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    u64::from(since.subsec_nanos()) % 1_000_000
}

fn write(args: &NewTrialArgs, sheets: &[TrialFile]) -> Result<()> {
    let folder = args.out.display();
    if args.out.exists() && !args.out.is_dir() {
        return Err(Error::failed("this is a file, and a trial needs a folder")
            .at(folder)
            .example("--out trial-alex"));
    }
    for sheet in sheets {
        may_write(&args.out.join(&sheet.name), args.force).map_err(|error| {
            error
                .accepted(
                    "another folder, or --force to replace what is there, a filled-in log too",
                )
                .example("--out trial-alex-2")
        })?;
    }
    std::fs::create_dir_all(&args.out)
        .map_err(|error| Error::io("this folder cannot be made", folder, &error))?;
    for sheet in sheets {
        save(&args.out.join(&sheet.name), &sheet.text)?;
    }
    Ok(())
}
