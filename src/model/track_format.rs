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

    /// How the ears become one channel; none where there are two.
    pub fn fold(self) -> Option<Fold> {
        match self {
            Self::Stereo => None,
            Self::Mono => Some(Fold::Balanced),
            Self::Left => Some(Fold::Left),
            Self::Right => Some(Fold::Right),
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

/// How both ears become the one channel of a file.
///
/// What sounds in both ears is there twice in a sum. Two equal ears are as loud as one channel that
/// is the square root of 2 higher (their powers add up), so that much of it keeps the balance that
/// two channels have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fold {
    /// A track of one channel as it is exported: the balance of two channels.
    Balanced,
    /// The mean of both ears, as players and programs fold a track of two channels.
    Mean,
    /// The left ear alone.
    Left,
    /// The right ear alone.
    Right,
}

/// The level of a balanced sum: in one channel hand and foot of one side, a breath and a chime of
/// 1.414 times its level reach 0.93 of full scale, which this brings under -1 dBTP.
const BALANCED: f32 = 0.955;

impl Fold {
    /// Every way.
    pub const ALL: [Self; 4] = [Self::Balanced, Self::Left, Self::Right, Self::Mean];

    /// The level in each ear of what sounds in both, before they become one channel.
    pub fn both_ears(self) -> f32 {
        match self {
            Self::Balanced => std::f32::consts::FRAC_1_SQRT_2,
            Self::Mean | Self::Left | Self::Right => 1.0,
        }
    }

    /// The sample of the one channel.
    pub fn single(self, [left, right]: [f32; 2]) -> f32 {
        match self {
            Self::Balanced => (left + right) * BALANCED,
            Self::Mean => (left + right) * 0.5,
            Self::Left => left,
            Self::Right => right,
        }
    }
}
