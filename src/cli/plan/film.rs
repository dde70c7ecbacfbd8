//! A film of a week: how steady its marks show the kick, and how far it comes behind the cues.

use crate::analysis::DoubtKind;
use crate::analysis::came::Offset;
use crate::analysis::marked_twice::Habits;
use crate::analysis::stats::mean;
use crate::analysis::timing::Timing;
use crate::analysis::weeks::Timed;
use crate::cli::shared::came::lag_in_words;
use crate::cli::shared::cued::read;
use crate::cli::shared::heard::HeardFilm;
use crate::error::{Error, Result};
use crate::files::{load_session, read_marks};
use crate::model::kick::Pairing;
use crate::model::record::Marks;
use crate::model::resolve::resolve;
use crate::model::swimmer::Swimmer;
use crate::model::wishes::Wishes;

/// What the marks of a week's film say of the kick's timing.
#[derive(Debug, Clone, PartialEq)]
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
    /// opposite-side; none where the marks are doubted and no pairing is told.
    pub lag_ms: [Option<f64>; 2],
    /// The feet beside their cues, where the session that sounded is given.
    pub feet: Option<FeetCued>,
    /// What speaks against its marks, or leaves the feet and their cues untold, in sentences.
    pub notes: Vec<String>,
}

/// The feet of a film beside the cues of its session.
#[derive(Debug, Clone, PartialEq)]
pub struct FeetCued {
    /// Cycles with sound, where it is known which sounded, and the feet stay with their cues.
    pub with_sound: Option<Offset>,
    /// Cycles in the silence, likewise.
    pub without_sound: Option<Offset>,
}

impl FeetCued {
    /// By the cues that the marks of a file know of, with what is worth saying of them.
    fn of(
        (file, marks, timing): (&str, &Marks, &Timing),
        session: &str,
        swimmer: &Swimmer,
    ) -> Result<(Self, Vec<String>)> {
        let resolved = resolve(&load_session(session)?, Some(swimmer), &Wishes::default())?;
        let anew = format!(
            "cuelane mark --film {} --session {session} --swimmer {} --out mark.html",
            marks.film.name.as_deref().unwrap_or("clip.mp4"),
            swimmer.source
        );
        let heard = HeardFilm::in_marks(resolved, marks, 0.0, &anew)?.ok_or_else(|| {
            Error::input(format!(
                "nothing says when a cue of {session} is heard in it"
            ))
            .at(file)
            .accepted("marks that were saved by a page with the cues")
            .example(anew)
        })?;
        let by_cues = read(&heard, timing, &Habits::default())?;
        let came = by_cues.cued.map(|cued| cued.came);
        let feet = came.as_ref().and_then(|came| came.feet.as_ref());
        let told = |sounds| feet.filter(|feet| feet.follows)?.offset(sounds);
        let note = match feet {
            _ if by_cues.doubt.is_some() || timing.feet_crossed().is_some() => None,
            None => Some("no kick is marked beside a cue of its session."),
            Some(feet) if !feet.follows => Some("the feet do not stay with their cues."),
            Some(_) if came.as_ref().is_some_and(|came| came.silences_unknown) => {
                Some("which of its cycles sounded is not known.")
            }
            Some(_) => None,
        };
        let feet = Self {
            with_sound: told(true),
            without_sound: told(false),
        };
        let doubt = by_cues.doubt.map(|doubt| doubt.text);
        let notes = heard.note.into_iter();
        Ok((
            feet,
            notes.chain(doubt.or(note.map(String::from))).collect(),
        ))
    }
}

/// A kick that scatters by more than this, in degrees of the foot's own kick cycle, is not steady
/// (common practice). Good swimmers scatter by 33 to 39 (Martínez-Sobrino, Veiga &
/// Navandar, read in the abstract).
const STEADY_DEG: f64 = 45.0;

impl WeekFilm {
    /// Reads the films of a plan, each `WEEK=FILE`, with the sessions that sounded in them.
    ///
    /// # Errors
    /// When one is no such thing, a file shows no kick often enough, or a session is of no film or has no
    /// cue in it.
    pub fn read_all(
        films: &[String],
        sessions: &[String],
        fps: Option<&str>,
        swimmer: &Swimmer,
    ) -> Result<Vec<Self>> {
        let of_week = |flag, what, example| {
            move |text: &String| {
                week_and_file(text).ok_or_else(|| no_week(text, flag, what, example))
            }
        };
        let films = (films.iter())
            .map(of_week("--marks", "the file of its marks", EXAMPLE))
            .collect::<Result<Vec<_>>>()?;
        let sessions = (sessions.iter())
            .map(of_week(
                "--session",
                "the session that sounded in its film",
                OF_SESSION,
            ))
            .collect::<Result<Vec<_>>>()?;
        let unfilmed =
            |(week, _): &&(usize, String)| films.iter().all(|(filmed, _)| filmed != week);
        if let Some((week, _)) = sessions.iter().find(unfilmed) {
            return Err(Error::input(format!("week {week} has no film"))
                .at("--session")
                .accepted("a week of which there are marks")
                .example(OF_SESSION));
        }
        (films.into_iter())
            .map(|(week, file)| {
                let sounded = sessions.iter().find(|(of, _)| *of == week);
                let session = sounded.map(|(_, session)| session.as_str());
                Self::read(week, &file, session, fps, swimmer)
            })
            .collect()
    }

    fn read(
        week: usize,
        file: &str,
        session: Option<&str>,
        fps: Option<&str>,
        swimmer: &Swimmer,
    ) -> Result<Self> {
        let marks = read_marks(file, fps)?;
        let timing = Timing::of(&marks)?;
        let Some((scatter_s, kick)) = timing.kick_scatter_s().zip(timing.kick()) else {
            return Err(
                Error::input("no kick is marked often enough to see how steady it is")
                    .at(file)
                    .accepted("marks of left_kick and right_kick over three cycles or more")
                    .example(EXAMPLE),
            );
        };
        let (feet, of_cues) = (session)
            .map(|session| FeetCued::of((file, &marks, &timing), session, swimmer))
            .transpose()?
            .unzip();
        // A wrong film is named, not measured.
        let trusted = timing.tells_pairing() || timing.doubts.is_empty();
        let wanders = timing.doubt(DoubtKind::NotLocked).is_some();
        let kicks_a_foot = f64::from(kick.beats_a_cycle()) / 2.0;
        let scatter_deg = scatter_s / timing.cycle_s.value * kicks_a_foot * 360.0;
        Ok(Self {
            week,
            timed: if scatter_deg <= STEADY_DEG && !wanders {
                Timed::Kept
            } else {
                Timed::NotKept
            },
            scatter_ms: scatter_s * 1000.0,
            scatter_deg,
            lag_ms: [&timing.lag_same_s, &timing.lag_opposite_s].map(|feet| {
                let lags: Vec<f64> = feet.known().map(|(_, lag)| lag.value * 1000.0).collect();
                mean(&lags).filter(|_| trusted)
            }),
            feet: feet.filter(|_| trusted),
            notes: (timing.doubts.into_iter().map(|doubt| doubt.text))
                .chain(of_cues.unwrap_or_default())
                .collect(),
        })
    }

    /// The first film beside the last, in sentences: how far the kick came behind the arm in a pairing,
    /// and how far it scattered; how far the feet came behind their cues, with sound and in the silence,
    /// where that was filmed. Nothing where no two weeks were filmed.
    pub fn first_and_last(films: &[Self], pairing: Pairing) -> Vec<String> {
        let first = films.iter().min_by_key(|film| film.week);
        let last = films.iter().max_by_key(|film| film.week);
        let Some((first, last)) = first
            .zip(last)
            .filter(|(first, last)| first.week < last.week)
        else {
            return Vec::new();
        };
        let [before, now] = [first, last].map(|film| film.in_words(pairing));
        let mut told = vec![format!("First film beside last: {before}; {now}.")];
        type Part = fn(&FeetCued) -> Option<&Offset>;
        let parts: [(&str, Part); 2] = [
            ("with sound", |feet| feet.with_sound.as_ref()),
            ("in silence", |feet| feet.without_sound.as_ref()),
        ];
        for (name, part) in parts {
            let of = |film: &Self| {
                let lag = lag_in_words(film.feet.as_ref().and_then(part)?);
                Some(format!("in week {} {lag}", film.week))
            };
            let weeks: Vec<String> = [first, last].into_iter().filter_map(of).collect();
            if !weeks.is_empty() {
                told.push(format!("Feet {name}: {}.", weeks.join("; ")));
            }
        }
        told
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

const EXAMPLE: &str = "--marks 5=week-5-marks.csv --fps 60";
const OF_SESSION: &str = "--marks 5=week-5-marks.csv --session 5=evening.toml";

/// Reads `WEEK=FILE`.
fn week_and_file(text: &str) -> Option<(usize, String)> {
    let (week, file) = text.split_once('=')?;
    let week = week.trim().parse().ok().filter(|week| *week > 0)?;
    Some((week, file.to_string()))
}

fn no_week(text: &str, flag: &str, what: &str, example: &str) -> Error {
    Error::input(format!("found {text:?}"))
        .at(flag)
        .accepted(format!("a week's number, =, and {what}"))
        .example(example)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::{Estimate, Sides};

    #[test]
    fn the_first_film_stands_beside_the_last() {
        let film = |week, lag_ms, scatter_ms| WeekFilm {
            week,
            timed: Timed::Kept,
            scatter_ms,
            scatter_deg: 10.0,
            lag_ms: [lag_ms, None],
            feet: None,
            notes: Vec::new(),
        };
        let behind = |lag_s| Offset {
            lag_s: Estimate {
                value: lag_s,
                interval: Some((lag_s - 0.01, lag_s + 0.01)),
                n: 20,
            },
            side_s: Sides {
                left: None,
                right: None,
            },
            scatter_s: Some(0.03),
            drift_s: None,
        };
        let mut films = [
            film(5, Some(-12.4), 41.0),
            film(1, Some(45.0), 62.0),
            film(3, None, 50.0),
        ];
        let beside_arms = "First film beside last: in week 1 the kick came 45 ms after the catch of its \
            side and scattered by 62 ms; in week 5 the kick came 12 ms before the catch of its side and \
            scattered by 41 ms.";
        let told = |films: &[WeekFilm]| WeekFilm::first_and_last(films, Pairing::SameSide);
        assert_eq!(told(&films), [beside_arms]);
        films[0].feet = Some(FeetCued {
            with_sound: Some(behind(0.04)),
            without_sound: Some(behind(0.05)),
        });
        films[1].feet = Some(FeetCued {
            with_sound: Some(behind(0.08)),
            without_sound: None,
        });
        assert_eq!(
            told(&films),
            [
                beside_arms,
                "Feet with sound: in week 1 80 ms behind the cue (+70 to +90), scatter 30 ms; in week 5 \
                 40 ms behind the cue (+30 to +50), scatter 30 ms.",
                "Feet in silence: in week 5 50 ms behind the cue (+40 to +60), scatter 30 ms."
            ]
        );
        let opposite = WeekFilm::first_and_last(&films, Pairing::OppositeSide);
        assert!(opposite[0].contains("in week 5 the kick scattered by 41 ms"));
        assert_eq!(told(&films[..1]), [""; 0]);
    }
}
