//! `trial new` and `trial read`, as a coach meets them; figures against scipy.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::support::{ok, refused, run, write};
use serde_json::Value;

const HEADER: &str = "date,swimmer,session,set,repeat,distance,time,strokes,rate_cued,pairing,\
                      kick,effort,kept,trial,note,trial_looks\n";

/// Rows of one trial, order ABBA, from (time, strokes, effort) of same-side and opposite-side. It
/// was drawn to be looked at once, after all of them.
fn rows(trial: &str, kept: &str, pairs: &[[[String; 3]; 2]]) -> String {
    let looks = format!("after {} pairs: margin 1 %", pairs.len());
    let mut text = String::new();
    for (number, pair) in pairs.iter().enumerate() {
        let mut two = [("same-side", &pair[0]), ("opposite-side", &pair[1])];
        if number % 2 == 1 {
            two.reverse();
        }
        for (pairing, [time, strokes, effort]) in two {
            writeln!(
                text,
                "2026-11-27,Alex,day 1,,1,50 m,{time},{strokes},54 spm,{pairing},two-beat,{effort},{kept},{trial},,{looks}"
            )
            .unwrap();
        }
    }
    text
}

/// Pairs in which only the time differs, by so much same-side minus opposite-side.
fn by_time(differences: &[f64]) -> Vec<[[String; 3]; 2]> {
    let swim = |s: f64| [format!("{s:.3} s"), "44".into(), "5".into()];
    differences
        .iter()
        .map(|d| [swim(40.0 + d), swim(40.0)])
        .collect()
}

fn read(folder: &Path, text: &str) -> Value {
    write(folder, "log.csv", format!("{HEADER}{text}"));
    json(&ok(folder, &["trial", "read", "log.csv", "--json"]))
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

/// The differences of docs/sources.md, "Paired trials and trends".
const PUBLISHED: [f64; 8] = [0.012, 0.034, -0.006, 0.021, 0.018, 0.009, 0.027, -0.002];

#[test]
fn the_published_differences_are_read_from_a_log() {
    let folder = tempfile::tempdir().unwrap();
    let found = read(folder.path(), &rows("spring", "yes", &by_time(&PUBLISHED)));
    // docs/sources.md, "Paired trials and trends": computed with scipy 1.17.1.
    assert_eq!(found["pairs"], 8);
    assert_eq!(found["confirmed"], true);
    let time = &found["time_s"];
    assert_eq!(time["p"], 8.0 / 256.0);
    assert_eq!(time["signed_rank_p"], 0.0390625);
    assert_eq!(time["hodges_lehmann"], 0.0145);
    assert_eq!(found["verdict"], "opposite-side", "same-side took longer");
    // By hand: all of them are below 0.1 % of 40 s.
    assert_eq!(found["under_margin"], true);
    assert_eq!(found["effort"]["p"], 1.0);
    let text = ok(folder.path(), &["trial", "read", "log.csv"]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "Right foot as the left hand goes in was faster, but by less than 1 % (8 pairs).";
    assert!(text.contains(said), "{text}");
}

#[test]
fn cued_is_not_kicked() {
    let folder = tempfile::tempdir().unwrap();
    // What the swimmer felt is no confirmation.
    for kept in ["", "no", "felt-yes"] {
        let found = read(folder.path(), &rows("spring", kept, &by_time(&PUBLISHED)));
        assert_eq!(found["confirmed"], false);
        assert_eq!(found["verdict"], "not confirmed");
        let text = ok(folder.path(), &["trial", "read", "log.csv"]);
        assert!(text.contains("Cued, not confirmed: no verdict."), "{text}");
        assert!(!text.contains("was faster, "), "{text}");
    }
    let found = read(folder.path(), &rows("spring", "part", &by_time(&PUBLISHED)));
    assert_eq!(found["confirmed"], true);
    // Kept with one pairing only.
    let text = rows("spring", "yes", &by_time(&PUBLISHED)).replace(
        "opposite-side,two-beat,5,yes",
        "opposite-side,two-beat,5,no",
    );
    assert_eq!(read(folder.path(), &text)["confirmed"], false);
}

#[test]
fn five_pairs_are_too_few_and_six_may_do() {
    let folder = tempfile::tempdir().unwrap();
    let found = read(folder.path(), &rows("spring", "yes", &by_time(&[-1.0; 5])));
    let time = &found["time_s"];
    assert_eq!(
        (&found["verdict"], &time["p"]),
        (&"undecided".into(), &(2.0 / 32.0).into())
    );
    assert!(time.get("lo").is_none() && time.get("hi").is_none());
    assert_eq!(found["interval_percent"], Value::Null);
    let found = read(folder.path(), &rows("spring", "yes", &by_time(&[-1.0; 6])));
    assert_eq!(found["verdict"], "same-side");
    assert_eq!(found["time_s"]["lo"], -1.0);
}

/// Rows of a trial of twenty pairs, of which these are timed.
fn of_twenty(differences: &[f64]) -> String {
    let looks = format!("after {} pairs", differences.len());
    rows("spring", "yes", &by_time(differences)).replace(&looks, "after 8 12 16 20 pairs")
}

#[test]
fn a_trial_is_looked_at_as_it_was_drawn_and_may_end_early() {
    let folder = tempfile::tempdir().unwrap();
    let at = |differences: &[f64]| {
        let found = read(folder.path(), &of_twenty(differences));
        let looks = found["looks"].as_array().unwrap();
        let taken = looks.iter().filter(|look| look["taken"] == true).count();
        assert_eq!(looks.len(), 4);
        (found["verdict"].as_str().map(String::from), taken)
    };
    let verdict = |word: &str, taken| (Some(word.to_string()), taken);
    let unclear = |pairs: u32| -> Vec<f64> {
        (0..pairs)
            .map(|n| f64::from(n * 7 % 11) / 4.0 - 1.1)
            .collect()
    };
    assert_eq!(at(&unclear(7)), verdict("not yet", 0));
    let text = ok(folder.path(), &["trial", "read", "log.csv"]);
    assert!(
        text.contains("7 of 20 pairs timed; the next look is after 8, 1 more."),
        "{text}"
    );
    assert_eq!(at(&unclear(11)), verdict("not yet", 1));
    assert_eq!(at(&unclear(20)), verdict("undecided", 4));
    let text = ok(folder.path(), &["trial", "read", "log.csv"]);
    assert!(
        text.contains("Undecided after 20 pairs, the last look."),
        "{text}"
    );
    // Clear from the start: called at the first look, and eleven pairs call no more.
    let clear: Vec<f64> = (0..11).map(|n| -1.0 - f64::from(n) / 20.0).collect();
    assert_eq!(at(&clear[..8]), verdict("same-side", 1));
    assert_eq!(at(&clear), verdict("same-side", 1));
    let found = json(&ok(folder.path(), &["trial", "read", "log.csv", "--json"]));
    let hi = found["interval_percent"][1].as_f64().unwrap();
    assert!(hi < -1.0, "{hi}");
    let text = ok(folder.path(), &["trial", "read", "log.csv"]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let least = format!(
        "Right foot with right catch was faster, by at least {:.1} % (8",
        -hi
    );
    assert!(text.contains(&least), "{text}");
    // Nothing between them that is worth having, told before the end.
    let none: Vec<f64> = (0..12).map(|n| [0.1, -0.1, 0.05, -0.05][n % 4]).collect();
    assert_eq!(at(&none), verdict("no difference worth having", 1));
    let text = ok(folder.path(), &["trial", "read", "log.csv"]);
    assert!(text.contains("No difference worth having"), "{text}");
    // More than were drawn is another trial.
    let more = of_twenty(&unclear(22));
    let found = read(folder.path(), &more);
    assert_eq!(found["verdict"], Value::Null);
    assert!(
        found["headline"]
            .as_str()
            .unwrap()
            .contains("22 pairs, and 20 were drawn")
    );
}

#[test]
fn a_log_that_was_not_drawn_gets_numbers_and_no_verdict() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = rows("spring", "yes", &by_time(&[-1.0; 8]));
    let old = |text: &str| text.replace(",,after 8 pairs: margin 1 %", ",");
    let header = HEADER.replace(",trial_looks", "");
    write(folder.path(), "log.csv", header + &old(&drawn));
    let found = json(&ok(folder.path(), &["trial", "read", "log.csv", "--json"]));
    assert_eq!(
        (&found["verdict"], &found["interval_percent"]),
        (&Value::Null, &Value::Null)
    );
    assert_eq!(found["looks"], serde_json::json!([]));
    assert_eq!(found["time_s"]["hodges_lehmann"], -1.0);
    assert_eq!(found["time_s"]["p"], 2.0 / 256.0);
    let text = ok(folder.path(), &["trial", "read", "log.csv"]);
    assert!(text.contains("Numbers, no verdict"), "{text}");
    // Two trials under one name were drawn for two answers.
    let twice = drawn.clone() + &drawn.replace("after 8 pairs", "after 20 pairs");
    let found = read(folder.path(), &twice);
    assert_eq!(found["verdict"], Value::Null);
    assert!(
        found["headline"]
            .as_str()
            .unwrap()
            .contains("drawn as different trials")
    );
}

#[test]
fn effort_is_felt_and_decides_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let swim = |s: f64, effort: f64| [format!("{s:.2} s"), "44".to_string(), effort.to_string()];
    let pairs = |same_s: f64, harder: f64| -> Vec<_> {
        (0..8)
            .map(|n| {
                let own = f64::from(n) / 10.0;
                [
                    swim(same_s + own / 10.0, 5.0 + harder),
                    swim(40.0 + own, 5.0),
                ]
            })
            .collect()
    };
    let said = |pairs: &[[[String; 3]; 2]]| {
        let found = read(folder.path(), &rows("spring", "yes", pairs));
        let headline = found["headline"].as_str().unwrap().to_string();
        (found, headline)
    };
    // Clearly easier, and no faster: effort says which one to swim, and is no verdict.
    let (found, headline) = said(&pairs(40.3, -2.0));
    assert_eq!(found["verdict"], "no difference worth having");
    let easier = "Swim the one that feels easier: right foot with right catch, by 2 points.";
    assert!(headline.ends_with(easier), "{headline}");
    assert_eq!(
        (&found["effort"]["mean"], &found["effort"]["p"]),
        (&(-2.0).into(), &(2.0 / 256.0).into())
    );
    assert!(
        found["sentences"][2]
            .as_str()
            .unwrap()
            .contains("Felt, not measured")
    );
    // Faster and two points harder: the coach.
    let (found, headline) = said(&pairs(38.0, 2.0));
    assert_eq!(found["verdict"], "same-side");
    assert!(
        headline.contains("faster and harder, so talk to your coach"),
        "{headline}"
    );
    let (_, headline) = said(&pairs(38.0, 1.0));
    assert!(!headline.contains("harder"), "{headline}");
}

#[test]
fn no_screen_calls_a_pairing_wrong_and_every_line_fits() {
    let folder = tempfile::tempdir().unwrap();
    let effort = |same: f64, opposite: f64| {
        let swim = |s: f64, e: f64| [format!("{s:.2} s"), "44".to_string(), format!("{e}")];
        [swim(40.0, same), swim(40.0 + same - opposite, opposite)]
    };
    let both: Vec<_> = (0..8)
        .map(|n| effort(3.0 + f64::from(n) / 2.0, 2.0))
        .collect();
    let logs = [
        rows("spring", "yes", &by_time(&PUBLISHED)),
        rows("spring", "yes", &both),
        rows("spring", "", &both),
        rows("spring", "yes", &both[..3]),
        rows(
            "spring",
            "yes",
            &by_time(&[1.0, -1.0, 1.0, -1.0, 1.0, -1.0]),
        ),
    ];
    for log in logs {
        write(folder.path(), "log.csv", format!("{HEADER}{log}"));
        for arguments in [
            &["trial", "read", "log.csv"][..],
            &["trial", "read", "log.csv", "--detail"],
        ] {
            let text = ok(folder.path(), arguments);
            assert!(!text.to_lowercase().contains("wrong"), "{text}");
            assert!(text.contains("comfort counts"), "{text}");
            assert!(
                text.lines().all(|line| line.chars().count() <= 80),
                "{text}"
            );
        }
    }
}

#[test]
fn random_trials_agree_with_scipy() {
    let folder = tempfile::tempdir().unwrap();
    let mut random = fastrand::Rng::with_seed(6);
    let mut text = String::from(HEADER);
    let mut names = Vec::new();
    for trial in 0..45 {
        let pairs: Vec<_> = (0..random.usize(1..=9))
            .map(|_| {
                let mut swim = |shift: f64| {
                    let time = format!("{:.3} s", 40.0 + random.f64() + shift);
                    // Small whole numbers tie often; one in twelve is not noted.
                    let strokes = (random.usize(0..12) > 0).then(|| random.u32(42..48).to_string());
                    let effort = f64::from(random.u32(6..12)) / 2.0 + shift;
                    [time, strokes.unwrap_or_default(), effort.to_string()]
                };
                [swim(0.0), swim(if trial % 3 == 0 { 0.5 } else { 0.0 })]
            })
            .collect();
        let name = format!("trial {trial}");
        text.push_str(&rows(&name, "yes", &pairs));
        names.push(name);
    }
    write(folder.path(), "log.csv", text);
    let ours: BTreeMap<&str, Value> = (names.iter())
        .map(|name| {
            let args = ["trial", "read", "log.csv", "--trial", name, "--json"];
            (name.as_str(), json(&ok(folder.path(), &args)))
        })
        .collect();
    let theirs = scipy(&folder.path().join("log.csv"), &ours);
    let mut compared = BTreeMap::new();
    for name in &names {
        for outcome in ["time_s", "strokes", "effort"] {
            let (ours, theirs) = (&ours[name.as_str()][outcome], &theirs[name][outcome]);
            for (key, wanted) in theirs.as_object().into_iter().flatten() {
                let our_key = if key == "wilcoxon_p" {
                    "signed_rank_p"
                } else {
                    key
                };
                *compared.entry(key.clone()).or_insert(0) += 1;
                if key == "ends" {
                    // Just outside an end the signed-rank test rejects, just inside it does not.
                    let all = |place: &str, holds: fn(f64) -> bool| {
                        let both = wanted[place].as_array().unwrap();
                        both.iter().all(|p| holds(p.as_f64().unwrap()))
                    };
                    assert!(
                        all("outside", |p| p <= 0.05 + 1e-9),
                        "{name} {outcome}: {wanted}"
                    );
                    assert!(all("inside", |p| p > 0.05), "{name} {outcome}: {wanted}");
                    continue;
                }
                let (found, wanted) = (ours[our_key].as_f64(), wanted.as_f64().unwrap());
                let close = found.is_some_and(|found| (found - wanted).abs() < 1e-9);
                assert!(close, "{name} {outcome} {key}: {found:?}, scipy {wanted}");
            }
        }
    }
    for key in ["p", "signed_rank_p", "wilcoxon_p", "hodges_lehmann", "ends"] {
        assert!(compared[key] > 15, "{key}: {compared:?}");
    }
}

/// What scipy says of the same log; intervals of times (which hardly tie) are sent along.
fn scipy(log: &Path, ours: &BTreeMap<&str, Value>) -> Value {
    let ends = |reading: &Value| -> Option<Value> {
        let time = &reading["time_s"];
        Some(serde_json::json!({ "time_s": [time.get("lo")?, time.get("hi")?] }))
    };
    let ends: BTreeMap<&str, Value> = (ours.iter())
        .map(|(name, reading)| (*name, ends(reading).unwrap_or(serde_json::json!({}))))
        .collect();
    let mut child = Command::new(crate::support::python())
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/trial.py"))
        .arg(log)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("Python starts");
    let stdin = child.stdin.take().unwrap();
    serde_json::to_writer(stdin, &ends).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    json(&String::from_utf8(output.stdout).unwrap())
}

const NEW: [&str; 8] = [
    "trial",
    "new",
    "--out",
    "spring",
    "--swimmer",
    "adult-learner",
    "--seed",
    "4",
];

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = (std::fs::read_dir(folder).unwrap())
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_new_trial_is_ready_for_export() {
    let folder = tempfile::tempdir().unwrap();
    let text = ok(folder.path(), &NEW);
    assert!(text.contains("seed 4"), "{text}");
    assert!(
        text.contains("First practise each pairing on two or three days"),
        "{text}"
    );
    assert_eq!(
        names(&folder.path().join("spring")),
        [
            "day-1.toml",
            "day-2.toml",
            "day-3.toml",
            "day-4.toml",
            "day-5.toml",
            "log.csv",
            "practise-opposite-side.toml",
            "practise-same-side.toml"
        ]
    );
    // Small swims, so that the tracks are short; what is written says all it needs by itself.
    let short = ["--swim", "25 m", "--rest", "20 s", "--force"];
    ok(folder.path(), &[&NEW[..], &short].concat());
    for session in ["spring/day-1.toml", "spring/practise-opposite-side.toml"] {
        let export = [
            "export", session, "--files", "one", "--out", "tracks", "--force",
        ];
        ok(folder.path(), &export);
        let track = names(&folder.path().join("tracks"))
            .into_iter()
            .find(|n| n.ends_with("wav"));
        let track = format!("tracks/{}", track.expect("a track"));
        ok(folder.path(), &["check", &track, session]);
        std::fs::remove_file(folder.path().join(track)).unwrap();
    }
}

#[test]
fn swimming_by_the_written_session_is_swimming_by_the_swimmers_file() {
    let folder = tempfile::tempdir().unwrap();
    for swimmer in ["adult-learner", "triathlete"] {
        let args = [
            "trial",
            "new",
            "--out",
            swimmer,
            "--swimmer",
            swimmer,
            "--seed",
            "1",
        ];
        for kick in ["two-beat", "four-beat", "six-beat"] {
            ok(
                folder.path(),
                &[&args[..], &["--kick", kick, "--force"]].concat(),
            );
            let day = format!("{swimmer}/day-1.toml");
            // A player has its own audio rate.
            let events = ["--events", "--sample-rate", "44100"];
            let alone = ok(folder.path(), &[&["show", &day], &events[..]].concat());
            // The same swims with nothing but the swimmer's own file to go by.
            let text = std::fs::read_to_string(folder.path().join(&day)).unwrap();
            let keep = |line: &&str| {
                let key = line.split('=').next().unwrap_or_default().trim();
                line.starts_with('[')
                    || ["name", "pairing", "swim", "rest", "kick", "rate"].contains(&key)
            };
            let bare: Vec<&str> = text.lines().filter(keep).collect();
            write(folder.path(), "bare.toml", bare.join("\n"));
            let args = ["show", "bare.toml", "--swimmer", swimmer];
            let args = [&args[..], &events].concat();
            let events = |text: &str| -> Vec<String> {
                let lines = text.lines().filter(|line| !line.contains(",say,"));
                lines.map(String::from).collect()
            };
            assert_eq!(
                events(&alone),
                events(&ok(folder.path(), &args)),
                "{swimmer} {kick}"
            );
            assert!(events(&alone).len() > 500);
        }
    }
}

#[test]
fn a_day_sounds_the_same_after_the_swimmers_file_has_changed() {
    let folder = tempfile::tempdir().unwrap();
    let sounds = folder.path().join("own");
    std::fs::create_dir(&sounds).unwrap();
    let word = concat!(env!("CARGO_MANIFEST_DIR"), "/sounds/en/hold.ogg");
    std::fs::copy(word, sounds.join("kick-left.ogg")).unwrap();
    write(
        folder.path(),
        "early.toml",
        "name = \"A\"\nlead = \"40 ms\"\n",
    );
    let on_time = "name = \"A\"\nrate = \"52 spm\"\npace = \"2:05 / 100 m\"\nsounds = \"own\"\n";
    write(folder.path(), "on-time.toml", on_time);
    ok(
        folder.path(),
        &[
            "trial",
            "new",
            "--out",
            "t",
            "--swimmer",
            "on-time.toml",
            "--seed",
            "1",
        ],
    );
    let events = |args: &[&str]| {
        ok(
            folder.path(),
            &[&["show", "t/day-1.toml", "--events"], args].concat(),
        )
    };
    assert_eq!(events(&[]), events(&["--swimmer", "early.toml"]));
    let day = std::fs::read_to_string(folder.path().join("t/day-1.toml")).unwrap();
    assert!(day.contains(sounds.to_str().unwrap()), "{day}");
}

#[test]
fn the_rows_to_fill_in_follow_the_sessions() {
    let folder = tempfile::tempdir().unwrap();
    let dates = [
        "--pairs",
        "8",
        "--on",
        "2026-11-27",
        "--on",
        "2026-11-30",
        "--name",
        "spring two",
    ];
    ok(folder.path(), &[&NEW[..], &dates].concat());
    let text = std::fs::read_to_string(folder.path().join("spring/log.csv")).unwrap();
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some(HEADER.trim_end()));
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    assert_eq!(rows.len(), 16);
    for (number, row) in rows.iter().enumerate() {
        assert_eq!(
            row[0],
            if number < 8 {
                "2026-11-27"
            } else {
                "2026-11-30"
            }
        );
        assert_eq!((row[5], row[8], row[10]), ("50 m", "52 spm", "two-beat"));
        assert_eq!((row[6], row[7], row[11], row[12]), ("", "", "", ""));
        assert_eq!(row[13], "spring two");
    }
    let mut pairings = Vec::new();
    for day in ["spring/day-1.toml", "spring/day-2.toml"] {
        let shown = json(&ok(folder.path(), &["show", day, "--json"]));
        for set in shown["sets"].as_array().unwrap() {
            pairings.push(set["pairing"].as_str().unwrap().to_string());
        }
    }
    let logged: Vec<&str> = rows.iter().map(|row| row[9]).collect();
    assert_eq!(pairings, logged);
    for block in logged.chunks(4) {
        assert!(block[0] == block[3] && block[1] == block[2] && block[0] != block[1]);
    }
    let found = json(&ok(
        folder.path(),
        &["trial", "read", "spring/log.csv", "--json"],
    ));
    let text = ok(folder.path(), &["trial", "read", "spring/log.csv"]);
    assert!(text.contains("No pair of swims is timed yet"), "{text}");
    assert_eq!(
        (&found["pairs"], &found["verdict"]),
        (&0.into(), &"not yet".into())
    );
}

#[test]
fn what_a_trial_can_find_is_said_before_it_is_swum() {
    let folder = tempfile::tempdir().unwrap();
    let new = |more: &[&str]| {
        let args = [&NEW[..], &["--force", "--json"], more].concat();
        json(&ok(folder.path(), &args))
    };
    let near = |found: &Value, wanted: f64| {
        let found = found.as_f64().unwrap();
        assert!((found - wanted).abs() < 0.005, "{found}, not {wanted}");
    };
    let found = new(&[]);
    assert_eq!(found["looks"], serde_json::json!([8, 12, 16, 20]));
    // By hand: 2.80 x 1.41421 x 1.0 / sqrt(20 - 1.92); half of it: 1.08 x (4 x 18.08 + 1.92).
    near(&found["least_percent"], 0.931);
    assert_eq!(found["pairs_for_half"], 84);
    assert_eq!(
        (&found["scatter_percent"], &found["scatter_differences"]),
        (&1.0.into(), &0.into())
    );
    let warned = |found: &Value| found["warnings"].to_string();
    assert!(
        warned(&found).contains("this measures what you are used to"),
        "{found}"
    );
    near(&new(&["--pairs", "8"])["least_percent"], 1.606);
    let text = ok(folder.path(), &[&NEW[..], &["--force"]].concat());
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("So a difference of 0.9 %, 0.6 s in 67 s, is found in four"),
        "{text}"
    );
    assert!(text.contains("half of it would take 84 pairs"), "{text}");

    // A log of the swimmer's own: sixteen neighbours 0.7 % apart, and one pairing kept twice.
    let mut log = String::from(HEADER);
    for (day, pairing) in [
        ("01", "same-side"),
        ("02", "same-side"),
        ("03", "opposite-side"),
    ] {
        for n in 0..9 {
            let time = if n % 2 == 0 { 60.0 } else { 60.42 };
            writeln!(
                log,
                "2026-11-{day},Wade Example (invented),easy,main,,50 m,{time} s,,52 spm,{pairing},two-beat,,yes,,,"
            )
            .unwrap();
        }
    }
    write(folder.path(), "log.csv", &log);
    let found = new(&[]);
    assert_eq!(found["scatter_differences"], 24);
    // By hand: 1.4826 x 0.69756 / sqrt 2 = 0.7313; (8 + 24 x 0.5348) / 32 = 0.6511.
    near(&found["scatter_percent"], 0.8069);
    let warning = warned(&found);
    assert!(
        warning.contains("right foot as the left hand goes in was not yet kept"),
        "{warning}"
    );
    let kept = log
        .replace("2026-11-02,", "2026-11-04,")
        .replacen("same-side", "opposite-side", 9);
    let both = log + &kept[HEADER.len()..].replace("2026-11-01", "2026-11-05");
    write(folder.path(), "two.csv", both);
    let found = new(&["--log", "two.csv"]);
    assert_eq!(found["warnings"], serde_json::json!([]));
    // A swimmer of whom the log knows nothing.
    write(folder.path(), "log.csv", HEADER);
    assert_eq!(new(&[])["scatter_differences"], 0);
}

#[test]
fn the_arm_sound_may_mark_one_moment_in_both_pairings() {
    let folder = tempfile::tempdir().unwrap();
    let phases = |more: &[&str]| -> std::collections::BTreeSet<String> {
        ok(folder.path(), &[&NEW[..], &["--force"], more].concat());
        let events = ok(folder.path(), &["show", "spring/day-1.toml", "--events"]);
        (events.lines())
            .map(|line| line.split(',').collect::<Vec<_>>())
            .filter(|fields| fields[2] == "arm" && fields[3] == "left")
            .map(|fields| fields[7].to_string())
            .collect()
    };
    // The left entry is nothing on the circle, the catch comes after it.
    assert_eq!(phases(&[]).len(), 2);
    assert_eq!(
        phases(&["--arm-cue", "entry"]),
        ["0.000000".to_string()].into()
    );
    let catch = phases(&["--arm-cue", "catch"]);
    assert!(catch.len() == 1 && !catch.contains("0.000000"), "{catch:?}");
    let why = refused(
        folder.path(),
        &[&NEW[..], &["--arm-cue", "exit"]].concat(),
        2,
    );
    assert!(why.contains("pairing, catch, entry"), "{why}");
}

#[test]
fn swims_take_long_enough_for_a_stopwatch_unless_asked_otherwise() {
    let folder = tempfile::tempdir().unwrap();
    let new = |more: &[&str]| {
        let args = [
            "trial",
            "new",
            "--out",
            "t",
            "--stroke-rate",
            "60 spm",
            "--force",
            "--json",
        ];
        json(&ok(folder.path(), &[&args[..], more].concat()))
    };
    let day = || std::fs::read_to_string(folder.path().join("t/day-1.toml")).unwrap();
    // 50 m take 35 s at this pace, so 100 m are swum, and end where they began.
    let found = new(&["--pace", "1:10 / 100 m"]);
    assert_eq!(found["swim_s"], 70.0);
    assert!(day().contains("\"100 m\""), "{}", day());
    assert_eq!(new(&["--pace", "1:50 / 100 m"])["swim_s"], 55.0);
    let found = new(&["--pace", "1:10 / 100 m", "--swim", "50 m"]);
    let warnings = found["warnings"].to_string();
    assert!(
        warnings.contains("45 s or more find smaller differences"),
        "{warnings}"
    );
}

#[test]
fn a_seed_gives_the_same_trial_and_nothing_is_overwritten_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let read = |name: &str| std::fs::read(folder.path().join(name)).unwrap();
    ok(folder.path(), &NEW);
    let first = read("spring/day-2.toml");
    write(&folder.path().join("spring"), "log.csv", "filled in");
    std::fs::remove_file(folder.path().join("spring/day-2.toml")).unwrap();
    let why = refused(folder.path(), &NEW, 1);
    assert!(
        why.contains("is there already") && why.contains("--force"),
        "{why}"
    );
    assert_eq!(read("spring/log.csv"), b"filled in");
    assert!(
        !folder.path().join("spring/day-2.toml").exists(),
        "all or nothing"
    );
    ok(folder.path(), &[&NEW[..], &["--force"]].concat());
    assert_eq!(read("spring/day-2.toml"), first);
}

#[test]
fn what_is_no_trial_is_refused_with_what_would_do() {
    let folder = tempfile::tempdir().unwrap();
    let refuse = |args: &[&str], words: &[&str]| {
        let why = refused(
            folder.path(),
            &[&["trial", "new", "--out", "t"], args].concat(),
            2,
        );
        for word in words {
            assert!(why.contains(word), "{args:?}: {why}");
        }
        assert!(!folder.path().join("t").exists(), "{args:?}");
    };
    let with = ["--swimmer", "adult-learner"];
    refuse(
        &[],
        &["no stroke rate is known", "--stroke-rate \"54 spm\""],
    );
    refuse(&["--stroke-rate", "54"], &["\"54 spm\"", "\"54 cpm\""]);
    refuse(
        &["--stroke-rate", "54 spm"],
        &["neither pace nor stroke_length", "--pace"],
    );
    refuse(&[&with[..], &["--swim", "45 s"]].concat(), &["a distance"]);
    refuse(
        &[&with[..], &["--kick", "pull"]].concat(),
        &["there is no pairing"],
    );
    refuse(
        &[&with[..], &["--pairs", "7"]].concat(),
        &["an even number"],
    );
    refuse(
        &[&with[..], &["--pairs", "4", "--days", "3"]].concat(),
        &["fewer than 3 days"],
    );
    refuse(
        &[&with[..], &["--on", "2026-11-27"]].concat(),
        &["for 5 days"],
    );
    refuse(
        &[
            &with[..],
            &["--days", "2", "--on", "27.11.", "--on", "28.11."],
        ]
        .concat(),
        &["not a date"],
    );
    refuse(&[&with[..], &["--rest", "4 s"]].concat(), &["5 s"]);
    refuse(
        &[&with[..], &["--margin", "1"]].concat(),
        &["without its %", "--margin \"1 %\""],
    );
    refuse(
        &[&with[..], &["--margin", "20 %"]].concat(),
        &["0.1 % to 10 %"],
    );
    refuse(&[&with[..], &["--log", "none.csv"]].concat(), &["none.csv"]);
    refuse(&[&with[..], &["--days", "1"]].concat(), &["2..=10"]);
}

#[test]
fn faults_of_a_log_are_named_and_the_rest_is_used() {
    let folder = tempfile::tempdir().unwrap();
    let good = rows("spring", "yes", &by_time(&[-1.0; 7]));
    let broken = good.replacen("39.000 s", "39 spm", 1);
    write(folder.path(), "log.csv", format!("{HEADER}{broken}"));
    let output = run(folder.path(), &["trial", "read", "log.csv", "--json"]);
    let notes = String::from_utf8(output.stderr).unwrap();
    assert!(notes.contains("line 2 does not hold"), "{notes}");
    assert!(notes.contains("is in no pair"), "{notes}");
    let found = json(&String::from_utf8(output.stdout).unwrap());
    assert_eq!(found["time_s"]["n"], 6);

    // The second swim of the second pair: its neighbour waits for no other, the rest stays paired.
    let mut lines: Vec<String> = good.lines().map(String::from).collect();
    lines[3] = lines[3].replace("39.000 s", "fast");
    let bent = lines.join("\n");
    let output = {
        write(folder.path(), "log.csv", format!("{HEADER}{bent}"));
        run(folder.path(), &["trial", "read", "log.csv", "--json"])
    };
    let found = json(&String::from_utf8(output.stdout).unwrap());
    assert_eq!(found["pairs"], 6);
    let aside = found["set_aside"].as_array().unwrap();
    let aside: Vec<&Value> = aside.iter().map(|swim| &swim["line"]).collect();
    assert_eq!(aside, [4, 5]);

    // Faults without end do not bury the result.
    let faulty = good.replace("40.000 s", "40 spm").repeat(20);
    write(folder.path(), "log.csv", format!("{HEADER}{faulty}"));
    let output = run(folder.path(), &["trial", "read", "log.csv"]);
    let notes = String::from_utf8(output.stderr).unwrap();
    assert_eq!(notes.lines().count(), 21, "{notes}");
    assert!(notes.contains("more, all of them in --json"), "{notes}");

    let why = refused(folder.path(), &["trial", "read", "nothing.csv"], 2);
    assert!(why.contains("nothing.csv"), "{why}");
    write(
        folder.path(),
        "log.csv",
        format!("{HEADER}{}", rows("", "yes", &by_time(&[1.0; 6]))),
    );
    let why = refused(folder.path(), &["trial", "read", "log.csv"], 2);
    assert!(
        why.contains("no row of this log belongs to a trial"),
        "{why}"
    );
    // Where every row was refused, it is the rows that are to blame, and each says why.
    let refused_rows = good.replace("54 spm", "54");
    write(folder.path(), "log.csv", format!("{HEADER}{refused_rows}"));
    let why = refused(folder.path(), &["trial", "read", "log.csv"], 2);
    assert!(
        why.contains("14 lines left out") && !why.contains("belongs"),
        "{why}"
    );
    assert!(
        why.contains("log.csv:2: left out: rate_cued: found 54"),
        "{why}"
    );
    let two =
        rows("spring", "yes", &by_time(&[1.0; 6])) + &rows("autumn", "yes", &by_time(&[1.0; 6]));
    write(folder.path(), "log.csv", format!("{HEADER}{two}"));
    let why = refused(folder.path(), &["trial", "read", "log.csv"], 2);
    assert!(
        why.contains("\"spring\", \"autumn\"") && why.contains("--trial"),
        "{why}"
    );
    let why = refused(
        folder.path(),
        &["trial", "read", "log.csv", "--trial", "winter"],
        2,
    );
    assert!(why.contains("no trial \"winter\""), "{why}");
    ok(
        folder.path(),
        &["trial", "read", "log.csv", "--trial", "autumn"],
    );
}

#[test]
fn strokes_by_the_length_are_counted_over_the_swimmers_pool() {
    let folder = tempfile::tempdir().unwrap();
    write(
        folder.path(),
        "alex.toml",
        "name = \"Alex\"\npool = \"50 m\"\n",
    );
    let swim = |strokes: &str| ["40 s".to_string(), strokes.to_string(), "5".to_string()];
    let pairs = vec![[swim("22/length"), swim("24/length")]; 6];
    let found = read(folder.path(), &rows("spring", "yes", &pairs));
    assert_eq!(
        found["strokes"]["hodges_lehmann"], -4.0,
        "two lengths of 25 m"
    );
    for pool in [["--pool", "50 m"], ["--swimmer", "alex.toml"]] {
        let args = ["trial", "read", "log.csv", "--json", pool[0], pool[1]];
        let found = json(&ok(folder.path(), &args));
        assert_eq!(found["strokes"]["hodges_lehmann"], -2.0, "{pool:?}");
    }
}

#[test]
fn more_than_twenty_pairs_are_drawn_and_it_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let differences: Vec<f64> = (0..21).map(|n| 0.4 - f64::from(n % 5) / 10.0).collect();
    let found = read(
        folder.path(),
        &rows("spring", "yes", &by_time(&differences)),
    );
    assert_eq!(found["exact"], false);
    assert_eq!(found["verdict"], "opposite-side");
    let again = json(&ok(folder.path(), &["trial", "read", "log.csv", "--json"]));
    assert_eq!(found, again);
    let output = run(folder.path(), &["trial", "read", "log.csv"]);
    let notes = String::from_utf8(output.stderr).unwrap();
    assert!(
        notes.contains("99999 ways to set the signs were drawn"),
        "{notes}"
    );
}
