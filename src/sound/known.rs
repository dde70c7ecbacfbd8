//! Blocks that a meter has met, and what came of them.
//!
//! Cues repeat to the sample, and so does what is measured of them. A block counts as known only
//! where all of its samples, and all that the filters remember, are the same: what comes out is
//! what would have been worked out, to the last bit.

use super::k_weighting::FilterMemory;

/// Places: a few hundred blocks are what a session repeats; each takes 4 KiB once it is used.
const PLACES: usize = 1024;
/// Samples compared together.
const TOGETHER: usize = 16;
/// Samples that a key is made of lie so far apart.
const APART: usize = 61;

/// Blocks by their key; a new one takes the place of another of the same key.
#[derive(Default)]
pub struct KnownBlocks {
    places: Vec<Option<Block>>,
}

struct Block {
    before: FilterMemory,
    window: Vec<[f32; 2]>,
    energy: f64,
    after: FilterMemory,
}

impl KnownBlocks {
    /// The energy of a block, and what the filters remember after it.
    pub fn find(&self, before: &FilterMemory, window: &[[f32; 2]]) -> Option<(f64, FilterMemory)> {
        let block = self.places.get(key(before, window))?.as_ref()?;
        let known = block.before == *before && are_same(&block.window, window);
        known.then_some((block.energy, block.after))
    }

    /// Keeps what came of a block.
    pub fn keep(
        &mut self,
        before: &FilterMemory,
        window: &[[f32; 2]],
        energy: f64,
        after: FilterMemory,
    ) {
        if self.places.is_empty() {
            self.places.resize_with(PLACES, || None);
        }
        self.places[key(before, window)] = Some(Block {
            before: *before,
            window: window.to_vec(),
            energy,
            after,
        });
    }
}

/// A place for a block, from some of its samples and what the filters remember.
fn key(before: &FilterMemory, window: &[[f32; 2]]) -> usize {
    let some = window.as_flattened().iter().step_by(APART);
    let bits = some.map(|sample| u64::from(sample.to_bits()));
    let all = bits.chain(before.values().map(f64::to_bits));
    let mixed = all.fold(window.len() as u64, |key, bits| {
        // The golden ratio as a fraction of 2^64 spreads bits over all places (Knuth, from memory).
        (key.rotate_left(23) ^ bits).wrapping_mul(0x9e37_79b9_7f4a_7c15)
    });
    (mixed >> 32) as usize % PLACES
}

/// Whether two blocks are the same, several samples at a time.
fn are_same(one: &[[f32; 2]], other: &[[f32; 2]]) -> bool {
    let (one, other) = (one.as_flattened(), other.as_flattened());
    let mut parts = one.chunks(TOGETHER).zip(other.chunks(TOGETHER));
    let same = |(one, other): (&[f32], &[f32])| {
        (one.iter().zip(other)).fold(true, |same, (one, other)| same & (one == other))
    };
    one.len() == other.len() && parts.all(same)
}
