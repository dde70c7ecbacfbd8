//! Faults as data: what a person wrote, and what the message must tell them.

use super::{run, write};
use std::fmt::Write as _;

/// A text that does not hold, and its refusal.
pub struct Fault {
    /// The whole file.
    pub text: String,
    /// `line:column` of what is wrong; `-` where only the file can be named.
    pub place: String,
    /// What the message's first line says.
    pub found: Vec<String>,
    /// What its `accepted:` line says.
    pub accepted: Vec<String>,
}

/// Reads faults from a table, one a line:
/// `frame place | text | found ; found ... | accepted ; accepted ...`, where `\n` in the text
/// starts a new line, and `frame` gives the whole file for a text.
pub fn table(rows: &str, frame: fn(&str, &str) -> String) -> Vec<Fault> {
    let words = |cell: &str| {
        cell.split(" ; ")
            .map(|word| word.trim().to_string())
            .collect()
    };
    let read = |row: &str| {
        let cells: Vec<&str> = row.split(" | ").collect();
        let [head, text, found, accepted] = cells[..] else {
            panic!("not four cells: {row}");
        };
        let (name, place) = head.trim().split_once(' ').expect("a frame and a place");
        Fault {
            text: frame(name, &text.trim().replace("\\n", "\n")),
            place: place.trim().into(),
            found: words(found),
            accepted: words(accepted),
        }
    };
    let rows = rows.lines().filter(|row| !row.trim().is_empty());
    rows.map(read).collect()
}

/// A refusal taken apart, as `cuelane::error` puts it together.
#[derive(Debug, Default)]
pub struct Message {
    /// Place and finding.
    pub first: String,
    /// What would have been accepted.
    pub accepted: String,
    /// An example; it may run over lines.
    pub example: String,
}

impl Message {
    /// Takes standard error apart; warnings before the error are passed over.
    pub fn read(stderr: &str) -> Self {
        let text = stderr.split_once("error: ").map_or("", |(_, text)| text);
        let (text, example) = text.split_once("\nexample: ").unwrap_or((text, ""));
        let (first, accepted) = text.split_once("\naccepted: ").unwrap_or((text, ""));
        Self {
            first: first.trim_end().into(),
            accepted: accepted.trim_end().into(),
            example: example.trim_end().into(),
        }
    }
}

/// Runs `args` on a `file` with each fault: exit 2, the place, the finding, what is accepted, an
/// example. Every complaint is collected, so that the first does not hide the others.
pub fn check(args: &[&str], file: &str, faults: &[Fault]) {
    assert!(!faults.is_empty());
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut complaints = String::new();
    for fault in faults {
        write(folder.path(), file, &fault.text);
        let output = run(folder.path(), args);
        let stderr = String::from_utf8(output.stderr).expect("messages are UTF-8");
        let message = Message::read(&stderr);
        let mut lacks: Vec<String> = Vec::new();
        let mut must = |holds: bool, what: String| {
            if !holds {
                lacks.push(what);
            }
        };
        let code = output.status.code();
        must(code == Some(2), format!("exit code 2, not {code:?}"));
        must(output.stdout.is_empty(), "an empty standard output".into());
        let place = match fault.place.as_str() {
            "-" => format!("{file}: "),
            place => format!("{file}:{place}: "),
        };
        must(
            message.first.starts_with(&place),
            format!("the place {place}"),
        );
        for word in &fault.found {
            must(message.first.contains(word), format!("the finding {word}"));
        }
        for word in &fault.accepted {
            must(
                message.accepted.contains(word),
                format!("as accepted: {word}"),
            );
        }
        must(!message.example.is_empty(), "an example".into());
        if !lacks.is_empty() {
            complaints += &complaint(&fault.text, &lacks.join(", "), &stderr);
        }
    }
    assert!(complaints.is_empty(), "{complaints}");
}

/// Puts each refusal's example where the fault stood: then the file must hold.
pub fn check_examples(args: &[&str], file: &str, faults: &[Fault]) {
    assert!(!faults.is_empty());
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut complaints = String::new();
    for fault in faults {
        write(folder.path(), file, &fault.text);
        let stderr = run(folder.path(), args).stderr;
        let stderr = String::from_utf8_lossy(&stderr);
        let example = Message::read(&stderr).example;
        let holds = |text: String, more: &[&str]| {
            write(folder.path(), file, text);
            run(folder.path(), &[args, more].concat()).status.success()
        };
        if !example.is_empty() && !works(fault, &example, holds) {
            complaints += &complaint(&fault.text, "an example that works", &stderr);
        }
    }
    assert!(complaints.is_empty(), "{complaints}");
}

fn complaint(text: &str, lacks: &str, stderr: &str) -> String {
    format!("\n--- this text\n{text}--- gives\n{stderr}--- which lacks: {lacks}\n")
}

/// Whether the example works as a flag, in place of the faulty line, after it, or in its table.
fn works(fault: &Fault, example: &str, holds: impl Fn(String, &[&str]) -> bool) -> bool {
    if example.starts_with("--") {
        let (flag, value) = example.split_once(' ').unwrap_or((example, ""));
        return holds(fault.text.clone(), &[flag, value.trim_matches('"')]);
    }
    let line = fault
        .place
        .split(':')
        .next()
        .and_then(|line| line.parse().ok());
    let Some(line) = line else {
        return holds(format!("{}\n{example}\n", fault.text), &[]);
    };
    let inside = inside_table(&fault.text, line, example);
    holds(with_example(&fault.text, line, example, false), &[])
        || holds(with_example(&fault.text, line, example, true), &[])
        || inside.is_some_and(|text| holds(text, &[]))
}

fn key_of(line: &str) -> &str {
    line.split('=').next().unwrap_or(line).trim()
}

/// The text with the example in place of line `number` (from 1), or after it where that is kept.
/// The section's other lines of the same key go.
fn with_example(text: &str, number: usize, example: &str, keep: bool) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let here = number - 1;
    let is_header = |at: &usize| lines[*at].starts_with('[');
    let start = (0..=here).rev().find(is_header).unwrap_or(0);
    let end = (here + 1..lines.len()).find(is_header);
    let section = start..end.unwrap_or(lines.len());
    let mut new = String::new();
    for (at, line) in lines.iter().enumerate() {
        let rival = section.contains(&at) && key_of(line) == key_of(example);
        if (at == here && keep) || (at != here && !rival) {
            let _ = writeln!(new, "{line}");
        }
        if at == here {
            let _ = writeln!(new, "{example}");
        }
    }
    new
}

/// The text with `key = value` exchanged inside the inline table of line `number`.
fn inside_table(text: &str, number: usize, example: &str) -> Option<String> {
    let line = text.lines().nth(number - 1)?;
    let start = line.find(&format!(" {} = ", key_of(example)))? + 1;
    let end = start + line[start..].find([',', '}'])?;
    let new = format!("{}{example} {}", &line[..start], &line[end..]);
    Some(text.replace(line, &new))
}
