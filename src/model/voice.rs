//! The recipe of a cue voice: a few decaying partials under one envelope.

/// How one voice is made. Its level is final: nothing in a track is raised or lowered later.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// What it is for and how it sounds, one line for `list sounds`.
    pub about: String,
    /// Whole length in ms, above 0 and below [`Recipe::LONGEST_MS`]; the last sample is silence.
    pub length_ms: f64,
    /// Raised-cosine rise in ms, at most 5.
    pub attack_ms: f64,
    /// Raised-cosine fall at the end in ms.
    pub release_ms: f64,
    /// Peak of the finished voice in dB below full scale, at most 0.
    pub peak_db: f64,
    /// What sounds together.
    pub partials: Vec<Partial>,
}

impl Recipe {
    /// Every voice is shorter than this. Files are cut 1 s after an end signal, and a lead
    /// may make a cue up to 300 ms later than its moment: half a second stays clear of both.
    pub const LONGEST_MS: f64 = 500.0;
}

/// A sine that may glide and decays exponentially.
#[derive(Debug, Clone, PartialEq)]
pub struct Partial {
    /// Frequency at the onset in Hz.
    pub hz: f64,
    /// Frequency at the end in Hz, reached on a straight line; the same as `hz` for a steady tone.
    pub to_hz: f64,
    /// Level against the voice's other partials in dB.
    pub level_db: f64,
    /// Time in ms in which the level falls by 60 dB.
    pub decay_ms: f64,
    /// Time in ms after the voice's own onset at which this partial comes in; 0 for most.
    pub after_ms: f64,
}
