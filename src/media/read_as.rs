//! What a file is read as: a sound, or a film for its sound. Which containers that takes, and how
//! a refusal says it.

use std::io::ErrorKind;

use symphonia::core::errors::Error as Fault;
use symphonia::core::probe::Probe;
use symphonia::default::formats::{
    FlacReader, IsoMp4Reader, MkvReader, MpaReader, OggReader, WavReader,
};

use crate::error::Error;

/// What a file is read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadAs {
    /// A sound: WAV, MP3, FLAC, OGG Vorbis.
    Sound,
    /// A film, for its sound: MP4, MOV, WebM, Matroska.
    Film,
    /// A sound that was made of a film, in a file for sounds.
    FilmSound,
}

impl ReadAs {
    /// The readers of its containers.
    pub fn probe(self) -> Probe {
        let mut probe = Probe::default();
        probe.register_all::<WavReader>();
        probe.register_all::<MpaReader>();
        probe.register_all::<FlacReader>();
        probe.register_all::<OggReader>();
        if self == Self::Film {
            probe.register_all::<IsoMp4Reader>();
            probe.register_all::<MkvReader>();
        }
        probe
    }

    /// A message about a file that has no track of a known kind.
    pub fn nothing(self, name: &str) -> Error {
        match self {
            Self::Sound => self.refuse(name, "there is no sound in it"),
            Self::Film | Self::FilmSound => not_decoded(name, "not decoded here"),
        }
    }

    /// A message about one whose header a reader gave up.
    pub fn no_sound(self, name: &str, fault: &Fault) -> Error {
        match fault {
            Fault::Unsupported(what) if self != Self::Sound => {
                not_decoded(name, &format!("not decoded here ({what})"))
            }
            Fault::Unsupported(what) => {
                let what = format!("no sound that can be read, or one that is protected ({what})");
                self.refuse(name, &what)
            }
            Fault::IoError(error) if error.kind() == ErrorKind::UnexpectedEof => self.refuse(
                name,
                "no sound that can be read, or truncated in its header",
            ),
            other => self.refuse(name, &format!("no sound that can be read ({other})")),
        }
    }

    /// A message about a file that cannot be read as this; `name` is what it calls the file.
    pub fn refuse(self, name: &str, what: &str) -> Error {
        let error = Error::input(what).at(name);
        match self {
            Self::Sound => error.accepted(
                "a whole WAV, MP3, FLAC or OGG Vorbis file without copy protection, 4000 to \
                 384000 Hz",
            ),
            Self::Film | Self::FilmSound => error
                .accepted("a whole film with its sound (MP4, MOV, WebM, MKV), or that sound alone")
                .example("--film clip.mp4"),
        }
    }
}

/// A message about a film whose sound no decoder here reads: the one that another tool may help.
pub fn not_decoded(name: &str, what: &str) -> Error {
    Error::input(what)
        .at(name)
        .accepted(
            "a whole MP4, MOV, WebM or MKV with AAC-LC, MP3, Vorbis or PCM in one or two channels, \
             or a WAV that a general tool makes of it: --film sound.wav",
        )
        // The picture's own clock is kept: sound before its 0 is cut, a late start is filled.
        .example("ffmpeg -copyts -i clip.mp4 -vn -ac 1 -af aresample=async=1:first_pts=0 sound.wav")
}

/// What is said of a film with more channels than are mixed here.
pub const MORE_CHANNELS: &str = "more than two channels, not decoded here";
