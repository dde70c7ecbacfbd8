//! A cued swim in a film: which cues sounded, and how far hand and foot come behind them.

use std::path::PathBuf;

use clap::Args;

use super::came::{CuesCame, CuesHeard};
use crate::analysis::circular::Circular;
use crate::analysis::cued::{Behind, HeardCues};
use crate::analysis::marked_twice::Habits;
use crate::analysis::timing::Timing;
use crate::analysis::{Estimate, Pass};
use crate::cli::shared::film::{FilmedCue, PlacedFilm, WayArgs, WhereArgs};
use crate::error::{Error, Result};
use crate::files::{load_session, read_film_time};
use crate::model::circle::forward;
use crate::model::cue::{CueKind, PerSide, Side};
use crate::model::kick::Kick;
use crate::model::record::{FilmSync, Marks, StrokeMoment};
use crate::model::resolve::{Resolved, Set, resolve};
use crate::model::session::RatePlan;
use crate::model::swimmer::Swimmer;
use crate::model::wishes::Wishes;
use crate::timeline::Event;
use crate::units::{Rate, to_f64};

/// What sounded, and how the film tells when.
#[derive(Debug, Args)]
pub struct CuedArgs {
    /// The session that sounded: how far do hand and foot come behind the sound?
    #[arg(long, value_name = "FILE")]
    pub session: Option<String>,
    /// When one arm cue of that session is heard in the film
    #[arg(
        long,
        value_name = "TIME",
        requires = "session",
        conflicts_with = "film"
    )]
    pub sync: Option<String>,
    /// The film itself, or a WAV of its sound: the cues are found in it
    #[arg(long, value_name = "FILE", requires = "session")]
    pub film: Option<PathBuf>,
    #[command(flatten)]
    pub place: WhereArgs,
    #[command(flatten)]
    pub way: WayArgs,
}

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

    /// The session, and how much later than the camera the swimmer hears it, s.
    fn session(&self) -> (&Resolved, f64) {
        match self {
            Self::OneCue {
                session, after_s, ..
            } => (session, *after_s),
            Self::Film {
                placed, after_s, ..
            } => (&placed.session, *after_s),
        }
    }
}

/// What was found.
pub struct Cued {
    pub behind: Behind,
    /// The set whose cues these are, from 1, and its name.
    pub set: (usize, String),
    /// The rate cued.
    pub rate: Rate,
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

/// The cues that the arguments speak of, or the marks, if they do.
///
/// # Errors
/// When session or film does not hold, the flags are no such quantities, or nothing says when a cue
/// of the session was heard.
pub fn heard(
    args: &CuedArgs,
    swimmer: Option<&Swimmer>,
    marks: &Marks,
) -> Result<Option<HeardFilm>> {
    let Some(session) = &args.session else {
        return Ok(None);
    };
    let session = resolve(&load_session(session)?, swimmer, &Wishes::default())?;
    let after_s = args.way.swimmer_after_camera_s()?;
    let one_cue = |session, sync_s, arm| HeardFilm::OneCue {
        session: Box::new(session),
        sync_s,
        arm,
        after_s,
    };
    let film = |placed, found_now| HeardFilm::Film {
        placed: Box::new(placed),
        found_now,
        after_s,
    };
    if let Some(file) = &args.film {
        let placed = PlacedFilm::find(file, session, &args.place)?;
        return Ok(Some(film(placed, true)));
    }
    if let Some(sync) = &args.sync {
        let sync_s =
            read_film_time(sync, marks.frame_rate_hz).map_err(|error| error.at("--sync"))?;
        return Ok(Some(one_cue(session, sync_s, None)));
    }
    match &marks.film.sync {
        Some(FilmSync::Heard { time_s, arm }) => Ok(Some(one_cue(session, *time_s, Some(*arm)))),
        Some(FilmSync::Found {
            place,
            track_s_at_film_0,
            drift_ppm,
            ..
        }) => {
            let last_s = marks.marks.iter().map(|mark| mark.time_s).fold(0.0, f64::max);
            let placed = PlacedFilm::known(session, *place, (*track_s_at_film_0, *drift_ppm), last_s)?;
            Ok(Some(film(placed, false)))
        }
        None => Err(Error::input("nothing says when a cue of it is heard in the film")
            .at("--session")
            .accepted(
                "the film, the time of one arm cue, or marks that were saved by a page with the cues",
            )
            .example("--film clip.mp4, or --sync 4.20")),
    }
}

/// Reads a cued swim; nothing where the film gave no times.
///
/// # Errors
/// When the session has no steady rate with cues there, or no hand is marked.
pub fn read(heard: &HeardFilm, timing: &Timing, habits: &Habits) -> Result<Option<Cued>> {
    let (session, after_s) = heard.session();
    let filmed = match heard {
        HeardFilm::OneCue { .. } => Vec::new(),
        HeardFilm::Film { placed, .. } => placed.cues(),
    };
    let (pass, cue, swum) = match heard {
        HeardFilm::OneCue { sync_s, arm, .. } => {
            let swum = cued_set(session, timing.rate_spm.value)?;
            (nearest_pass(&timing.passes, *sync_s), (*sync_s, *arm), swum)
        }
        HeardFilm::Film { .. } => {
            let Some((pass, cue)) = nearest_cue(&filmed, &timing.passes) else {
                return Ok(None);
            };
            let swum = filmed_set(session, cue.event)?;
            (pass, (cue.film_s, cue.event.side), swum)
        }
    };
    let (number, set, rate) = swum;
    let cues = cues(set, rate, (cue.0 + after_s, cue.1));
    let behind = Behind::of(pass, &cues, habits).ok_or_else(|| {
        Error::input(format!(
            "no {} is marked, and the cues of set {number} sound for it",
            set.arm_moment().word()
        ))
        .at("--session")
        .accepted("marks of the moment that the arm cue sounds for")
    })?;
    let follows = follows(pass, &cues);
    let tried = |kind, lag: Option<Estimate>| lag.and_then(|lag| LeadToTry::of(set, kind, lag));
    let leads = [
        (CueKind::Arm, behind.hands_s),
        (CueKind::Kick, behind.feet_s),
    ]
    .map(|(kind, lag)| tried(kind, lag).filter(|_| follows));
    let (heard, passes) = match heard {
        HeardFilm::OneCue { .. } => (
            CuesHeard::from_one(set, &cues, behind.heard_arm, pass),
            vec![pass],
        ),
        HeardFilm::Film { placed, .. } => (
            CuesHeard::in_film(placed, &filmed, after_s),
            timing.passes.iter().collect(),
        ),
    };
    Ok(Some(Cued {
        leads,
        set: (number, set.name.clone()),
        rate: rate.clone(),
        came: CuesCame::of(&heard, set, &cues, &passes),
        follows,
        behind,
    }))
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

/// The pass and the arm cue in the film that lie nearest, the cue to the pass's middle.
fn nearest_cue<'a>(cues: &[FilmedCue], passes: &'a [Pass]) -> Option<(&'a Pass, FilmedCue)> {
    let arms = || cues.iter().filter(|cue| cue.event.kind == CueKind::Arm);
    let pairs = passes
        .iter()
        .flat_map(|pass| arms().map(move |cue| (pass, *cue)));
    let off = |pass: &Pass, cue: &FilmedCue| {
        let entries = pass.of(StrokeMoment::Entry, pass.lead);
        let middle = 0.5 * (entries[0] + entries[entries.len() - 1]);
        (cue.film_s - middle).abs()
    };
    pairs.min_by(|a, b| off(a.0, &a.1).total_cmp(&off(b.0, &b.1)))
}

/// The set of a cue, and its rate.
fn filmed_set(session: &Resolved, cue: Event) -> Result<(usize, &Set, &Rate)> {
    let number = cue.set as usize;
    let set = &session.sets[number - 1];
    let compared = set.compared(u64::from(cue.repeat));
    let rate = compared.or(match &set.rate {
        RatePlan::Steady(rate) => Some(rate),
        RatePlan::Ramp { .. } => None,
    });
    let rate = rate.ok_or_else(|| {
        Error::input(format!(
            "set {number}, which is in the film, has no steady rate"
        ))
        .at(&session.source)
        .accepted("a film of a set with one rate")
    })?;
    Ok((number, set, rate))
}

/// The set that was swum: of those with arm cues at a steady rate, the one nearest in rate.
fn cued_set(session: &Resolved, spm: f64) -> Result<(usize, &Set, &Rate)> {
    let with_arms = (session.sets.iter().enumerate()).filter(|(_, set)| set.cues.has(CueKind::Arm));
    let steady = with_arms.flat_map(|(at, set)| {
        let planned = match &set.rate {
            RatePlan::Steady(rate) => Some(rate),
            RatePlan::Ramp { .. } => None,
        };
        let compared = set.compare.as_ref().map(|compare| &compare.rate);
        [planned, compared]
            .into_iter()
            .flatten()
            .map(move |rate| (at + 1, set, rate))
    });
    let off = |rate: &Rate| (to_f64(rate.spm()) - spm).abs();
    steady
        .min_by(|a, b| off(a.2).total_cmp(&off(b.2)))
        .ok_or_else(|| {
            Error::input("no set of this session has arm cues at a steady rate")
                .at(&session.source)
                .accepted("a session with one rate and the cue arm")
        })
}

/// The cues of a set by one arm's: when it was heard, s, and whose it was where that is known.
fn cues(set: &Set, rate: &Rate, (heard_s, heard_arm): (f64, Option<Side>)) -> HeardCues {
    let cycle_s = to_f64(&rate.cycle_s());
    let arms = set.stroke().moments(set.arm_moment());
    let feet = set.pairing.paired_beats(&set.stroke());
    let early = |kind| to_f64(set.lead.of(kind).s());
    let after = |phase| to_f64(&forward(&arms.left, phase)) * cycle_s;
    // Both kinds may sound early by a lead of their own.
    let foot = |side: Side| after(feet.of(side)) - early(CueKind::Kick) + early(CueKind::Arm);
    HeardCues {
        cycle_s,
        arm_moment: set.arm_moment(),
        arms: set.arms,
        arm_s: PerSide {
            left: 0.0,
            right: after(&arms.right),
        },
        foot_s: PerSide {
            left: foot(Side::Left),
            right: foot(Side::Right),
        },
        beats: match set.kick {
            Kick::SixBeat => 6,
            Kick::FourBeat => 4,
            Kick::TwoBeat | Kick::Pull => 2,
        },
        heard_s,
        heard_arm,
    }
}

/// The pass that the heard cue belongs to: the one nearest in time.
fn nearest_pass(passes: &[Pass], time: f64) -> &Pass {
    let off = |pass: &&Pass| {
        let entries = pass.of(StrokeMoment::Entry, pass.lead);
        let (first, last) = (entries[0], entries[entries.len() - 1]);
        (first - time).max(time - last).max(0.0)
    };
    (passes.iter())
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .expect("timing refuses marks without a pass")
}

/// Whether the hands keep a phase to the cues: Rayleigh's test on the leading hand's entries.
fn follows(pass: &Pass, cues: &HeardCues) -> bool {
    let phases: Vec<f64> = (pass.of(StrokeMoment::Entry, pass.lead).iter())
        .map(|time| (time - cues.heard_s) / cues.cycle_s)
        .collect();
    Circular::of(&phases).is_some_and(|circular| circular.rayleigh_p() < 0.05)
}
