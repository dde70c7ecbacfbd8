//! Where frames come from: the mixer, or what stands between it and a file or device.

use std::ops::Deref;

use super::Mixer;
use crate::sound::Bank;
use crate::timeline::Event;

/// A stream of stereo frames in which silence can be passed over.
pub trait FrameSource {
    /// How many of the coming frames, up to `most`, are certain to be silent.
    fn silent_frames(&self, most: u64) -> u64;
    /// Passes over silent frames; `frames` is at most [`FrameSource::silent_frames`].
    fn skip(&mut self, frames: u64);
    /// Fills `out` with the next frames, left and right.
    fn fill(&mut self, out: &mut [[f32; 2]]);
}

impl<B: Deref<Target = Bank>, E: Iterator<Item = Event>> FrameSource for Mixer<B, E> {
    fn silent_frames(&self, most: u64) -> u64 {
        self.silent_frames(most)
    }

    fn skip(&mut self, frames: u64) {
        self.skip(frames);
    }

    fn fill(&mut self, out: &mut [[f32; 2]]) {
        self.fill(out);
    }
}
