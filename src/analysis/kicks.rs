//! Kicks: where each leg's paired ones fall, and how they lie to the arms.

use libm::sqrt;

use super::beats::{Beats, kick_period};
use super::circular::Circular;
use super::locked::KickRow;
use super::pass::{Pass, unwrap};
use super::student::{Mean, factor_95};
use super::{Estimate, wrap_half};
use crate::model::cue::Side;
use crate::model::kick::Pairing;
use crate::model::record::StrokeMoment;

/// Where one leg's paired kicks fall on the circle.
#[derive(Debug, Clone, PartialEq)]
pub struct LegKick {
    /// Their phases, 0 = left entry, in order of time.
    pub phases: Vec<f64>,
    /// The same, summarised.
    pub circular: Circular,
    /// 95 % interval of the mean: each end in 0 to 1, so the low end may be the larger number.
    pub interval: Option<(f64, f64)>,
}

impl LegKick {
    /// `floor` is the variance (squared cycles) that a phase has by the way it was read,
    /// `together2` the squared error of all of them together.
    pub(super) fn of(phases: Vec<f64>, floor: f64, together2: f64) -> Option<Self> {
        let circular = Circular::of(&phases)?;
        let turn = |phase: f64| phase - phase.floor();
        let together = factor_95(f64::INFINITY) * sqrt(together2);
        let interval = (circular.half_width(floor))
            .map(|half| half.hypot(together))
            .filter(|half| *half < 0.5)
            .map(|half| (turn(circular.mean - half), turn(circular.mean + half)));
        Some(Self {
            phases,
            circular,
            interval,
        })
    }
}

/// Every kick of a leg as a phase on the circle (0 = left entry). `right_entry` places passes
/// that are folded on the right hand.
pub(super) fn phases(passes: &[Pass], leg: Side, right_entry: f64) -> Vec<f64> {
    passes
        .iter()
        .flat_map(|pass| on_circle(pass, StrokeMoment::Kick, leg, right_entry))
        .collect()
}

/// A leg's kicks in order of time, one for each cycle: their mean as a turn of the circle on which
/// they are followed through the film, with the number of their pass. Kicks of one cycle are told
/// from one entry, and share its error. Beats that are not evenly spread do not fall together quite: then a
/// cycle counts that shows both.
pub(super) fn kick_turns(passes: &[Pass], leg: Side, beats: &Beats, right_entry: f64) -> KickRow {
    let turn = beats.turn();
    let mut row = KickRow::new();
    for pass in passes {
        let lead = lead_phase(pass, right_entry);
        let kicks: Vec<(usize, f64)> = (pass.of(StrokeMoment::Kick, leg).iter())
            .filter_map(|time| {
                let (phase, _) = pass.phase(*time)?;
                Some((pass.nearest_entry(*time), (phase + lead) / turn))
            })
            .collect();
        let cycles = kicks.chunk_by(|a, b| a.0 == b.0);
        for cycle in cycles.filter(|cycle| beats.even || cycle.len() > 1) {
            let turns: Vec<f64> = cycle.iter().map(|(_, turn)| *turn).collect();
            row.extend(Circular::of(&turns).map(|circular| (pass.number, circular.mean)));
        }
    }
    row
}

/// Where the entry that a pass is folded on lies on the circle.
fn lead_phase(pass: &Pass, right_entry: f64) -> f64 {
    match pass.lead {
        Side::Left => 0.0,
        Side::Right => right_entry,
    }
}

/// The marks of one event as phases on the circle.
pub(super) fn on_circle(
    pass: &Pass,
    moment: StrokeMoment,
    side: Side,
    right_entry: f64,
) -> Vec<f64> {
    let offset = lead_phase(pass, right_entry);
    (pass.of(moment, side).iter())
        .filter_map(|time| pass.phase(*time))
        .map(|(phase, _)| (phase + offset) - (phase + offset).floor())
        .collect()
}

/// The arm moment that a leg's paired kick belongs to.
pub(super) fn arm_moment(pairing: Pairing, leg: Side) -> (StrokeMoment, Side) {
    match pairing {
        Pairing::SameSide => (StrokeMoment::Catch, leg),
        Pairing::OppositeSide => (StrokeMoment::Entry, leg.other()),
    }
}

/// Lag of a leg's kick behind its arm moment, s: kick minus moment, wrapped to half a kick
/// period, positive = late. `cycle_s` is the swimmer's cycle. Nothing where one of the two is
/// not marked in the same pass.
pub(super) fn lag(
    passes: &[Pass],
    pairing: Pairing,
    leg: Side,
    beats: u32,
    cycle_s: f64,
    floor: f64,
) -> Option<Mean> {
    let period = kick_period(beats);
    let moment = arm_moment(pairing, leg);
    let found: Vec<f64> = (passes.iter())
        .flat_map(|pass| pass.nearest(moment, (StrokeMoment::Kick, leg), period))
        .map(|(s, _)| s)
        .collect();
    wrapped_mean(found, period * cycle_s, floor)
}

/// The mean of distances on a circle of `period`, from -1/2 to 1/2 of it.
pub(super) fn wrapped_mean(mut distances: Vec<f64>, period: f64, floor: f64) -> Option<Mean> {
    let turns: Vec<f64> = distances.iter().map(|distance| distance / period).collect();
    let centre = wrap_half(Circular::of(&turns)?.mean) * period;
    unwrap(&mut distances, period, centre);
    let mut mean = Mean::of(&distances, floor)?;
    mean.value = period * wrap_half(mean.value / period);
    Some(mean)
}

/// The phase of an arm moment within the foot's own kick cycle, in degrees.
///
/// Discrete relative phase and its classes as in Martínez-Sobrino, Veiga & Navandar
/// (read in the abstract): in phase from 330 to 30, anti-phase from 150 to 210.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RelativePhase {
    /// Circular mean, degrees, 0 to 360.
    pub mean_deg: f64,
    /// Circular standard deviation, degrees.
    pub sd_deg: Option<f64>,
    /// How many arm moments.
    pub n: usize,
}

impl RelativePhase {
    /// Its class.
    pub fn class(&self) -> &'static str {
        match self.mean_deg {
            deg if !(30.0..=330.0).contains(&deg) || deg == 30.0 || deg == 330.0 => "in phase",
            deg if (150.0..=210.0).contains(&deg) => "anti-phase",
            _ => "out of phase",
        }
    }

    pub(super) fn of(passes: &[Pass], pairing: Pairing, leg: Side, beats: u32) -> Option<Self> {
        let (moment, side) = arm_moment(pairing, leg);
        let mut turns = Vec::new();
        for pass in passes {
            let kicks = pass.of(StrokeMoment::Kick, leg);
            for time in pass.of(moment, side) {
                let after = kicks.partition_point(|kick| kick <= time);
                if after == 0 || after == kicks.len() {
                    continue;
                }
                let gap = kicks[after] - kicks[after - 1];
                // A missing kick would halve the phase; a four-beat leg's long gap is 2/3 cycle.
                let longest = if beats > 4 {
                    1.6 * kick_period(beats)
                } else {
                    1.6
                };
                if gap < longest * pass.cycle_at(*time) {
                    turns.push((time - kicks[after - 1]) / gap);
                }
            }
        }
        let circular = Circular::of(&turns)?;
        Some(Self {
            mean_deg: circular.mean * 360.0,
            sd_deg: circular.sd().map(|sd| sd * 360.0),
            n: circular.n,
        })
    }
}

/// A mean in seconds as an estimate.
pub(super) fn estimates(mean: Option<Mean>) -> Option<Estimate> {
    mean.map(|mean| mean.estimate())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_classes_of_relative_phase_have_the_published_bounds() {
        let class = |mean_deg| {
            let phase = RelativePhase {
                mean_deg,
                sd_deg: None,
                n: 8,
            };
            phase.class()
        };
        // Martínez-Sobrino et al.: 355.9, 0.5, 352.9 and 17.5 are in phase.
        for deg in [355.9, 0.5, 352.9, 17.5, 30.0, 330.0] {
            assert_eq!(class(deg), "in phase", "{deg}");
        }
        for deg in [150.0, 180.0, 210.0] {
            assert_eq!(class(deg), "anti-phase", "{deg}");
        }
        for deg in [31.0, 149.0, 211.0, 329.0] {
            assert_eq!(class(deg), "out of phase", "{deg}");
        }
    }

    #[test]
    fn lags_around_half_a_period_do_not_cancel() {
        let mean = wrapped_mean(vec![0.98, -0.98, 0.96, -0.96], 2.0, 0.0).expect("four lags");
        assert!((mean.value.abs() - 1.0).abs() < 1e-9, "{mean:?}");
    }
}
