//! `plan new`: a file to edit, made from flags and answers.

use std::io::{self, IsTerminal};
use std::path::{Component, Path, PathBuf};

use jiff::Span;
use jiff::civil::Date;

use super::flags::{clock, date, refused, zone};
use super::inputs::{Given, beside, overlap, overlapping, write_and_tell};
use super::verdict::takes;
use crate::cli::shared::date::today;
use crate::cli::shared::out;
use crate::cli::shared::save::may_write;
use crate::cli::shared::swum::{flag, quantity};
use crate::cli::shared::words::fill;
use crate::error::{Error, Result};
use crate::files::{
    DAYS_ACCEPTED, NewPlan, check_end, load_session, new_course, new_plan, preset_swimmer,
    read_plan, read_steps, read_swimmer, training_days,
};
use crate::model::plan::{COURSE, COURSE_WEEKS, MOST_WEEKS, TrainingPlan, shown};
use crate::model::session::RepeatSwim;
use crate::units::{Rate, Time, print_decimal, to_f64, with_unit};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  cuelane plan new --swimmer alex.toml --from \"52 spm\" --to \"60 spm\" --weeks 12 \\\n    \
                  --days \"mon wed fri\" --start 2027-03-01 --out alex-plan.toml"
)]
pub struct NewArgs {
    /// The swimmer's file, or the name of an invented swimmer
    #[arg(long, value_name = "FILE")]
    pub swimmer: Option<String>,
    /// The rate of the first week: "52 spm"
    #[arg(long, value_name = "RATE")]
    pub from: Option<String>,
    /// The goal: "60 spm"
    #[arg(long, value_name = "RATE")]
    pub to: Option<String>,
    /// How many weeks
    #[arg(long, value_name = "N")]
    pub weeks: Option<String>,
    /// Training days: "mon wed fri"
    #[arg(long)]
    pub days: Option<String>,
    /// The first day, as 2027-03-01
    #[arg(long, value_name = "DATE")]
    pub start: Option<String>,
    /// In place of a goal and weeks: the course of who has never done it, at the own rate
    #[arg(long, value_name = "COURSE", value_parser = [COURSE], conflicts_with_all = [
        "to", "weeks", "repeats", "swim", "rest", "session", "steps", "confirm", "no_compare",
    ])]
    pub course: Option<String>,
    /// The file to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Swims a day, those without cues included
    #[arg(long, value_name = "N")]
    pub repeats: Option<String>,
    /// What each swims: "50 m", "45 s"
    #[arg(long)]
    pub swim: Option<String>,
    /// Rest after each swim
    #[arg(long)]
    pub rest: Option<String>,
    /// A session of your own in place of these swims; one for each training day, in turn
    #[arg(long, value_name = "FILE", conflicts_with_all = ["repeats", "swim", "rest"])]
    pub session: Vec<String>,
    /// When a session starts, for the calendar: 18:00
    #[arg(long)]
    pub time: Option<String>,
    /// The time zone of that, such as Europe/Berlin [default: local time, wherever that is]
    #[arg(long)]
    pub zone: Option<String>,
    /// The log that the plan is judged by
    #[arg(long, value_name = "FILE")]
    pub log: Option<String>,
    /// A step test: the swimmer's own length-on-rate line
    #[arg(long, value_name = "FILE")]
    pub steps: Option<String>,
    /// A goal more than 20 % above the first rate is meant, and a coach agrees
    #[arg(long)]
    pub confirm: bool,
    /// Leave out the swims at the first rate, for comparison: a loss, or a gain, is seen later
    #[arg(long)]
    pub no_compare: bool,
    /// Replace a file that is there
    #[arg(long)]
    pub force: bool,
}

/// Runs `plan new`.
pub fn run(args: &NewArgs) -> Result<()> {
    let file = args.out.display().to_string();
    may_write(&args.out, args.force).map_err(|error| error.example("--out alex-plan-2.toml"))?;
    if args.course.is_some() {
        return new_first_course(args, &file);
    }
    let [swimmer, from, to, weeks, days, start] = answers(args)?;
    let athlete = read_swimmer(&swimmer)?;
    check_flags(args, [&from, &to, &weeks, &days, &start])?;
    for session in &args.session {
        load_session(session)?;
    }
    if let Some(steps) = &args.steps {
        read_steps(steps)?;
    }
    let here = |name: &String| seen_from(&args.out, name);
    let new = NewPlan {
        swimmer: here(&swimmer),
        from,
        to,
        weeks,
        days: day_words(&days).map(String::from).collect(),
        start,
        time: args.time.clone(),
        zone: args.zone.clone(),
        sessions: args.session.iter().map(here).collect(),
        repeats: args.repeats.clone(),
        swim: args.swim.clone(),
        rest: args.rest.clone(),
        log: args.log.as_ref().map(here),
        steps: args.steps.as_ref().map(here),
        confirmed: args.confirm,
        no_compare: args.no_compare,
    };
    let (text, plan) = new_plan(&file, &new)?;
    refuse_overlap(args, &plan, &swimmer)?;
    let mut told = format!(
        "; edit it by hand whenever you like.\n\n{}\n",
        path_in_words(&plan)
    );
    let swims = match args.log.as_deref().filter(|log| Path::new(log).is_file()) {
        Some(log) => Given::of(plan.clone(), athlete.clone(), Some(log), today())?.swims,
        None => Vec::new(),
    };
    told += &fill(&takes(&plan, &swims));
    told.push('\n');
    let own = athlete.rate.as_ref();
    let differs = |own: &&Rate| (to_f64(own.spm()) / to_f64(plan.from.spm()) - 1.0).abs() > 0.05;
    if let Some(own) = own.filter(differs) {
        let (name, own, from) = (&athlete.name, own.short(), plan.from.short());
        told += &fill(&format!(
            "{name}'s own rate is {own}; the plan starts at {from}."
        ));
        told.push('\n');
    }
    write_and_tell(
        &args.out,
        &text,
        &format!("{told}Next: cuelane plan show {file}"),
    )
}

/// Writes the course. The own rate is the swimmer's, where their file says it.
fn new_first_course(args: &NewArgs, file: &str) -> Result<()> {
    let said = |at: usize, answer: &Option<String>| match answer {
        Some(answer) => Ok(answer.clone()),
        None => asked(at),
    };
    let swimmer = said(0, &args.swimmer)?;
    let own = read_swimmer(&swimmer)?.rate.map(|rate| rate.to_string());
    let from = said(1, &args.from.clone().or(own))?;
    let (days, start) = (said(4, &args.days)?, said(5, &args.start)?);
    check_flags(
        args,
        [&from, &from, &COURSE_WEEKS.to_string(), &days, &start],
    )?;
    let here = |name: &String| seen_from(&args.out, name);
    let new = NewPlan {
        swimmer: here(&swimmer),
        from,
        days: day_words(&days).map(String::from).collect(),
        start,
        time: args.time.clone(),
        zone: args.zone.clone(),
        log: args.log.as_ref().map(here),
        ..NewPlan::default()
    };
    let (text, plan) = new_course(file, &new)?;
    refuse_overlap(args, &plan, &swimmer)?;
    let told = fill(&format!(
        "The course stays at {}. A step goes on once three of four lengths were kept on two days; \
         at three days a week it takes about {COURSE_WEEKS} weeks, 14 to 18 sessions \
         (common practice, no source).",
        plan.from.both_ways()
    ));
    let next = format!("Next: cuelane plan show {file} --page");
    write_and_tell(&args.out, &text, &format!(".\n\n{told}\n{next}"))
}

/// What must be known, in the order of [`NEEDED`]: from the flags, else asked for.
fn answers(args: &NewArgs) -> Result<[String; 6]> {
    let mut said = [
        &args.swimmer,
        &args.from,
        &args.to,
        &args.weeks,
        &args.days,
        &args.start,
    ]
    .map(|answer| answer.clone().unwrap_or_default());
    for (at, answer) in said.iter_mut().enumerate() {
        if answer.is_empty() {
            *answer = asked(at)?;
        }
    }
    Ok(said)
}

/// Asks for one of [`NEEDED`], where there is a terminal.
fn asked(at: usize) -> Result<String> {
    let (flag, question, example) = NEEDED[at];
    if io::stdin().is_terminal() {
        return ask(question, at);
    }
    Err(
        Error::input("is not given, and there is no terminal to ask at")
            .at(flag)
            .accepted("--swimmer, --from, --to, --weeks, --days, --start and --out")
            .example(format!("{flag} {example}")),
    )
}

/// What must be known: flag, question, example.
const NEEDED: [(&str, &str, &str); 6] = [
    ("--swimmer", "Swimmer's file", "alex.toml"),
    (
        "--from",
        "Rate of the first week in strokes/min of both arms, such as 52",
        "\"52 spm\"",
    ),
    (
        "--to",
        "Goal in strokes/min of both arms, such as 60",
        "\"60 spm\"",
    ),
    ("--weeks", "Weeks", "12"),
    (
        "--days",
        "Training days, such as mon wed fri",
        "\"mon wed fri\"",
    ),
    ("--start", "First day, year-month-day", "2027-03-01"),
];

/// Whether an answer holds, in the order of [`NEEDED`].
const CHECKS: [fn(&str) -> Result<()>; 6] = [
    |text| read_swimmer(text).map(drop),
    |text| quantity::<Rate>("--from", text).map(drop),
    |text| quantity::<Rate>("--to", text).map(drop),
    |text| check_weeks(text).map(drop),
    |text| check_days(text),
    |text| date("--start", text).map(drop),
];

/// Asks until the answer to question `at` holds, so that a slip costs one line and not all of them.
/// A first day that is left open is next Monday; a rate's unit was said.
fn ask(question: &str, at: usize) -> Result<String> {
    let (flag, ..) = NEEDED[at];
    let usual = (flag == "--start").then(|| next_monday(today()).to_string());
    let empty = usual
        .as_ref()
        .map(|usual| format!(" (empty: {usual}, next Monday)"));
    let question = format!("{question}{}: ", empty.unwrap_or_default());
    loop {
        let Some(answer) = out::ask(&question)? else {
            return Err(Error::input("the answers ended early")
                .at("standard input")
                .accepted("an answer to each question, or the flags")
                .example("cuelane plan new --help"));
        };
        let answer = match (flag, &usual) {
            (_, Some(usual)) if answer.is_empty() => usual.clone(),
            ("--from" | "--to", _) => with_unit(&answer, "spm"),
            _ => answer,
        };
        if !answer.is_empty() {
            match CHECKS[at](&answer) {
                Ok(()) => return Ok(answer),
                Err(error) => out::note(&format!("  {error}")),
            }
        }
    }
}

/// The Monday after a day.
fn next_monday(day: Date) -> Date {
    let days = 7 - i64::from(day.weekday().to_monday_zero_offset());
    day.saturating_add(Span::new().days(days))
}

fn day_words(days: &str) -> impl Iterator<Item = &str> {
    (days.split(|c: char| c.is_whitespace() || c == ',')).filter(|word| !word.is_empty())
}

/// Refuses what no plan could hold where it was said: by the flag, not by a line of a file that
/// is not there yet.
fn check_flags(args: &NewArgs, [from, to, weeks, days, start]: [&String; 5]) -> Result<()> {
    quantity::<Rate>("--from", from)?;
    quantity::<Rate>("--to", to)?;
    let weeks = check_weeks(weeks)?;
    check_days(days)?;
    check_end(date("--start", start)?, weeks)
        .map_err(|error| error.at("--start").example("--start 2027-03-01"))?;
    if let Some(time) = &args.time {
        clock(time, "00:00 to 23:59")?;
    }
    if let Some(name) = &args.zone {
        zone(name)?;
    }
    flag::<RepeatSwim>("--swim", args.swim.as_deref())?;
    flag::<Time>("--rest", args.rest.as_deref())?;
    Ok(())
}

fn check_weeks(text: &str) -> Result<u64> {
    let in_range = |weeks: &u64| (1..=MOST_WEEKS as u64).contains(weeks);
    text.trim().parse().ok().filter(in_range).ok_or_else(|| {
        let accepted = format!("a whole number from 1 to {MOST_WEEKS}");
        refused("--weeks", &accepted, "12", format!("found {text:?}"))
    })
}

fn check_days(text: &str) -> Result<()> {
    (training_days(day_words(text)).map(drop))
        .map_err(|why| refused("--days", DAYS_ACCEPTED, "\"mon wed fri\"", why))
}

/// A file's name as the plan's folder sees it.
fn seen_from(plan: &Path, name: &String) -> String {
    let is_path = name.contains(['/', '\\']) || name.contains('.');
    let folder = plan.parent().unwrap_or(Path::new(""));
    let plain = |path: &Path| {
        (path.components()).all(|part| matches!(part, Component::Normal(_) | Component::CurDir))
    };
    if !is_path || preset_swimmer(name).is_some() || Path::new(name).is_absolute() {
        return name.clone();
    }
    if plain(folder) {
        let normal = |part: &Component| matches!(part, Component::Normal(_));
        let up = "../".repeat(folder.components().filter(normal).count());
        let inside = Path::new(name).strip_prefix(folder).ok();
        let inside = inside.filter(|_| !up.is_empty());
        inside.map_or(up + name, |inside| inside.display().to_string())
    } else {
        std::path::absolute(name).map_or_else(|_| name.clone(), |path| path.display().to_string())
    }
}

/// Refuses a plan whose weeks overlap those of another of the same swimmer in the same folder.
fn refuse_overlap(args: &NewArgs, plan: &TrainingPlan, swimmer: &str) -> Result<()> {
    let folder = match args.out.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Ok(());
    };
    let same = |one: &Path, other: &Path| match (one.canonicalize(), other.canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        _ => one == other,
    };
    for entry in entries.flatten() {
        let path = entry.path();
        let is_toml = path.extension().is_some_and(|ending| ending == "toml");
        if !is_toml || same(&path, &args.out) {
            continue;
        }
        // Sessions and swimmers stand there too: what is no plan is passed over.
        let Ok(other) = read_plan(&path.display().to_string()) else {
            continue;
        };
        let theirs = beside(&other.source, &other.swimmer);
        if same(Path::new(&theirs), Path::new(swimmer)) && overlap(&other, plan) {
            return Err(overlapping(&plan.source, &other));
        }
    }
    Ok(())
}

/// The rates of all weeks, a few on a line.
fn path_in_words(plan: &TrainingPlan) -> String {
    let path = plan.path();
    let rate = |week: usize| print_decimal(&shown(path.rate(week))).unwrap_or_default();
    let rates: Vec<String> = (1..=plan.weeks).map(rate).collect();
    let last = plan.last_day();
    fill(&format!(
        "{} to {} in {} weeks, {} to {last}. Week by week, spm: {}. Weeks that {} divides hold; cues on \
         {} of the cycles at first, {} at the end.",
        plan.from.short(),
        plan.to.short(),
        plan.weeks,
        plan.start,
        rates.join(", "),
        plan.rules.hold_every,
        percent(to_f64(path.share(1))),
        percent(to_f64(path.share(plan.weeks))),
    ))
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

#[cfg(test)]
mod tests {
    use super::next_monday;

    #[test]
    fn next_monday_is_never_today() {
        // 2026-11-23 is a Monday.
        for (day, monday) in [
            ("2026-11-22", "2026-11-23"),
            ("2026-11-23", "2026-11-30"),
            ("2026-11-26", "2026-11-30"),
        ] {
            let day = day.parse().expect("a date");
            assert_eq!(next_monday(day).to_string(), monday);
        }
    }
}
