//! A film of a week: how steady its marks show the kick.

use crate::analysis::timing::Timing;
use crate::analysis::weeks::Timed;
use crate::error::{Error, Result};
use crate::files::read_marks;

/// What the marks of a week's film say of the kick's timing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekFilm {
    /// The week, from 1.
    pub week: usize,
    /// Whether the kick is steady.
    pub timed: Timed,
    /// Standard deviation of a kick about its leg's mean, ms.
    pub scatter_ms: f64,
    /// The same in degrees of that foot's own kick cycle.
    pub scatter_deg: f64,
}

/// A kick that scatters by more than this, in degrees of the foot's own kick cycle, is not steady
/// (common practice). Good swimmers scatter by 33 to 39 (Martínez-Sobrino, Veiga &
/// Navandar, read in the abstract).
const STEADY_DEG: f64 = 45.0;

impl WeekFilm {
    /// Reads `WEEK=FILE`.
    ///
    /// # Errors
    /// When it is no such thing, or the file shows no kick often enough.
    pub fn read(text: &str, fps: Option<&str>) -> Result<Self> {
        const EXAMPLE: &str = "--marks 5=week-5-marks.csv --fps 60";
        let parts = text.split_once('=');
        let week = parts.and_then(|(week, _)| week.trim().parse::<usize>().ok());
        let Some((week, (_, file))) = week.filter(|week| *week > 0).zip(parts) else {
            return Err(Error::input(format!("found {text:?}"))
                .at("--marks")
                .accepted("a week's number, =, and the file of its marks")
                .example(EXAMPLE));
        };
        let timing = Timing::of(&read_marks(file, fps)?)?;
        let seen = timing
            .kick_scatter_s()
            .filter(|_| timing.beats_per_cycle > 0);
        let Some(scatter_s) = seen else {
            return Err(
                Error::input("no kick is marked often enough to see how steady it is")
                    .at(file)
                    .accepted("marks of left_kick and right_kick over three cycles or more")
                    .example(EXAMPLE),
            );
        };
        let kicks_a_foot = f64::from(timing.beats_per_cycle) / 2.0;
        let scatter_deg = scatter_s / timing.cycle_s.value * kicks_a_foot * 360.0;
        Ok(Self {
            week,
            timed: if scatter_deg <= STEADY_DEG {
                Timed::Kept
            } else {
                Timed::NotKept
            },
            scatter_ms: scatter_s * 1000.0,
            scatter_deg,
        })
    }
}
