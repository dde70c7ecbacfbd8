//! What files may weigh, and what they would.

use super::job::{Job, TrackFile};
use super::wav::{LARGEST_BYTES, TrackForm};
use crate::error::{Error, Result};
use crate::model::track_format::{Division, Format};

/// Refuses parts that no WAV file, FAT32 card or player can hold, and says which division would fit.
///
/// # Errors
/// When a file would pass the limit of the format, or of the player (`largest_mb`).
pub fn check_sizes(
    job: &Job,
    parts: &[TrackFile],
    form: &TrackForm,
    largest_mb: Option<u64>,
) -> Result<()> {
    let players = largest_mb.filter(|_| form.size_is_known());
    let limit = players.map_or(LARGEST_BYTES, |mb| (mb * 1_000_000).min(LARGEST_BYTES));
    let fits = |part: &TrackFile| {
        if form.size_is_known() {
            form.file_bytes(part.length()) <= limit && part.length() <= form.most_frames()
        } else {
            form.file_bytes(part.length()) <= limit
        }
    };
    let Some(too_large) = parts.iter().find(|part| !fits(part)) else {
        return Ok(());
    };
    let bytes = form.file_bytes(too_large.length());
    let whose = match largest_mb {
        Some(mb) if limit < LARGEST_BYTES => format!("the player's limit of {mb} MB (largest_mb)"),
        _ => "the 4 GiB limit of WAV files and FAT32 cards".to_string(),
    };
    Err(too_large_file(
        job,
        &too_large.name,
        (bytes, limit),
        &whose,
        fits,
    ))
}

/// The refusal of a file that has too many bytes, with the division that would help.
fn too_large_file(
    job: &Job,
    name: &str,
    (bytes, limit): (u64, u64),
    whose: &str,
    fits: impl Fn(&TrackFile) -> bool,
) -> Error {
    let fitting = [Division::PerSet, Division::PerRepeat]
        .into_iter()
        .find(|division| job.parts(*division, Format::Wav, None).iter().all(&fits));
    let error = Error::input(format!(
        "{name} would have {}, over {whose}",
        bytes_apart(bytes, limit)
    ));
    match fitting {
        Some(division) => error
            .accepted(format!(
                "shorter files: --files {} would fit",
                division.word()
            ))
            .example(format!("--files {}", division.word())),
        None => error
            .accepted(
                "shorter repeats, fewer bits, or one channel; no division of this session fits",
            )
            .example("--channels mono --bits 16"),
    }
}

/// A size for people beside another one that is not the same.
pub fn bytes_apart(bytes: u64, other: u64) -> String {
    match bytes_in_words(bytes) {
        same if same == bytes_in_words(other) => format!("{bytes} bytes"),
        differs => differs,
    }
}

/// A size for people, decimal as cards are sold: `84.7 MB`.
pub fn bytes_in_words(bytes: u64) -> String {
    let value = bytes as f64;
    match bytes {
        0..1_000 => format!("{bytes} bytes"),
        1_000..1_000_000 => format!("{:.1} kB", value / 1e3),
        1_000_000..1_000_000_000 => format!("{:.1} MB", value / 1e6),
        _ => format!("{:.2} GB", value / 1e9),
    }
}
