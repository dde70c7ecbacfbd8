//! What `show` writes: a short sample to hear, a poster to hang up.

use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::chart::poster;
use crate::cli::shared::load::Sounds;
use crate::cli::shared::out;
use crate::cli::shared::save::may_write;
use crate::error::{Error, Result};
use crate::export::{Job, WriteError, publish};

/// The files that `show` is asked to write.
#[derive(Debug, clap::Args)]
pub struct FileArgs {
    /// Write a short sample of the session as WAV: opening, an announcement, counts and four
    /// cycles of each set
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,
    /// Write a poster of the session as SVG: A4, black and white; a long session takes several
    /// sheets, FILE-2, FILE-3, ...
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long)]
    pub force: bool,
}

/// What a file's name may look like.
const EXAMPLE: &str = "--svg poster.svg";

/// Writes the files that the arguments ask for.
///
/// # Errors
/// When a file is there already, or cannot be written.
pub fn written(args: &FileArgs, sounds: &Sounds, job: &Job) -> Result<()> {
    if let Some(file) = &args.svg {
        let sheets = poster(&job.session, &job.schedule);
        // All or none: a sheet that is there already is found before the first is written.
        for number in 1..=sheets.len() {
            place(&sheet_name(file, number), args.force)?;
        }
        for (at, text) in sheets.iter().enumerate() {
            let file = sheet_name(file, at + 1);
            put(&file, args.force, |out| Ok(out.write_all(text.as_bytes())?))?;
        }
        let name = |number: usize| sheet_name(file, number).display().to_string();
        out::note(&match sheets.len() {
            1 => format!("Wrote {}", name(1)),
            2 => format!("Wrote 2 sheets: {}, {}", name(1), name(2)),
            n => format!("Wrote {n} sheets: {}, {} to {}", name(1), name(2), name(n)),
        });
        let next = sheet_name(file, sheets.len() + 1);
        if next.exists() {
            out::note(&format!(
                "note: {} is no sheet of this poster; it was there before",
                next.display()
            ));
        }
    }
    if let Some(file) = &args.wav {
        let whole = sounds.job(job.session.clone(), job.bank.sample_rate_hz(), false)?;
        put(file, args.force, |out| whole.write_sample(out).map(|_| ()))?;
        out::note(&format!("Wrote {}", file.display()));
        if let Some(fault) = whole.bed_fault() {
            return Err(fault);
        }
    }
    Ok(())
}

/// The name of a sheet of the poster: `poster.svg`, `poster-2.svg`, ...
fn sheet_name(first: &Path, number: usize) -> PathBuf {
    let (Some(stem), 2..) = (first.file_stem(), number) else {
        return first.into();
    };
    let mut name = stem.to_os_string();
    name.push(format!("-{number}"));
    if let Some(kind) = first.extension() {
        name.push(".");
        name.push(kind);
    }
    first.with_file_name(name)
}

/// The folder and the name of a file to write.
fn place(file: &Path, force: bool) -> Result<(&Path, String)> {
    may_write(file, force).map_err(|error| error.example(EXAMPLE))?;
    let folder = match file.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let name = (file.file_name()).map(|name| name.to_string_lossy().into_owned());
    match name.filter(|_| !file.is_dir()) {
        Some(name) => Ok((folder, name)),
        None => Err((Error::failed("is no name of a file").at(file.display()))
            .accepted("the path of a file to write")
            .example(EXAMPLE)),
    }
}

/// Writes a file whole or not at all.
fn put(
    file: &Path,
    force: bool,
    write: impl FnOnce(&mut File) -> std::result::Result<(), WriteError>,
) -> Result<()> {
    let (folder, name) = place(file, force)?;
    publish(folder, &name, write).map_err(|error| match error {
        WriteError::Stopped(error) => error,
        WriteError::Io(error) => Error::io("cannot be written", file.display(), &error)
            .accepted("a place that may be written")
            .example(EXAMPLE),
    })
}
