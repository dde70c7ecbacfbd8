//! Whether a track holds: each expected cue found, nothing missing, nothing extra.
//!
//! The track is read beside what the mixer would write. Where both agree within rounding, every
//! event is in place; where they do not, [`super::matching`] tells which voices are there.

use std::collections::VecDeque;
use std::io::Read;

use super::matching::{Ear, Extra};
use super::reader::TrackReader;
use super::{Job, Part};
use crate::error::Result;
use crate::timeline::Event;

/// What was found in one track.
#[derive(Debug, Clone, Default)]
pub struct Report {
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
    /// The largest distance of a found event from its frame.
    pub worst_error_frames: u64,
    /// Frames the session has there.
    pub frames_expected: u64,
    /// Frames the track has.
    pub frames: u64,
}

/// Missing and extra events that a report names one by one.
const NAMED: usize = 20;

impl Report {
    /// Whether nothing differs. One frame is no difference: a ramp is rounded from a float.
    pub fn holds(&self) -> bool {
        self.missing_count == 0
            && self.extra_count == 0
            && self.worst_error_frames <= 1
            && self.frames == self.frames_expected
    }
}

/// Frames compared at a time.
const WINDOW: usize = 1 << 16;

/// Checks one part of a session. `job` is laid out at the track's own sample rate.
///
/// # Errors
/// When the track cannot be read to its end.
pub fn check_track<R: Read>(job: &Job, part: &Part, mut track: TrackReader<R>) -> Result<Report> {
    let ear = Ear {
        bank: &job.bank,
        gain: job.gain(),
        swap: job.swap,
        mono: track.is_mono(),
    };
    let mut report = Report {
        frames_expected: part.length(),
        frames: track.frames(),
        ..Report::default()
    };
    let length = part.length().max(track.frames());
    let windows = length.div_ceil(WINDOW as u64);
    let mut mixer = job.mixer(part);
    let mut events = job.timeline.events_of(part.repeats.clone()).peekable();
    // Three windows are held: one is judged when what comes before and after it is known.
    let mut held: VecDeque<Window> = VecDeque::from([Window::silence()]);
    let tolerance = track.tolerance();
    for number in 0..=windows {
        let mut window = match held.len() {
            3 => held.pop_front().unwrap_or_else(Window::silence),
            _ => Window::silence(),
        };
        let start = number * WINDOW as u64 + part.frames.start;
        window.load(&mut track, &mut mixer, &ear, tolerance, start)?;
        window.events.clear();
        while let Some(event) = events.next_if(|event| event.frame < start + WINDOW as u64) {
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
    fn silence() -> Self {
        Self {
            start: 0,
            heard: vec![[0.0; 2]; WINDOW],
            expected: vec![[0.0; 2]; WINDOW],
            events: Vec::new(),
            agrees: true,
        }
    }

    fn load<R: Read, E: Iterator<Item = Event>>(
        &mut self,
        track: &mut TrackReader<R>,
        mixer: &mut crate::render::Mixer<'_, E>,
        ear: &Ear,
        tolerance: f32,
        start: u64,
    ) -> Result<()> {
        self.start = start;
        track.read(&mut self.heard)?;
        mixer.fill(&mut self.expected);
        if ear.mono {
            for frame in &mut self.expected {
                *frame = [(frame[0] + frame[1]) * 0.5; 2];
            }
        }
        let near = |(heard, expected): (&[f32; 2], &[f32; 2])| {
            (heard[0] - expected[0]).abs() <= tolerance
                && (heard[1] - expected[1]).abs() <= tolerance
        };
        self.agrees = self.heard.iter().zip(&self.expected).all(near);
        Ok(())
    }
}

/// Judges the middle one of the windows held: the one before it, itself, the one after it.
fn judge(ear: &Ear, held: &VecDeque<Window>, tolerance: f32, report: &mut Report) {
    let middle = &held[held.len() - 2];
    let after = &held[held.len() - 1];
    report.expected += middle.events.len() as u64;
    // A voice that starts here may end in the next window: both must agree.
    if middle.agrees && after.agrees {
        report.found += middle.events.len() as u64;
        return;
    }
    let margin = ear.margin();
    let before = (held.len() == 3).then(|| &held[0]);
    let mut sound: Vec<[f32; 2]> = Vec::with_capacity(WINDOW + 2 * margin);
    let mut left_over = |window: &Window, part: std::ops::Range<usize>| {
        let pairs = window.heard[part.clone()]
            .iter()
            .zip(&window.expected[part]);
        sound.extend(
            pairs.map(|(heard, expected)| [heard[0] - expected[0], heard[1] - expected[1]]),
        );
    };
    match before {
        Some(before) => left_over(before, WINDOW - margin..WINDOW),
        None => left_over(&Window::silence(), WINDOW - margin..WINDOW),
    }
    left_over(middle, 0..WINDOW);
    left_over(after, 0..margin);
    let origin = middle.start as i64 - margin as i64;
    let end = middle.start + (WINDOW + margin) as u64;
    let events: Vec<Event> = (before.iter().flat_map(|window| &window.events))
        .chain(&middle.events)
        .chain(&after.events)
        .filter(|event| event.frame as i64 >= origin && event.frame < end)
        .copied()
        .collect();
    let own = middle.start..middle.start + WINDOW as u64;
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
    let floor = (2.0 * tolerance).max(0.01);
    for extra in ear.extras(&mut sound, origin, margin..margin + WINDOW, floor) {
        report.extra_count += 1;
        if report.extra.len() < NAMED {
            report.extra.push(extra);
        }
    }
}
