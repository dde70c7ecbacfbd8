//! The screen on deck: read from two metres, in black and white, worked with one wet finger.
//!
//! [`App`] knows keys and words, `draw.rs` knows cells, `run.rs` knows the terminal. What has to be
//! written to files is asked of the caller.

mod app;
mod away;
mod digits;
mod draw;
mod face;
mod handed;
mod help;
mod lines;
mod paged;
mod places;
mod results;
mod run;
mod session;
mod terminal;
mod wheel;

pub use app::{Action, App, DeckView, Settings, rate_in_words};
pub use away::{Ask, DeckStanding, Seen, SwimSeen, WayIn};
pub use draw::draw;
pub use face::{Face, ShownRate, Wheel, spm_in_words};
pub use handed::{KeptResult, Laying, SwumResult};
pub use help::HELP;
pub use lines::run_lines;
pub use results::{Entered, NOTES};
pub use run::{Away, Hooks, run};
pub use session::Programme;
#[cfg(unix)]
pub use terminal::Quiet;
