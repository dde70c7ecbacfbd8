//! The deck in a coach's hand: a page for the phone, and the server that gives it out on the local
//! network.
//!
//! `server.rs` listens, `link.rs` talks with one phone, `desk.rs` does on the deck what phones say.
//! The rest is pure: requests, messages, clocks, what is kept and what is shown.

mod address;
mod clock;
mod code;
mod desk;
mod door;
mod heard;
mod link;
mod message;
mod once;
mod page;
mod post;
mod rationed;
mod request;
mod secret;
mod server;
mod state;
mod tries;

pub use address::Addresses;
pub use clock::{Exchange, PhoneClock, Placed};
pub use code::code;
pub use desk::Desk;
pub use message::{Message, PhoneWish, What};
pub use request::{LetIn, asked};
pub use secret::Secret;
pub use server::Server;
