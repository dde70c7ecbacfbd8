//! The deck in a coach's hand: a page for the phone, and the server that gives it out on the local
//! network.

mod clock;
mod once;
mod secret;

pub use clock::{Exchange, PhoneClock, Placed};
pub use once::{Once, Turn};
pub use secret::Secret;
