//! Rows replaced, filled in and taken away, on files of a temporary folder.

use super::*;
use crate::files::set_field;
use crate::model::log::Kept;

fn row(fields: &[(&str, &str)]) -> Row {
    let mut row = Row::default();
    for (column, text) in fields {
        set_field(&mut row, column, text).expect(text);
    }
    row
}

/// A log of a text, and what is in it after something was done.
fn after(text: &str, make: impl FnOnce(&str)) -> String {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("log.csv");
    fs::write(&path, text).expect("the folder is ours");
    make(path.to_str().expect("text"));
    fs::read_to_string(&path).expect("a text")
}

const HEADER: &str = "date,swimmer,session,set,repeat,distance,time,strokes,rate_cued,pairing,kick,effort,\
                      kept,trial,note\n";

#[test]
fn a_row_is_replaced_by_its_exact_text_and_all_else_stays() {
    let (old, new) = (
        row(&[("distance", "50 m"), ("time", "49.26 s")]),
        row(&[("distance", "50 m"), ("time", "49.26 s"), ("strokes", "44")]),
    );
    let text = format!(
        "{HEADER},,,,,50 m,49.26 s,,,,,,,,\r\n,,,,,50 m,49.26 s,,,,,,,,\n,,,,,50 m,60 s,,,,,,,,mine\n"
    );
    let text = after(&text, |file| {
        assert_eq!(amend(file, Some(&old), Some(&new)), Ok(Amended::Done));
    });
    let lines: Vec<&str> = text.split_inclusive('\n').skip(1).collect();
    assert_eq!(
        lines,
        [
            ",,,,,50 m,49.26 s,,,,,,,,\r\n",
            ",,,,,50 m,49.26 s,44,,,,,,,\n",
            ",,,,,50 m,60 s,,,,,,,,mine\n"
        ]
    );
    let text = after(&text, |file| {
        assert_eq!(amend(file, Some(&new), None), Ok(Amended::Done));
    });
    assert_eq!(text.lines().count(), 3);
}

#[test]
fn a_row_that_somebody_has_changed_stays_and_the_new_one_is_added() {
    let old = row(&[("distance", "50 m"), ("time", "49.26 s")]);
    let new = row(&[("distance", "50 m"), ("time", "50 s")]);
    let before = format!("{HEADER},,,,,50 m,49.26 s,,,,,,,,my own note\n");
    let text = after(&before, |file| {
        assert_eq!(amend(file, Some(&old), Some(&new)), Ok(Amended::Added));
        assert_eq!(amend(file, Some(&old), None), Ok(Amended::Added));
    });
    assert_eq!(text, format!("{before},,,,,50 m,50 s,,,,,,,,\n"));
}

#[test]
fn a_row_that_a_trial_has_laid_out_is_filled_in_and_can_be_emptied_again() {
    let before = format!(
        "{HEADER},Alex,spring: day 1,Own side 1,1,50 m,40 s,30,54 spm,same-side,two-beat,,,spring,\n\
         ,Alex,spring: day 1,Other side 2,1,50 m,,,54 spm,opposite-side,two-beat,,,spring,\n"
    );
    let swum = row(&[
        ("date", "2026-03-14"),
        ("swimmer", "Alex"),
        ("session", "spring: day 1"),
        ("set", "Other side 2"),
        ("repeat", "1"),
        ("distance", "50 m"),
        ("time", "41.5 s"),
    ]);
    let mut laid = None;
    let text = after(&before, |file| {
        laid = match amend(file, None, Some(&swum)) {
            Ok(Amended::Filled(laid)) => Some(*laid),
            other => panic!("{other:?}"),
        };
    });
    assert_eq!(text.lines().count(), 3);
    let filled = "2026-03-14,Alex,spring: day 1,Other side 2,1,50 m,41.5 s,,,,,,,spring,";
    assert_eq!(text.lines().last(), Some(filled));
    let filled = Row {
        trial: "spring".into(),
        ..swum.clone()
    };
    let text = after(&text, |file| {
        assert_eq!(amend(file, Some(&filled), laid.as_ref()), Ok(Amended::Done));
    });
    assert_eq!(text, before);
    // The other swim has its row already: what is swum again is added.
    let again = row(&[
        ("session", "spring: day 1"),
        ("set", "Own side 1"),
        ("time", "39 s"),
    ]);
    let text = after(&before, |file| {
        assert_eq!(amend(file, None, Some(&again)), Ok(Amended::Done));
    });
    assert_eq!(text.lines().count(), 4);
}

#[test]
fn an_old_log_gets_the_column_of_splits_with_the_row_that_has_some() {
    let split = row(&[
        ("distance", "50 m"),
        ("time", "49 s"),
        ("splits", "24.1 s;49 s"),
    ]);
    let before = "\u{feff}sep=;\r\nDistance;Time;Mine\r\n50 m;\"a\nb\";x\r\n\r\n50 m;48 s;y";
    let text = after(before, |file| {
        append(file, std::slice::from_ref(&split)).expect("room is made");
    });
    assert_eq!(
        text,
        "\u{feff}sep=;\r\nDistance;Time;Mine;splits\r\n50 m;\"a\nb\";x;\r\n\r\n50 m;48 s;y;\r\n\
         50 m;49 s;;\"24.1 s;49 s\"\r\n"
    );
    let log = parse_log("log.csv", text.as_bytes()).expect("a log");
    assert_eq!(log.rows.last().expect("a row").row.splits, split.splits);
}

#[test]
fn kept_is_written_into_the_one_row_that_is_named_and_no_other_byte_changes() {
    let text = "sep=;\nlane;date;swimmer;set;repeat;distance;note;kept;time\r\n\
        4;2026-10-04;\"Alex\";Hold;1;50 m;\"a; \"\"b\"\"\nc\";;48,1\r\n\
        4;2026-10-04;Alex;Hold;2;50 m;;no;48,4\n\n5;2026-10-05;Alex;Hold;2;50 m;;;\n";
    for text in [text.to_string(), text.replacen("sep=;\n", "", 1)] {
        for (repeat, date, was, is) in [
            (1, "2026-10-04", "c\";;48,1", "c\";part;48,1"),
            (2, "2026-10-04", ";no;48,4", ";part;48,4"),
            (2, "2026-10-05", "50 m;;;\n", "50 m;;part;\n"),
        ] {
            let name = RowName {
                date: date.parse().ok(),
                swimmer: Some("Alex".into()),
                repeat: Some(repeat),
                ..RowName::default()
            };
            let written = after(&text, |file| {
                let named = rows_named(file, &name).expect("one row");
                assert_eq!(named.len(), 1, "{text}");
                if let Err(error) = write_kept(file, &named[0], Kept::Part) {
                    panic!("{text}\n{error}");
                }
            });
            assert_eq!(written, text.replacen(was, is, 1));
        }
        let as_it_was = after(&text, |file| {
            let of_day = RowName {
                date: "2026-10-04".parse().ok(),
                ..RowName::default()
            };
            let named = rows_named(file, &of_day).expect("two rows");
            let message = several_named(file, &named).to_string();
            assert!(
                message.contains("2 rows of the log are so named"),
                "{message}"
            );
            assert!(
                message.contains(": 2026-10-04, Alex, Hold, repeat 2"),
                "{message}"
            );
            let nobody = RowName {
                swimmer: Some("Sam".into()),
                ..RowName::default()
            };
            let message = rows_named(file, &nobody).expect_err("nobody").to_string();
            assert!(
                message.contains("no row of the log is so named"),
                "{message}"
            );
        });
        assert_eq!(as_it_was, text);
    }
}

#[test]
fn kept_is_not_written_where_there_is_no_column_for_it_or_another_row_stands_there() {
    let text = "date,swimmer,distance,kept,time\n2026-10-04,Alex,50 m,,48.1\n";
    let written = after(text, |file| {
        let named = rows_named(file, &RowName::default()).expect("one row");
        write_kept(file, &named[0], Kept::Part).expect("a row as it was read");
        let message = write_kept(file, &named[0], Kept::No).expect_err("changed");
        assert!(
            message.to_string().contains("changed meanwhile"),
            "{message}"
        );
    });
    assert_eq!(written, text.replacen(",,", ",part,", 1));
    let without = "date,swimmer,distance,time\n2026-10-04,Alex,50 m,48.1\n";
    let as_it_was = after(without, |file| {
        let named = rows_named(file, &RowName::default()).expect("one row");
        let message = write_kept(file, &named[0], Kept::Yes).expect_err("no column");
        assert!(message.to_string().contains("no column kept"), "{message}");
    });
    assert_eq!(as_it_was, without);
    let gone = rows_named("/nowhere/log.csv", &RowName::default());
    assert!(gone.is_err_and(|error| error.to_string().contains("no such log")));
}
