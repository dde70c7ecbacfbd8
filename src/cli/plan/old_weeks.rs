//! Old weeks: found by the names of their folders, and cleared once a person says so.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use super::paper::remove_paper;
use super::prepare::SESSION;
use crate::cli::shared::out;
use crate::cli::shared::save::remove;
use crate::error::{Error, Result};
use crate::export::{Folder, SHEET};
use crate::model::track_format::Format;

/// The folders of earlier weeks than `week`, in order.
pub fn old_weeks(folder: &Path, week: usize) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let is_old = |path: &PathBuf| {
        let name = path.file_name().and_then(|name| name.to_str());
        let number = name
            .and_then(|name| name.strip_prefix("week-"))
            .and_then(|rest| rest.split('-').next())
            .and_then(|number| number.parse::<usize>().ok());
        // What no export has finished is not ours to clear.
        number.is_some_and(|number| number < week) && path.join(SESSION).is_file()
    };
    let mut old: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(is_old)
        .collect();
    old.sort();
    old
}

/// Clears folders after a plain yes at the terminal, or by `yes`. Only what an export wrote goes;
/// a folder that holds anything else stays with it. Gives what was cleared.
///
/// # Errors
/// Where there is no terminal to ask at, or a file cannot be removed.
pub fn clear(old: &[PathBuf], yes: bool) -> Result<Vec<PathBuf>> {
    if old.is_empty() || !(yes || ask(old)?) {
        return Ok(Vec::new());
    }
    for folder in old {
        let held = Folder::hold(folder)?;
        remove_tracks(folder, &[])?;
        for name in [SHEET, SESSION] {
            remove(&folder.join(name))?;
        }
        remove_paper(folder)?;
        drop(held);
        // Refused by the system unless it is empty, which is what is wanted.
        let _ = std::fs::remove_dir(folder);
    }
    Ok(old.to_vec())
}

fn ask(old: &[PathBuf]) -> Result<bool> {
    if !io::stdin().is_terminal() {
        return Err(
            Error::input("asks before it clears, and there is no terminal to ask at")
                .at("--tidy")
                .accepted("--yes beside it, where it is meant")
                .example("--tidy --yes"),
        );
    }
    for folder in old {
        out::note(&format!("  {}", folder.display()));
    }
    let count = old.len();
    let answer = out::ask(&format!("Clear these {count} folders of old weeks? [y/N] "))?;
    let answer = answer.unwrap_or_default().to_lowercase();
    Ok(matches!(answer.as_str(), "y" | "yes"))
}

/// Removes the tracks that a folder's sheet names, except those in `keep`.
///
/// # Errors
/// When one cannot be removed.
pub fn remove_tracks(folder: &Path, keep: &[&str]) -> Result<()> {
    let Ok(sheet) = std::fs::read_to_string(folder.join(SHEET)) else {
        return Ok(());
    };
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Ok(());
    };
    let named: Vec<&str> = sheet.split_whitespace().collect();
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let ours = Format::of_name(&name).is_some() && named.contains(&name.as_str());
        if ours && !keep.contains(&name.as_str()) {
            remove(&entry.path())?;
        }
    }
    Ok(())
}
