//! Writing while the disk works.
//!
//! A sync waits until the disk has everything. Asked for only at the end, mixing is over before
//! the disk begins; asked for now and then by a second thread, both work at once.

use std::fs::File;
use std::io::{self, Write};
use std::sync::mpsc::{SyncSender, sync_channel};
use std::thread;

use super::wav::WriteError;
use crate::error::Result;

/// Bytes after which the disk is set to work.
const STRETCH: u64 = 32 << 20;

/// A file whose bytes another thread brings to the disk while the next are made.
pub struct WriteAhead<'f> {
    file: &'f mut File,
    /// Bytes written since the disk was last set to work.
    since: u64,
    ask: SyncSender<()>,
}

impl Write for WriteAhead<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.file.write(bytes)?;
        self.since += written as u64;
        if self.since >= STRETCH {
            self.since = 0;
            // A thread that is still at work, or has met an error, needs no further word.
            let _ = self.ask.try_send(());
        }
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// Writes a file while another thread syncs what is there of it. What is written last is not yet
/// synced when this returns.
///
/// # Errors
/// Of the writer, or else of the disk: a system may tell an error of the disk only once, so what
/// the thread hears of it must not be lost.
pub fn write_ahead(
    file: &mut File,
    write: impl FnOnce(&mut WriteAhead<'_>) -> Result<(), WriteError>,
) -> Result<(), WriteError> {
    let same = file.try_clone()?;
    let (ask, asked) = sync_channel(1);
    thread::scope(|scope| {
        let disk = scope.spawn(move || asked.iter().try_for_each(|()| same.sync_data()));
        let since = 0;
        write(&mut WriteAhead { file, since, ask })?;
        match disk.join() {
            Ok(outcome) => outcome.map_err(WriteError::Io),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

#[cfg(test)]
mod tests {
    use std::io::{Read, Seek, SeekFrom};

    use super::*;

    #[test]
    fn every_byte_arrives_in_order() {
        let mut file = tempfile::tempfile().expect("a temporary file");
        let block: Vec<u8> = (0..1_000_003_u32).map(|n| (n % 251) as u8).collect();
        let blocks = 2 * STRETCH as usize / block.len() + 1;
        write_ahead(&mut file, |sink| {
            (0..blocks).try_for_each(|_| Ok(sink.write_all(&block)?))
        })
        .expect("the disk has room");
        file.seek(SeekFrom::Start(0))
            .expect("a file can be read again");
        let mut found = vec![0; block.len()];
        for number in 0..blocks {
            file.read_exact(&mut found).expect("as long as was written");
            assert!(found == block, "block {number}");
        }
        assert_eq!(file.read(&mut found).expect("readable"), 0, "nothing after");
    }

    #[test]
    fn an_error_of_the_writer_comes_back() {
        let mut file = tempfile::tempfile().expect("a temporary file");
        let full = || WriteError::Io(io::ErrorKind::StorageFull.into());
        let outcome = write_ahead(&mut file, |_| Err(full()));
        let is_full = matches!(&outcome, Err(WriteError::Io(error)) if error.kind() == io::ErrorKind::StorageFull);
        assert!(is_full, "{outcome:?}");
    }
}
