//! The built-in values are those of docs/session.md, and each is said to come from nowhere nearer.
//!
//! Beside each: its source in docs/sources.md, with its mark, or "no source".

use super::folder;
use crate::support::{ok, write};

/// Nothing but what has no default.
const BARE: &str =
    "[[set]]\nswim = \"50 m\"\nrate = \"54 spm\"\nstroke_length = \"0.9 m/stroke\"\n";

/// Key, value, source and mark.
const BUILT_IN: [(&str, &str, &str); 21] = [
    ("repeats", "1", "no source"),
    (
        "pool",
        "25 m",
        "Rates, lengths, speed: 25 m, 50 m and 25 yd pools exist",
    ),
    ("rest", "20 s", "no source"),
    ("compare", "none", "no source"),
    (
        "pairing",
        "same-side",
        "The arm cycle: a common instruction, practice",
    ),
    (
        "kick",
        "two-beat",
        "The arm cycle: one down-kick an arm stroke, practice",
    ),
    ("three_on", "left", "no source"),
    (
        "catch_after_entry",
        "0.3",
        "The arm cycle: the phase of Chollet et al. 2000, read; its share of 0.25 to 0.30, memory, \
         0.30 to 0.40 in adult learners, practice: a guess",
    ),
    (
        "right_entry",
        "0.5",
        "The arm cycle: arms half a cycle apart (definition)",
    ),
    ("first_arm", "left", "no source"),
    ("arms", "both", "no source"),
    ("push_off", "3 s", "common practice, no source"),
    ("glide", "4 m", "common practice, no source"),
    ("walls", "through", "no source"),
    ("cues", "arm, kick", "no source"),
    (
        "arm_cue",
        "pairing",
        "no source: arm and foot are heard together",
    ),
    (
        "breath",
        "none",
        "Loudness and hearing: no track urges fewer breaths",
    ),
    (
        "fade",
        "none",
        "Timing and cues: guidance hypothesis, memory; off at first",
    ),
    (
        "lead",
        "0 ms",
        "Timing and cues: tapping is early, memory; none at first",
    ),
    ("count", "rate", "no source"),
    ("name", "Set 1", "no source"),
];

/// Lines of `--explain`: key, value, where from.
fn explained(text: &str) -> Vec<(String, String, String)> {
    let line = |line: &str| {
        let line = line.strip_prefix("      ")?;
        let (key, rest) = line.split_once(' ')?;
        let (value, from) = rest.trim().rsplit_once("  (")?;
        let from = from.strip_suffix(')')?;
        Some((key.to_string(), value.to_string(), from.to_string()))
    };
    text.lines().filter_map(line).collect()
}

#[test]
fn values_that_nobody_gave_are_the_built_in_ones_of_the_page() {
    let folder = folder();
    write(folder.path(), "bare.toml", BARE);
    let text = ok(folder.path(), &["show", "bare.toml", "--explain"]);
    let mut found: Vec<_> = explained(&text)
        .into_iter()
        .filter(|(_, _, from)| from == "built in")
        .map(|(key, value, _)| (key, value))
        .collect();
    found.sort();
    let mut due: Vec<_> = BUILT_IN
        .iter()
        .map(|(key, value, _)| (key.to_string(), value.to_string()))
        .collect();
    due.sort();
    assert_eq!(found, due, "{text}");
}

#[test]
fn a_given_value_is_said_to_come_from_its_line() {
    let folder = folder();
    write(
        folder.path(),
        "bare.toml",
        format!("{BARE}push_off = \"2 s\"\n"),
    );
    write(
        folder.path(),
        "alex.toml",
        "name = \"Alex\"\npool = \"50 m\"\nglide = \"5 m\"\n",
    );
    let words = [
        "show",
        "bare.toml",
        "--swimmer",
        "alex.toml",
        "--explain",
        "--kick",
        "six-beat",
    ];
    let found = explained(&ok(folder.path(), &words));
    for due in [
        ("push_off", "2 s", "set, bare.toml:5"),
        ("rate", "54 spm (27 cycles/min)", "set, bare.toml:3"),
        ("pool", "50 m", "swimmer, alex.toml:2"),
        ("glide", "5 m", "swimmer, alex.toml:3"),
    ] {
        let due = (due.0.to_string(), due.1.to_string(), due.2.to_string());
        assert!(found.contains(&due), "{due:?} in {found:?}");
    }
    let kick = found
        .iter()
        .find(|(key, _, _)| key == "kick")
        .expect("kick is explained");
    assert!(
        kick.1 == "six-beat" && kick.2.contains("--kick"),
        "{kick:?}"
    );
}

#[test]
fn the_default_catch_is_said_to_be_a_guess_and_practice_to_be_practice() {
    let folder = folder();
    write(folder.path(), "bare.toml", BARE);
    let text = ok(folder.path(), &["show", "bare.toml"]);
    assert!(text.contains("a guess until it is measured"), "{text}");
}

#[test]
fn the_first_start_waits_a_minute_and_fades_count_cycles_to_the_right() {
    let folder = folder();
    let more = "cues = [\"arm\", \"breath\"]\nbreath = { every = 2 }\nfade = { on = 1, off = 1 }\n";
    write(folder.path(), "bare.toml", format!("{BARE}{more}"));
    let text = ok(folder.path(), &["show", "bare.toml", "--json"]);
    let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let set = &json["sets"][0];
    // Design 4: lead_in 60 s, breath side right, fade per cycle.
    assert_eq!(set["starts_s"][0], 60.0);
    assert_eq!(set["breath"]["side"], "right");
    assert_eq!(set["fade"]["per"], "cycle");
}
