//! Files that appear under their names whole or not at all.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

use tempfile::{Builder, NamedTempFile};

use super::flac::write_flac;
use super::folder_lock::Folder;
use super::metered::Metered;
use super::side_by_side::side_by_side;
use super::wav::{TrackForm, WriteError, write_wav};
use super::write_ahead::write_ahead;
use super::{Job, Tags, TrackFile, bytes_in_words};
use crate::error::{Error, Result};
use crate::model::track_format::Format;
use crate::model::visible::visible;
use crate::render::FrameSource;
use crate::sound::Loudness;

/// A track as it now stands on disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Its name in the folder.
    pub name: String,
    /// Its size.
    pub bytes: u64,
    /// How loud it is, where that was asked for.
    pub loudness: Option<Loudness>,
}

/// What an unfinished file is called until it is renamed; a killed export may leave one behind.
const UNFINISHED: &str = ".cuelane-unfinished-";

/// How a folder is written.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Whether the loudness of each file is measured.
    pub measure: bool,
    /// Files of a format that takes one core alone are made side by side on so many.
    pub cores: usize,
}

impl Effort {
    /// Files made at a time: WAV waits for the disk, and FLAC takes every core by itself.
    fn at_a_time(self, format: Format) -> usize {
        match format {
            Format::Wav | Format::Flac => 1,
            Format::Mp3 => self.cores,
        }
    }
}

/// Writes every part and then the sheet beside them. Each file is written under a passing name,
/// synced, and renamed, in playing order: some players play in the order of the directory.
///
/// `progress` hears how many bytes of samples have been written since it was last called, and
/// may stop the work.
///
/// # Errors
/// When the folder cannot be written, is full, or `progress` stops. What is finished stays, what
/// is not is removed, and the message says both.
pub fn write_folder(
    job: &Job,
    parts: &[TrackFile],
    form: &TrackForm,
    folder: &Folder,
    sheet: (&str, &str),
    effort: Effort,
    progress: &mut dyn FnMut(u64) -> Result<()>,
) -> Result<Vec<Written>> {
    let folder = folder.path();
    remove_unfinished(folder);
    let mut written: Vec<Written> = Vec::with_capacity(parts.len());
    let make = |at: usize, frames: &mut dyn FnMut(u64) -> Result<()>| {
        let tags = tags(job, &parts[at], at + 1, parts.len());
        make_track(
            job,
            &parts[at],
            *form,
            folder,
            &tags,
            effort.measure,
            frames,
        )
    };
    let take = |at: usize, made: Result<(NamedTempFile, Option<Loudness>), WriteError>| {
        let part = &parts[at];
        let bytes = form.file_bytes(part.length());
        let there = made.and_then(|(unfinished, loudness)| {
            put(folder, &part.name, unfinished)?;
            Ok(loudness)
        });
        let loudness =
            there.map_err(|error| explain(error, &part.name, folder, written.len(), bytes))?;
        if let Some(fault) = job.bed_fault() {
            return Err(fault);
        }
        let about = std::fs::metadata(folder.join(&part.name));
        written.push(Written {
            name: part.name.clone(),
            bytes: about.map_or(bytes, |about| about.len()),
            loudness,
        });
        Ok(())
    };
    let mut heard = |frames: u64| progress(frames * form.frame_bytes());
    let workers = effort.at_a_time(form.format);
    side_by_side(parts.len(), workers, make, &mut heard, take)?;
    let (name, text) = sheet;
    publish(folder, name, |file| {
        file.write_all(text.as_bytes()).map_err(WriteError::Io)
    })
    .map_err(|error| explain(error, name, folder, written.len(), text.len() as u64))?;
    Ok(written)
}

/// Makes one file beside its place, and measures it where that is asked for.
fn make_track(
    job: &Job,
    part: &TrackFile,
    form: TrackForm,
    folder: &Path,
    tags: &Tags,
    measure: bool,
    progress: &mut dyn FnMut(u64) -> Result<()>,
) -> Result<(NamedTempFile, Option<Loudness>), WriteError> {
    let mut loudness = None;
    let unfinished = unfinished(folder, &part.name, |file| {
        let mut mixer = job.source(part, form.channels.fold());
        let length = part.length();
        if !measure {
            return write_track(file, form, &mut mixer, length, tags, progress);
        }
        let mut metered = Metered::new(mixer, form.channels, form.sample_rate_hz);
        write_track(file, form, &mut metered, length, tags, progress)?;
        loudness = Some(metered.read());
        Ok(())
    })?;
    Ok((unfinished, loudness))
}

/// Writes one file in its format.
fn write_track(
    file: &mut File,
    form: TrackForm,
    source: &mut impl FrameSource,
    frames: u64,
    tags: &Tags,
    progress: &mut dyn FnMut(u64) -> Result<()>,
) -> Result<(), WriteError> {
    match form.format {
        Format::Wav => write_ahead(file, |sink| write_wav(sink, form, source, frames, progress)),
        Format::Flac => write_flac(file, form, source, frames, tags, progress),
        #[cfg(feature = "mp3")]
        Format::Mp3 => super::mp3::write_mp3(file, form, source, frames, tags, progress),
        #[cfg(not(feature = "mp3"))]
        Format::Mp3 => Err(WriteError::Stopped(Error::failed(
            "this build of the program writes no MP3",
        ))),
    }
}

fn tags(job: &Job, part: &TrackFile, number: usize, of: usize) -> Tags {
    let set = &job.session.sets[part.set as usize - 1];
    let title = match (of, part.repeats.len()) {
        (1, _) => job.session.title.clone(),
        (_, 1) if set.repeats > 1 => format!("{}, {} of {}", set.name, part.repeat, set.repeats),
        _ => set.name.clone(),
    };
    Tags {
        title: visible(&title).into(),
        album: visible(&job.session.title).into(),
        number,
        of,
    }
}

/// Writes a file beside its place, syncs it, and gives it its name; on an error nothing is left.
///
/// # Errors
/// Of the writer or the disk, or where a pipe or a device has that name: a file would take its place.
pub fn publish(
    folder: &Path,
    name: &str,
    write: impl FnOnce(&mut File) -> Result<(), WriteError>,
) -> Result<(), WriteError> {
    put(folder, name, unfinished(folder, name, write)?)
}

/// Writes a file beside its place and syncs it.
fn unfinished(
    folder: &Path,
    name: &str,
    write: impl FnOnce(&mut File) -> Result<(), WriteError>,
) -> Result<NamedTempFile, WriteError> {
    let there = std::fs::metadata(folder.join(name));
    if there.is_ok_and(|about| !about.is_file() && !about.is_dir()) {
        let why = "it is a pipe or a device, and a file would take its place";
        return Err(WriteError::Io(io::Error::new(
            io::ErrorKind::InvalidInput,
            why,
        )));
    }
    let mut unfinished = open_unfinished(folder).map_err(WriteError::Io)?;
    write(unfinished.as_file_mut())?;
    unfinished.as_file().sync_all().map_err(WriteError::Io)?;
    Ok(unfinished)
}

/// Gives a file its name.
fn put(folder: &Path, name: &str, unfinished: NamedTempFile) -> Result<(), WriteError> {
    unfinished
        .persist(folder.join(name))
        .map_err(|error| WriteError::Io(error.error))?;
    sync_folder(folder).map_err(WriteError::Io)
}

fn open_unfinished(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(UNFINISHED);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A track is no secret: readable like any file the person makes, less their umask.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// The new name itself is on disk only once the folder is synced.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Windows has no handle of a folder to sync; its rename is journalled.
#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Removes what a killed export left behind, unless it may still be at work: one that writes
/// touches its file many times a minute. Failing is no harm: the names are hidden.
fn remove_unfinished(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let is_ours = entry.file_name().to_string_lossy().starts_with(UNFINISHED);
        let idle = || {
            entry
                .metadata()
                .and_then(|about| about.modified())
                .ok()?
                .elapsed()
                .ok()
        };
        if is_ours && idle().is_some_and(|time| time.as_secs() > 60) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

fn explain(error: WriteError, name: &str, folder: &Path, finished: usize, bytes: u64) -> Error {
    let kept = match finished {
        _ if !folder.exists() => "the folder is gone, with what was in it".to_string(),
        0 => "no track was finished, and nothing half-written is left".to_string(),
        1 => "1 track is finished and stays; nothing half-written is left".to_string(),
        n => format!("{n} tracks are finished and stay; nothing half-written is left"),
    };
    let error = match error {
        WriteError::Stopped(why) => return Error::failed(format!("{why}; {kept}")),
        WriteError::Io(error) => error,
    };
    let place = folder.join(name);
    let full = matches!(
        error.kind(),
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded
    );
    let what = if full {
        format!(
            "the disk is full: this file needs {}",
            bytes_in_words(bytes)
        )
    } else {
        format!("cannot be written: {error}")
    };
    let accepted = if full {
        "a folder on a disk with room, or a smaller form (--channels mono, --bits 16)"
    } else {
        "a folder that exists and may be written"
    };
    Error::failed(format!("{what}; {kept}"))
        .at(place.display())
        .accepted(accepted)
        .example("--out tracks")
}
