//! Whether a track holds: each expected cue found, nothing missing, nothing extra.
//!
//! The track is read beside what the mixer would write. Where both agree within rounding, every
//! event is in place; where they do not, `matching.rs` tells which voices are there.

use std::collections::VecDeque;
use std::io::Read;
use std::ops::Range;

use super::matching::{Ear, Extra};
use super::reader::TrackReader;
use super::{Job, TrackFile};
use crate::error::Result;
use crate::model::track_format::Fold;
use crate::render::FrameSource;
use crate::timeline::Event;

/// What was found in one track.
#[derive(Debug, Clone, Default)]
pub struct CheckReport {
    /// Events that the session has there.
    pub expected: u64,
    /// Events whose voice explains the sound within 5 ms.
    pub found: u64,
    /// The first of the events that were not found.
    pub missing: Vec<Event>,
    /// How many were not found.
    pub missing_count: u64,
    /// The first of the voices nobody asked for.
    pub extra: Vec<Extra>,
    /// How many of those there are.
    pub extra_count: u64,
    /// How long there is sound that no cue explains, ms.
    pub noise_ms: u64,
    /// The frame of the session at which that begins.
    pub noise_from: Option<u64>,
    /// The largest distance of a found event from its frame.
    pub worst_error_frames: u64,
    /// Frames the session has there.
    pub frames_expected: u64,
    /// Frames the track has.
    pub frames: u64,
    /// By how many frames an event may be off, and the length of a copy at a higher rate.
    slack: u64,
    /// Whether the track has a higher audio rate than any that is exported.
    is_copy: bool,
    likeness: Likeness,
}

/// The lowest and the highest audio rate at which tracks are exported, Hz.
const EXPORTED_HZ: (u32, u32) = (44_100, 48_000);

/// A click is no corrupt copy, ms.
const MOST_NOISE_MS: u64 = 5;
/// Missing and extra events that a report names one by one.
const NAMED: usize = 5;

/// Products of what was heard and what was expected, where they disagree.
#[derive(Debug, Clone, Copy, Default)]
struct Likeness {
    heard: f64,
    expected: f64,
    both: f64,
}

impl CheckReport {
    /// Of a track at an audio rate. One frame is no difference: a ramp is rounded from a float. In
    /// a copy at a higher rate than any that is exported, what starts and ends does so on the
    /// frames of the track that it was made from: a frame of that one, at its longest, and one of
    /// its own are no difference either.
    fn new(sample_rate_hz: u32) -> Self {
        let is_copy = sample_rate_hz > EXPORTED_HZ.1;
        let longest = if is_copy {
            sample_rate_hz / EXPORTED_HZ.0
        } else {
            0
        };
        Self {
            slack: u64::from(longest) + 1,
            is_copy,
            ..Self::default()
        }
    }

    /// Whether nothing differs.
    pub fn holds(&self) -> bool {
        self.missing_count == 0
            && self.extra_count == 0
            && !self.is_noisy()
            && self.worst_error_frames <= self.slack
            && self.is_as_long()
    }

    /// Whether the track is as long as its session says.
    pub fn is_as_long(&self) -> bool {
        let most = if self.is_copy { self.slack } else { 0 };
        self.frames.abs_diff(self.frames_expected) <= most
    }

    /// Whether there is more sound that no cue explains than a click: the copy is corrupt, or
    /// something was mixed into it.
    pub fn is_noisy(&self) -> bool {
        self.noise_ms > MOST_NOISE_MS
    }

    /// The level of the whole track, 1 as exported, where it is the right one at another level:
    /// what was heard is what was expected, times a factor.
    pub fn level(&self) -> Option<f64> {
        let Likeness {
            heard,
            expected,
            both,
        } = self.likeness;
        let alike = both > 0.0 && both * both > 0.9 * heard * expected;
        (alike && self.missing_count > 0).then(|| both / expected)
    }

    /// Whether hardly anything was found: then it is another track, and no list of cues helps.
    pub fn is_another(&self) -> bool {
        self.expected > 0 && self.found * 4 < self.expected
    }
}

/// Frames compared at a time, at least.
const WINDOW: usize = 1 << 16;

/// Checks one part of a session. `job` is laid out at the track's own sample rate; `fold` is what a
/// track of one channel holds.
///
/// # Errors
/// When the track cannot be read to its end.
pub fn check_track<R: Read>(
    job: &Job,
    part: &TrackFile,
    fold: Fold,
    mut track: TrackReader<R>,
) -> Result<CheckReport> {
    let ear = Ear {
        bank: &job.bank,
        swap: job.swap,
        single: track.is_mono().then_some(fold),
    };
    let mut report = CheckReport {
        frames_expected: part.length(),
        frames: track.frames(),
        ..CheckReport::new(job.bank.sample_rate_hz())
    };
    // At the highest audio rates a voice is longer than the usual window.
    let size = WINDOW.max(ear.margin());
    let length = part.length().max(track.frames());
    let windows = length.div_ceil(size as u64);
    let mut mixer = job.source(part, ear.single);
    let mut events = job.timeline.events_of(part.repeats.clone()).peekable();
    // Three windows are held: one is judged when what comes before and after it is known.
    let mut held: VecDeque<Window> = VecDeque::from([Window::silence(size)]);
    let tolerance = track.tolerance();
    for number in 0..=windows {
        let mut window = match held.len() {
            3 => held.pop_front().unwrap_or_else(|| Window::silence(size)),
            _ => Window::silence(size),
        };
        let start = number * size as u64 + part.frames.start;
        window.load(&mut track, &mut mixer, &ear, tolerance, start)?;
        window.pass_over(&job.spoken.rooms, tolerance);
        window.events.clear();
        while let Some(event) = events.next_if(|event| event.frame < start + size as u64) {
            window.events.push(event);
        }
        held.push_back(window);
        if number > 0 {
            judge(&ear, &held, tolerance, &mut report);
        }
    }
    Ok(report)
}

/// A stretch of the track beside what was expected of it.
struct Window {
    start: u64,
    heard: Vec<[f32; 2]>,
    expected: Vec<[f32; 2]>,
    events: Vec<Event>,
    agrees: bool,
}

impl Window {
    fn silence(size: usize) -> Self {
        Self {
            start: 0,
            heard: vec![[0.0; 2]; size],
            expected: vec![[0.0; 2]; size],
            events: Vec::new(),
            agrees: true,
        }
    }

    fn load<R: Read>(
        &mut self,
        track: &mut TrackReader<R>,
        mixer: &mut impl FrameSource,
        ear: &Ear,
        tolerance: f32,
        start: u64,
    ) -> Result<()> {
        self.start = start;
        track.read(&mut self.heard)?;
        mixer.fill(&mut self.expected);
        if let Some(single) = ear.single {
            for frame in &mut self.expected {
                *frame = [single.single(*frame); 2];
            }
        }
        self.compare(tolerance);
        Ok(())
    }

    fn compare(&mut self, tolerance: f32) {
        // Whole blocks, without a way out inside one, are compared several samples at a time.
        let mut blocks = self.heard.chunks(BLOCK).zip(self.expected.chunks(BLOCK));
        self.agrees = blocks.all(|(heard, expected)| {
            let pairs = heard.iter().zip(expected);
            pairs.fold(true, |all, (heard, expected)| {
                all & near(heard, expected, tolerance)
            })
        });
    }

    /// What is heard in a part of it less what was expected there.
    fn left_over(&self, part: Range<usize>) -> impl Iterator<Item = [f32; 2]> {
        let pairs = self.heard[part.clone()].iter().zip(&self.expected[part]);
        pairs.map(|(heard, expected)| [heard[0] - expected[0], heard[1] - expected[1]])
    }

    /// Leaves out what is heard in the free times in which something is said, where it is another
    /// voice or none: that is no fault of the cues, and no cue has its place there. Where hardly
    /// anything differs the words are there, and what differs is judged as everywhere.
    fn pass_over(&mut self, rooms: &[Range<u64>], tolerance: f32) {
        if self.agrees {
            return;
        }
        let end = self.start + self.heard.len() as u64;
        for room in rooms {
            let (from, to) = (room.start.max(self.start), room.end.min(end));
            if from >= to {
                continue;
            }
            let inside = (from - self.start) as usize..(to - self.start) as usize;
            let (heard, expected) = (&mut self.heard[inside.clone()], &self.expected[inside]);
            let (mut differ, mut words, mut other_words) = (0, 0, 0);
            for (heard, expected) in heard.iter().zip(expected) {
                let differs = usize::from(!near(heard, expected, tolerance));
                let is_word = usize::from(*expected != [0.0; 2]);
                differ += differs;
                words += is_word;
                other_words += differs * is_word;
            }
            // Where words only just begin or end in a window, they are a small part of it.
            if differ as f64 > OTHER_WORDS * heard.len() as f64 || 2 * other_words > words {
                heard.copy_from_slice(expected);
            }
        }
        self.compare(tolerance);
    }
}

/// The share of a free time that differs from which on the words are taken for others. A cue
/// that has strayed there lasts some 50 ms of the 1.5 s of a window.
const OTHER_WORDS: f64 = 0.1;

/// Frames that are compared at once.
const BLOCK: usize = 256;

/// Whether two frames are the same but for rounding.
fn near(heard: &[f32; 2], expected: &[f32; 2], tolerance: f32) -> bool {
    ((heard[0] - expected[0]).abs() <= tolerance) & ((heard[1] - expected[1]).abs() <= tolerance)
}

/// Judges the middle one of the windows held: the one before it, itself, the one after it.
fn judge(ear: &Ear, held: &VecDeque<Window>, tolerance: f32, report: &mut CheckReport) {
    let middle = &held[held.len() - 2];
    let after = &held[held.len() - 1];
    report.expected += middle.events.len() as u64;
    // A voice that starts here may end in the next window: both must agree.
    if middle.agrees && after.agrees {
        report.found += middle.events.len() as u64;
        return;
    }
    for (heard, expected) in middle.heard.iter().zip(&middle.expected) {
        for (heard, expected) in heard.iter().zip(expected) {
            let (heard, expected) = (f64::from(*heard), f64::from(*expected));
            report.likeness.heard += heard * heard;
            report.likeness.expected += expected * expected;
            report.likeness.both += heard * expected;
        }
    }
    let (margin, size) = (ear.margin(), middle.heard.len());
    let before = (held.len() == 3).then(|| &held[0]);
    let mut sound = match before {
        Some(before) => before.left_over(size - margin..size).collect(),
        None => vec![[0.0; 2]; margin],
    };
    sound.extend(middle.left_over(0..size));
    sound.extend(after.left_over(0..margin));
    let origin = middle.start as i64 - margin as i64;
    let end = middle.start + (size + margin) as u64;
    let events: Vec<Event> = (before.iter().flat_map(|window| &window.events))
        .chain(&middle.events)
        .chain(&after.events)
        .filter(|event| event.frame as i64 >= origin && event.frame < end)
        .copied()
        .collect();
    let own = middle.start..middle.start + size as u64;
    for placed in ear.place(&mut sound, origin, &events) {
        if !own.contains(&placed.event.frame) {
            continue;
        }
        match placed.off {
            Some(off) => {
                report.found += 1;
                report.worst_error_frames = report.worst_error_frames.max(off.unsigned_abs());
            }
            None => {
                report.missing_count += 1;
                if report.missing.len() < NAMED {
                    report.missing.push(placed.event);
                }
            }
        }
    }
    let left = ear.extras(&mut sound, origin, margin..margin + size, tolerance);
    report.noise_ms += left.noise_ms;
    report.noise_from = report.noise_from.or(left.noise_from);
    for extra in left.extras {
        report.extra_count += 1;
        if report.extra.len() < NAMED {
            report.extra.push(extra);
        }
    }
}

#[cfg(test)]
mod tests;
