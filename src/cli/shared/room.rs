//! Room on a disk, asked for before the first byte is written.

use std::path::Path;

use crate::error::{Error, Result};
use crate::export::bytes_apart;

/// Refuses to begin what would not fit. Where the system cannot tell, writing will.
///
/// # Errors
/// When the disk of `folder` has fewer `bytes` free; with what is accepted, and an example.
pub fn room_for(folder: &Path, bytes: u64, accepted: &str, example: &str) -> Result<()> {
    match fs4::available_space(folder) {
        Ok(free) if free < bytes => Err(Error::failed(format!(
            "the tracks need {}, and this disk has {} free",
            bytes_apart(bytes, free),
            bytes_apart(free, bytes)
        ))
        .at(folder.display())
        .accepted(accepted)
        .example(example)),
        _ => Ok(()),
    }
}
