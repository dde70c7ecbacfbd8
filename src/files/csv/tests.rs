//! CSV as people and their programs write it.

use super::write::guarded;
use super::*;
use proptest::prelude::*;
use std::fmt::Write as _;

fn table(text: &str) -> Table<'_> {
    let parsed = Table::of("t.csv", text.as_bytes(), Short::Broken).expect("the header holds");
    parsed.expect("there is a header")
}

fn refusal(bytes: &[u8]) -> String {
    let table = Table::of("t.csv", bytes, Short::Broken);
    table.map(|_| ()).expect_err("no header").to_string()
}

/// Every record and every line that is none, by its line.
type Read = (Vec<(usize, Vec<String>)>, Vec<NoRecord>);

fn read(table: &mut Table) -> Read {
    let (mut records, mut broken) = (Vec::new(), Vec::new());
    let columns = table.header.len();
    while let Some(found) = table.read().expect("memory can be read") {
        match found {
            Ok(record) => {
                let fields = (0..columns).map(|at| record.field(at).to_string());
                records.push((record.line, fields.collect()));
            }
            Err(slip) => broken.push(slip),
        }
    }
    (records, broken)
}

fn records(text: &str) -> Vec<(usize, Vec<String>)> {
    let (records, broken) = read(&mut table(text));
    assert_eq!(broken, [], "{text:?}");
    records
}

fn fields(line: usize, fields: &[&str]) -> (usize, Vec<String>) {
    (line, fields.iter().map(ToString::to_string).collect())
}

#[test]
fn what_spreadsheets_write_is_read() {
    for text in [
        "a,b\n1,2\n",
        "\u{feff}a,b\r\n1,2\r\n",
        "A ; B\n1;2",
        "a\tb\n1\t2\n",
        "a;b\r1;2\r",
        "sep=;\na;b\n1;2\n",
        "\u{feff}SEP=\t\r\na\tb\r\n1\t2\r\n",
        "\"sep=,\"\na,b\n1,2\n",
        "sep=;;;;\ra;b\r1;2\r",
        "\n\na,b\n\n\"1\",\"2\"\n,\n\n",
    ] {
        assert_eq!(table(text).header, ["a", "b"], "{text:?}");
        assert_eq!(records(text)[0].1, ["1", "2"], "{text:?}");
    }
    // The line tells where the header alone would mislead.
    let told = table("sep=;\na,b;c\n");
    assert_eq!(told.header, ["a,b", "c"]);
    for text in ["sep=|\na|b\n", "sep=\na,b\n", "\n\nsep=;,\na;b\n"] {
        let message = refusal(text.as_bytes());
        assert!(message.contains("found \"sep="), "{message}");
    }
    assert!(refusal(b"\n\nsep=|\n").starts_with("t.csv:3: "));
}

#[test]
fn the_form_of_a_file_is_its_header_s() {
    for (text, delimiter, line_end) in [
        ("a,b\n1,2\r\n", b',', "\n"),
        ("sep=;\na;b\r\n", b';', "\r\n"),
        ("a\tb\r1\t2", b'\t', "\r"),
        ("a", b',', "\n"),
    ] {
        let wanted = CsvForm {
            delimiter,
            line_end,
        };
        assert_eq!(table(text).form, wanted, "{text:?}");
    }
}

#[test]
fn a_broken_line_is_named_and_the_rest_used() {
    let text = "a,b\n1,2\n3\n4,\"5\n6,7\n8,9,10\n\"x\ny\",11\n12,13,14\n";
    let (records, broken) = read(&mut table(text));
    let short = |line, found| NoRecord {
        line,
        why: Why::Fields { found, wanted: 2 },
    };
    let open = NoRecord {
        line: 4,
        why: Why::OpenQuote,
    };
    assert_eq!(broken, [short(3, 1), open, short(6, 3), short(9, 3)]);
    let rest = [
        fields(2, &["1", "2"]),
        fields(5, &["6", "7"]),
        fields(7, &["x\ny", "11"]),
    ];
    assert_eq!(records, rest);
}

#[test]
fn a_short_record_is_filled_where_the_caller_takes_it() {
    let text = "a,b\n1\n1,2,3\n";
    let short = Table::of("t.csv", text.as_bytes(), Short::Filled);
    let mut table = short.expect("it holds").expect("there is a header");
    let (records, broken) = read(&mut table);
    assert_eq!(records, [fields(2, &["1", ""])]);
    assert_eq!(broken.len(), 1, "too many fields are always broken");
}

#[test]
fn a_quote_that_never_closes_costs_one_line() {
    for text in [
        "a,b\n1,\"2\n3,4\n5,6\n",
        "a,b\n1,x\"2\n3,4\n5,6\n",
        // Two slips are no field over two lines: nothing of either line is passed over unsaid.
        "a,b\r\n1,x\"2\r\n3,4\r\n5,6\r\n7,\"8\r\n",
    ] {
        let (records, broken) = read(&mut table(text));
        assert_eq!(
            records,
            [fields(3, &["3", "4"]), fields(4, &["5", "6"])],
            "{text:?}"
        );
        assert_eq!((broken[0].line, broken[0].why), (2, Why::OpenQuote));
    }
    // So many lines are no field either, and the line numbers behind them hold.
    let long = format!("a,b\n1,\"2\n{}3,4\"\n5,6\n", "x,y\n".repeat(20));
    let (records, broken) = read(&mut table(&long));
    assert_eq!(records.last(), Some(&fields(24, &["5", "6"])));
    assert_eq!(records[0], fields(3, &["x", "y"]));
    let lines: Vec<usize> = broken.iter().map(|slip| slip.line).collect();
    assert_eq!(lines, [2, 23]);
}

#[test]
fn a_quote_within_a_field_spoils_no_later_record() {
    let text = "a,b\nx\"y,\"z\n1,2\n\"v\"w,5\n3,4";
    let wanted = [
        fields(2, &["x\"y", "z"]),
        fields(3, &["1", "2"]),
        fields(4, &["vw", "5"]),
        fields(5, &["3", "4"]),
    ];
    assert_eq!(records(text), wanted);
}

#[test]
fn what_is_no_text_is_named() {
    let bytes = b"a,b\n1,\xff\n3,\xc3\n\xc3,\xa9\n5,6\n";
    let open = Table::of("t.csv", &bytes[..], Short::Broken);
    let mut table = open.expect("it holds").expect("there is a header");
    let (records, broken) = read(&mut table);
    assert_eq!(records, [fields(5, &["5", "6"])]);
    assert_eq!(broken.len(), 3);
    assert!(broken.iter().all(|slip| slip.why == Why::NotText));
}

#[test]
fn decimal_commas_are_read_where_they_separate_nothing() {
    let text = "a;b\n48,1 s;48.1 s\na, b;1,2,3\n,5;5,\n0:48,1;1.000,5\n";
    let mut with_commas = table(text);
    let mut numbers = Vec::new();
    while let Some(found) = with_commas.read().expect("memory can be read") {
        let record = found.expect("it holds");
        numbers.extend([0, 1].map(|at| record.number(at).into_owned()));
    }
    let wanted = [
        "48.1 s", "48.1 s", "a, b", "1,2,3", ",5", "5,", "0:48.1", "1.000,5",
    ];
    assert_eq!(numbers, wanted);
    let note = with_commas.comma_note();
    assert_eq!(note, Some("2 decimal commas read as points".into()));

    // Beside commas a quoted one is read, but not what may be thousands.
    let mut plain = table("a,b\n\"48,1 s\",\"1,500\"\n");
    let record = plain.read().expect("memory").expect("a record");
    let record = record.expect("it holds");
    assert_eq!([record.number(0), record.number(1)], ["48.1 s", "1,500"]);
    assert_eq!(
        plain.comma_note(),
        Some("1 decimal commas read as points".into())
    );
}

#[test]
fn a_header_is_asked_for_by_name_and_nearest_name() {
    let table = table("Date,Tme,Kick\n");
    assert_eq!(table.column("date"), Some(0));
    assert_eq!(table.column("time"), None);
    assert_eq!(table.is_it("time", &[]), "; is it \"tme\"?");
    assert_eq!(table.is_it("pool", &[]), "");
    assert_eq!(table.is_it("dates", &["date"]), "");
}

#[test]
fn what_holds_no_header_is_none_or_refused() {
    for text in ["", "\n \r\n", "\u{feff}", "sep=;\n\n"] {
        let parsed = Table::of("t.csv", text.as_bytes(), Short::Broken).expect("nothing wrong");
        assert!(parsed.is_none(), "{text:?}");
    }
    let twice = table("\nlane,,a,,a\n").each_once().expect_err("a twice");
    assert!(twice.to_string().starts_with("t.csv:2: two columns"));
    assert!(refusal(b"a,\xff\n").contains("UTF-8"));
    assert!(refusal(b"\"a,b\n").contains("quote"));
}

#[test]
fn formulas_are_written_as_text_and_read_as_they_were() {
    for (field, written) in [
        ("=1+1", "'=1+1"),
        ("+49", "'+49"),
        ("- slow", "'- slow"),
        ("@home", "'@home"),
        ("'=1", "''=1"),
        ("a=1", "a=1"),
        ("'t was slow", "'t was slow"),
        ("", ""),
    ] {
        assert_eq!(guarded(field), written);
        assert_eq!(unguarded(written), field);
    }
}

/// A table and how it is written.
#[derive(Debug, Clone)]
struct Written {
    header: Vec<String>,
    records: Vec<Vec<String>>,
    form: CsvForm,
    mark: bool,
    told: bool,
    quote_all: bool,
    blank: usize,
    cut: bool,
}

impl Written {
    fn text(&self) -> String {
        let CsvForm {
            delimiter,
            line_end,
        } = self.form;
        let mut text = String::from(if self.mark { "\u{feff}" } else { "" });
        if self.told {
            let _ = write!(text, "sep={}{line_end}", char::from(delimiter));
        }
        for (at, record) in std::iter::once(&self.header)
            .chain(&self.records)
            .enumerate()
        {
            let one = if !self.quote_all {
                String::from_utf8(write([record.clone()], self.form)).expect("text")
            } else {
                let quoted =
                    |field: &String| format!("\"{}\"", guarded(field).replace('"', "\"\""));
                let quoted: Vec<String> = record.iter().map(quoted).collect();
                quoted.join(&char::from(delimiter).to_string()) + line_end
            };
            text += &one;
            if at == self.blank {
                text += line_end;
            }
        }
        if self.cut {
            text.truncate(text.len() - line_end.len());
        }
        text
    }
}

fn written() -> impl Strategy<Value = Written> {
    // What means something to somebody, and what is trimmed, in every place.
    let field = prop_oneof![
        4 => "[a-z0-9,;\t\"'=+@ .é-]{0,6}",
        1 => "[ab\"\r\n]{0,4}",
        1 => any::<String>().prop_map(|text| text.chars().take(6).collect()),
    ];
    let field = field.prop_map(|text: String| text.trim().to_string());
    let ends = prop_oneof![Just("\n"), Just("\r\n"), Just("\r")];
    let delimiters = prop_oneof![Just(b','), Just(b';'), Just(b'\t')];
    let records = move |columns| {
        let record = prop::collection::vec(field.clone(), columns);
        prop::collection::vec(record, 0..6)
    };
    (1_usize..5)
        .prop_flat_map(move |columns| (Just(columns), records(columns)))
        .prop_flat_map(move |(columns, records)| {
            let flags = any::<[bool; 4]>();
            (
                Just((columns, records)),
                delimiters.clone(),
                ends.clone(),
                flags,
                0_usize..9,
            )
        })
        .prop_map(|((columns, records), delimiter, line_end, flags, blank)| {
            let [mark, told, quote_all, cut] = flags;
            let is_filled = |record: &Vec<String>| record.iter().any(|field| !field.is_empty());
            Written {
                header: (0..columns).map(|at| format!("column {at}")).collect(),
                // A row of nothing is a spreadsheet's empty row.
                records: records.into_iter().filter(is_filled).collect(),
                form: CsvForm {
                    delimiter,
                    line_end,
                },
                mark,
                // A single name shows no delimiter.
                told: told || columns == 1,
                quote_all,
                blank,
                cut,
            }
        })
}

proptest! {
    /// Whatever parts fields, ends lines and quotes, a table reads back as it was, each record with
    /// its line.
    #[test]
    fn any_table_reads_back(written in written()) {
        let text = written.text();
        let mut table = table(&text);
        prop_assert_eq!(&table.header, &written.header);
        prop_assert_eq!(table.form.delimiter, written.form.delimiter);
        let (records, broken) = read(&mut table);
        prop_assert_eq!(broken, []);
        let fields: Vec<_> = records.iter().map(|(_, fields)| fields.clone()).collect();
        prop_assert_eq!(fields, written.records);
        // A record's line by the text itself: what a record is read from begins there.
        let text = text.replace("\r\n", "\n").replace('\r', "\n");
        let lines: Vec<&str> = text.split('\n').collect();
        for (line, fields) in records {
            let first = fields[0].replace("\r\n", "\n").replace('\r', "\n");
            let first = first.split('\n').next().unwrap_or_default().replace('"', "\"\"");
            prop_assert!(lines[line - 1].contains(&first), "{line}: {first:?}");
        }
    }

    /// However a file is cut in reading, and whatever stands in it, every line is passed once.
    #[test]
    fn lines_are_counted_as_they_stand(text in "[a,\"\r\n]{0,60}") {
        let mut lines = Lines::of("t.csv", text.as_bytes()).expect("memory can be read");
        let mut passed = String::new();
        while let Some(span) = lines.record().expect("memory can be read") {
            passed += std::str::from_utf8(lines.text(span)).expect("it was text");
            lines.pass(span);
        }
        prop_assert_eq!(&passed, &text);
        let plain = text.replace("\r\n", "\n").replace('\r', "\n");
        prop_assert_eq!(lines.number(), 1 + plain.matches('\n').count()
            + usize::from(!plain.is_empty() && !plain.ends_with('\n')));
    }
}
