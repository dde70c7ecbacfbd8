//! Speech as the mixer plays it: clips at one sample rate, and the frames on which they start.

use std::sync::Arc;

use crate::model::cue::Side;

/// A clip that starts on a frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// The frame of the track on which it starts.
    pub frame: u64,
    /// Index of its clip.
    pub clip: usize,
    /// How many frames of it are heard.
    pub frames: usize,
    /// In whose ear; none is both.
    pub ear: Option<Side>,
}

/// What a track says, ready to be mixed. Notes are in order and do not overlap.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Speech {
    /// Mono clips, from silence to silence.
    pub clips: Vec<Arc<[f32]>>,
    /// Where they sound.
    pub notes: Vec<Note>,
}

/// A clip that is cut fades out over so many seconds.
const FADE_S: f64 = 0.03;

impl Speech {
    /// The first note that is not over at `frame`.
    pub fn first_after(&self, frame: u64) -> usize {
        (self.notes).partition_point(|note| note.frame + note.frames as u64 <= frame)
    }

    /// A clip that is heard for so many frames only, and fades there instead of breaking off.
    pub fn cut(clip: &[f32], frames: usize, sample_rate_hz: u32) -> Arc<[f32]> {
        let mut cut = clip[..frames.min(clip.len())].to_vec();
        let fade = (FADE_S * f64::from(sample_rate_hz)) as usize;
        let fade = fade.min(cut.len());
        let start = cut.len() - fade;
        for (n, sample) in cut[start..].iter_mut().enumerate() {
            *sample *= (fade - 1 - n) as f32 / fade as f32;
        }
        cut.into()
    }
}
