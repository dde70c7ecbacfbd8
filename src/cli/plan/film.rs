//! A film of a week: how steady its marks show the kick.

use crate::analysis::stats::mean;
use crate::analysis::timing::Timing;
use crate::analysis::weeks::Timed;
use crate::error::{Error, Result};
use crate::files::read_marks;
use crate::model::kick::Pairing;

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
    /// How far the kick comes behind the arm's moment, ms, the mean of the feet seen: same-side, then
    /// opposite-side.
    pub lag_ms: [Option<f64>; 2],
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
            lag_ms: [&timing.lag_same_s, &timing.lag_opposite_s].map(|feet| {
                let lags: Vec<f64> = feet.known().map(|(_, lag)| lag.value * 1000.0).collect();
                mean(&lags)
            }),
        })
    }

    /// The first film beside the last: how far the kick came behind the arm in a pairing, and how
    /// far it scattered. Nothing where no two weeks were filmed.
    pub fn first_and_last(films: &[Self], pairing: Pairing) -> Option<String> {
        let first = films.iter().min_by_key(|film| film.week)?;
        let last = films.iter().max_by_key(|film| film.week)?;
        let [before, now] = [first, last].map(|film| film.in_words(pairing));
        (first.week < last.week).then(|| format!("First film beside last: {before}; {now}."))
    }

    fn in_words(&self, pairing: Pairing) -> String {
        let (lag_ms, arm) = match pairing {
            Pairing::SameSide => (self.lag_ms[0], "catch of its side"),
            Pairing::OppositeSide => (self.lag_ms[1], "entry of the other hand"),
        };
        let lag = lag_ms.map(|ms| {
            let which = if ms < 0.0 { "before" } else { "after" };
            format!("came {:.0} ms {which} the {arm} and ", ms.abs())
        });
        format!(
            "in week {} the kick {}scattered by {:.0} ms",
            self.week,
            lag.unwrap_or_default(),
            self.scatter_ms
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_film_stands_beside_the_last() {
        let film = |week, lag_ms, scatter_ms| WeekFilm {
            week,
            timed: Timed::Kept,
            scatter_ms,
            scatter_deg: 10.0,
            lag_ms: [lag_ms, None],
        };
        let films = [
            film(5, Some(-12.4), 41.0),
            film(1, Some(45.0), 62.0),
            film(3, None, 50.0),
        ];
        assert_eq!(
            WeekFilm::first_and_last(&films, Pairing::SameSide).as_deref(),
            Some(
                "First film beside last: in week 1 the kick came 45 ms after the catch of its side \
                 and scattered by 62 ms; in week 5 the kick came 12 ms before the catch of its side \
                 and scattered by 41 ms."
            )
        );
        let opposite = WeekFilm::first_and_last(&films, Pairing::OppositeSide);
        assert!(
            opposite.is_some_and(|told| told.contains("in week 5 the kick scattered by 41 ms"))
        );
        assert_eq!(
            WeekFilm::first_and_last(&films[..1], Pairing::SameSide),
            None
        );
    }
}
