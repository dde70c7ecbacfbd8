//! What `plan export` wrote, as JSON and in words.

use std::path::Path;

use serde::Serialize;

use super::prepare::{Athlete, folder_name};
use super::squad::{SquadOutcome, Task};
use crate::cli::shared::report::{Attempt, Report};
use crate::cli::shared::words::{Page, count};
use crate::error::Result;
use crate::export::bytes_in_words;
use crate::files::Member;
use crate::model::words;

/// What was written for each swimmer.
#[derive(Serialize)]
pub struct SquadReport<'a> {
    swimmers: Vec<AthleteShown<'a>>,
    cleared: usize,
}

#[derive(Serialize)]
struct AthleteShown<'a> {
    plan: &'a str,
    folder: &'a str,
    #[serde(flatten)]
    outcome: Attempt<DaysShown<'a>>,
}

#[derive(Serialize)]
struct DaysShown<'a> {
    swimmer: &'a str,
    sessions: Vec<DayShown<'a>>,
}

#[derive(Serialize)]
struct DayShown<'a> {
    week: usize,
    date: String,
    folder: String,
    #[serde(flatten)]
    outcome: Attempt<&'a SquadOutcome>,
}

impl<'a> SquadReport<'a> {
    /// What became of each task, and so many old folders cleared.
    pub fn new(
        members: &'a [Member],
        athletes: &'a [Result<Athlete>],
        tasks: &[Task],
        outcomes: &'a [Result<SquadOutcome>],
        cleared: usize,
    ) -> Self {
        let day = |member: &Member, athlete: &Athlete, task: &Task, outcome: &'a Result<_>| {
            let day = &athlete.days[task.day];
            let folder = Path::new(&member.folder).join(folder_name(day));
            DayShown {
                week: day.week,
                date: day.date.to_string(),
                folder: folder.display().to_string(),
                outcome: outcome.as_ref().into(),
            }
        };
        let days = |at: usize, athlete: &'a Athlete| DaysShown {
            swimmer: &athlete.swimmer.name,
            sessions: (tasks.iter().zip(outcomes))
                .filter(|(task, _)| task.athlete == at)
                .map(|(task, outcome)| day(&members[at], athlete, task, outcome))
                .collect(),
        };
        let one = |(at, member): (usize, &'a Member)| AthleteShown {
            plan: &member.plan,
            folder: &member.folder,
            outcome: (athletes[at].as_ref().map(|athlete| days(at, athlete))).into(),
        };
        Self {
            swimmers: members.iter().enumerate().map(one).collect(),
            cleared,
        }
    }

    /// Everything that failed, in order.
    pub fn errors(&self) -> impl Iterator<Item = String> {
        self.swimmers
            .iter()
            .flat_map(|athlete| match &athlete.outcome {
                Attempt::Failed { error } => vec![error.clone()],
                Attempt::Done(days) => {
                    let failed = |day: &DayShown| match &day.outcome {
                        Attempt::Failed { error } => Some(format!("{}: {error}", days.swimmer)),
                        Attempt::Done(_) => None,
                    };
                    days.sessions.iter().filter_map(failed).collect()
                }
            })
    }
}

impl DaysShown<'_> {
    /// `3 sessions written (9 tracks, 12 MB), 1 unchanged`.
    fn in_words(&self) -> String {
        let (mut written, mut same, mut failed, mut files, mut bytes) = (0, 0, 0, 0, 0);
        let mut filled_in = 0;
        for day in &self.sessions {
            if let Attempt::Done(outcome) = day.outcome {
                filled_in += usize::from(outcome.filled_in);
            }
            match day.outcome {
                Attempt::Failed { .. } => failed += 1,
                Attempt::Done(outcome) if outcome.changed => {
                    written += 1;
                    files += outcome.files;
                    bytes += outcome.bytes;
                }
                Attempt::Done(_) => same += 1,
            }
        }
        let sessions = count(written, "session");
        let bytes = bytes_in_words(bytes);
        let written = format!("{sessions} written ({files} tracks, {bytes})");
        let others = [
            (same, "unchanged"),
            (failed, "failed"),
            (
                filled_in,
                "with a log-to-fill.csv that is filled in and stays as it is",
            ),
        ]
        .into_iter();
        let others = others.filter(|(count, _)| *count > 0);
        let others = others.map(|(count, what)| format!(", {count} {what}"));
        written + &others.collect::<String>()
    }
}

impl Report for SquadReport<'_> {
    fn words(&self, to: &mut Page) {
        for AthleteShown {
            plan,
            folder,
            outcome,
        } in &self.swimmers
        {
            match outcome {
                Attempt::Failed { .. } => {
                    to.line(format_args!("{plan}: nothing written, see the error"));
                }
                Attempt::Done(days) => {
                    let told = days.in_words();
                    to.line(format_args!("{}: {told}, in {folder}", days.swimmer));
                }
            }
        }
        if self.cleared > 0 {
            to.line(format_args!(
                "Cleared {} folders of old weeks.",
                self.cleared
            ));
        }
        to.gap();
        to.fill(words::CAUTIONS[2]);
        to.fill(words::PLAN_CAUTION);
    }
}
