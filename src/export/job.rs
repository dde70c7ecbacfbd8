//! A session ready to be written or checked, and the files that it becomes.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::names::file_name;
use crate::error::Result;
use crate::media::Bed;
use crate::model::resolve::Resolved;
use crate::model::track_format::{Division, Format};
use crate::render::Mixer;
use crate::sound::{Bank, Speech};
use crate::timeline::{Event, Schedule, Timeline, TrackSpeech};

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
    pub(super) laid: Option<LaidBed>,
}

/// What a job says.
#[derive(Debug, Default)]
pub struct Spoken {
    /// What is said and when.
    pub said: TrackSpeech,
    /// The same for the mixer.
    pub speech: Arc<Speech>,
    /// The free times in which something is said, in frames: what is heard there is no cue.
    pub rooms: Vec<Range<u64>>,
    /// Every clip that was needed so far, at the audio rate; none where there is none.
    pub(super) clips: BTreeMap<ClipKey, Option<Arc<[f32]>>>,
}

/// A clip's name, and how much of it is heard, ms, where it is cut.
pub(super) type ClipKey = (String, Option<u64>);

/// How a bed is laid under a session.
#[derive(Debug)]
pub(super) struct LaidBed {
    pub bed: Bed,
    /// Its factor where nothing else sounds, and under cues and speech.
    pub high: f32,
    pub low: f32,
}

impl Job {
    /// Lays a session out.
    ///
    /// # Errors
    /// Those of [`Schedule::new`].
    pub fn new(session: Resolved, bank: Bank, swap: bool) -> Result<Self> {
        let schedule = Schedule::new(&session)?;
        Ok(Self::laid_out(session, schedule, bank, swap))
    }

    /// A session as a schedule has it.
    pub fn laid_out(session: Resolved, schedule: Schedule, bank: Bank, swap: bool) -> Self {
        let timeline = Timeline::new(&session, &schedule, bank.sample_rate_hz());
        Self {
            session,
            schedule,
            timeline,
            bank,
            swap,
            spoken: Spoken::default(),
            laid: None,
        }
    }

    /// The mixer of one part.
    pub fn mixer(&self, part: &TrackFile) -> Mixer<&Bank, impl Iterator<Item = Event> + use<'_>> {
        let events = self.timeline.events_of(part.repeats.clone());
        Mixer::new(&self.bank, self.swap, part.frames.start, events)
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
