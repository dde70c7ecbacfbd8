//! Who is connected: so many at most, and whoever has not shown the secret makes room.

use std::net::{IpAddr, Shutdown, TcpStream};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// Connections at once.
pub const MOST_CONNECTIONS: usize = 16;

struct Guest {
    connection: u64,
    from: IpAddr,
    stream: TcpStream,
    has_secret: bool,
}

/// Every connection there is.
#[derive(Default)]
pub struct Door {
    /// The oldest first.
    guests: Mutex<Vec<Guest>>,
    /// Told as one of them has to go.
    goes: Condvar,
}

impl Door {
    fn guests(&self) -> MutexGuard<'_, Vec<Guest>> {
        self.guests.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets a connection in, where there is room or one without the secret can go: the oldest of the
    /// address that has the most such, so that a flood sweeps away itself and nobody else.
    pub fn enter(&self, connection: u64, from: IpAddr, stream: &TcpStream) -> bool {
        let Ok(stream) = stream.try_clone() else {
            return false;
        };
        let mut guests = self.guests();
        if guests.len() >= MOST_CONNECTIONS {
            let Some(at) = who_makes_room(&guests) else {
                return false;
            };
            // Its thread finds the connection closed.
            let _ = guests.remove(at).stream.shutdown(Shutdown::Both);
            self.goes.notify_all();
        }
        guests.push(Guest {
            connection,
            from,
            stream,
            has_secret: false,
        });
        true
    }

    /// A connection has shown the secret; whether it is still let in.
    pub fn has_secret(&self, connection: u64) -> bool {
        let mut guests = self.guests();
        let guest = guests.iter_mut().find(|one| one.connection == connection);
        guest.map(|guest| guest.has_secret = true).is_some()
    }

    /// Waits for so long, and no longer than a connection is let in; whether it still is.
    pub fn stays(&self, connection: u64, long: Duration) -> bool {
        let is_in = |guests: &[Guest]| guests.iter().any(|one| one.connection == connection);
        let waited = (self.goes).wait_timeout_while(self.guests(), long, |guests| is_in(guests));
        is_in(&waited.unwrap_or_else(PoisonError::into_inner).0)
    }

    /// A connection has ended.
    pub fn leave(&self, connection: u64) {
        self.guests().retain(|one| one.connection != connection);
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.guests().len()
    }
}

/// The place of the guest who has to go, if anybody has.
fn who_makes_room(guests: &[Guest]) -> Option<usize> {
    let strangers = || guests.iter().filter(|guest| !guest.has_secret);
    let many = |of: &Guest| strangers().filter(|one| one.from == of.from).count();
    let most = strangers().map(many).max()?;
    (guests.iter()).position(|guest| !guest.has_secret && many(guest) == most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;
    use std::net::{Ipv4Addr, TcpListener};

    /// Both ends of a connection, at no other place than this machine.
    fn connection() -> (TcpStream, TcpStream) {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a port");
        let far = TcpStream::connect(listener.local_addr().expect("its own")).expect("it listens");
        (listener.accept().expect("it has come").0, far)
    }

    #[test]
    fn a_flood_from_one_address_leaves_whoever_comes_from_another() {
        let door = Door::default();
        let [one, other] = [[10, 0, 0, 1], [10, 0, 0, 2]].map(IpAddr::from);
        let (near, mut slow) = connection();
        assert!(door.enter(0, one, &near));
        let flood: Vec<_> = (1..=40)
            .map(|number| {
                let ends = connection();
                assert!(door.enter(number, other, &ends.0));
                ends
            })
            .collect();
        assert_eq!(door.count(), MOST_CONNECTIONS);
        // The slow one came first, and may still show the secret; of the others the oldest are gone.
        assert!(door.has_secret(0));
        let there = (1..=40).filter(|number| door.has_secret(*number));
        assert!(there.eq(26..=40));
        slow.set_nonblocking(true).expect("a socket");
        assert!(slow.read(&mut [0]).is_err(), "it was not closed");
        let mut swept = &flood[0].1;
        assert_eq!(swept.read(&mut [0]).expect("closed"), 0);
        // Where all have it, nobody goes.
        assert!(!door.enter(41, one, &near));
        door.leave(30);
        assert!(door.enter(41, one, &near));
    }

    #[test]
    fn whoever_waits_and_has_to_go_waits_no_more() {
        let door = Door::default();
        let address = IpAddr::from([10, 0, 0, 1]);
        let flood: Vec<_> = (0..=MOST_CONNECTIONS).map(|_| connection()).collect();
        assert!(door.enter(0, address, &flood[0].0));
        assert!(door.stays(0, Duration::from_millis(1)), "its time is over");
        std::thread::scope(|scope| {
            // Beyond any test's patience.
            let waits = scope.spawn(|| door.stays(0, Duration::from_secs(3600)));
            for (number, ends) in (1..).zip(&flood[1..]) {
                assert!(door.enter(number, address, &ends.0));
            }
            assert!(!waits.join().expect("it ends"));
        });
        assert!(!door.stays(0, Duration::from_secs(3600)), "it is gone");
    }
}
