//! `play`: a track or a session through the speakers.

mod file;

use std::io::{self, IsTerminal};
use std::path::Path;
use std::time::Duration;

use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers, poll, read};
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};

use self::file::{Memory, Packed, Wav};
use crate::cli::shared::args::{DeviceArgs, SessionArgs, SetFlags, SpeechArgs};
use crate::cli::shared::load::{Sounds, load, score};
use crate::cli::shared::{out, stop};
use crate::error::{Error, Result};
use crate::live::{
    Deck, DeckCommand, DeckSound, Engine, PlayedTrack, Remote, Score, TrackFrames, TrackRemote,
};
use crate::media::WordsFor;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane play tracks/01-settle-4x50m.wav\n  \
                  cuelane play try-both-pairings --swimmer alex.toml\n\n\
                  Space pauses and goes on; Left and Right go 10 s back and on in a track, a repeat back\n\
                  and on in a session; q ends. Without a terminal it plays to the end."
)]
pub struct PlayArgs {
    /// A track (.wav, .mp3, .flac, .ogg), a preset's name, or the path of a session (.toml)
    #[arg(value_name = "FILE|SESSION")]
    pub what: String,
    #[command(flatten)]
    pub wishes: SetFlags,
    #[command(flatten)]
    pub voice: SpeechArgs,
    #[command(flatten)]
    pub device: DeviceArgs,
}

/// Runs `play`.
pub fn run(args: &PlayArgs) -> Result<()> {
    let ending = Path::new(&args.what).extension();
    let ending = ending.map(|ending| ending.to_ascii_lowercase());
    match ending.as_deref().and_then(|ending| ending.to_str()) {
        Some("wav") => track(args, Box::new(Wav::open(&args.what)?)),
        Some("mp3" | "flac" | "ogg" | "oga") => track(args, Box::new(Packed::open(&args.what)?)),
        Some(other @ ("aac" | "m4a" | "wma" | "opus")) => {
            Err(Error::input(format!("play does not read .{other} files"))
                .at(&args.what)
                .accepted("a .wav, .mp3, .flac or .ogg track, a preset's name, or a .toml session")
                .example("cuelane play tracks/01-settle-4x50m.wav"))
        }
        _ => session(args),
    }
}

fn track(args: &PlayArgs, frames: Box<dyn TrackFrames>) -> Result<()> {
    let file_hz = frames.sample_rate_hz();
    let rate_hz = args.device.rate_hz(Some(file_hz))?;
    if rate_hz != file_hz {
        return Err(Error::failed(format!(
            "has {file_hz} Hz, and the device plays {rate_hz} Hz"
        ))
        .at(&args.what)
        .accepted(format!(
            "a track of {rate_hz} Hz, or another device (cuelane list devices)"
        ))
        .example(format!(
            "cuelane export NAME --sample-rate {rate_hz} --out tracks"
        )));
    }
    listen(frames, &args.device)
}

/// Frames a call where nothing is changed while it sounds: a tenth of a second. No key waits for
/// the sound, and a large buffer starves less.
const LISTENING_FRAMES: Option<u32> = Some(4096);

fn listen(frames: Box<dyn TrackFrames>, device: &DeviceArgs) -> Result<()> {
    let (track, remote) = PlayedTrack::open(frames)?;
    let deck = device.start(Box::new(track), LISTENING_FRAMES)?;
    remote.run(true);
    follow(&deck, &mut Playing::Track(remote))
}

/// Plays what is in memory, on the usual device. `frames` makes it for an audio rate.
///
/// # Errors
/// When there is no device, or it fails.
pub fn sound(frames: impl FnOnce(u32) -> Vec<[f32; 2]>) -> Result<()> {
    let device = DeviceArgs {
        device: None,
        buffer: None,
        silent: false,
    };
    let rate_hz = device.rate_hz(None)?;
    listen(Box::new(Memory::new(rate_hz, frames(rate_hz))), &device)
}

fn session(args: &PlayArgs) -> Result<()> {
    let loaded = load(&SessionArgs {
        session: args.what.clone(),
        wishes: args.wishes.clone(),
    })?;
    let swap = loaded.player().swapped.unwrap_or(false);
    let rate_hz = args.device.rate_hz(None)?;
    let sounds = Sounds::new(&args.voice, &loaded.session)?;
    let job = sounds.without_bed(loaded.session, rate_hz, swap, WordsFor::Tracks)?;
    sounds.tell(&job);
    let score = score(&job);
    let (engine, mut remote) = Engine::new(score.clone(), 0);
    let deck = args.device.start(Box::new(engine), LISTENING_FRAMES)?;
    remote.send(DeckCommand::Run(true));
    follow(&deck, &mut Playing::Session(remote, Box::new(score)))
}

/// What is played.
enum Playing {
    Track(TrackRemote),
    Session(Remote, Box<Score>),
}

/// What one line says.
struct Told {
    running: bool,
    over: bool,
    position: u64,
    length: Option<u64>,
    more: String,
}

impl Playing {
    fn told(&mut self) -> Told {
        match self {
            Self::Track(remote) => Told {
                running: remote.is_running(),
                over: remote.is_over(),
                position: remote.position(),
                length: remote.length,
                more: String::new(),
            },
            Self::Session(remote, score) => {
                let state = remote.state();
                let (set, repeat) = score.timeline.set_and_repeat(state.view.repeat);
                Told {
                    running: state.running,
                    over: state.over,
                    position: state.position,
                    length: score.frames,
                    more: format!("   set {set}, repeat {repeat}"),
                }
            }
        }
    }

    fn run(&mut self, running: bool) {
        match self {
            Self::Track(remote) => remote.run(running),
            // A full queue means a device that takes nothing: the next key may do.
            Self::Session(remote, _) => drop(remote.send(DeckCommand::Run(running))),
        }
    }

    /// Back (-1) or on (1).
    fn step(&mut self, by: i64) {
        match self {
            Self::Track(remote) => {
                let ten = i64::from(remote.rate_hz) * 10;
                let place = (remote.position() as i64 + by * ten).max(0);
                remote.go_to(place as u64);
            }
            Self::Session(remote, score) => {
                let now = remote.state().view.repeat as i64;
                let last = score.timeline.repeats() as i64 - 1;
                remote.send(DeckCommand::GoTo((now + by).clamp(0, last) as usize));
            }
        }
    }

    fn failure(&self) -> Option<Error> {
        match self {
            Self::Track(remote) => remote.failure(),
            Self::Session(..) => None,
        }
    }
}

/// Single keys while this lives, where there is a terminal.
struct Keys(bool);

impl Keys {
    fn new() -> Self {
        let terminal = io::stdin().is_terminal() && io::stderr().is_terminal();
        Self(terminal && enable_raw_mode().is_ok())
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        if self.0 {
            // There is nobody to tell if even that fails.
            let _ = disable_raw_mode();
            out::note("");
        }
    }
}

/// Plays to the end, with keys and one line where there is a terminal.
fn follow(deck: &Deck, playing: &mut Playing) -> Result<()> {
    let failed = |error: io::Error| Error::io("cannot be read", "the terminal", &error);
    stop::listen();
    let keys = Keys::new();
    if keys.0 {
        out::line("Space: pause, go on. Left, Right: back, on. q: end.");
        out::note("");
    }
    let mut was_lost = false;
    while !stop::is_wished() {
        let told = playing.told();
        if let Some(error) = playing.failure() {
            return Err(error);
        }
        if told.over && (told.running || !keys.0) {
            // What was given away last is still on its way to the ear.
            std::thread::sleep(deck.latency() + Duration::from_millis(100));
            return Ok(());
        }
        let lost = matches!(deck.sound(), DeckSound::Lost(_));
        if lost && !was_lost && !keys.0 {
            out::note("the sound device is lost; it is tried again every second");
        }
        was_lost = lost;
        if !keys.0 {
            std::thread::sleep(Duration::from_millis(50));
            continue;
        }
        out::line(&line(&told, deck, lost));
        if !poll(Duration::from_millis(50)).map_err(failed)? {
            continue;
        }
        let Event::Key(key) = read().map_err(failed)? else {
            continue;
        };
        if key.kind == KeyEventKind::Release {
            continue;
        }
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        match key.code {
            KeyCode::Char('q') | KeyCode::Esc => break,
            KeyCode::Char('c' | 'd') if control => break,
            KeyCode::Char(' ') => playing.run(!told.running),
            KeyCode::Left => playing.step(-1),
            KeyCode::Right => playing.step(1),
            _ => {}
        }
    }
    Ok(())
}

fn line(told: &Told, deck: &Deck, lost: bool) -> String {
    let clock = |frames: u64| {
        let s = (frames as f64 / deck.rate_hz()) as u64;
        format!("{}:{:02}", s / 60, s % 60)
    };
    let whole = told.length.map(|length| format!(" of {}", clock(length)));
    let whole = whole.unwrap_or_default();
    let doing = match (lost, told.running) {
        (true, _) => "no sound: the device is lost, tried again every second",
        (false, true) => "playing",
        (false, false) => "paused",
    };
    format!("{}{whole}   {doing}{}", clock(told.position), told.more)
}
