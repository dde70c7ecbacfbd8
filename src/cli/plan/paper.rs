//! What lies beside a day's tracks to be filled in: a page for a pen, and rows for the log.

use std::path::Path;

use super::swims::rows_of;
use crate::chart::day_sheet::{DaySheet, SheetSwim, day_sheet};
use crate::cli::shared::save::{remove, save};
use crate::error::Result;
use crate::export::Job;
use crate::files::{log_csv, parse_log};
use crate::model::log::Row;
use crate::model::plan::Day;
use crate::model::swimmer::Swimmer;
use crate::model::words;
use crate::units::Time;

/// The page's name.
const PAGE: &str = "sheet.html";
/// The name of the rows.
const TO_FILL: &str = "log-to-fill.csv";

/// The page and the rows of a day.
pub struct Paper {
    page: String,
    rows: String,
}

impl Paper {
    /// Those of a day that is laid out.
    pub fn of(job: &Job, swimmer: &Swimmer, day: &Day) -> Self {
        let (session, schedule) = (&job.session, &job.schedule);
        let rows = rows_of(session, schedule, &swimmer.name, day.date);
        let swims = schedule.repeats.iter().zip(&rows).map(|(repeat, row)| {
            let set = &session.sets[repeat.set];
            let for_comparison = set.compared(repeat.number).map(|_| ", for comparison");
            let cued = (row.rate_cued.as_ref()).map_or("no cues".to_string(), |rate| {
                rate.short() + for_comparison.unwrap_or_default()
            });
            let swim = match &row.distance {
                Some(distance) => distance.to_string(),
                None => Time::from_s(repeat.swim_s()).rounded(),
            };
            SheetSwim {
                set: set.name.clone(),
                repeat: repeat.number,
                swim,
                cued,
            }
        });
        let page = day_sheet(&DaySheet {
            title: session.title.clone(),
            swimmer: swimmer.name.clone(),
            how_kept: match day.step {
                Some(_) => words::HOW_KEPT.to_string(),
                None => format!("{} {}", words::HOW_KEPT, words::FELT_DECIDES_NOTHING),
            },
            swims: swims.collect(),
            cautions: [words::CAUTIONS[1], words::PLAN_CAUTION]
                .map(String::from)
                .to_vec(),
        });
        Self {
            page,
            rows: log_csv(&rows),
        }
    }

    /// Puts both into the day's folder, where they are not there as they are. Rows that somebody
    /// has begun to fill in are left alone; gives whether there are such.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub fn put(&self, folder: &Path) -> Result<bool> {
        let (page, to_fill) = (folder.join(PAGE), folder.join(TO_FILL));
        let is = |path: &Path, text: &str| {
            std::fs::read(path).is_ok_and(|bytes| bytes == text.as_bytes())
        };
        if !is(&page, &self.page) {
            save(&page, &self.page)?;
        }
        if is_filled(&to_fill) {
            return Ok(true);
        }
        if !is(&to_fill, &self.rows) {
            save(&to_fill, &self.rows)?;
        }
        Ok(false)
    }
}

/// Removes both from an old day's folder; rows that are filled in stay.
///
/// # Errors
/// When the system refuses.
pub fn remove_paper(folder: &Path) -> Result<()> {
    remove(&folder.join(PAGE))?;
    let to_fill = folder.join(TO_FILL);
    if is_filled(&to_fill) {
        Ok(())
    } else {
        remove(&to_fill)
    }
}

/// Whether the rows hold anything but what an export wrote. What cannot be read may.
fn is_filled(to_fill: &Path) -> bool {
    let Ok(bytes) = std::fs::read(to_fill) else {
        return to_fill.exists();
    };
    let said = |row: &Row| row.is_filled() || !row.note.is_empty() || !row.other.is_empty();
    match parse_log(TO_FILL, &bytes) {
        Ok(log) => !log.broken.is_empty() || log.rows.iter().any(|line| said(&line.row)),
        Err(_) => true,
    }
}
