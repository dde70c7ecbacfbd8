//! A cued swim in a film: which cues sounded, and how far hand and foot come behind them.

use super::came::{CuesCame, CuesHeard};
use super::film::{FilmedCue, PlacedFilm};
use crate::analysis::behind::Behind;
use crate::analysis::marked_twice::Habits;
use crate::analysis::timing::Timing;
use crate::analysis::{Doubt, Estimate, Pass, of_cues};
use crate::error::{Error, Result};
use crate::model::cue::{CueKind, Side};
use crate::model::kick::Pairing;
use crate::model::record::{FilmSync, Marks, StrokeMoment};
use crate::model::resolve::{Resolved, Set};
use crate::sync::SyncAnswer;
use crate::timeline::{Repeat, Schedule};
use crate::units::to_f64;

/// The cues of a session, heard in the film.
pub enum HeardFilm {
    /// One arm's cue at a time of the film, s, as the person heard it.
    OneCue {
        session: Box<Resolved>,
        sync_s: f64,
        /// Whose it was, where that is known.
        arm: Option<Side>,
        /// How much later than the camera the swimmer hears it, s.
        after_s: f64,
    },
    /// All of them, found in its sound.
    Film {
        placed: Box<PlacedFilm>,
        /// Whether they were found now; else the marks say where.
        found_now: bool,
        /// How much later than the camera the swimmer hears them, s.
        after_s: f64,
    },
}

impl HeardFilm {
    /// What marks that were saved by a page with the cues say of them; nothing where they say nothing.
    ///
    /// # Errors
    /// When they name no place in this session's track.
    pub fn in_marks(session: Resolved, marks: &Marks, after_s: f64) -> Result<Option<Self>> {
        Ok(match &marks.film.sync {
            Some(FilmSync::Heard { time_s, arm }) => Some(Self::OneCue {
                session: Box::new(session),
                sync_s: *time_s,
                arm: Some(*arm),
                after_s,
            }),
            Some(FilmSync::Found {
                place,
                track_s_at_film_0,
                drift_ppm,
                interval_ms,
            }) => {
                let clock = (*track_s_at_film_0, *drift_ppm, *interval_ms);
                let times = marks.marks.iter().map(|mark| mark.time_s);
                let last_s = times.fold(0.0, f64::max);
                Some(Self::Film {
                    placed: Box::new(PlacedFilm::known(session, *place, clock, last_s)?),
                    found_now: false,
                    after_s,
                })
            }
            None => None,
        })
    }

    /// The session whose cues they are.
    fn session(&self) -> &Resolved {
        match self {
            Self::OneCue { session, .. } => session,
            Self::Film { placed, .. } => &placed.session,
        }
    }

    /// Whether it is known which swim the film shows.
    fn is_locked(&self) -> bool {
        match self {
            Self::OneCue { .. } => false,
            Self::Film { placed, .. } => placed.sync.answer == SyncAnswer::Locked,
        }
    }

    /// The film, where it was looked for.
    pub fn film(self) -> Option<Box<PlacedFilm>> {
        match self {
            Self::Film {
                placed,
                found_now: true,
                ..
            } => Some(placed),
            Self::Film { .. } | Self::OneCue { .. } => None,
        }
    }
}

/// What the cues tell of a film.
#[derive(Default)]
pub struct ByCues {
    /// Nothing where the film gave no times, or left and right may be crossed in the marks.
    pub cued: Option<Cued>,
    /// What they say against the sides of the marks.
    pub doubt: Option<Doubt>,
}

/// What was found.
pub struct Cued {
    pub behind: Behind,
    /// The set whose cues these are, from 1, and its name.
    pub set: (usize, String),
    /// Which of its repeats it most likely is, where the film tells.
    pub repeat: Option<u64>,
    /// The pairing that every set of the session cues; none where they differ.
    pub pairing: Option<Pairing>,
    /// The rate cued, in words.
    pub rate: String,
    /// Whether the hands stay with the cues at all.
    pub follows: bool,
    /// `lead` to try for the arm, and for the kick.
    pub leads: [Option<LeadToTry>; 2],
    /// What came of the cues, cycle by cycle.
    pub came: CuesCame,
}

/// A lead is tried in steps that a person could notice, ms, and within what a session accepts.
const LEAD_STEP_MS: f64 = 5.0;
const MOST_LEAD_MS: f64 = 300.0;

/// Reads a cued swim.
///
/// # Errors
/// When the session has no swim at one rate with cues that may be the heard one, or no hand is marked.
pub fn read(heard: &HeardFilm, timing: &Timing, habits: &Habits) -> Result<ByCues> {
    let found = match heard {
        HeardFilm::OneCue {
            session,
            sync_s,
            arm,
            after_s,
        } => by_one_cue(session, (sync_s + after_s, *arm), timing, habits).map(Some)?,
        HeardFilm::Film {
            placed, after_s, ..
        } => by_film(placed, *after_s, timing, habits),
    };
    let Some((set, repeat, came)) = found else {
        return Ok(ByCues::default());
    };
    let number = repeat.set + 1;
    let came = came.and_then(|came| Some((came.behind()?, came)));
    let (behind, came) = came.ok_or_else(|| {
        Error::input(format!(
            "no {} is marked, and the cues of set {number} sound for it",
            set.arm_moment().word()
        ))
        .at("--session")
        .accepted("marks of the moment that the arm cue sounds for")
    })?;
    // Where one arm swims alone there is no other whose cues it could keep with.
    let both_swim = Side::BOTH.into_iter().all(|side| set.arms.swims(side));
    let doubt = of_cues(came.hands.as_ref(), came.feet.as_ref()).filter(|_| both_swim);
    if doubt.is_some() || timing.feet_crossed().is_some() {
        return Ok(ByCues { cued: None, doubt });
    }
    let follows = came.hands.as_ref().is_some_and(|hands| hands.follows);
    let tried = |kind, lag: Option<Estimate>| lag.and_then(|lag| LeadToTry::of(set, kind, lag));
    let leads = [
        (CueKind::Arm, behind.hands_s),
        (CueKind::Kick, behind.feet_s),
    ]
    .map(|(kind, lag)| tried(kind, lag).filter(|_| follows));
    let mut sets = heard.session().sets.iter();
    let cued = Cued {
        repeat: heard.is_locked().then_some(repeat.number),
        pairing: (sets.all(|one| one.pairing == set.pairing)).then_some(set.pairing),
        leads,
        set: (number, set.name.clone()),
        rate: repeat.rate_in_words(),
        came,
        follows,
        behind,
    };
    Ok(ByCues {
        cued: Some(cued),
        doubt: None,
    })
}

/// What came of which repeat's cues; nothing where the heard arm has none.
type Swum<'s> = (&'s Set, Repeat, Option<CuesCame>);

/// By one cue that the swimmer heard at a time, s, of an arm where that is known.
fn by_one_cue<'s>(
    session: &'s Resolved,
    (heard_s, heard_arm): (f64, Option<Side>),
    timing: &Timing,
    habits: &Habits,
) -> Result<Swum<'s>> {
    let repeat = cued_repeat(session, timing.rate_spm.value)?;
    let set = &session.sets[repeat.set];
    let pass = nearest_pass(&timing.passes, heard_s);
    let cycle_s = cycle_s(&repeat);
    let by_arm = |arm| {
        let cues = CuesHeard::from_one(set, cycle_s, (heard_s, arm), pass);
        CuesCame::of(&cues, set, cycle_s, &[pass], habits)
    };
    let off_s = |came: &CuesCame| {
        let hands_s = came.behind().and_then(|behind| behind.hands_s);
        hands_s.map_or(f64::INFINITY, |lag| lag.value.abs())
    };
    // Whose it was is told from the hands where nobody says it.
    let came = (Side::BOTH.into_iter())
        .filter(|side| set.arms.swims(*side) && heard_arm.is_none_or(|heard| heard == *side))
        .map(by_arm)
        .min_by(|one, other| off_s(one).total_cmp(&off_s(other)));
    Ok((set, repeat, came))
}

/// By all cues in a film, which the swimmer hears `after_s` later than the camera; nothing where it
/// gave no times.
fn by_film<'s>(
    placed: &'s PlacedFilm,
    after_s: f64,
    timing: &Timing,
    habits: &Habits,
) -> Option<Swum<'s>> {
    let filmed = placed.cues();
    let repeat = placed.repeat(nearest_cue(&filmed, &timing.passes)?.event)?;
    let set = &placed.session.sets[repeat.set];
    let passes: Vec<&Pass> = timing.passes.iter().collect();
    let cues = CuesHeard::in_film(placed, &filmed, after_s);
    let came = CuesCame::of(&cues, set, cycle_s(repeat), &passes, habits);
    Some((set, repeat.clone(), Some(came)))
}

/// A `lead` to try, ms, and between which it may be, by the interval of the lag.
#[derive(Clone, Copy)]
pub struct LeadToTry {
    pub ms: i64,
    pub interval_ms: Option<[i64; 2]>,
}

impl LeadToTry {
    /// The lead that takes a lag away; none where no session accepts it.
    fn of(set: &Set, kind: CueKind, lag: Estimate) -> Option<Self> {
        let now_ms = to_f64(set.lead.of(kind).s()) * 1000.0;
        let stepped = ((now_ms + lag.value * 1000.0) / LEAD_STEP_MS).round() * LEAD_STEP_MS;
        (stepped.abs() <= MOST_LEAD_MS).then(|| Self {
            ms: stepped as i64,
            interval_ms: (lag.interval)
                .map(|(low, high)| [low, high].map(|s| (now_ms + s * 1000.0).round() as i64)),
        })
    }
}

/// The arm cue in the film that lies nearest to the middle of a pass.
fn nearest_cue(cues: &[FilmedCue], passes: &[Pass]) -> Option<FilmedCue> {
    let off_s = |cue: &FilmedCue| {
        let each = passes.iter().map(|pass| {
            let (first, last) = ends_s(pass);
            (cue.film_s - 0.5 * (first + last)).abs()
        });
        each.fold(f64::INFINITY, f64::min)
    };
    let arms = cues.iter().filter(|cue| cue.event.kind == CueKind::Arm);
    let nearest = arms.min_by(|one, other| off_s(one).total_cmp(&off_s(other)));
    nearest.copied()
}

/// The repeat that was swum: of those with arm cues at one rate, the nearest in rate.
fn cued_repeat(session: &Resolved, spm: f64) -> Result<Repeat> {
    let steady = Schedule::new(session)?
        .repeats
        .into_iter()
        .filter(|repeat| {
            repeat.from == repeat.to && session.sets[repeat.set].cues.has(CueKind::Arm)
        });
    let off = |repeat: &Repeat| (to_f64(repeat.from.spm()) - spm).abs();
    steady
        .min_by(|one, other| off(one).total_cmp(&off(other)))
        .ok_or_else(|| {
            Error::input("no swim of this session has arm cues at one rate")
                .at(&session.source)
                .accepted("a session with a swim at one rate and the cue arm; or the film (--film)")
        })
}

/// How long a cycle of a repeat takes, s; of a rate that changes, one in its middle.
fn cycle_s(repeat: &Repeat) -> f64 {
    0.5 * (to_f64(&repeat.from.cycle_s()) + to_f64(&repeat.to.cycle_s()))
}

/// The first and the last entry of a pass's leading hand, s.
fn ends_s(pass: &Pass) -> (f64, f64) {
    let entries = pass.of(StrokeMoment::Entry, pass.lead);
    (entries[0], entries[entries.len() - 1])
}

/// The pass that the heard cue belongs to: the one nearest in time.
fn nearest_pass(passes: &[Pass], time: f64) -> &Pass {
    let off = |pass: &&Pass| {
        let (first, last) = ends_s(pass);
        (first - time).max(time - last).max(0.0)
    };
    (passes.iter())
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .expect("timing refuses marks without a pass")
}
