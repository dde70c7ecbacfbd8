//! The engine: wishes in, frames out, its state back. No device and no clock is known here.
//!
//! [`Engine::fill`] takes a slice of any length and never allocates, frees, locks, logs or
//! blocks; every wish is taken at its beginning. A session that nobody touches comes out sample
//! for sample as its exported track.

use std::sync::Arc;

use rtrb::{Consumer, Producer, RingBuffer};

use super::live_events::LiveEvents;
use super::score::Score;
use crate::model::cue::CueKind;
use crate::model::kick::{Kick, Pairing};
use crate::render::{Fader, Mixer};
use crate::sound::{Bank, Speech};
use crate::timeline::{Aim, Cursor, SteadyRate, Timeline, View};
use crate::units::{Fix, Rate, exact, fraction};

/// Cues that are silenced together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Arm cues.
    Hands,
    /// Every kick.
    Feet,
    /// The kicks between the paired ones.
    Between,
    /// Breath cues.
    Breath,
}

impl Group {
    /// In the order of their declaration.
    pub const ALL: [Self; 4] = [Self::Hands, Self::Feet, Self::Between, Self::Breath];

    /// Whether cues of this kind are among them.
    pub fn has(self, kind: CueKind) -> bool {
        match self {
            Self::Hands => kind == CueKind::Arm,
            Self::Feet => matches!(kind, CueKind::Kick | CueKind::Fill),
            Self::Between => kind == CueKind::Fill,
            Self::Breath => kind == CueKind::Breath,
        }
    }
}

/// A wish.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DeckCommand {
    /// Let the clock run, or stop it with everything that sounds.
    Run(bool),
    /// Another rate, strokes/min.
    Rate(f64),
    /// The session's own rate again.
    OwnRate,
    /// Whether changes of rate bend over four strokes.
    Gentle(bool),
    /// Another pairing and kick, from the next entry of the first arm on.
    Switch(Pairing, Kick),
    /// Silence a group of cues, or let it sound.
    Mute(Group, bool),
    /// Follow a stroke, or go on alone.
    Follow(Option<Aim>),
    /// The beginning of a repeat, by its index.
    GoTo(usize),
}

/// The same session laid out otherwise, from now on.
#[derive(Debug, Clone)]
pub struct Laid {
    /// What sounds when, on the same frames.
    pub timeline: Arc<Timeline>,
    /// What is said, on the same frames.
    pub speech: Arc<Speech>,
}

/// What waits for the engine.
#[derive(Debug)]
enum Message {
    Wish(DeckCommand),
    Lay(Laid),
}

/// What the engine says of itself after each call.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// The frame that comes next.
    pub position: u64,
    /// Whether the clock runs.
    pub running: bool,
    /// Whether the session is over.
    pub over: bool,
    /// Where the cycle is.
    pub view: View,
    /// Which groups are silenced, in the order of [`Group::ALL`].
    pub muted: [bool; 4],
    /// Whether changes of rate bend.
    pub gentle: bool,
    /// Whether it follows a stroke.
    pub following: bool,
    /// Frames of the last call.
    pub block: u32,
    /// Whether wishes were sent that it has not taken yet.
    pub is_behind: bool,
}

/// Strokes/min in a frequency in cycles a frame.
pub fn spm(frequency: f64, sample_rate_hz: u32) -> f64 {
    frequency * f64::from(sample_rate_hz) * 120.0
}

/// The fade of a mute and of a pause.
const FADE_MS: u32 = 10;
/// Cycles of a gentle change: four strokes.
const GENTLE_CYCLES: i64 = 2;
/// The steps to which a rate is taken, in strokes/min: a decimal, whose frames are then exact.
const STEPS_A_STROKE: i64 = 1_000_000_000;
/// Wishes that may wait: a person presses far fewer keys in the time of a buffer.
const WAITING: usize = 256;

/// The engine.
#[derive(Debug)]
pub struct Engine {
    mixer: Mixer<Arc<Bank>, LiveEvents>,
    score: Score,
    messages: Consumer<Message>,
    /// Each state with the wishes taken so far.
    states: Producer<(State, u64)>,
    taken: u64,
    /// What is to be laid once no word sounds.
    waiting: Option<Laid>,
    block: u32,
    running: bool,
    /// Stopped, and faded out: not a frame goes by.
    frozen: bool,
    muted: [bool; 4],
    gentle: bool,
}

/// The other end of an engine.
#[derive(Debug)]
pub struct Remote {
    messages: Producer<Message>,
    states: Consumer<(State, u64)>,
    last: State,
    /// Wishes that were sent, and those that the last state has taken.
    sent: u64,
    taken: u64,
    /// All that was ever handed over: the engine is never the last to hold it, and so never frees.
    handed: Vec<(Arc<Timeline>, Arc<Speech>)>,
}

impl Remote {
    /// Sends a wish. False where the engine takes none any more and too many wait.
    pub fn send(&mut self, command: DeckCommand) -> bool {
        let is_sent = self.messages.push(Message::Wish(command)).is_ok();
        self.sent += u64::from(is_sent);
        is_sent
    }

    /// Has the session laid out otherwise, as [`Remote::send`] does.
    pub fn lay(&mut self, laid: &Laid) -> bool {
        let held = (Arc::clone(&laid.timeline), Arc::clone(&laid.speech));
        self.handed.push(held);
        self.messages.push(Message::Lay(laid.clone())).is_ok()
    }

    /// The engine's latest state.
    pub fn state(&mut self) -> State {
        while let Ok((state, taken)) = self.states.pop() {
            (self.last, self.taken) = (state, taken);
        }
        State {
            is_behind: self.taken < self.sent,
            ..self.last
        }
    }
}

impl Engine {
    /// An engine that stands at frame `position`, stopped, and its other end. All memory is
    /// taken here.
    pub fn new(score: Score, position: u64) -> (Self, Remote) {
        let (to_engine, messages) = RingBuffer::new(WAITING);
        let (states, from_engine) = RingBuffer::new(WAITING);
        let source = LiveEvents::new(Arc::clone(&score.timeline), position);
        let mut mixer = Mixer::new(Arc::clone(&score.bank), score.swap, position, source)
            .with_speech(Arc::clone(&score.speech));
        let fade = (score.sample_rate_hz() * FADE_MS / 1000).max(1);
        mixer.levels_mut().set_fade(fade);
        let mut engine = Self {
            mixer,
            messages,
            states,
            taken: 0,
            waiting: None,
            block: 0,
            running: false,
            frozen: true,
            muted: [false; 4],
            gentle: false,
            score,
        };
        let last = engine.state();
        let handed = vec![(
            Arc::clone(&engine.score.timeline),
            Arc::clone(&engine.score.speech),
        )];
        let remote = Remote {
            messages: to_engine,
            states: from_engine,
            last,
            sent: 0,
            taken: 0,
            handed,
        };
        (engine, remote)
    }

    /// The frame that comes next.
    pub fn position(&self) -> u64 {
        self.mixer.position()
    }

    /// Its state.
    pub fn state(&mut self) -> State {
        let position = self.mixer.position();
        State {
            position,
            running: self.running,
            over: self.is_over(),
            view: self.cursor().view(position),
            muted: self.muted,
            gentle: self.gentle,
            following: self.cursor().is_following(),
            block: self.block,
            is_behind: false,
        }
    }

    fn cursor(&mut self) -> &mut Cursor<Arc<Timeline>> {
        &mut self.mixer.events_mut().cursor
    }

    fn is_over(&self) -> bool {
        (self.score.frames).is_some_and(|frames| self.mixer.position() >= frames)
    }

    /// Fills `out` with the next frames, left and right: what comes is silence while the clock
    /// stands and after the end.
    pub fn fill(&mut self, out: &mut [[f32; 2]]) {
        while let Ok(message) = self.messages.pop() {
            match message {
                Message::Wish(command) => {
                    self.obey(command);
                    self.taken += 1;
                }
                Message::Lay(laid) => self.waiting = Some(laid),
            }
        }
        self.lay_what_waits();
        self.block = u32::try_from(out.len()).unwrap_or(u32::MAX);
        let left = match self.score.frames {
            _ if self.frozen => 0,
            Some(frames) => frames.saturating_sub(self.mixer.position()),
            None => u64::MAX,
        };
        let length = out.len().min(usize::try_from(left).unwrap_or(usize::MAX));
        let (now, later) = out.split_at_mut(length);
        later.fill([0.0; 2]);
        if length > 0 {
            self.mixer.events_mut().end = self.mixer.position() + length as u64;
            self.set_words();
            self.mixer.fill(now);
        }
        if !self.running && !self.frozen && (self.mixer.levels_mut().is_silent() || length == 0) {
            self.frozen = true;
            let position = self.mixer.position();
            self.mixer.move_to(position);
        }
        let state = self.state();
        // Where nobody reads, the oldest states are enough to see that it lives.
        let _ = self.states.push((state, self.taken));
    }

    fn obey(&mut self, command: DeckCommand) {
        let position = self.mixer.position();
        match command {
            DeckCommand::Run(running) => self.run(running),
            DeckCommand::Rate(spm) => {
                let spm = spm.clamp(*Rate::RANGE_SPM.start(), *Rate::RANGE_SPM.end());
                let steps = (spm * STEPS_A_STROKE as f64).round() as i64;
                let beat = SteadyRate::spm(fraction(steps, STEPS_A_STROKE));
                let bend = self.bend();
                self.cursor().change(position, beat, bend);
            }
            DeckCommand::OwnRate => {
                let bend = self.bend();
                self.cursor().change_back(position, bend);
            }
            DeckCommand::Gentle(gentle) => self.gentle = gentle,
            DeckCommand::Switch(pairing, kick) => {
                self.cursor().switch(position, pairing, kick);
                self.set_levels();
            }
            DeckCommand::Mute(group, muted) => {
                self.muted[group as usize] = muted;
                let breath = self.muted[Group::Breath as usize];
                self.cursor().mute_breath(breath);
                self.set_levels();
            }
            DeckCommand::Follow(aim) => {
                // The tempo of a clock that stands is nobody's to follow.
                if self.running || aim.is_none() {
                    self.cursor().set_aim(position, aim);
                }
            }
            DeckCommand::GoTo(repeat) => {
                let position = self.score.beginning_of(repeat);
                self.cursor().go_to(repeat);
                self.mixer.move_to(position);
            }
        }
    }

    /// Cycles over which a change of rate bends.
    fn bend(&self) -> Fix {
        if self.gentle {
            exact(GENTLE_CYCLES)
        } else {
            Fix::ZERO
        }
    }

    /// Goes on with the session as it was laid out anew, once no word is cut off by it.
    fn lay_what_waits(&mut self) {
        let is_heard =
            self.mixer.is_speaking() && !self.mixer.levels_mut().is_at_rest(Fader::Words);
        let Some(laid) = self.waiting.take_if(|_| self.frozen || !is_heard) else {
            return;
        };
        let position = self.mixer.position();
        self.mixer.events_mut().lay(&laid.timeline, position);
        self.score.frames = Some(laid.timeline.frames());
        self.score.timeline = laid.timeline;
        self.mixer.say(laid.speech);
        self.set_levels();
    }

    fn run(&mut self, running: bool) {
        if running && self.frozen {
            let position = self.mixer.position();
            self.cursor().restart(position);
        }
        if running {
            self.frozen = false;
        }
        let thaws = running && !self.running;
        self.running = running;
        self.set_levels();
        if thaws {
            self.mixer.levels_mut().arrive();
        }
    }

    /// Words of a set that a hand has changed may be untrue: they fall silent until the next set.
    fn set_words(&mut self) {
        let said = self.running && self.waiting.is_none() && !self.cursor().is_touched();
        let levels = self.mixer.levels_mut();
        levels.send(Fader::Words, if said { 1.0 } else { 0.0 });
    }

    /// Sends every level to where the present wishes want it.
    fn set_levels(&mut self) {
        let (running, muted) = (self.running, self.muted);
        let levels = self.mixer.levels_mut();
        levels.send_all(if running { 1.0 } else { 0.0 });
        for (group, _) in Group::ALL
            .into_iter()
            .zip(muted)
            .filter(|(_, muted)| *muted)
        {
            for kind in [CueKind::Arm, CueKind::Kick, CueKind::Fill, CueKind::Breath] {
                if group.has(kind) {
                    levels.send(Fader::Of(kind), 0.0);
                }
            }
        }
    }
}

impl super::Play for Engine {
    fn fill(&mut self, out: &mut [[f32; 2]]) {
        Engine::fill(self, out);
    }

    fn position(&self) -> u64 {
        Engine::position(self)
    }

    fn is_moving(&self) -> bool {
        !self.frozen && !self.is_over()
    }

    fn sample_rate_hz(&self) -> u32 {
        self.score.sample_rate_hz()
    }
}

#[cfg(test)]
pub(super) mod tests;
