//! What the commands of a plan read: the plan, its swimmer, the log, the step test, films.

use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::film::WeekFilm;
use super::flags::today_of;
use crate::analysis::steps::{Step, step_test};
use crate::analysis::weeks::{LoggedSwim, OfLog, Standing, Timed, WhatIf, follow};
use crate::cli::shared::out;
use crate::cli::shared::save::save;
use crate::cli::shared::swum::say_broken;
use crate::cli::shared::words::{count, fill};
use crate::error::{Error, Result};
use crate::files::{
    RateSpeed, StepFile, open_log, preset_swimmer, read_plan, read_steps, read_swimmer,
};
use crate::model::log::Water;
use crate::model::plan::{Day, TrainingPlan, WeekPlaces, days_of};
use crate::model::swimmer::Swimmer;
use crate::model::words::PLAN_CAUTION;

/// A plan, and what it is judged by.
#[derive(Debug, clap::Args)]
pub struct PlanFileArgs {
    /// The plan's file
    pub plan: String,
    /// The log [default: the plan's, or log.csv where there is one]
    #[arg(long, value_name = "FILE")]
    pub log: Option<String>,
    /// A step test: the swimmer's own length-on-rate line [default: the plan's]
    #[arg(long, value_name = "FILE")]
    pub steps: Option<String>,
    /// Marks of a film of a week, as WEEK=FILE: how steady the kick is
    #[arg(long, value_name = "WEEK=FILE")]
    pub marks: Vec<String>,
    /// The session that sounded in a week's film, as WEEK=FILE: the feet behind its cues, with sound
    /// and in the silence
    #[arg(long, value_name = "WEEK=FILE", requires = "marks")]
    pub session: Vec<String>,
    /// The films' frames a second
    #[arg(long, value_name = "N", requires = "marks")]
    pub fps: Option<String>,
    /// The day that counts as today, as 2027-03-14 [default: today]
    #[arg(long, value_name = "DATE")]
    pub today: Option<String>,
}

/// What [`PlanFileArgs`] come to.
pub struct Given {
    pub plan: TrainingPlan,
    pub swimmer: Swimmer,
    /// The log's name, where there is one.
    pub log: Option<String>,
    pub swims: Vec<LoggedSwim>,
    /// How distance per stroke falls with rate, m a stroke/min, by a step test.
    pub line: Option<f64>,
    /// Films, a week each.
    pub films: Vec<WeekFilm>,
    pub today: Date,
    /// What is worth saying once.
    pub notes: Vec<String>,
}

/// What is said of a plan whose rules are of the time before.
const EARLIER_RULES: &str = "The plan was written when a week went on only once a loss of speed was \
    ruled out. Now all weeks are weighed together, and it goes on unless a loss is more likely than \
    not: speed_loss = \"1 %\" counts as 0.7 %, effort_weeks is not used any more, and two swims of a \
    day are swum at the first rate, for comparison. Take the line effort_weeks out of the file and \
    this is no longer said.";

impl Given {
    /// Reads everything.
    ///
    /// # Errors
    /// When a file does not hold, or the log is another swimmer's.
    pub fn read(args: &PlanFileArgs) -> Result<Self> {
        let today = today_of(args.today.as_deref())?;
        let plan = read_plan(&args.plan)?;
        let swimmer = swimmer_of(&plan, None)?;
        let mut given = Self::of(plan, swimmer, args.log.as_deref(), today)?;
        given.take_steps(args.steps.clone())?;
        let fps = args.fps.as_deref();
        given.films = WeekFilm::read_all(&args.marks, &args.session, fps, &given.swimmer)?;
        let notes = (given.films.iter()).flat_map(|film| {
            (film.notes.iter()).map(|note| format!("Film of week {}: {note}", film.week))
        });
        given.notes.extend(notes);
        Ok(given)
    }

    /// The same of a plan at hand.
    ///
    /// # Errors
    /// When the log does not hold, or is another swimmer's.
    pub fn of(
        plan: TrainingPlan,
        swimmer: Swimmer,
        log: Option<&str>,
        today: Date,
    ) -> Result<Self> {
        let (log, planned) = match (log, &plan.log) {
            (Some(flag), _) => (Some(flag.to_string()), false),
            (None, Some(name)) => (Some(beside(&plan.source, name)), true),
            (None, None) => {
                let usual = Path::new("log.csv").is_file();
                (usual.then(|| "log.csv".into()), false)
            }
        };
        let mut given = Self::without_log(plan, swimmer, today);
        match log {
            // A plan names its log before the first swim is logged.
            Some(file) if planned && !Path::new(&file).exists() => {
                given
                    .notes
                    .push(format!("{file}: not there yet, so no row."));
            }
            Some(file) => given.take_log(&file)?,
            None => {}
        }
        Ok(given)
    }

    /// A plan by itself.
    pub fn without_log(plan: TrainingPlan, swimmer: Swimmer, today: Date) -> Self {
        let mut notes = Vec::new();
        if let Some(week) = plan.edited_from() {
            notes.push(format!(
                "The plan was edited after it was written: from week {week} on the path is not the \
                 one that the file was made with. Everything here is computed anew."
            ));
        }
        if plan.earlier_rules {
            notes.push(EARLIER_RULES.into());
        }
        Self {
            plan,
            swimmer,
            log: None,
            swims: Vec::new(),
            line: None,
            films: Vec::new(),
            today,
            notes,
        }
    }

    /// Reads a step test: this one, else the plan's.
    ///
    /// # Errors
    /// When it does not hold.
    pub fn take_steps(&mut self, steps: Option<String>) -> Result<()> {
        if let Some(file) = steps.or(self.steps_of_plan()) {
            self.line = Some(line_of(&file, &Water::of(&self.swimmer.wishes))?);
        }
        Ok(())
    }

    fn take_log(&mut self, file: &str) -> Result<()> {
        let (name, water) = (&self.swimmer.name, Water::of(&self.swimmer.wishes));
        let mut log = open_log(file)?.in_pool(&water.pool);
        let mut taken = OfLog::new(name, &water);
        while let Some(line) = log.read()? {
            taken.take(&line.row);
        }
        say_broken(&log.file, &log.broken);
        let (swims, untaken) = taken.in_order();
        let early = swims.iter().filter(|swim| swim.date < self.plan.start);
        for (rows, which) in [
            (untaken.of_others, "of other swimmers"),
            (untaken.undated, "without a date"),
            (early.count(), "from before the plan's start"),
        ] {
            if rows > 0 {
                let note = format!("{}: {rows} rows {which} left out.", log.file);
                self.notes.push(note);
            }
        }
        if swims.is_empty() {
            let source = &self.swimmer.source;
            let why = match (log.broken.len(), untaken.of_others) {
                (0, 0) => "no row yet".to_string(),
                // A squad keeps one log, in which someone has the first row.
                (0, _) => format!(
                    "no row is {name}'s yet; found {}. The name is that of {source}",
                    untaken.others.join(", ")
                ),
                (broken, _) => format!(
                    "no row of {name} that could be read; {} left out for their form",
                    count(broken, "line")
                ),
            };
            self.notes.push(format!("{}: {why}.", log.file));
        }
        self.log = Some(log.file);
        self.swims = swims;
        Ok(())
    }

    fn steps_of_plan(&self) -> Option<String> {
        let name = self.plan.steps.as_ref()?;
        Some(beside(&self.plan.source, name))
    }

    /// Where the swimmer stands.
    pub fn standing(&self, what_if: Option<WhatIf>) -> Standing {
        let filmed: Vec<(usize, Timed)> = (self.films.iter())
            .map(|film| (film.week, film.timed))
            .collect();
        follow(
            &self.plan,
            &self.swims,
            self.line,
            &filmed,
            self.today,
            what_if,
        )
    }
}

/// The training days of a plan, as the log has moved them.
pub fn days(plan: &TrainingPlan, standing: &Standing) -> Vec<Day> {
    if let Some(course) = &standing.course {
        return course.days.iter().map(|day| day.day.clone()).collect();
    }
    let placed: Vec<WeekPlaces> = standing.weeks.iter().map(|week| week.placed).collect();
    days_of(plan, &placed)
}

/// The swimmer of a plan: named by the plan, or by another file.
///
/// # Errors
/// When the file does not hold.
pub fn swimmer_of(plan: &TrainingPlan, other: Option<&str>) -> Result<Swimmer> {
    match other {
        Some(file) => read_swimmer(file),
        None => read_swimmer(&beside(&plan.source, &plan.swimmer)),
    }
}

/// A file that a plan or squad names, seen from the folder of that plan; where there is none, as
/// it is named. Names of what comes with the program stay.
pub fn beside(plan: &str, name: &str) -> String {
    let is_path = name.contains(['/', '\\']) || name.contains('.');
    if !is_path || preset_swimmer(name).is_some() {
        return name.to_string();
    }
    let folder = Path::new(plan).parent().unwrap_or(Path::new(""));
    let near: PathBuf = folder.join(name);
    if near.exists() || !Path::new(name).exists() {
        near.display().to_string()
    } else {
        name.to_string()
    }
}

/// The slope of a step test, m a stroke/min.
fn line_of(file: &str, water: &Water) -> Result<f64> {
    let steps: Vec<Step> = match read_steps(file)? {
        StepFile::Numbers(rows, broken, _) => {
            say_broken(file, &broken);
            let step = |row: RateSpeed| Step::new(row.rate_spm, row.speed_m_s);
            rows.into_iter().map(step).collect()
        }
        StepFile::Log(mut rows) => {
            let mut steps = Vec::new();
            while let Some(line) = rows.read()? {
                steps.extend(Step::of(&line.row.swum(water)));
            }
            say_broken(file, &rows.broken);
            steps
        }
    };
    match step_test(&steps).robust_length_slope {
        Some(slope) => Ok(slope),
        None => Err(Error::input("found no two different rates")
            .at(file)
            .accepted("a step test of three rates or more")
            .example("rate_spm,speed_m_s\n50,1.02\n54,1.06\n58,1.08")),
    }
}

/// Refuses what a course has nothing for, and says what there is in its place.
///
/// # Errors
/// When the plan is the course.
pub fn no_course(plan: &TrainingPlan, why: &str, instead: &str) -> Result<()> {
    if !plan.is_course {
        return Ok(());
    }
    Err(Error::input(format!("the course stays at one rate: {why}"))
        .at(&plan.source)
        .accepted(format!(
            "a plan that raises the rate; in a course, {instead}"
        ))
        .example(format!("cuelane plan show {}", plan.source)))
}

/// Whether two plans have a day in common.
pub fn overlap(one: &TrainingPlan, other: &TrainingPlan) -> bool {
    one.start <= other.last_day() && other.start <= one.last_day()
}

/// The refusal of two plans for one swimmer at one time.
pub fn overlapping(plan: &str, other: &TrainingPlan) -> Error {
    let after = other.last_day().saturating_add(jiff::Span::new().days(1));
    Error::input(format!(
        "overlaps {}, which runs from {} to {} for the same swimmer",
        other.source,
        other.start,
        other.last_day()
    ))
    .at(plan)
    .accepted("one plan at a time")
    .example(format!("--start {after}"))
}

/// Says what is worth saying once, where it is no result.
pub fn say_notes(given: &Given) {
    for note in &given.notes {
        out::note(&fill(note));
    }
}

/// Puts a file in its place and says so, with the caution that follows every plan.
///
/// # Errors
/// When it cannot be written.
pub fn write_and_tell(path: &Path, text: &str, about: &str) -> Result<()> {
    save(path, text)?;
    let caution = fill(PLAN_CAUTION);
    out::result(&format!("Wrote {}{about}\n\n{caution}\n", path.display()))
}
