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

    /// What is said of a file that has no track of a known kind.
    pub fn nothing(self) -> &'static str {
        match self {
            Self::Sound => "there is no sound in it",
            Self::Film | Self::FilmSound => "not decoded here",
        }
    }

    /// What is said of one whose header a reader gave up.
    pub fn no_sound(self, fault: &Fault) -> String {
        match fault {
            Fault::Unsupported(what) if self != Self::Sound => format!("not decoded here ({what})"),
            Fault::Unsupported(what) => {
                format!("no sound that can be read, or one that is protected ({what})")
            }
            Fault::IoError(error) if error.kind() == ErrorKind::UnexpectedEof => {
                "no sound that can be read, or truncated in its header".into()
            }
            other => format!("no sound that can be read ({other})"),
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
            // The picture's own clock is kept: sound before its 0 is cut, a late start is filled.
            Self::Film | Self::FilmSound => error
                .accepted(
                    "a whole MP4, MOV, WebM or MKV with AAC-LC, MP3, Vorbis or PCM in one or two \
                     channels, or a WAV that a general tool makes of it: --film sound.wav",
                )
                .example(
                    "ffmpeg -copyts -i clip.mp4 -vn -ac 1 -af aresample=async=1:first_pts=0 \
                     sound.wav",
                ),
        }
    }
}
