//! `trial new`: the sessions of a trial and the rows to fill in.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

use super::before::{Before, before};
use super::new_view::{Foreseen, TrialSetOut};
use super::sheets::{TrialFile, day, day_comment, day_rows, lay_out, practise, sheet, spread};
use super::verdict::full;
use crate::analysis::trial::order;
use crate::analysis::trial_foreseen::PAIRS_A_DAY;
use crate::cli::shared::load::{in_any_folder, word};
use crate::cli::shared::report::tell;
use crate::cli::shared::save::{may_write, save};
use crate::cli::shared::swum::{flag, quantity};
use crate::error::{Error, Result};
use crate::files::{log_csv, read_swimmer};
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::{Resolved, resolve};
use crate::model::session::{RatePlan, RepeatSwim, SwimWish};
use crate::model::swimmer::Swimmer;
use crate::model::trial_looks::{MOST_DRAWN, TrialLooks};
use crate::model::wishes::{Session, Wishes, said};
use crate::timeline::Schedule;
use crate::units::{Fix, Length, Quantity, Rate, RateWish, decimal, exact, to_f64};

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
    /// The one stroke rate of all swims: "54 spm", "27 cpm", "-2 spm" [default: the swimmer's]
    #[arg(long, value_name = "RATE", allow_hyphen_values = true)]
    stroke_rate: Option<String>,
    /// two-beat, four-beat or six-beat [default: the swimmer's, or two-beat]
    #[arg(long)]
    kick: Option<String>,
    /// The distance of each swim [default: as many lengths as take 45 s]
    #[arg(long, value_name = "DISTANCE")]
    swim: Option<String>,
    /// The pool [default: the swimmer's, or 25 m]
    #[arg(long, value_name = "LENGTH")]
    pool: Option<String>,
    /// A clock pace, to tell how long a swim takes: "2:05 / 100 m" [default: the swimmer's]
    #[arg(long)]
    pace: Option<String>,
    /// The rest after every swim
    #[arg(long, value_name = "TIME", default_value = "60 s")]
    rest: String,
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
    let base = base(args, swimmer.as_ref())?;
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

/// How long a swim of the trial takes, s.
fn swim_s(base: &Resolved) -> Result<f64> {
    let schedule = Schedule::new(base)?;
    Ok(schedule
        .repeats
        .first()
        .map_or(0.0, |swim| to_f64(&swim.swim_s())))
}

/// Swims that take so long are timed by hand to a few tenths of a per cent.
const LONG_ENOUGH_S: f64 = 45.0;
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

/// The kicks that have a pairing.
const WITH_PAIRING: &str = "two-beat, four-beat, six-beat";

/// What every swim shares, decided from flags and swimmer as any set is.
fn base(args: &NewTrialArgs, swimmer: Option<&Swimmer>) -> Result<Resolved> {
    let asked: Option<RepeatSwim> = flag("--swim", args.swim.as_deref())?;
    let swim = (asked.clone()).unwrap_or(RepeatSwim::Distance(Length::from_metres(exact(50))));
    if matches!(swim, RepeatSwim::Time(_)) {
        return Err(
            Error::input(format!("found {swim}, a time: times are what is compared"))
                .at("--swim")
                .accepted("a distance")
                .example("--swim \"50 m\""),
        );
    }
    let kick = args.kick.as_deref().map(|text| word("--kick", text));
    let kick: Option<Kick> = kick
        .transpose()
        .map_err(|error| error.accepted(WITH_PAIRING))?;
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
        swim: said(SwimWish::Swim(swim)),
        rate: said(RatePlan::Steady(RateWish::Absolute(writable(rate)?))),
        kick: kick.and_then(said),
        pool: flag("--pool", args.pool.as_deref())?.and_then(said),
        pace: flag("--pace", args.pace.as_deref())?.and_then(said),
        ..Wishes::default()
    };
    let session = Session {
        source: "trial new".into(),
        defaults: layer,
        sets: said(Wishes::default()).into_iter().collect(),
        ..Session::default()
    };
    let mut resolved = resolve(&session, swimmer, &Wishes::default())?;
    resolved.sets[0].rest = Some(quantity("--rest", &args.rest)?);
    if asked.is_none() {
        resolved = long_enough(resolved)?;
    }
    match resolved.sets[0].kick {
        Kick::Pull => Err(
            Error::input("found pull: without a kick there is no pairing")
                .at("--kick")
                .accepted(WITH_PAIRING)
                .example("--kick two-beat"),
        ),
        _ => in_any_folder(&resolved),
    }
}

/// Swims as many lengths as take [`LONG_ENOUGH_S`]; in a short pool an even number, which end
/// where the watch is.
fn long_enough(mut base: Resolved) -> Result<Resolved> {
    let pool = base.sets[0].pool.clone();
    let step = if *pool.metres() < exact(50) { 2 } else { 1 };
    for lengths in (step..).step_by(step) {
        base.sets[0].swim = RepeatSwim::Distance(pool.times(lengths as u64));
        if swim_s(&base)? >= LONG_ENOUGH_S {
            break;
        }
    }
    Ok(base)
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
