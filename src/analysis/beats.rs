//! How many kicks a cycle: by where a foot's marked kicks lie to each other, so that a foot seen in
//! part is not taken for one that kicks less often.
//!
//! A foot of a two-beat kick has one place in the cycle, of a four-beat kick two, of a six-beat kick
//! three a third apart. Each place is marked in a share of the cycles, by chance. So from one marked kick
//! to the next a foot goes on by some number of its places: the likelihood of all such steps is that of
//! a hidden Markov chain over the places (the forward algorithm: Rabiner 1989, Proc IEEE
//! 77:257-286). Only neighbours are compared, and a kick that wanders is counted all the same.

use libm::{exp, log, sqrt};

use super::Pass;
use crate::model::cue::Side;
use crate::model::record::StrokeMoment;

/// Kicks a cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beats {
    /// Down-kicks a cycle, both legs: 2, 4 or 6; 0 where none is marked. The likeliest.
    pub a_cycle: u32,
    /// Whether another number is far less likely.
    pub sure: bool,
    /// Whether a foot's kicks are evenly spread. Those of a four-beat kick need not be: the program
    /// cues them a third of a cycle apart, and two thirds.
    pub even: bool,
}

/// One number is told where it is so many times likelier than any other. Common practice, no source.
const SURE: f64 = 10.0;
/// How far apart a foot's two kicks of a four-beat kick may lie, cycles.
const SPLITS: [f64; 6] = [0.25, 0.3, 1.0 / 3.0, 0.38, 0.44, 0.5];
/// From here on the two lie nearer to half a cycle than to a third: folded on either circle they
/// differ by as much.
const EVEN_FROM: f64 = 0.4;
/// How far a step between two kicks may scatter (standard deviation, cycles), but at most a quarter of the
/// mean way from kick to kick: what scatters more has no places.
const SCATTERS: [f64; 6] = [0.02, 0.035, 0.06, 0.1, 0.16, 0.25];
const MOST_SCATTER: f64 = 0.25;
/// One step in so many falls anywhere: a mark that is wrong.
const ASTRAY: f64 = 0.02;
/// The share of cycles in which a place is marked lies this far from none and from all.
const LEAST_SHARE: f64 = 0.02;

impl Beats {
    /// Of all passes.
    pub(super) fn of(passes: &[Pass]) -> Self {
        let rows: Vec<Vec<f64>> = (passes.iter())
            .flat_map(|pass| Side::BOTH.map(|leg| pass.steps((StrokeMoment::Kick, leg))))
            .collect();
        let likelihood = |places: &[f64]| {
            let by = |sd: &f64| {
                rows.iter()
                    .map(|row| log_likelihood(row, places, *sd))
                    .sum()
            };
            (SCATTERS.iter())
                .filter(|sd| **sd * places.len() as f64 <= MOST_SCATTER)
                .map(by)
                .fold(f64::MIN, f64::max)
        };
        let (split, of_four) = (SPLITS.map(|split| (split, likelihood(&[0.0, split]))))
            .into_iter()
            .fold((0.5, f64::MIN), |a, b| if b.1 > a.1 { b } else { a });
        let anywhere: f64 = rows.iter().map(|row| anywhere(row)).sum();
        let mut kicks = [
            (2, likelihood(&[0.0]).max(anywhere)),
            (4, of_four),
            (6, likelihood(&[0.0, 1.0 / 3.0, 2.0 / 3.0])),
        ];
        // Of equal ones the fewest.
        kicks.sort_by(|a, b| b.1.total_cmp(&a.1));
        let marked = (passes.iter()).any(|pass| pass.shows(StrokeMoment::Kick));
        let a_cycle = if marked { kicks[0].0 } else { 0 };
        Self {
            a_cycle,
            sure: !marked || kicks[0].1 - kicks[1].1 > log(SURE),
            even: a_cycle != 4 || split > EVEN_FROM,
        }
    }

    /// Down-kicks a cycle, both legs, where it is sure; 0 where none is marked.
    pub fn if_sure(&self) -> Option<u32> {
        self.sure.then_some(self.a_cycle)
    }

    /// The circle on which a foot's kicks repeat themselves, in cycles.
    pub(super) fn circle(&self) -> f64 {
        if self.even {
            kick_period(self.a_cycle)
        } else {
            1.0
        }
    }

    /// A turn of the circle on which all kicks of a foot fall together, in cycles: those of a four-beat
    /// kick that are not half a cycle apart are about a third apart, and so are those of six-beat.
    pub(super) fn turn(&self) -> f64 {
        if self.even { self.circle() } else { 1.0 / 3.0 }
    }
}

/// The mean share of a cycle between two kicks of one leg.
pub fn kick_period(beats: u32) -> f64 {
    if beats <= 2 {
        1.0
    } else {
        2.0 / f64::from(beats)
    }
}

/// How likely the steps of one foot are if it kicks once in a cycle, anywhere in it: the logarithm. Two
/// such kicks of neighbouring cycles are one cycle apart, give or take a triangle of one cycle.
fn anywhere(steps: &[f64]) -> f64 {
    let share = share_marked(steps, 1);
    let of = |step: &f64| {
        let rounds = (step - 1.0).floor().max(0.0);
        let after = |left_out: f64| {
            let there = (1.0 - (step - 1.0 - left_out).abs()).max(0.0);
            share * libm::pow(1.0 - share, left_out) * there
        };
        log((1.0 - ASTRAY) * (after(rounds) + after(rounds + 1.0)) + ASTRAY * share)
    };
    steps.iter().map(of).sum()
}

/// The share of cycles in which each of so many places must be marked that the number of steps is the
/// likeliest.
fn share_marked(steps: &[f64], places: usize) -> f64 {
    let passed = steps.iter().sum::<f64>() * places as f64;
    (steps.len() as f64 / passed).clamp(LEAST_SHARE, 1.0 - LEAST_SHARE)
}

/// How likely the steps from kick to kick of one foot are, in cycles, if it kicks at these places (0 to 1,
/// ascending): the logarithm. Each place is marked in the share of cycles that makes the number of steps likeliest.
fn log_likelihood(steps: &[f64], places: &[f64], sd: f64) -> f64 {
    let of_places = places.len();
    let share = share_marked(steps, of_places);
    let step_to = |from: usize, to: usize, step: f64| {
        let ahead = places[to] - places[from];
        let ahead = if ahead > 0.0 { ahead } else { ahead + 1.0 };
        let rounds = (step - ahead).round().max(0.0);
        let between = (to + of_places - from - 1) % of_places;
        let left_out = between as f64 + rounds * of_places as f64;
        let off = (step - ahead - rounds) / sd;
        let there = exp(-off * off / 2.0) / (sd * sqrt(std::f64::consts::TAU));
        share * libm::pow(1.0 - share, left_out) * ((1.0 - ASTRAY) * there + ASTRAY)
    };
    let mut at = vec![1.0 / of_places as f64; of_places];
    let mut sum = 0.0;
    for step in steps {
        let next: Vec<f64> = (0..of_places)
            .map(|to| {
                (0..of_places)
                    .map(|from| at[from] * step_to(from, to, *step))
                    .sum()
            })
            .collect();
        let all: f64 = next.iter().sum::<f64>().max(f64::MIN_POSITIVE);
        sum += log(all);
        at = next.into_iter().map(|one| one / all).collect();
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps of a foot, cycles.
    const STEPS: [f64; 4] = [0.34, 0.65, 0.99, 0.32];

    #[test]
    fn the_chain_sums_over_every_path() {
        let (places, sd) = ([0.0, 0.3], 0.06);
        // By hand: each path of five places, with the step that each pair of them makes.
        let share: f64 = 4.0 / (2.0 * STEPS.iter().sum::<f64>());
        let of_step = |from: usize, to: usize, step: f64| {
            // The same place again is a round with the other left out.
            let (ahead, left_out) = match (from, to) {
                (0, 1) => (0.3, 0),
                (1, 0) => (0.7, 0),
                _ => (1.0, 1),
            };
            let rounds = f64::max((step - ahead).round(), 0.0);
            let off: f64 = (step - ahead - rounds) / sd;
            let there = (-off * off / 2.0).exp() / (sd * std::f64::consts::TAU.sqrt());
            let left_out = left_out + 2 * rounds as i32;
            share * (1.0 - share).powi(left_out) * (0.98 * there + 0.02)
        };
        let of_path = |path: usize| -> f64 {
            let place = |at: usize| path >> at & 1;
            let steps = STEPS.iter().enumerate();
            let product: f64 = steps
                .map(|(at, step)| of_step(place(at), place(at + 1), *step))
                .product();
            product / 2.0
        };
        let all: f64 = (0..32).map(of_path).sum();
        assert!((log_likelihood(&STEPS, &places, sd) - all.ln()).abs() < 1e-9);
    }

    #[test]
    fn thirds_one_after_the_other_are_of_six_beat_alone() {
        let six = |places: &[f64]| log_likelihood(&[1.0 / 3.0, 1.0 / 3.0, 1.0], places, 0.035);
        let best = six(&[0.0, 1.0 / 3.0, 2.0 / 3.0]);
        for places in [vec![0.0], vec![0.0, 1.0 / 3.0], vec![0.0, 0.5]] {
            assert!(best > six(&places) + log(SURE), "{places:?}");
        }
    }

    /// Ten kicks, one in each cycle, off by up to a quarter of it this way and that.
    #[test]
    fn one_kick_a_cycle_anywhere_is_no_four_beat_kick() {
        let off = [0.26, -0.26, 0.13, -0.13, 0.0];
        let steps: Vec<f64> = (0..9)
            .map(|at| 1.0 + off[(at + 1) % 5] - off[at % 5])
            .collect();
        let fours = (SPLITS.iter()).flat_map(|split| {
            let of = |sd: &f64| log_likelihood(&steps, &[0.0, *split], *sd);
            SCATTERS.iter().take(4).map(of).collect::<Vec<_>>()
        });
        let four = fours.fold(f64::MIN, f64::max);
        assert!(anywhere(&steps) > four, "{} {four}", anywhere(&steps));
        // A kick that keeps its place does so far likelier than by chance.
        let kept = log_likelihood(&[1.0; 9], &[0.0], 0.02);
        assert!(kept > anywhere(&[1.0; 9]) + log(SURE));
    }

    #[test]
    fn two_kicks_folded_together_differ_alike_where_even_begins() {
        // On halves a distance d is off by 1 - 2d, on thirds by 3d - 1, in turns.
        assert!(((1.0 - 2.0 * EVEN_FROM) - (3.0 * EVEN_FROM - 1.0)).abs() < 1e-12);
    }
}
