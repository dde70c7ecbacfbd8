//! Opening a device for the deck, and telling when it is lost or starved.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

use super::Play;
use super::back_in_step::Clock;
use super::callback_state::Pulse;
use super::deck::{DeckSound, Ended, Keeper, Word, locked};
use super::device;
use crate::error::Result;

/// How often a stream is looked at that says nothing by itself.
const LOOK: Duration = Duration::from_millis(50);
/// The largest that repeated underruns lead to.
const LARGEST_BUFFER: u32 = 4096;
/// A server's stream may give nothing for a second after it was opened (docs/sources.md,
/// "Sound servers").
const SLOW_START: Duration = Duration::from_millis(2500);
/// At first a server has not said yet how far a stream is, and ALSA's plug-in for PulseAudio calls
/// that a failure (EIO), some 10 ms long where the machine is busy. Such a stream goes on by itself.
const UNSETTLED: Duration = Duration::from_millis(200);
/// Frames that stop for longer than this, and than four buffers, mean a lost device.
const STALLED: Duration = Duration::from_millis(400);
/// Underruns that make the buffer grow, if they come within [`UNDERRUN_WINDOW`].
const MANY_UNDERRUNS: u32 = 3;
const UNDERRUN_WINDOW: Duration = Duration::from_secs(20);
/// New streams in a row without a wait between them.
const MOST_HURRIED: u32 = 3;

/// What was seen of a stream.
struct Seen {
    opened: Instant,
    buffer_frames: u32,
    beats: u64,
    last_beat: Instant,
    /// Since when underruns are counted, and how many there had been.
    window: (Instant, u32),
}

impl Seen {
    fn new(pulse: &Pulse, buffer_frames: u32, opened: Instant) -> Self {
        Self {
            opened,
            buffer_frames,
            beats: pulse.beats(),
            last_beat: opened,
            window: (opened, pulse.underruns()),
        }
    }
}

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
        *locked(&self.sound) = DeckSound::Playing {
            device: stream.name.clone(),
            rate_hz: stream.choice.rate_hz,
            channels: stream.choice.channels,
            buffer_frames: stream.buffer_frames,
        };
        Ok(stream)
    }

    /// Watches a stream until it ends.
    pub(super) fn watch(&mut self, stream: &device::Stream, heard: &Receiver<Word>) -> Ended {
        self.pulse.take_failure();
        let mut seen = Seen::new(&self.pulse, stream.buffer_frames, Instant::now());
        loop {
            match heard.recv_timeout(LOOK) {
                Err(RecvTimeoutError::Timeout) | Ok(Word::Look) => {}
                Ok(Word::Stop) | Err(RecvTimeoutError::Disconnected) => return Ended::Stopped,
            }
            if let Some(ended) = self.look(&mut seen, Instant::now()) {
                return ended;
            }
        }
    }

    /// Whether a stream has ended, looked at now and then.
    fn look(&mut self, seen: &mut Seen, now: Instant) -> Option<Ended> {
        let age = now - seen.opened;
        if self.pulse.beats() != seen.beats {
            (seen.beats, seen.last_beat) = (self.pulse.beats(), now);
            if age < UNSETTLED {
                self.pulse.take_failure();
            }
        }
        if now - seen.window.0 > UNDERRUN_WINDOW {
            seen.window = (now, self.pulse.underruns());
        }
        let underruns = self.pulse.underruns() - seen.window.1;
        if age >= UNSETTLED && self.pulse.take_failure() {
            // A server may answer an underrun, or a first buffer that came late, with an
            // error that the stream does not recover from, and take a new stream at once.
            let starved = underruns > 0 || age < SLOW_START;
            if starved && self.hurried < MOST_HURRIED {
                self.hurried += 1;
                self.grow();
                return Some(Ended::Starved);
            }
            return Some(Ended::Lost("the device says that it has ended"));
        }
        let patience = if age < SLOW_START * 2 {
            SLOW_START
        } else {
            let buffer_s = f64::from(seen.buffer_frames) / self.rate_hz;
            STALLED.max(Duration::from_secs_f64(4.0 * buffer_s))
        };
        if now - seen.last_beat > patience {
            return Some(Ended::Lost("the device takes no more sound"));
        }
        if age > SLOW_START {
            self.hurried = 0;
        }
        (underruns >= MANY_UNDERRUNS && self.grow()).then_some(Ended::Starved)
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;
    use std::sync::mpsc::sync_channel;

    fn keeper() -> Keeper {
        let wanted = super::super::deck::WantedDevice {
            silent: false,
            device: None,
            buffer_frames: Some(4096),
        };
        Keeper {
            pulse: Arc::new(Pulse::new()),
            sound: Arc::new(Mutex::new(DeckSound::Silent)),
            wanted,
            words: sync_channel(1).0,
            rate_hz: 44_100.0,
            buffer_frames: 4096,
            hurried: 0,
        }
    }

    #[test]
    fn a_stream_that_complains_at_first_and_goes_on_is_left_alone() {
        let mut keeper = keeper();
        let begun = Instant::now();
        let at = |ms: u64| begun + Duration::from_millis(ms);
        let mut seen = Seen::new(&keeper.pulse, 4096, begun);
        for ms in [1, 12, 60] {
            keeper.pulse.fail();
            assert!(keeper.look(&mut seen, at(ms)).is_none(), "{ms} ms");
        }
        let beat = |keeper: &Keeper| {
            let latency = Duration::from_millis(90);
            keeper.pulse.beat(0, begun, latency, 44_100.0, false);
        };
        beat(&keeper);
        for ms in [110, 160, 210, 260] {
            assert!(keeper.look(&mut seen, at(ms)).is_none(), "{ms} ms");
            beat(&keeper);
        }
        keeper.pulse.fail();
        let ended = keeper.look(&mut seen, at(310));
        assert!(matches!(ended, Some(Ended::Starved)), "later it is meant");
    }

    #[test]
    fn a_stream_that_never_begins_to_play_is_opened_again_and_then_lost() {
        let mut keeper = keeper();
        let mut begun = Instant::now();
        for hurried in 0..=MOST_HURRIED {
            let mut seen = Seen::new(&keeper.pulse, 4096, begun);
            keeper.pulse.fail();
            assert!(keeper.look(&mut seen, begun).is_none());
            let ended = keeper.look(&mut seen, begun + UNSETTLED);
            if hurried < MOST_HURRIED {
                assert!(matches!(ended, Some(Ended::Starved)))
            } else {
                assert!(matches!(ended, Some(Ended::Lost(_))))
            }
            begun += UNSETTLED;
        }
    }
}
