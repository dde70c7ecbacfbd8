//! A folder that one export has for itself for as long as it writes there.
//!
//! The lock goes with the process, however that ends, and leaves no file among the tracks. On Unix
//! it lies on the folder itself, which needs no right to write. Windows locks no folder: there a
//! hidden file is opened that nobody else can open, and that the system removes once it is closed.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::error::{Error, Result};

/// A folder for tracks, held against every other export until it is dropped; one that was made
/// for them and stays empty is taken away again.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    made: bool,
    /// None where the file system knows no locks, or the folder is let go.
    lock: Option<File>,
}

impl Folder {
    /// Makes a folder if it is not there, and holds it.
    ///
    /// # Errors
    /// When it cannot be made or read, is a file, or another export holds it.
    pub fn hold(path: &Path) -> Result<Self> {
        let mut made = make(path)?;
        let mut asked = ask(path);
        if matches!(&asked, Err(Refused::Io(error)) if error.kind() == io::ErrorKind::NotFound) {
            // Whoever held it has just taken it away again.
            made = make(path)?;
            asked = ask(path);
        }
        let lock = asked.map_err(|refused| match refused {
            Refused::ByAnother => Error::failed("another export is writing into this folder")
                .at(path.display())
                .accepted("another folder, or this one once that export has ended")
                .example("--out tracks-2"),
            Refused::Io(error) => Error::io("this folder cannot be read", path.display(), &error)
                .accepted("a folder that you may read and write")
                .example("--out tracks"),
        })?;
        Ok(Self {
            path: path.to_path_buf(),
            made,
            lock,
        })
    }

    /// Where it is, as it was named.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // The file that is the lock would keep the folder from going.
        if cfg!(windows) {
            self.lock = None;
        }
        if self.made {
            // Refused by the system unless it is empty, which is what is wanted.
            let _ = fs::remove_dir(&self.path);
        }
    }
}

/// Makes a folder; whether it was not there.
fn make(path: &Path) -> Result<bool> {
    let place = path.display();
    if path.exists() && !path.is_dir() {
        return Err(Error::failed("this is a file, and tracks need a folder")
            .at(place)
            .accepted("a folder, which is made if it is not there")
            .example("--out tracks"));
    }
    let made = !path.exists();
    fs::create_dir_all(path).map_err(|error| {
        Error::io("this folder cannot be made", place, &error)
            .accepted("a place where you may write")
            .example("--out tracks")
    })?;
    Ok(made)
}

/// Why a folder is not held.
enum Refused {
    ByAnother,
    Io(io::Error),
}

impl From<io::Error> for Refused {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

/// The lock of a folder that is there; none where the file system knows no locks.
#[cfg(unix)]
fn ask(path: &Path) -> Result<Option<File>, Refused> {
    use same_file::Handle;
    use std::fs::TryLockError;

    let folder = File::open(path)?;
    match folder.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => return Err(Refused::ByAnother),
        Err(TryLockError::Error(_)) => return Ok(None),
    }
    // The lock of a folder that was taken away while it was asked for holds nothing.
    let held = Handle::from_file(folder.try_clone()?)?;
    if Handle::from_path(path)? == held {
        Ok(Some(folder))
    } else {
        Err(io::Error::from(io::ErrorKind::NotFound).into())
    }
}

/// The same on Windows.
#[cfg(windows)]
fn ask(path: &Path) -> Result<Option<File>, Refused> {
    use std::os::windows::fs::OpenOptionsExt;

    /// `FILE_FLAG_DELETE_ON_CLOSE`, `FILE_ATTRIBUTE_HIDDEN`, `ERROR_SHARING_VIOLATION`.
    const DELETE_ON_CLOSE: u32 = 0x0400_0000;
    const HIDDEN: u32 = 0x2;
    const SHARING_VIOLATION: i32 = 32;
    let lock = (fs::OpenOptions::new().write(true).create(true))
        .share_mode(0)
        .custom_flags(DELETE_ON_CLOSE)
        .attributes(HIDDEN)
        .open(path.join(".cuelane-lock"));
    match lock {
        Err(error) if error.raw_os_error() == Some(SHARING_VIOLATION) => Err(Refused::ByAnother),
        other => Ok(Some(other?)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_one_exports_own_until_it_is_dropped() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("a/tracks");
        let held = Folder::hold(&path).expect("nobody holds it");
        let error = Folder::hold(&path).expect_err("it is held");
        assert_eq!(error.exit_code(), 1);
        let message = error.to_string();
        assert!(
            message.starts_with(&path.display().to_string()),
            "{message}"
        );
        assert!(message.contains("another export is writing"), "{message}");
        let other = Folder::hold(&home.path().join("a")).expect("another folder");
        drop(held);
        assert!(!path.exists(), "made for an export that wrote nothing");
        let held = Folder::hold(&path).expect("it is free again");
        fs::write(path.join("track.wav"), "sound").expect("our own folder");
        drop((held, other));
        let entries = fs::read_dir(&path).expect("it is there").flatten();
        let names: Vec<_> = entries.map(|entry| entry.file_name()).collect();
        assert_eq!(names, ["track.wav"], "no lock stays behind");
    }

    /// The one who makes a folder and fails must not take it from the one who waits for it.
    #[cfg(unix)]
    #[test]
    fn a_folder_that_was_taken_away_and_made_anew_is_another() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("tracks");
        let first = Folder::hold(&path).expect("nobody holds it");
        fs::remove_dir(&path).expect("it is empty");
        let second = Folder::hold(&path).expect("another folder of the same name");
        assert!(second.lock.is_some() && first.lock.is_some());
        assert!(Folder::hold(&path).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn one_folder_by_two_names_is_held_once() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("tracks");
        let _held = Folder::hold(&path).expect("nobody holds it");
        let other = home.path().join("other");
        std::os::unix::fs::symlink(&path, &other).expect("our own folder");
        assert!(Folder::hold(&other).is_err());
        assert!(Folder::hold(&home.path().join("tracks/../tracks")).is_err());
    }
}
