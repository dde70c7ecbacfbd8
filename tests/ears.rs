//! The program held against what is not ours: an oracle of docs/rules.md in Python's fractions, and
//! tracks read by Python's `wave`, numpy, sox, ffmpeg and aubio.
//!
//! The scripts are in `ears/`; each Rust module names the source beside its checks.

mod defaults;
mod events;
mod hearing;
mod keys;
mod readme;
mod screen;
mod swimmer;
mod tracks;

use tempfile::{TempDir, tempdir};

/// A folder of the test's own.
fn folder() -> TempDir {
    tempdir().expect("a temporary folder")
}

/// Runs a script of `ears/` on the program; gives the counts that it prints, for people to see.
#[allow(clippy::print_stdout)] // cargo test -- --nocapture shows how much was compared
fn script(name: &str, words: &[&str]) -> String {
    let folder = folder();
    let place = folder
        .path()
        .to_str()
        .expect("temporary folders have plain names");
    let words = [&[env!("CARGO_BIN_EXE_cuelane"), place], words].concat();
    let told = crate::support::python_script(&format!("ears/{name}"), &words);
    print!("{name} {}: {told}", words[2..].join(" "));
    told
}

/// The shipped sessions and swimmers, by name.
fn shipped() -> (Vec<String>, Vec<String>) {
    let names = |folder: &str| {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let mut names: Vec<String> = std::fs::read_dir(folder)
            .expect("presets are in the tree")
            .filter_map(|entry| {
                entry
                    .expect("the folder can be read")
                    .file_name()
                    .into_string()
                    .ok()
            })
            .filter_map(|name| name.strip_suffix(".toml").map(str::to_string))
            .collect();
        names.sort();
        names
    };
    let (presets, swimmers) = (names("presets"), names("presets/swimmers"));
    assert!(
        presets.len() >= 12 && swimmers.len() == 2,
        "{presets:?} {swimmers:?}"
    );
    (presets, swimmers)
}
