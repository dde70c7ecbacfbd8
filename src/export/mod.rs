//! Tracks on disk: how a session is cut into files, their names and sizes, and what goes beside them.
//!
//! In: a resolved session at one sample rate. Out: files that appear under their names whole or
//! not at all, one after another in playing order. Sizes are known and checked before the first
//! byte. [`check`] reads tracks back and says whether they hold.

mod bed;
pub mod check;
mod contents;
mod flac;
mod folder;
mod folder_lock;
mod job;
mod matching;
mod metered;
#[cfg(feature = "mp3")]
mod mp3;
mod names;
mod preview;
mod quantize;
mod reader;
mod side_by_side;
mod sizes;
mod speak;
mod tags;
mod wav;
mod write_ahead;

pub use contents::{SHEET, contents};
pub use folder::{Effort, Written, publish, write_folder};
pub use folder_lock::Folder;
pub use job::{Job, Spoken, TrackFile};
pub use names::file_name;
pub use reader::{LOSSY_TOLERANCE, TrackReader};
pub use sizes::{bytes_apart, bytes_in_words, check_sizes};
pub use tags::Tags;
pub use wav::{LARGEST_BYTES, TrackForm, WriteError, write_wav};
