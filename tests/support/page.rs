//! A page of Markdown: its blocks, its code, its flags.
#![allow(dead_code)] // each test binary uses its own part of it

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// A fenced block.
pub struct Block {
    /// The word after the fence.
    pub language: String,
    /// What stands between its fences.
    pub text: String,
    /// The line of its fence, from 1.
    pub line: usize,
}

/// A page of the tree.
pub fn page(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    fs::read_to_string(path).expect("the page is part of the tree")
}

/// The README and every page of `docs`, each with its name in the tree.
pub fn pages() -> Vec<(String, String)> {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs");
    let names = fs::read_dir(docs).expect("a folder of the tree");
    let mut names: Vec<String> = names
        .map(|entry| entry.expect("readable").file_name())
        .filter_map(|name| name.into_string().ok())
        .filter(|name| name.ends_with(".md"))
        .map(|name| format!("docs/{name}"))
        .collect();
    names.sort();
    names.insert(0, "README.md".into());
    (names.into_iter())
        .map(|name| (name.clone(), page(&name)))
        .collect()
}

/// All of the pages as one text, for what has to stand on one of them, whichever.
pub fn all_pages() -> String {
    pages().into_iter().map(|(_, page)| page + "\n").collect()
}

/// The fenced blocks of a page, and what stands around them.
pub fn blocks(page: &str) -> (Vec<Block>, String) {
    let (mut blocks, mut prose, mut inside) = (Vec::new(), String::new(), false);
    for (index, line) in page.lines().enumerate() {
        match (line.strip_prefix("```"), inside) {
            (Some(language), false) => blocks.push(Block {
                language: language.into(),
                text: String::new(),
                line: index + 1,
            }),
            (Some(_), true) => {}
            (None, true) => {
                let block = blocks.last_mut().expect("a block is open");
                let _ = writeln!(block.text, "{line}");
            }
            (None, false) => {
                let _ = writeln!(prose, "{line}");
            }
        }
        inside ^= line.starts_with("```");
    }
    assert!(!inside, "a block is never closed");
    (blocks, prose)
}

/// Everything between single backticks.
pub fn quoted(prose: &str) -> Vec<&str> {
    prose.split('`').skip(1).step_by(2).collect()
}

/// The words of a command line; double quotes hold words together.
pub fn words(line: &str) -> Vec<String> {
    let (mut words, mut inside) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => inside = !inside,
            ' ' if !inside => words.push(String::new()),
            c => words.last_mut().expect("never empty").push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Words of a text that start with `--`.
pub fn flags(text: &str) -> BTreeSet<String> {
    let is_part = |c: char| c == '-' || c.is_ascii_alphanumeric();
    (text.split(|c| !is_part(c)))
        .filter(|word| {
            let name = word.strip_prefix("--").unwrap_or_default();
            name.starts_with(|c: char| c.is_ascii_lowercase())
        })
        .map(Into::into)
        .collect()
}
