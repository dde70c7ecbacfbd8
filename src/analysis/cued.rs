//! A cued swim: how far hand and foot come behind the sound.

use super::kicks::{kick_period, wrapped_mean};
use super::marked_twice::Habits;
use super::pass::Pass;
use super::student::Mean;
use super::{Estimate, Sides, for_sides};
use crate::model::arms::Arms;
use crate::model::circle::ArmMoment;
use crate::model::cue::{PerSide, Side};
use crate::model::record::StrokeMoment;

/// The cues of a steady rate, as heard.
#[derive(Debug, Clone, PartialEq)]
pub struct HeardCues {
    /// One cycle of the cues, s.
    pub cycle_s: f64,
    /// Which moment the arm cues sound for.
    pub arm_moment: ArmMoment,
    /// The arms that swim: the others have no cue.
    pub arms: Arms,
    /// Each arm's cue after the left arm's, s.
    pub arm_s: PerSide<f64>,
    /// Each foot's paired cue after the left arm's, s.
    pub foot_s: PerSide<f64>,
    /// Beats a cycle of the cued kick.
    pub beats: u32,
    /// When one arm's cue was heard, on the film's clock, s.
    pub heard_s: f64,
    /// Whose it was, where that is known; else it is told from the hands.
    pub heard_arm: Option<Side>,
}

/// Lags behind the sound, s, positive = late.
#[derive(Debug, Clone, PartialEq)]
pub struct Behind {
    /// Each hand behind its arm cue.
    pub hand_s: Sides<Estimate>,
    /// Each foot behind its kick cue.
    pub foot_s: Sides<Estimate>,
    /// The mean of both hands.
    pub hands_s: Option<Estimate>,
    /// The mean of both feet.
    pub feet_s: Option<Estimate>,
    /// The arm whose cue the heard one is, or is taken for: with it the hands are nearer to the sound.
    pub heard_arm: Side,
}

impl Behind {
    /// Reads the lags of one pass. Nothing where no hand's moment is marked. `habits` are the
    /// marker's: a kind of mark that always comes late makes all its lags late.
    pub fn of(pass: &Pass, cues: &HeardCues, habits: &Habits) -> Option<Self> {
        let moment = cues.arm_moment.into();
        let read = |heard_arm: Side| {
            let origin = cues.heard_s - cues.arm_s.of(heard_arm);
            let hands = for_sides(|arm| {
                let times = if cues.arms.swims(arm) {
                    pass.of(moment, arm)
                } else {
                    &[]
                };
                behind(times, origin + cues.arm_s.of(arm), cues.cycle_s, 1.0)
            });
            let feet = for_sides(|foot| {
                let times = pass.of(StrokeMoment::Kick, foot);
                let period = kick_period(cues.beats);
                behind(times, origin + cues.foot_s.of(foot), cues.cycle_s, period)
            });
            (heard_arm, hands, feet)
        };
        let size = |hands: &Sides<Mean>| both(hands).map(|mean| mean.value.abs());
        let (heard_arm, hands, feet) = (Side::BOTH.into_iter())
            .filter(|arm| cues.arms.swims(*arm) && cues.heard_arm.is_none_or(|heard| heard == *arm))
            .map(read)
            .filter(|(_, hands, _)| size(hands).is_some())
            .min_by(|a, b| {
                size(&a.1)
                    .partial_cmp(&size(&b.1))
                    .unwrap_or(std::cmp::Ordering::Equal)
            })?;
        let (late_hands, late_feet) = (habits.late_s2(moment), habits.late_s2(StrokeMoment::Kick));
        let told = |mean: Option<Mean>, late| mean.map(|mean| mean.with(late).estimate());
        let each = |sides: &Sides<Mean>, late| for_sides(|side| told(*sides.of(side), late));
        Some(Self {
            hand_s: each(&hands, late_hands),
            foot_s: each(&feet, late_feet),
            hands_s: told(both(&hands), late_hands),
            feet_s: told(both(&feet), late_feet),
            heard_arm,
        })
    }
}

/// Times against a grid of one cue a cycle: the mean of those within half a period of a cue.
fn behind(times: &[f64], first_cue: f64, cycle_s: f64, period: f64) -> Option<Mean> {
    let lags: Vec<f64> = (times.iter())
        .map(|time| {
            let cycles = (time - first_cue) / cycle_s;
            (cycles - cycles.round()) * cycle_s
        })
        .filter(|lag| lag.abs() <= 0.5 * period * cycle_s)
        .collect();
    wrapped_mean(lags, cycle_s, 0.0)
}

fn both(sides: &Sides<Mean>) -> Option<Mean> {
    match (sides.left, sides.right) {
        (Some(left), Some(right)) => Some(Mean::sum(&[(0.5, left), (0.5, right)])),
        (one, other) => one.or(other),
    }
}
