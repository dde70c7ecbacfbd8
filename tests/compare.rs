//! Repeats for comparison, as a swimmer and a coach meet them.

use std::fs;

use crate::support::{ok, write};
use serde_json::Value;

/// Five fifties, two of them at the rate of before.
const SESSION: &str = "[[set]]\nname = \"Hold\"\nrepeats = 5\nswim = \"50 m\"\nrest = \"40 s\"\n\
    rate = { from = \"56 spm\", to = \"60 spm\", by = \"repeat\" }\n\
    stroke_length = \"1 m/stroke\"\npush_off = \"3 s\"\nglide = \"5 m\"\n\
    compare = { rate = \"48 spm\", at = [2, 5] }\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "hold.toml", SESSION);
    folder
}

#[test]
fn repeats_for_comparison_have_their_own_rate_and_the_others_are_counted_through() {
    let folder = folder();
    let json: Value =
        serde_json::from_str(&ok(folder.path(), &["show", "hold.toml", "--json"])).expect("JSON");
    let set = &json["sets"][0];
    assert_eq!(set["compare"]["rate_spm"], 48.0);
    assert_eq!(set["compare"]["at"], serde_json::json!([2, 5]));
    // Two lengths of 3 s and 20 strokes of 1 m each at 56, 48, 58, 59 and 48 strokes a minute.
    let swims: Vec<f64> = (set["swims_s"].as_array().expect("five").iter())
        .map(|swim| swim.as_f64().expect("a number"))
        .collect();
    let due = [56.0, 48.0, 58.0, 59.0, 48.0].map(|spm| 6.0 + 40.0 * 60.0 / spm);
    assert_eq!(swims.len(), due.len());
    for (swim, due) in swims.iter().zip(due) {
        assert!((swim - due).abs() < 1e-6, "{swims:?}");
    }
    let says: Vec<&str> = (json["says"].as_array().expect("a list").iter())
        .map(|say| say["text"].as_str().expect("a text"))
        .collect();
    let told = says[2..].join("; ");
    assert_eq!(
        told,
        "comparison, at forty-eight, same effort as the others, four to go, late? rest, take the \
         next one; rate fifty-eight, three to go; rate fifty-nine, two to go; comparison, at \
         forty-eight, same effort as the others, the last one"
    );
}

#[test]
fn which_repeats_compare_stands_on_the_screen_and_on_the_sheets() {
    const SAID: &str = "repeats 2 and 5 at 48 spm for comparison";
    let folder = folder();
    let at = folder.path();
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let shown = words(&ok(at, &["show", "hold.toml"]));
    assert!(shown.contains(SAID), "{shown}");
    // The swims of the plan: the comparison is slower than any of them.
    assert!(
        shown.contains("56 to 60 spm by repeat 48.9 s to 46.7 s each"),
        "{shown}"
    );
    ok(at, &["export", "hold.toml", "--out", "tracks"]);
    let sheet = words(&fs::read_to_string(at.join("tracks/contents.txt")).expect("a sheet"));
    assert!(sheet.contains(SAID), "{sheet}");
    assert!(
        sheet.contains("each swim is cued for 48.9 s, 56 s, 47.4 s, 46.7 s, 56 s"),
        "{sheet}"
    );
}

#[test]
fn the_rate_of_a_comparison_may_be_relative_to_the_swimmers_own() {
    let folder = folder();
    let at = folder.path();
    write(at, "own.toml", SESSION.replace("\"48 spm\"", "\"-4 spm\""));
    write(
        at,
        "alex.toml",
        "name = \"Alex Example\"\nrate = \"54 spm\"\n",
    );
    let shown = ok(
        at,
        &["show", "own.toml", "--swimmer", "alex.toml", "--json"],
    );
    let json: Value = serde_json::from_str(&shown).expect("JSON");
    assert_eq!(json["sets"][0]["compare"]["rate_spm"], 50.0);
}
