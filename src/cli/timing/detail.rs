//! `timing --detail`: the statistics by their names.

use super::report::mode;
use crate::analysis::timing::Timing;
use crate::analysis::{Estimate, LegKick};
use crate::cli::shared::words::{Page, ends};
use crate::model::cue::Side;
use crate::model::kick::Pairing;

/// Circular statistics, relative phase and coordination.
pub fn detail(timing: &Timing, to: &mut Page) {
    to.gap();
    to.line("Detail");
    for (leg, kick) in timing.kicks.known() {
        leg_lines(timing, leg, kick, to);
    }
    let relative = [
        (Pairing::SameSide, &timing.relative_same),
        (Pairing::OppositeSide, &timing.relative_opposite),
    ];
    for (pairing, sides) in relative {
        for (foot, phase) in sides.known() {
            let sd = phase.sd_deg.map(|sd| format!(" ± {sd:.1}"));
            to.line(format_args!(
                "  {} in the {foot} kick's cycle: {:.1}{}°, {} (n {})",
                arm_moment(pairing, foot),
                phase.mean_deg,
                sd.unwrap_or_default(),
                phase.class(),
                phase.n
            ));
        }
    }
    for (side, idc) in timing.idc_percent.known() {
        let (told, n) = (with_ends(idc, "%", 1, 1.0), idc.n);
        to.line(format_args!(
            "  index of coordination, {side} arm ends: {told} (n {n})"
        ));
    }
    if let Some(mean) = &timing.idc_mean_percent {
        let (told, mode) = (with_ends(mean, "%", 1, 1.0), mode(mean));
        to.line(format_args!(
            "  index of coordination, mean: {told}, {mode}"
        ));
    }
    if let Some(nearer) = timing.nearest.and_then(|nearest| nearest.nearer_to_same) {
        let told = with_ends(&nearer, "cycle", 3, 1.0);
        to.line(format_args!(
            "  nearer to same-side than to opposite-side by {told}"
        ));
    }
    to.fill(
        "Intervals are 95 %, by Student's t over cycles; the rate is the median slope over \
         entries, its interval weighs error of single marks against a wander of the stroke.",
    );
}

fn leg_lines(timing: &Timing, leg: Side, kick: &LegKick, to: &mut Page) {
    let circular = &kick.circular;
    let between = (kick.interval).map(|(low, high)| format!(" ({low:.3} to {high:.3})"));
    let sd = circular.sd().map(|sd| format!("{sd:.3}"));
    to.line(format_args!(
        "  {leg} paired kick: mean phase {:.3}{}, n {}\n    resultant {:.4}, circular sd {}, \
         angular deviation {:.3},\n    Rayleigh P {:.2e}",
        circular.mean,
        between.unwrap_or_default(),
        circular.n,
        circular.r,
        sd.as_deref().unwrap_or("none"),
        circular.angular_deviation(),
        circular.rayleigh_p()
    ));
    let entry = |hand: Side| match hand {
        Side::Left => 0.0,
        Side::Right => timing.right_entry_or_half(),
    };
    let catch = (timing.catch_after_entry.of(leg)).map(|catch| entry(leg) + catch.value);
    let targets = [
        (Pairing::SameSide, catch),
        (Pairing::OppositeSide, Some(entry(leg.other()))),
    ];
    for (pairing, target) in targets {
        if let Some(target) = target {
            let (v, u, p) = circular.v_test(target);
            to.line(format_args!(
                "    V test towards {pairing} ({target:.3}): V {v:.2}, u {u:.2}, P {p:.2e}"
            ));
        }
    }
}

/// What a pairing puts a foot's kick on: `left catch`.
pub fn arm_moment(pairing: Pairing, foot: Side) -> String {
    match pairing {
        Pairing::SameSide => format!("{foot} catch"),
        Pairing::OppositeSide => format!("{} entry", foot.other()),
    }
}

/// `54.1 spm (53.2 to 55.0)`, times `scale`.
pub fn with_ends(estimate: &Estimate, unit: &str, places: usize, scale: f64) -> String {
    let form = |value: f64| format!("{:.places$}", value * scale);
    format!("{} {unit}{}", form(estimate.value), ends(estimate, form))
}
