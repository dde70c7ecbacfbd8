//! Whether a track holds: each expected cue found, nothing missing, nothing extra.
//!
//! The track is read beside what the mixer would write. Where both agree within rounding, every
//! event is in place; where they do not, [`super::matching`] tells which voices are there.

use std::collections::VecDeque;
use std::io::Read;
use std::ops::Range;

use super::matching::{Ear, Extra};
use super::reader::TrackReader;
use super::{Job, Part};
use crate::error::Result;
use crate::model::swimmer::Channels;
use crate::render::Source;
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
    likeness: Likeness,
}

/// Missing and extra events that a report names one by one.
const NAMED: usize = 5;

/// Products of what was heard and what was expected, where they disagree.
#[derive(Debug, Clone, Copy, Default)]
struct Likeness {
    heard: f64,
    expected: f64,
    both: f64,
}

impl Report {
    /// Whether nothing differs. One frame is no difference: a ramp is rounded from a float.
    pub fn holds(&self) -> bool {
        self.missing_count == 0
            && self.extra_count == 0
            && self.worst_error_frames <= 1
            && self.frames == self.frames_expected
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

/// Checks one part of a session. `job` is laid out at the track's own sample rate; `channels` is
/// what a track of one channel holds.
///
/// # Errors
/// When the track cannot be read to its end.
pub fn check_track<R: Read>(
    job: &Job,
    part: &Part,
    channels: Channels,
    mut track: TrackReader<R>,
) -> Result<Report> {
    let ear = Ear {
        bank: &job.bank,
        gain: job.gain(),
        swap: job.swap,
        single: track.is_mono().then_some(channels),
    };
    let mut report = Report {
        frames_expected: part.length(),
        frames: track.frames(),
        ..Report::default()
    };
    // At the highest audio rates a voice is longer than the usual window.
    let size = WINDOW.max(ear.margin());
    let length = part.length().max(track.frames());
    let windows = length.div_ceil(size as u64);
    let mut mixer = job.source(part);
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
        mixer: &mut impl Source,
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
        let mut pairs = self.heard.iter().zip(&self.expected);
        self.agrees = pairs.all(|(heard, expected)| near(heard, expected, tolerance));
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
            let differ = (heard.iter().zip(expected))
                .filter(|(heard, expected)| !near(heard, expected, tolerance))
                .count();
            if differ as f64 > OTHER_WORDS * heard.len() as f64 {
                heard.copy_from_slice(expected);
            }
        }
        self.compare(tolerance);
    }
}

/// The share of a free time that differs from which on the words are taken for others. A cue
/// that has strayed there lasts some 50 ms of the 1.5 s of a window.
const OTHER_WORDS: f64 = 0.1;

/// Whether two frames are the same but for rounding.
fn near(heard: &[f32; 2], expected: &[f32; 2], tolerance: f32) -> bool {
    (heard[0] - expected[0]).abs() <= tolerance && (heard[1] - expected[1]).abs() <= tolerance
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
    let mut sound: Vec<[f32; 2]> = Vec::with_capacity(size + 2 * margin);
    let mut left_over = |window: &Window, part: std::ops::Range<usize>| {
        let pairs = window.heard[part.clone()]
            .iter()
            .zip(&window.expected[part]);
        sound.extend(
            pairs.map(|(heard, expected)| [heard[0] - expected[0], heard[1] - expected[1]]),
        );
    };
    match before {
        Some(before) => left_over(before, size - margin..size),
        None => left_over(&Window::silence(size), size - margin..size),
    }
    left_over(middle, 0..size);
    left_over(after, 0..margin);
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
    let floor = (2.0 * tolerance).max(0.01);
    for extra in ear.extras(&mut sound, origin, margin..margin + size, floor) {
        report.extra_count += 1;
        if report.extra.len() < NAMED {
            report.extra.push(extra);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;
    use crate::export::{Form, write_wav};
    use crate::files::{parse_session, voices};
    use crate::model::cue::Kind;
    use crate::model::layer::Layer;
    use crate::model::resolve::resolve;
    use crate::model::swimmer::{Division, Format};
    use crate::sound::Bank;

    const SESSION: &str = "lead_in = \"5 s\"\n[[set]]\nrate = \"70 spm\"\nswim = \"25 s\"\nkick = \"six-beat\"\n\
        cues = [\"arm\", \"kick\", \"fill\", \"breath\"]\nbreath = { every = 3 }\n";

    fn job(text: &str) -> Job {
        let session = parse_session("test.toml", text).expect("parses");
        let session = resolve(&session, None, &Layer::default()).expect("resolves");
        Job::new(session, Bank::new(&voices::shipped(), 22_050), false).expect("fits")
    }

    /// The track as 16-bit samples, left and right.
    fn samples(job: &Job) -> Vec<i16> {
        let part = job.parts(Division::One, Format::Wav, None).remove(0);
        let form = Form {
            format: Format::Wav,
            sample_rate_hz: 22_050,
            bits: 16,
            channels: Channels::Stereo,
        };
        let mut file = Cursor::new(Vec::new());
        write_wav(
            &mut file,
            form,
            &mut job.mixer(&part),
            part.length(),
            &mut |_| Ok(()),
        )
        .expect("memory has room");
        let bytes = file.into_inner();
        bytes[44..]
            .chunks(2)
            .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
            .collect()
    }

    fn check(job: &Job, samples: &[i16]) -> Report {
        let spec = hound::WavSpec {
            channels: 2,
            sample_rate: 22_050,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut file = Cursor::new(Vec::new());
        let mut writer = hound::WavWriter::new(&mut file, spec).expect("a format of the library");
        for sample in samples {
            writer.write_sample(*sample).expect("memory has room");
        }
        writer.finalize().expect("memory has room");
        let reader =
            TrackReader::new(Cursor::new(file.into_inner()), "track.wav").expect("a whole file");
        let part = job.parts(Division::One, Format::Wav, None).remove(0);
        check_track(job, &part, Channels::Mono, reader).expect("readable")
    }

    /// An event of the middle of the swim whose voice sounds with no other in its ear.
    fn lonely(job: &Job, kind: Kind) -> Event {
        let events: Vec<Event> = job.timeline.events().collect();
        let length = job.bank.longest_frames() as u64 / 2;
        *events
            .iter()
            .find(|event| {
                event.kind == kind
                    && event.frame > 10 * 22_050
                    && (events
                        .iter()
                        .filter(|other| {
                            other.side == event.side && other.frame.abs_diff(event.frame) < length
                        })
                        .count()
                        == 1)
            })
            .expect("one that stands alone")
    }

    #[test]
    fn an_exported_track_holds_to_the_frame() {
        let job = job(SESSION);
        let report = check(&job, &samples(&job));
        assert!(report.holds());
        assert_eq!(report.expected, job.timeline.events().count() as u64);
        assert_eq!(
            (report.found, report.worst_error_frames),
            (report.expected, 0)
        );
    }

    #[test]
    fn a_muted_cue_is_missing_and_nothing_else_is() {
        let job = job(&SESSION.replace("\"arm\", ", ""));
        for kind in [Kind::Kick, Kind::Fill] {
            let event = lonely(&job, kind);
            let mut sound = samples(&job);
            let channel = usize::from(event.side == Some(crate::model::cue::Side::Right));
            let length = job.bank.voice(event.voice()).len();
            for frame in event.frame as usize..event.frame as usize + length {
                sound[2 * frame + channel] = 0;
            }
            let report = check(&job, &sound);
            assert_eq!(
                (report.missing_count, report.extra_count),
                (1, 0),
                "{kind:?}"
            );
            assert_eq!(report.missing, [event]);
            assert!(!report.holds());
        }
    }

    #[test]
    fn a_late_track_is_found_late_by_as_much() {
        let job = job(SESSION);
        for late in [1_usize, 3, 40, 100] {
            let mut sound = vec![0; 2 * late];
            sound.extend(samples(&job));
            let whole = job.timeline.frames() as usize * 2;
            let report = check(&job, &sound[..whole]);
            assert_eq!(report.missing_count, 0, "{late} frames late");
            assert_eq!(report.worst_error_frames, late as u64);
            assert_eq!(
                report.extra_count, 0,
                "{late} frames late: {:?}",
                report.extra
            );
            assert_eq!(report.holds(), late <= 1);
        }
    }

    #[test]
    fn a_track_later_than_5_ms_has_every_cue_missing_and_as_many_extra() {
        let job = job(SESSION);
        let mut sound = vec![0; 2 * 300];
        sound.extend(samples(&job));
        let report = check(&job, &sound[..job.timeline.frames() as usize * 2]);
        let all = report.expected as f64;
        assert!(
            report.missing_count as f64 > 0.95 * all,
            "{} of {all}",
            report.missing_count
        );
        assert!(
            report.extra_count as f64 > 0.9 * all,
            "{} of {all}",
            report.extra_count
        );
    }

    #[test]
    fn a_voice_nobody_asked_for_is_named_with_its_frame() {
        let job = job(SESSION);
        for voice in crate::model::cue::Voice::ALL {
            let mut sound = samples(&job);
            // In the lead-in, and on top of a busy place.
            for at in [22_050_usize, 12 * 22_050 + 777] {
                for (n, sample) in job.bank.voice(voice).iter().enumerate() {
                    let value = (sample * job.gain() * 32_768.0) as i16;
                    for channel in 0..2 {
                        let here = voice.side.is_none_or(|side| {
                            usize::from(side == crate::model::cue::Side::Right) == channel
                        });
                        if here {
                            sound[2 * (at + n) + channel] += value;
                        }
                    }
                }
            }
            let report = check(&job, &sound);
            assert_eq!(report.missing_count, 0, "{voice}");
            let near = |frame: u64| {
                report
                    .extra
                    .iter()
                    .any(|extra| extra.voice == voice && extra.frame.abs_diff(frame) <= 1)
            };
            assert!(
                near(22_050) && near(12 * 22_050 + 777),
                "{voice}: {:?}",
                report.extra
            );
            assert_eq!(report.extra_count, 2, "{voice}: {:?}", report.extra);
        }
    }

    #[test]
    fn another_session_does_not_hold() {
        let job_one = job(SESSION);
        let other = job(&SESSION.replace("70 spm", "71 spm"));
        let report = check(&other, &samples(&job_one));
        assert!(report.missing_count > 20 && report.extra_count > 20);
    }

    #[test]
    fn a_longer_and_a_shorter_track_do_not_hold() {
        let job = job(SESSION);
        let mut sound = samples(&job);
        let shorter = check(&job, &sound[..sound.len() - 2]);
        assert!(!shorter.holds() && shorter.missing_count == 0);
        sound.extend([0; 4]);
        assert!(!check(&job, &sound).holds());
    }
}
