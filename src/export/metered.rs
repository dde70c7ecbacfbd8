//! A source that is measured on its way into a file.

use crate::model::track_format::{Channels, Fold};
use crate::render::FrameSource;
use crate::sound::{Loudness, Meter};

/// Passes a source on and measures what the file will hold.
pub struct Metered<S> {
    source: S,
    fold: Option<Fold>,
    meter: Meter,
    single: Vec<[f32; 2]>,
}

impl<S: FrameSource> Metered<S> {
    /// A source that will be written with these channels at this rate.
    pub fn new(source: S, channels: Channels, sample_rate_hz: u32) -> Self {
        Self {
            source,
            meter: Meter::new(channels.count() == 1, sample_rate_hz, true),
            fold: channels.fold(),
            single: Vec::new(),
        }
    }

    /// What was measured.
    pub fn read(self) -> Loudness {
        self.meter.read()
    }
}

impl<S: FrameSource> FrameSource for Metered<S> {
    fn silent_frames(&self, most: u64) -> u64 {
        self.source.silent_frames(most)
    }

    fn skip(&mut self, frames: u64) {
        self.source.skip(frames);
        self.meter.silence(frames);
    }

    fn fill(&mut self, out: &mut [[f32; 2]]) {
        self.source.fill(out);
        match self.fold {
            None => self.meter.add(out),
            Some(fold) => {
                self.single.clear();
                let one = out.iter().map(|frame| [fold.single(*frame); 2]);
                self.single.extend(one);
                self.meter.add(&self.single);
            }
        }
    }
}
