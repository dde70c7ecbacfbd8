//! `plan report`: the athlete's page.

use std::path::PathBuf;

use super::calendar::set_list;
use super::chart::{in_words, picture};
use super::course::stands;
use super::film::WeekFilm;
use super::inputs::{Given, PlanFileArgs, days, write_and_tell};
use super::prepare::{decided, written_sessions};
use super::reasons::reasons_and_next;
use super::verdict::{last_judged, to_swim, today, verdict};
use crate::analysis::weeks::{CourseStanding, Standing};
use crate::chart::report::{AthletePage, page};
use crate::error::Result;
use crate::model::plan::{COURSE, TrainingPlan, weekday_word};
use crate::model::words;
use crate::timeline::Schedule;
use crate::units::Time;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  cuelane plan report alex-plan.toml --log log.csv --out alex.html"
)]
pub struct ReportArgs {
    #[command(flatten)]
    pub plan: PlanFileArgs,
    /// The page to write
    #[arg(long, value_name = "FILE.html")]
    pub out: PathBuf,
}

/// Runs `plan report`.
pub fn run(args: &ReportArgs) -> Result<()> {
    let given = Given::read(&args.plan)?;
    let standing = given.standing(None);
    let plan = &given.plan;
    if let Some(course) = &standing.course {
        let page = page(&of_course(&given, &standing, course)?);
        return write_and_tell(&args.out, &page, ABOUT);
    }
    let judged = last_judged(&standing);
    let report = AthletePage {
        title: format!(
            "{}: {} to {}",
            given.swimmer.name,
            plan.from.both_ways(),
            plan.to.both_ways()
        ),
        when: format!(
            "{} weeks from {} to {}, {}",
            plan.weeks,
            plan.start,
            plan.last_day(),
            weekdays(plan)
        ),
        today: today(plan, &plan.path(), &standing, given.today),
        verdict: judged.map_or(String::new(), |week| {
            format!("Week {}: {}", week.week, verdict(week))
        }),
        reasons: (judged.map_or(Vec::new(), |week| reasons_and_next(&given, &standing, week)))
            .into_iter()
            .chain(films_in_words(&given))
            .collect(),
        notes: given.notes.clone(),
        chart: picture(&given, &standing)?,
        chart_in_words: in_words(&standing).into(),
        week: heading(&standing),
        days: days_to_swim(&given, &standing)?,
        cautions: (cautions().into_iter())
            .chain(plan.compare.then(|| words::SAME_EFFORT.to_string()))
            .collect(),
    };
    write_and_tell(&args.out, &page(&report), ABOUT)
}

const ABOUT: &str = "; open it in a browser, or print it.";

/// The first film beside the last, by the pairing that the swimmer's file has or the film was
/// nearer to.
fn films_in_words(given: &Given) -> Vec<String> {
    let said = given.swimmer.wishes.pairing.as_ref();
    let pairing = said.map_or_else(|| given.swimmer.nearest_pairing(), |said| said.value);
    WeekFilm::first_and_last(&given.films, pairing)
}

/// The page of a course: where the swimmer stands, and this week's days.
fn of_course(given: &Given, standing: &Standing, course: &CourseStanding) -> Result<AthletePage> {
    let plan = &given.plan;
    let mut stands = stands(given, course);
    let today = stands.remove(0);
    Ok(AthletePage {
        title: format!(
            "{}: {COURSE}, at {}",
            given.swimmer.name,
            plan.from.both_ways()
        ),
        when: format!("From {}, {}", plan.start, weekdays(plan)),
        today,
        reasons: stands,
        notes: given.notes.clone(),
        chart: picture(given, standing)?,
        chart_in_words: in_words(standing).into(),
        week: heading(standing),
        days: days_to_swim(given, standing)?,
        cautions: cautions(),
        ..AthletePage::default()
    })
}

fn weekdays(plan: &TrainingPlan) -> String {
    let words: Vec<&str> = plan.days.iter().map(|day| weekday_word(*day)).collect();
    words.join(" ")
}

/// Which week the days are of.
fn heading(standing: &Standing) -> String {
    match to_swim(standing) {
        Some(week) if Some(week.week) == standing.now => "This week".into(),
        Some(week) => format!("Week {}", week.week),
        None => String::new(),
    }
}

fn cautions() -> Vec<String> {
    [words::PLAN_CAUTION, words::CAUTIONS[1], words::CAUTIONS[2]]
        .map(String::from)
        .to_vec()
}

/// The days of the first week that is not over.
fn days_to_swim(given: &Given, standing: &Standing) -> Result<Vec<(String, Vec<String>)>> {
    let plan = &given.plan;
    let Some(week) = to_swim(standing) else {
        return Ok(Vec::new());
    };
    let sessions = written_sessions(plan)?;
    let days = days(plan, standing);
    (days.iter().filter(|day| day.week == week.week))
        .map(|day| {
            let session = decided(plan, &given.swimmer, &sessions, given.line, day)?;
            let total = Time::from_s(Schedule::new(&session)?.total_s).rounded();
            // 13:35 by itself reads as a time of day.
            let unit = if total.contains(':') { " min" } else { "" };
            Ok((
                format!("{}, {total}{unit}", session.title),
                set_list(&session),
            ))
        })
        .collect()
}
