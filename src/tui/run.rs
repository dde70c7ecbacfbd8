//! The loop: keys to the engine, its state to the screen, thirty times a second at most.

use std::io;
use std::time::{Duration, Instant};

use ratatui::crossterm::event::{self, Event};

use super::app::{Action, App, DeckView, KeyTime};
use super::draw::draw;
use super::face::Face;
use super::session::Played;
use super::terminal::{Screen, Signals, suspend};
use crate::error::{Error, Result};
use crate::live::{Deck, Remote};

/// How long a command waits for room among those that the engine has not taken yet.
const ROOM: Duration = Duration::from_millis(5);
/// From one frame of the screen to the next.
const FRAME: Duration = Duration::from_millis(40);

/// What the screen asks of the rest of the program.
pub struct Hooks<'h> {
    /// Writes the present settings as a session and says where.
    pub save: &'h mut dyn FnMut(&App) -> Result<String>,
    /// Keeps what was sounded.
    pub log: &'h mut dyn FnMut(&Played) -> Result<()>,
}

/// Runs the screen until it is quit.
///
/// # Errors
/// When the terminal cannot be taken or read, or the log cannot be written at the end.
pub fn run(mut app: App, mut remote: Remote, deck: &Deck, hooks: Hooks) -> Result<()> {
    let signals = Signals::listen();
    let mut screen = Some(Screen::take()?);
    let epoch = Instant::now();
    let mut drawn: Option<(Instant, Face)> = None;
    let mut log = Ok(());
    let leaving = signals.insist();
    while !signals.ended() {
        // A key ends the wait at once: it never waits for the screen.
        let wait =
            (drawn.as_ref()).map_or(Duration::ZERO, |(at, _)| FRAME.saturating_sub(at.elapsed()));
        if event::poll(wait).map_err(failed)? {
            match event::read().map_err(failed)? {
                Event::Key(key) => {
                    let now = Instant::now();
                    let moment = KeyTime {
                        now_s: (now - epoch).as_secs_f64(),
                        heard_frame: deck.heard_frame(now),
                    };
                    match app.key(key, moment) {
                        None => {}
                        Some(Action::Quit) => break,
                        Some(Action::Suspend) => {
                            away(&mut screen)?;
                            drawn = None;
                        }
                        Some(Action::Save) => {
                            let said = (hooks.save)(&app);
                            app.say(said.unwrap_or_else(|error| one_line(&error)));
                        }
                    }
                }
                Event::Resize(..) => drawn = None,
                _ => {}
            }
        }
        if signals.take_suspended() {
            away(&mut screen)?;
            drawn = None;
        }
        hand_over(&mut app, &mut remote);
        if let Some(played) = app.take_state(remote.state()) {
            log = (hooks.log)(&played);
            if let Err(error) = &log {
                app.say(one_line(error));
            }
        }
        let now = Instant::now();
        if drawn.as_ref().is_none_or(|(at, _)| now - *at >= FRAME) {
            let before = drawn.take().map(|(_, face)| face);
            let face = show(&mut app, deck, now, before, &mut screen)?;
            drawn = Some((now, face));
        }
    }
    leaving.store(true, std::sync::atomic::Ordering::Relaxed);
    drop(screen);
    if let Some(played) = app.last_played() {
        return (hooks.log)(&played);
    }
    log
}

/// Hands the commands that the keys gave to the engine. It waits only where a held key fills the
/// queue faster than buffers come.
fn hand_over(app: &mut App, remote: &mut Remote) {
    for command in app.take_commands() {
        let begun = Instant::now();
        while !remote.send(command) && begun.elapsed() < Duration::from_millis(500) {
            std::thread::sleep(ROOM);
        }
    }
}

/// Draws the face of this moment where it differs from the one before, and gives it.
fn show(
    app: &mut App,
    deck: &Deck,
    now: Instant,
    before: Option<Face>,
    screen: &mut Option<Screen>,
) -> Result<Face> {
    let view = DeckView {
        sound: deck.sound(),
        underruns: deck.underruns(),
        latency_ms: deck.latency().as_secs_f64() * 1e3,
    };
    let face = app.face(&view, deck.heard_frame(now));
    if let (true, Some(screen)) = (before.as_ref() != Some(&face), screen) {
        (screen.terminal.draw(|frame| draw(frame, &face))).map_err(failed)?;
    }
    Ok(face)
}

/// An error of the terminal, as it is told.
fn failed(error: io::Error) -> Error {
    Error::io("cannot be used", "the terminal", &error)
}

/// Gives the terminal back, stops, and takes it again.
fn away(screen: &mut Option<Screen>) -> Result<()> {
    screen.take();
    suspend();
    *screen = Some(Screen::take()?);
    Ok(())
}

/// An error for one line of the screen.
fn one_line(error: &Error) -> String {
    error.to_string().lines().collect::<Vec<_>>().join("; ")
}
