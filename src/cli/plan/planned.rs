//! The swims that a plan has for a date.

use jiff::civil::Date;

use super::inputs::{Given, days, swimmer_of};
use super::prepare::{decided, written_sessions};
use super::swims::rows_of;
use crate::error::Result;
use crate::files::read_plan;
use crate::model::log::Row;
use crate::model::plan::Day;
use crate::model::wishes::Session;
use crate::timeline::Schedule;

/// The training days of a plan, as the log has moved them.
pub struct PlannedDays {
    given: Given,
    sessions: Vec<Session>,
    days: Vec<Day>,
}

impl PlannedDays {
    /// Reads a plan and its log, as of a day.
    ///
    /// # Errors
    /// When one of the files does not hold.
    pub fn read(plan: &str, log: Option<&str>, today: Date) -> Result<Self> {
        let plan = read_plan(plan)?;
        let swimmer = swimmer_of(&plan, None)?;
        let given = Given::of(plan, swimmer, log, today)?;
        let days = days(&given.plan, &given.standing(None));
        let sessions = written_sessions(&given.plan)?;
        Ok(Self {
            given,
            sessions,
            days,
        })
    }

    /// The swims of a day, in their order; none where it is no training day.
    ///
    /// # Errors
    /// Those of the day's session.
    pub fn rows(&self, date: Date) -> Result<Vec<Row>> {
        let Some(day) = self.days.iter().find(|day| day.date == date) else {
            return Ok(Vec::new());
        };
        let Given { plan, swimmer, .. } = &self.given;
        let session = decided(plan, swimmer, &self.sessions, self.given.line, day)?;
        let schedule = Schedule::new(&session)?;
        Ok(rows_of(&session, &schedule, &swimmer.name, date))
    }
}
