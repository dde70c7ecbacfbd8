//! JSON keys end in their unit (docs/json.md); bare ones are counts, names and words.

use serde_json::Value;

use super::{folder, shipped};
use crate::support::ok;

/// Those of docs/json.md.
const UNITS: [&str; 13] = [
    "_spm", "_s", "_ms", "_m", "_m_s", "_cycle", "_percent", "_frames", "_hz", "_lufs", "_dbtp",
    "_bytes", "_db",
];
/// Whole numbers that count something and need no unit.
const COUNTS: [&str; 21] = [
    "at",
    "format",
    "repeats",
    "every",
    "on",
    "off",
    "bits",
    "channels",
    "bytes",
    "frames",
    "set",
    "repeat",
    "cues_expected",
    "cues_found",
    "missing",
    "extra",
    "frames_expected",
    "n",
    "part",
    "sets",
    "tracks",
];

/// Numbers whose key, or a key above, says no unit.
fn unitless(value: &Value, key: &str, has_unit: bool, found: &mut Vec<String>) {
    let has_unit = has_unit || UNITS.iter().any(|unit| key.ends_with(unit));
    match value {
        Value::Object(map) => map
            .iter()
            .for_each(|(key, value)| unitless(value, key, has_unit, found)),
        Value::Array(list) => list
            .iter()
            .for_each(|value| unitless(value, key, has_unit, found)),
        Value::Number(number) => {
            let counts = COUNTS.contains(&key) && number.is_u64();
            if !has_unit && !counts {
                found.push(format!("{key}: {number}"));
            }
        }
        _ => {}
    }
}

fn check(args: &[&str], folder: &std::path::Path) -> Value {
    let text = ok(folder, args);
    assert!(!text.contains("NaN"), "{args:?}");
    let json: Value =
        serde_json::from_str(&text).unwrap_or_else(|error| panic!("{args:?}: {error}"));
    assert_eq!(json["format"], 1, "{args:?}");
    let mut found = Vec::new();
    unitless(&json, "", false, &mut found);
    assert!(found.is_empty(), "{args:?}: without a unit: {found:?}");
    json
}

#[test]
fn every_number_in_json_has_a_unit_or_counts() {
    let folder = folder();
    let folder = folder.path();
    let (presets, swimmers) = shipped();
    for swimmer in &swimmers {
        check(&["swimmer", "show", swimmer, "--json"], folder);
        for preset in &presets {
            let json = check(&["show", preset, "--swimmer", swimmer, "--json"], folder);
            assert!(
                json["total_s"].as_f64().is_some_and(|total| total > 60.0),
                "{preset}"
            );
        }
    }
    check(&["list", "presets", "--json"], folder);
    check(&["list", "sounds", "--json"], folder);
    let asked = ["deck-march", "--swimmer", "adult-learner", "--json"];
    check(&[&["export", "--out", "out"], &asked[..]].concat(), folder);
    let json = check(&[&["check", "out"], &asked[..]].concat(), folder);
    for key in [
        "cues_expected",
        "cues_found",
        "missing",
        "extra",
        "worst_error_frames",
        "ok",
    ] {
        assert!(json.get(key).is_some(), "check --json has no {key}");
    }
}

#[test]
fn a_number_without_a_unit_is_noticed() {
    let json =
        serde_json::json!({"a_s": 1.5, "rate": 54.0, "b_ms": {"arm": 3.0}, "n": 4, "bits": 1.5});
    let mut found = Vec::new();
    unitless(&json, "", false, &mut found);
    found.sort();
    assert_eq!(found, ["bits: 1.5", "rate: 54.0"]);
}
