//! One gain for the whole track, known before the first sample.

use crate::model::cue::{CueKind, Side, Voice};
use crate::model::session::CueSet;
use crate::sound::Bank;

/// What no sample of a track exceeds: -1 dBFS.
pub const CEILING: f32 = 0.891_250_9;

/// How often one voice may sound at once. A steady stroke brings a voice back only after it has
/// ended; a wall may bring it back sooner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Overlap {
    /// Cues of the body: more than 1 where they begin anew at a wall before they have ended.
    pub body: u32,
    /// The chime of walls: more than 1 where walls follow each other faster than it rings.
    pub wall: u32,
}

/// The gain that keeps the sum at or below [`CEILING`] whatever coincides.
///
/// In one ear there can sound together: each chosen cue of that side and a wall, as often as
/// `overlap` says, and one signal (they are a second or more apart). The sum of their peaks bounds
/// the sum of their samples at any offset, tails included. The mono fold is the mean of both ears
/// and so never exceeds the louder one.
pub fn track_gain(bank: &Bank, cues: CueSet, overlap: Overlap) -> f32 {
    let peak = |kind, side| bank.peak(Voice { kind, side });
    let ear = |side: Side| {
        let body: f32 = [CueKind::Arm, CueKind::Kick, CueKind::Fill, CueKind::Breath]
            .into_iter()
            .filter(|kind| cues.has(*kind))
            .map(|kind| peak(kind, Some(side)))
            .sum();
        let wall = if cues.has(CueKind::Wall) {
            peak(CueKind::Wall, None)
        } else {
            0.0
        };
        let signal = [CueKind::Count, CueKind::Start, CueKind::End]
            .into_iter()
            .map(|kind| peak(kind, None))
            .fold(0.0, f32::max);
        body * overlap.body as f32 + wall * overlap.wall as f32 + signal
    };
    // Rounding in the sum of a few floats stays far below one part in a million.
    (CEILING / ear(Side::Left).max(ear(Side::Right))) * (1.0 - 1e-6)
}
