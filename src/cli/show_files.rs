//! What `show` writes: a short sample to hear, a poster to hang up.

use std::fs::File;
use std::io::Write;
use std::path::Path;

use super::args::ShowArgs;
use super::load::Sounds;
use super::out;
use crate::chart::poster;
use crate::error::{Error, Result};
use crate::export::{Job, WriteError, publish};

/// Writes the files that the arguments ask for.
///
/// # Errors
/// When a file is there already, or cannot be written.
pub fn written(args: &ShowArgs, sounds: &Sounds, job: &Job) -> Result<()> {
    if let Some(file) = &args.svg {
        let text = poster(&job.session, &job.schedule);
        put(file, args.force, |out| Ok(out.write_all(text.as_bytes())?))?;
    }
    if let Some(file) = &args.wav {
        let whole = sounds.job(job.session.clone(), job.bank.sample_rate_hz(), false)?;
        put(file, args.force, |out| whole.write_sample(out).map(|_| ()))?;
        if let Some(fault) = whole.bed_fault() {
            return Err(fault);
        }
    }
    Ok(())
}

/// Writes a file whole or not at all, and says so.
fn put(
    file: &Path,
    force: bool,
    write: impl FnOnce(&mut File) -> std::result::Result<(), WriteError>,
) -> Result<()> {
    let shown = file.display().to_string();
    let example = "--svg poster.svg";
    if file.exists() && !force {
        return Err(Error::failed("is there already")
            .at(&shown)
            .accepted("another name, or --force to replace it")
            .example(example));
    }
    let folder = match file.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let name = (file.file_name()).map(|name| name.to_string_lossy().into_owned());
    let name = name.filter(|_| !file.is_dir()).ok_or_else(|| {
        (Error::failed("is no name of a file").at(&shown))
            .accepted("the path of a file to write")
            .example(example)
    })?;
    publish(folder, &name, write).map_err(|error| match error {
        WriteError::Stopped(error) => error,
        WriteError::Io(error) => Error::io("cannot be written", &shown, &error)
            .accepted("a place that may be written")
            .example(example),
    })?;
    out::note(&format!("Wrote {shown}"));
    Ok(())
}
