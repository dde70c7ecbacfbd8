//! Which pairing the kick is nearer to today, and whether that can be told.

use super::kicks::{LegKick, kick_period, phases};
use super::student::Mean;
use super::{Estimate, Pass, Sides, for_sides, wrap_half};
use crate::model::cue::{PerSide, Side};
use crate::model::kick::Pairing;

/// The phases of each pairing's arm moments for each foot, where they are known.
#[derive(Debug, Clone)]
pub(super) struct Targets {
    pub same: Sides<f64>,
    pub opposite: PerSide<f64>,
    /// Squared standard error of the distance between the two, cycles².
    pub error2: f64,
}

impl Targets {
    /// From the right entry's share and each arm's catch.
    pub fn new(right_entry: f64, entry_error2: f64, catches: &Sides<Mean>) -> Self {
        let entry = |hand: Side| match hand {
            Side::Left => 0.0,
            Side::Right => right_entry,
        };
        let worst = (Side::BOTH.iter())
            .filter_map(|side| catches.of(*side).map(|mean| mean.error2))
            .fold(0.0, f64::max);
        Self {
            same: for_sides(|foot| catches.of(foot).map(|catch| entry(foot) + catch.value)),
            opposite: for_sides(|foot| entry(foot.other())),
            error2: worst + entry_error2,
        }
    }

    fn of(&self, pairing: Pairing, foot: Side) -> Option<f64> {
        match pairing {
            Pairing::SameSide => *self.same.of(foot),
            Pairing::OppositeSide => Some(*self.opposite.of(foot)),
        }
    }
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// The pairing it is nearer to; none where that cannot be told.
    pub pairing: Option<Pairing>,
    /// How much nearer to same-side than to opposite-side, in cycles; none without catches.
    pub nearer_to_same: Option<Estimate>,
}

impl Nearest {
    /// The pairing's word, or `undecided`.
    pub fn word(&self) -> &'static str {
        self.pairing.map_or("undecided", Pairing::word)
    }
}

/// Each leg's paired kicks: all of a two-beat kick; of a faster one those in a window of one
/// kick period, centred on the arm moment of the nearer pairing.
pub(super) fn paired_kicks(
    passes: &[Pass],
    beats: u32,
    right_entry: f64,
    targets: &Targets,
    floor: f64,
) -> Sides<LegKick> {
    let all = for_sides(|leg| phases(passes, leg, right_entry));
    if beats <= 2 {
        return for_sides(|leg| LegKick::of(all.of(leg).clone(), floor));
    }
    let half = kick_period(beats) / 2.0;
    let in_window = |leg: Side, pairing| {
        let target = targets.of(pairing, leg)?;
        let near = |phase: &f64| wrap_half(phase - target).abs() < half;
        let kept: Vec<f64> = all.of(leg).iter().copied().filter(near).collect();
        let off: f64 = kept
            .iter()
            .map(|phase| wrap_half(phase - target).abs())
            .sum();
        let off = off / kept.len().max(1) as f64;
        (!kept.is_empty()).then_some((kept, off))
    };
    let off = |pairing| {
        let legs = Side::BOTH.map(|leg| in_window(leg, pairing).map(|(_, off)| off));
        let seen: Vec<f64> = legs.into_iter().flatten().collect();
        (!seen.is_empty()).then(|| seen.iter().sum::<f64>() / seen.len() as f64)
    };
    let nearer = match (off(Pairing::SameSide), off(Pairing::OppositeSide)) {
        (Some(same), Some(opposite)) if same <= opposite => Pairing::SameSide,
        (Some(_), None) => Pairing::SameSide,
        _ => Pairing::OppositeSide,
    };
    for_sides(|leg| in_window(leg, nearer).and_then(|(kept, _)| LegKick::of(kept, floor)))
}

/// A half-cycle taken on trust, for a far hand that no pass shows: its error in cycles, a guess
/// on the wide side (the entries of most swimmers are within 0.45 and 0.55; common practice,
/// no source).
pub const TRUSTED_HALF_ERROR: f64 = 0.025;

/// Tells the nearer pairing from each kick's distance to both moments. It can be told when the
/// kicks have a direction at all, the interval of the difference keeps clear of zero, and no
/// leg speaks clearly against the other.
pub(super) fn nearest(kicks: &Sides<LegKick>, beats: u32, targets: &Targets) -> Option<Nearest> {
    let period = kick_period(beats);
    let apart = |phase: f64, target: f64| (period * wrap_half((phase - target) / period)).abs();
    let leg = |foot: Side| {
        let kick = kicks.of(foot).as_ref()?;
        let (same, opposite) = ((*targets.same.of(foot))?, *targets.opposite.of(foot));
        let nearer: Vec<f64> = (kick.phases.iter())
            .map(|phase| apart(*phase, opposite) - apart(*phase, same))
            .collect();
        let mut mean = Mean::of(&nearer, 0.0)?;
        mean.error2 += targets.error2;
        Some((mean, kick.circular.rayleigh_p()))
    };
    let any_kick = Side::BOTH.iter().any(|foot| kicks.of(*foot).is_some());
    let legs: Vec<(Mean, f64)> = Side::BOTH.into_iter().filter_map(leg).collect();
    if legs.is_empty() {
        return any_kick.then_some(Nearest {
            pairing: None,
            nearer_to_same: None,
        });
    }
    let weight = 1.0 / legs.len() as f64;
    let parts: Vec<(f64, Mean)> = legs.iter().map(|(mean, _)| (weight, *mean)).collect();
    let estimate = Mean::sum(&parts).estimate();
    let sign = |mean: &Mean| match mean.estimate().interval {
        Some((low, _)) if low > 0.0 => 1,
        Some((_, high)) if high < 0.0 => -1,
        _ => 0,
    };
    let steady = legs.iter().all(|(_, p)| *p < 0.05);
    let against = legs.iter().any(|(mean, _)| sign(mean) == 1)
        && legs.iter().any(|(mean, _)| sign(mean) == -1);
    let pairing = match estimate.interval {
        Some((low, _)) if low > 0.0 && steady && !against => Some(Pairing::SameSide),
        Some((_, high)) if high < 0.0 && steady && !against => Some(Pairing::OppositeSide),
        _ => None,
    };
    Some(Nearest {
        pairing,
        nearer_to_same: Some(estimate),
    })
}
