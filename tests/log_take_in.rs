//! What a plan lays out is filled in and taken into the log, and so is a watch's file: as often as
//! one likes, and no swim counts twice.

use std::fs;
use std::path::Path;

use crate::support::{refused, write};

/// What a command says, its lines run together.
fn ok(folder: &Path, args: &[&str]) -> String {
    let said = crate::support::ok(folder, args);
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A plan of swims of 25 m, and the tracks of its first week.
fn exported() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let swimmer = "name = \"Alex Example\"\npool = \"25 m\"\nrate = \"52 spm\"\n\
                   pace = \"2:05 / 100 m\"\n[player]\nchannels = \"mono\"\n";
    write(folder.path(), "alex.toml", swimmer);
    let plan = "plan new --swimmer alex.toml --from 52spm --to 56spm --weeks 6 --days mon \
                --start 2027-03-01 --repeats 3 --swim 25m --rest 20s --out plan.toml";
    ok(folder.path(), &plan.split_whitespace().collect::<Vec<_>>());
    export(folder.path(), &[]);
    folder
}

fn export(folder: &Path, more: &[&str]) -> String {
    let args = [
        "plan",
        "export",
        "plan.toml",
        "--out",
        "tracks",
        "--week",
        "1",
    ];
    ok(folder, &[&args[..], more].concat())
}

const DAY: &str = "tracks/week-01-2027-03-01-mon";
const TO_FILL: &str = "tracks/week-01-2027-03-01-mon/log-to-fill.csv";

fn text(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Fills in times and efforts, as a spreadsheet would.
fn fill(folder: &Path, times: [&str; 3]) {
    let rows = text(folder, TO_FILL);
    let mut lines = rows.lines();
    let mut filled = vec![lines.next().expect("a header").to_string()];
    for (line, time) in lines.zip(times) {
        let (before, behind) = line.split_once(",25 m,").expect("a swim of 25 m");
        let (_, behind) = behind.split_once(',').expect("a time or none");
        filled.push(format!("{before},25 m,{time},{behind}"));
    }
    write(folder, TO_FILL, filled.join("\n") + "\n");
}

#[test]
fn a_day_has_a_page_for_the_pen_and_rows_that_the_log_takes_twice_without_harm() {
    let folder = exported();
    let here = folder.path();
    let page = text(here, &format!("{DAY}/sheet.html"));
    assert_eq!(page.matches("<td></td>").count(), 3 * 4, "{page}");
    assert!(
        page.contains("no cues") && page.contains("52 spm"),
        "{page}"
    );
    assert!(
        page.contains("felt-part") && page.contains("decides nothing here"),
        "{page}"
    );
    let rows = text(here, TO_FILL);
    let lines: Vec<&str> = rows.lines().collect();
    assert_eq!(
        lines[1],
        "2027-03-01,Alex Example,\"Week 1, mon 2027-03-01, 52 spm\",Without cues,1,25 m,,,,,,,,,"
    );
    assert_eq!(
        lines[3],
        "2027-03-01,Alex Example,\"Week 1, mon 2027-03-01, 52 spm\",With cues,2,25 m,,,52 spm,\
         same-side,two-beat,,,,"
    );

    let take = ["log", "add", "--from", TO_FILL];
    assert!(ok(here, &take).contains("0 rows added, 3 not filled in"));
    fill(here, ["24.1", "24.3", ""]);
    let said = ok(here, &take);
    assert!(said.contains("2 rows added, 1 not filled in"), "{said}");
    let once = text(here, "log.csv");
    assert_eq!(once.lines().count(), 3, "{once}");
    let said = ok(here, &take);
    assert!(
        said.contains("0 rows added, 2 there already, 1 not filled in"),
        "{said}"
    );
    assert_eq!(text(here, "log.csv"), once);

    // Another time of the same swim is a slip, here or there.
    fill(here, ["24.1", "24.9", "25"]);
    let said = ok(here, &take);
    assert!(
        said.contains(&format!(
            "{TO_FILL}:3: not taken: log.csv:3 has this swim, with time 24.3 s, here 24.9 s"
        )) && said.contains("1 row added, 1 there already, 1 not taken"),
        "{said}"
    );
    assert!(text(here, "log.csv").contains(",24.3 s,"));
    let said = ok(here, &[&take[..], &["--replace"]].concat());
    assert!(
        said.contains("0 rows added, 1 replaced, 2 there already"),
        "{said}"
    );
    let log = text(here, "log.csv");
    assert!(
        log.contains(",24.9 s,") && !log.contains(",24.3 s,"),
        "{log}"
    );
    assert_eq!(log.lines().count(), 4, "{log}");
}

#[test]
fn rows_that_are_filled_in_outlive_the_next_export_and_tidying_up() {
    let folder = exported();
    let here = folder.path();
    fill(here, ["24.1", "", ""]);
    let filled = text(here, TO_FILL);
    let swimmer = text(here, "alex.toml").replace("2:05", "2:06");
    write(here, "alex.toml", swimmer);
    let said = export(here, &[]);
    assert!(
        said.contains("1 with a log-to-fill.csv that is filled in"),
        "{said}"
    );
    assert_eq!(text(here, TO_FILL), filled);
    let args = "plan export plan.toml --out tracks --week 2 --tidy --yes";
    ok(here, &args.split_whitespace().collect::<Vec<_>>());
    assert_eq!(text(here, TO_FILL), filled);
    let left = fs::read_dir(here.join(DAY)).expect("the day's folder");
    assert_eq!(left.count(), 1, "only what a person wrote");
}

#[test]
fn a_typed_set_without_a_rate_is_matched_to_the_plans_day_by_its_date() {
    let folder = exported();
    let here = folder.path();
    let add = |set: &str, date: &str| {
        let args = format!("log add {set} --plan plan.toml --date {date}");
        ok(here, &args.split_whitespace().collect::<Vec<_>>())
    };
    let said = add("2x25 24.1 24.3", "2027-03-01");
    assert!(
        said.contains("matched by the date (plan.toml, 2027-03-01): without cues, 52 spm."),
        "{said}"
    );
    // The day's third swim comes next, and there is no fourth.
    let said = add("2x25 24.2 24.4", "2027-03-01");
    assert!(said.contains(": 52 spm. 1 row left open"), "{said}");
    let said = add("25 24.2", "2027-03-02");
    assert!(said.contains("2027-03-02 is no training day"), "{said}");
    let log = text(here, "log.csv");
    let rates: Vec<bool> = log
        .lines()
        .skip(1)
        .map(|row| row.contains(",52 spm,"))
        .collect();
    assert_eq!(rates, [false, true, true, false, false], "{log}");
}

#[test]
fn a_watchs_file_is_added_once_however_often_it_is_imported() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let here = folder.path();
    // Two equal swims are two swims.
    let watch = "Start,Metres,Duration,Strokes\n2026-03-14T07:10:00,50,48.1,22\n\
                 2026-03-14T07:12:00,50,48.1,22\n2026-03-14T07:14:00,50,fast,22\n";
    write(here, "watch.csv", watch);
    let args = "log add --import watch.csv --map date=Start --map distance=Metres:m \
                --map time=Duration:s --map strokes=Strokes --counted one-arm --swimmer Alex";
    let args: Vec<&str> = args.split_whitespace().collect();
    let said = ok(here, &args);
    assert!(said.contains("2 rows added"), "{said}");
    let once = text(here, "log.csv");
    assert!(
        once.contains("2026-03-14,Alex,,,,50 m,48.1 s,44,"),
        "{once}"
    );
    assert!(ok(here, &args).contains("0 rows added, 2 there already"));
    assert_eq!(text(here, "log.csv"), once);
    write(here, "watch.csv", format!("{watch}2026-03-15,50,47.9,22\n"));
    assert!(ok(here, &args).contains("1 row added, 2 there already"));

    let message = refused(
        here,
        &["log", "add", "4x50", "48", "48", "48", "48", "--replace"],
        2,
    );
    assert!(
        message.contains("--replace") && message.contains("--from"),
        "{message}"
    );
    let message = refused(here, &["log", "add", "--from", "watch.csv"], 2);
    assert!(message.contains("no column distance"), "{message}");
}
