//! What a set says of the arms: which of them swim, and which of their moments is cued.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::support::{ok, write};
use serde_json::Value;

const ONE_ARM: &str = "[[set]]\nname = \"Right alone\"\nswim = \"45 s\"\nrate = \"60 spm\"\narms = \"right\"\n\
    cues = [\"arm\", \"kick\", \"breath\"]\nbreath = { every = 3 }\n";

/// A folder with one session in it.
fn folder(session: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "arms.toml", session);
    folder
}

/// Each sounding event of the body, as kind, side and phase on the circle.
fn events(at: &Path) -> BTreeSet<(String, String, String)> {
    let table = ok(at, &["show", "arms.toml", "--events"]);
    let rows = table
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect::<Vec<_>>());
    rows.filter(|row| !row[7].is_empty())
        .map(|row| (row[2].to_string(), row[3].to_string(), row[7].to_string()))
        .collect()
}

fn told<'a>(all: &'a BTreeSet<(String, String, String)>, kind: &str) -> Vec<(&'a str, &'a str)> {
    let of_kind = all.iter().filter(|(found, ..)| found == kind);
    of_kind
        .map(|(_, side, phase)| (side.as_str(), phase.as_str()))
        .collect()
}

#[test]
fn the_arm_that_rests_has_no_cue_and_feet_and_breaths_stay() {
    let folder = folder(ONE_ARM);
    let events = events(folder.path());
    assert_eq!(told(&events, "arm"), [("right", "0.800000")]);
    assert_eq!(
        told(&events, "kick"),
        [("left", "0.300000"), ("right", "0.800000")]
    );
    let sides: Vec<&str> = told(&events, "breath")
        .iter()
        .map(|(side, _)| *side)
        .collect();
    assert_eq!(sides, ["left", "right"]);
}

#[test]
fn which_arm_swims_is_said_shown_and_drawn() {
    const SAID: &str = "right arm swims, left arm rests in front";
    let folder = folder(ONE_ARM);
    let at = folder.path();
    let text = ok(at, &["show", "arms.toml"]);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(&format!("sounds: arm, kick, breath; {SAID}")),
        "{text}"
    );
    // The line of the cycle has one hand.
    assert!(text.contains("  left hand    rests in front\n"), "{text}");
    assert!(
        !text
            .lines()
            .any(|line| line.starts_with("  left hand    E")),
        "{text}"
    );
    let json: Value =
        serde_json::from_str(&ok(at, &["show", "arms.toml", "--json"])).expect("JSON");
    assert_eq!(json["sets"][0]["arms"], "right");
    let says = json["says"].to_string();
    assert!(says.contains(SAID), "{says}");
    ok(at, &["show", "arms.toml", "--svg", "poster.svg"]);
    let poster = fs::read_to_string(at.join("poster.svg")).expect("a poster");
    assert!(
        poster.contains("left arm rests") && !poster.contains("left hand in"),
        "{poster}"
    );
    ok(at, &["export", "arms.toml", "--out", "tracks"]);
    let sheet = fs::read_to_string(at.join("tracks/contents.txt")).expect("a sheet");
    assert!(sheet.contains(SAID), "{sheet}");
}

#[test]
fn an_arm_cue_is_on_the_moment_that_is_asked_for_whatever_the_pairing() {
    let of = |pairing: &str, arm_cue: &str| {
        let folder = folder(&format!(
            "[[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\npairing = \"{pairing}\"\narm_cue = \"{arm_cue}\"\n"
        ));
        let events = events(folder.path());
        let phases = |kind| -> Vec<String> {
            let told = told(&events, kind);
            told.iter()
                .map(|(_, phase)| phase[..3].to_string())
                .collect()
        };
        let text = ok(folder.path(), &["show", "arms.toml"]);
        let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = ["catch", "entry"].map(|moment| {
            said.matches(&format!("the arm cue is on the {moment}"))
                .count()
        });
        (phases("arm"), phases("kick"), said)
    };
    let texts = |all: [&str; 2]| all.map(str::to_string).to_vec();
    let (catches, entries, crossed) = (
        texts(["0.3", "0.8"]),
        texts(["0.0", "0.5"]),
        texts(["0.5", "0.0"]),
    );
    for (pairing, kicks) in [("same-side", &catches), ("opposite-side", &crossed)] {
        // Among what sounds, and under the line of the cycle.
        assert_eq!(
            of(pairing, "catch"),
            (catches.clone(), kicks.clone(), [2, 0])
        );
        assert_eq!(
            of(pairing, "entry"),
            (entries.clone(), kicks.clone(), [0, 2])
        );
    }
    assert_eq!(of("same-side", "pairing").0, catches);
    assert_eq!(of("opposite-side", "pairing").0, entries);
}
