//! What was seen: marks from a film, as plain data.

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
    /// What was assumed or accepted in reading.
    pub notes: Vec<String>,
}
