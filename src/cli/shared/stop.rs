//! A wish to stop from outside: Ctrl-C, or a signal.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::error::{Error, Result};

/// Set by a signal, read between steps of work.
static STOPPED: AtomicBool = AtomicBool::new(false);

/// From here on a signal is heard and no longer ends the process. Where no handler can be set it
/// still does, which leaves no half file under a real name either: no reason to stop.
pub fn listen() {
    let _ = ctrlc::set_handler(|| STOPPED.store(true, Ordering::Relaxed));
}

/// Whether a signal came.
pub fn is_wished() -> bool {
    STOPPED.load(Ordering::Relaxed)
}

/// Stops work that a signal has asked to end.
///
/// # Errors
/// Once a signal came.
pub fn unless_wished() -> Result<()> {
    if is_wished() {
        Err(Error::failed("stopped by a signal"))
    } else {
        Ok(())
    }
}
