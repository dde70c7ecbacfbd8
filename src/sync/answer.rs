//! What is answered: where a film lies in a track, and how far that is known.

use std::fmt;

/// What kind of answer it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SyncAnswer {
    /// One place is left: most likely this one.
    Locked,
    /// The moment inside the cycle is known, which stroke or which swim is not: every place that is
    /// left has the same cues at the same moments.
    Cycles,
    /// A film of the other pairing: arms or feet sound on the sides exchanged.
    Other,
    /// Cues are heard, but neither place nor sides are certain enough for any time.
    Unsure,
    /// No cues of this track are heard.
    None,
}

impl SyncAnswer {
    /// Every answer, the surest first.
    pub const ALL: [Self; 5] = [
        Self::Locked,
        Self::Cycles,
        Self::Other,
        Self::Unsure,
        Self::None,
    ];

    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Locked => "locked",
            Self::Cycles => "cycles",
            Self::Other => "other",
            Self::Unsure => "unsure",
            Self::None => "none",
        }
    }

    /// Whether times of cues in the film may be taken from it.
    pub fn gives_times(self) -> bool {
        matches!(self, Self::Locked | Self::Cycles)
    }
}

impl fmt::Display for SyncAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// Where a film lies in a track.
#[derive(Debug, Clone, PartialEq)]
pub struct Sync {
    /// What kind of answer it is.
    pub answer: SyncAnswer,
    /// The track's time at the film's time 0, s; only where the answer gives times. Before any
    /// distance is taken into account.
    pub track_s_at_film_0: Option<f64>,
    /// How much faster the track's clock runs than the film's, millionths.
    pub drift_ppm: f64,
    /// How much earlier and later than told a cue may be in the film, ms: (at most 0, at least 0).
    pub interval_ms: Option<(f64, f64)>,
    /// Whether the sound came by several paths that disagree, so that no millisecond is claimed.
    pub several_paths: bool,
    /// Instants with an arm or kick cue that are heard, of those that the film should hold.
    pub heard: (usize, usize),
    /// Every place that is left, as the track's time at the film's time 0, s, the likeliest first.
    pub places: Vec<f64>,
}

impl Sync {
    /// No cues heard.
    pub fn nothing(heard: (usize, usize)) -> Self {
        Self {
            answer: SyncAnswer::None,
            track_s_at_film_0: None,
            drift_ppm: 0.0,
            interval_ms: None,
            several_paths: false,
            heard,
            places: Vec::new(),
        }
    }

    /// The same with every time that much less certain, s either way.
    #[must_use]
    pub fn within(mut self, seconds: f64) -> Self {
        let ms = 1000.0 * seconds;
        self.interval_ms = (self.interval_ms).map(|(early, late)| (early - ms, late + ms));
        self
    }

    /// The film's time of a track's time, both s; none where the answer gives no times.
    pub fn film_s(&self, track_s: f64) -> Option<f64> {
        let start = self.track_s_at_film_0?;
        Some((track_s - start) / (1.0 + self.drift_ppm * 1e-6))
    }
}
