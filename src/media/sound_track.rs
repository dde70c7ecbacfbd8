//! A track of sound in a film, as its container tells it.

/// How well it is known where the sound begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// To a sample; in WebM and Matroska, whose times are whole ms, to a ms.
    Exact,
    /// The film does not tell how much of the sound an encoder put before it: up to 44 ms off.
    Unknown,
}

/// A track of sound in a container.
#[derive(Debug, Clone, PartialEq)]
pub struct SoundTrack {
    /// The container's number for it.
    pub id: u32,
    /// What the container calls its form: `mp4a`, `A_OPUS`.
    pub form: String,
    /// From the track's own clock to the picture's, s.
    pub shift_s: f64,
    /// How well that is known.
    pub start: Start,
    /// What ALAC's decoder must know, where it stands so that the decoders' own reader passes it over.
    pub alac: Option<Box<[u8]>>,
}
