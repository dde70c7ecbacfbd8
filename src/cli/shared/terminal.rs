//! What needs a terminal says so before it starts.

use crate::error::{Error, Result};

/// Refuses to run where there is no terminal to read keys from and to draw on.
///
/// # Errors
/// Where there is none.
pub fn terminal_only(command: &str, instead: &str) -> Result<()> {
    use std::io::{IsTerminal, stdin, stdout};
    if stdin().is_terminal() && stdout().is_terminal() {
        Ok(())
    } else {
        Err(
            Error::input(format!("{command} needs a terminal, and this is none"))
                .accepted("a terminal of 80 x 24 or more")
                .example(instead),
        )
    }
}
