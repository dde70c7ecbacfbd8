//! The two ways out: results, and everything else.

use std::borrow::Cow;
use std::fmt::{Display, Write as _};
use std::io::{self, BufRead, StdoutLock, Write};

use crate::error::{Error, Result};
use crate::model::visible::{holds_obeyed, is_obeyed, visible};

/// Whether the program was started with standard output closed, as by `>&-`.
#[cfg(unix)]
mod closed {
    use std::sync::atomic::{AtomicBool, Ordering};

    static CLOSED: AtomicBool = AtomicBool::new(false);

    /// Runs before `main`, and before the standard library, which opens /dev/null in the place of
    /// what is closed: after that, a result that went nowhere would be taken for printed.
    #[ctor::ctor]
    fn ask() {
        let about = rustix::io::fcntl_getfd(rustix::stdio::stdout());
        CLOSED.store(about.is_err(), Ordering::Relaxed);
    }

    pub fn at_start() -> bool {
        CLOSED.load(Ordering::Relaxed)
    }
}

/// Standard output, for results.
///
/// # Errors
/// When the program was started without one.
pub fn stdout() -> Result<StdoutLock<'static>> {
    open().map_err(|error| broken(&error))
}

fn open() -> io::Result<StdoutLock<'static>> {
    #[cfg(unix)]
    if closed::at_start() {
        return Err(io::Error::other("it is closed"));
    }
    Ok(io::stdout().lock())
}

/// Writes a result to standard output.
///
/// # Errors
/// When it cannot be written; a closed pipe is told apart.
pub fn result(text: &str) -> Result<()> {
    shown(text).map_err(|error| broken(&error))
}

fn shown(text: &str) -> io::Result<()> {
    let mut out = open()?;
    out.write_all(visible(text).as_bytes())?;
    out.flush()
}

/// A result that is written while it is made.
///
/// Up to a MiB of it is held: what is said beside an ordinary result comes before it, and an error
/// leaves nothing half written.
#[derive(Default)]
pub struct Growing {
    text: String,
    json: bool,
}

impl Growing {
    /// JSON, which is [`escaped`].
    pub fn json() -> Self {
        let json = true;
        Self {
            json,
            ..Self::default()
        }
    }

    /// Adds a line.
    ///
    /// # Errors
    /// Those of [`result`].
    pub fn line(&mut self, line: impl Display) -> Result<()> {
        writeln!(self, "{line}").map_err(|error| broken(&error))
    }

    /// Writes what is left of it.
    ///
    /// # Errors
    /// Those of [`result`].
    pub fn end(mut self) -> Result<()> {
        self.flush().map_err(|error| broken(&error))
    }
}

impl Write for Growing {
    /// Takes whole characters only.
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        const HELD_BYTES: usize = 1 << 20;
        let text = std::str::from_utf8(bytes).map_err(io::Error::other)?;
        if self.text.len() + text.len() > HELD_BYTES {
            self.flush()?;
        }
        self.text.push_str(text);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        let text = std::mem::take(&mut self.text);
        if self.json {
            shown(&escaped(&text))
        } else {
            shown(&text)
        }
    }
}

/// An error of standard output.
pub fn broken(error: &io::Error) -> Error {
    Error::io("cannot be written", "standard output", error)
}

/// JSON in which no string holds what a terminal would obey, in JSON's own way of writing it. All
/// such characters have four digits, and outside strings there are none.
pub fn escaped(json: &str) -> Cow<'_, str> {
    if !holds_obeyed(json) {
        return json.into();
    }
    let mut safe = String::with_capacity(json.len());
    for c in json.chars() {
        if is_obeyed(c) {
            let _ = write!(safe, "\\u{:04x}", u32::from(c));
        } else {
            safe.push(c)
        }
    }
    safe.into()
}

/// Says something that is no result. There is nothing to do if even that fails.
pub fn note(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", visible(text));
}

/// Asks a question, the cursor behind it, and gives the answer without blanks around it; none at
/// the end of standard input.
///
/// # Errors
/// When the terminal cannot be written to, or standard input not be read.
pub fn ask(question: &str) -> Result<Option<String>> {
    let mut terminal = io::stderr().lock();
    (terminal.write_all(visible(question).as_bytes()))
        .and_then(|()| terminal.flush())
        .map_err(|error| Error::io("cannot be written", "the terminal", &error))?;
    let mut answer = String::new();
    let read = (io::stdin().lock().read_line(&mut answer))
        .map_err(|error| Error::io("cannot be read", "standard input", &error))?;
    Ok((read > 0).then(|| answer.trim().to_string()))
}

/// One line that is written over itself. Where it cannot be shown, nothing is lost but it.
pub fn line(line: &str) {
    let mut terminal = io::stderr().lock();
    let _ = write!(terminal, "\r{:<78}", visible(line)).and_then(|()| terminal.flush());
}

/// Help, a version, or a refusal of the command line, as the parser words it.
///
/// # Errors
/// Those of [`result`].
pub fn clap(refused: &clap::Error) -> Result<u8> {
    if refused.use_stderr() {
        note(refused.render().to_string().trim_end());
        Ok(2)
    } else {
        result(&format!("{}\n", refused.render().to_string().trim_end())).map(|()| 0)
    }
}
