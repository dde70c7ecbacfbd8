//! DEVELOPERS holds: its rooms, the files and names that it sends a reader to, its tests.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::files_below;
use crate::rooms::MAY_USE;
use crate::support::page::{page, quoted};

/// The rows of the table whose head begins with a word, cell by cell.
fn rows<'p>(page: &'p str, head: &str) -> Vec<Vec<&'p str>> {
    let head = format!("| {head} |");
    let table = page.lines().skip_while(|line| !line.starts_with(&head));
    (table.skip(2).take_while(|line| line.starts_with('|')))
        .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
        .collect()
}

/// Every file of Rust of the tree.
fn rust_files() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in ["src", "tests", "benches"] {
        files_below(root.join(folder), &mut files);
    }
    files.retain(|path| path.extension().is_some_and(|ending| ending == "rs"));
    files
}

#[test]
fn every_file_opens_with_what_it_is_for() {
    for path in rust_files() {
        let text = fs::read_to_string(&path).expect("a file of Rust is text");
        let first = text.lines().next().unwrap_or_default();
        let says = first
            .strip_prefix("//! ")
            .is_some_and(|says| says.len() > 10);
        assert!(says, "{}: {first:?}", path.display());
    }
}

#[test]
fn the_rooms_and_their_arrows_are_those_that_the_code_is_held_to() {
    let page = page("DEVELOPERS.md");
    let names = |cell: &str| -> BTreeSet<String> {
        let words = cell.split(',').map(|word| word.trim().to_string());
        words.filter(|word| !word.is_empty()).collect()
    };
    let mut told = Vec::new();
    for row in rows(&page, "room | what is in it") {
        let [room, _, uses] = row[..] else {
            panic!("three cells: {row:?}");
        };
        let room = room.trim_matches('`');
        let (_, may) = (MAY_USE.iter().find(|(name, _)| *name == room)).expect(room);
        let may: BTreeSet<String> = may.split_whitespace().map(String::from).collect();
        if uses == "all" {
            assert_eq!(may.len(), MAY_USE.len() - 2, "{room}");
        } else {
            assert_eq!(names(uses), may, "{room}");
        }
        told.push(room.to_string());
    }
    let rooms = MAY_USE.iter().map(|(name, _)| *name);
    let missing: Vec<&str> = rooms
        .filter(|room| !told.contains(&room.to_string()))
        .collect();
    assert_eq!(missing, ["main"]);
}

#[test]
fn every_file_that_a_reader_is_sent_to_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut sent, files) = (0, rust_files());
    for name in ["DEVELOPERS.md", "docs/decisions.md", "docs/rules.md"] {
        let page = page(name);
        let is_path = |word: &&str| {
            let plain =
                |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "/._-".contains(c);
            (word.contains('/') || word.ends_with(".rs")) && word.chars().all(plain)
        };
        for path in quoted(&page).into_iter().filter(is_path) {
            // A bare name is told where its room is plain from what stands before it.
            let there = ["", "src"]
                .iter()
                .any(|below| root.join(below).join(path).exists())
                || files.iter().any(|file| file.ends_with(path));
            assert!(there, "{name} names {path}");
            sent += 1;
        }
    }
    assert!(sent > 60, "{sent}");
}

#[test]
fn every_test_stands_beside_a_room() {
    let page = page("DEVELOPERS.md");
    let told: BTreeSet<&str> = (rows(&page, "room | tests").into_iter())
        .flat_map(|row| quoted(row[1]))
        .collect();
    let all = crate::support::page::page("tests/all.rs");
    let tests = all.lines().filter_map(|line| line.strip_prefix("mod "));
    for test in tests.map(|name| name.trim_end_matches(';')) {
        assert!(
            told.contains(test) || test == "support",
            "no row has {test}"
        );
    }
}

#[test]
fn every_word_of_the_glossary_is_a_name_in_the_code() {
    let page = page("DEVELOPERS.md");
    let code: String = (rust_files().iter())
        .map(|path| fs::read_to_string(path).expect("text"))
        .collect();
    let mut told = 0;
    for row in rows(&page, "name | what it is") {
        for name in quoted(row[0]) {
            let is_it = |kind: &str| {
                let start = format!("{kind} {name}");
                code.match_indices(&start).any(|(at, _)| {
                    let next = code[at + start.len()..].chars().next();
                    next.is_some_and(|c| !c.is_alphanumeric() && c != '_')
                })
            };
            assert!(
                ["struct", "enum", "trait"].into_iter().any(is_it),
                "no {name}"
            );
            told += 1;
        }
    }
    assert!(told > 20, "{told}");
}
