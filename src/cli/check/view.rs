//! What `check` found, as JSON and in words.

use serde::Serialize;

use crate::cli::shared::report::Report;
use crate::cli::shared::words::{Page, count};
use crate::error::Result;
use crate::export::check::CheckReport;
use crate::units::{Fix, Time};

/// What `check` found, over all tracks and track by track.
#[derive(Debug, Serialize)]
pub struct CheckedTracks {
    cues_expected: u64,
    cues_found: u64,
    missing: u64,
    extra: u64,
    worst_error_frames: u64,
    /// Whether nothing differs in any of them.
    pub ok: bool,
    /// In the order of playing.
    pub tracks: Vec<CheckedTrack>,
}

/// One track and what was found, or why it could not be read.
#[derive(Debug, Serialize)]
pub struct CheckedTrack {
    pub name: String,
    #[serde(flatten)]
    heard: Option<HeardTrack>,
    pub ok: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<String>,
}

/// What was found in one track.
#[derive(Debug, Serialize)]
pub struct HeardTrack {
    cues_expected: u64,
    cues_found: u64,
    missing: u64,
    extra: u64,
    unexplained_ms: u64,
    worst_error_frames: u64,
    frames: u64,
    frames_expected: u64,
    sample_rate_hz: u32,
    /// The frame of the session on which the track starts.
    #[serde(skip)]
    start: u64,
    #[serde(skip)]
    found: CheckReport,
}

impl CheckedTracks {
    /// What was found in these tracks.
    pub fn new(tracks: Vec<CheckedTrack>) -> Self {
        let all = || tracks.iter().filter_map(|track| track.heard.as_ref());
        Self {
            cues_expected: all().map(|heard| heard.cues_expected).sum(),
            cues_found: all().map(|heard| heard.cues_found).sum(),
            missing: all().map(|heard| heard.missing).sum(),
            extra: all().map(|heard| heard.extra).sum(),
            worst_error_frames: (all().map(|heard| heard.worst_error_frames).max()).unwrap_or(0),
            ok: tracks.iter().all(|track| track.ok),
            tracks,
        }
    }
}

impl CheckedTrack {
    /// What came of one track.
    pub fn new(name: String, outcome: Result<HeardTrack>) -> Self {
        let error = outcome.as_ref().err().map(ToString::to_string);
        let heard = outcome.ok();
        let ok = heard.as_ref().is_some_and(|heard| heard.found.holds());
        Self {
            name,
            heard,
            ok,
            error,
        }
    }
}

impl HeardTrack {
    /// What was found in a track that starts on a frame of the session.
    pub fn new(found: CheckReport, start: u64, sample_rate_hz: u32) -> Self {
        Self {
            cues_expected: found.expected,
            cues_found: found.found,
            missing: found.missing_count,
            extra: found.extra_count,
            unexplained_ms: found.noise_ms,
            worst_error_frames: found.worst_error_frames,
            frames: found.frames,
            frames_expected: found.frames_expected,
            sample_rate_hz,
            start,
            found,
        }
    }

    /// A frame of the session as a clock time of this file.
    fn at(&self, frame: u64) -> String {
        let frames = Fix::from_integer(frame.saturating_sub(self.start).into());
        Time::from_s(frames / Fix::from_integer(self.sample_rate_hz.into())).rounded()
    }

    fn words(&self, to: &mut Page) {
        let worst = self.worst_error_frames;
        to.line(format_args!(
            "    {} expected, {} found, {} missing, {} extra; worst error {} ({:.2} ms)",
            self.cues_expected,
            self.cues_found,
            self.missing,
            self.extra,
            count(worst as usize, "frame"),
            worst as f64 * 1000.0 / f64::from(self.sample_rate_hz)
        ));
        if !self.found.is_as_long() {
            to.line(format_args!(
                "    {} frames long, {} expected",
                self.frames, self.frames_expected
            ));
        }
        if let Some(level) = self.found.level() {
            to.line(format_args!(
                "    the whole track is at {level:.2} of its level: export it again"
            ));
        } else if self.found.is_another() {
            to.line(
                "    hardly anything fits: another session, swimmer, rate or part, or swapped ears",
            );
        }
        self.one_by_one(to);
    }

    /// What is not as it should be, as far as it is named.
    fn one_by_one(&self, to: &mut Page) {
        for event in &self.found.missing {
            to.line(format_args!(
                "    missing: {} at {} of this file, set {}, repeat {}",
                event.voice(),
                self.at(event.frame),
                event.set,
                event.repeat
            ));
        }
        for extra in &self.found.extra {
            let ear = if extra.other_ear {
                " in the wrong ear"
            } else {
                ""
            };
            to.line(format_args!(
                "    extra: {}{ear} at {} of this file",
                extra.voice,
                self.at(extra.frame)
            ));
        }
        if let Some(from) = self.found.noise_from.filter(|_| self.found.is_noisy()) {
            to.line(format_args!(
                "    {:.2} s of sound that no cue explains, from {} of this file: a corrupt copy",
                self.unexplained_ms as f64 / 1000.0,
                self.at(from)
            ));
        }
        let named = (self.found.missing.len() + self.found.extra.len()) as u64;
        let all = self.missing + self.extra;
        if all > named {
            to.line(format_args!("    and {} more", all - named));
        }
    }
}

impl Report for CheckedTracks {
    fn words(&self, to: &mut Page) {
        for track in &self.tracks {
            let verdict = if track.ok { "holds  " } else { "differs" };
            let told = track.error.as_ref().unwrap_or(&track.name);
            to.line(format_args!("{verdict}  {told}"));
            if let Some(heard) = &track.heard {
                heard.words(to);
            }
        }
    }
}
