//! What keys do, and what the screen says: no terminal and no device is known here.
//!
//! In: keys, the engine's state, the deck's. Out: commands for the engine, and a
//! [`Face`](super::face::Face).

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::away::WayIn;
use super::face::spm_in_words;
use super::handed::KeptResult;
use super::results::{Entered, Results};
use super::session::{Programme, Scope};
use crate::analysis::follow::{Follow, Tap};
use crate::analysis::taps::Each;
use crate::live::{DeckCommand, DeckSound, Group, KeyTime, SetBefore, State};
use crate::model::kick::{Kick, Pairing};
use crate::timeline::Timeline;

mod aloud;
mod asked;
mod rate;
mod set;
mod taken;
mod taps;
mod undo;
mod words;

/// What is asked before it quits.
const QUIT: &str = "Quit? q again quits, any other key goes on";
/// What is said of the way in where nobody has asked for one.
const NO_WAY_IN: &str = "No phone has a way in: cuelane live NAME --phone gives it one.";
/// Changes that can be taken back.
const MOST_UNDONE: usize = 50;

/// What a coach has set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Strokes/min.
    pub spm: f64,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
    /// Silenced groups, in the order of [`Group::ALL`].
    pub muted: [bool; 4],
    /// Whether changes of rate bend.
    pub gentle: bool,
}

/// What a key asks for beyond the engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Action {
    /// Write the present settings as a session.
    Save,
    /// End.
    Quit,
    /// Stop the process, as the terminal asks.
    Suspend,
}

/// What can be taken back.
#[derive(Debug, Clone)]
enum Undo {
    /// What was set before a change of the cues.
    Cues(CuesBefore),
    /// How the set ran.
    Set(Box<SetBefore>),
}

/// What was set before a change of the cues.
#[derive(Debug, Clone)]
struct CuesBefore {
    settings: Settings,
    /// Whether the change was one of the rate: a session's ramp goes on under all others.
    changes_rate: bool,
    /// Whether the rate was the session's own.
    own_rate: bool,
    /// Where it holds.
    scope: Scope,
}

/// A change, and the hand away from the keyboard that made it, if one did.
#[derive(Debug, Clone)]
struct Change {
    undo: Undo,
    by: Option<u32>,
}

/// The deck as the screen sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct DeckView {
    /// How the sound is.
    pub sound: DeckSound,
    /// Underruns so far.
    pub underruns: u32,
    /// From a frame's making to its being heard, ms, as the device says.
    pub latency_ms: f64,
}

/// The screen's side of everything.
pub struct App {
    programme: Programme,
    rate_hz: u32,
    state: State,
    /// Asked for and not yet in the state: the last rate, while keys come faster than buffers.
    asked: Option<f64>,
    typed: String,
    /// How it was before each change.
    undo: Vec<Change>,
    /// The hand away from the keyboard that acts at present.
    hand: Option<u32>,
    each: Each,
    follow: Follow,
    last_tap: Option<Tap>,
    following: bool,
    asks_to_quit: bool,
    help: bool,
    /// The way in for hands away from the keyboard, or why there is none.
    way_in: Result<WayIn, &'static str>,
    /// Whether the way in is shown.
    shows_way_in: bool,
    /// What just happened, and when it was said on the clock of the keys, s.
    message: Option<(String, f64)>,
    now_s: f64,
    commands: Vec<DeckCommand>,
    was_lost: bool,
    /// Where the clock is, as far as it matters to what a hand has set.
    scope: Scope,
    /// The index of the repeat that is swum or comes next; a session laid anew may give it another.
    repeat: usize,
    /// Since when it is that repeat, on the clock of the keys, s.
    swim_since_s: f64,
    /// When a hand away from the keyboard sent it back to the beginning last, on the clock of the keys, s.
    begun_anew_s: f64,
    /// Whether the schedule is another one since it was asked for.
    moved: bool,
    /// What was entered, by swim and swimmer, and what was ever handed over.
    entered: BTreeMap<(u32, usize), Entered>,
    was_kept: BTreeSet<(u32, usize)>,
    results: Vec<KeptResult>,
    /// Results that are being entered.
    panel: Option<Results>,
    lines: Vec<String>,
}

impl App {
    /// A screen for a programme, at the engine's first state.
    pub fn new(programme: Programme, state: State, each: Each) -> Self {
        let rate_hz = programme.rate_hz();
        let repeat = programme.repeat_at(state.position);
        let mut app = Self {
            scope: programme.scope_of(repeat),
            repeat,
            programme,
            rate_hz,
            state,
            asked: None,
            typed: String::new(),
            undo: Vec::new(),
            hand: None,
            each,
            follow: Follow::new(each),
            last_tap: None,
            following: false,
            asks_to_quit: false,
            help: false,
            way_in: Err(NO_WAY_IN),
            shows_way_in: false,
            swim_since_s: 0.0,
            begun_anew_s: f64::NEG_INFINITY,
            message: None,
            now_s: 0.0,
            commands: Vec::new(),
            was_lost: false,
            moved: false,
            entered: BTreeMap::new(),
            was_kept: BTreeSet::new(),
            results: Vec::new(),
            panel: None,
            lines: Vec::new(),
        };
        app.tell_next(true);
        app
    }

    /// Goes by the session as it was laid out anew.
    pub fn lay(&mut self, timeline: &Arc<Timeline>) {
        self.programme.lay(timeline);
    }

    /// The index of the set that is swum or comes next.
    pub fn set(&self) -> usize {
        self.scope.set
    }

    /// The rate of this set that was set here, strokes/min; else the session's goes on, a ramp too.
    /// What is set in a repeat for comparison holds for that repeat alone.
    pub fn rate_by_hand(&self) -> Option<f64> {
        let asked = self.asked.filter(|_| self.scope.comparison.is_none());
        asked.or_else(|| self.state.view.by_hand.map(|rate| self.in_spm(rate)))
    }

    /// Commands since the last call, in order.
    pub fn take_commands(&mut self) -> Vec<DeckCommand> {
        std::mem::take(&mut self.commands)
    }

    /// Says something, for a while.
    pub fn say(&mut self, message: impl Into<String>) {
        self.say_as("said", message);
    }

    /// Says something of a kind, as lines name it.
    pub fn say_as(&mut self, kind: &str, message: impl Into<String>) {
        let message = message.into();
        self.tell(kind, &message);
        self.message = Some((message, self.now_s));
    }

    /// Whether the session has come to its end.
    pub fn is_over(&self) -> bool {
        self.state.over
    }

    /// Hears whether the device is there.
    pub fn hear(&mut self, deck: &DeckView) {
        let lost = matches!(deck.sound, DeckSound::Lost(_));
        if lost != self.was_lost {
            self.was_lost = lost;
            self.say_as(
                "device",
                if lost {
                    "The sound device is lost. The clock goes on; it is tried again."
                } else {
                    "The sound is back, in step."
                },
            );
        }
    }

    /// Takes one key.
    pub fn key(&mut self, key: KeyEvent, moment: KeyTime) -> Option<Action> {
        if key.kind == KeyEventKind::Release {
            return None;
        }
        self.now_s = moment.now_s;
        let before = self.read_out();
        let action = self.take_key(key, moment);
        self.tell_changes(before);
        action
    }

    fn take_key(&mut self, key: KeyEvent, moment: KeyTime) -> Option<Action> {
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            return match key.code {
                KeyCode::Char('c' | 'd') => self.quit(),
                KeyCode::Char('z') => Some(Action::Suspend),
                _ => None,
            };
        }
        if matches!(key.code, KeyCode::Char('c' | 'C')) {
            // A swimmer who is in waits for no screen.
            self.asks_to_quit = false;
            self.command('c', moment);
            return None;
        }
        if self.help || self.shows_way_in {
            (self.help, self.shows_way_in) = (false, false);
            return None;
        }
        if self.panel.is_some() {
            self.results_key(key.code);
            return None;
        }
        if std::mem::take(&mut self.asks_to_quit) {
            if matches!(key.code, KeyCode::Char('q' | 'y')) {
                return Some(Action::Quit);
            }
            self.say("Going on.");
            return None;
        }
        match key.code {
            KeyCode::Char(' ') => self.run_or_pause(),
            KeyCode::Up | KeyCode::Char('+' | '=') => self.step(1.0),
            KeyCode::Down | KeyCode::Char('-') => self.step(-1.0),
            KeyCode::Right => self.step(0.5),
            KeyCode::Left => self.step(-0.5),
            KeyCode::Char(c) if c.is_ascii_digit() || c == '.' => self.type_digit(c),
            KeyCode::Backspace if !self.typed.is_empty() => drop(self.typed.pop()),
            KeyCode::Esc => self.typed.clear(),
            KeyCode::Enter => self.enter(),
            KeyCode::Char(c) => return self.letter(c.to_ascii_lowercase(), moment),
            KeyCode::Backspace => self.take_back(),
            KeyCode::PageDown | KeyCode::PageUp => self.tap(moment),
            _ => {}
        }
        None
    }

    fn letter(&mut self, c: char, moment: KeyTime) -> Option<Action> {
        match c {
            'p' => {
                let pairing = match self.settings().pairing {
                    Pairing::SameSide => Pairing::OppositeSide,
                    Pairing::OppositeSide => Pairing::SameSide,
                };
                self.switch(pairing, self.settings().kick);
            }
            'k' => {
                let kick = match self.settings().kick {
                    Kick::TwoBeat => Kick::FourBeat,
                    Kick::FourBeat => Kick::SixBeat,
                    Kick::SixBeat => Kick::Pull,
                    Kick::Pull => Kick::TwoBeat,
                };
                self.switch(self.settings().pairing, kick);
            }
            'g' => {
                self.keep_for_undo(false);
                self.send(DeckCommand::Gentle(!self.state.gentle));
                self.state.gentle = !self.state.gentle;
            }
            'h' => self.mute(Group::Hands),
            'f' => self.mute(Group::Feet),
            'i' => self.mute(Group::Between),
            'b' => self.mute(Group::Breath),
            't' => self.tap(moment),
            'l' => self.let_follow(moment),
            'u' => self.take_back(),
            'w' => return Some(Action::Save),
            'n' | 'a' | 's' => self.command(c, moment),
            'r' => self.open_results(),
            'o' => self.show_way_in(),
            'q' => return self.quit(),
            '?' => {
                self.help = true;
                self.tell_help();
            }
            _ => {}
        }
        None
    }

    /// Quits; asks once while sound runs.
    fn quit(&mut self) -> Option<Action> {
        if !self.state.running || self.asks_to_quit {
            return Some(Action::Quit);
        }
        self.asks_to_quit = true;
        self.shows_way_in = false;
        self.tell("asked", QUIT);
        None
    }

    fn send(&mut self, command: DeckCommand) {
        self.commands.push(command);
    }

    fn keep_for_undo(&mut self, changes_rate: bool) {
        self.keep(Undo::Cues(CuesBefore {
            settings: self.settings(),
            changes_rate,
            own_rate: self.asked.is_none() && self.state.view.own_rate,
            scope: self.scope,
        }));
    }

    fn keep(&mut self, undo: Undo) {
        if self.undo.len() == MOST_UNDONE {
            self.undo.remove(0);
        }
        let by = self.hand;
        self.undo.push(Change { undo, by });
    }

    fn switch(&mut self, pairing: Pairing, kick: Kick) {
        self.keep_for_undo(false);
        self.send(DeckCommand::Switch(pairing, kick));
        // Shown at once; the engine says when it sounds.
        self.state.view.wish.pairing = pairing;
        self.state.view.wish.kick = kick;
    }

    fn mute(&mut self, group: Group) {
        self.keep_for_undo(false);
        let muted = &mut self.state.muted[group as usize];
        *muted = !*muted;
        let muted = *muted;
        self.send(DeckCommand::Mute(group, muted));
    }
}

/// For a message: `54.5 spm`.
pub fn rate_in_words(spm: f64) -> String {
    format!("{} spm", spm_in_words(spm))
}
