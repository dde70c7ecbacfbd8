//! Numbers drawn from a seed: the same seed gives the same numbers on every machine, for ever.

/// SplitMix64: Steele, Lea & Flood, Fast splittable pseudorandom number generators, 2014 (from
/// memory). A generator of our own, because a seed that is printed on a sheet must give the same
/// order after any update of a library.
#[derive(Debug, Clone)]
pub struct Draw {
    state: u64,
}

impl Draw {
    /// Starts at a seed; every seed will do.
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from 0 to `below` - 1. The bias is below 2⁻⁶⁴ times `below`.
    ///
    /// # Panics
    /// When `below` is zero.
    pub fn below(&mut self, below: usize) -> usize {
        assert!(below > 0, "nothing to draw from");
        let wide = u128::from(self.bits()) * below as u128;
        (wide >> 64) as usize
    }

    /// Puts a list into a random order, each order equally likely.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_numbers_are_those_published() {
        // Seed 1234567 in the reference implementation's own check values (from memory).
        let mut draw = Draw::new(1_234_567);
        let first: Vec<u64> = (0..3).map(|_| draw.bits()).collect();
        assert_eq!(
            first,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423
            ]
        );
    }

    #[test]
    fn every_order_is_about_equally_likely() {
        let mut draw = Draw::new(1);
        let mut seen = std::collections::BTreeMap::new();
        for _ in 0..24_000 {
            let mut items = [0, 1, 2, 3];
            draw.shuffle(&mut items);
            *seen.entry(items).or_insert(0u32) += 1;
        }
        // Each of 24 orders 1000 times; the standard deviation is 31.
        assert_eq!(seen.len(), 24);
        assert!(seen.values().all(|n| (850..1150).contains(n)), "{seen:?}");
    }
}
