//! Which room uses which: the table of DEVELOPERS, held against the code.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A room and the rooms it may use beside itself.
pub const MAY_USE: [(&str, &str); 18] = [
    ("units", ""),
    ("error", ""),
    ("model", "units error"),
    ("files", "model units error"),
    ("timeline", "model units error"),
    ("analysis", "timeline model units error"),
    ("sound", "model units error"),
    ("media", "sound model units error"),
    ("render", "sound timeline model units"),
    ("sync", "sound timeline model"),
    ("export", "media render sound timeline model units error"),
    ("chart", "analysis timeline model units error"),
    ("mark", "analysis timeline model units error"),
    ("live", "render sound timeline analysis model units error"),
    ("tui", "live analysis timeline model units error"),
    ("phone", "tui live analysis timeline model units error"),
    (
        "cli",
        "units error model files timeline analysis sound media render sync export chart mark live tui phone",
    ),
    ("main", "cli"),
];

/// What only some rooms may name: outside crates, and the world outside the process.
const ONLY_IN: [(&str, &str); 33] = [
    ("toml::", "files"),
    ("toml_edit::", "files"),
    ("csv::", "files"),
    ("hound::", "export"),
    ("tempfile::", "export media"),
    ("flacenc::", "export"),
    ("mp3lame_encoder::", "export"),
    ("symphonia::", "media"),
    ("rubato::", "media"),
    ("include_dir::", "media"),
    ("ebur128::", "sound"),
    ("realfft::", "sync"),
    ("plotters::", "chart"),
    ("icalendar::", "chart"),
    ("chrono::", "chart"),
    ("clap::", "cli"),
    ("indicatif::", "cli"),
    ("ctrlc::", "cli"),
    ("ctor::", "cli"),
    ("crossterm::", "cli"),
    ("serde::", "cli phone"),
    ("serde_json::", "cli phone"),
    ("data_encoding::", "phone"),
    ("getrandom::", "phone"),
    ("httparse::", "phone"),
    ("if_addrs::", "phone"),
    ("qrcode::", "phone"),
    ("subtle::", "phone"),
    ("tungstenite::", "phone"),
    ("cpal::", "live"),
    ("rtrb::", "live"),
    ("ratatui::", "tui"),
    ("signal_hook::", "tui"),
];

const PURE: [&str; 7] = [
    "units", "model", "timeline", "analysis", "sound", "render", "sync",
];
const WORLD: [&str; 7] = [
    "std::fs",
    "std::io",
    "std::net",
    "std::env",
    "std::process",
    "std::thread",
    "std::time",
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("the sources are here") {
        let path = entry.expect("an entry").path();
        match path.is_dir() {
            true => sources(&path, found),
            false if path.extension().is_some_and(|ending| ending == "rs") => found.push(path),
            false => {}
        }
    }
}

/// Every source file by its path below `src`: its room, and its code without comments and tests.
pub fn code() -> BTreeMap<String, (String, Vec<String>)> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut paths = Vec::new();
    sources(&top, &mut paths);
    let read = |path: PathBuf| {
        let below = path.strip_prefix(&top).expect("below src");
        let name = below.to_string_lossy().replace('\\', "/");
        let room = name
            .split('/')
            .next()
            .expect("a first part")
            .trim_end_matches(".rs");
        let text = std::fs::read_to_string(&path).expect("a source file is text");
        // A file of its own for a room's tests is as free as tests beside the code.
        let is_tests = name.ends_with("/tests.rs");
        let lines = (text.lines().filter(|_| !is_tests))
            .take_while(|line| !line.starts_with("#[cfg(test)]"))
            .map(|line| line.split("//").next().unwrap_or_default().to_string())
            .collect();
        (name.clone(), (room.to_string(), lines))
    };
    paths.into_iter().map(read).collect()
}

/// The rooms that a line names by `crate::`, also inside braces.
fn rooms_named(line: &str) -> Vec<&str> {
    let mut named = Vec::new();
    for after in line.split("crate::").skip(1) {
        let names = after.trim_start_matches('{');
        let end = names.find(|c: char| !(c.is_alphanumeric() || c == '_'));
        named.push(&names[..end.unwrap_or(names.len())]);
    }
    named
}

#[test]
fn every_room_uses_only_the_rooms_it_may() {
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (name, (room, lines)) in code() {
        if name == "lib.rs" {
            continue;
        }
        let allowed = MAY_USE.iter().find(|(known, _)| *known == room);
        let (_, allowed) =
            allowed.unwrap_or_else(|| panic!("{name}: a room that the table does not know"));
        for line in &lines {
            for used in rooms_named(line) {
                seen += 1;
                if used != room && !allowed.split(' ').any(|allowed| allowed == used) {
                    wrong.push(format!("{name}: {}", line.trim()));
                }
            }
        }
    }
    assert!(
        seen > 100,
        "only {seen} uses were seen: is the reading broken?"
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn outside_crates_are_named_only_in_their_rooms() {
    let mut wrong = Vec::new();
    for (name, (room, lines)) in code() {
        for (what, only) in ONLY_IN {
            let names = |line: &&String| {
                line.match_indices(what).any(|(at, _)| {
                    let before = line[..at].chars().next_back();
                    !before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':')
                })
            };
            if !only.split(' ').any(|only| only == room) && lines.iter().any(|line| names(&line)) {
                wrong.push(format!("{name} names {what}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn pure_rooms_know_nothing_of_the_world() {
    let mut wrong = Vec::new();
    for (name, (room, lines)) in code() {
        for world in WORLD {
            if PURE.contains(&room.as_str()) && lines.iter().any(|line| line.contains(world)) {
                wrong.push(format!("{name} names {world}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_file_holds_two_ideas_worth_of_lines() {
    let long: Vec<String> = (code().into_iter())
        .filter(|(_, (_, lines))| lines.len() > 450)
        .map(|(name, (_, lines))| format!("{name}: {} lines", lines.len()))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn a_public_name_is_one_thing() {
    let mut homes: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (file, (_, lines)) in code() {
        for line in lines {
            let declared = ["pub struct ", "pub enum ", "pub type ", "pub trait "]
                .iter()
                .find_map(|kind| line.trim_start().strip_prefix(kind));
            if let Some(declared) = declared {
                let end = declared.find(|c: char| !(c.is_alphanumeric() || c == '_'));
                let name = declared[..end.unwrap_or(declared.len())].to_string();
                homes.entry(name).or_default().push(file.clone());
            }
        }
    }
    assert!(
        homes.len() > 200,
        "only {} names were seen: is the reading broken?",
        homes.len()
    );
    let shared: Vec<String> = (homes.into_iter())
        .filter(|(_, files)| files.len() > 1)
        .map(|(name, files)| format!("{name}: {}", files.join(", ")))
        .collect();
    assert!(shared.is_empty(), "{}", shared.join("\n"));
}
