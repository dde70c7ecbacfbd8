//! Which pairing the kick is nearer to today, and whether that can be told.

use super::arm_shares::{ArmShares, Reading};
use super::beats::{Beats, kick_period};
use super::kicks::{LegKick, kick_turns, phases};
use super::locked::{KickPath, path};
use super::stats::mean;
use super::student::Mean;
use super::{Estimate, Pass, Sides, for_sides, wrap_half};
use crate::model::circle::Stroke;
use crate::model::cue::{PerSide, Side};
use crate::model::kick::{Kick, Pairing, pairings_apart};
use crate::model::record::StrokeMoment;
use crate::units::{fraction, to_f64};

/// The phases of each pairing's arm moments for each foot, where they are known.
#[derive(Debug, Clone)]
struct Targets {
    same: Sides<f64>,
    opposite: PerSide<f64>,
    /// Squared standard error of the distance between the two, cycles².
    error2: f64,
}

impl Targets {
    /// From the right entry's share and each arm's catch.
    fn new(arms: &ArmShares) -> Self {
        let (right_entry, catches) = (arms.right_entry(), &arms.catches);
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
            error2: worst + entry_error2(arms),
        }
    }

    /// How far the two moments of a foot lie apart on its kick circle, cycles.
    fn apart(&self, foot: Side, period: f64) -> Option<f64> {
        Some(on_circle_apart(
            (*self.same.of(foot))?,
            *self.opposite.of(foot),
            period,
        ))
    }

    fn of(&self, pairing: Pairing, foot: Side) -> Option<f64> {
        match pairing {
            Pairing::SameSide => *self.same.of(foot),
            Pairing::OppositeSide => Some(*self.opposite.of(foot)),
        }
    }
}

/// What the feet do.
#[derive(Debug, Clone)]
pub(super) struct Feet {
    /// Paired kicks.
    pub kicks: Sides<LegKick>,
    /// The pairing that they are nearer to.
    pub nearest: Option<Nearest>,
    /// Whether they keep no place in the stroke: they wander through the film, or have no
    /// direction at all.
    pub strays: bool,
    /// How they go through the film, in cycles, where they scatter.
    pub path: Option<KickPath>,
    /// How far the two pairings lie apart for this stroke and kick, cycles.
    pub apart: Option<f64>,
}

/// The order of the kicks is no chance below this P.
const WANDER_P: f64 = 0.01;
/// Kicks that scatter more than this, in turns, keep no place whatever their order: a kick that goes
/// evenly over half a circle scatters by 1 / (2 √12), 0.144.
const MOST_SD: f64 = 0.144;
/// Fewer kicks of a foot have no direction that could be told.
const FEWEST_KICKS: usize = 6;

impl Feet {
    /// Reads the kicks of all passes.
    pub fn of(passes: &[Pass], beats: &Beats, arms: &ArmShares, reading: &Reading) -> Self {
        let targets = Targets::new(arms);
        let kicks = paired_kicks(passes, beats, arms, &targets, reading);
        let turn = beats.turn();
        let rows = Side::BOTH.map(|leg| kick_turns(passes, leg, beats, arms.right_entry()));
        let no_direction = |kick: &LegKick| {
            kick.circular.n >= FEWEST_KICKS && kick.circular.rayleigh_p() >= DIRECTION_P
        };
        let path = path(&rows).map(|path| KickPath {
            turns: path.turns * turn,
            sd: path.sd * turn,
            ..path
        });
        let all_over = MOST_SD * turn;
        let wanders = path.is_some_and(|path| path.p < WANDER_P || path.sd > all_over);
        let strays = wanders || kicks.known().any(|(_, kick)| no_direction(kick));
        let apart = apart(beats.a_cycle, arms);
        let habit2 = reading.habit2(StrokeMoment::Entry, StrokeMoment::Kick);
        let told_by = ToldBy {
            circle: beats.circle(),
            near: NEAR * kick_period(beats.a_cycle),
            habit2,
            apart,
            unknown: strays || !beats.sure,
        };
        Self {
            nearest: nearest(&kicks, &targets, &told_by),
            kicks,
            strays,
            path,
            apart,
        }
    }

    /// Whether the kicks fit a pairing: they stay with the arms, and near one of its moments.
    pub fn fit(&self) -> bool {
        let fits = |nearest: Nearest| match nearest.answer {
            NearerTo::Pairing(_) | NearerTo::NearlyOne => true,
            NearerTo::Neither | NearerTo::Undecided => false,
        };
        self.nearest.is_some_and(fits)
    }
}

/// Which pairing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NearerTo {
    /// Nearer to this one.
    Pairing(Pairing),
    /// Far from both.
    Neither,
    /// The two lie so near to each other that it hardly matters.
    NearlyOne,
    /// The marks do not tell.
    Undecided,
}

/// The pairing that the kick is nearer to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// The answer.
    pub answer: NearerTo,
    /// How much nearer to same-side than to opposite-side, in cycles; none without catches.
    pub nearer_to_same: Option<Estimate>,
    /// How far the kick of the foot that is farther off lies from the nearer of its two moments,
    /// in cycles, and how far it may; none without catches.
    pub off: Option<(f64, f64)>,
}

impl Nearest {
    /// The pairing's word, `neither` or `undecided`.
    pub fn word(&self) -> &'static str {
        match self.answer {
            NearerTo::Pairing(pairing) => pairing.word(),
            NearerTo::Neither => "neither",
            NearerTo::NearlyOne | NearerTo::Undecided => "undecided",
        }
    }
}

/// A kick farther than this from both moments is near neither, in shares of the mean time from a foot's
/// kick to its next: 0.12 of a cycle in a two-beat kick, 0.06 in a four-beat kick, 0.04 in a six-beat kick.
/// And it is where it is farther than half the distance of the two, and a little more: between them it is
/// near both. Common practice, no source.
const NEAR: f64 = 0.12;
const BEYOND_HALF: f64 = 0.02;
/// Pairings nearer to each other than this, in cycles, are nearly one. Common practice, no source.
const NEARLY_ONE: f64 = 0.1;
/// Kicks have a direction below this P of Rayleigh's test.
const DIRECTION_P: f64 = 0.05;

/// Each leg's paired kicks: all of a two-beat kick; of a faster one those in a window of one
/// kick period, centred on the arm moment of the nearer pairing, or where they are not evenly spread
/// those of the beat that is nearest to it.
fn paired_kicks(
    passes: &[Pass],
    beats: &Beats,
    arms: &ArmShares,
    targets: &Targets,
    reading: &Reading,
) -> Sides<LegKick> {
    let right_entry = arms.right_entry();
    let kick = |leg: Side, phases: Vec<f64>| {
        let (entry, kick) = (StrokeMoment::Entry, StrokeMoment::Kick);
        // What passes folded on the right entry show is placed by where that is.
        let placed = placed_by_right(passes, leg).powi(2) * entry_error2(arms);
        LegKick::of(
            phases,
            reading.floor(entry, kick),
            placed + reading.habit2(entry, kick),
        )
    };
    let all = for_sides(|leg| phases(passes, leg, right_entry));
    if beats.a_cycle <= 2 {
        return for_sides(|leg| kick(leg, all.of(leg).clone()));
    }
    let in_window = |leg: Side, pairing| {
        let target = targets.of(pairing, leg)?;
        let off = |phase: &f64| wrap_half(phase - target).abs();
        let half = if beats.even {
            kick_period(beats.a_cycle) / 2.0
        } else {
            // The one beat that is nearest, however far: the other is a third of a cycle away.
            all.of(leg).iter().map(off).reduce(f64::min)? + 1.0 / 6.0
        };
        let kept: Vec<f64> = (all.of(leg).iter().copied())
            .filter(|phase| off(phase) < half)
            .collect();
        let mean_off = mean(&kept.iter().map(off).collect::<Vec<f64>>())?;
        Some((kept, mean_off))
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
    for_sides(|leg| in_window(leg, nearer).and_then(|(kept, _)| kick(leg, kept)))
}

/// The share of a leg's kicks that passes folded on the right hand show.
fn placed_by_right(passes: &[Pass], leg: Side) -> f64 {
    let kicks = |pass: &Pass| pass.of(StrokeMoment::Kick, leg).len() as f64;
    let all: f64 = passes.iter().map(kicks).sum();
    let right = passes.iter().filter(|pass| pass.lead == Side::Right);
    if all > 0.0 {
        right.map(kicks).sum::<f64>() / all
    } else {
        0.0
    }
}

/// Squared error of ε.
fn entry_error2(arms: &ArmShares) -> f64 {
    (arms.right).map_or(TRUSTED_HALF_ERROR.powi(2), |mean| mean.error2)
}

/// A half-cycle taken on trust, for a far hand that no pass shows: its error in cycles, a guess
/// on the wide side (the entries of most swimmers are within 0.45 and 0.55; common practice,
/// no source).
const TRUSTED_HALF_ERROR: f64 = 0.025;

/// How far two phases lie apart on a circle of `period`, 0 to half of it.
fn on_circle_apart(a: f64, b: f64, period: f64) -> f64 {
    (period * wrap_half((a - b) / period)).abs()
}

/// How far the two pairings lie apart for the arms of this film, cycles; nothing without catches or
/// without kicks.
fn apart(beats: u32, arms: &ArmShares) -> Option<f64> {
    let micro = |value: f64| fraction((value * 1e6).round() as i64, 1_000_000);
    let kick = Kick::of_beats(beats)?;
    let catch = micro(arms.mean_catch()?);
    let stroke = Stroke {
        right_entry: micro(arms.right_entry()),
        catch_after_entry: PerSide {
            left: catch,
            right: catch,
        },
    };
    Some(to_f64(&pairings_apart(&stroke, kick)?).abs())
}

/// What the nearer pairing is told by, beside the kicks and the moments of the arms.
struct ToldBy {
    /// The circle on which a foot's kicks repeat themselves, cycles.
    circle: f64,
    /// A kick farther than this from both moments is near neither, cycles.
    near: f64,
    /// Squared error of all kicks by a habit of the marker, cycles².
    habit2: f64,
    /// How far the two pairings lie apart, cycles.
    apart: Option<f64>,
    /// Whether the kicks keep no place in the stroke, or it is not sure how many there are.
    unknown: bool,
}

/// Tells the nearer pairing from each kick's distance to both moments. It can be told when the
/// kicks stay with the arms and have a direction at all, none of the feet is far from both
/// moments, the two are not nearly one, the interval of the difference keeps clear of zero, and no
/// leg speaks clearly against the other.
fn nearest(kicks: &Sides<LegKick>, targets: &Targets, by: &ToldBy) -> Option<Nearest> {
    let leg = |foot: Side| {
        let kick = kicks.of(foot).as_ref()?;
        let (same, opposite) = ((*targets.same.of(foot))?, *targets.opposite.of(foot));
        let off = |phase: f64, target: f64| on_circle_apart(phase, target, by.circle);
        let nearer: Vec<f64> = (kick.phases.iter())
            .map(|phase| off(*phase, opposite) - off(*phase, same))
            .collect();
        // A kick between the two that is late by a habit is nearer to one and farther from the other.
        let mean = Mean::of(&nearer, 0.0)?.with(targets.error2 + 4.0 * by.habit2);
        Some((mean, kick.circular.rayleigh_p()))
    };
    let legs: Vec<(Mean, f64)> = Side::BOTH.into_iter().filter_map(leg).collect();
    if legs.is_empty() {
        return kicks.known().next().is_some().then_some(Nearest {
            answer: NearerTo::Undecided,
            nearer_to_same: None,
            off: None,
        });
    }
    let weight = 1.0 / legs.len() as f64;
    let parts: Vec<(f64, Mean)> = legs.iter().map(|(mean, _)| (weight, *mean)).collect();
    let estimate = Mean::sum(&parts).estimate();
    let sign = |estimate: Estimate| match estimate.interval {
        Some((low, _)) if low > 0.0 => 1,
        Some((_, high)) if high < 0.0 => -1,
        _ => 0,
    };
    let signs: Vec<i32> = legs.iter().map(|(mean, _)| sign(mean.estimate())).collect();
    let against = signs.contains(&1) && signs.contains(&-1);
    let off = farthest_off(kicks, targets, by);
    let answer = if by.unknown || legs.iter().any(|(_, p)| *p >= DIRECTION_P) {
        NearerTo::Undecided
    } else if off.is_some_and(|(off, most)| off > most) {
        NearerTo::Neither
    } else if by.apart.is_some_and(|apart| apart < NEARLY_ONE) {
        NearerTo::NearlyOne
    } else {
        match (sign(estimate), against) {
            (1, false) => NearerTo::Pairing(Pairing::SameSide),
            (-1, false) => NearerTo::Pairing(Pairing::OppositeSide),
            _ => NearerTo::Undecided,
        }
    };
    Some(Nearest {
        answer,
        nearer_to_same: Some(estimate),
        off,
    })
}

/// Of the feet whose two moments are known, the one whose kick lies farthest beyond what counts as
/// near: how far from the nearer moment, and how far it may, cycles.
fn farthest_off(kicks: &Sides<LegKick>, targets: &Targets, by: &ToldBy) -> Option<(f64, f64)> {
    let of_foot = |(foot, kick): (Side, &LegKick)| {
        let most = (by.near).min(targets.apart(foot, by.circle)? / 2.0 + BEYOND_HALF);
        let off = ([Pairing::SameSide, Pairing::OppositeSide].into_iter())
            .filter_map(|pairing| targets.of(pairing, foot))
            .map(|target| on_circle_apart(kick.circular.mean, target, by.circle))
            .reduce(f64::min)?;
        Some((off, most))
    };
    (kicks.known())
        .filter_map(of_foot)
        .max_by(|a, b| (a.0 - a.1).total_cmp(&(b.0 - b.1)))
}
