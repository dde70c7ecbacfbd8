//! `timing` on the screen: words that a coach can read out.

use super::detail::{arm_moment, detail, with_ends};
use super::report::{TimingReport, mode};
use crate::analysis::marked_twice::MarkingError;
use crate::analysis::timing::{FrameUncertainty, Timing};
use crate::analysis::{DoubtKind, Estimate, NearerTo, Nearest};
use crate::cli::shared::cued::{Cued, LeadToTry};
use crate::cli::shared::film_told::placed_in_words;
use crate::cli::shared::report::Report;
use crate::cli::shared::words::{Page, count, ends};
use crate::model::cue::Side;
use crate::model::kick::Pairing;
use crate::model::record::StrokeMoment;
use crate::model::words::RATE_CAUTION;

impl Report for TimingReport<'_> {
    fn words(&self, to: &mut Page) {
        let findings = self.findings;
        let timing = &findings.timing;
        if let Some(name) = findings.swimmer {
            to.line(name);
            to.gap();
        }
        numbers(timing, to);
        to.gap();
        sentences(timing, to);
        match &findings.again {
            Some(error) => to.fill(marked_again(error)),
            None if timing.cycles >= 3 => to.fill(
                "A habit of whoever marks, such as catches always 40 ms late, is in no interval: \
                 a second marking, best by another person, shows it (--again).",
            ),
            None => {}
        }
        if let Some(film) = &findings.film {
            placed_in_words(film, to);
        }
        if let Some(cued) = &findings.cued {
            to.fill(behind_sound(cued));
            cued.came.words(to);
        }
        if findings.detail {
            detail(timing, to);
        }
        listed("Set aside", &timing.set_aside, to);
        listed("Missing", &timing.missing, to);
        for note in &timing.notes {
            to.fill(note);
        }
        to.gap();
        to.fill(RATE_CAUTION);
        if let Some(saved) = &findings.saved {
            saved.words(to);
        }
        if let Some(logged) = &findings.logged {
            logged.words(to);
        }
    }
}

/// As wide as the names of the rows.
const NAMES: usize = 24;

/// Rows of numbers with their intervals.
fn numbers(timing: &Timing, to: &mut Page) {
    let passes = timing.passes.len();
    to.line(format_args!(
        "{} in {passes} {}; each number with its 95 % interval",
        count(timing.cycles, "cycle"),
        if passes == 1 { "pass" } else { "passes" }
    ));
    to.gap();
    let mut row = |name: &str, told: String| to.row(NAMES, name, told);
    let (rate, told) = (&timing.rate_spm, with_ends(&timing.rate_spm, "spm", 1, 1.0));
    row(
        "rate",
        format!("{told} ({:.1} cycles/min)", rate.value / 2.0),
    );
    if let Some(own) = &timing.own_rate_spm {
        let told = with_ends(own, "spm", 1, 1.0);
        row(
            "the swimmer's own rate",
            format!("{told}, as other cycles would differ"),
        );
    }
    let spread =
        (timing.cycle_sd_s).map(|sd| format!("; single cycles scatter by {:.0} ms", sd * 1000.0));
    let told = with_ends(&timing.cycle_s, "ms", 0, 1000.0);
    row("cycle", told + &spread.unwrap_or_default());
    if let Some(right) = &timing.right_entry {
        let told = with_ends(right, "% of a cycle after the left", 1, 100.0);
        row("right entry", told);
    }
    for (side, catch) in timing.catch_after_entry.known() {
        let told = with_ends(catch, "% of a cycle after entry", 1, 100.0);
        row(&format!("{side} catch"), told);
    }
    for (side, pull) in timing.propulsive.known() {
        let told = with_ends(pull, "% of the cycle", 1, 100.0);
        row(&format!("{side} hand presses"), told);
    }
    if let Some(mean) = &timing.idc_mean_percent {
        let meaning = match mode(mean) {
            "catch-up" => "a gap between the arms",
            "superposition" => "the arms overlap",
            _ => "one arm takes over from the other",
        };
        let told = with_ends(mean, "%", 1, 1.0);
        row("from arm to arm", format!("{told}: {meaning}"));
    }
    if let Some(kick) = timing.kick() {
        let told = format!("{}, {}", kick.beats_a_cycle(), kick.in_words());
        row("kicks a cycle", told);
    }
    lags(timing, to);
}

/// How far each foot comes behind the arm, by either pairing.
fn lags(timing: &Timing, to: &mut Page) {
    let lags = [
        (Pairing::SameSide, &timing.lag_same_s),
        (Pairing::OppositeSide, &timing.lag_opposite_s),
    ];
    for (pairing, sides) in lags {
        for (foot, lag) in sides.known() {
            let name = format!("{foot} kick, {}", arm_moment(pairing, foot));
            let lag = lag.map(|s| s * 1000.0);
            let which = if lag.value < 0.0 { "before" } else { "after" };
            let ends = ends(&lag, |ms| format!("{ms:+.0}"));
            let told = format!("{:.0} ms {which} it{ends}", lag.value.abs());
            to.row(NAMES, &name, told);
        }
    }
}

/// What the numbers mean.
fn sentences(timing: &Timing, to: &mut Page) {
    for doubt in &timing.doubts {
        to.fill(format!("Doubt: {}", doubt.text));
    }
    if let Some(nearest) = &timing.nearest {
        to.fill(nearer_to(timing, nearest));
    }
    if let Some(apart) = timing.pairings_apart_s {
        let ms = apart * 1000.0;
        let stays = timing.doubt(DoubtKind::NotLocked).is_none();
        to.fill(match timing.kick_scatter_s() {
            Some(scatter) if apart < scatter && stays => format!(
                "The two pairings lie {ms:.0} ms apart here, closer than this swimmer's own \
                 scatter of {:.0} ms: the choice hardly matters.",
                scatter * 1000.0
            ),
            _ => format!("The two pairings lie {ms:.0} ms apart here. Both are right; try both."),
        });
    }
    match &timing.frames {
        Some(frames) => to.fill(of_frames(frames)),
        None if timing.cycles >= 3 => {
            to.fill("How much the film's frames add is not known: say --fps.");
        }
        None => {}
    }
}

/// Which pairing the kick is nearer to, or why none is told.
fn nearer_to(timing: &Timing, nearest: &Nearest) -> String {
    match nearest.answer {
        NearerTo::Pairing(pairing) => {
            let [left, right] = Side::BOTH.map(|foot| pairing.in_words(foot));
            format!(
                "The kick is nearer to: {left}, {right}{}.",
                if timing.doubt(DoubtKind::FeetCrossed).is_some() {
                    ", as the feet are marked".into()
                } else {
                    steadiness(timing)
                }
            )
        }
        NearerTo::NearlyOne => {
            "The two ways are nearly one for you: which of them the kick is nearer to is not told."
                .into()
        }
        NearerTo::Neither => "No pairing is told or saved.".into(),
        NearerTo::Undecided if timing.catch_after_entry.known().next().is_none() => {
            "Which pairing the kick is nearer to cannot be told without catches.".into()
        }
        NearerTo::Undecided => {
            "Which pairing the kick is nearer to cannot be told from these marks.".into()
        }
    }
}

fn of_frames(frames: &FrameUncertainty) -> String {
    let enough = match frames.enough_hz {
        Some(hz) if hz <= frames.rate_hz => "this frame rate will do".to_string(),
        Some(hz) => format!("{hz:.0} frames/s would make it a tenth or less"),
        None => "even 240 frames/s would leave more than a tenth".to_string(),
    };
    format!(
        "At {:.2} frames/s the film makes {:.0} % of the uncertainty ({:.1} ms a mark); {enough}.",
        frames.rate_hz,
        frames.share * 100.0,
        frames.mark_sd_s * 1000.0
    )
}

/// How steady the kick is, by the scatter of its less steady leg.
fn steadiness(timing: &Timing) -> String {
    let Some(scatter) = timing.kick_scatter_s() else {
        return String::new();
    };
    // Good swimmers scatter by about a tenth of a kick (Martínez-Sobrino, Veiga &
    // Navandar, read in the abstract).
    let how = match scatter / timing.cycle_s.value {
        share if share < 0.05 => "steadily",
        share if share < 0.1 => "fairly steadily",
        _ => "not steadily",
    };
    let ms = scatter * 1000.0;
    format!(", {how} (single kicks scatter by {ms:.0} ms)")
}

fn marked_again(error: &MarkingError) -> String {
    let kinds: Vec<String> = (StrokeMoment::ALL.iter().zip(&error.kinds))
        .filter_map(|(moment, of)| {
            let of = (*of)?;
            Some(format!(
                "{} {:+.0} ms ({:.0})",
                moment.word(),
                of.shift_s.value * 1000.0,
                of.mark_sd_s * 1000.0
            ))
        })
        .collect();
    format!(
        "Marking again moves a mark by {:.0} ms (standard deviation of one mark, from {} marks); {} \
         had no partner. The second marking comes later by (in brackets: single marks scatter by) \
         {}. What hangs on these marks has it in its interval.",
        error.all.mark_sd_s * 1000.0,
        error.all.shift_s.n,
        error.unmatched,
        kinds.join(", ")
    )
}

fn behind_sound(cued: &Cued) -> String {
    let lag = |estimate: &Option<Estimate>| match estimate {
        Some(lag) => {
            let which = if lag.value < 0.0 { "before" } else { "after" };
            format!("{:.0} ms {which} their sound", (lag.value * 1000.0).abs())
        }
        None => "not marked beside a cue".into(),
    };
    let (number, name) = &cued.set;
    let assumed = cued.assumed.as_deref().map(assumed_by_rate);
    format!(
        "Against the cues of set {number} ({name}, {}){}: hands {}, feet {}. {}",
        cued.rate,
        assumed.unwrap_or_default(),
        lag(&cued.behind.hands_s),
        lag(&cued.behind.feet_s),
        leads_to_try(cued)
    )
}

/// What takes the lags away, and what of them no lead can.
fn leads_to_try(cued: &Cued) -> String {
    if !cued.follows {
        return "The hands do not stay with the cues, so no lead is advised.".into();
    }
    let [arm, kick] = cued.leads;
    let ends: Vec<String> = ([("arm", arm), ("kick", kick)].into_iter())
        .filter_map(|(kind, lead)| {
            let [low, high] = lead?.interval_ms?;
            Some(format!("{kind} {low} to {high} ms"))
        })
        .collect();
    let ends = if ends.is_empty() {
        String::new()
    } else {
        format!(" ({}; 95 %)", ends.join(", "))
    };
    let keys: Vec<String> = ([("arm", arm), ("kick", kick)].into_iter())
        .filter_map(|(kind, lead)| Some(format!("{kind} = \"{} ms\"", lead?.ms)))
        .collect();
    let too_long = |who: &str, lag: Option<Estimate>, lead: Option<LeadToTry>| {
        let is_so = lag.is_some() && lead.is_none();
        is_so.then(|| format!("The {who} are off by more than a lead can make up for."))
    };
    let to_try =
        (!keys.is_empty()).then(|| format!("To try: lead = {{ {} }}{ends}.", keys.join(", ")));
    let told = [
        to_try,
        too_long("hands", cued.behind.hands_s, arm),
        too_long("feet", cued.behind.feet_s, kick),
    ];
    told.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// That a set is assumed by its rate, and which others it may be.
fn assumed_by_rate(others: &[usize]) -> String {
    match others {
        [] => ", assumed by its rate".into(),
        [other] => format!(", assumed by its rate (set {other} has the same)"),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(usize::to_string).collect();
            let first = first.join(", ");
            format!(", assumed by its rate (sets {first} and {last} have the same)")
        }
    }
}

/// Marks by name, the first few.
fn listed(what: &str, names: &[String], to: &mut Page) {
    const MOST_NAMED: usize = 20;
    if names.is_empty() {
        return;
    }
    to.line(format_args!("{what}:"));
    for name in names.iter().take(MOST_NAMED) {
        to.line(format_args!("  {name}"));
    }
    if names.len() > MOST_NAMED {
        to.line(format_args!("  and {} more", names.len() - MOST_NAMED));
    }
}
