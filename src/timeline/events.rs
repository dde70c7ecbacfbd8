//! The timeline of a session, and its events in order.

use std::ops::Range;

use super::compile::{MOST_TRACKS, Track, tracks};
use super::schedule::{Schedule, nearest_frame};
use crate::model::cue::{Kind, Side, Voice};
use crate::model::resolve::Resolved;
use crate::units::exact;

/// One sounding event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// The frame on which its voice starts, from the start of the track.
    pub frame: u64,
    /// What sounds.
    pub kind: Kind,
    /// Whose side; none is both.
    pub side: Option<Side>,
    /// Its set, from 1.
    pub set: u32,
    /// Its repeat, from 1.
    pub repeat: u32,
    /// Cycle number from 0 and phase on the circle in millionths; none for signals and walls.
    pub beat: Option<(u64, u32)>,
}

impl Event {
    /// The voice it sounds with.
    pub fn voice(&self) -> Voice {
        Voice {
            kind: self.kind,
            side: self.side,
        }
    }
}

/// The events of one repeat, ready to be read.
#[derive(Debug)]
struct Compiled {
    set: u32,
    number: u32,
    /// The frame 1 s after the end signal, where files may be cut.
    cut: u64,
    tracks: Vec<Track>,
}

/// Every event of a session at one sample rate.
#[derive(Debug)]
pub struct Timeline {
    sample_rate_hz: u32,
    frames: u64,
    repeats: Vec<Compiled>,
}

impl Timeline {
    /// Compiles a schedule. All memory is taken here; reading events takes none.
    pub fn new(session: &Resolved, schedule: &Schedule, sample_rate_hz: u32) -> Self {
        let repeats = (schedule.repeats.iter())
            .map(|repeat| Compiled {
                set: repeat.set as u32 + 1,
                number: repeat.number as u32,
                cut: nearest_frame(&(&repeat.end_s + exact(1)), sample_rate_hz),
                tracks: tracks(&session.sets[repeat.set], repeat, sample_rate_hz),
            })
            .collect();
        Self {
            sample_rate_hz,
            frames: nearest_frame(&schedule.total_s, sample_rate_hz),
            repeats,
        }
    }

    /// Frames a second.
    pub fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }

    /// Length of the whole track in frames.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// How many repeats there are, over all sets.
    pub fn repeats(&self) -> usize {
        self.repeats.len()
    }

    /// Set and repeat, both from 1, of the repeat at an index.
    pub fn set_and_repeat(&self, index: usize) -> (u32, u32) {
        (self.repeats[index].set, self.repeats[index].number)
    }

    /// The frames that a run of repeats owns: from the cut before it to the cut after it.
    /// The first run starts at 0, the last one ends with the track.
    pub fn frames_of(&self, repeats: &Range<usize>) -> Range<u64> {
        let start = match repeats.start {
            0 => 0,
            first => self.repeats[first - 1].cut,
        };
        let end = match repeats.end >= self.repeats.len() {
            true => self.frames,
            false => self.repeats[repeats.end - 1].cut,
        };
        start..end
    }

    /// All events in order.
    pub fn events(&self) -> Events<'_> {
        self.events_of(0..self.repeats.len())
    }

    /// The events of a run of repeats, in order.
    ///
    /// Repeats never overlap: 5 s lie between an end and the next start, the counts take 3 of
    /// them, and no lead moves a cue by more than 0.3.
    pub fn events_of(&self, repeats: Range<usize>) -> Events<'_> {
        let mut events = Events {
            repeats: &self.repeats[repeats],
            current: 0,
            cursors: [Cursor::DONE; MOST_TRACKS],
        };
        events.enter();
        events
    }
}

/// Events in order of frame; on one frame arm, kick, fill, breath, wall, count, start, end, and
/// left before right before both. Never allocates.
#[derive(Debug, Clone)]
pub struct Events<'a> {
    repeats: &'a [Compiled],
    current: usize,
    cursors: [Cursor; MOST_TRACKS],
}

/// Where one track stands.
#[derive(Debug, Clone, Copy)]
struct Cursor {
    /// Frame, kind and side of the next event in one number that sorts as events do.
    key: u64,
    span: usize,
    index: u64,
}

impl Cursor {
    const DONE: Self = Self {
        key: u64::MAX,
        span: 0,
        index: 0,
    };

    /// The cursor at the first event from `span` and `index` on that sounds.
    fn seek(track: &Track, mut span: usize, mut index: u64) -> Self {
        while let Some(run) = track.spans.get(span) {
            if let Some(fade) = track.fade {
                let period = u64::from(fade.on) + u64::from(fade.off);
                let within = (run.first_cycle + index * run.step) % period;
                if within >= u64::from(fade.on) {
                    index += (period - within).div_ceil(run.step.max(1));
                    // A step over several cycles may land in the next silence: look again.
                    if index < run.count {
                        continue;
                    }
                }
            }
            if index < run.count {
                let side = match track.side {
                    Some(Side::Left) => 0,
                    Some(Side::Right) => 1,
                    None => 2,
                };
                let key = run.law.frame(index) << 8 | (track.kind as u64) << 4 | side;
                return Self { key, span, index };
            }
            (span, index) = (span + 1, 0);
        }
        Self::DONE
    }
}

impl Events<'_> {
    /// Sets the cursors on the current repeat's tracks.
    fn enter(&mut self) {
        self.cursors = [Cursor::DONE; MOST_TRACKS];
        if let Some(repeat) = self.repeats.get(self.current) {
            for (cursor, track) in self.cursors.iter_mut().zip(&repeat.tracks) {
                *cursor = Cursor::seek(track, 0, 0);
            }
        }
    }
}

impl Iterator for Events<'_> {
    type Item = Event;

    fn next(&mut self) -> Option<Event> {
        loop {
            let repeat = self.repeats.get(self.current)?;
            let mut nearest = 0;
            for at in 1..repeat.tracks.len() {
                if self.cursors[at].key < self.cursors[nearest].key {
                    nearest = at;
                }
            }
            let cursor = self.cursors[nearest];
            if cursor.key == u64::MAX {
                self.current += 1;
                self.enter();
                continue;
            }
            let track = &repeat.tracks[nearest];
            self.cursors[nearest] = Cursor::seek(track, cursor.span, cursor.index + 1);
            let run = &track.spans[cursor.span];
            return Some(Event {
                frame: cursor.key >> 8,
                kind: track.kind,
                side: track.side,
                set: repeat.set,
                repeat: repeat.number,
                beat: (track.phase_micro)
                    .map(|phase| (run.first_cycle + cursor.index * run.step, phase)),
            });
        }
    }
}
