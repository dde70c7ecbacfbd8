//! The log as whole commands: what is added, listed and drawn; and what a person or a spreadsheet
//! did to the file costs no more than the line it was done to.

use std::fs;
use std::path::Path;
use std::process::Stdio;

use crate::support::{cuelane, ok, refused, write};
use cuelane::files::{Rows, append, open_log, parse_log, set_field};
use cuelane::model::log::{COLUMNS, Row};
use serde_json::Value;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

fn row(fields: &[(&str, &str)]) -> Row {
    let mut row = Row::default();
    for (column, text) in fields {
        set_field(&mut row, column, text).expect("the test's own fields hold");
    }
    row
}

const SET: [&str; 11] = [
    "log",
    "add",
    "4x50",
    "48.1",
    "48.4",
    "48.0",
    "49.2",
    "--strokes",
    "22/length",
    "--kept",
    "yes",
];

fn text(folder: &Path) -> String {
    fs::read_to_string(folder.join("log.csv")).expect("a log")
}

#[test]
fn a_set_is_logged_with_few_keystrokes() {
    let folder = folder();
    let args = [&SET[..], &["--date", "2026-03-14", "--swimmer", "Alex"]].concat();
    let said = ok(folder.path(), &args);
    assert!(
        said.contains("Added to log.csv: 4 x 50 m, 2026-03-14"),
        "{said}"
    );
    // By hand: 44 strokes in 48.1 s less 6 s.
    assert!(said.contains("rate swum 62.7 spm"), "{said}");
    let text = text(folder.path());
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], COLUMNS.join(","));
    assert_eq!(
        lines[1],
        "2026-03-14,Alex,,,1,50 m,48.1 s,22/length,,,,,yes,,"
    );
    assert_eq!(lines.len(), 5);
}

#[cfg(unix)]
#[test]
fn at_a_terminal_it_asks_and_a_slip_is_asked_again() {
    let folder = folder();
    let log = folder.path().join("log.csv");
    let log = log.to_str().expect("a plain path");
    // A set that is none, a time too few, and an effort beyond ten: each is said and asked again.
    let answers = "say:4 fifties|4x50|48.1 48.4 48.0|48.1 48.4 - 49.2|22/length|part|11|6|58|same-side|Evening";
    let program = env!("CARGO_BIN_EXE_cuelane");
    let told =
        crate::support::python_script("keys.py", &[answers, program, "log", "add", "--log", log]);
    assert!(told.trim_end().ends_with("restored\n0"), "{told}");
    let written = text(folder.path());
    let rows: Vec<&str> = written.lines().collect();
    assert_eq!(rows.len(), 5, "{written}");
    for (row, time) in rows[1..].iter().zip(["48.1 s", "48.4 s", "", "49.2 s"]) {
        let fields: Vec<&str> = row.split(',').collect();
        let column = |name: &str| {
            let at = rows[0].split(',').position(|column| column == name);
            fields[at.unwrap_or_else(|| panic!("{name} in {}", rows[0]))]
        };
        assert_eq!(column("time"), time, "{row}");
        assert_eq!(column("strokes"), "22/length", "{row}");
        assert_eq!((column("kept"), column("effort")), ("part", "6"), "{row}");
        // The question said the unit.
        assert_eq!(column("rate_cued"), "58 spm", "{row}");
        assert_eq!(
            (column("pairing"), column("session")),
            ("same-side", "Evening"),
            "{row}"
        );
    }
    // The last rate is proposed, and "-" is none.
    for (answer, rate) in [("", "58 spm"), ("-", "")] {
        let answers = format!("say:50|47.9||||{answer}||");
        crate::support::python_script("keys.py", &[&answers, program, "log", "add", "--log", log]);
        let last = text(folder.path());
        let last = last.lines().last().expect("a row").split(',').nth(8);
        assert_eq!(last, Some(rate));
    }

    // The end of the input before the last answer writes nothing.
    let none = folder.path().join("none.csv");
    let none = none.to_str().expect("a plain path");
    let told = crate::support::python_script(
        "keys.py",
        &["say:4x50|\u{4}", program, "log", "add", "--log", none],
    );
    assert!(told.trim_end().ends_with("restored\n2"), "{told}");
    assert!(!std::path::Path::new(none).exists());
}

#[test]
fn a_log_reads_back_what_was_appended() {
    let folder = folder();
    let file = folder.path().join("log.csv").display().to_string();
    let rows = [
        row(&[
            ("date", "2026-03-14"),
            ("swimmer", "Alex"),
            ("session", "Evening, long"),
            ("set", "Settle \"easy\""),
            ("repeat", "2"),
            ("distance", "33 1/3 m"),
            ("time", "1:02.4"),
            ("strokes", "44"),
            ("rate_cued", "27 cpm"),
            ("pairing", "opposite-side"),
            ("kick", "six-beat"),
            ("effort", "6.5"),
            ("kept", "part"),
            ("trial", "spring 3"),
            ("note", "line one\nline two"),
        ]),
        Row::default(),
        row(&[("distance", "50 yd")]),
    ];
    append(&file, &rows).expect("the folder can be written");
    let log = open_log(&file).and_then(Rows::all).expect("a log");
    assert!(log.broken.is_empty() && log.notes.is_empty(), "{log:?}");
    let read: Vec<&Row> = log.rows.iter().map(|line| &line.row).collect();
    // A row of nothing is an empty line of a spreadsheet.
    assert_eq!(read, [&rows[0], &rows[2]]);
    assert_eq!(rows[0].note, "line one line two");
}

#[test]
fn spreadsheets_logs_are_read_and_keep_their_ways() {
    let folder = folder();
    let written = "\u{feff}Date;Distance;Time;Strokes;Lane;Note\r\n2026-03-14;50 m;48,1 s;44;3;easy, long\r\n";
    write(folder.path(), "log.csv", written);
    let listed = crate::support::run(folder.path(), &["log", "list", "--json"]);
    let notes = String::from_utf8_lossy(&listed.stderr);
    for words in [
        "semicolons",
        "1 decimal commas read as points",
        "\"lane\" is kept",
    ] {
        assert!(notes.contains(words), "{words}: {notes}");
    }
    let found: Value = serde_json::from_slice(&listed.stdout).expect("JSON");
    assert_eq!(found["rows"][0]["time_s"], 48.1);
    assert_eq!(found["rows"][0]["note"], "easy, long");

    ok(
        folder.path(),
        &[
            "log",
            "add",
            "50",
            "47.9",
            "--date",
            "2026-03-15",
            "--note",
            "again",
        ],
    );
    let appended = format!("{written}2026-03-15;50 m;47.9 s;;;again\r\n");
    // `repeat` and the swimmer's name have no column here, and nobody asked for one.
    let message = refused(
        folder.path(),
        &["log", "add", "50", "47.9", "--effort", "5"],
        2,
    );
    assert!(message.contains("no column effort"), "{message}");
    assert_eq!(text(folder.path()), appended);
}

#[test]
fn a_log_told_by_its_first_line_or_of_an_old_computer_keeps_its_ways() {
    for (written, row) in [
        (
            "sep=;\ndate;distance;time\n2026-03-14;50 m;48,1 s\n",
            "2026-03-15;50 m;47.9 s\n",
        ),
        (
            "date\tdistance\ttime\r2026-03-14\t50 m\t48,1 s",
            "\r2026-03-15\t50 m\t47.9 s\r",
        ),
    ] {
        let folder = folder();
        write(folder.path(), "log.csv", written);
        ok(
            folder.path(),
            &["log", "add", "50", "47.9", "--date", "2026-03-15"],
        );
        assert_eq!(text(folder.path()), format!("{written}{row}"));
        let found: Value =
            serde_json::from_str(&ok(folder.path(), &["log", "list", "--json"])).expect("JSON");
        let times = [0, 1].map(|row| found["rows"][row]["time_s"].as_f64());
        assert_eq!(times, [Some(48.1), Some(47.9)], "{written:?}");
    }
}

#[test]
fn what_a_spreadsheet_would_run_is_written_as_text_and_reads_back() {
    let folder = folder();
    let notes = ["=1+1", "+2 spm", "-easy", "@home", "'=quoted", "plain = no"];
    for note in notes {
        ok(
            folder.path(),
            &["log", "add", "50", "48", &format!("--note={note}")],
        );
    }
    let written = text(folder.path());
    for (line, note) in written.lines().skip(1).zip(notes) {
        let field = line.rsplit(',').next().expect("a last field");
        assert!(!field.starts_with(['=', '+', '-', '@']), "{line}");
        assert!(field.ends_with(note), "{line}");
    }
    let log = parse_log("log.csv", written.as_bytes()).expect("a log");
    let read: Vec<String> = (log.rows.into_iter()).map(|line| line.row.note).collect();
    assert_eq!(read, notes);
}

#[test]
fn what_would_turn_a_line_round_is_json_s_own_escape() {
    let folder = folder();
    let written = "distance,time,effort,note\n50 m,48 s,\"6\u{202e},5\",\n50 m,48 s,6,a\u{202e}b\n";
    write(folder.path(), "log.csv", written);
    let listed = ok(folder.path(), &["log", "list", "--json"]);
    assert_eq!(listed.matches("\\u202e").count(), 2, "{listed}");
    assert!(!listed.contains('\u{202e}'), "{listed}");
}

#[test]
fn a_long_log_is_listed_whole() {
    let folder = folder();
    // More than is held at once, with a broken line and a cue missed by half at each end.
    let row = "2026-03-14,Alex,,,1,50 m,50 s,25,60 spm,,,,yes,,\n";
    let rows = row.repeat(15_000);
    let written = format!("{}\nbroken\n{rows}broken\n{row}", COLUMNS.join(","));
    write(folder.path(), "log.csv", written);
    // Without walls every figure is a short decimal.
    let whole = [
        "log",
        "list",
        "--json",
        "--push-off",
        "0 s",
        "--glide",
        "0 m",
    ];
    let listed = ok(folder.path(), &whole);
    let found: Value = serde_json::from_str(&listed).expect("JSON");
    assert_eq!(found["rows"].as_array().map(Vec::len), Some(15_001));
    assert_eq!(found["rows"][15_000]["line"], 15_004);
    assert_eq!(found["left_out"][0]["line"], 2);
    assert_eq!(found["left_out"][1]["line"], 15_003);
    assert!(listed == format!("{found:#}\n"), "one form of JSON");

    let text = ok(folder.path(), &["log", "list"]);
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].starts_with("date") && lines[15_001].starts_with("2026-03-14"));
    assert_eq!(
        lines[15_003],
        "line 3: rate swum half the rate cued; was only one arm counted?"
    );
    assert!(lines[30_003].starts_with("line 15004: ") && lines[30_004].starts_with("15001 rows."));

    let said = ok(folder.path(), &["log", "chart", "--out", "log.svg"]);
    assert!(
        said.starts_with("Wrote log.svg: 15001 rows\n3 of 45003 marks drawn"),
        "{said}"
    );
    let none = ok(folder.path(), &["log", "list", "--json", "--kept", "no"]);
    assert!(none.contains("\"rows\": [],\n"), "{none}");
}

#[test]
fn a_broken_line_is_named_kept_and_costs_nothing_else() {
    let folder = folder();
    let written = format!(
        "{}\n2026-03-14,Alex,,,1,50 m,48.1 s,44,,,,,yes,,\n\
         2026-03-14,Alex,,,2,50 m,48.1 s,44,54,,,,yes,,\n\
         2026-13-14,Alex,,,3,50 m,48.1 s,44,,,,,yes,,\n\
         2026-03-14,Alex,,,4,50 m\n\
         2026-03-14,\"Alex,,,5,50 m,48.1 s,44,,,,,yes,,\n\
         2026-03-14,Alex,,,6,50 m,48.1 s,-4,,,,,yes,,\n\
         2026-03-14,Alex,,,7,50 m,NaN s,44,,,,,yes,,\n\
         2026-03-14,Alex,,,8,50 m,48.4 s,44,,,,,ye,,\n\
         2026-03-14,Alex,,,9,50 m,48.5 s,44,54 spm,,,,no,,",
        COLUMNS.join(",")
    );
    let mut bytes = written.clone().into_bytes();
    bytes.extend(b"\n\xff,,,,,,,,,,,,,,\n");
    let log = parse_log("log.csv", &bytes).expect("the header holds");
    let kept: Vec<_> = log
        .rows
        .iter()
        .map(|line| (line.line, line.row.repeat))
        .collect();
    assert_eq!(kept, [(2, Some(1)), (10, Some(9))]);
    let broken: Vec<_> = log.broken.iter().map(|broken| broken.line).collect();
    assert_eq!(broken, [3, 4, 5, 6, 7, 8, 9, 11]);
    for (index, words) in [
        "\"54 cpm\"",
        "not a date",
        "6 fields",
        "quote",
        "strokes",
        "time",
        "did you mean \"yes\"?",
        "UTF-8",
    ]
    .iter()
    .enumerate()
    {
        assert!(
            log.broken[index].why.contains(words),
            "{words}: {:?}",
            log.broken[index]
        );
    }

    // Without a last line end, as some editors leave a file.
    write(folder.path(), "log.csv", &written);
    ok(
        folder.path(),
        &["log", "add", "50", "48", "--date", "2026-03-15"],
    );
    let after = text(folder.path());
    assert_eq!(
        after,
        format!("{written}\n2026-03-15,,,,1,50 m,48 s,,,,,,,,\n")
    );
    let listed = crate::support::run(folder.path(), &["log", "list"]);
    assert!(
        String::from_utf8_lossy(&listed.stderr)
            .contains("log.csv:3: left out: rate_cued: found 54, a bare number")
    );
}

#[test]
fn a_log_takes_bare_times_and_distances_as_people_write_them() {
    let folder = folder();
    let rows =
        "date;distance;time_s;rate_cued\n2026-03-14;50;55,4;54 spm\n;50 m;1:02.4;\n;50;48 s;\n";
    write(folder.path(), "log.csv", rows);
    let listed = |more: &[&str]| -> Value {
        let args = [&["log", "list", "--json"], more].concat();
        serde_json::from_str(&ok(folder.path(), &args)).expect("JSON")
    };
    let of = |found: &Value, key: &str| -> Vec<f64> {
        let rows = found["rows"].as_array().expect("rows");
        rows.iter()
            .map(|row| row[key].as_f64().expect("a number"))
            .collect()
    };
    let found = listed(&[]);
    assert_eq!(of(&found, "time_s"), [55.4, 62.4, 48.0]);
    assert_eq!(of(&found, "distance_m"), [50.0, 50.0, 50.0]);
    assert_eq!(found["left_out"], serde_json::json!([]));
    // In a pool of yards a bare distance is yards: 0.9144 m each, and it is said.
    let yards = crate::support::run(folder.path(), &["log", "list", "--json", "--pool", "25 yd"]);
    let told = String::from_utf8_lossy(&yards.stderr);
    assert!(
        told.contains("distances without a unit are taken as yd"),
        "{told}"
    );
    let yards: Value = serde_json::from_slice(&yards.stdout).expect("JSON");
    assert_eq!(of(&yards, "distance_m"), [45.72, 50.0, 45.72]);
    // A new row goes under the same header.
    ok(folder.path(), &["log", "add", "50", "47.9"]);
    assert_eq!(of(&listed(&[]), "time_s"), [55.4, 62.4, 48.0, 47.9]);
}

#[test]
fn a_file_that_is_no_log_is_refused_and_left_alone() {
    let folder = folder();
    for (bytes, words) in [
        (&b"name,place\nAlex,1\n"[..], "no column distance"),
        (b"distanc,time\n", "no column distance; is it \"distanc\"?"),
        (b"sep=|\ndistance|time\n", "log.csv:1: found \"sep=|\""),
        (b"distance,time,time\n", "two columns"),
        (b"distance,t\xffme\n", "UTF-8"),
    ] {
        write(folder.path(), "log.csv", bytes);
        for args in [&["log", "list"][..], &["log", "add", "50", "48"]] {
            let message = refused(folder.path(), args, 2);
            assert!(message.contains(words), "{message}");
        }
        assert_eq!(
            fs::read(folder.path().join("log.csv")).expect("still there"),
            bytes
        );
    }
    refused(folder.path(), &["log", "list", "--log", "nowhere.csv"], 2);
    refused(folder.path(), &["log", "list", "--log", "."], 2);
}

#[test]
fn what_add_cannot_read_is_refused_and_nothing_written() {
    let folder = folder();
    for (args, words) in [
        (
            &["log", "add", "4x50", "48.1", "48.4"][..],
            "2 times for 4 repeats",
        ),
        (&["log", "add", "fast", "48.1"], "not a length"),
        (
            &["log", "add", "50", "48.1", "--strokes", "44,45"],
            "2 values for 1 repeats",
        ),
        (
            &["log", "add", "50", "48.1", "--strokes", "22/lap"],
            "not a count of strokes",
        ),
        (
            &["log", "add", "50", "48.1", "--rate-cued", "54"],
            "\"54 spm\"",
        ),
        (
            &["log", "add", "50", "48.1", "--kept", "maybe"],
            "not yes, part, no",
        ),
        (&["log", "add", "50", "48.1", "--effort", "11"], "outside 0"),
        (
            &["log", "add", "50", "48.1", "--date", "14.3.2026"],
            "not a date",
        ),
        (&["log", "add", "50", "-3"], "above zero"),
        (
            &["log", "add", "50", "48.1", "--pool", "25"],
            "\"25 m\" or \"25 yd\"",
        ),
        (
            &["log", "add", "50", "48.1", "--pool", "0 m"],
            "10 m or more",
        ),
        (&["log", "add"], "no set was given"),
    ] {
        let mut command = cuelane(folder.path());
        let output = command
            .args(args)
            .stdin(Stdio::null())
            .output()
            .expect("it starts");
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(
            output.status.code() == Some(2) && message.contains(words),
            "{args:?}: {message}"
        );
    }
    assert!(!folder.path().join("log.csv").exists());
}

#[test]
fn a_list_filters_and_computes() {
    let folder = folder();
    ok(
        folder.path(),
        &[
            &SET[..],
            &[
                "--date",
                "2026-03-14",
                "--swimmer",
                "Alex",
                "--pairing",
                "same-side",
            ],
        ]
        .concat(),
    );
    ok(
        folder.path(),
        &[
            "log",
            "add",
            "100",
            "1:40",
            "--strokes",
            "44",
            "--rate-cued",
            "54 spm",
            "--date",
            "2026-03-20",
            "--swimmer",
            "Sam",
        ],
    );
    let list = |more: &[&str]| -> Value {
        let args = [&["log", "list", "--json"][..], more].concat();
        serde_json::from_str(&ok(folder.path(), &args)).expect("JSON")
    };
    let count = |more: &[&str]| list(more)["rows"].as_array().map_or(0, Vec::len);
    for (more, rows) in [
        (&[][..], 5),
        (&["--swimmer", "alex"], 4),
        (&["--from", "2026-03-15"], 1),
        (&["--to", "2026-03-15"], 4),
        (&["--distance", "100 m"], 1),
        (&["--pairing", "same-side"], 4),
        (&["--kept", "no"], 0),
        (&["--set", "Settle"], 0),
    ] {
        assert_eq!(count(more), rows, "{more:?}");
    }
    // By hand: 100 m in 4 lengths: 44 strokes in 100 s less 12 s, 100 m less 16 m.
    let found = &list(&["--swimmer", "Sam"])["rows"][0];
    let near = |key: &str, wanted: f64| {
        let value = found[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{key}: {found}"));
        assert!((value - wanted).abs() < 1e-9, "{key}: {value}");
    };
    near("speed_m_s", 1.0);
    near("rate_swum_spm", 30.0);
    near("distance_per_stroke_m", 84.0 / 44.0);
    near("distance_per_stroke_plain_m", 100.0 / 44.0);
    near("stroke_index_m2_s", 84.0 / 44.0);
    // 30 spm against a cue of 54: one arm was counted.
    assert!(
        found["warning"]
            .as_str()
            .is_some_and(|text| text.contains("half the rate cued")),
        "{found}"
    );
    let text = ok(folder.path(), &["log", "list"]);
    assert!(
        text.contains("line 6: rate swum half the rate cued"),
        "{text}"
    );
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );

    ok(folder.path(), &["log", "chart", "--out", "log.svg"]);
    let svg = fs::read_to_string(folder.path().join("log.svg")).expect("the picture");
    assert!(svg.contains("rate swum, strokes/min") && svg.contains("2026-03-14"));
    assert!(!svg.contains("effort"), "nobody noted any");
    ok(
        folder.path(),
        &["log", "chart", "--by-week", "--out", "weeks.svg"],
    );
    let svg = fs::read_to_string(folder.path().join("weeks.svg")).expect("the picture");
    assert!(svg.contains("Weeks from 2026-03-09") && svg.contains("swims with cues, %"));
}
