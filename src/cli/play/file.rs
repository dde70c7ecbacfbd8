//! Where `play` has its frames from: a WAV track, a packed one, memory.

use std::io;
use std::path::Path;

use crate::error::{Error, Result};
use crate::export::TrackReader;
use crate::live::TrackFrames;
use crate::media::{Decoder, open_sound};

/// A WAV file as frames.
pub struct Wav {
    reader: TrackReader<io::BufReader<std::fs::File>>,
    path: String,
    length: u64,
    /// Frames that have not been read.
    left: u64,
}

impl Wav {
    /// Opens a WAV track.
    ///
    /// # Errors
    /// When it cannot be read, or is no such track.
    pub fn open(path: &str) -> Result<Self> {
        let reader = TrackReader::open(Path::new(path))?;
        Ok(Self {
            length: reader.frames(),
            left: reader.frames(),
            reader,
            path: path.into(),
        })
    }
}

impl TrackFrames for Wav {
    fn sample_rate_hz(&self) -> u32 {
        self.reader.sample_rate_hz()
    }

    fn length(&self) -> Option<u64> {
        Some(self.length)
    }

    fn read(&mut self, out: &mut [[f32; 2]]) -> Result<usize> {
        let count = (out.len() as u64).min(self.left) as usize;
        self.reader.read(&mut out[..count])?;
        self.left -= count as u64;
        Ok(count)
    }

    fn go_to(&mut self, frame: u64) -> Result<u64> {
        *self = Self::open(&self.path)?;
        let frame = frame.min(self.length);
        let mut block = vec![[0.0; 2]; 1 << 16];
        while self.length - self.left < frame {
            let rest = frame - (self.length - self.left);
            let count = rest.min(block.len() as u64) as usize;
            self.read(&mut block[..count])?;
        }
        Ok(frame)
    }
}

/// An MP3, FLAC or OGG Vorbis file, decoded while it plays.
pub struct Packed {
    decoder: Decoder,
    path: String,
    /// Frames that are decoded, and how many of them were given.
    ready: Vec<[f32; 2]>,
    given: usize,
    /// The frame of the file that comes next.
    position: u64,
}

impl Packed {
    /// Opens a packed track.
    ///
    /// # Errors
    /// When it cannot be read, or is no such track.
    pub fn open(path: &str) -> Result<Self> {
        let file = open_sound(Path::new(path))
            .map_err(|error| Error::io("cannot be read", path, &error))?;
        Ok(Self {
            decoder: Decoder::open(Box::new(file), path)?,
            path: path.into(),
            ready: Vec::new(),
            given: 0,
            position: 0,
        })
    }
}

impl TrackFrames for Packed {
    fn sample_rate_hz(&self) -> u32 {
        self.decoder.rate_hz()
    }

    fn length(&self) -> Option<u64> {
        self.decoder.frames()
    }

    fn read(&mut self, out: &mut [[f32; 2]]) -> Result<usize> {
        if self.given == self.ready.len() {
            self.ready.clear();
            self.given = 0;
            if !self.decoder.next(&mut self.ready)? {
                return Ok(0);
            }
        }
        let count = out.len().min(self.ready.len() - self.given);
        out[..count].copy_from_slice(&self.ready[self.given..self.given + count]);
        self.given += count;
        self.position += count as u64;
        Ok(count)
    }

    fn go_to(&mut self, frame: u64) -> Result<u64> {
        // Frames of a packed file are found by counting them.
        if frame < self.position {
            *self = Self::open(&self.path)?;
        }
        let mut block = vec![[0.0; 2]; 1 << 12];
        while self.position < frame {
            let count = (frame - self.position).min(block.len() as u64) as usize;
            if self.read(&mut block[..count])? == 0 {
                break;
            }
        }
        Ok(self.position)
    }
}

/// Frames in memory.
pub struct Memory {
    rate_hz: u32,
    frames: Vec<[f32; 2]>,
    position: usize,
}

impl Memory {
    /// Plays `frames` at `rate_hz`.
    pub fn new(rate_hz: u32, frames: Vec<[f32; 2]>) -> Self {
        Self {
            rate_hz,
            frames,
            position: 0,
        }
    }
}

impl TrackFrames for Memory {
    fn sample_rate_hz(&self) -> u32 {
        self.rate_hz
    }

    fn length(&self) -> Option<u64> {
        Some(self.frames.len() as u64)
    }

    fn read(&mut self, out: &mut [[f32; 2]]) -> Result<usize> {
        let rest = &self.frames[self.position..];
        let count = out.len().min(rest.len());
        out[..count].copy_from_slice(&rest[..count]);
        self.position += count;
        Ok(count)
    }

    fn go_to(&mut self, frame: u64) -> Result<u64> {
        self.position = (frame as usize).min(self.frames.len());
        Ok(self.position as u64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn memory_plays_from_where_it_was_put() {
        let frames = (0..5).map(|n| [n as f32; 2]).collect();
        let mut memory = Memory::new(44_100, frames);
        assert_eq!(memory.go_to(3).expect("in memory"), 3);
        let mut out = [[0.0; 2]; 4];
        assert_eq!(memory.read(&mut out).expect("in memory"), 2);
        assert_eq!(out[..2], [[3.0; 2], [4.0; 2]]);
        assert_eq!(memory.read(&mut out).expect("in memory"), 0);
        assert_eq!(memory.go_to(9).expect("in memory"), 5);
    }
}
