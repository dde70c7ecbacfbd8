//! What commands share: arguments, the way from them to a session, and the ways out.

pub mod args;
pub mod came;
pub mod cued;
pub mod date;
pub mod film;
pub mod film_name;
pub mod film_told;
pub mod fingerprint;
pub mod heard;
pub mod load;
pub mod out;
pub mod picked;
pub mod report;
pub mod room;
pub mod save;
pub mod silenced;
pub mod sound_speed;
pub mod stop;
pub mod swum;
pub mod table;
pub mod terminal;
pub mod words;
