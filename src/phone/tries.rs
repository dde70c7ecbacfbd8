//! Wrong tries, counted by address: whoever guesses is answered more slowly.

use std::collections::HashMap;
use std::net::IpAddr;

/// Wrong tries a second from one address that are answered at once.
const AT_ONCE: u32 = 20;
/// How much later the others are answered, ms.
const LATER_MS: u64 = 500;
/// Addresses that are remembered.
const MOST: usize = 256;

/// Wrong tries of the present second.
#[derive(Debug, Default)]
pub struct Tries {
    second: u64,
    by_address: HashMap<IpAddr, u32>,
}

impl Tries {
    /// Counts a wrong try at a time in ms; gives how long its answer waits, ms.
    pub fn wrong(&mut self, from: IpAddr, now_ms: u64) -> u64 {
        let second = now_ms / 1000;
        if second != self.second {
            self.second = second;
            // Whoever is over the bound stays there for another second.
            self.by_address.retain(|_, tries| *tries > AT_ONCE);
            self.by_address
                .values_mut()
                .for_each(|tries| *tries = AT_ONCE);
        }
        if self.by_address.len() == MOST && !self.by_address.contains_key(&from) {
            return LATER_MS;
        }
        let tries = self.by_address.entry(from).or_default();
        *tries += 1;
        if *tries > AT_ONCE { LATER_MS } else { 0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_twenty_in_a_second_an_address_waits_and_no_other_does() {
        let mut tries = Tries::default();
        let [one, other] = [[10, 0, 0, 1], [10, 0, 0, 2]].map(IpAddr::from);
        let waits: Vec<u64> = (0..30).map(|n| tries.wrong(one, 5_000 + n)).collect();
        assert_eq!(waits.iter().filter(|wait| **wait == 0).count(), 20);
        assert_eq!(waits[20..], [LATER_MS; 10]);
        assert_eq!(tries.wrong(other, 5_100), 0);
        // It goes on guessing: it goes on waiting, until it has let a second go by.
        assert_eq!(tries.wrong(one, 6_000), LATER_MS);
        assert_eq!(tries.wrong(one, 7_000), LATER_MS);
        assert_eq!(tries.wrong(other, 8_000), 0);
        assert_eq!(tries.wrong(other, 9_000), 0);
        assert_eq!(tries.wrong(one, 10_000), 0);
    }

    #[test]
    fn many_addresses_take_no_more_room() {
        let mut tries = Tries::default();
        for n in 0..100_000_u32 {
            tries.wrong(IpAddr::from(n.to_be_bytes()), 1_000);
        }
        assert_eq!(tries.by_address.len(), MOST);
    }
}
