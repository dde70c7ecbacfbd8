//! A recorded track on a device: frames from a thread that reads, over a wait-free queue.
//!
//! The callback never reads a file. Going back or on asks the reader for another place; what it
//! had read before is thrown away by its number.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;

use rtrb::{Consumer, Producer, RingBuffer};

use super::Play;
use crate::error::Result;

/// Where a track's frames come from.
pub trait TrackFrames: Send {
    /// Frames a second.
    fn sample_rate_hz(&self) -> u32;
    /// Length in frames, where it is known.
    fn length(&self) -> Option<u64>;
    /// Reads the next frames; 0 at the end.
    ///
    /// # Errors
    /// When the file cannot be read or is broken.
    fn read(&mut self, out: &mut [[f32; 2]]) -> Result<usize>;
    /// Goes to a frame, and says which one it has come to.
    ///
    /// # Errors
    /// When the file cannot be read or is broken.
    fn go_to(&mut self, frame: u64) -> Result<u64>;
}

/// Frames that are read ahead: a device may take several of the largest buffers (16384) at once,
/// and at most rates this is a second or more.
const AHEAD: usize = 1 << 17;
/// The fade of a pause.
const FADE_MS: u32 = 10;

/// A frame, its place in the track, and for which place it was asked.
#[derive(Debug, Clone, Copy)]
struct Piece {
    asked: u32,
    at: u64,
    frame: [f32; 2],
}

#[derive(Debug, Default)]
struct Shared {
    /// Counts the places asked for.
    asked: AtomicU32,
    /// The last place asked for that has been read to its end, plus one.
    read_out: AtomicU32,
    running: AtomicBool,
    over: AtomicBool,
    position: AtomicU64,
}

/// The callback's side.
#[derive(Debug)]
pub struct PlayedTrack {
    pieces: Consumer<Piece>,
    shared: Arc<Shared>,
    rate_hz: u32,
    /// 0 to 1, on its way to where the clock runs or stands.
    level: f32,
}

/// The other side: keys and what is shown.
pub struct TrackRemote {
    shared: Arc<Shared>,
    places: Sender<u64>,
    failed: Receiver<crate::error::Error>,
    /// Frames a second.
    pub rate_hz: u32,
    /// Length in frames, where it is known.
    pub length: Option<u64>,
}

impl TrackRemote {
    /// Lets it run, or stops it.
    pub fn run(&self, running: bool) {
        self.shared.running.store(running, Ordering::Relaxed);
    }

    /// Whether it runs.
    pub fn is_running(&self) -> bool {
        self.shared.running.load(Ordering::Relaxed)
    }

    /// Whether the last frame has been given away.
    pub fn is_over(&self) -> bool {
        self.shared.over.load(Ordering::Relaxed)
    }

    /// The frame that comes next.
    pub fn position(&self) -> u64 {
        self.shared.position.load(Ordering::Relaxed)
    }

    /// Goes to a frame.
    pub fn go_to(&self, frame: u64) {
        let frame = self.length.map_or(frame, |length| frame.min(length));
        self.shared.position.store(frame, Ordering::Relaxed);
        self.shared.over.store(false, Ordering::Relaxed);
        self.shared.asked.fetch_add(1, Ordering::Release);
        // A reader that has ended has said why.
        let _ = self.places.send(frame);
    }

    /// Why reading has ended before its time, if it has.
    pub fn failure(&self) -> Option<crate::error::Error> {
        self.failed.try_recv().ok()
    }
}

impl PlayedTrack {
    /// A track that stands at its beginning, and its other side. Starts the reader.
    ///
    /// # Errors
    /// When the system has no thread for it.
    pub fn open(frames: Box<dyn TrackFrames>) -> Result<(Self, TrackRemote)> {
        let (rate_hz, length) = (frames.sample_rate_hz(), frames.length());
        let (to, pieces) = RingBuffer::new(AHEAD);
        let (places, asked) = channel();
        let (fails, failed) = channel();
        let shared = Arc::new(Shared::default());
        let reader = Reader {
            frames,
            to,
            shared: Arc::clone(&shared),
            asked,
        };
        std::thread::Builder::new()
            .name("reader".into())
            .spawn(move || {
                if let Err(error) = reader.read() {
                    // Nobody listens any more only when the program ends.
                    let _ = fails.send(error);
                }
            })
            .map_err(|error| crate::error::Error::failed(format!("no thread to read: {error}")))?;
        let track = Self {
            pieces,
            shared: Arc::clone(&shared),
            rate_hz,
            level: 0.0,
        };
        let remote = TrackRemote {
            shared,
            places,
            failed,
            rate_hz,
            length,
        };
        Ok((track, remote))
    }

    /// The next frame of the place that was asked for last; older ones are thrown away.
    fn next(&mut self, asked: u32) -> Option<[f32; 2]> {
        while let Ok(piece) = self.pieces.pop() {
            if piece.asked == asked {
                self.shared.position.store(piece.at + 1, Ordering::Relaxed);
                return Some(piece.frame);
            }
        }
        None
    }
}

impl Play for PlayedTrack {
    fn fill(&mut self, out: &mut [[f32; 2]]) {
        let running = self.shared.running.load(Ordering::Relaxed);
        let asked = self.shared.asked.load(Ordering::Acquire);
        let step = 1000.0 / (self.rate_hz * FADE_MS) as f32;
        out.fill([0.0; 2]);
        for frame in out {
            self.level = if running {
                (self.level + step).min(1.0)
            } else {
                (self.level - step).max(0.0)
            };
            if self.level == 0.0 {
                return;
            }
            match self.next(asked) {
                Some([left, right]) => *frame = [left * self.level, right * self.level],
                None => {
                    let read_out = self.shared.read_out.load(Ordering::Acquire);
                    if read_out == asked + 1 && self.pieces.is_empty() {
                        self.shared.over.store(true, Ordering::Relaxed);
                    }
                    return;
                }
            }
        }
    }

    fn position(&self) -> u64 {
        self.shared.position.load(Ordering::Relaxed)
    }

    fn is_moving(&self) -> bool {
        let over = self.shared.over.load(Ordering::Relaxed);
        self.shared.running.load(Ordering::Relaxed) && !over && !self.pieces.is_empty()
    }

    fn sample_rate_hz(&self) -> u32 {
        self.rate_hz
    }
}

struct Reader {
    frames: Box<dyn TrackFrames>,
    to: Producer<Piece>,
    shared: Arc<Shared>,
    asked: Receiver<u64>,
}

impl Reader {
    fn read(mut self) -> Result<()> {
        let mut block = vec![[0.0; 2]; 1024];
        let (mut number, mut at) = (0, 0);
        loop {
            let mut count = self.frames.read(&mut block)?;
            if count == 0 {
                self.shared.read_out.store(number + 1, Ordering::Release);
            }
            let mut done = 0;
            // Waits for room, or at the end for another place; no place comes once nobody plays.
            while done < count || count == 0 {
                match self.asked.try_recv() {
                    Ok(place) => {
                        number += 1;
                        at = self.frames.go_to(place)?;
                        count = 1;
                        done = 1;
                    }
                    Err(std::sync::mpsc::TryRecvError::Disconnected) => return Ok(()),
                    Err(std::sync::mpsc::TryRecvError::Empty) => {}
                }
                while done < count {
                    let piece = Piece {
                        asked: number,
                        at,
                        frame: block[done],
                    };
                    if self.to.push(piece).is_err() {
                        break;
                    }
                    (done, at) = (done + 1, at + 1);
                }
                if done < count || count == 0 {
                    std::thread::sleep(Duration::from_millis(5));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::guarded;

    /// A track whose frames say their own number.
    struct Numbers(u64);

    impl TrackFrames for Numbers {
        fn sample_rate_hz(&self) -> u32 {
            8000
        }
        fn length(&self) -> Option<u64> {
            Some(20_000)
        }
        fn read(&mut self, out: &mut [[f32; 2]]) -> Result<usize> {
            let count = out.len().min((20_000 - self.0) as usize);
            for frame in &mut out[..count] {
                *frame = [self.0 as f32, -(self.0 as f32)];
                self.0 += 1;
            }
            Ok(count)
        }
        fn go_to(&mut self, frame: u64) -> Result<u64> {
            self.0 = frame;
            Ok(frame)
        }
    }

    /// Fills until so many frames have sounded, waiting for the reader.
    fn play(track: &mut PlayedTrack, frames: usize) -> Vec<f32> {
        let mut heard = Vec::new();
        let mut block = [[0.0_f32; 2]; 100];
        let begun = std::time::Instant::now();
        while heard.len() < frames && begun.elapsed() < Duration::from_secs(10) {
            let before = track.position();
            guarded(|| track.fill(&mut block));
            let count = (track.position() - before) as usize;
            heard.extend(block[..count.min(100)].iter().map(|frame| frame[0]));
            if count < 100 {
                std::thread::sleep(Duration::from_millis(1));
            }
        }
        heard
    }

    #[test]
    fn a_track_plays_in_order_goes_to_any_place_and_ends() {
        let (mut track, remote) = PlayedTrack::open(Box::new(Numbers(0))).expect("a thread");
        remote.run(true);
        let heard = play(&mut track, 5000);
        // After the fade of 80 frames every frame is itself.
        assert!((100..5000).all(|at| heard[at] == at as f32));
        remote.go_to(12_000);
        let heard = play(&mut track, 1000);
        assert_eq!((heard[0], heard[999]), (12_000.0, 12_999.0));
        remote.run(false);
        play(&mut track, 80);
        let at = track.position();
        guarded(|| track.fill(&mut [[0.0; 2]; 100]));
        assert_eq!(track.position(), at);
        remote.run(true);
        remote.go_to(19_900);
        play(&mut track, 100);
        let begun = std::time::Instant::now();
        while !remote.is_over() && begun.elapsed() < Duration::from_secs(5) {
            track.fill(&mut [[0.0; 2]; 100]);
        }
        assert!(remote.is_over());
        assert_eq!(remote.position(), 20_000);
    }

    #[test]
    fn a_device_that_takes_two_seconds_at_once_is_served() {
        let (mut track, remote) = PlayedTrack::open(Box::new(Numbers(0))).expect("a thread");
        let begun = std::time::Instant::now();
        while track.pieces.slots() < 20_000 && begun.elapsed() < Duration::from_secs(10) {
            std::thread::sleep(Duration::from_millis(1));
        }
        remote.run(true);
        let mut taken = vec![[0.0_f32; 2]; 16_384];
        track.fill(&mut taken);
        assert!((100..16_384).all(|at| taken[at][0] == at as f32));
    }
}
