//! Sound libraries print to standard error when they are asked for devices that are not there.

/// Runs `ask` with standard error going nowhere, so that only our own words are read.
pub fn while_asking<T>(ask: impl FnOnce() -> T) -> T {
    #[cfg(unix)]
    let _quiet = crate::tui::Quiet::new();
    ask()
}
