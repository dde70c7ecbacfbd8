//! A bed under the cues: down before they come and until they are over, never moving one.

use std::ops::Range;

use super::job::{Job, LaidBed, TrackFile};
use crate::media::{Bed, Playing};
use crate::model::session::CueSet;
use crate::model::track_format::Fold;
use crate::render::FrameSource;
use crate::sound::CEILING;

/// How loud cues are on the whole, LUFS: in between those of all presets (-27.5 to -24.4).
const CUES_LUFS: f64 = -26.0;
/// Below them, LU: where nothing else sounds, and under cues and speech.
const HIGH_LU: f64 = 8.0;
const LOW_LU: f64 = 18.0;
/// The most of full scale that a lowered bed takes, and what it leaves of cues and words: what
/// coincides of these reaches 0.886, and 0.95 of it with the bed stays below -1 dBTP.
const LOW_PEAK: f32 = 0.045;
const LEFT_BY_BED: f32 = 0.95;
/// It is lowered over so many seconds before a sound, stays so after it, and comes back, s.
const BEFORE_S: f64 = 0.5;
const AFTER_S: f64 = 1.0;
const BACK_S: f64 = 3.0;
/// It comes back only where nothing sounds for so long, s.
const REST_S: f64 = 6.0;

impl Job {
    /// Lays a bed under the session.
    pub fn lay(&mut self, bed: Bed) {
        let factor = |below: f64| 10_f64.powf((CUES_LUFS - below - bed.lufs) / 20.0) as f32;
        let high = factor(HIGH_LU).min(CEILING / bed.peak);
        let low = factor(LOW_LU).min(LOW_PEAK / bed.peak).min(high);
        self.laid = Some(LaidBed { bed, high, low });
    }

    /// One part as it is written: cues, speech, and the bed under them. `fold` is how its ears
    /// become one channel, if they do.
    pub fn source(&self, part: &TrackFile, fold: Option<Fold>) -> impl FrameSource + use<'_> {
        let start = part.frames.start;
        let both_ears = fold.map_or(1.0, Fold::both_ears);
        Under {
            mixer: self.mixer(part).with_both_ears_at(both_ears),
            under: self.laid.as_ref().map(|laid| Lowered {
                high: laid.high * both_ears,
                low: laid.low * both_ears,
                playing: laid.bed.play(start),
                down: Down::of(self),
                position: start,
                block: Vec::new(),
            }),
        }
    }

    /// What went wrong with the bed, if anything did.
    pub fn bed_fault(&self) -> Option<crate::error::Error> {
        self.laid.as_ref().and_then(|laid| laid.bed.fault())
    }

    /// When a bed stays down, in frames and in order: from the first count of a swim with cues to
    /// the end of its end signal, whatever fades in it; in every rest, where a coach speaks; of a
    /// swim without cues each signal; each word.
    fn sounding(&self) -> Vec<Range<u64>> {
        let mut spans: Vec<Range<u64>> = Vec::new();
        let mut ended = None;
        for (index, repeat) in self.schedule.repeats.iter().enumerate() {
            let events = self.timeline.events_of(index..index + 1);
            let lasts: Vec<Range<u64>> = events
                .map(|event| {
                    let length = self.bank.voice(event.voice()).len() as u64;
                    event.frame..event.frame + length
                })
                .collect();
            let Some(first) = lasts.first().map(|one| one.start) else {
                continue;
            };
            let end = lasts.iter().map(|one| one.end).max().unwrap_or(first);
            if let Some(ended) = ended.replace(end) {
                spans.push(ended..first.max(ended));
            }
            if self.session.sets[repeat.set].cues == CueSet::NONE {
                spans.extend(lasts);
            } else {
                spans.push(first..end);
            }
        }
        let notes = self.spoken.speech.notes.iter();
        spans.extend(notes.map(|note| note.frame..note.frame + note.frames as u64));
        spans.sort_by_key(|span| span.start);
        spans
    }
}

/// A mixer and what is laid under it.
struct Under<'j, S> {
    mixer: S,
    under: Option<Lowered<'j>>,
}

struct Lowered<'j> {
    high: f32,
    low: f32,
    playing: Playing<'j>,
    down: Down,
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
        for (frame, bed) in out.iter_mut().zip(&under.block) {
            let level = match under.down.lowered(under.position) {
                0.0 => under.high,
                1.0 => under.low,
                // A straight line in dB.
                between => under.high * (under.low / under.high).powf(between),
            };
            for (sample, bed) in frame.iter_mut().zip(bed) {
                *sample = *sample * LEFT_BY_BED + bed * level;
            }
            under.position += 1;
        }
    }
}

/// When a bed is down: a function of the frame alone, so that files joined are the one file.
struct Down {
    /// Stretches in which it is down, in order, further apart than it takes to come back.
    stretches: Vec<Range<u64>>,
    /// The first of them that a later frame can have to do with.
    next: usize,
    before: f64,
    back: f64,
}

impl Down {
    fn of(job: &Job) -> Self {
        let rate = f64::from(job.bank.sample_rate_hz());
        let rest = (REST_S * rate) as u64;
        let mut stretches: Vec<Range<u64>> = Vec::new();
        for span in job.sounding() {
            match stretches.last_mut() {
                Some(last) if span.start < last.end + rest => last.end = last.end.max(span.end),
                _ => stretches.push(span),
            }
        }
        for stretch in &mut stretches {
            stretch.end += (AFTER_S * rate) as u64;
        }
        Self {
            stretches,
            next: 0,
            before: BEFORE_S * rate,
            back: BACK_S * rate,
        }
    }

    /// How far the bed is lowered at a frame, 0 to 1; frames come in order.
    fn lowered(&mut self, frame: u64) -> f32 {
        while (self.stretches.get(self.next)).is_some_and(|stretch| stretch.end <= frame) {
            self.next += 1;
        }
        let falls = self.stretches.get(self.next).map_or(0.0, |coming| {
            1.0 - coming.start.saturating_sub(frame) as f64 / self.before
        });
        let last = self.next.checked_sub(1).map(|at| self.stretches[at].end);
        let back = last.map_or(0.0, |end| 1.0 - (frame - end) as f64 / self.back);
        falls.max(back).clamp(0.0, 1.0) as f32
    }
}
