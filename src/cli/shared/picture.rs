//! Pictures that commands write.

use crate::error::{Error, Result};

/// Puts a picture in its place.
///
/// # Errors
/// When it cannot be written.
pub fn publish_picture(path: &std::path::Path, svg: &str) -> Result<()> {
    use crate::export::{WriteError, publish};
    use std::io::Write;
    let shown = path.display();
    let name = path.file_name().and_then(|name| name.to_str());
    let name = name.ok_or_else(|| {
        Error::input("this names no file")
            .at(&shown)
            .example("chart.svg")
    })?;
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => std::path::Path::new("."),
    };
    publish(folder, name, |file| {
        file.write_all(svg.as_bytes()).map_err(WriteError::Io)
    })
    .map_err(|error| match error {
        WriteError::Io(error) => Error::io("cannot be written", shown, &error),
        WriteError::Stopped(error) => error,
    })
}
