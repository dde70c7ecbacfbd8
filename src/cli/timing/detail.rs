//! `timing --detail`: the statistics by their names.

use super::words::{fill, mode, with_ends};
use crate::analysis::timing::Timing;
use crate::analysis::{LegKick, RelativePhase, Sides};
use crate::model::cue::Side;
use crate::model::kick::Pairing;
use std::fmt::Write as _;

/// Circular statistics, relative phase and coordination.
pub fn detail(timing: &Timing) -> String {
    let mut text = String::from("\nDetail\n");
    for leg in Side::BOTH {
        if let Some(kick) = timing.kicks.of(leg) {
            text.push_str(&leg_lines(timing, leg, kick));
        }
    }
    let relative = [
        (Pairing::SameSide, &timing.relative_same),
        (Pairing::OppositeSide, &timing.relative_opposite),
    ];
    for (pairing, sides) in relative {
        text.push_str(&relative_lines(pairing, sides));
    }
    for side in Side::BOTH {
        if let Some(idc) = timing.idc_percent.of(side) {
            let _ = writeln!(
                text,
                "  index of coordination, {side} arm ends: {} (n {})",
                with_ends(idc, "%", 1, 1.0),
                idc.n
            );
        }
    }
    if let Some(mean) = &timing.idc_mean_percent {
        let _ = writeln!(
            text,
            "  index of coordination, mean: {}, {}",
            with_ends(mean, "%", 1, 1.0),
            mode(mean)
        );
    }
    if let Some(nearer) = timing.nearest.and_then(|nearest| nearest.nearer_to_same) {
        let _ = writeln!(
            text,
            "  nearer to same-side than to opposite-side by {}",
            with_ends(&nearer, "cycle", 3, 1.0)
        );
    }
    let _ = writeln!(
        text,
        "{}",
        fill(
            "Intervals are 95 %, by Student's t over cycles; the rate is the median slope over \
             entries, its interval weighs error of single marks against a wander of the stroke."
        )
    );
    text
}

fn leg_lines(timing: &Timing, leg: Side, kick: &LegKick) -> String {
    let circular = &kick.circular;
    let ends = kick
        .interval
        .map(|(low, high)| format!(" ({low:.3} to {high:.3})"));
    let sd = circular.sd().map(|sd| format!("{sd:.3}"));
    let mut text = format!(
        "  {leg} paired kick: mean phase {:.3}{}, n {}\n    resultant {:.4}, circular sd {}, \
         angular deviation {:.3},\n    Rayleigh P {:.2e}\n",
        circular.mean,
        ends.unwrap_or_default(),
        circular.n,
        circular.r,
        sd.as_deref().unwrap_or("none"),
        circular.angular_deviation(),
        circular.rayleigh_p()
    );
    let entry = |hand: Side| match hand {
        Side::Left => 0.0,
        Side::Right => timing.right_entry_or_half(),
    };
    let catch = timing
        .catch_after_entry
        .of(leg)
        .map(|catch| entry(leg) + catch.value);
    let targets = [
        (Pairing::SameSide, catch),
        (Pairing::OppositeSide, Some(entry(leg.other()))),
    ];
    for (pairing, target) in targets {
        if let Some(target) = target {
            let (v, u, p) = circular.v_test(target);
            let _ = writeln!(
                text,
                "    V test towards {pairing} ({target:.3}): V {v:.2}, u {u:.2}, P {p:.2e}"
            );
        }
    }
    text
}

fn relative_lines(pairing: Pairing, sides: &Sides<RelativePhase>) -> String {
    let line = |foot: Side| {
        let phase = sides.of(foot).as_ref()?;
        let sd = phase.sd_deg.map(|sd| format!(" ± {sd:.1}"));
        let moment = match pairing {
            Pairing::SameSide => format!("{foot} catch"),
            Pairing::OppositeSide => format!("{} entry", foot.other()),
        };
        Some(format!(
            "  {moment} in the {foot} kick's cycle: {:.1}{}°, {} (n {})\n",
            phase.mean_deg,
            sd.unwrap_or_default(),
            phase.class(),
            phase.n
        ))
    };
    Side::BOTH.into_iter().filter_map(line).collect()
}
