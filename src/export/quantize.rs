//! From frames to whole numbers, a block at a time.

use crate::render::FrameSource;

/// Frames mixed at a time: they stay in the nearest cache, and what is silent after them is
/// noticed soon.
pub const BLOCK: usize = 512;

/// Nearest whole number, halves away from zero. Written out because `f32::round` is a call into
/// the maths library on machines without the instruction, which costs half the speed.
///
/// `full` is full scale, 2^15 or 2^23. What an own sound may bring beyond it stays at it: going
/// round to the other end would be a crack.
#[inline]
pub fn nearest(value: f32, full: f32) -> i32 {
    let scaled = value * full;
    ((scaled + 0.5_f32.copysign(scaled)) as i32).clamp(-full as i32, full as i32 - 1)
}

/// Gives `take` how many frames are silent, and the block that sounds after them; both together
/// are at most `most` frames, and their number comes back.
pub fn quiet_block(
    source: &mut impl FrameSource,
    most: usize,
    take: impl FnOnce(&[[f32; 2]], usize),
) -> usize {
    let silent = source.silent_frames(most as u64) as usize;
    source.skip(silent as u64);
    let mut mixed = [[0.0; 2]; BLOCK];
    let block = &mut mixed[..BLOCK.min(most - silent)];
    if !block.is_empty() {
        source.fill(block);
    }
    take(block, silent);
    silent + block.len()
}
