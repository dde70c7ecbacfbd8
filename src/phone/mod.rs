//! The deck in a coach's hand: a page for the phone, and the server that gives it out on the local
//! network.

mod address;
mod clock;
mod code;
mod message;
mod once;
mod request;
mod secret;
mod tries;

pub use address::Addresses;
pub use clock::{Exchange, PhoneClock, Placed};
pub use code::code;
pub use message::{Message, What, Wish};
pub use once::{Once, Turn};
pub use request::{Asked, asked};
pub use secret::Secret;
