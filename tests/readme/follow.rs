//! Every page is followed from top to bottom in a folder of its own: its files parse, its commands
//! run in order and print what is shown.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use super::{examples, own_sounds, run_line};
use crate::support::page::{blocks, pages, quoted};
use crate::support::{ok, refused, run, write};

/// What a page needs and does not make: it says `Taken from [examples](examples/)` and the names.
fn taken<'p>(folder: &Path, prose: &'p str) -> Vec<&'p str> {
    let paragraph = prose.split("\n\n").map(str::trim_start);
    let paragraph = paragraph.filter(|text| text.starts_with("Taken from [examples](examples/)"));
    let names: Vec<&str> = paragraph.flat_map(quoted).collect();
    for name in &names {
        fs::copy(examples().join(name), folder.join(name)).expect(name);
    }
    names
}

/// An example stands once: a page that writes one, and does not take it, writes the very same.
fn writes_no_other_example(folder: &Path, name: &str, taken: &[&str]) {
    for example in fs::read_dir(examples()).expect("a folder of the tree") {
        let example = example.expect("readable");
        let file = example.file_name();
        let made = folder.join(&file);
        if made.exists() && taken.iter().all(|taken| file != **taken) {
            let kept = fs::read(example.path()).expect("readable");
            assert!(
                fs::read(made).expect("readable") == kept,
                "{name}: {file:?} is another"
            );
        }
    }
}

/// The commands of a block, a line each; a line that ends in a backslash goes on in the next.
fn commands(text: &str) -> Vec<String> {
    let text = text.replace("\\\n", " ");
    text.lines().map(Into::into).collect()
}

/// Follows a page from top to bottom in a folder; gives how many commands it ran.
fn follow(folder: &Path, name: &str, page: &str) -> usize {
    if page.contains("my-sounds") {
        own_sounds(folder);
    }
    let (blocks, prose) = blocks(page);
    let taken = taken(folder, &prose);
    let mut printed = String::new();
    let mut ran = 0;
    for (at, block) in blocks.iter().enumerate() {
        let here = format!("{name}, line {}", block.line);
        match block.language.as_str() {
            "toml" => follow_toml(folder, &block.text, &here),
            "sh" => {
                let shown = blocks.get(at + 1).map_or("", |next| &next.text);
                for line in commands(&block.text) {
                    let program = line.split(' ').next().expect("a word");
                    assert!(
                        ["cuelane", "cargo", "make"].contains(&program),
                        "{here}: {line}"
                    );
                    if program == "cuelane" {
                        printed = run_line(folder, &line, shown.starts_with("error: "));
                        ran += 1;
                    }
                }
            }
            "text" => assert!(
                block.text == printed.replace('\\', "/"),
                "{here}: it shows\n{}\nand the program prints\n{printed}",
                block.text
            ),
            "csv" => assert!(
                printed.starts_with(&block.text) && block.text.contains(",start,"),
                "{here}: not how the output starts:\n{}",
                block.text
            ),
            other => panic!("{here}: a block of {other:?}"),
        }
    }
    let told = quoted(&prose).into_iter();
    for line in told.filter(|line| line.starts_with("cuelane ")) {
        let placeholder = |word: &str| word.contains(|c: char| c.is_ascii_uppercase() || c == '[');
        if line.split(' ').any(placeholder) {
            let lower = |word: &&str| word.starts_with(|c: char| c.is_ascii_lowercase());
            let command = line.split(' ').skip(1).take(2).filter(lower);
            ok(folder, &command.chain(["--help"]).collect::<Vec<_>>());
        } else {
            run_line(folder, line, false);
            ran += 1;
        }
    }
    writes_no_other_example(folder, name, &taken);
    ran
}

#[test]
fn a_stranger_can_follow_every_page_from_top_to_bottom() {
    let mut ran = 0;
    let mut commands_told = BTreeSet::new();
    for (name, page) in pages() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        ran += follow(folder.path(), &name, &page);
        for line in page.split(['`', '\n']) {
            if let Some(rest) = line.strip_prefix("cuelane ") {
                commands_told.extend(rest.split(' ').next().map(String::from));
            }
        }
    }
    for command in [
        "export", "show", "check", "live", "play", "swimmer", "mark", "timing", "tap", "log",
        "css", "steps", "trial", "plan", "list",
    ] {
        assert!(commands_told.contains(command), "{command} is not told");
    }
    assert!(ran >= 12, "only {ran} commands were run");
}

/// A block of TOML: its first line says what it is, and by which name it is saved.
fn follow_toml(folder: &Path, text: &str, here: &str) {
    let (first, rest) = text.split_once('\n').expect("lines");
    if first == "# in a set, one line at a time" {
        for line in rest.lines() {
            let swim = if line.starts_with("swim ") {
                ""
            } else {
                "swim = \"50 m\"\n"
            };
            write(folder, "line.toml", format!("[[set]]\n{swim}{line}\n"));
            let shown = run(folder, &["show", "line.toml", "--swimmer", "adult-learner"]);
            let message = String::from_utf8_lossy(&shown.stderr);
            assert!(shown.status.success(), "{here}: {line}\n{message}");
        }
        return;
    }
    let (name, kind) = first
        .strip_prefix("# ")
        .and_then(|first| first.split_once(": "))
        .unwrap_or_else(|| panic!("{here}: the first line does not say what this is"));
    write(folder, name, text);
    match kind {
        "a session" => drop(ok(folder, &["show", name, "--swimmer", "adult-learner"])),
        "a swimmer" => {
            ok(folder, &["swimmer", "show", name]);
            ok(folder, &["show", "breathe-every-three", "--swimmer", name]);
        }
        "a plan" => drop(ok(folder, &["plan", "show", name])),
        "a squad" => drop(ok(
            folder,
            &["plan", "export", "--squad", name, "--week", "5"],
        )),
        "wrong on purpose" => drop(refused(folder, &["show", name], 2)),
        other => panic!("{here}: what is {other:?}?"),
    }
}
