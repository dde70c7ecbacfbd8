//! `plan calendar`: the training days for a calendar program.

use std::fmt::Write as _;
use std::path::PathBuf;

use jiff::civil::Time as Clock;

use super::flags::{clock, zone as zone_of};
use super::inputs::{Given, PlanFileArgs, days, say_notes, write_and_tell};
use super::prepare::{decided, written_sessions};
use crate::chart::calendar::{CalendarDay, calendar};
use crate::error::Result;
use crate::model::plan::{Day, weekday_word};
use crate::model::resolve::Resolved;
use crate::model::words;
use crate::timeline::Schedule;
use crate::units::{ceil_u64, exact, floor_u64};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  cuelane plan calendar alex-plan.toml --time 18:00 --out alex.ics\n\n\
                  Importing the file again updates the same entries. With a zone the times are instants,\n\
                  without one local times; both stay right when the clocks change."
)]
pub struct CalendarArgs {
    #[command(flatten)]
    pub plan: PlanFileArgs,
    /// The file to write
    #[arg(long, value_name = "FILE.ics")]
    pub out: PathBuf,
    /// When a session starts [default: the plan's, or 18:00]
    #[arg(long)]
    pub time: Option<String>,
    /// The time zone of that, such as Europe/Berlin [default: the plan's, or local time]
    #[arg(long)]
    pub zone: Option<String>,
}

/// Runs `plan calendar`.
pub fn run(args: &CalendarArgs) -> Result<()> {
    let accepted = "a time from 00:00 to 23:59";
    let time = args.time.as_ref().map(|text| clock(text, accepted));
    let zone = args.zone.as_ref().map(|text| zone_of(text));
    let (time, zone) = (time.transpose()?, zone.transpose()?);
    let given = Given::read(&args.plan)?;
    say_notes(&given);
    let plan = &given.plan;
    let time = time.or(plan.time).unwrap_or(Clock::constant(18, 0, 0, 0));
    let zone = zone.or_else(|| plan.zone.clone());
    let standing = given.standing(None);
    let sessions = written_sessions(plan)?;
    let mut entries = Vec::new();
    for day in days(plan, &standing) {
        let session = decided(plan, &given.swimmer, &sessions, given.line, &day)?;
        entries.push(entry(&given, &day, &session, time)?);
    }
    let name = format!("Plan of {}", given.swimmer.name);
    let alarm_s = floor_u64(plan.alarm.s()).map_or(0, |s| s as i64);
    let text = calendar(
        &name,
        &entries,
        zone.as_deref(),
        alarm_s,
        jiff::Timestamp::now(),
    )?;
    let about = format!(
        ": {} training days at {}, {}",
        entries.len(),
        time.strftime("%H:%M"),
        zone.as_deref().unwrap_or("local time")
    );
    write_and_tell(&args.out, &text, &about)
}

fn entry(given: &Given, day: &Day, session: &Resolved, time: Clock) -> Result<CalendarDay> {
    let schedule = Schedule::new(session)?;
    // Whole minutes, as calendars show them.
    let minutes = ceil_u64(&(schedule.total_s / exact(60))).unwrap_or(0);
    let mut description = set_list(session).join("\n");
    let _ = write!(description, "\n\n{}", words::PLAN_CAUTION);
    let swimmer = &given.swimmer.name;
    Ok(CalendarDay {
        // The day of the plan, not its rate: a moved rate updates the entry.
        uid: format!(
            "{}-{}-week-{:02}-{}@cuelane",
            plain(swimmer),
            given.plan.start,
            day.week,
            weekday_word(day.date.weekday())
        ),
        date: day.date,
        time,
        length_s: 60 * minutes as i64,
        title: format!("{swimmer}: {}", session.title),
        description,
    })
}

/// The sets of a session, a line each, as swimmers write them.
pub fn set_list(session: &Resolved) -> Vec<String> {
    (session.sets.iter())
        .map(|set| {
            format!(
                "{}: {}, {}, {}",
                set.name,
                words::notation(set),
                set.rate.short(),
                words::cues(set)
            )
        })
        .collect()
}

/// A name as an identifier may hold it.
fn plain(name: &str) -> String {
    let ascii = deunicode::deunicode(name).to_lowercase();
    let words = ascii.split(|c: char| !c.is_ascii_alphanumeric());
    words
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("-")
}
