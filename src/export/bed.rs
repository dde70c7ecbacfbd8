//! A bed under the cues: lowered before they come, never moving one.

use std::iter::Peekable;

use super::job::{Job, LaidBed, TrackFile};
use crate::media::{Bed, Playing};
use crate::render::{CEILING, FrameSource};
use crate::timeline::{Cursor, Timeline};

/// Below the loudness of the cues, LU: where nothing else sounds, and under cues and speech.
const HIGH_LU: f64 = 6.0;
const LOW_LU: f64 = 18.0;
/// The most of the ceiling that a lowered bed may take from the cues.
const MOST_SHARE: f32 = 0.25;
/// It is lowered over so many seconds before a cue, stays so after it, and comes back, s.
const BEFORE_S: f64 = 0.25;
const AFTER_S: f64 = 0.4;
const BACK_S: f64 = 1.5;

impl Job {
    /// Lays a bed under the session, before it speaks: the cues make room for it.
    pub fn lay(&mut self, bed: Bed) {
        let cues = self.cues_lufs().unwrap_or(-30.0);
        let gain = |below: f64| 10_f64.powf((cues - below - bed.lufs) / 20.0) as f32;
        let high = gain(HIGH_LU).min(CEILING / bed.peak);
        let low = gain(LOW_LU).min(MOST_SHARE * CEILING / bed.peak);
        self.gain *= 1.0 - low * bed.peak / CEILING;
        self.laid = Some(LaidBed { bed, high, low });
    }

    /// One part as it is written: cues, speech, and the bed under them.
    pub fn source(&self, part: &TrackFile) -> impl FrameSource + use<'_> {
        let start = part.frames.start;
        Under {
            mixer: self.mixer(part),
            under: self.laid.as_ref().map(|laid| Lowered {
                laid,
                playing: laid.bed.play(start),
                ahead: Ahead::new(self, part),
                position: start,
                block: Vec::new(),
            }),
        }
    }

    /// What went wrong with the bed, if anything did.
    pub fn bed_fault(&self) -> Option<crate::error::Error> {
        self.laid.as_ref().and_then(|laid| laid.bed.fault())
    }
}

/// A mixer and what is laid under it.
struct Under<'j, S> {
    mixer: S,
    under: Option<Lowered<'j>>,
}

struct Lowered<'j> {
    laid: &'j LaidBed,
    playing: Playing<'j>,
    ahead: Ahead<'j>,
    position: u64,
    block: Vec<[f32; 2]>,
}

impl<S: FrameSource> FrameSource for Under<'_, S> {
    fn silent_frames(&self, most: u64) -> u64 {
        match self.under {
            Some(_) => 0,
            None => self.mixer.silent_frames(most),
        }
    }

    fn skip(&mut self, frames: u64) {
        self.mixer.skip(frames);
    }

    fn fill(&mut self, out: &mut [[f32; 2]]) {
        self.mixer.fill(out);
        let Some(under) = &mut self.under else { return };
        under.block.resize(out.len(), [0.0; 2]);
        under.playing.fill(&mut under.block);
        let LaidBed { high, low, .. } = *under.laid;
        for (frame, bed) in out.iter_mut().zip(&under.block) {
            let lowered = under.ahead.lowered(under.position);
            let gain = high + (low - high) * lowered;
            frame[0] += bed[0] * gain;
            frame[1] += bed[1] * gain;
            under.position += 1;
        }
    }
}

/// When something sounds, read ahead of the mixer.
struct Ahead<'j> {
    events: Peekable<Cursor<&'j Timeline>>,
    job: &'j Job,
    note: usize,
    before: f64,
    after: u64,
    back: f64,
    /// Until when what has sounded holds the bed down.
    held: u64,
}

impl<'j> Ahead<'j> {
    fn new(job: &'j Job, part: &TrackFile) -> Self {
        let rate = f64::from(job.bank.sample_rate_hz());
        let start = part.frames.start;
        // The release after what sounded before a cut: the last end signal.
        let mut held = 0;
        if let Some(before) = part.repeats.start.checked_sub(1) {
            let last = job.timeline.events_of(before..before + 1).last();
            held = last.map_or(0, |event| {
                event.frame + job.bank.voice(event.voice()).len() as u64
            });
        }
        let after = (AFTER_S * rate) as u64;
        Self {
            events: job.timeline.events_of(part.repeats.clone()).peekable(),
            job,
            note: job.spoken.speech.first_after(start),
            before: BEFORE_S * rate,
            after,
            back: BACK_S * rate,
            held: if held > 0 { held + after } else { 0 },
        }
    }
    /// How far the bed is lowered at a frame, 0 to 1: it falls on a straight line before a sound,
    /// is down while it sounds and a little longer, and comes back on a straight line.
    fn lowered(&mut self, frame: u64) -> f32 {
        while let Some(event) = self.events.next_if(|event| event.frame <= frame) {
            let length = self.job.bank.voice(event.voice()).len() as u64;
            self.held = self.held.max(event.frame + length + self.after);
        }
        let notes = &self.job.spoken.speech.notes;
        while let Some(note) = notes.get(self.note).filter(|note| note.frame <= frame) {
            self.held = self.held.max(note.frame + note.frames as u64 + self.after);
            self.note += 1;
        }
        if frame < self.held {
            return 1.0;
        }
        let coming = (self.events.peek().map(|event| event.frame))
            .into_iter()
            .chain(notes.get(self.note).map(|note| note.frame))
            .min();
        let falls = coming.map_or(0.0, |next| 1.0 - (next - frame) as f64 / self.before);
        let back = match self.held {
            0 => 0.0,
            held => 1.0 - (frame - held) as f64 / self.back,
        };
        falls.max(back).clamp(0.0, 1.0) as f32
    }
}
