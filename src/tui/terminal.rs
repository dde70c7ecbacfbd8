//! The terminal: taken, and given back as it was, whatever ends the program.
//!
//! A panic puts it back through the panic hook, a signal through a flag that the loop reads.
//! While it is taken, standard error goes nowhere: sound libraries print there when a device
//! fails, and would tear the screen.

use std::io::{self, IsTerminal};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use ratatui::DefaultTerminal;

use crate::error::{Error, Result};

/// The terminal while the screen is up.
pub struct Screen {
    /// Draws.
    pub terminal: DefaultTerminal,
    _quiet: Option<Quiet>,
}

impl Screen {
    /// Takes the terminal.
    ///
    /// # Errors
    /// When there is none, or it has no screen of its own.
    pub fn take() -> Result<Self> {
        let failed = |error: io::Error| Error::io("gives no screen", "the terminal", &error);
        // A file of messages is wanted, and tears nothing.
        let quiet = if io::stderr().is_terminal() {
            Some(Quiet::new().map_err(failed)?)
        } else {
            None
        };
        let terminal = ratatui::try_init().map_err(failed)?;
        Ok(Self {
            terminal,
            _quiet: quiet,
        })
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        // The panic hook has done it already, and a second time would put the cursor back to where
        // it has written.
        if !std::thread::panicking() {
            // Nobody is left to tell if even that fails.
            let _ = ratatui::try_restore();
        }
    }
}

/// Signals, as flags.
pub struct Signals {
    ended: Arc<AtomicBool>,
    suspended: Arc<AtomicBool>,
}

impl Signals {
    /// Listens for the signals that end or suspend a program.
    pub fn listen() -> Self {
        let signals = Self {
            ended: Arc::new(AtomicBool::new(false)),
            suspended: Arc::new(AtomicBool::new(false)),
        };
        #[cfg(unix)]
        {
            use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM, SIGTSTP};
            // What cannot be listened for does what it always does.
            for signal in [SIGINT, SIGTERM, SIGHUP] {
                let _ = signal_hook::flag::register(signal, Arc::clone(&signals.ended));
            }
            let _ = signal_hook::flag::register(SIGTSTP, Arc::clone(&signals.suspended));
        }
        signals
    }

    /// Whether the program was asked to end.
    pub fn ended(&self) -> bool {
        self.ended.load(Ordering::Relaxed)
    }

    /// Ends the program half a second after it was asked to, unless the flag that is given says
    /// that it is leaving: a terminal that is gone may hold whoever reads it for ever.
    pub fn insist(&self) -> Arc<AtomicBool> {
        let leaving = Arc::new(AtomicBool::new(false));
        let (ended, left) = (Arc::clone(&self.ended), Arc::clone(&leaving));
        let look = std::time::Duration::from_millis(100);
        // Where there is no thread for it, a signal is heard at the next key.
        let _ = std::thread::Builder::new()
            .name("signals".into())
            .spawn(move || {
                while !ended.load(Ordering::Relaxed) && !left.load(Ordering::Relaxed) {
                    std::thread::sleep(look);
                }
                std::thread::sleep(look * 5);
                if !left.load(Ordering::Relaxed) {
                    let _ = ratatui::try_restore();
                    std::process::exit(1);
                }
            });
        leaving
    }

    /// Whether it was asked to stop for a while, since this was asked last.
    pub fn take_suspended(&self) -> bool {
        self.suspended.swap(false, Ordering::Relaxed)
    }
}

/// Stops the process until it is told to go on; the terminal must have been given back.
pub fn suspend() {
    #[cfg(unix)]
    {
        // Where it cannot stop, it goes on.
        let _ = signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP);
    }
}

/// Standard error goes nowhere while this lives, or until a panic has something to say. Where there
/// is no Unix, nothing prints over the screen.
pub struct Quiet(());

impl Quiet {
    /// Silences standard error.
    ///
    /// # Errors
    /// When the system lends no second handle of it.
    pub fn new() -> io::Result<Self> {
        standard_error::silence()?;
        Ok(Self(()))
    }
}

impl Drop for Quiet {
    fn drop(&mut self) {
        standard_error::give_back();
    }
}

#[cfg(unix)]
mod standard_error {
    use std::fs::OpenOptions;
    use std::io;
    use std::os::fd::OwnedFd;
    use std::sync::{Mutex, Once, PoisonError};

    /// The second handle of standard error while the first one leads nowhere.
    static KEPT: Mutex<Option<OwnedFd>> = Mutex::new(None);
    static HOOK: Once = Once::new();

    pub fn silence() -> io::Result<()> {
        HOOK.call_once(|| {
            let before = std::panic::take_hook();
            std::panic::set_hook(Box::new(move |panic| {
                give_back();
                before(panic);
            }));
        });
        let kept = rustix::io::dup(io::stderr())?;
        let nowhere = OpenOptions::new().write(true).open("/dev/null")?;
        *KEPT.lock().unwrap_or_else(PoisonError::into_inner) = Some(kept);
        rustix::stdio::dup2_stderr(nowhere)?;
        Ok(())
    }

    pub fn give_back() {
        let kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(kept) = kept {
            // Nobody is left to tell if even that fails.
            let _ = rustix::stdio::dup2_stderr(kept);
        }
    }
}

#[cfg(not(unix))]
mod standard_error {
    pub fn silence() -> std::io::Result<()> {
        Ok(())
    }

    pub fn give_back() {}
}
