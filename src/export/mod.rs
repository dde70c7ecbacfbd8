//! Tracks on disk: how a session is cut into files, their names and sizes, and what goes beside them.
//!
//! In: a resolved session at one sample rate. Out: files that appear under their names whole or
//! not at all, one after another in playing order. Sizes are known and checked before the first
//! byte. [`check`] reads tracks back and says whether they hold.

mod ahead;
mod bed;
pub mod check;
mod contents;
mod flac;
mod folder;
mod held;
mod matching;
mod metered;
#[cfg(feature = "mp3")]
mod mp3;
mod names;
mod reader;
mod sample;
mod samples;
mod speak;
mod tags;
mod wav;

pub use contents::contents;
pub use folder::{Written, publish, write_folder};
pub use held::Folder;
pub use names::file_name;
pub use reader::{LOSSY_TOLERANCE, TrackReader};
pub use speak::Spoken;
pub use tags::Tags;
pub use wav::{LARGEST_BYTES, TrackForm, WriteError, write_wav};

use std::ops::Range;
use std::sync::Arc;

use crate::error::{Error, Result};
use crate::model::resolve::Resolved;
use crate::model::session::{CueSet, Walls};
use crate::model::swimmer::{Division, Format};
use crate::render::{Mixer, Overlap, track_gain};
use crate::sound::Bank;
use crate::timeline::{Event, Schedule, Timeline};
use crate::units::to_f64;

/// A session ready to be written or checked: every part of the work that comes before samples.
#[derive(Debug)]
pub struct Job {
    /// The session.
    pub session: Resolved,
    /// When its repeats are.
    pub schedule: Schedule,
    /// Its events.
    pub timeline: Timeline,
    /// The voices at the same sample rate.
    pub bank: Bank,
    /// Whether the ears are exchanged.
    pub swap: bool,
    /// What it says; nothing until [`Job::speak`].
    pub spoken: Spoken,
    /// The bed under it, if it has one.
    laid: Option<bed::LaidBed>,
    gain: f32,
}

impl Job {
    /// Lays a session out.
    ///
    /// # Errors
    /// Those of [`Schedule::new`].
    pub fn new(session: Resolved, bank: Bank, swap: bool) -> Result<Self> {
        let schedule = Schedule::new(&session)?;
        let timeline = Timeline::new(&session, &schedule, bank.sample_rate_hz());
        let cues = session
            .sets
            .iter()
            .fold(CueSet::NONE, |cues, set| cues.union(set.cues));
        let gain = track_gain(&bank, cues, overlap(&session, &schedule, &bank));
        Ok(Self {
            session,
            schedule,
            timeline,
            bank,
            swap,
            spoken: Spoken::default(),
            laid: None,
            gain,
        })
    }

    /// The gain of the whole track.
    pub fn gain(&self) -> f32 {
        self.gain
    }

    /// The mixer of one part.
    pub fn mixer(&self, part: &TrackFile) -> Mixer<&Bank, impl Iterator<Item = Event> + use<'_>> {
        let events = self.timeline.events_of(part.repeats.clone());
        Mixer::new(&self.bank, self.gain, self.swap, part.frames.start, events)
            .with_speech(Arc::clone(&self.spoken.speech))
    }

    /// The files of a session, in playing order.
    pub fn parts(
        &self,
        division: Division,
        format: Format,
        longest_name: Option<usize>,
    ) -> Vec<TrackFile> {
        let all = 0..self.timeline.repeats();
        let runs: Vec<Range<usize>> = match division {
            Division::One => vec![all],
            Division::PerRepeat => all.map(|at| at..at + 1).collect(),
            Division::PerSet => {
                let set_of = |at: &usize| self.timeline.set_and_repeat(*at).0;
                let indexes: Vec<usize> = all.collect();
                let by_set = indexes.chunk_by(|one, next| set_of(one) == set_of(next));
                by_set.map(|run| run[0]..run[run.len() - 1] + 1).collect()
            }
        };
        let part = |repeats: Range<usize>| {
            let (set, repeat) = self.timeline.set_and_repeat(repeats.start);
            TrackFile {
                name: file_name(&self.session, division, format, (set, repeat), longest_name),
                set,
                repeat,
                frames: self.timeline.frames_of(&repeats),
                repeats,
            }
        };
        runs.into_iter().map(part).collect()
    }
}

/// How often a voice may overlap itself in any repeat of a session.
fn overlap(session: &Resolved, schedule: &Schedule, bank: &Bank) -> Overlap {
    let longest_s = bank.longest_frames() as f64 / f64::from(bank.sample_rate_hz());
    let mut most = Overlap { body: 1, wall: 1 };
    for repeat in schedule.repeats.iter().filter(|repeat| repeat.walls > 0) {
        let Some(every_s) = repeat.wall_every_s.as_ref().map(to_f64) else {
            continue;
        };
        // How many walls can lie within the length of a voice.
        let walls = (longest_s / every_s)
            .ceil()
            .clamp(1.0, f64::from(u32::MAX - 1)) as u32;
        most.wall = most.wall.max(walls);
        let set = &session.sets[repeat.set];
        if set.walls == Walls::Pause && to_f64(set.push_off.s()) < longest_s {
            most.body = most.body.max(1 + walls);
        }
    }
    most
}

/// One file of a session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrackFile {
    /// Its name in the folder.
    pub name: String,
    /// Its first set, from 1.
    pub set: u32,
    /// Its first repeat in that set, from 1.
    pub repeat: u32,
    /// The repeats it holds, as indexes over the whole session.
    pub repeats: Range<usize>,
    /// The frames of the whole track that it holds.
    pub frames: Range<u64>,
}

impl TrackFile {
    /// How many frames it has.
    pub fn length(&self) -> u64 {
        self.frames.end - self.frames.start
    }
}

/// Refuses parts that no WAV file, FAT32 card or player can hold, and says which division would fit.
///
/// # Errors
/// When a file would pass the limit of the format, or of the player (`largest_mb`).
pub fn check_sizes(
    job: &Job,
    parts: &[TrackFile],
    form: &TrackForm,
    largest_mb: Option<u64>,
) -> Result<()> {
    let players = largest_mb.filter(|_| form.size_is_known());
    let limit = players.map_or(LARGEST_BYTES, |mb| (mb * 1_000_000).min(LARGEST_BYTES));
    let fits = |part: &TrackFile| {
        if form.size_is_known() {
            form.file_bytes(part.length()) <= limit && part.length() <= form.most_frames()
        } else {
            form.file_bytes(part.length()) <= limit
        }
    };
    let Some(too_large) = parts.iter().find(|part| !fits(part)) else {
        return Ok(());
    };
    let bytes = form.file_bytes(too_large.length());
    let whose = match largest_mb {
        Some(mb) if limit < LARGEST_BYTES => format!("the player's limit of {mb} MB (largest_mb)"),
        _ => "the 4 GiB limit of WAV files and FAT32 cards".to_string(),
    };
    Err(too_large_file(
        job,
        &too_large.name,
        (bytes, limit),
        &whose,
        fits,
    ))
}

/// The refusal of a file that has too many bytes, with the division that would help.
fn too_large_file(
    job: &Job,
    name: &str,
    (bytes, limit): (u64, u64),
    whose: &str,
    fits: impl Fn(&TrackFile) -> bool,
) -> Error {
    let fitting = [Division::PerSet, Division::PerRepeat]
        .into_iter()
        .find(|division| job.parts(*division, Format::Wav, None).iter().all(&fits));
    let error = Error::input(format!(
        "{name} would have {}, over {whose}",
        bytes_apart(bytes, limit)
    ));
    match fitting {
        Some(division) => error
            .accepted(format!(
                "shorter files: --files {} would fit",
                division.word()
            ))
            .example(format!("--files {}", division.word())),
        None => error
            .accepted(
                "shorter repeats, fewer bits, or one channel; no division of this session fits",
            )
            .example("--channels mono --bits 16"),
    }
}

/// A size for people beside another one that is not the same.
pub fn bytes_apart(bytes: u64, other: u64) -> String {
    match bytes_in_words(bytes) {
        same if same == bytes_in_words(other) => format!("{bytes} bytes"),
        differs => differs,
    }
}

/// A size for people, decimal as cards are sold: `84.7 MB`.
pub fn bytes_in_words(bytes: u64) -> String {
    let value = bytes as f64;
    match bytes {
        0..1_000 => format!("{bytes} bytes"),
        1_000..1_000_000 => format!("{:.1} kB", value / 1e3),
        1_000_000..1_000_000_000 => format!("{:.1} MB", value / 1e6),
        _ => format!("{:.2} GB", value / 1e9),
    }
}
