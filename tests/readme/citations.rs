//! Comments and messages cite nothing that is not in the tree.

use std::fs;
use std::path::{Path, PathBuf};

use super::files_below;
use crate::support::page::page;

/// Every text of the tree that may cite: code, tests, benches, presets, what builds and checks.
fn citing() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in ["src", "tests", "benches", "presets", "sounds", ".ci"] {
        files_below(root.join(folder), &mut files);
    }
    files.extend(["Makefile", "Cargo.toml"].map(|name| root.join(name)));
    files
}

/// The pages that a text names: words that end as pages do.
fn named(text: &str) -> impl Iterator<Item = &str> {
    let is_part = |c: char| c.is_ascii_alphanumeric() || "/._-*".contains(c);
    let ending = concat!(".", "md");
    (text.split(move |c| !is_part(c)))
        .map(|word| word.trim_end_matches('.'))
        .filter(move |word| word.len() > ending.len() && word.ends_with(ending))
        .filter(|word| !word.contains('*'))
}

/// A text without the signs of its comments, so that what goes over a line's end reads on.
fn running(text: &str) -> String {
    let line = |line: &str| {
        let line = line.trim_start();
        line.trim_start_matches(['/', '!', '#']).trim().to_string()
    };
    text.lines().map(line).collect::<Vec<_>>().join(" ")
}

/// The headings of a page that a text cites as `docs/PAGE, "Heading"`.
fn headings<'t>(text: &'t str, name: &str) -> Vec<&'t str> {
    let cited = format!("{name}, \"");
    let found = text.split(cited.as_str()).skip(1);
    found.filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn no_comment_cites_a_page_that_is_not_in_the_tree() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut pages_named, mut headings_named) = (0, 0);
    for path in citing() {
        let Ok(text) = fs::read_to_string(&path) else {
            continue; // a sound
        };
        let beside = path.parent().expect("a file is in a folder");
        for word in named(&text) {
            let there = root.join(word).exists() || beside.join(word).exists();
            assert!(there, "{}: cites {word}", path.display());
            pages_named += 1;
        }
        let text = running(&text);
        for name in ["docs/sources.md", "docs/rules.md", "docs/session.md"] {
            for heading in headings(&text, name) {
                let line = format!("\n## {heading}\n");
                assert!(
                    page(name).contains(&line),
                    "{}: {name} has no {heading:?}",
                    path.display()
                );
                headings_named += 1;
            }
        }
    }
    assert!(
        pages_named > 20 && headings_named > 10,
        "{pages_named} {headings_named}"
    );
}

#[test]
fn a_page_that_is_not_there_is_noticed() {
    let [gone, far] = ["gone", "far/away"].map(|name| format!("{name}.{}", "md"));
    let text = format!("// As {gone} says ({far}).\n// See docs/*.{}.", "md");
    assert_eq!(named(&text).collect::<Vec<_>>(), [&gone, &far]);
    let cited = running("/// Limits (docs/rules.md,\n/// \"A repeat\").");
    assert_eq!(headings(&cited, "docs/rules.md"), ["A repeat"]);
}
