//! `timing` on the screen: words that a coach can read out.

use super::Findings;
use super::cued::Cued;
use super::detail::detail;
use crate::analysis::timing::Timing;
use crate::analysis::{Estimate, Sides};
use crate::model::cue::Side;
use crate::model::kick::Pairing;
use crate::model::swimmer::Swimmer;
use crate::model::words;
use std::fmt::Write as _;

/// Rows of the list of marks set aside; more are counted.
const MOST_NAMED: usize = 8;

/// The whole screen. `saved` is the swimmer's file, where one was written.
pub fn screen(
    findings: &Findings,
    swimmer: Option<&Swimmer>,
    with_detail: bool,
    saved: Option<&str>,
) -> String {
    let timing = &findings.timing;
    let mut text = String::new();
    if let Some(swimmer) = swimmer {
        let _ = writeln!(text, "{}\n", swimmer.name);
    }
    text.push_str(&numbers(timing));
    text.push('\n');
    for sentence in sentences(timing) {
        let _ = writeln!(text, "{}", fill(&sentence));
    }
    if let Some(error) = &findings.again {
        let _ = writeln!(
            text,
            "{}",
            fill(&format!(
                "Marking again moves a mark by {:.0} ms (standard deviation of one mark, from {} \
                 marks); {} had no partner. The second marking is {:+.0} ms later.",
                error.mark_sd_s * 1000.0,
                error.shift_s.n,
                error.unmatched,
                error.shift_s.value * 1000.0
            ))
        );
    }
    if let Some(cued) = &findings.cued {
        text.push_str(&behind_sound(cued));
    }
    if with_detail {
        text.push_str(&detail(timing));
    }
    text.push_str(&listed("Set aside", &timing.set_aside));
    text.push_str(&listed("Missing", &timing.missing));
    for note in &timing.notes {
        let _ = writeln!(text, "{}", fill(note));
    }
    let _ = writeln!(text, "\n{}", fill(words::RATE_CAUTION));
    if let Some(file) = saved {
        let _ = writeln!(
            text,
            "\nWrote [measured] into {file}; what is cued stays as it was."
        );
    }
    text
}

/// Rows of numbers with their intervals.
fn numbers(timing: &Timing) -> String {
    let mut text = format!(
        "{} {} in {} {}; each number with its 95 % interval\n\n",
        timing.cycles,
        plural(timing.cycles, "cycle"),
        timing.passes.len(),
        if timing.passes.len() == 1 {
            "pass"
        } else {
            "passes"
        }
    );
    let mut row = |name: &str, told: String| {
        let _ = writeln!(text, "  {name:<24}{told}");
    };
    let rate = &timing.rate_spm;
    row(
        "rate",
        format!(
            "{} ({:.1} cycles/min)",
            with_ends(rate, "spm", 1, 1.0),
            rate.value / 2.0
        ),
    );
    let spread =
        (timing.cycle_sd_s).map(|sd| format!("; single cycles scatter by {:.0} ms", sd * 1000.0));
    row(
        "cycle",
        with_ends(&timing.cycle_s, "ms", 0, 1000.0) + &spread.unwrap_or_default(),
    );
    if let Some(right) = &timing.right_entry {
        row(
            "right entry",
            with_ends(right, "% of a cycle after the left", 1, 100.0),
        );
    }
    for side in Side::BOTH {
        if let Some(catch) = timing.catch_after_entry.of(side) {
            row(
                &format!("{side} catch"),
                with_ends(catch, "% of a cycle after entry", 1, 100.0),
            );
        }
    }
    for side in Side::BOTH {
        if let Some(pull) = timing.propulsive.of(side) {
            row(
                &format!("{side} hand presses"),
                with_ends(pull, "% of the cycle", 1, 100.0),
            );
        }
    }
    if let Some(mean) = &timing.idc_mean_percent {
        row(
            "from arm to arm",
            format!("{}: {}", with_ends(mean, "%", 1, 1.0), mode_in_words(mean)),
        );
    }
    if timing.kicks_marked {
        let kick = timing
            .kick()
            .map_or_else(String::new, |kick| kick.in_words());
        row(
            "kicks a cycle",
            format!("{}, {kick}", timing.beats_per_cycle),
        );
    }
    let lags = [
        (Pairing::SameSide, &timing.lag_same_s),
        (Pairing::OppositeSide, &timing.lag_opposite_s),
    ];
    for (pairing, sides) in lags {
        text.push_str(&lag_rows(pairing, sides));
    }
    text
}

fn lag_rows(pairing: Pairing, sides: &Sides<Estimate>) -> String {
    let mut text = String::new();
    for foot in Side::BOTH {
        let Some(lag) = sides.of(foot) else {
            continue;
        };
        let after = match pairing {
            Pairing::SameSide => format!("{foot} catch"),
            Pairing::OppositeSide => format!("{} entry", foot.other()),
        };
        let name = format!("{foot} kick, {after}");
        let ms = lag.value * 1000.0;
        let which = if ms < 0.0 { "before it" } else { "after it" };
        let ends = lag
            .interval
            .map(|(low, high)| format!(" ({:+.0} to {:+.0})", low * 1000.0, high * 1000.0));
        let _ = writeln!(
            text,
            "  {name:<24}{:.0} ms {which}{}",
            ms.abs(),
            ends.unwrap_or_default()
        );
    }
    text
}

/// What the numbers mean.
fn sentences(timing: &Timing) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(nearest) = &timing.nearest {
        said.push(match nearest.pairing {
            Some(pairing) => {
                let [left, right] = Side::BOTH.map(|foot| pairing.in_words(foot));
                format!(
                    "The kick is nearer to: {left}, {right}{}.",
                    steadiness(timing)
                )
            }
            None => match nearest.nearer_to_same {
                None => {
                    "Which pairing the kick is nearer to cannot be told without catches.".into()
                }
                Some(_) => {
                    "Which pairing the kick is nearer to cannot be told from these marks.".into()
                }
            },
        });
    }
    if let Some(apart) = timing.pairings_apart_s {
        let scatter = timing.kick_scatter_s();
        let ms = apart * 1000.0;
        said.push(match scatter {
            Some(scatter) if apart < scatter => format!(
                "The two pairings lie {ms:.0} ms apart here, closer than this swimmer's own \
                 scatter of {:.0} ms: the choice hardly matters.",
                scatter * 1000.0
            ),
            _ => format!("The two pairings lie {ms:.0} ms apart here. Both are right; try both."),
        });
    }
    match &timing.frames {
        Some(frames) => {
            let enough = match frames.enough_hz {
                Some(hz) if hz <= frames.rate_hz => "this frame rate will do".to_string(),
                Some(hz) => format!("{hz:.0} frames/s would make it a tenth or less"),
                None => "even 240 frames/s would leave more than a tenth".to_string(),
            };
            said.push(format!(
                "At {:.2} frames/s the film makes {:.0} % of the uncertainty ({:.1} ms a mark); {enough}.",
                frames.rate_hz,
                frames.share * 100.0,
                frames.mark_sd_s * 1000.0
            ));
        }
        None if timing.cycles >= 3 => {
            said.push("How much the film's frames add is not known: say --fps.".into());
        }
        None => {}
    }
    said
}

/// How steady the kick is, by the scatter of its less steady leg.
fn steadiness(timing: &Timing) -> String {
    let Some(scatter) = timing.kick_scatter_s() else {
        return String::new();
    };
    // Good swimmers scatter by about a tenth of a kick (published-values 1, read: abstract).
    let how = match scatter / timing.cycle_s.value {
        share if share < 0.05 => "steadily",
        share if share < 0.1 => "fairly steadily",
        _ => "not steadily",
    };
    format!(
        ", {how} (single kicks scatter by {:.0} ms)",
        scatter * 1000.0
    )
}

fn behind_sound(cued: &Cued) -> String {
    let lag = |estimate: &Option<Estimate>| match estimate {
        Some(lag) => {
            let which = if lag.value < 0.0 { "before" } else { "after" };
            format!("{:.0} ms {which} their sound", (lag.value * 1000.0).abs())
        }
        None => "not marked".into(),
    };
    let (number, name) = &cued.set;
    let advice = match (cued.follows, cued.lead_ms) {
        (false, _) => "The hands do not stay with the cues, so no lead is advised.".into(),
        (true, (Some(arm), Some(kick))) => {
            format!("To try: lead = {{ arm = \"{arm} ms\", kick = \"{kick} ms\" }}.")
        }
        (true, (Some(arm), None)) => format!("To try: lead = {{ arm = \"{arm} ms\" }}."),
        (true, _) => "The lag is longer than a lead can make up for.".into(),
    };
    let said = format!(
        "Against the cues of set {number} ({name}, {}): hands {}, feet {}. {advice}",
        cued.rate.short(),
        lag(&cued.behind.hands_s),
        lag(&cued.behind.feet_s)
    );
    format!("{}\n", fill(&said))
}

/// Marks by name, the first few.
fn listed(what: &str, names: &[String]) -> String {
    if names.is_empty() {
        return String::new();
    }
    let mut text = format!("{what}:\n");
    for name in names.iter().take(MOST_NAMED) {
        let _ = writeln!(text, "  {name}");
    }
    if names.len() > MOST_NAMED {
        let _ = writeln!(text, "  and {} more", names.len() - MOST_NAMED);
    }
    text
}

/// The mode of coordination by its index (Seifert, Chollet & Rouard 2007; published-values 1):
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

fn mode_in_words(mean: &Estimate) -> &'static str {
    match mode(mean) {
        "catch-up" => "a gap between the arms",
        "superposition" => "the arms overlap",
        _ => "one arm takes over from the other",
    }
}

/// `54.1 spm (53.2 to 55.0)`, times `scale`.
pub fn with_ends(estimate: &Estimate, unit: &str, places: usize, scale: f64) -> String {
    let ends = estimate
        .interval
        .map(|(low, high)| format!(" ({:.places$} to {:.places$})", low * scale, high * scale));
    format!(
        "{:.places$} {unit}{}",
        estimate.value * scale,
        ends.unwrap_or_default()
    )
}

fn plural(n: usize, word: &str) -> String {
    if n == 1 {
        word.into()
    } else {
        format!("{word}s")
    }
}

pub fn fill(text: &str) -> String {
    textwrap::fill(text, 79)
}
