//! A cued swim in a film: which cues sounded, and how far hand and foot come behind them.

use crate::analysis::circular::Circular;
use crate::analysis::cued::{Behind, HeardCues};
use crate::analysis::timing::Timing;
use crate::analysis::{Estimate, Pass};
use crate::cli::shared::swum::flag;
use crate::error::{Error, Result};
use crate::files::{load_session, read_film_time};
use crate::model::circle::forward;
use crate::model::cue::{CueKind, PerSide, Side};
use crate::model::kick::Kick;
use crate::model::record::StrokeMoment;
use crate::model::resolve::{Resolved, Set, resolve};
use crate::model::session::RatePlan;
use crate::model::swimmer::Swimmer;
use crate::model::wishes::Wishes;
use crate::units::{Length, Rate, to_f64};

/// The film and its sound, as the person told them.
pub struct CuedFilm<'a> {
    pub session: &'a str,
    pub sync: &'a str,
    pub distance: Option<&'a str>,
    pub frame_rate_hz: Option<f64>,
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
    /// `lead` to try for arm and kick, ms.
    pub lead_ms: (Option<i64>, Option<i64>),
}

/// Sound in air at 20 °C, m/s.
const SOUND_M_S: f64 = 343.0;
/// A lead is tried in steps that a person could notice, ms, and within what a session accepts.
const LEAD_STEP_MS: f64 = 5.0;
const MOST_LEAD_MS: f64 = 300.0;

/// Reads a cued swim.
///
/// # Errors
/// When the session does not hold, has no steady rate with cues, or the flags are no such
/// quantities.
pub fn read(film: &CuedFilm, swimmer: Option<&Swimmer>, timing: &Timing) -> Result<Cued> {
    let session = resolve(&load_session(film.session)?, swimmer, &Wishes::default())?;
    let sync_s =
        read_film_time(film.sync, film.frame_rate_hz).map_err(|error| error.at("--sync"))?;
    let way = flag::<Length>("--distance", film.distance)
        .map_err(|error| error.example("--distance \"12 m\""))?;
    let way_m = way.map_or(0.0, |way| to_f64(way.metres()));
    let (number, set, rate) = cued_set(&session, timing.rate_spm.value)?;
    // The film hears the cue later than it sounded, by the way from the loudspeaker.
    let cues = cues(set, rate, sync_s - way_m / SOUND_M_S);
    let pass = nearest_pass(&timing.passes, sync_s);
    let behind = Behind::of(pass, &cues).ok_or_else(|| {
        Error::input(format!(
            "no {} is marked, and the cues of set {number} sound for it",
            set.arm_moment().word()
        ))
        .at("--session")
        .accepted("marks of the moment that the arm cue sounds for")
    })?;
    let follows = follows(pass, &cues);
    let lead = |kind: CueKind, lag: Option<Estimate>| {
        let now_ms = to_f64(set.lead.of(kind).s()) * 1000.0;
        let wanted = now_ms + lag?.value * 1000.0;
        let stepped = (wanted / LEAD_STEP_MS).round() * LEAD_STEP_MS;
        (follows && stepped.abs() <= MOST_LEAD_MS).then_some(stepped as i64)
    };
    Ok(Cued {
        lead_ms: (
            lead(CueKind::Arm, behind.hands_s),
            lead(CueKind::Kick, behind.feet_s),
        ),
        set: (number, set.name.clone()),
        rate: rate.clone(),
        follows,
        behind,
    })
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

fn cues(set: &Set, rate: &Rate, heard_s: f64) -> HeardCues {
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
