//! `plan export`: the tracks of a week, for one swimmer or a squad; only what changed.

use std::path::{Component, Path, PathBuf};

use super::export_view::SquadReport;
use super::flags::today_of;
use super::inputs::{Given, beside, days, overlap, overlapping, say_notes, swimmer_of};
use super::old_weeks::{clear, old_weeks};
use super::prepare::{Athlete, written_sessions};
use super::squad::{Task, write_all};
use super::verdict::to_swim;
use crate::analysis::weeks::Standing;
use crate::cli::shared::args::SpeechArgs;
use crate::cli::shared::out;
use crate::cli::shared::report::tell;
use crate::error::{Error, Result};
use crate::export::Folder;
use crate::files::{Member, read_plan, read_squad};
use crate::model::plan::TrainingPlan;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane plan export alex-plan.toml --week 5 --out tracks\n  \
                  cuelane plan export --squad squad.toml --week 5\n\n\
                  Each training day gets a folder of its own, week-05-2027-03-29-mon, with its tracks,\n\
                  contents.txt, and session.toml, against which check reads the tracks; sheet.html to fill in\n\
                  by hand, and the same rows in log-to-fill.csv, which log add --from takes in. With a log\n\
                  the rates are where the log has moved them."
)]
pub struct PlanExportArgs {
    /// The plan's file
    #[arg(required_unless_present = "squad", conflicts_with = "squad")]
    pub plan: Option<String>,
    /// A squad's file: plans and folders of many swimmers
    #[arg(long, value_name = "FILE")]
    pub squad: Option<String>,
    /// Folder for the tracks; made if it is not there
    #[arg(
        long,
        value_name = "DIR",
        required_unless_present = "squad",
        conflicts_with = "squad"
    )]
    pub out: Option<String>,
    /// Which week [default: the first that is not over]
    #[arg(long, value_name = "N", conflicts_with = "all")]
    pub week: Option<usize>,
    /// Every week of the plan
    #[arg(long)]
    pub all: bool,
    /// The log that moves the rates [default: the plan's, or log.csv where there is one]
    #[arg(long, value_name = "FILE", conflicts_with = "squad")]
    pub log: Option<String>,
    /// The day that counts as today, as 2027-03-14 [default: today]
    #[arg(long, value_name = "DATE")]
    pub today: Option<String>,
    /// Clear the folders of earlier weeks, after asking
    #[arg(long)]
    pub tidy: bool,
    /// Do not ask before clearing
    #[arg(long, requires = "tidy")]
    pub yes: bool,
    /// At most so many tracks at a time [default: one for each core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=256))]
    pub cores: Option<u64>,
    #[command(flatten)]
    pub voice: SpeechArgs,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `plan export`; gives the exit code.
///
/// # Errors
/// Where nothing could be begun, or, for one swimmer, where it stopped.
pub fn run(args: &PlanExportArgs) -> Result<u8> {
    let today = today_of(args.today.as_deref())?;
    let alone = args.squad.is_none();
    let members = members(args)?;
    let athletes: Vec<Result<Athlete>> = (members.iter())
        .map(|member| athlete(args, member, today, alone))
        .collect();
    let athletes = apart(athletes);
    if alone && let Some(Err(error)) = athletes.first() {
        return Err(error.clone());
    }
    let tasks = tasks(&athletes);
    let cores = match args.cores {
        Some(cores) => cores as usize,
        None => std::thread::available_parallelism().map_or(1, usize::from),
    };
    let outcomes = write_all(&athletes, &tasks, cores, |told| {
        if !args.json {
            out::note(told);
        }
    })?;
    if alone && let Some(Err(error)) = outcomes.iter().find(|outcome| outcome.is_err()) {
        return Err(error.clone());
    }
    let mut cleared = Vec::new();
    if args.tidy {
        let old: Vec<_> = (athletes.iter().flatten())
            .flat_map(|athlete| {
                let first = athlete.days.iter().map(|day| day.week).min().unwrap_or(0);
                old_weeks(athlete.folder.path(), first)
            })
            .collect();
        cleared = clear(&old, args.yes)?;
    }
    let report = SquadReport::new(&members, &athletes, &tasks, &outcomes, cleared.len());
    let errors: Vec<String> = report.errors().collect();
    if !args.json {
        for error in &errors {
            out::note(&format!("error: {error}"));
        }
    }
    tell(&report, args.json)?;
    Ok(u8::from(!errors.is_empty()))
}

fn members(args: &PlanExportArgs) -> Result<Vec<Member>> {
    match (&args.squad, &args.plan, &args.out) {
        (Some(file), _, _) => {
            let squad = read_squad(file)?;
            let home = Path::new(file).parent().unwrap_or(Path::new(""));
            // A squad's files stand beside it.
            let near = |name: &String| beside(file, name);
            let members: Vec<Member> = (squad.into_iter())
                .map(|member| Member {
                    swimmer: member.swimmer.as_ref().map(near),
                    plan: near(&member.plan),
                    log: member.log.as_ref().map(near),
                    folder: home.join(&member.folder).display().to_string(),
                    at: member.at,
                })
                .collect();
            say_where(home, &members)?;
            Ok(members)
        }
        (None, Some(plan), Some(folder)) => Ok(vec![Member {
            swimmer: None,
            plan: plan.clone(),
            log: args.log.clone(),
            folder: folder.clone(),
            at: None,
        }]),
        _ => Err(
            Error::input("neither a plan with --out nor a squad was given")
                .accepted("PLAN --out DIR, or --squad FILE")
                .example("cuelane plan export alex-plan.toml --out tracks"),
        ),
    }
}

/// Says which folders lie outside the one that the squad's file is in: whoever was handed that file
/// may not know where it writes.
///
/// # Errors
/// When two swimmers share a folder, by whatever names.
fn say_where(home: &Path, members: &[Member]) -> Result<()> {
    let home = real(home);
    let mut folders: Vec<PathBuf> = Vec::with_capacity(members.len());
    for member in members {
        let folder = real(Path::new(&member.folder));
        if let Some(at) = folders.iter().position(|other| *other == folder) {
            return Err(member.shares(&members[at]));
        }
        if !folder.starts_with(&home) {
            let place = member.at.as_ref().map(|at| format!("{at}: "));
            out::note(&format!(
                "note: {}the tracks of {} go to {}, outside the squad's own folder {}",
                place.unwrap_or_default(),
                member.plan,
                folder.display(),
                home.display()
            ));
        }
        folders.push(folder);
    }
    Ok(())
}

/// Where a path leads, through every link of what is there.
fn real(path: &Path) -> PathBuf {
    let mut led = PathBuf::new();
    for part in std::path::absolute(path).unwrap_or_default().components() {
        match part {
            Component::ParentDir => {
                led.pop();
            }
            part => led.push(part),
        }
        led = led.canonicalize().unwrap_or(led);
    }
    led
}

fn athlete(
    args: &PlanExportArgs,
    member: &Member,
    today: jiff::civil::Date,
    alone: bool,
) -> Result<Athlete> {
    let plan = read_plan(&member.plan)?;
    let swimmer = swimmer_of(&plan, member.swimmer.as_deref())?;
    let mut given = match (alone, &member.log, &plan.log) {
        // A squad's swimmers do not share the one log.csv that may lie about.
        (false, None, None) => Given::without_log(plan, swimmer, today),
        (_, log, _) => Given::of(plan, swimmer, log.as_deref(), today)?,
    };
    given.take_steps(None)?;
    if alone && !args.json {
        say_notes(&given);
    }
    let standing = given.standing(None);
    let weeks = wanted(args, &given.plan, &standing)?;
    let days = days(&given.plan, &standing).into_iter();
    let days = days.filter(|day| weeks.contains(&day.week)).collect();
    let sessions = written_sessions(&given.plan)?;
    Ok(Athlete {
        plan: given.plan,
        swimmer: given.swimmer,
        sessions,
        line: given.line,
        folder: Folder::hold(Path::new(&member.folder))?,
        days,
        speech: args.voice.clone(),
    })
}

/// The weeks asked for.
fn wanted(args: &PlanExportArgs, plan: &TrainingPlan, standing: &Standing) -> Result<Vec<usize>> {
    let last = standing.weeks.len();
    let refuse = |found: String| {
        Error::input(found)
            .at(&plan.source)
            .accepted(format!("a week from 1 to {last}"))
            .example("--week 1")
    };
    match (args.all, args.week, to_swim(standing)) {
        (true, _, _) => Ok((1..=last).collect()),
        (false, Some(week), _) if (1..=last).contains(&week) => Ok(vec![week]),
        (false, Some(week), _) => Err(refuse(format!("--week: found {week}"))),
        (false, None, Some(week)) => Ok(vec![week.week]),
        (false, None, None) => Err(refuse("the plan has ended".into())),
    }
}

/// Refuses the plans of one swimmer that overlap.
fn apart(athletes: Vec<Result<Athlete>>) -> Vec<Result<Athlete>> {
    let mut kept: Vec<Result<Athlete>> = Vec::with_capacity(athletes.len());
    for athlete in athletes {
        let athlete = athlete.and_then(|athlete| {
            let same = |other: &&Athlete| {
                other.swimmer.source == athlete.swimmer.source
                    && overlap(&other.plan, &athlete.plan)
            };
            match kept.iter().flatten().find(same) {
                Some(other) => Err(overlapping(&athlete.plan.source, &other.plan)),
                None => Ok(athlete),
            }
        });
        kept.push(athlete);
    }
    kept
}

/// Every training day of every swimmer, swimmer by swimmer, day by day.
fn tasks(athletes: &[Result<Athlete>]) -> Vec<Task> {
    let days = |(at, athlete): (usize, &Result<Athlete>)| -> Vec<Task> {
        let days = athlete.as_ref().map_or(0, |athlete| athlete.days.len());
        (0..days).map(|day| Task { athlete: at, day }).collect()
    };
    athletes.iter().enumerate().flat_map(days).collect()
}
