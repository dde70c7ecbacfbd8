//! The two ways out: results, and everything else.

use std::io::{self, Write};

use crate::error::{Error, Result};

/// Writes a result to standard output.
///
/// # Errors
/// When it cannot be written; a closed pipe is told apart.
pub fn result(text: &str) -> Result<()> {
    let mut out = io::stdout().lock();
    (out.write_all(text.as_bytes()).and_then(|()| out.flush())).map_err(|error| broken(&error))
}

/// An error of standard output.
pub fn broken(error: &io::Error) -> Error {
    Error::io("cannot be written", "standard output", error)
}

/// Writes a JSON value to standard output.
///
/// # Errors
/// Those of [`result`].
pub fn json(value: &serde_json::Value) -> Result<()> {
    result(&format!("{value:#}\n"))
}

/// Says something that is no result. There is nothing to do if even that fails.
pub fn note(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// Help, a version, or a refusal of the command line, as the parser words it.
///
/// # Errors
/// Those of [`result`].
pub fn clap(refused: &clap::Error) -> Result<u8> {
    match refused.use_stderr() {
        true => {
            note(refused.render().to_string().trim_end());
            Ok(2)
        }
        // Help that ends in an example has no line end of its own.
        false => result(&format!("{}\n", refused.render().to_string().trim_end())).map(|()| 0),
    }
}

/// A float for JSON, rounded to microunits: what is computed exactly prints without noise.
pub fn micro(value: f64) -> serde_json::Value {
    serde_json::json!((value * 1e6).round() / 1e6)
}
