//! Whether a kick stays with the arms through the film, or wanders.

use std::f64::consts::TAU;

use super::circular::Circular;
use super::random::Draw;
use super::wrap_half;

/// One foot's kicks in order of time, as turns of its own kick circle (1 = a full turn), each
/// with the number of its pass.
pub type KickRow = Vec<(u32, f64)>;

/// Kicks that scatter less than this, in turns, stay with the arms whatever their order: "not
/// steadily" begins at 0.1 (docs/film.md).
const LEAST_SD: f64 = 0.07;
/// Orders drawn for P.
const RESAMPLES: usize = 9999;
/// Steps that may be spent on drawing: a film of hours is asked with fewer orders.
const MOST_STEPS: usize = 20_000_000;
/// The same draw every time: equal marks give equal answers.
const SEED: u64 = 20;

/// Kicks that scatter, and what their order says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KickPath {
    /// How far they go through the film, in turns.
    pub turns: f64,
    /// The circular standard deviation of the foot that scatters more, in turns; at most half.
    pub sd: f64,
    /// P that their order means nothing.
    pub p: f64,
}

/// Follows the kicks of both feet through the film; nothing where they scatter so little that they
/// stay with the arms.
pub fn path(rows: &[KickRow]) -> Option<KickPath> {
    let sd_of = |row: &KickRow| {
        let turns: Vec<f64> = row.iter().map(|(_, turn)| *turn).collect();
        let sd = Circular::of(&turns)?.sd();
        Some(sd.unwrap_or(0.5).min(0.5))
    };
    let sd = rows.iter().filter_map(sd_of).reduce(f64::max)?;
    let turns = rows.iter().map(gone).reduce(f64::max)?;
    (sd > LEAST_SD).then(|| KickPath {
        turns,
        sd,
        p: order_p(rows, RESAMPLES),
    })
}

/// P that a row in which the order means nothing has neighbours as near to each other: the share
/// of drawn orders in which the sum of cos(next - this) over neighbours of one pass is as large,
/// the order found being one of them (Phipson & Smyth 2010, Stat Appl Genet Mol Biol 9:39). The
/// sum is the circular serial correlation of Wald & Wolfowitz 1943, Ann Math Stat 14:378-388, but
/// for what no order changes. 1 where no row has neighbours.
pub fn order_p(rows: &[KickRow], resamples: usize) -> f64 {
    let kicks: usize = rows.iter().map(Vec::len).sum();
    let resamples = resamples.min(MOST_STEPS / kicks.max(1)).max(199);
    let mut units: Vec<Vec<(f64, f64)>> = (rows.iter())
        .map(|row| {
            row.iter()
                .map(|(_, turn)| libm::sincos(turn * TAU))
                .collect()
        })
        .collect();
    let nearness = |units: &[Vec<(f64, f64)>]| -> f64 {
        let of_row = |(row, units): (&KickRow, &Vec<(f64, f64)>)| -> f64 {
            (row.windows(2).zip(units.windows(2)))
                .filter(|(pair, _)| pair[0].0 == pair[1].0)
                .map(|(_, unit)| unit[0].0 * unit[1].0 + unit[0].1 * unit[1].1)
                .sum()
        };
        rows.iter().zip(units).map(of_row).sum()
    };
    // What is equal but for rounding counts as equal.
    let found = nearness(&units) - 1e-9 * kicks as f64;
    let mut draw = Draw::new(SEED);
    let mut as_near = 1;
    for _ in 0..resamples {
        for row in &mut units {
            draw.shuffle(row);
        }
        as_near += usize::from(nearness(&units) >= found);
    }
    as_near as f64 / (resamples + 1) as f64
}

/// How far a row goes from one end of its path to the other, in turns: of means of three kicks,
/// each taken as the nearest to the one before.
fn gone(row: &KickRow) -> f64 {
    let means = row.windows(3).filter_map(|three| {
        let turns: Vec<f64> = three.iter().map(|(_, turn)| *turn).collect();
        Circular::of(&turns).map(|circular| circular.mean)
    });
    let (mut at, mut low, mut high) = (None::<f64>, 0.0f64, 0.0f64);
    let mut here = 0.0;
    for mean in means {
        here += at.map_or(0.0, |at| wrap_half(mean - at));
        at = Some(mean);
        (low, high) = (low.min(here), high.max(here));
    }
    high - low
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(turns: impl IntoIterator<Item = f64>) -> KickRow {
        turns.into_iter().map(|turn| (1, turn)).collect()
    }

    #[test]
    fn the_order_of_a_drift_is_no_chance_and_that_of_a_scatter_is() {
        let drift = row((0..11).map(|cycle| 0.3 + 0.05 * f64::from(cycle)));
        let found = path(std::slice::from_ref(&drift)).expect("half a circle");
        assert!(
            (found.turns - 0.4).abs() < 1e-9,
            "means of three: {found:?}"
        );
        assert!(found.p < 0.001, "{found:?}");
        let scatter = [0.1, 0.35, 0.05, 0.3, 0.2, 0.12, 0.38, 0.08, 0.25, 0.3, 0.0];
        assert!(path(&[row(scatter)]).is_some_and(|path| path.p > 0.05));
        let steady = (0..11).map(|cycle| 0.3 + 0.01 * f64::from(cycle));
        assert_eq!(path(&[row(steady)]), None, "too little to matter");
        assert_eq!(path(&[KickRow::new()]), None);
    }

    #[test]
    fn neighbours_of_different_passes_are_none() {
        let two = vec![(1, 0.1), (2, 0.1), (3, 0.6), (4, 0.6)];
        assert!((order_p(&[two], 99) - 1.0).abs() < 1e-12);
    }
}
