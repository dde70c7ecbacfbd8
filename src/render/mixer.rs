//! The mixer: adds voices where events fall.

use crate::model::cue::{Side, Voice};
use crate::sound::Bank;
use crate::timeline::Event;

/// More voices than can sound together: fourteen tracks, each voice shorter than its own gap.
const MOST_NOTES: usize = 32;

/// A voice that is sounding.
#[derive(Debug, Clone, Copy)]
struct Note {
    voice: Voice,
    /// How much of it has been added, in frames.
    done: usize,
}

/// Turns a run of events into stereo frames.
///
/// Each sample is the sum of its voices in the order of their events, so the result does not
/// depend on how many frames are asked for at a time.
#[derive(Debug)]
pub struct Mixer<'b, E> {
    bank: &'b Bank,
    gain: f32,
    swap: bool,
    events: E,
    next: Option<Event>,
    /// The frame of the track that comes next.
    position: u64,
    notes: [Option<Note>; MOST_NOTES],
    sounding: usize,
}

impl<'b, E: Iterator<Item = Event>> Mixer<'b, E> {
    /// A mixer that starts at frame `position` of the track; `events` are in order and none is
    /// earlier than that. `swap` exchanges the ears.
    pub fn new(bank: &'b Bank, gain: f32, swap: bool, position: u64, mut events: E) -> Self {
        let next = events.next();
        Self {
            bank,
            gain,
            swap,
            events,
            next,
            position,
            notes: [None; MOST_NOTES],
            sounding: 0,
        }
    }

    /// How many of the coming frames, up to `most`, are certain to be silent.
    pub fn silent_frames(&self, most: u64) -> u64 {
        if self.sounding > 0 {
            return 0;
        }
        self.next.map_or(most, |event| {
            event.frame.saturating_sub(self.position).min(most)
        })
    }

    /// Passes over silent frames without rendering them. `frames` is at most [`Self::silent_frames`].
    pub fn skip(&mut self, frames: u64) {
        debug_assert!(frames <= self.silent_frames(frames));
        self.position += frames;
    }

    /// Fills `out` with the next frames, left and right. Never allocates.
    pub fn fill(&mut self, out: &mut [[f32; 2]]) {
        out.fill([0.0; 2]);
        let mut kept = 0;
        for at in 0..self.sounding {
            let note = self.notes[at].take();
            let rest = note.and_then(|note| self.add(note, out));
            if rest.is_some() {
                self.notes[kept] = rest;
                kept += 1;
            }
        }
        self.sounding = kept;
        let end = self.position + out.len() as u64;
        while let Some(event) = self.next.filter(|event| event.frame < end) {
            let offset = event.frame.saturating_sub(self.position) as usize;
            let note = Note {
                voice: event.voice(),
                done: 0,
            };
            if let Some(rest) = self.add(note, &mut out[offset..]) {
                self.keep(rest);
            }
            self.next = self.events.next();
        }
        self.position = end;
    }

    /// Adds what a voice still has to say to `out` and gives the rest, if any.
    fn add(&self, note: Note, out: &mut [[f32; 2]]) -> Option<Note> {
        let samples = &self.bank.voice(note.voice)[note.done..];
        let ears = match (note.voice.side, self.swap) {
            (None, _) => [self.gain; 2],
            (Some(Side::Left), false) | (Some(Side::Right), true) => [self.gain, 0.0],
            (Some(Side::Right), false) | (Some(Side::Left), true) => [0.0, self.gain],
        };
        for (frame, sample) in out.iter_mut().zip(samples) {
            frame[0] += sample * ears[0];
            frame[1] += sample * ears[1];
        }
        (samples.len() > out.len()).then_some(Note {
            done: note.done + out.len(),
            ..note
        })
    }

    /// Keeps a voice for the next frames; the oldest gives way if ever the table is full.
    fn keep(&mut self, note: Note) {
        if self.sounding == MOST_NOTES {
            self.notes.rotate_left(1);
            self.sounding -= 1;
        }
        self.notes[self.sounding] = Some(note);
        self.sounding += 1;
    }
}
