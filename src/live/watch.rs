//! Opening a device for the deck, and telling when it is lost or starved.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use super::Play;
use super::deck::{Ended, Keeper, Sound, Word, locked};
use super::device;
use super::step::Clock;
use crate::error::Result;

/// How often a stream is looked at that says nothing by itself.
const LOOK: Duration = Duration::from_millis(50);
/// The largest that repeated underruns lead to.
const LARGEST_BUFFER: u32 = 4096;
/// A server's stream may give nothing for a second after it was opened (audio-practice 2).
const SLOW_START: Duration = Duration::from_millis(2500);
/// Frames that stop for longer than this, and than four buffers, mean a lost device.
const STALLED: Duration = Duration::from_millis(400);
/// Underruns that make the buffer grow, if they come within [`UNDERRUN_WINDOW`].
const MANY_UNDERRUNS: u32 = 3;
const UNDERRUN_WINDOW: Duration = Duration::from_secs(20);
/// New streams in a row without a wait between them.
const MOST_HURRIED: u32 = 3;

impl Keeper {
    pub(super) fn open(
        &mut self,
        engine: Box<dyn Play>,
        home: Sender<Box<dyn Play>>,
        due: Option<Clock>,
    ) -> Result<device::Stream> {
        let opening = device::Opening {
            name: self.wanted.device.as_deref(),
            buffer_frames: self.buffer_frames,
            home,
            pulse: Arc::clone(&self.pulse),
            words: self.words.clone(),
            due,
        };
        let stream = device::open(engine, opening)?;
        *locked(&self.sound) = Sound::Playing {
            device: stream.name.clone(),
            rate_hz: stream.choice.rate_hz,
            channels: stream.choice.channels,
            buffer_frames: stream.buffer_frames,
        };
        Ok(stream)
    }

    /// Watches a stream until it ends.
    pub(super) fn watch(&mut self, stream: &device::Stream, heard: &Receiver<Word>) -> Ended {
        let opened = Instant::now();
        let (mut beats, mut last_beat) = (self.pulse.beats(), opened);
        let mut window = (opened, self.pulse.underruns());
        let four_buffers =
            Duration::from_secs_f64(f64::from(stream.buffer_frames) * 4.0 / self.rate_hz);
        self.pulse.take_failure();
        loop {
            match heard.recv_timeout(LOOK) {
                Err(RecvTimeoutError::Timeout) | Ok(Word::Look) => {}
                Ok(Word::Stop) | Err(RecvTimeoutError::Disconnected) => return Ended::Stopped,
            }
            let now = Instant::now();
            if self.pulse.beats() != beats {
                (beats, last_beat) = (self.pulse.beats(), now);
            }
            if now - window.0 > UNDERRUN_WINDOW {
                window = (now, self.pulse.underruns());
            }
            let underruns = self.pulse.underruns() - window.1;
            if self.pulse.take_failure() {
                // A server may answer an underrun, or a first buffer that came late, with an
                // error that the stream does not recover from, and take a new stream at once.
                let starved = underruns > 0 || now - opened < SLOW_START;
                if starved && self.hurried < MOST_HURRIED {
                    self.hurried += 1;
                    self.grow();
                    return Ended::Starved;
                }
                return Ended::Lost("the device says that it has ended");
            }
            let patience = match now - opened < SLOW_START * 2 {
                true => SLOW_START,
                false => STALLED.max(four_buffers),
            };
            if now - last_beat > patience {
                return Ended::Lost("the device takes no more sound");
            }
            if now - opened > SLOW_START {
                self.hurried = 0;
            }
            if underruns >= MANY_UNDERRUNS && self.grow() {
                return Ended::Starved;
            }
        }
    }

    /// Asks for four times the buffer from now on, unless a person chose it or it is large already.
    fn grow(&mut self) -> bool {
        let grows = self.wanted.buffer_frames.is_none() && self.buffer_frames < LARGEST_BUFFER;
        if grows {
            self.buffer_frames *= 4;
        }
        grows
    }
}
