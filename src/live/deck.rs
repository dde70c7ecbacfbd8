//! Whoever plays the engine: a device, or the clock alone.
//!
//! One thread keeps the engine playing. While there is a device its callback has the engine;
//! when the device is lost (it says so, or its frames stop) the engine comes home and the clock
//! plays it to nobody, so that the session goes on; every second the device is tried again.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::Play;
use super::back_in_step::{Clock, pass};
use super::callback_state::Pulse;
use crate::error::{Error, Result};

/// What the sound is to come out of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WantedDevice {
    /// Nothing at all: a clock plays.
    pub silent: bool,
    /// A device's name; none is the system's own choice.
    pub device: Option<String>,
    /// Frames a call; none begins small and grows where that is too small.
    pub buffer_frames: Option<u32>,
}

/// How the sound is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DeckSound {
    /// Nothing was asked for.
    Silent,
    /// A device plays: its name, frames a second, channels, frames a call.
    Playing {
        /// The device's name.
        device: String,
        /// Frames a second.
        rate_hz: u32,
        /// Channels.
        channels: u16,
        /// Frames a call, as granted.
        buffer_frames: u32,
    },
    /// The device is gone; it is tried again. What it said last.
    Lost(String),
}

/// Frames a call that are asked for at first.
const SMALL_BUFFER: u32 = 256;
/// From one try to open a lost device to the next.
const TRY_AGAIN: Duration = Duration::from_secs(1);
/// How often frames are made where there is no device to ask for them.
const STEP: Duration = Duration::from_millis(5);
/// Words to the keeper that may wait: a word to stop, and a few to look.
const WORDS: usize = 4;

/// What wakes the keeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    /// Everything is to end.
    Stop,
    /// The device has said something.
    #[cfg_attr(not(feature = "live"), allow(dead_code))] // what only a device says
    Look,
}

/// A playing engine.
pub struct Deck {
    pulse: Arc<Pulse>,
    sound: Arc<Mutex<DeckSound>>,
    rate_hz: f64,
    words: SyncSender<Word>,
    keeper: Option<JoinHandle<()>>,
}

impl Deck {
    /// Plays.
    ///
    /// # Errors
    /// When the device is not there or does not open.
    pub fn start(player: Box<dyn Play>, wanted: WantedDevice) -> Result<Self> {
        let rate_hz = f64::from(player.sample_rate_hz());
        let pulse = Arc::new(Pulse::new());
        let (words, heard) = sync_channel(WORDS);
        let (told, tell) = channel();
        let sound = Arc::new(Mutex::new(DeckSound::Silent));
        let keeper = Keeper {
            pulse: Arc::clone(&pulse),
            sound: Arc::clone(&sound),
            wanted,
            words: words.clone(),
            rate_hz,
            buffer_frames: 0,
            hurried: 0,
        };
        let keeper = std::thread::Builder::new()
            .name("deck".into())
            .spawn(move || {
                hurry();
                keeper.keep(player, &heard, &told);
            })
            .map_err(|error| Error::failed(format!("no thread for the sound: {error}")))?;
        let gone = || Error::failed("the thread of the sound ended");
        tell.recv().map_err(|_| gone())??;
        Ok(Self {
            pulse,
            sound,
            rate_hz,
            words,
            keeper: Some(keeper),
        })
    }

    /// How the sound is.
    pub fn sound(&self) -> DeckSound {
        locked(&self.sound).clone()
    }

    /// Underruns since it was started.
    pub fn underruns(&self) -> u32 {
        self.pulse.underruns()
    }

    /// From a frame's making to its being heard, as the device says.
    pub fn latency(&self) -> Duration {
        self.pulse.latency()
    }

    /// Frames a second.
    pub fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// The frame that is heard at an instant, while the clock runs.
    pub fn heard_frame(&self, at: Instant) -> f64 {
        self.pulse.heard_frame(at, self.rate_hz)
    }
}

impl Drop for Deck {
    fn drop(&mut self) {
        // Either the keeper hears it, or it has ended by itself.
        let _ = self.words.send(Word::Stop);
        if let Some(keeper) = self.keeper.take() {
            let _ = keeper.join();
        }
    }
}

/// Asks for more of a busy machine: threads that a device starts from here on inherit it. Where
/// the system refuses, as it does most people, sound has to do with its usual share.
fn hurry() {
    #[cfg(target_os = "linux")]
    let _ = rustix::process::nice(-11);
}

/// A panic elsewhere leaves a status that can still be read.
pub(super) fn locked(sound: &Mutex<DeckSound>) -> MutexGuard<'_, DeckSound> {
    sound.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg_attr(not(feature = "live"), allow(dead_code))] // what only a device needs
pub(super) struct Keeper {
    pub(super) pulse: Arc<Pulse>,
    pub(super) sound: Arc<Mutex<DeckSound>>,
    pub(super) wanted: WantedDevice,
    /// For whoever wants to wake this.
    pub(super) words: SyncSender<Word>,
    pub(super) rate_hz: f64,
    pub(super) buffer_frames: u32,
    /// Streams in a row that were opened again at once.
    pub(super) hurried: u32,
}

/// How a stream came to its end.
#[cfg_attr(not(feature = "live"), allow(dead_code))] // as above
pub(super) enum Ended {
    /// Everything is to end.
    Stopped,
    /// It had not enough frames in time: a new one, with a larger buffer, may do.
    Starved,
    /// The device is gone, and why that is thought.
    Lost(&'static str),
}

/// The clock of a player that stands, or that nobody has heard yet.
fn standing(player: &dyn Play) -> Clock {
    Clock {
        since: Instant::now(),
        frame: player.position() as f64,
    }
}

impl Keeper {
    fn keep(mut self, engine: Box<dyn Play>, heard: &Receiver<Word>, told: &Sender<Result<()>>) {
        self.buffer_frames = self.wanted.buffer_frames.unwrap_or(SMALL_BUFFER);
        if self.wanted.silent {
            // Whoever started this waits for the word.
            let _ = told.send(Ok(()));
            let due = standing(engine.as_ref());
            self.by_the_clock(engine, due, heard, None);
            return;
        }
        let mut told = Some(told);
        let mut engine = engine;
        let mut due: Option<Clock> = None;
        loop {
            let (home, came_home) = channel();
            match self.open(engine, home, due) {
                Ok(stream) => {
                    if let Some(told) = told.take() {
                        let _ = told.send(Ok(()));
                    }
                    let ended = self.watch(&stream, heard);
                    drop(stream);
                    // The stream has ended, and its callback with it.
                    let Ok(home) = came_home.recv() else { return };
                    engine = home;
                    due = engine.is_moving().then(|| self.clock());
                    match ended {
                        Ended::Stopped => return,
                        Ended::Lost(why) => *locked(&self.sound) = DeckSound::Lost(why.into()),
                        // Opened again at once; the session's clock has run on meanwhile.
                        Ended::Starved => continue,
                    }
                }
                Err(error) => {
                    if let Some(told) = told.take() {
                        let _ = told.send(Err(error));
                        return;
                    }
                    // Also where a new stream was only to have a larger buffer.
                    *locked(&self.sound) = DeckSound::Lost(error.to_string());
                    let Ok(home) = came_home.recv() else { return };
                    engine = home;
                }
            }
            let since = due.unwrap_or_else(|| standing(engine.as_ref()));
            let until = Instant::now() + TRY_AGAIN;
            match self.by_the_clock(engine, since, heard, Some(until)) {
                Some((home, now)) => (engine, due) = (home, Some(now)),
                None => return,
            }
        }
    }

    /// Which frame is heard now.
    fn clock(&self) -> Clock {
        let since = Instant::now();
        Clock {
            since,
            frame: self.pulse.heard_frame(since, self.rate_hz),
        }
    }

    /// Plays to nobody until an instant, in time with the clock; none once it is to stop.
    fn by_the_clock(
        &self,
        mut engine: Box<dyn Play>,
        mut due: Clock,
        heard: &Receiver<Word>,
        until: Option<Instant>,
    ) -> Option<(Box<dyn Play>, Clock)> {
        loop {
            let now = Instant::now();
            let frame = due.frame_at(now, self.rate_hz);
            self.pulse
                .beat(frame, now, Duration::ZERO, self.rate_hz, false);
            let late = frame.saturating_sub(engine.position());
            // A clock that was stopped or sent elsewhere runs on from there.
            if !pass(engine.as_mut(), late) || !engine.is_moving() {
                due = standing(engine.as_ref());
            }
            if until.is_some_and(|until| now >= until) {
                return Some((engine, due));
            }
            match heard.recv_timeout(STEP) {
                Err(RecvTimeoutError::Timeout) | Ok(Word::Look) => {}
                Ok(Word::Stop) | Err(RecvTimeoutError::Disconnected) => return None,
            }
        }
    }
}

#[cfg(not(feature = "live"))]
impl Keeper {
    fn open(
        &mut self,
        _: Box<dyn Play>,
        _: Sender<Box<dyn Play>>,
        _: Option<Clock>,
    ) -> Result<Never> {
        Err(super::without_sound())
    }

    fn watch(&mut self, stream: &Never, _: &Receiver<Word>) -> Ended {
        match *stream {}
    }
}

/// A stream that cannot be: this build knows no device.
#[cfg(not(feature = "live"))]
enum Never {}

#[cfg(not(feature = "live"))]
impl Drop for Never {
    fn drop(&mut self) {}
}
