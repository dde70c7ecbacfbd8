//! The loop: keys to the engine, its state to the screen, thirty times a second at most.

use std::io;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use ratatui::crossterm::event::{self, Event};

use super::app::{Action, App, DeckView};
use super::draw::draw;
use super::face::Face;
use super::handed::{KeptResult, Laying};
use super::terminal::{Screen, Signals, suspend};
use crate::error::{Error, Result};
use crate::live::{Deck, KeyTime, Laid, Remote};

/// How long a command waits for room among those that the engine has not taken yet.
const ROOM: Duration = Duration::from_millis(5);
/// From one frame of the screen to the next.
const FRAME: Duration = Duration::from_millis(40);

/// Whoever passes on what hands away from the keyboard ask for.
pub trait Away {
    /// Does what was asked for since the last call. `at` is the instant on both clocks.
    fn work(&mut self, app: &mut App, now: Instant, at: KeyTime);
    /// Shows how everything is now.
    fn show(&mut self, app: &App, face: &Face);
}

/// What the screen asks of the rest of the program.
pub struct Hooks<'h> {
    /// Writes the present settings as a session and says where.
    pub save: &'h mut dyn FnMut(&App) -> Result<String>,
    /// Lays the session out as it goes now.
    pub lay: &'h mut dyn FnMut(&Laying) -> Laid,
    /// Keeps a result, which may take a while.
    pub keep: &'h mut dyn FnMut(KeptResult),
    /// What became of results that were handed over, a sentence at a time.
    pub told: &'h mut dyn FnMut() -> Option<String>,
    /// Hands away from the keyboard.
    pub away: Option<&'h mut dyn Away>,
}

/// The deck while it is worked: keys in, commands out.
pub(super) struct Work<'h> {
    pub app: App,
    pub remote: Remote,
    pub deck: &'h Deck,
    pub hooks: Hooks<'h>,
    epoch: Instant,
}

impl<'h> Work<'h> {
    pub fn new(app: App, remote: Remote, deck: &'h Deck, hooks: Hooks<'h>) -> Self {
        Self {
            app,
            remote,
            deck,
            hooks,
            epoch: Instant::now(),
        }
    }

    /// An instant on both clocks.
    pub fn at(&self, now: Instant) -> KeyTime {
        KeyTime {
            now_s: (now - self.epoch).as_secs_f64(),
            heard_frame: self.deck.heard_frame(now),
        }
    }

    /// Writes the present settings, and says so.
    pub fn save(&mut self) {
        let said = (self.hooks.save)(&self.app);
        self.app.say(said.unwrap_or_else(|error| one_line(&error)));
    }

    /// Hands over what the keys gave, and takes the state of everything.
    pub fn look(&mut self) {
        let now = Instant::now();
        let moment = self.at(now);
        if let Some(away) = &mut self.hooks.away {
            away.work(&mut self.app, now, moment);
        }
        self.hand_over();
        let state = self.remote.state();
        let at = self.at(Instant::now());
        self.app.take_state(state, at);
        for kept in self.app.take_results() {
            (self.hooks.keep)(kept);
        }
        while let Some(told) = (self.hooks.told)() {
            self.app.say_as("result", told);
        }
    }

    /// Hands the commands that the keys gave to the engine. It waits only where a held key fills
    /// the queue faster than buffers come.
    fn hand_over(&mut self) {
        for command in self.app.take_commands() {
            let begun = Instant::now();
            while !self.remote.send(command) && begun.elapsed() < Duration::from_millis(500) {
                std::thread::sleep(ROOM);
            }
        }
        if let Some(laying) = self.app.take_laying() {
            let laid = (self.hooks.lay)(&laying);
            let begun = Instant::now();
            while !self.remote.lay(&laid) && begun.elapsed() < Duration::from_millis(500) {
                std::thread::sleep(ROOM);
            }
            self.app.lay(&laid.timeline);
        }
    }

    /// The face of a moment, shown to hands away from the keyboard too.
    pub fn face(&mut self, now: Instant) -> Face {
        let (view, moment) = (self.view(), self.at(now));
        let face = self.app.face(&view, moment);
        if let Some(away) = &mut self.hooks.away {
            away.show(&self.app, &face);
        }
        face
    }

    /// The deck at present.
    pub fn view(&self) -> DeckView {
        DeckView {
            sound: self.deck.sound(),
            underruns: self.deck.underruns(),
            latency_ms: self.deck.latency().as_secs_f64() * 1e3,
        }
    }
}

/// Runs the screen until it is quit.
///
/// # Errors
/// When the terminal cannot be taken or read.
pub fn run<'h>(app: App, remote: Remote, deck: &'h Deck, hooks: Hooks<'h>) -> Result<()> {
    let signals = Signals::listen();
    let mut screen = Some(Screen::take()?);
    let mut work = Work::new(app, remote, deck, hooks);
    let mut drawn: Option<(Instant, Face)> = None;
    let leaving = signals.insist();
    while !signals.ended() {
        // A key ends the wait at once: it never waits for the screen.
        let wait =
            (drawn.as_ref()).map_or(Duration::ZERO, |(at, _)| FRAME.saturating_sub(at.elapsed()));
        if event::poll(wait).map_err(failed)? {
            match event::read().map_err(failed)? {
                Event::Key(key) => {
                    let moment = work.at(Instant::now());
                    match work.app.key(key, moment) {
                        None => {}
                        Some(Action::Quit) => break,
                        Some(Action::Suspend) => {
                            away(&mut screen)?;
                            drawn = None;
                        }
                        Some(Action::Save) => work.save(),
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
        work.look();
        // The screen shows what stands; lines tell what happens.
        work.app.take_lines();
        let now = Instant::now();
        if drawn.as_ref().is_none_or(|(at, _)| now - *at >= FRAME) {
            let before = drawn.take().map(|(_, face)| face);
            let face = show(&mut work, now, before, &mut screen)?;
            drawn = Some((now, face));
        }
    }
    // What the last key gave is kept too.
    work.look();
    leaving.store(true, Ordering::Relaxed);
    drop(screen);
    Ok(())
}

/// Draws the face of this moment where it differs from the one before, and gives it.
fn show(
    work: &mut Work,
    now: Instant,
    before: Option<Face>,
    screen: &mut Option<Screen>,
) -> Result<Face> {
    let face = work.face(now);
    if let (true, Some(screen)) = (before.as_ref() != Some(&face), screen) {
        (screen.terminal.draw(|frame| draw(frame, &face))).map_err(failed)?;
    }
    Ok(face)
}

/// An error of the terminal, as it is told.
pub(super) fn failed(error: io::Error) -> Error {
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
