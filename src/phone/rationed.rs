//! What comes from a phone, byte by byte: so much of it in a second, and read for so long at a time.
//!
//! A message may come in parts, each of them empty and none the last: whoever reads it whole would
//! never come back, and never count it.

use std::io::{self, ErrorKind, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// A connection that is read with these bounds, and written as it is.
pub struct Rationed {
    stream: TcpStream,
    most_a_second: usize,
    /// The present second, and how many bytes came in it.
    second: (Instant, usize),
    until: Instant,
}

impl Rationed {
    /// Nothing is read of it before [`Rationed::read_until`].
    pub fn new(stream: TcpStream, most_a_second: usize) -> Self {
        let now = Instant::now();
        Self {
            stream,
            most_a_second,
            second: (now, 0),
            until: now,
        }
    }

    /// Lets it be read until a time. What is asked of it later would block.
    pub fn read_until(&mut self, until: Instant) {
        self.until = until;
    }
}

impl Read for Rationed {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let now = Instant::now();
        if now >= self.until {
            return Err(ErrorKind::WouldBlock.into());
        }
        if now - self.second.0 >= Duration::from_secs(1) {
            self.second = (now, 0);
        }
        let count = self.stream.read(to)?;
        self.second.1 += count;
        if self.second.1 > self.most_a_second {
            return Err(ErrorKind::InvalidData.into());
        }
        Ok(count)
    }
}

impl Write for Rationed {
    fn write(&mut self, from: &[u8]) -> io::Result<usize> {
        self.stream.write(from)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.stream.flush()
    }
}
