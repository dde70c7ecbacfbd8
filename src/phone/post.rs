//! What is posted to phones: how everything is, and what each of them alone has to know.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use serde_json::{Value, json};

use super::message::PhoneWish;

/// Phones of one start of the program.
const MOST_PHONES: usize = 64;

/// What one phone alone has to know.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Own {
    /// Of which opening of its page something was heard last: its first words, or a thing it kept.
    pub load: u32,
    /// The number of the last thing kept there that was taken.
    pub taken: u64,
    /// By how much its moments may be wrong, ms; none while its clock is not known.
    pub within_ms: Option<f64>,
    /// Whether they may be taken as they are.
    pub is_sure: bool,
    /// For how long they still may be if nothing more is heard, s.
    pub sure_for_s: u32,
    /// Its last wish that was not done.
    pub late: Option<Late>,
}

/// A wish that came too late, or of which nobody knows how late it came: it was not done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Late {
    /// How many there were of this opening of the page, with this one.
    pub count: u32,
    /// What was wished for.
    pub wish: PhoneWish,
}

impl Own {
    /// As the page is told it.
    pub fn json(&self) -> Value {
        let late = self.late.map(|Late { count, wish }| {
            let said = format!("{} came too late, and was not done.", wish.called());
            json!({ "count": count, "said": said })
        });
        json!({
            "is": "own",
            "load": self.load,
            "taken": self.taken,
            "within_ms": self.within_ms,
            "is_sure": self.is_sure,
            "sure_for_s": self.sure_for_s,
            "late": late,
        })
    }
}

/// One phone, by the order of coming.
#[derive(Debug, Default)]
struct Phone {
    connection: u64,
    own: Own,
}

#[derive(Debug)]
struct Posted {
    state: Arc<str>,
    phones: BTreeMap<String, Phone>,
}

/// The board that connections read and the deck writes.
#[derive(Debug)]
pub struct Board(Mutex<Posted>);

/// What a connection has found on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// How everything is, as JSON.
    pub state: Arc<str>,
    /// What this phone alone has to know.
    pub own: Own,
}

impl Board {
    /// Nothing on it yet.
    pub fn new() -> Self {
        Self(Mutex::new(Posted {
            state: Arc::from(""),
            phones: BTreeMap::new(),
        }))
    }

    fn posted(&self) -> MutexGuard<'_, Posted> {
        // What is written here is whole at every moment.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A phone has come by a connection; whichever it had before is told to end. Whether there is
    /// room for it.
    pub fn come(&self, phone: &str, connection: u64) -> bool {
        let phones = &mut self.posted().phones;
        if phones.len() == MOST_PHONES && !phones.contains_key(phone) {
            return false;
        }
        phones.entry(phone.to_string()).or_default().connection = connection;
        true
    }

    /// Shows every phone how everything is, as JSON.
    pub fn show(&self, state: String) {
        self.posted().state = state.into();
    }

    /// Tells one phone what it alone has to know.
    pub fn tell(&self, phone: &str, own: Own) {
        if let Some(phone) = self.posted().phones.get_mut(phone) {
            phone.own = own;
        }
    }

    /// What there is for a phone; none once it has come by another connection.
    pub fn look(&self, phone: &str, connection: u64) -> Option<Found> {
        let posted = self.posted();
        let own = posted.phones.get(phone)?;
        (own.connection == connection).then(|| Found {
            state: Arc::clone(&posted.state),
            own: own.own,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_phone_that_comes_again_goes_on_where_it_was_by_one_connection_alone() {
        let board = Board::new();
        assert!(board.come("a", 1) && board.come("b", 2));
        let own = Own {
            load: 7,
            taken: 3,
            within_ms: Some(11.0),
            is_sure: true,
            sure_for_s: 20,
            late: None,
        };
        board.tell("a", own);
        board.show("{}".into());
        assert!(board.come("a", 3));
        assert_eq!(board.look("a", 1), None);
        assert_eq!(board.look("a", 3).map(|found| found.own), Some(own));
        let other = board.look("b", 2).expect("it is there");
        assert_eq!((other.own, &*other.state), (Own::default(), "{}"));
    }

    #[test]
    fn there_is_room_for_so_many_phones() {
        let board = Board::new();
        let came = (0..100).filter(|n| board.come(&n.to_string(), *n));
        assert_eq!(came.count(), MOST_PHONES);
        assert!(board.come("0", 100));
    }
}
