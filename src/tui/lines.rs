//! The deck without a screen: a line for each thing that happens, for a screen reader or a pipe. The
//! keys are the same, from a terminal or, one character each, from standard input.

use std::io::{IsTerminal, Read, stdin};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use ratatui::crossterm::event::{self, Event, KeyCode, KeyEvent};
use ratatui::crossterm::terminal::{disable_raw_mode, enable_raw_mode};

use super::app::{Action, App};
use super::run::{Hooks, Work, failed};
use super::terminal::{Signals, suspend};
use crate::error::Result;
use crate::live::{Deck, Remote};

/// From one look at everything to the next.
const LOOK: Duration = Duration::from_millis(20);

/// Keys as they come.
enum Keys {
    /// From a terminal, which gives them one by one and is given back at the end.
    Terminal(Raw),
    /// From a pipe or a file; none comes any more once it has ended.
    Stream(Receiver<(Instant, KeyCode)>, bool),
}

/// A terminal that gives each key at once.
struct Raw;

impl Raw {
    fn take() -> Result<Self> {
        enable_raw_mode().map_err(failed)?;
        Ok(Self)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        // Nobody is left to tell if even that fails.
        let _ = disable_raw_mode();
    }
}

impl Keys {
    fn open() -> Result<Self> {
        if stdin().is_terminal() {
            return Raw::take().map(Self::Terminal);
        }
        let (to, keys) = channel();
        // Without a thread for it there are no keys, as at the end of a file.
        let _ = std::thread::Builder::new()
            .name("keys".into())
            .spawn(move || {
                for byte in stdin().lock().bytes() {
                    let Ok(byte) = byte else { return };
                    if to.send((Instant::now(), key_of(byte))).is_err() {
                        return;
                    }
                }
            });
        Ok(Self::Stream(keys, false))
    }

    /// The next key, waiting for it a little.
    fn next(&mut self) -> Result<Option<(Instant, KeyEvent)>> {
        match self {
            Self::Terminal(_) => {
                if !event::poll(LOOK).map_err(failed)? {
                    return Ok(None);
                }
                Ok(match event::read().map_err(failed)? {
                    Event::Key(key) => Some((Instant::now(), key)),
                    _ => None,
                })
            }
            Self::Stream(keys, ended) => match keys.try_recv() {
                Ok((at, code)) => Ok(Some((at, KeyEvent::from(code)))),
                Err(why) => {
                    *ended = why == TryRecvError::Disconnected;
                    std::thread::sleep(LOOK);
                    Ok(None)
                }
            },
        }
    }

    fn ended(&self) -> bool {
        matches!(self, Self::Stream(_, true))
    }

    /// What ends a line: a terminal that gives each key does not go back by itself.
    fn line_end(&self) -> &'static str {
        match self {
            Self::Terminal(_) => "\r\n",
            Self::Stream(..) => "\n",
        }
    }
}

/// A character of a stream as a key: arrows are `^ v < >`.
fn key_of(byte: u8) -> KeyCode {
    match byte {
        b'\n' | b'\r' => KeyCode::Enter,
        0x1b => KeyCode::Esc,
        0x08 | 0x7f => KeyCode::Backspace,
        b'^' => KeyCode::Up,
        b'v' => KeyCode::Down,
        b'<' => KeyCode::Left,
        b'>' => KeyCode::Right,
        other => KeyCode::Char(other.into()),
    }
}

/// Runs the deck with a line for each event, until it is quit, or the session and the keys have
/// ended. `tell` writes a text.
///
/// # Errors
/// When the terminal cannot be read, or a line not be written.
pub fn run_lines<'h>(
    app: App,
    remote: Remote,
    deck: &'h Deck,
    hooks: Hooks<'h>,
    tell: &mut dyn FnMut(&str) -> Result<()>,
) -> Result<()> {
    let signals = Signals::listen();
    let mut keys = Keys::open()?;
    let mut work = Work::new(app, remote, deck, hooks);
    let leaving = signals.insist();
    let mut quits = false;
    let told = (|| {
        while !signals.ended() && !quits {
            if let Some((at, key)) = keys.next()? {
                let moment = work.at(at);
                match work.app.key(key, moment) {
                    Some(Action::Quit) => quits = true,
                    Some(Action::Save) => work.save(),
                    Some(Action::Suspend) => suspend(),
                    None => {}
                }
            }
            work.look();
            work.face(Instant::now());
            for line in work.app.take_lines() {
                tell(&format!("{line}{}", keys.line_end()))?;
            }
            quits |= keys.ended() && work.app.is_over();
        }
        Ok(())
    })();
    leaving.store(true, std::sync::atomic::Ordering::Relaxed);
    told
}
