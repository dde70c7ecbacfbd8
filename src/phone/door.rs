//! Who is connected: so many at most, and whoever has not shown the secret makes room.

use std::net::{Shutdown, TcpStream};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Connections at once.
pub const MOST_CONNECTIONS: usize = 16;

struct Guest {
    connection: u64,
    stream: TcpStream,
    has_secret: bool,
}

/// Every connection there is, the oldest first.
#[derive(Default)]
pub struct Door(Mutex<Vec<Guest>>);

impl Door {
    fn guests(&self) -> MutexGuard<'_, Vec<Guest>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets a connection in, where there is room or the oldest without the secret can go.
    pub fn enter(&self, connection: u64, stream: &TcpStream) -> bool {
        let Ok(stream) = stream.try_clone() else {
            return false;
        };
        let mut guests = self.guests();
        if guests.len() >= MOST_CONNECTIONS {
            let Some(at) = guests.iter().position(|guest| !guest.has_secret) else {
                return false;
            };
            // Its thread finds the connection closed.
            let _ = guests.remove(at).stream.shutdown(Shutdown::Both);
        }
        guests.push(Guest {
            connection,
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

    /// A connection has ended.
    pub fn leave(&self, connection: u64) {
        self.guests().retain(|one| one.connection != connection);
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.guests().len()
    }
}
