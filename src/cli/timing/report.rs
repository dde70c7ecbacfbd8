//! What one film gave, as JSON. What cannot be estimated is absent.

use serde::Serialize;

use super::row::Logged;
use super::saved::Saved;
use crate::analysis::marked_twice::{MarkingError, OfKind};
use crate::analysis::timing::{FrameUncertainty, Timing};
use crate::analysis::{Doubt, Estimate, LegKick, RelativePhase, Sides};
use crate::cli::shared::came::CameShown;
use crate::cli::shared::cued::{Cued, LeadToTry};
use crate::cli::shared::film::PlacedFilm;
use crate::cli::shared::film_told::SyncShown;
use crate::cli::shared::report::{Estimated, Known, Micro};
use crate::model::record::StrokeMoment;
use crate::model::words::RATE_CAUTION;

/// Everything that one film gave, and how it is to be told.
pub struct Findings<'a> {
    pub timing: Timing,
    pub again: Option<MarkingError>,
    pub cued: Option<Cued>,
    /// The film that has a place in its track, or was looked for in it.
    pub film: Option<Box<PlacedFilm>>,
    /// The swimmer's name.
    pub swimmer: Option<&'a str>,
    /// Whether the words have the statistics by their names.
    pub detail: bool,
    /// The swimmer's file, where one was written.
    pub saved: Option<Saved<'a>>,
    /// The log's row, where one was written into.
    pub logged: Option<Logged<'a>>,
}

/// What `timing` found.
#[derive(Serialize)]
pub struct TimingReport<'a> {
    rate_spm: Estimated,
    #[serde(skip_serializing_if = "Option::is_none")]
    own_rate_spm: Option<Estimated>,
    cycle_time_s: Estimated,
    #[serde(skip_serializing_if = "Option::is_none")]
    cycle_time_sd_s: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    right_entry_cycle: Option<Estimated>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    catch_after_entry_cycle: Known<Estimated>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    propulsive_cycle: Known<Estimated>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    idc_percent: Known<Estimated>,
    #[serde(skip_serializing_if = "Option::is_none")]
    idc_mode: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    beats_per_cycle: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    kick: Option<&'static str>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    kick_phase: Known<KickPhase>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    lag_ms: Known<Known<Estimated>>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    lag_cycle: Known<Known<Estimated>>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    relative_phase_deg: Known<Known<Relative>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    nearest_pairing: Option<&'static str>,
    doubts: Vec<Doubted<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pairings_apart_ms: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    frames: Option<OfFrames>,
    #[serde(skip_serializing_if = "Option::is_none")]
    marking_error: Option<OfMarking>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sync: Option<SyncShown>,
    #[serde(skip_serializing_if = "Option::is_none")]
    behind_sound: Option<BehindSound>,
    #[serde(skip_serializing_if = "Option::is_none")]
    came: Option<CameShown>,
    #[serde(skip_serializing_if = "Option::is_none")]
    log_line: Option<usize>,
    set_aside: &'a [String],
    missing: &'a [String],
    notes: &'a [String],
    caution: &'static str,
    #[serde(skip)]
    pub findings: &'a Findings<'a>,
}

impl<'a> TimingReport<'a> {
    /// All that was found.
    pub fn new(findings: &'a Findings) -> Self {
        let timing = &findings.timing;
        let whole = |estimate: &Estimate| Estimated::rounded(*estimate);
        let ms = |s: &Estimate| Estimated::rounded(s.map(|s| s * 1000.0));
        let cycles = |s: &Estimate| Estimated::rounded(s.map(|s| s / timing.cycle_s.value));
        let lags = [&timing.lag_same_s, &timing.lag_opposite_s];
        let relative = [&timing.relative_same, &timing.relative_opposite];
        let idc = [
            &timing.idc_percent.left,
            &timing.idc_percent.right,
            &timing.idc_mean_percent,
        ];
        let [idc_left, idc_right, idc_mean] = idc.map(|idc| idc.as_ref().map(whole));
        Self {
            rate_spm: whole(&timing.rate_spm),
            own_rate_spm: timing.own_rate_spm.as_ref().map(whole),
            cycle_time_s: whole(&timing.cycle_s),
            cycle_time_sd_s: timing.cycle_sd_s.map(Micro::from),
            right_entry_cycle: timing.right_entry.as_ref().map(whole),
            catch_after_entry_cycle: Known::by_side(&timing.catch_after_entry, whole),
            propulsive_cycle: Known::by_side(&timing.propulsive, whole),
            idc_percent: Known::of([("left", idc_left), ("right", idc_right), ("mean", idc_mean)]),
            idc_mode: timing.idc_mean_percent.as_ref().map(mode),
            beats_per_cycle: timing.beats.if_sure(),
            kick: timing.kick().map(|kick| kick.word()),
            kick_phase: Known::by_side(&timing.kicks, KickPhase::new),
            lag_ms: by_pairing(lags, ms),
            lag_cycle: by_pairing(lags, cycles),
            relative_phase_deg: by_pairing(relative, Relative::new),
            nearest_pairing: timing.nearest.map(|nearest| nearest.word()),
            doubts: timing.doubts.iter().map(Doubted::new).collect(),
            pairings_apart_ms: timing.pairings_apart_s.map(|s| (s * 1000.0).into()),
            frames: timing.frames.map(OfFrames::new),
            marking_error: findings.again.map(OfMarking::new),
            sync: findings.film.as_deref().map(SyncShown::new),
            behind_sound: findings.cued.as_ref().map(|cued| BehindSound {
                set: cued.set.0,
                follows: cued.follows,
                hand_ms: Known::by_side(&cued.behind.hand_s, ms),
                foot_ms: Known::by_side(&cued.behind.foot_s, ms),
                lead_ms: of_leads(cued, |lead| Some(lead.ms)),
                lead_interval_ms: of_leads(cued, |lead| lead.interval_ms),
            }),
            came: (findings.cued.as_ref()).map(|cued| CameShown::new(&cued.came)),
            log_line: findings.logged.as_ref().map(|logged| logged.was.line),
            set_aside: &timing.set_aside,
            missing: &timing.missing,
            notes: &timing.notes,
            caution: RATE_CAUTION,
            findings,
        }
    }
}

/// The same for each pairing.
fn by_pairing<F, T>(found: [&Sides<F>; 2], told: impl Fn(&F) -> T) -> Known<Known<T>> {
    let [same, opposite] = found.map(|sides| Known::by_side(sides, &told).unless_empty());
    Known::of([("same_side", same), ("opposite_side", opposite)])
}

/// What is told of the leads to try.
fn of_leads<T>(cued: &Cued, told: impl Fn(LeadToTry) -> Option<T>) -> Known<T> {
    let [arm, kick] = cued.leads.map(|lead| lead.and_then(&told));
    Known::of([("arm", arm), ("kick", kick)])
}

#[derive(Serialize)]
struct KickPhase {
    mean_cycle: f64,
    /// Not rounded, as P is not: small ones would be rounded away.
    resultant: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    sd_cycle: Option<Micro>,
    rayleigh_p: f64,
    n: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    ci95_cycle: Option<[f64; 2]>,
}

impl KickPhase {
    fn new(kick: &LegKick) -> Self {
        // A phase from 0 to 1, which rounding must not make 1.
        let phase = |phase: f64| (phase * 1e6).round() / 1e6 % 1.0;
        let circular = &kick.circular;
        Self {
            mean_cycle: phase(circular.mean),
            resultant: circular.r,
            sd_cycle: circular.sd().map(Micro::from),
            rayleigh_p: circular.rayleigh_p(),
            n: circular.n,
            ci95_cycle: kick.interval.map(|(low, high)| [phase(low), phase(high)]),
        }
    }
}

#[derive(Serialize)]
struct Relative {
    mean: Micro,
    #[serde(skip_serializing_if = "Option::is_none")]
    sd: Option<Micro>,
    class: &'static str,
    n: usize,
}

impl Relative {
    fn new(phase: &RelativePhase) -> Self {
        Self {
            mean: phase.mean_deg.into(),
            sd: phase.sd_deg.map(Micro::from),
            class: phase.class(),
            n: phase.n,
        }
    }
}

#[derive(Serialize)]
struct OfFrames {
    frame_rate_hz: Micro,
    mark_sd_ms: Micro,
    share_percent: Micro,
    #[serde(skip_serializing_if = "Option::is_none")]
    enough_hz: Option<Micro>,
}

impl OfFrames {
    fn new(frames: FrameUncertainty) -> Self {
        Self {
            frame_rate_hz: frames.rate_hz.into(),
            mark_sd_ms: (frames.mark_sd_s * 1000.0).into(),
            share_percent: (frames.share * 100.0).into(),
            enough_hz: frames.enough_hz.map(Micro::from),
        }
    }
}

/// A doubt: its kind, and why in sentences.
#[derive(Serialize)]
struct Doubted<'a> {
    kind: &'static str,
    text: &'a str,
}

impl<'a> Doubted<'a> {
    fn new(doubt: &'a Doubt) -> Self {
        Self {
            kind: doubt.kind.word(),
            text: &doubt.text,
        }
    }
}

#[derive(Serialize)]
struct OfMarking {
    mark_sd_ms: Micro,
    shift_ms: Estimated,
    unmatched: usize,
    kinds: Known<OfKindOfMark>,
}

#[derive(Serialize)]
struct OfKindOfMark {
    mark_sd_ms: Micro,
    shift_ms: Estimated,
}

impl OfMarking {
    fn new(error: MarkingError) -> Self {
        let shift_ms = |of: &OfKind| Estimated::rounded(of.shift_s.map(|s| s * 1000.0));
        let kind = |of: OfKind| OfKindOfMark {
            mark_sd_ms: (of.mark_sd_s * 1000.0).into(),
            shift_ms: shift_ms(&of),
        };
        Self {
            mark_sd_ms: (error.all.mark_sd_s * 1000.0).into(),
            shift_ms: shift_ms(&error.all),
            unmatched: error.unmatched,
            kinds: Known::of(
                StrokeMoment::ALL
                    .map(|moment| (moment.word(), error.kinds[moment as usize].map(kind))),
            ),
        }
    }
}

#[derive(Serialize)]
struct BehindSound {
    set: usize,
    follows: bool,
    #[serde(skip_serializing_if = "Known::is_empty")]
    hand_ms: Known<Estimated>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    foot_ms: Known<Estimated>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    lead_ms: Known<i64>,
    #[serde(skip_serializing_if = "Known::is_empty")]
    lead_interval_ms: Known<[i64; 2]>,
}

/// The mode of coordination by its index (Seifert, Chollet & Rouard 2007, read in the abstract):
/// negative a gap, zero opposition, positive an overlap. Zero is what the interval cannot tell from it.
pub fn mode(mean: &Estimate) -> &'static str {
    match mean.interval {
        Some((_, high)) if high < 0.0 => "catch-up",
        Some((low, _)) if low > 0.0 => "superposition",
        Some(_) => "opposition",
        None if mean.value < 0.0 => "catch-up",
        None if mean.value > 0.0 => "superposition",
        None => "opposition",
    }
}
