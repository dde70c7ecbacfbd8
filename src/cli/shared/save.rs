//! Text files that commands write: each is whole under its name, or not there; and files removed.

use std::io::{self, Write};
use std::path::Path;

use crate::error::{Error, Result};
use crate::export::{WriteError, publish};

/// Refuses to replace a file unasked.
///
/// # Errors
/// When it is there, without `force`.
pub fn may_write(path: &Path, force: bool) -> Result<()> {
    if path.exists() && !force {
        return Err(Error::failed("is there already")
            .at(path.display())
            .accepted("another name, or --force to replace it"));
    }
    Ok(())
}

/// Puts a text in its place, also where one is.
///
/// # Errors
/// When it cannot be written.
pub fn save(path: &Path, text: &str) -> Result<()> {
    let shown = path.display();
    let name = path.file_name().and_then(|name| name.to_str());
    let name = name.ok_or_else(|| {
        Error::input("this names no file")
            .at(&shown)
            .example("chart.svg")
    })?;
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    publish(folder, name, |file| {
        file.write_all(text.as_bytes()).map_err(WriteError::Io)
    })
    .map_err(|error| match error {
        WriteError::Io(error) => Error::io("cannot be written", shown, &error),
        WriteError::Stopped(error) => error,
    })
}

/// Removes a file; one that is not there is none to remove.
///
/// # Errors
/// When the system refuses.
pub fn remove(path: &Path) -> Result<()> {
    match std::fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            Err(Error::io("cannot be removed", path.display(), &error))
        }
        _ => Ok(()),
    }
}
