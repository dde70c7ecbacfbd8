//! Pictures and sheets are looked at in a browser: no text runs into another or leaves its page, for
//! short sessions and long ones. And the sheets of a poster as files.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use crate::support::{ok, python_script, refused, run, write};
use cuelane::model::visible::is_obeyed;
use serde_json::Value;

/// A name without a space, and words of the widest letters.
const UNBROKEN: &str = "Wolfeschlegelsteinhausenbergerdorff";
const WIDE: &str = "WWWWWWWW MMMM @@ Щука 長い ";

/// A session of so many short sets, of every pairing and kick.
fn session(sets: usize, title: &str) -> String {
    let mut text = format!(
        "title = \"{title}\"\nopening = false\n[defaults]\nrate = \"54 spm\"\npace = \"2:05 / 100 m\"\n\
         rest = \"5 s\"\npush_off = \"0 s\"\n"
    );
    for set in 0..sets {
        let pairing = ["same-side", "opposite-side"][set % 2];
        let kick = ["two-beat", "six-beat", "four-beat", "pull"][set % 4];
        let _ = write!(
            text,
            "[[set]]\nname = \"Settle {set}\"\nswim = \"4 s\"\npairing = \"{pairing}\"\nkick = \"{kick}\"\n"
        );
    }
    text
}

/// Every line of a set as long as it comes.
fn long_words() -> String {
    let mut text = format!(
        "title = \"{}\"\n[defaults]\npace = \"2:05 / 100 m\"\n",
        WIDE.repeat(30)
    );
    for (name, by) in [(WIDE.repeat(30), "time"), (UNBROKEN.repeat(20), "repeat")] {
        let _ = write!(
            text,
            "[[set]]\nname = \"{name}\"\nrepeats = 20\nswim = \"33 1/3 m\"\npool = \"33 1/3 m\"\nrest = \"10:59\"\n\
             rate = {{ from = \"52.25 spm\", to = \"159.75 spm\", by = \"{by}\" }}\n\
             pairing = \"opposite-side\"\nkick = \"four-beat\"\ncues = [\"arm\", \"kick\", \"fill\", \"breath\", \"wall\"]\n\
             breath = {{ every = 4, side = \"left\" }}\nlead = {{ arm = \"-12.5 ms\", kick = \"40.25 ms\" }}\n\
             walls = \"pause\"\nfade = {{ on = 100000, off = 100000, per = \"length\" }}\n"
        );
    }
    text
}

/// Feet that kick at one moment, hands that enter beside the ring, a cycle of 12 s.
const CROWDED: &str = "[defaults]\nrate = \"54 spm\"\npace = \"2:05 / 100 m\"\n\
    [[set]]\nswim = \"50 m\"\nright_entry = 0.35\ncatch_after_entry = { left = 0.5, right = 0.15 }\nkick = \"six-beat\"\n\
    [[set]]\nswim = \"50 m\"\nright_entry = 0.65\ncatch_after_entry = { left = 0.1, right = 0.5 }\nrate = \"10 spm\"\n\
    pairing = \"opposite-side\"\n";

/// The longest session there may be: 12 h less the track's last 3 s, in swims of 5 min.
const LONGEST: &str = "title = \"Twelve hours\"\nlead_in = \"57 s\"\n\
    [[set]]\nname = \"On and on\"\nrepeats = 143\nswim = \"4:50\"\nsend_off = \"5:00\"\nrate = \"54 spm\"\n\
    rest_after = \"10 s\"\n[[set]]\nname = \"To the end\"\nswim = \"4:00\"\nrate = \"54 spm\"\n";

fn swimmer(name: &str) -> String {
    format!("name = \"{name}\"\npool = \"25 m\"\nrate = \"52 spm\"\npace = \"2:05 / 100 m\"\n")
}

/// The posters of sessions short and long; gives the names of their sheets.
fn posters(at: &Path) -> Vec<String> {
    let mut sheets = Vec::new();
    let cases = [
        ("one", session(1, "Evening"), 1),
        ("eight", session(8, "Evening"), 1),
        ("ten", session(10, "Evening"), 2),
        ("eleven", session(11, "Evening"), 2),
        ("forty", session(40, "Evening"), 5),
        ("hundreds", session(300, &WIDE.repeat(3)), 28),
        ("words", long_words(), 1),
        ("crowded", CROWDED.to_string(), 1),
        ("longest", LONGEST.to_string(), 1),
    ];
    write(at, "sam.toml", swimmer("Sam Example"));
    write(at, "long.toml", swimmer(&WIDE.repeat(30)));
    for (name, session, count) in cases {
        write(at, &format!("{name}.toml"), session);
        let (file, poster) = (format!("{name}.toml"), format!("{name}.svg"));
        let swimmer = if name == "words" {
            "long.toml"
        } else {
            "sam.toml"
        };
        ok(at, &["show", &file, "--swimmer", swimmer, "--svg", &poster]);
        let further = (2..=count).map(|number| format!("{name}-{number}.svg"));
        let names: Vec<String> = [poster].into_iter().chain(further).collect();
        assert!(!at.join(format!("{name}-{}.svg", count + 1)).exists());
        let texts: String = (names.iter())
            .map(|name| fs::read_to_string(at.join(name)).expect(name))
            .collect();
        for set in 0..session_sets(at, &file) {
            let heading = format!("\"bold\">{} ", set + 1);
            assert_eq!(
                texts.matches(&heading).count(),
                1,
                "{name}: set {}",
                set + 1
            );
        }
        for name in &names {
            let text = fs::read_to_string(at.join(name)).expect(name);
            assert!(text.contains("Open water: never alone."), "{name}");
        }
        sheets.extend(names);
    }
    sheets
}

fn session_sets(at: &Path, file: &str) -> usize {
    let text = fs::read_to_string(at.join(file)).expect(file);
    text.matches("[[set]]").count()
}

/// Charts of logs, step tests, films; gives their names.
fn charts(at: &Path) -> Vec<String> {
    let row = |day: i64, time: &str| {
        let first: jiff::civil::Date = "2004-01-01".parse().expect("a date");
        let date = first.saturating_add(jiff::Span::new().days(day));
        let pairing = ["same-side", "opposite-side", ""][day as usize % 3];
        format!(
            "{date},{WIDE},50 m,{time},{},54 spm,{pairing},{}\n",
            40 + day % 6,
            day % 10
        )
    };
    let head = "date,swimmer,distance,time,strokes,rate_cued,pairing,effort\n";
    let logs = [
        ("one-row", row(0, "48.1 s")),
        ("week", (0..7).map(|day| row(day, "48.1 s")).collect()),
        (
            "years",
            (0..400).map(|day| row(day * 20, "47.3 s")).collect(),
        ),
        // A slip of the pen, in a log that is drawn all the same.
        (
            "slip",
            row(0, "48.1 s") + &row(5, "0.0001 s") + &row(800, "9:59:59"),
        ),
    ];
    let mut names = Vec::new();
    for (name, rows) in logs {
        let log = format!("{name}.csv");
        write(at, &log, format!("{head}{rows}"));
        for (flag, out) in [
            (None, format!("log-{name}.svg")),
            (Some("--by-week"), format!("weeks-{name}.svg")),
        ] {
            let args = ["log", "chart", "--log", &log, "--out", &out];
            ok(at, &args.into_iter().chain(flag).collect::<Vec<_>>());
            names.push(out);
        }
    }
    let even: String = (0..10)
        .map(|step| {
            format!(
                "{},{:.3}\n",
                46 + 2 * step,
                1.0 + 0.03 * f64::from(step) - 0.004 * f64::from(step * step)
            )
        })
        .collect();
    for (name, rows) in [
        ("bend", even.as_str()),
        ("apart", "10.5,0.2\n80,1.5\n159,2.9\n"),
    ] {
        write(at, "steps.csv", format!("rate_spm,speed_m_s\n{rows}"));
        let out = format!("steps-{name}.svg");
        ok(at, &["steps", "steps.csv", "--chart", &out]);
        names.push(out);
    }
    // Catches on the quarters of the cycle, where its times stand too.
    let mut marks = String::from("time,event\n");
    for cycle in 0..12 {
        for (event, phase) in [
            ("left_entry", 0.0),
            ("left_catch", 0.25),
            ("left_kick", 0.35),
            ("right_entry", 0.5),
            ("right_catch", 0.75),
            ("right_kick", 0.52 + 0.01 * f64::from(cycle % 3)),
        ] {
            let _ = writeln!(
                marks,
                "{:.6},{event}",
                10.0 + 2.2 * (f64::from(cycle) + phase)
            );
        }
    }
    write(at, "marks.csv", marks);
    ok(
        at,
        &[
            "timing",
            "marks.csv",
            "--swimmer",
            "long.toml",
            "--chart",
            "cycle.svg",
        ],
    );
    names.push("cycle.svg".into());
    names
}

/// Charts and pages of plans, in folders of their own, since plans must not overlap.
fn plans(at: &Path) -> Vec<String> {
    let mut names = Vec::new();
    for (name, swimmer_name, to, weeks, days) in [
        ("one-week", UNBROKEN.repeat(6), "52 spm", "1", "mon"),
        (
            "usual",
            "Alex Example".into(),
            "60 spm",
            "12",
            "mon wed fri",
        ),
        (
            "years",
            WIDE.repeat(30),
            "60 spm",
            "104",
            "mon tue wed thu fri sat sun",
        ),
    ] {
        let folder = at.join(format!("plan-{name}"));
        fs::create_dir(&folder).expect("a folder of the test's own");
        write(&folder, "swimmer.toml", swimmer(&swimmer_name));
        let args = [
            "plan",
            "new",
            "--swimmer",
            "swimmer.toml",
            "--from",
            "52 spm",
            "--to",
            to,
            "--weeks",
            weeks,
            "--days",
            days,
            "--start",
            "2027-03-01",
            "--out",
            "plan.toml",
        ];
        ok(&folder, &args);
        let mut log = String::from("date,swimmer,distance,time,strokes,rate_cued,effort,kept\n");
        for day in ["2027-03-01", "2027-03-03", "2027-03-05"] {
            for swim in 0..8 {
                let _ = writeln!(
                    log,
                    "{day},{swimmer_name},50 m,{:.1} s,{},52 spm,5,yes",
                    58.0 + 0.1 * f64::from(swim),
                    45
                );
            }
        }
        write(&folder, "log.csv", log);
        let with = ["--log", "log.csv", "--today", "2027-03-09"];
        ok(
            &folder,
            &[
                &["plan", "chart", "plan.toml", "--out", "weeks.svg"],
                &with[..],
            ]
            .concat(),
        );
        ok(
            &folder,
            &[
                &["plan", "report", "plan.toml", "--out", "page.html"],
                &with[..],
            ]
            .concat(),
        );
        let page = format!("plan-{name}/page.html");
        // A desk and a phone.
        names.extend([
            format!("plan-{name}/weeks.svg"),
            page.clone(),
            format!("{page}@400"),
        ]);
    }
    names
}

/// A course on its first day, and one of many days that were not kept; and a day's page for the pen.
fn courses(at: &Path) -> Vec<String> {
    let at = at.join("course");
    fs::create_dir(&at).expect("a folder of the test's own");
    write(&at, "swimmer.toml", swimmer("Alex Example"));
    let new = "plan new --course first-kick --swimmer swimmer.toml --start 2027-03-01 --out";
    let new: Vec<&str> = new.split(' ').chain(["course.toml", "--days"]).collect();
    ok(&at, &[&new[..], &["mon tue wed thu fri sat sun"]].concat());
    let mut log = String::from("date,swimmer,distance,time,kept\n");
    for day in 0..70 {
        let date = jiff::civil::date(2027, 3, 1).saturating_add(jiff::Span::new().days(day));
        let _ = writeln!(log, "{date},Alex Example,,,felt-no");
    }
    write(&at, "long.csv", log);
    write(&at, "none.csv", "date,swimmer,distance,time,kept\n");
    for (log, today) in [("none", "2027-03-01"), ("long", "2027-05-10")] {
        let (file, out) = (format!("{log}.csv"), format!("{log}.svg"));
        let chart = [
            "plan",
            "chart",
            "course.toml",
            "--out",
            &out,
            "--log",
            &file,
        ];
        ok(&at, &[&chart[..], &["--today", today]].concat());
    }
    let export = "plan export course.toml --week 1 --out . --today 2027-03-01";
    ok(&at, &export.split(' ').collect::<Vec<_>>());
    ["none.svg", "long.svg", "week-01-2027-03-02-tue/sheet.html"]
        .map(|name| format!("course/{name}"))
        .to_vec()
}

#[test]
fn no_two_texts_of_a_picture_or_page_overlap_or_leave_it() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let at = folder.path();
    // What the look must find: two texts over each other, one that leaves the page.
    let bad = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100\" height=\"100\"><text x=\"5\" y=\"50\">one</text>\
               <text x=\"9\" y=\"54\">two</text><text x=\"90\" y=\"90\">three</text></svg>";
    write(at, "bad.svg", bad);
    let mut names = vec!["bad.svg".to_string()];
    names.extend(posters(at));
    names.extend(charts(at));
    names.extend(plans(at));
    names.extend(courses(at));
    let at = at.display().to_string();
    let args: Vec<&str> = [at.as_str()]
        .into_iter()
        .chain(names.iter().map(String::as_str))
        .collect();
    let looked: Value =
        serde_json::from_str(&python_script("pictures/boxes.py", &args)).expect("JSON");
    let (mut complaints, pictures) = (String::new(), &looked["pictures"]);
    for name in &names[1..] {
        let found = &pictures[name];
        assert!(found["texts"].as_u64() > Some(12), "{name}: {found}");
        for fault in found["faults"].as_array().expect("a list") {
            let _ = writeln!(complaints, "{name}: {fault}");
        }
    }
    assert!(complaints.is_empty(), "{complaints}");
    assert_eq!(
        pictures["bad.svg"]["faults"].as_array().map(Vec::len),
        Some(2),
        "{pictures}"
    );
    // The browser's own knowledge of Unicode, against ours of what turns a text round.
    let turning =
        |c: &char| is_obeyed(*c) && !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}');
    let ours: Vec<u32> = ('\0'..=char::MAX).filter(turning).map(u32::from).collect();
    assert_eq!(looked["turning"], serde_json::json!(ours));
}

#[test]
fn a_long_poster_is_several_files_that_are_named_and_never_replaced_unasked() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let at = folder.path();
    write(at, "long.toml", session(40, "Evening"));
    write(at, "short.toml", session(4, "Evening"));
    write(at, "poster-3.svg", "mine");
    let message = refused(at, &["show", "long.toml", "--svg", "poster.svg"], 1);
    assert!(
        message.contains("poster-3.svg: is there already"),
        "{message}"
    );
    assert!(!at.join("poster.svg").exists(), "all or none");
    let said = run(at, &["show", "long.toml", "--svg", "poster.svg", "--force"]);
    let said = String::from_utf8(said.stderr).expect("UTF-8");
    let sheets = "Wrote 5 sheets: poster.svg, poster-2.svg to poster-5.svg\n";
    assert!(said.contains(sheets), "{said}");
    for (at, name) in [
        "poster.svg",
        "poster-2.svg",
        "poster-3.svg",
        "poster-4.svg",
        "poster-5.svg",
    ]
    .into_iter()
    .enumerate()
    {
        let text = fs::read_to_string(folder.path().join(name)).expect(name);
        assert!(text.contains(&format!("sheet {} of 5<", at + 1)), "{name}");
    }
    let said = run(
        at,
        &["show", "short.toml", "--svg", "poster.svg", "--force"],
    );
    let said = String::from_utf8(said.stderr).expect("UTF-8");
    assert!(
        said.contains("note: poster-2.svg is no sheet of this poster"),
        "{said}"
    );
    let text = fs::read_to_string(at.join("poster.svg")).expect("one sheet");
    assert!(!text.contains("sheet 1"), "a single sheet has no number");
}

#[test]
fn the_sheet_beside_the_tracks_keeps_to_78_columns() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let at = folder.path();
    let words = session(2, &WIDE.repeat(30)).replace("Settle 1", &UNBROKEN.repeat(20));
    for (name, text) in [
        ("one", session(1, "Evening")),
        ("forty", session(40, "Evening")),
        ("words", words),
    ] {
        write(at, &format!("{name}.toml"), &text);
        write(at, "long.toml", swimmer(&UNBROKEN.repeat(20)));
        let file = format!("{name}.toml");
        ok(
            at,
            &[
                "export",
                &file,
                "--swimmer",
                "long.toml",
                "--out",
                name,
                "--no-loudness",
            ],
        );
        let sheet = fs::read_to_string(at.join(name).join("contents.txt")).expect("a sheet");
        let lines: Vec<&str> = sheet.lines().collect();
        for (at, line) in lines.iter().enumerate() {
            let columns = textwrap::core::display_width(line);
            assert!(columns <= 78, "{name}: {columns} columns: {line}");
            // A rule stands under a heading, as long as the longest of its lines.
            if line.len() > 1 && line.chars().all(|c| c == '-' || c == '=') {
                let above = lines[..at].iter().rev().take_while(|line| !line.is_empty());
                let longest = above.map(|line| line.chars().count()).max();
                assert_eq!(longest, Some(line.len()), "{name}: {line}");
            }
        }
        for set in 0..text.matches("[[set]]").count() {
            let named = sheet.contains(&format!("Settle {set}: 4 s"));
            assert!(named || name == "words", "{name}: set {set}");
        }
    }
}
