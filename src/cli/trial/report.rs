//! A trial's result, for people and for programs.

use serde_json::{Map, Value, json};
use std::fmt::Write as _;

use super::read::Chosen;
use super::words::{full, headline, kept, sentences};
use crate::analysis::paired::DRAWS_SEED;
use crate::analysis::trial::{Aside, OUTCOMES, Pair, Reading, TrialOutcome};
use crate::model::kick::Pairing;
use crate::model::words::PAIRING_CAUTION;

/// The screen: headline, a sentence an outcome, caution.
pub fn in_words(chosen: &Chosen, pairs: &[Pair], reading: &Reading, detail: bool) -> String {
    let whose = match chosen.swimmer {
        "" => String::new(),
        name => format!(", {name}"),
    };
    let count = match pairs.len() {
        1 => "1 pair".to_string(),
        n => format!("{n} pairs"),
    };
    let mut text = String::new();
    let mut paragraph = |body: &str| {
        text.push_str(&textwrap::fill(body, 79));
        text.push('\n');
    };
    paragraph(&format!(
        "Trial \"{}\"{whose}: {count} of swims.",
        chosen.trial
    ));
    paragraph(&headline(reading, pairs.len()));
    text.push('\n');
    let options = textwrap::Options::new(79)
        .initial_indent("  ")
        .subsequent_indent("    ");
    if pairs.is_empty() {
        return text;
    }
    for sentence in sentences(reading) {
        text.push_str(&textwrap::fill(&sentence, &options));
        text.push('\n');
    }
    text.push_str(&textwrap::fill(&kept(reading), &options));
    text.push_str("\n\n");
    if detail {
        text.push_str(&details(pairs, reading));
    }
    text.push_str(&textwrap::fill(PAIRING_CAUTION, 79));
    text.push('\n');
    text
}

/// Every pair, the tests' figures, and what they hold.
fn details(pairs: &[Pair], reading: &Reading) -> String {
    let mut text = textwrap::fill(
        &format!(
            "Differences, {} minus {}:",
            full(Pairing::SameSide),
            full(Pairing::OppositeSide)
        ),
        79,
    );
    text.push_str(
        "

  pair  lines          time_s   strokes    effort
",
    );
    for (number, pair) in pairs.iter().enumerate() {
        let lines = format!("{}, {}", pair.same.line, pair.opposite.line);
        let _ = write!(text, "  {:>4}  {lines:<10}", number + 1);
        for at in 0..OUTCOMES.len() {
            let shown = pair
                .difference(at)
                .map(|d| format!("{d:+.2}"))
                .unwrap_or_default();
            let _ = write!(text, " {shown:>9}");
        }
        text.push('\n');
    }
    text.push_str("\n                             time_s   strokes    effort\n");
    let mut figures = |name: &str, figure: &dyn Fn(&TrialOutcome) -> Option<String>| {
        let [time, strokes, effort] =
            [0, 1, 2].map(|at| figure(&reading.outcomes[at]).unwrap_or_default());
        let _ = writeln!(text, "  {name:<23} {time:>9} {strokes:>9} {effort:>9}");
    };
    let interval = |outcome: &TrialOutcome| outcome.middle.and_then(|middle| middle.interval);
    figures("Hodges-Lehmann", &|o| {
        o.middle.map(|middle| format!("{:+.3}", middle.value))
    });
    figures("95 % interval, from", &|o| {
        interval(o).map(|(lo, _)| format!("{lo:+.3}"))
    });
    figures("95 % interval, to", &|o| {
        interval(o).map(|(_, hi)| format!("{hi:+.3}"))
    });
    figures("sign-flip P", &|o| o.p.map(|p| format!("{p:.4}")));
    figures("sign-flip P, together", &|o| {
        o.p_together.map(|p| format!("{p:.4}"))
    });
    figures("signed-rank P", &|o| {
        o.signed_rank.map(|test| format!("{:.4}", test.p))
    });
    let how = if reading.exact {
        format!(
            "All {} ways to set the signs were counted",
            2 * reading.ways
        )
    } else {
        format!(
            "{} ways to set the signs were drawn (seed {DRAWS_SEED}), not all counted",
            reading.ways - 1
        )
    };
    text.push('\n');
    text.push_str(&textwrap::fill(
        &format!(
            "{how}. Called is what has a P of at most 0.05 with all outcomes looked at together \
             and an interval without 0: where the pairings make no difference, at most one trial \
             in twenty calls anything. Each interval holds by itself."
        ),
        79,
    ));
    text.push_str("\n\n");
    text
}

/// What a program reads.
pub fn as_json(
    chosen: &Chosen,
    pairs: &[Pair],
    reading: &Reading,
    aside: &[Aside],
    notes: &[String],
) -> Value {
    let mut object = Map::new();
    let kept = |(kept, swims): (usize, usize)| json!({ "kept": kept, "swims": swims });
    let mut put = |key: &str, value: Value| object.insert(key.into(), value);
    put("format", json!(1));
    put("trial", json!(chosen.trial));
    put("swimmer", json!(chosen.swimmer));
    put("pairs", json!(pairs.len()));
    put("confirmed", json!(reading.confirmed));
    put(
        "kept",
        json!({ "same_side": kept(reading.kept[0]), "opposite_side": kept(reading.kept[1]) }),
    );
    for (name, outcome) in OUTCOMES.iter().zip(&reading.outcomes) {
        put(name, outcome_json(outcome));
    }
    put("exact", json!(reading.exact));
    put("headline", json!(headline(reading, pairs.len())));
    put("sentences", json!(sentences(reading)));
    let aside: Vec<Value> = (aside.iter())
        .map(|swim| json!({ "line": swim.line, "why": swim.why }))
        .collect();
    put("set_aside", json!(aside));
    put("notes", json!(notes));
    Value::Object(object)
}

/// What cannot be estimated is absent.
fn outcome_json(outcome: &TrialOutcome) -> Value {
    let mut object = Map::new();
    let mut put = |key: &str, value: Option<Value>| {
        if let Some(value) = value {
            object.insert(key.into(), value);
        }
    };
    let interval = outcome.middle.and_then(|middle| middle.interval);
    put(
        "hodges_lehmann",
        outcome.middle.map(|middle| json!(middle.value)),
    );
    put("lo", interval.map(|(lo, _)| json!(lo)));
    put("hi", interval.map(|(_, hi)| json!(hi)));
    put("n", Some(json!(outcome.differences.len())));
    put("p", outcome.p.map(|p| json!(p)));
    put("p_together", outcome.p_together.map(|p| json!(p)));
    put(
        "signed_rank_p",
        outcome.signed_rank.map(|test| json!(test.p)),
    );
    put("more_pairs", outcome.more_pairs.map(|more| json!(more)));
    put("verdict", Some(json!(outcome.verdict.word())));
    Value::Object(object)
}
