//! What was seen: marks from a film, as plain data.

use super::circle::ArmMoment;
use super::cue::Side;

/// What a mark marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StrokeMoment {
    /// The hand's first touch of the water.
    Entry,
    /// The hand first presses back.
    Catch,
    /// The hand leaves the water.
    Exit,
    /// The foot's lowest point.
    Kick,
    /// The head turns to breathe.
    Breath,
}

impl StrokeMoment {
    /// Every moment.
    pub const ALL: [Self; 5] = [
        Self::Entry,
        Self::Catch,
        Self::Exit,
        Self::Kick,
        Self::Breath,
    ];

    /// The word for it in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Entry => "entry",
            Self::Catch => "catch",
            Self::Exit => "exit",
            Self::Kick => "kick",
            Self::Breath => "breath",
        }
    }
}

impl From<ArmMoment> for StrokeMoment {
    fn from(moment: ArmMoment) -> Self {
        match moment {
            ArmMoment::Catch => Self::Catch,
            ArmMoment::Entry => Self::Entry,
        }
    }
}

/// One mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Film time, s.
    pub time_s: f64,
    /// What is marked.
    pub moment: StrokeMoment,
    /// Of which side of the body.
    pub side: Side,
    /// Which film of one side or one length; 1 where the file does not say.
    pub pass: u32,
    /// Its line in the file, from 1.
    pub line: usize,
}

/// The marks of one file, in its order.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// The file, as the person named it.
    pub source: String,
    /// The marks.
    pub marks: Vec<Mark>,
    /// Frames a second of the film, where known.
    pub frame_rate_hz: Option<f64>,
    /// What the file says of its film.
    pub film: MarkedFilm,
    /// What was assumed or accepted in reading.
    pub notes: Vec<String>,
}

impl Marks {
    /// The first and the last moment marked, s on the film's clock; infinite where there is none.
    pub fn ends_s(&self) -> (f64, f64) {
        let times = self.marks.iter().map(|mark| mark.time_s);
        times.fold((f64::INFINITY, f64::NEG_INFINITY), |(first, last), time| {
            (first.min(time), last.max(time))
        })
    }
}

/// What a marks file says of its film, besides the marks.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MarkedFilm {
    /// The name of its file; none where the marks are of several films, or nothing says it.
    pub name: Option<String>,
    /// How its clock lies on the track's, where cues sounded.
    pub sync: Option<FilmSync>,
    /// The fingerprint of the cues that it lies among; none where nothing says it.
    pub sync_cues: Option<String>,
}

/// How a film's clock lies on a track's.
#[derive(Debug, Clone, PartialEq)]
pub enum FilmSync {
    /// One arm cue was heard in the film, by ear.
    Heard {
        /// When, on the film's clock, s.
        time_s: f64,
        /// Which arm's.
        arm: Side,
    },
    /// The track was found in the film's sound.
    Found(FoundSync),
}

/// Where a film was found in a track by its sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundSync {
    /// Whether one place fits, or several that are a whole number of cycles apart.
    pub place: FoundPlace,
    /// The track's time at the film's beginning, s.
    pub track_s_at_film_0: f64,
    /// How much faster the track's clock runs, parts in a million.
    pub drift_ppm: f64,
    /// How much earlier (0 at most) and later (0 at least) than told a cue may be, ms; none where
    /// nothing is claimed.
    pub interval_ms: Option<(f64, f64)>,
    /// Whether the sound came by several paths that disagree; none where nothing says it.
    pub several_paths: Option<bool>,
}

/// How far the place of a film in a track is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoundPlace {
    /// One place fits.
    Locked,
    /// The moment in the cycle is known, the cycle is not.
    Cycles,
}

impl FoundPlace {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Locked, Self::Cycles];

    /// The word for it in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Locked => "locked",
            Self::Cycles => "cycles",
        }
    }
}
