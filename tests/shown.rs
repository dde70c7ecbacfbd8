//! A text of a person's cannot turn or hide what stands around it: the characters that would are
//! written out wherever the program shows them, and kept where it keeps them. And a number never
//! reads as the limit that it has passed.

use std::fs;
use std::path::Path;

use crate::support::{ok, refused, run, write};
use serde_json::Value;

/// Turns the order of what follows; a reader sees `\u{202e}`.
const TURN: char = '\u{202e}';
const WRITTEN_OUT: &str = "\\u{202e}";

/// What Unicode's property Bidi_Control names (UAX #9).
const TURNING: [char; 12] = [
    '\u{61c}', '\u{200e}', '\u{200f}', '\u{202a}', '\u{202b}', '\u{202c}', '\u{202d}', '\u{202e}',
    '\u{2066}', '\u{2067}', '\u{2068}', '\u{2069}',
];

fn session() -> String {
    format!(
        "title = \"Eve{TURN}ning\"\nfor = \"swimmers {TURN}of a test\"\n[[set]]\nname = \"Set{TURN}tle\"\n\
         repeats = 2\nswim = \"50 m\"\nrest = \"20 s\"\nrate = \"54 spm\"\npace = \"2:05 / 100 m\"\n\
         say = \"Easy{TURN}.\"\n"
    )
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "evening.toml", session());
    let swimmer = format!(
        "name = \"Alex{TURN} Example\"\npool = \"25 m\"\nrate = \"52 spm\"\npace = \"2:05 / 100 m\"\n"
    );
    write(folder.path(), "alex.toml", swimmer);
    folder
}

/// Nothing in the text turns it, and what was written of it is there.
fn written_out(what: &str, text: &str) {
    assert!(!text.contains(TURNING), "{what}: {text:?}");
    assert!(text.contains(WRITTEN_OUT), "{what}: {text:?}");
}

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).expect(name)
}

#[test]
fn screens_and_messages_write_it_out() {
    let folder = folder();
    let at = folder.path();
    let add = "log add 50 48.1 --swimmer alex.toml --name Set\u{202e}tle";
    ok(at, &add.split(' ').collect::<Vec<_>>());
    for args in [
        &["show", "evening.toml", "--swimmer", "alex.toml"][..],
        &["show", "evening.toml", "--swimmer", "alex.toml", "--detail"],
        &["show", "evening.toml", "--explain"],
        &["swimmer", "show", "alex.toml"],
        &["log", "list"],
    ] {
        written_out(&args.join(" "), &ok(at, args));
    }
    let refusals = [
        &["show", "no\u{202e}thing.toml"][..],
        &["show", "evening.toml", "--kick", "two\u{202e}"],
        &["export", "evening.toml", "--no\u{202e}"],
    ];
    for args in refusals {
        written_out(&args.join(" "), &refused(at, args, 2));
    }
}

#[test]
fn json_writes_it_in_its_own_way_and_says_the_same() {
    let folder = folder();
    let text = ok(folder.path(), &["show", "evening.toml", "--json"]);
    assert!(!text.contains(TURNING), "{text:?}");
    assert!(text.contains("Eve\\u202ening"), "{text:?}");
    let value: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(value["title"], format!("Eve{TURN}ning"));
}

#[test]
fn sheets_pictures_and_tags_write_it_out() {
    let folder = folder();
    let at = folder.path();
    let with = ["--swimmer", "alex.toml"];
    ok(
        at,
        &[&["show", "evening.toml", "--svg", "poster.svg"], &with[..]].concat(),
    );
    written_out("poster", &read(at, "poster.svg"));
    let export = [
        "export",
        "evening.toml",
        "--out",
        "tracks",
        "--format",
        "flac",
    ];
    ok(at, &[&export, &with[..]].concat());
    written_out("contents.txt", &read(at, "tracks/contents.txt"));
    for file in fs::read_dir(at.join("tracks")).expect("a folder").flatten() {
        let name = file.file_name().into_string().expect("a plain name");
        assert!(name.is_ascii(), "{name}");
        if name.ends_with(".flac") {
            let track = fs::read(file.path()).expect("a track");
            // The tags stand before the first frame of sound.
            let tags = String::from_utf8_lossy(&track[..600.min(track.len())]).into_owned();
            written_out(&name, &tags);
        }
    }
}

#[test]
fn the_calendar_and_the_page_of_a_plan_write_it_out() {
    let folder = folder();
    let at = folder.path();
    let plan = "plan new --swimmer alex.toml --from 52spm --to 54spm --weeks 4 --start 2027-03-01 --out plan.toml --days";
    let plan: Vec<&str> = plan.split(' ').chain(["mon"]).collect();
    ok(at, &plan);
    written_out("plan show", &ok(at, &["plan", "show", "plan.toml"]));
    ok(at, &["plan", "calendar", "plan.toml", "--out", "alex.ics"]);
    // Lines are folded at 75 octets; a comma is written "\,", and so is the backslash "\\".
    let calendar = read(at, "alex.ics").replace("\r\n ", "");
    written_out("calendar", &calendar.replace("\\\\", "\\"));
    ok(at, &["plan", "report", "plan.toml", "--out", "alex.html"]);
    written_out("report", &read(at, "alex.html"));
}

#[test]
fn what_is_kept_stays_as_it_was() {
    let folder = folder();
    let at = folder.path();
    let name = format!("Al{TURN}ex");
    ok(at, &["log", "add", "50", "48.1", "--swimmer", &name]);
    assert!(read(at, "log.csv").contains(&name));
    let listed = run(at, &["log", "list", "--json", "--swimmer", &name]);
    let listed: Value = serde_json::from_slice(&listed.stdout).expect("JSON");
    assert_eq!(listed["rows"][0]["swimmer"], name);
}

#[test]
fn sizes_rates_and_goals_past_a_limit_do_not_read_as_the_limit() {
    let folder = folder();
    let at = folder.path();
    // 11.5 s of one channel: 1014344 bytes, which a player's limit of 1 MB forbids.
    let short = "lead_in = \"5 s\"\nopening = false\n[[set]]\nswim = \"3.5 s\"\npush_off = \"0 s\"\n\
         rate = \"54 spm\"\n";
    write(at, "short.toml", short);
    let player = "name = \"Alex\"\n[player]\nchannels = \"mono\"\nlargest_mb = 1\n";
    write(at, "player.toml", player);
    let export = "export short.toml --swimmer player.toml --out tracks";
    let message = refused(at, &export.split(' ').collect::<Vec<_>>(), 2);
    let found = "would have 1014344 bytes, over the player's limit of 1 MB";
    assert!(message.contains(found), "{message}");

    // Taps once a cycle of 120 / 160.02 s.
    let taps: Vec<String> = (0..40)
        .map(|tap| format!("{:.6}", f64::from(tap) * 120.0 / 160.02))
        .collect();
    write(at, "taps.txt", taps.join(" "));
    let message = refused(at, &["tap", "--times", "taps.txt"], 2);
    assert!(message.contains("make 160.02 spm, outside 10"), "{message}");

    let plan = "plan new --swimmer alex.toml --weeks 12 --days mon --start 2027-03-01 --out plan.toml \
                --from 52spm --to";
    let plan = |to| plan.split_whitespace().chain([to]).collect::<Vec<_>>();
    let message = refused(at, &plan("62.400000001spm"), 2);
    let found = "from 52 spm to 62.400000001 spm is more than 20 %";
    assert!(message.contains(found), "{message}");
    let message = refused(at, &plan("51.999999999spm"), 2);
    let found = "from 52 spm to 51.999999999 spm is a way down";
    assert!(message.contains(found), "{message}");
}

#[test]
fn a_trials_name_that_does_not_hold_says_why() {
    let folder = folder();
    let long = "x".repeat(61);
    for (name, found) in [
        (long.as_str(), "found 61 characters, too long for a log"),
        ("spr\u{7}ing", "found \\u{7}, which cannot be shown"),
    ] {
        let args = ["trial", "new", "--out", "trial", "--name", name];
        let message = refused(folder.path(), &args, 2);
        assert!(message.contains(&format!("--name: {found}")), "{message}");
    }
}
