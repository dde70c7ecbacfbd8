//! Plans as whole commands: written, shown, exported, put into a calendar, drawn; and what a
//! person may write wrong.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::support::filmed::filmed_in_track;
use crate::support::{ok, python_script, refused, run, write};
use serde_json::Value;

const SWIMMER: &str = "name = \"Alex Example\"\npool = \"25 m\"\nrate = \"52 spm\"\npace = \"2:05 / 100 m\"\n\
    [player]\nchannels = \"mono\"\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "alex.toml", SWIMMER);
    folder
}

/// `plan new` for twelve weeks from 52 to 60 spm, with more flags.
fn new(folder: &Path, out: &str, more: &[&str]) -> String {
    let args = [
        "plan",
        "new",
        "--swimmer",
        "alex.toml",
        "--from",
        "52 spm",
        "--to",
        "60 spm",
        "--weeks",
        "12",
        "--days",
        "mon wed fri",
        "--start",
        "2027-03-01",
        "--out",
        out,
    ];
    ok(folder, &[&args, more].concat())
}

/// `plan export` of a week of it, with more flags.
fn export<'a>(week: &'a str, out: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let week = ["plan", "export", "plan.toml", "--week", week, "--out", out];
    [&week, more].concat()
}

fn show(folder: &Path, more: &[&str]) -> Value {
    let args = [&["plan", "show", "plan.toml", "--json"], more].concat();
    serde_json::from_str(&ok(folder, &args)).expect("JSON")
}

/// A log of some weeks at their planned rates, all well: `lines` of one day, three days a week.
fn log(weeks: usize, kept: &str) -> String {
    // To the path of the rules; by hand in src/model/plan/path.rs.
    let rates = [52.0, 53.0, 54.0, 54.0, 55.0, 56.0];
    let mut text = String::from("date,swimmer,distance,time,strokes,rate_cued,effort,kept,note\n");
    for (week, rate) in rates.iter().enumerate().take(weeks) {
        for day in [0, 2, 4] {
            let first: jiff::civil::Date = "2027-03-01".parse().expect("a date");
            let date = first.saturating_add(jiff::Span::new().days(7 * week as i64 + day));
            for repeat in 0..8_u32 {
                // 50 m in 25 m: a time that varies by a tenth, and the strokes that the rate gives.
                let time = 58.0 - 0.3 * week as f64 + 0.1 * f64::from((repeat + day as u32) % 3);
                // The third and the sixth are comparison swims, as fast as in week 1.
                let compares = week > 0 && (repeat == 2 || repeat == 5);
                let (cue, time) = if compares {
                    (52.0, time + 0.3 * week as f64)
                } else {
                    (*rate, time)
                };
                let strokes = cue * (time - 6.0) / 60.0;
                let cued = match (day, repeat) {
                    (0, 0) => String::new(),
                    _ => format!("{cue} spm"),
                };
                let _ = writeln!(
                    text,
                    "{date},Alex Example,50 m,{time:.1} s,{strokes:.1},{cued},5,{kept},"
                );
            }
        }
    }
    text
}

#[test]
fn a_new_plan_shows_the_path_of_the_rules() {
    let folder = folder();
    let said = new(folder.path(), "plan.toml", &[]);
    assert!(
        said.contains("52, 53, 54, 54, 55, 56, 57, 57, 58, 59, 60, 60") || said.contains("52,\n53"),
        "{said}"
    );
    let found = show(folder.path(), &["--today", "2027-02-01"]);
    let weeks = found["weeks"].as_array().expect("weeks");
    let rates: Vec<f64> = weeks
        .iter()
        .map(|week| week["rate_spm"].as_f64().expect("a rate"))
        .collect();
    // By hand: x 1.02 a week, the last half not above that, every fourth held, 60 at most.
    assert_eq!(
        rates,
        [
            52.0, 53.0, 54.0, 54.0, 55.0, 56.0, 57.0, 57.0, 58.0, 59.0, 60.0, 60.0
        ]
    );
    assert_eq!(weeks[0]["cued_percent"], 100.0);
    assert_eq!(weeks[11]["cued_percent"], 25.0);
    assert_eq!(found["today"]["state"], "not begun");
    assert!(
        weeks.iter().all(|week| week["verdict"].is_null()),
        "nothing is judged"
    );
    let text = ok(
        folder.path(),
        &["plan", "show", "plan.toml", "--today", "2027-02-01"],
    );
    assert!(text.contains("The plan has not begun"), "{text}");
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
}

#[test]
fn goals_dates_and_days_that_do_not_hold_are_refused_with_what_does() {
    let folder = folder();
    let good = [
        ("--swimmer", "alex.toml"),
        ("--from", "52 spm"),
        ("--to", "60 spm"),
        ("--weeks", "12"),
        ("--days", "mon wed fri"),
        ("--start", "2027-03-01"),
        ("--out", "plan.toml"),
    ];
    for (flag, value, words) in [
        ("--weeks", "10", "takes 11 weeks"),
        ("--from", "49 spm", "--confirm"),
        ("--from", "62 spm", "a way down"),
        ("--from", "52", "\"52 spm\""),
        ("--start", "01/03/2027", "YYYY-MM-DD"),
        ("--start", "01.03.2027", "YYYY-MM-DD"),
        ("--start", "2027-13-01", "a day that there is not"),
        ("--days", "mon wed mon", "found mon twice"),
        ("--days", "monday", "no day of the week"),
        ("--swimmer", "sam.toml", "sam.toml"),
    ] {
        let args: Vec<&str> =
            ["plan", "new"]
                .into_iter()
                .chain(good.iter().flat_map(|(known, usual)| {
                    [*known, if *known == flag { value } else { *usual }]
                }))
                .collect();
        let message = refused(folder.path(), &args, 2);
        assert!(message.contains(words), "{flag} {value}: {message}");
        assert!(!folder.path().join("plan.toml").exists());
    }
    let message = refused(folder.path(), &["plan", "new", "--out", "plan.toml"], 2);
    assert!(
        message.contains("--swimmer"),
        "without a terminal it says what it needs: {message}"
    );
    new(folder.path(), "plan.toml", &[]);
    refused(folder.path(), &["plan", "new", "--out", "plan.toml"], 1);
}

/// Twelve weeks from 9998-10-09 on end on 9998-12-31: 22 days of October, 30, 31.
#[test]
fn a_plan_that_runs_to_the_end_of_the_calendar_is_refused_with_the_limit() {
    let folder = folder();
    let here = folder.path();
    let plan = |start: &str| {
        let rates = [
            "--from",
            "52 spm",
            "--to",
            "60 spm",
            "--days",
            "mon wed fri",
        ];
        let args = ["plan", "new", "--swimmer", "alex.toml", "--weeks", "12"];
        let more = ["--start", start, "--out", "plan.toml", "--force"];
        run(here, &[&args[..], &rates, &more].concat())
    };
    for start in ["9998-10-10", "9999-12-01", "9999-12-31"] {
        let output = plan(start);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{start}: {said}");
        assert!(
            said.starts_with("error: --start: 12 weeks from 999"),
            "{said}"
        );
        assert!(said.contains("ends by 9998-12-31"), "{said}");
        assert!(!here.join("plan.toml").exists());
    }
    assert!(plan("9998-10-09").status.success());
    // Where every week is missed, the path moves on, week by week, to the last there is.
    let found = show(here, &["--today", "9999-12-31"]);
    let weeks = found["weeks"].as_array().expect("weeks");
    let firsts: BTreeSet<String> = (weeks.iter())
        .map(|week| week["starts"].to_string())
        .collect();
    assert_eq!(
        (weeks.len(), firsts.len()),
        (12 + 52, 12 + 52),
        "{firsts:?}"
    );
    let text = fs::read_to_string(here.join("plan.toml")).expect("a plan");
    write(here, "plan.toml", text.replace("9998-10-09", "9998-10-10"));
    for command in [
        &["show", "plan.toml"][..],
        &["calendar", "plan.toml", "--out", "plan.ics"],
        &["export", "plan.toml", "--out", "tracks"],
    ] {
        let said = refused(here, &[&["plan"], command].concat(), 2);
        assert!(said.starts_with("error: plan.toml:10:"), "{said}");
        assert!(
            said.contains("start: 12 weeks from 9998-10-10 end after"),
            "{said}"
        );
    }
}

#[test]
fn a_second_plan_for_the_same_swimmer_at_the_same_time_is_refused() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    let args = [
        "plan",
        "new",
        "--swimmer",
        "alex.toml",
        "--from",
        "56 spm",
        "--to",
        "60 spm",
        "--weeks",
        "6",
        "--days",
        "mon",
        "--start",
        "2027-05-23",
        "--out",
        "second.toml",
    ];
    let message = refused(folder.path(), &args, 2);
    assert!(
        message.contains("overlaps ./plan.toml") && message.contains("--start 2027-05-24"),
        "{message}"
    );
    let args: Vec<&str> = args
        .into_iter()
        .map(|arg| {
            if arg == "2027-05-23" {
                "2027-05-24"
            } else {
                arg
            }
        })
        .collect();
    ok(folder.path(), &args);
}

#[test]
fn a_log_in_which_all_is_well_goes_on_and_says_by_which_numbers() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    write(folder.path(), "log.csv", log(3, "yes"));
    let found = show(folder.path(), &["--today", "2027-03-22"]);
    for week in 0..3 {
        assert_eq!(
            found["weeks"][week]["verdict"], "go on",
            "{}",
            found["weeks"][week]
        );
    }
    assert!(found["weeks"][3]["verdict"].is_null());
    assert!(found["weeks"][1]["reasons"][0].is_string());
    assert_eq!(found["weeks"][3].get("reasons"), None);
    assert_eq!(found["today"]["week"], 4);
    assert_eq!(found["today"]["verdict"], "go on");
    assert_eq!(found["weeks"][2]["timing"], "kept");
    assert_eq!(
        found["weeks"][3].get("moved_rate_spm"),
        None,
        "nothing has moved"
    );
    // By hand: 50 m in 57.5 s, the middle of three.
    let speed = found["weeks"][2]["speed_m_s"]["value"]
        .as_f64()
        .expect("a speed");
    assert!((speed - 50.0 / 57.5).abs() < 0.002, "{speed}");
    let text = ok(
        folder.path(),
        &["plan", "show", "plan.toml", "--today", "2027-03-22"],
    );
    for words in [
        "After week 3: GO ON",
        "rate held: rate swum minus cued",
        "54 spm is the fastest rate so far: a loss of more than 0.7 % is",
        "what would change it",
        "Next: 54 spm",
    ] {
        assert!(
            text.replace("\n    ", " ").contains(words),
            "{words}: {text}"
        );
    }
    assert_eq!(
        text.matches("Shoulder pain").count(),
        1,
        "cautions come once"
    );
}

#[test]
fn without_kept_it_says_that_timing_was_not_measured_and_thins_no_cues() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    write(folder.path(), "log.csv", log(2, ""));
    let found = show(folder.path(), &["--today", "2027-03-15"]);
    assert_eq!(found["weeks"][1]["verdict"], "go on");
    assert_eq!(found["weeks"][1]["timing"], "not measured");
    assert_eq!(found["today"]["cued_percent"], 100.0);
    assert_eq!(found["weeks"][2]["moved_cued_percent"], 100.0);
    let text = ok(
        folder.path(),
        &["plan", "show", "plan.toml", "--today", "2027-03-15"],
    );
    assert!(text.contains("rate held, timing not measured"), "{text}");
}

#[test]
fn missed_weeks_and_illness_move_the_path_and_what_if_foretells_it() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    write(folder.path(), "log.csv", log(3, "yes"));
    let missed = show(folder.path(), &["--today", "2027-04-05"]);
    assert_eq!(missed["weeks"][3]["verdict"], "not enough swims");
    // Two weeks away from week 4's 54: one step down, 53.
    assert_eq!(missed["weeks"][5]["rate_spm"], 56.0);
    assert_eq!(missed["weeks"][5]["moved_rate_spm"], 53.0);
    let what_if = show(
        folder.path(),
        &["--today", "2027-03-22", "--what-if", "miss 2 weeks"],
    );
    assert_eq!(what_if["weeks"][5]["moved_rate_spm"], 53.0);
    assert_eq!(what_if["weeks"][3]["supposed"], true);
    assert!(
        what_if["today"]["goal_week"].as_u64() > missed["today"]["goal_week"].as_u64().map(|_| 11)
    );

    let ill = log(3, "yes").replace("5,yes,\n", "5,yes,flu\n");
    write(folder.path(), "ill.csv", ill);
    let ill = show(
        folder.path(),
        &["--today", "2027-03-08", "--log", "ill.csv"],
    );
    assert_eq!(ill["weeks"][0]["verdict"], "step back");
    for words in ["miss two weeks", "miss 0 weeks", "fly 2 weeks"] {
        let message = refused(
            folder.path(),
            &["plan", "show", "plan.toml", "--what-if", words],
            2,
        );
        assert!(message.contains("miss 2 weeks"), "{message}");
    }
}

#[test]
fn what_is_decided_is_written_at_the_end_of_the_plan_and_followed() {
    let folder = folder();
    let here = folder.path();
    new(here, "plan.toml", &[]);
    let before = fs::read_to_string(here.join("plan.toml")).expect("a plan");
    let early = [
        "plan",
        "decide",
        "plan.toml",
        "--keep",
        "--today",
        "2027-03-01",
    ];
    let message = refused(here, &early, 2);
    assert!(message.contains("no week is over yet"), "{message}");
    refused(here, &["plan", "decide", "plan.toml"], 2);
    refused(
        here,
        &["plan", "decide", "plan.toml", "--keep", "--go-on"],
        2,
    );
    write(here, "log.csv", log(3, "yes"));
    for (flag, lines) in [
        ("--keep", "week = 3\nkeep = \"54 spm\"\n"),
        ("--fastest", "week = 3\nkeep = \"54 spm\"\n"),
        ("--go-on", "week = 3\ngo_on = true\n"),
    ] {
        write(here, "plan.toml", before.clone());
        let args = ["plan", "decide", "plan.toml", flag, "--today", "2027-03-22"];
        let said = ok(here, &args);
        assert!(said.contains("After week 3"), "{said}");
        let after = fs::read_to_string(here.join("plan.toml")).expect("a plan");
        assert_eq!(after, format!("{before}\n[[decision]]\n{lines}"));
        let found = show(here, &["--today", "2027-03-22"]);
        let kept = found["weeks"][11]["moved_rate_spm"] == 54.0;
        assert_eq!(kept, flag != "--go-on", "{found}");
    }
}

#[test]
fn a_plan_of_the_time_before_keeps_its_path_and_is_told_which_rule_has_changed() {
    let folder = folder();
    let here = folder.path();
    let old = "swimmer = \"alex.toml\"\nfrom = \"52 spm\"\nto = \"60 spm\"\nweeks = 12\n\
               days = [\"mon\", \"wed\", \"fri\"]\nstart = \"2027-03-01\"\n\
               written = [\"52 spm\", \"53 spm\", \"54.1 spm\", \"54.1 spm\", \"55.2 spm\",\n\
               \"56.3 spm\", \"57.4 spm\", \"57.4 spm\", \"58.6 spm\", \"59.7 spm\", \"60 spm\",\n\
               \"60 spm\"]\n[rules]\nspeed_loss = \"1 %\"\neffort_weeks = 3\n";
    write(here, "plan.toml", old);
    let found = show(here, &["--today", "2027-02-01"]);
    assert_eq!(found["edited_from_week"], Value::Null);
    assert_eq!(found["weeks"][2]["rate_spm"], 54.1);
    let notes = found["notes"].to_string();
    assert!(
        notes.contains("unless a loss is more likely than not"),
        "{notes}"
    );
    write(here, "plan.toml", old.replace("effort_weeks = 3\n", ""));
    assert_eq!(
        show(here, &["--today", "2027-02-01"])["notes"],
        serde_json::json!([])
    );
}

#[test]
fn comparison_swims_stand_in_the_session_on_the_sheet_and_on_the_page() {
    let folder = folder();
    let here = folder.path();
    new(here, "plan.toml", &["--swim", "20 s"]);
    on_mondays(here);
    ok(here, &export("2", "tracks", &[]));
    let read = |name: &str| {
        let day = here.join("tracks/week-02-2027-03-08-mon");
        fs::read_to_string(day.join(name)).expect("written")
    };
    let session = read("session.toml");
    assert!(
        session.contains("{ rate = \"52 spm\", at = [2, 5] }"),
        "{session}"
    );
    let words: Vec<String> = (read("contents.txt").split_whitespace())
        .map(String::from)
        .collect();
    let sheet = words.join(" ");
    assert!(
        sheet.contains("repeats 2 and 5 at 52 spm for comparison"),
        "{sheet}"
    );
    assert!(sheet.contains("the same effort as the others"), "{sheet}");
    let page = [
        "plan",
        "report",
        "plan.toml",
        "--today",
        "2027-03-09",
        "--out",
        "alex.html",
    ];
    ok(here, &page);
    let page = fs::read_to_string(here.join("alex.html")).expect("the page");
    assert!(page.contains("for comparison") && page.contains("same effort as the others"));
    let said = new(here, "plan.toml", &["--no-compare", "--force"]);
    assert!(said.contains("Without comparison swims"), "{said}");
    ok(here, &export("2", "without", &[]));
    let without = here.join("without/week-02-2027-03-08-mon/session.toml");
    let without = fs::read_to_string(without).expect("written");
    assert!(!without.contains("at = ["), "{without}");
}

#[test]
fn logs_that_are_empty_or_anothers_are_told_apart() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    write(folder.path(), "log.csv", "date,swimmer,distance,time\n");
    let found = show(folder.path(), &["--today", "2027-03-16"]);
    assert_eq!(found["weeks"][0]["verdict"], "not enough swims");
    assert!(found["notes"].to_string().contains("no row yet"), "{found}");
    write(
        folder.path(),
        "sam.csv",
        log(2, "yes").replace("Alex Example", "Sam Sample"),
    );
    // A squad's log, in which this swimmer has no row yet, is no error.
    let found = show(
        folder.path(),
        &["--today", "2027-03-08", "--log", "sam.csv"],
    );
    let notes = found["notes"].to_string();
    assert!(
        notes.contains("no row is Alex Example's yet; found Sam Sample"),
        "{notes}"
    );
    write(
        folder.path(),
        "refused.csv",
        log(2, "yes").replace(",5,yes,", ",11,yes,"),
    );
    let found = show(
        folder.path(),
        &["--today", "2027-03-08", "--log", "refused.csv"],
    );
    let notes = found["notes"].to_string();
    assert!(
        notes.contains("no row of Alex Example that could be read")
            && !notes.contains("no row yet"),
        "{notes}"
    );
    // Every swim with half its strokes: their times still count.
    let halved = |line: &str| {
        let mut fields: Vec<String> = line.split(',').map(String::from).collect();
        if let Ok(strokes) = fields[4].parse::<f64>() {
            fields[4] = format!("{:.1}", strokes / 2.0);
        }
        fields.join(",")
    };
    let half: Vec<String> = log(2, "yes").lines().map(halved).collect();
    write(folder.path(), "half.csv", half.join("\n"));
    let slips = show(
        folder.path(),
        &["--today", "2027-03-08", "--log", "half.csv"],
    );
    assert!(
        slips["today"]["reasons"].to_string().contains("one arm"),
        "{slips}"
    );
    assert_eq!(slips["today"]["verdict"], "go on");
    write(
        folder.path(),
        "other.csv",
        log(2, "yes").replace(",52 spm", ",58 spm"),
    );
    let other = show(
        folder.path(),
        &["--today", "2027-03-08", "--log", "other.csv"],
    );
    assert_eq!(other["today"]["verdict"], "not enough swims");
    let reasons = other["today"]["reasons"].to_string();
    assert!(
        reasons.contains("23 swims set aside: cued at another rate"),
        "{reasons}"
    );
}

#[test]
fn a_plan_edited_midway_is_computed_anew_and_told() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    let text = fs::read_to_string(folder.path().join("plan.toml")).expect("a plan");
    write(
        folder.path(),
        "plan.toml",
        text.replace("hold_every = 4", "hold_every = 6"),
    );
    let found = show(folder.path(), &["--today", "2027-02-01"]);
    assert_eq!(found["edited_from_week"], 4);
    assert_eq!(found["weeks"][3]["rate_spm"], 55.0);
    assert!(found["notes"].to_string().contains("edited"), "{found}");
}

/// The tracks below a folder, by the names of their folders and their own, with their sizes.
fn tracks(folder: &Path) -> Vec<(String, u64)> {
    let mut found = Vec::new();
    let Ok(days) = fs::read_dir(folder) else {
        return found;
    };
    for day in days.flatten() {
        for file in fs::read_dir(day.path()).expect("a day's folder").flatten() {
            let name = format!(
                "{}/{}",
                day.file_name().to_string_lossy(),
                file.file_name().to_string_lossy()
            );
            found.push((name, file.metadata().expect("there").len()));
        }
    }
    found.sort();
    found
}

#[test]
fn a_week_is_exported_checked_and_left_alone_until_something_changes() {
    let folder = folder();
    new(
        folder.path(),
        "plan.toml",
        &["--repeats", "3", "--rest", "20 s"],
    );
    let exported = || -> Value {
        let args = export("5", "tracks", &["--json"]);
        serde_json::from_str(&ok(folder.path(), &args)).expect("JSON")
    };
    let changed = |found: &Value| -> Vec<bool> {
        let sessions = found["swimmers"][0]["sessions"]
            .as_array()
            .expect("sessions");
        sessions
            .iter()
            .map(|session| session["changed"] == true)
            .collect()
    };
    assert_eq!(changed(&exported()), [true; 3]);
    let names: Vec<String> = tracks(&folder.path().join("tracks"))
        .into_iter()
        .map(|(name, _)| name)
        .collect();
    assert!(
        names.contains(&"week-05-2027-03-29-mon/01-without-cues-50m.wav".into()),
        "{names:?}"
    );
    // The tenth day after week 4's Monday is a Thursday: Friday swims at week 4's rate.
    assert!(
        names.contains(&"week-05-2027-04-02-fri/01-without-cues-10-days-on-50m.wav".into()),
        "{names:?}"
    );
    for day in ["2027-03-29-mon", "2027-03-31-wed", "2027-04-02-fri"] {
        let day = format!("tracks/week-05-{day}");
        let session = format!("{day}/session.toml");
        let said = ok(
            folder.path(),
            &["check", &day, &session, "--swimmer", "alex.toml"],
        );
        assert!(said.contains("holds"), "{said}");
        // The session stands for itself: nobody's file changes it.
        let other = "name = \"Other\"\npool = \"50 m\"\npush_off = \"5 s\"\nlead = \"90 ms\"\n\
                     catch_after_entry = 0.4\nfirst_arm = \"right\"\nstroke_length = \"1.2 m/stroke\"\n";
        write(folder.path(), "other.toml", other);
        let events = |swimmer| {
            ok(
                folder.path(),
                &["show", &session, "--swimmer", swimmer, "--events"],
            )
        };
        assert_eq!(events("alex.toml"), events("other.toml"));
    }
    assert_eq!(changed(&exported()), [false; 3], "nothing has changed");
    let one = folder
        .path()
        .join("tracks/week-05-2027-03-31-wed/01-with-cues-3x50m.wav");
    fs::write(&one, "cut").expect("the test's own folder");
    assert_eq!(
        changed(&exported()),
        [false, true, false],
        "a cut track is written anew"
    );
    write(folder.path(), "alex.toml", SWIMMER.replace("2:05", "2:06"));
    assert_eq!(
        changed(&exported()),
        [true; 3],
        "another pace is another track"
    );
    let message = refused(folder.path(), &export("13", "tracks", &[]), 2);
    assert!(message.contains("a week from 1 to 12"), "{message}");
}

#[test]
fn as_many_cycles_are_heard_as_the_plan_says() {
    let folder = folder();
    new(folder.path(), "plan.toml", &["--repeats", "4"]);
    for (week, percent, day) in [
        (2, 93.2, "08-mon"),
        (7, 59.1, "04-12-mon"),
        (12, 25.0, "05-17-mon"),
    ] {
        let week = format!("{week}");
        ok(folder.path(), &export(&week, "tracks", &[]));
        let name = fs::read_dir(folder.path().join("tracks"))
            .expect("made")
            .flatten();
        let name = name.map(|day| day.file_name().to_string_lossy().into_owned());
        let name = name
            .into_iter()
            .find(|name| name.starts_with(&format!("week-{week:0>2}")) && name.ends_with(day));
        let session = format!("tracks/{}/session.toml", name.expect("a Monday"));
        let csv = ok(
            folder.path(),
            &["show", &session, "--swimmer", "alex.toml", "--events"],
        );
        // 50 m at 2:05 / 100 m are 62.5 s, 59.5 of them swimming; each arm is heard once a cycle.
        let shown: Value = serde_json::from_str(&ok(
            folder.path(),
            &["show", &session, "--swimmer", "alex.toml", "--json"],
        ))
        .expect("JSON");
        let rate = shown["sets"][1]["rate_spm"].as_f64().expect("a rate");
        let cycles = 59.5 * rate / 120.0;
        // The first repeat after the swim without cues is a comparison swim.
        let arms =
            |line: &&str| line.contains(",arm,left,2,2,") || line.contains(",arm,right,2,2,");
        let heard = csv.lines().filter(arms).count() as f64 / 2.0;
        assert!(
            (heard - cycles * percent / 100.0).abs() <= 1.0,
            "week {week}: {heard} of {cycles}"
        );
        assert!(
            !csv.contains(",arm,left,1,1,"),
            "the first swim of the week has no cues"
        );
    }
}

#[test]
fn packed_tracks_of_another_form_are_replaced_and_then_left_alone() {
    let folder = folder();
    new(
        folder.path(),
        "plan.toml",
        &["--repeats", "3", "--swim", "20 s"],
    );
    let export = || -> String { ok(folder.path(), &export("2", "tracks", &["--speech", "off"])) };
    export();
    let swimmer = SWIMMER.replace(
        "[player]\n",
        "[player]\nformat = \"flac\"\nswapped = true\n",
    );
    write(folder.path(), "alex.toml", swimmer);
    assert!(export().contains("3 sessions written"));
    let endings = |ending: &str| {
        let all = tracks(&folder.path().join("tracks"));
        all.iter()
            .filter(|(name, _)| name.ends_with(ending))
            .count()
    };
    assert_eq!((endings(".wav"), endings(".flac")), (0, 4));
    assert!(export().contains("3 unchanged"));
    write(folder.path(), "alex.toml", SWIMMER);
    export();
    assert_eq!((endings(".wav"), endings(".flac")), (4, 0));
}

/// One training day a week, for tests that need no more.
fn on_mondays(folder: &Path) {
    let plan = fs::read_to_string(folder.join("plan.toml")).expect("a plan");
    let others = ", \"wed\", \"fri\"";
    assert!(plan.contains(others), "{plan}");
    write(folder, "plan.toml", plan.replace(others, ""));
}

/// A mono WAV of a tone.
fn tone(path: &Path, hz: f64, seconds: f64) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 44_100,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut file = hound::WavWriter::create(path, spec).expect("the test's own folder");
    for n in 0..(seconds * 44_100.0) as u32 {
        let turns = f64::from(n) * hz / 44_100.0;
        let sample = (turns * std::f64::consts::TAU).sin() * 9000.0;
        file.write_sample(sample as i16).expect("room on the disk");
    }
    file.finalize().expect("room on the disk");
}

/// A sound that a person records anew keeps its name: the tracks in which it sounds do not stay.
#[test]
fn tracks_are_written_anew_when_an_own_sound_or_a_bed_has_changed_under_its_name() {
    let folder = folder();
    let here = folder.path();
    fs::create_dir(here.join("my")).expect("the test's own folder");
    tone(&here.join("my/kick-left.wav"), 500.0, 0.1);
    tone(&here.join("bed.wav"), 90.0, 2.0);
    write(
        here,
        "alex.toml",
        SWIMMER.replace("[player]", "sounds = \"my\"\n[player]"),
    );
    write(
        here,
        "own.toml",
        "bed = \"bed.wav\"\n[[set]]\nrepeats = 3\nswim = \"20 s\"\nrest = \"10 s\"\n\
         rate = \"+0 spm\"\ncues = [\"kick\"]\n",
    );
    new(here, "plan.toml", &["--session", "own.toml"]);
    on_mondays(here);
    let export = || ok(here, &export("2", "tracks", &["--speech", "off"]));
    let track = || {
        let all = tracks(&here.join("tracks"));
        // The first one has no cues.
        let wav = (all.iter()).find(|(name, _)| name.contains("/02-"));
        let (name, _) = wav.expect("a track");
        fs::read(here.join("tracks").join(name)).expect("a track")
    };
    assert!(export().contains("1 session written"));
    assert!(export().contains("0 sessions written (0 tracks, 0 bytes), 1 unchanged"));
    let changes: [(&str, &dyn Fn()); 3] = [
        ("a sound", &|| {
            tone(&here.join("my/kick-left.wav"), 400.0, 0.1)
        }),
        ("one more", &|| {
            tone(&here.join("my/kick-right.wav"), 700.0, 0.1)
        }),
        ("the bed", &|| tone(&here.join("bed.wav"), 130.0, 2.0)),
    ];
    for (what, change) in changes {
        let before = track();
        change();
        assert!(export().contains("1 session written"), "{what}");
        assert!(track() != before, "{what} is heard");
        assert!(export().contains("1 unchanged"), "{what}");
    }
}

/// The first is held up in its first day; the second would be done before it goes on.
#[cfg(unix)]
#[test]
fn a_second_plan_export_into_a_folder_is_refused_until_the_first_has_ended() {
    use crate::support::system::{ended, signal, wait_until};
    let folder = folder();
    let here = folder.path();
    new(here, "plan.toml", &["--repeats", "10", "--swim", "2:00"]);
    on_mondays(here);
    let mut first = crate::support::cuelane(here)
        .args(export("1", "tracks", &["--cores", "1"]))
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the program starts");
    let monday = here.join("tracks/week-01-2027-03-01-mon");
    wait_until(&mut first, || fs::read_dir(&monday).ok()?.next().map(drop));
    signal(&first, "STOP");
    let said = refused(here, &export("1", "tracks", &["--tidy", "--yes"]), 1);
    assert!(
        said.starts_with("error: tracks: another export is writing into this folder"),
        "{said}"
    );
    assert!(said.contains("accepted: another folder, or"), "{said}");
    let squad = "[[swimmer]]\nplan = \"plan.toml\"\nfolder = \"tracks\"\n";
    write(here, "squad.toml", squad);
    let said = refused(
        here,
        &["plan", "export", "--squad", "squad.toml", "--week", "1"],
        1,
    );
    assert!(said.contains("tracks: another export is writing"), "{said}");
    signal(&first, "CONT");
    let (code, said) = ended(first);
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.starts_with("Writing up to ") && said.contains("copying that to a player takes about"),
        "{said}"
    );
    let names: Vec<String> = (tracks(&here.join("tracks")).into_iter())
        .map(|(name, _)| name)
        .collect();
    assert!(!names.iter().any(|name| name.contains("/.")), "{names:?}");
    let session = monday.join("session.toml").display().to_string();
    let monday = monday.display().to_string();
    ok(
        here,
        &["check", &monday, &session, "--swimmer", "alex.toml"],
    );
    assert!(ok(here, &export("1", "tracks", &[])).contains("1 unchanged"));
}

#[test]
fn old_weeks_stay_until_tidy_is_told_to_clear_them() {
    let folder = folder();
    new(
        folder.path(),
        "plan.toml",
        &["--repeats", "3", "--swim", "20 s"],
    );
    let export = |more: &[&str]| {
        let args = [&["plan", "export", "plan.toml", "--out", "tracks"], more].concat();
        run(folder.path(), &args)
    };
    assert!(export(&["--week", "1"]).status.success());
    write(
        &folder.path().join("tracks/week-01-2027-03-01-mon"),
        "mine.txt",
        "a note",
    );
    assert!(export(&["--week", "2"]).status.success());
    let weeks = |number: &str| {
        let all = tracks(&folder.path().join("tracks"));
        all.iter()
            .filter(|(name, _)| name.starts_with(number))
            .count()
    };
    assert!(weeks("week-01") > 9);
    let asked = export(&["--week", "2", "--tidy"]);
    assert_eq!(asked.status.code(), Some(2), "no terminal to ask at");
    assert!(weeks("week-01") > 9);
    let cleared = export(&["--week", "2", "--tidy", "--yes"]);
    assert!(cleared.status.success());
    assert_eq!(weeks("week-01"), 1, "what is not ours stays");
    assert!(weeks("week-02") > 9);
}

#[test]
fn one_swimmers_error_does_not_stop_the_squad_and_the_exit_code_says_so() {
    let folder = folder();
    let short = ["--repeats", "3", "--swim", "20 s"];
    new(folder.path(), "plan.toml", &short);
    let squad = |broken: &str| {
        format!(
            "[[swimmer]]\nplan = \"plan.toml\"\nfolder = \"tracks/alex\"\n\
             [[swimmer]]\nplan = \"{broken}\"\nfolder = \"tracks/sam\"\n\
             [[swimmer]]\nplan = \"kim.toml\"\nfolder = \"tracks/kim\"\n"
        )
    };
    let plan = fs::read_to_string(folder.path().join("plan.toml")).expect("a plan");
    write(
        folder.path(),
        "kim-swims.toml",
        SWIMMER.replace("Alex", "Kim"),
    );
    write(
        folder.path(),
        "kim.toml",
        plan.replace("alex.toml", "kim-swims.toml"),
    );
    write(folder.path(), "squad.toml", squad("missing.toml"));
    let output = run(
        folder.path(),
        &["plan", "export", "--squad", "squad.toml", "--week", "1"],
    );
    let (said, noted) = (
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr),
    );
    assert_eq!(output.status.code(), Some(1), "{said}{noted}");
    assert!(noted.contains("missing.toml"), "{noted}");
    assert!(
        said.contains("Alex Example: 3 sessions") && said.contains("Kim Example: 3 sessions"),
        "{said}"
    );
    assert_eq!(
        tracks(&folder.path().join("tracks/kim")).len(),
        tracks(&folder.path().join("tracks/alex")).len()
    );
    // The same swimmer twice at one time.
    write(folder.path(), "squad.toml", squad("again.toml"));
    write(folder.path(), "again.toml", &plan);
    let output = run(
        folder.path(),
        &["plan", "export", "--squad", "squad.toml", "--week", "1"],
    );
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("overlaps"));
}

/// Whoever was handed a squad's file may not know where it writes.
#[test]
fn a_squads_folder_outside_its_own_is_said_before_anything_is_written() {
    let folder = folder();
    let club = folder.path().join("club");
    fs::create_dir_all(club.join("inside")).expect("the test's own folder");
    write(&club, "alex.toml", SWIMMER);
    new(&club, "plan.toml", &["--repeats", "3", "--swim", "20 s"]);
    on_mondays(&club);
    let outside = fs::canonicalize(folder.path())
        .expect("it is there")
        .join("elsewhere");
    let export = |plan: &str, to: &str| {
        let squad = format!("[[swimmer]]\nplan = \"{plan}\"\nfolder = {to:?}\n");
        write(&club, "squad.toml", squad);
        let args = [
            "plan",
            "export",
            "--squad",
            "club/squad.toml",
            "--week",
            "1",
        ];
        let output = run(folder.path(), &args);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        // How much a week is comes after it.
        let said = said
            .lines()
            .filter(|line| !line.starts_with("Writing up to "));
        let said: String = said.map(|line| format!("{line}\n")).collect();
        (output.status.code(), said)
    };
    for inside in ["tracks", "inside/../tracks", "inside/new", "../club/tracks"] {
        assert_eq!(
            export("plan.toml", inside),
            (Some(0), String::new()),
            "{inside}"
        );
    }
    let absolute = outside.display().to_string();
    let mut ways = vec![
        "../elsewhere",
        "inside/../../elsewhere",
        "not-there/../../elsewhere",
        &absolute,
    ];
    if cfg!(unix) {
        #[cfg(unix)]
        std::os::unix::fs::symlink("..", club.join("inside/up")).expect("the test's own folder");
        ways.push("inside/up/../elsewhere");
    }
    for way in ways {
        // A plan that is not there: nothing is written, and it is said all the same.
        let (code, said) = export("missing.toml", way);
        assert_eq!(code, Some(1), "{way}: {said}");
        let wanted = format!("plan.toml go to {absolute}, outside the squad's own folder");
        let wanted = wanted.replace("plan.toml", "missing.toml");
        assert!(said.starts_with("note: "), "{way}: {said}");
        assert!(
            said.contains(&wanted) && said.contains("squad.toml:1:"),
            "{way}: {said}"
        );
        assert!(!outside.exists(), "{way}");
    }
    let (code, said) = export("plan.toml", "../elsewhere");
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("outside the squad's own folder"), "{said}");
    assert!(outside.join("week-01-2027-03-01-mon").exists());
    // One folder by two names.
    write(
        &club,
        "squad.toml",
        "[[swimmer]]\nplan = \"plan.toml\"\nfolder = \"tracks\"\n\
         [[swimmer]]\nplan = \"kim.toml\"\nfolder = \"inside/../tracks\"\n",
    );
    let said = refused(&club, &["plan", "export", "--squad", "squad.toml"], 2);
    assert!(
        said.contains("found the folder \"inside/../tracks\" again"),
        "{said}"
    );
}

#[test]
fn many_at_once_and_one_at_a_time_give_the_same_bytes() {
    let folder = folder();
    new(
        folder.path(),
        "plan.toml",
        &["--repeats", "3", "--swim", "20 s"],
    );
    for (cores, out) in [("1", "one"), ("4", "four")] {
        ok(folder.path(), &export("4", out, &["--cores", cores]));
    }
    let read = |out: &str| -> Vec<(String, Vec<u8>)> {
        let top = folder.path().join(out);
        (tracks(&top).into_iter())
            .map(|(name, _)| (name.clone(), fs::read(top.join(&name)).expect("there")))
            .collect()
    };
    assert!(read("one") == read("four") && read("one").len() > 9);
}

#[test]
fn a_session_that_the_plan_names_and_that_is_not_there_is_named() {
    let folder = folder();
    write(
        folder.path(),
        "own.toml",
        "[[set]]\nrepeats = 4\nswim = \"25 m\"\nrest = \"20 s\"\nrate = \"-1 spm\"\n",
    );
    new(folder.path(), "plan.toml", &["--session", "own.toml"]);
    ok(folder.path(), &export("2", "tracks", &[]));
    let session = fs::read_to_string(
        folder
            .path()
            .join("tracks/week-02-2027-03-08-mon/session.toml"),
    );
    let session = session.expect("written");
    // However wide the column of keys is.
    let words: Vec<&str> = session.split_whitespace().collect();
    let lines = words.join(" ");
    assert!(
        lines.contains("rate = \"52 spm\"") && lines.contains("swim = \"25 m\""),
        "{session}"
    );
    fs::remove_file(folder.path().join("own.toml")).expect("it is there");
    let message = refused(folder.path(), &export("2", "tracks", &[]), 2);
    assert!(
        message.contains("sessions: there is no file") && message.contains("own.toml"),
        "{message}"
    );
}

/// Reads a calendar by a library that is not ours.
fn calendar(file: &Path, zone: &str) -> Value {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/plan/read_ics.py");
    // Debian's icalendar belongs to the system's own Python.
    let python = ["python3", "/usr/bin/python3", "python"]
        .into_iter()
        .find(|python| {
            let import = std::process::Command::new(python)
                .args(["-c", "import icalendar"])
                .output();
            import.is_ok_and(|output| output.status.success())
        });
    let python = python.expect("the tests need Python's icalendar: .ci/setup test installs it");
    let mut command = std::process::Command::new(python);
    command.arg(script).arg(file);
    if !zone.is_empty() {
        command.arg(zone);
    }
    let output = command.output().expect("Python starts");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("the script prints JSON")
}

#[test]
fn the_calendar_is_read_by_another_reader_and_the_clocks_may_change() {
    let folder = folder();
    new(folder.path(), "plan.toml", &["--time", "18:30"]);
    let file = folder.path().join("alex.ics");
    let make = |more: &[&str]| {
        let args = [
            &["plan", "calendar", "plan.toml", "--out", "alex.ics"],
            more,
        ]
        .concat();
        ok(folder.path(), &args);
    };
    make(&["--zone", "Europe/Berlin"]);
    let found = calendar(&file, "Europe/Berlin");
    assert_eq!(found["version"], "2.0");
    assert_eq!(found["prodid"], true);
    assert_eq!(found["bare_line_feeds"], 0, "RFC 5545: CRLF");
    assert!(
        found["longest_line"].as_u64().expect("a length") <= 75,
        "RFC 5545: folded"
    );
    let entries = found["entries"].as_array().expect("entries");
    assert_eq!(entries.len(), 36);
    // Central European summer time begins on 2027-03-28: 18:30 stays 18:30 on either side.
    for (at, start) in [
        (0, "2027-03-01T18:30:00"),
        (11, "2027-03-26T18:30:00"),
        (12, "2027-03-29T18:30:00"),
    ] {
        assert_eq!(entries[at]["start"], start);
        assert_eq!(entries[at]["has_zone"], true);
    }
    let utc = calendar(&file, "UTC");
    assert_eq!(utc["entries"][11]["start"], "2027-03-26T17:30:00");
    assert_eq!(utc["entries"][12]["start"], "2027-03-29T16:30:00");
    let first = &entries[0];
    assert_eq!(
        first["summary"],
        "Alex Example: Week 1, mon 2027-03-01, 52 spm"
    );
    assert_eq!(first["alarms_s"][0], -3600.0);
    assert!(
        first["description"]
            .as_str()
            .expect("text")
            .contains("With cues: 7 x 50 m, 30 s rest, 52 spm, arm, kick"),
        "{first}"
    );
    // By hand: 8 swims of 62.5 s, 7 rests of 30 s, 60 s before and 3 after: 773 s, 13 minutes.
    assert_eq!(first["length_s"], 780.0);
    let uids = |found: &Value| -> Vec<String> {
        let entries = found["entries"].as_array().expect("entries");
        entries
            .iter()
            .map(|entry| entry["uid"].as_str().expect("a uid").into())
            .collect()
    };
    let before = uids(&found);
    assert_eq!(before.iter().collect::<BTreeSet<_>>().len(), 36);
    let text = fs::read_to_string(folder.path().join("plan.toml")).expect("a plan");
    write(
        folder.path(),
        "plan.toml",
        text.replace("step_share = \"2 %\"", "step_share = \"4 %\""),
    );
    make(&[]);
    let again = calendar(&file, "");
    assert_eq!(uids(&again), before, "the same entries, with another rate");
    assert_eq!(again["entries"][12]["start"], "2027-03-29T18:30:00");
    assert_eq!(again["entries"][12]["has_zone"], false, "local time");
    assert_ne!(again["entries"][4]["summary"], entries[4]["summary"]);
}

#[test]
fn the_athletes_page_opens_in_a_browser_whole_and_asks_for_nothing() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    write(folder.path(), "log.csv", log(5, "yes"));
    ok(
        folder.path(),
        &[
            "plan",
            "report",
            "plan.toml",
            "--today",
            "2027-04-05",
            "--out",
            "alex.html",
        ],
    );
    let page = folder.path().join("alex.html");
    let picture = match std::env::var_os("CUELANE_PICTURES") {
        Some(kept) => PathBuf::from(kept).join("plan-report.png"),
        None => folder.path().join("plan-report.png"),
    };
    let [page, picture] = [&page, &picture].map(|path| path.to_str().expect("an ASCII path"));
    let found: Value =
        serde_json::from_str(&python_script("plan/open_page.py", &[page, picture])).expect("JSON");
    assert_eq!(
        found["headings"],
        serde_json::json!(["Today", "This week", "All weeks", "Cautions"])
    );
    assert_eq!(found["verdict"], "Week 5: go on");
    assert_eq!(found["days"].as_array().expect("days").len(), 3);
    assert_eq!(found["sets"], serde_json::json!([2, 1, 1]));
    assert_eq!(found["requests"], 0);
    assert_eq!(
        found["complaints"],
        serde_json::json!([]),
        "the browser complains of nothing"
    );
    assert_eq!(found["overflow"], 0, "nothing sticks out");
    let texts = found["texts"].to_string();
    for words in [
        "rate, strokes/min",
        "speed, m/s",
        "distance per stroke, m",
        "effort, 0 to 10",
        "cycles with cues, %",
    ] {
        assert!(texts.contains(words), "{words}: {texts}");
    }
    assert!(found["chart"][0].as_f64() > Some(600.0) && found["chart"][1].as_f64() > Some(600.0));
    ok(
        folder.path(),
        &[
            "plan",
            "chart",
            "plan.toml",
            "--today",
            "2027-04-05",
            "--out",
            "weeks.svg",
        ],
    );
    let svg = fs::read_to_string(folder.path().join("weeks.svg")).expect("the picture");
    assert!(svg.starts_with("<svg") && svg.contains("rate, strokes/min"));
}

fn keys_of(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| {
            keys.insert(key.clone());
            keys_of(value, keys);
        }),
        Value::Array(items) => items.iter().for_each(|item| keys_of(item, keys)),
        _ => {}
    }
}

#[test]
fn every_json_key_and_every_key_of_the_files_is_on_the_page() {
    let folder = folder();
    new(
        folder.path(),
        "plan.toml",
        &["--repeats", "3", "--swim", "20 s"],
    );
    write(folder.path(), "log.csv", log(3, ""));
    let mut keys = BTreeSet::new();
    let what_if = ["--today", "2027-03-30", "--what-if", "miss 2 weeks"];
    keys_of(&show(folder.path(), &what_if), &mut keys);
    let broken = "[[swimmer]]\nplan = \"plan.toml\"\nfolder = \"a\"\n[[swimmer]]\nplan = \"b.toml\"\nfolder = \"b\"\n";
    write(folder.path(), "squad.toml", broken);
    let args = [
        "plan",
        "export",
        "--squad",
        "squad.toml",
        "--week",
        "1",
        "--json",
    ];
    let output = run(folder.path(), &args);
    keys_of(
        &serde_json::from_slice(&output.stdout).expect("JSON"),
        &mut keys,
    );
    assert!(keys.len() > 40, "{keys:?}");
    let plan = "swimmer = \"alex.toml\"\nfrom = \"52 spm\"\nto = \"52 spm\"\nweeks = 1\n\
                days = [\"mon\"]\nstart = \"2027-03-01\"\n";
    let (show, export) = (
        &["plan", "show", "keys.toml"][..],
        &["plan", "export", "--squad", "keys.toml"][..],
    );
    for (args, text) in [
        (show, String::new()),
        (show, format!("{plan}[session]\n")),
        (show, format!("{plan}[rules]\n")),
        (export, String::new()),
        (export, "[[swimmer]]\n".into()),
    ] {
        write(folder.path(), "keys.toml", format!("{text}nonsense = 1\n"));
        let message = refused(folder.path(), args, 2);
        let accepted = (message.lines()).find_map(|line| line.strip_prefix("accepted: "));
        keys.extend(accepted.expect("keys").split(", ").map(String::from));
    }
    let page = crate::support::page::all_pages();
    let (blocks, prose) = crate::support::page::blocks(&page);
    let told: BTreeSet<&str> = crate::support::page::quoted(&prose).into_iter().collect();
    let plan = blocks
        .iter()
        .any(|block| block.text.contains("uncued_after_days"));
    assert!(plan, "an example of a plan");
    for key in keys {
        let header = format!("[{key}]");
        let in_block = blocks.iter().any(|block| {
            block.text.lines().any(|line| line.starts_with(&header))
                || (block.text.lines()).any(|line| {
                    line.split('=')
                        .next()
                        .is_some_and(|name| name.trim() == key)
                })
        });
        assert!(
            told.contains(key.as_str()) || in_block,
            "the page does not name {key}"
        );
    }
}

#[cfg(unix)]
#[test]
fn without_flags_plan_new_asks_at_the_terminal() {
    let folder = folder();
    let [swimmer, out] = ["alex.toml", "plan.toml"].map(|name| folder.path().join(name));
    let [swimmer, out] = [&swimmer, &out].map(|path| path.to_str().expect("an ASCII path"));
    // The question says the unit of a rate.
    let answers = format!("{swimmer}|fast|52|60 spm|12|mon wed fri|1.3.2027|2027-03-01");
    let program = env!("CARGO_BIN_EXE_cuelane");
    let said = python_script(
        "answers.py",
        &[&answers, program, "plan", "new", "--out", out],
    );
    assert!(
        said.trim_end().ends_with("\n0") && said.contains("60 spm in 12 weeks"),
        "{said}"
    );
    let found = show(folder.path(), &["--today", "2027-02-01"]);
    assert_eq!(found["weeks"][4]["rate_spm"], 55.0);

    // A first day that is left open is next Monday.
    let folder = self::folder();
    let [swimmer, out] = ["alex.toml", "plan.toml"].map(|name| folder.path().join(name));
    let [swimmer, out] = [&swimmer, &out].map(|path| path.to_str().expect("an ASCII path"));
    let answers = format!("{swimmer}|52|60|12|mon wed fri|");
    python_script(
        "answers.py",
        &[&answers, program, "plan", "new", "--out", out],
    );
    let found = show(folder.path(), &[]);
    let start = found["start"].as_str().expect("a date");
    let start: jiff::civil::Date = start.parse().expect("a date");
    assert_eq!(start.weekday(), jiff::civil::Weekday::Monday);
    let today = jiff::ZonedDateTime::now().date();
    let days = today.until(start).expect("near").get_days();
    assert!((0..=7).contains(&days), "{today} to {start}");
}

#[test]
fn a_film_of_the_week_counts_in_place_of_kept() {
    let folder = folder();
    new(folder.path(), "plan.toml", &[]);
    write(folder.path(), "log.csv", log(1, ""));
    // Cycles of 2.3 s; each foot is lowest 0.7 s after its own hand's entry, a little off each time.
    let film = |off: f64| {
        let mut text = String::from("time,event\n");
        for cycle in 0..10 {
            let start = 2.3 * f64::from(cycle);
            let wave = off * [1.0, -1.0, 0.5, -0.5, 0.0][cycle as usize % 5];
            for (event, at) in [
                ("left_entry", 0.0),
                ("left_kick", 0.7 + wave),
                ("right_entry", 1.15),
                ("right_kick", 1.85 - wave),
            ] {
                let _ = writeln!(text, "{:.3},{event}", start + at);
            }
        }
        text
    };
    write(folder.path(), "steady.csv", film(0.02));
    write(folder.path(), "loose.csv", film(0.6));
    // 70 ms later with each cycle: it scatters no more than a steady kick may, and keeps no place.
    let mut later = film(0.0);
    for cycle in 0..10 {
        for (foot, at) in [("left", 0.7), ("right", 1.85)] {
            let (was_s, cycle) = (2.3 * f64::from(cycle) + at, f64::from(cycle));
            let line = |at_s: f64| format!("\n{at_s:.3},{foot}_kick");
            later = later.replace(&line(was_s), &line(was_s + 0.07 * cycle));
        }
    }
    write(folder.path(), "later.csv", later);
    for (file, timing, share) in [
        ("steady.csv", "kept", 93.2),
        ("loose.csv", "not kept", 100.0),
        ("later.csv", "not kept", 100.0),
    ] {
        let marks = format!("1={file}");
        let found = show(folder.path(), &["--today", "2027-03-08", "--marks", &marks]);
        let week = &found["weeks"][0];
        assert_eq!(week["timing"], timing, "{week}");
        assert_eq!(found["today"]["cued_percent"], share, "{week}");
        assert!(week["kick_scatter_ms"].as_f64() > Some(5.0), "{week}");
        let doubted = found["notes"]
            .to_string()
            .contains("Film of week 1: The kick does not stay");
        assert_eq!(doubted, timing == "not kept", "{found}");
        let steady = week["kick_scatter_deg"].as_f64() < Some(45.0);
        assert_eq!(steady, file != "loose.csv", "{week}");
    }
    // The athlete's page sets the first film beside the last.
    let films = [
        "--marks",
        "1=loose.csv",
        "--marks",
        "2=steady.csv",
        "--out",
        "page.html",
    ];
    ok(
        folder.path(),
        &[&["plan", "report", "plan.toml"], &films[..]].concat(),
    );
    let page = std::fs::read_to_string(folder.path().join("page.html")).expect("a page");
    assert!(
        page.contains("First film beside last: in week 1 the kick scattered by "),
        "{page}"
    );
    let message = refused(
        folder.path(),
        &["plan", "show", "plan.toml", "--marks", "steady.csv"],
        2,
    );
    assert!(message.contains("--marks 5="), "{message}");
}

/// Two films of cued swims: the first with silences, in which the kick goes on later, the last one
/// sounds throughout.
#[test]
fn the_first_film_stands_beside_the_last_with_sound_and_in_silence() {
    let folder = folder();
    let here = folder.path();
    new(here, "plan.toml", &[]);
    write(here, "log.csv", log(3, ""));
    let set = "[[set]]\nswim = \"60 s\"\nrate = \"60 spm\"\npairing = \"same-side\"\n\
               catch_after_entry = 0.3\nright_entry = 0.5\n";
    write(
        here,
        "first.toml",
        format!("{set}fade = {{ on = 4, off = 4 }}\n"),
    );
    write(here, "last.toml", set);
    let silent = |cycle: u32| f64::from(u32::saturating_sub(cycle % 8, 3));
    write(
        here,
        "first.csv",
        filmed_in_track("locked", |cycle| 0.06 + 0.01 * silent(cycle)),
    );
    write(here, "last.csv", filmed_in_track("locked", |_| 0.02));
    write(
        here,
        "bare.csv",
        filmed_in_track("", |_| 0.02).replacen(",60", ",", 1),
    );
    let films = ["--marks", "1=first.csv", "--marks", "3=last.csv"];
    let cued = ["--session", "1=first.toml", "--session", "3=last.toml"];
    let today = ["--today", "2027-03-22"];
    let found = show(here, &[&today[..], &films, &cued].concat());
    let lag = |week: usize, which: &str| found["weeks"][week][which]["lag_ms"]["value"].clone();
    assert_eq!(lag(0, "feet_with_sound"), 60.0);
    // The mean of 70, 80, 90 and 100 ms.
    assert_eq!(lag(0, "feet_without_sound"), 85.0);
    assert_eq!(lag(2, "feet_with_sound"), 20.0);
    assert!(lag(2, "feet_without_sound").is_null(), "{found}");
    let report = ["plan", "report", "plan.toml", "--out", "page.html"];
    ok(here, &[&report[..], &films, &cued].concat());
    let page = fs::read_to_string(here.join("page.html")).expect("a page");
    for due in [
        "<li>Feet with sound: in week 1 60 ms behind the cue (+60 to +60), left +60 ms, right +60 ms, \
         scatter 0 ms; in week 3 20 ms behind the cue (+20 to +20), left +20 ms, right +20 ms, scatter \
         0 ms.</li>",
        "<li>Feet in silence: in week 1 85 ms behind the cue (",
    ] {
        assert!(page.contains(due), "no {due} in\n{page}");
    }
    // Where the place in the track is not known, nobody knows which cycles sounded.
    write(here, "cycles.csv", filmed_in_track("cycles", |_| 0.02));
    let unknown = ["--marks", "1=cycles.csv", "--session", "1=first.toml"];
    let notes = show(here, &[&today[..], &unknown].concat())["notes"].to_string();
    let due = "Film of week 1: which of its cycles sounded is not known.";
    assert!(notes.contains(due), "{notes}");
    let due = "Film of week 1: The marks do not say among which cues their place was found";
    assert!(notes.contains(due), "{notes}");
    // A film that was marked among other cues than those of its session is not measured.
    let known = filmed_in_track("locked", |_| 0.02).replacen(",60", ",60,abcdefghijklmnop", 1);
    let known = known.replacen("track_s_at_film_0", "track_s_at_film_0,sync_cues", 1);
    write(here, "known.csv", known.replace(",\n", ",,\n"));
    for (more, why) in [
        (
            ["--marks", "1=first.csv", "--session", "first.toml"],
            "--session 5=evening.toml",
        ),
        (
            ["--marks", "1=first.csv", "--session", "3=last.toml"],
            "week 3 has no film",
        ),
        (
            ["--marks", "1=bare.csv", "--session", "1=last.toml"],
            "nothing says when a cue",
        ),
        (
            ["--marks", "1=known.csv", "--session", "1=first.toml"],
            "known.csv: sync_cues: found abcdefghijklmnop: these are not the cues of first.toml",
        ),
        (
            ["--marks", "1=known.csv", "--session", "1=last.toml"],
            "cuelane mark --film clip.mp4 --session last.toml --swimmer",
        ),
    ] {
        let message = refused(here, &[&report[..], &more].concat(), 2);
        assert!(message.contains(why), "{message}");
    }
}
