//! How a player wants its tracks: in how many files, of which format, with which channels.

/// How tracks are divided into files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Division {
    /// One file for the whole session.
    One,
    /// One file a set.
    PerSet,
    /// One file a repeat.
    PerRepeat,
}

impl Division {
    /// Every division, in the order in which a track is looked for.
    pub const ALL: [Self; 3] = [Self::PerSet, Self::PerRepeat, Self::One];

    /// The word in files and flags.
    pub fn word(self) -> &'static str {
        match self {
            Self::One => "one",
            Self::PerSet => "per-set",
            Self::PerRepeat => "per-repeat",
        }
    }
}

/// The format of a track.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// PCM as it is mixed.
    Wav,
    /// The same samples, packed.
    Flac,
    /// Lossy; written by builds with the feature `mp3`, as the usual build is.
    Mp3,
}

impl Format {
    /// Every format, in the order in which tracks are looked for.
    pub const ALL: [Self; 3] = [Self::Wav, Self::Flac, Self::Mp3];

    /// The word in files and flags.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wav => "wav",
            Self::Flac => "flac",
            Self::Mp3 => "mp3",
        }
    }

    /// How people call it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Wav => "WAV",
            Self::Flac => "FLAC",
            Self::Mp3 => "MP3",
        }
    }

    /// The ending of its files.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Wav => ".wav",
            Self::Flac => ".flac",
            Self::Mp3 => ".mp3",
        }
    }

    /// The format that a name's ending stands for.
    pub fn of_name(name: &str) -> Option<Self> {
        let name = name.to_lowercase();
        Self::ALL
            .into_iter()
            .find(|format| name.ends_with(format.ending()))
    }
}

/// Channels of a track.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channels {
    /// Left ear, right ear.
    Stereo,
    /// Both folded into one.
    Mono,
    /// The left ear alone, in one channel.
    Left,
    /// The right ear alone, in one channel.
    Right,
}

impl Channels {
    /// How many.
    pub fn count(self) -> u16 {
        match self {
            Self::Stereo => 2,
            Self::Mono | Self::Left | Self::Right => 1,
        }
    }

    /// The sample of a single channel: the mean of both ears, or one of them.
    pub fn single(self, [left, right]: [f32; 2]) -> f32 {
        match self {
            Self::Stereo | Self::Mono => (left + right) * 0.5,
            Self::Left => left,
            Self::Right => right,
        }
    }

    /// The word in files and flags.
    pub fn word(self) -> &'static str {
        match self {
            Self::Stereo => "stereo",
            Self::Mono => "mono",
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}
