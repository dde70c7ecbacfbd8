//! What a phone keeps while the link is down comes once, and in order.
//!
//! An opening of a phone's page numbers what it keeps, from 1, and it is sent until the phone has heard
//! that it was taken: by this opening of the page or by another, that of a copied tab too.

/// What becomes of a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// It is the next one.
    Taken,
    /// It was taken before: the phone has not heard so yet.
    Before,
    /// One before it has not come yet.
    TooEarly,
}

/// The messages of one opening of a page.
#[derive(Debug, Clone, Copy, Default)]
pub struct Once {
    last: u64,
}

impl Once {
    /// Looks at a message's number; it is taken, or is not.
    pub fn take(&mut self, number: u64) -> Turn {
        if number <= self.last {
            return Turn::Before;
        }
        if number != self.last + 1 {
            return Turn::TooEarly;
        }
        self.last = number;
        Turn::Taken
    }

    /// The number of the last one that was taken, 0 before the first: the phone may forget up to it.
    pub fn last(&self) -> u64 {
        self.last
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn whatever_is_sent_again_or_lost_each_is_taken_once_and_in_order(
            lost in prop::collection::vec(any::<bool>(), 200),
        ) {
            let (mut once, mut taken, mut heard) = (Once::default(), Vec::new(), 0);
            for lost in lost.chunks_exact(2) {
                // The phone sends all that it has not heard of; the link drops what it likes.
                for number in heard + 1..=heard + 3 {
                    if !lost[0] && once.take(number) == Turn::Taken {
                        taken.push(number);
                    }
                }
                if !lost[1] {
                    heard = once.last();
                }
            }
            prop_assert_eq!(&taken, &(1..=taken.len() as u64).collect::<Vec<_>>());
        }
    }

    #[test]
    fn none_is_left_out() {
        let mut once = Once::default();
        assert_eq!(once.take(2), Turn::TooEarly);
        assert_eq!(once.take(1), Turn::Taken);
        assert_eq!(once.take(2), Turn::Taken);
        assert_eq!(once.take(1), Turn::Before);
        assert_eq!(once.last(), 2);
        assert_eq!(once.take(u64::MAX), Turn::TooEarly);
    }
}
