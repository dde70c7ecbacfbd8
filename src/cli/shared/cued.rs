//! A cued swim in a film: which cues sounded, and how far hand and foot come behind them.

use super::came::{CuesCame, CuesHeard};
use super::film::{FilmedCue, PlacedFilm};
use super::heard::{HeardFilm, How};
use crate::analysis::behind::Behind;
use crate::analysis::marked_twice::Habits;
use crate::analysis::timing::Timing;
use crate::analysis::{Doubt, Estimate, Pass, of_cues};
use crate::error::{Error, Result};
use crate::model::cue::{CueKind, Side};
use crate::model::kick::Pairing;
use crate::model::record::StrokeMoment;
use crate::model::resolve::{Resolved, Set};
use crate::timeline::{Repeat, Schedule};
use crate::units::to_f64;

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
    /// Where that is only assumed, by its rate: the other sets of that rate, from 1.
    pub assumed: Option<Vec<usize>>,
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
    let after_s = heard.after_s;
    let found = match &heard.how {
        How::OneCue {
            session,
            sync_s,
            arm,
        } => by_one_cue(session, (sync_s + after_s, *arm), timing, habits).map(Some)?,
        How::Film(placed) => by_film(placed, after_s, timing, habits),
    };
    let Some(Swum {
        set,
        repeat,
        assumed,
        came,
    }) = found
    else {
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
        assumed,
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

/// Which repeat was swum, and what came of its cues.
struct Swum<'s> {
    set: &'s Set,
    repeat: Repeat,
    /// See [`Cued::assumed`].
    assumed: Option<Vec<usize>>,
    /// Nothing where the heard arm has no cue.
    came: Option<CuesCame>,
}

/// By one cue that the swimmer heard at a time, s, of an arm where that is known.
fn by_one_cue<'s>(
    session: &'s Resolved,
    (heard_s, heard_arm): (f64, Option<Side>),
    timing: &Timing,
    habits: &Habits,
) -> Result<Swum<'s>> {
    let (repeat, all) = cued_repeat(session, timing.rate_spm.value)?;
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
    Ok(Swum {
        set,
        assumed: Some(others_of_its_rate(session, &all, &repeat)),
        repeat,
        came,
    })
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
    Some(Swum {
        set,
        repeat: repeat.clone(),
        assumed: may_be_of(placed, repeat),
        came: Some(came),
    })
}

/// The sets, from 1, that a film may show as well whose cues are taken for those of a repeat; none where
/// its place says which it is.
fn may_be_of(placed: &PlacedFilm, repeat: &Repeat) -> Option<Vec<usize>> {
    let others = match &placed.swims_left()[..] {
        [] => others_of_its_rate(&placed.session, &placed.schedule.repeats, repeat),
        swims => {
            let mut sets: Vec<usize> = (swims.iter())
                .map(|swim| placed.timeline.set_and_repeat(*swim).0 as usize)
                .filter(|set| *set != repeat.set + 1)
                .collect();
            sets.dedup();
            sets
        }
    };
    Some(others).filter(|others| !others.is_empty())
}

/// The other sets, from 1, that have arm cues at the rate of a repeat.
fn others_of_its_rate(session: &Resolved, all: &[Repeat], repeat: &Repeat) -> Vec<usize> {
    let mut others: Vec<usize> = (all.iter())
        .filter(|other| other.set != repeat.set && session.sets[other.set].cues.has(CueKind::Arm))
        .filter(|other| (&other.from, &other.to) == (&repeat.from, &repeat.to))
        .map(|other| other.set + 1)
        .collect();
    others.dedup();
    others
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

/// The repeat that was swum: of those with arm cues at one rate, the nearest in rate; with all there are.
fn cued_repeat(session: &Resolved, spm: f64) -> Result<(Repeat, Vec<Repeat>)> {
    let all = Schedule::new(session)?.repeats;
    let steady = (all.iter()).filter(|repeat| {
        repeat.from == repeat.to && session.sets[repeat.set].cues.has(CueKind::Arm)
    });
    let off = |repeat: &Repeat| (to_f64(repeat.from.spm()) - spm).abs();
    steady
        .min_by(|one, other| off(one).total_cmp(&off(other)))
        .cloned()
        .map(|repeat| (repeat, all))
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
