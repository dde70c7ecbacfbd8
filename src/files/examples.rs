//! An example that works, for every key of every file.

use crate::model::keys::{Level, SET_KEYS, keys_on};

/// What is no key with a value of its own: the frame of a file, and the keys inside inline tables.
const OTHERS: [(&str, &str); 23] = [
    ("about", "about = \"low knock\""),
    ("arm", "arm = \"0 ms\""),
    ("at", "at = [3, 6]"),
    ("by", "by = \"repeat\""),
    ("defaults", "[defaults]"),
    ("every", "every = 3"),
    ("file", "file = \"waves.ogg\""),
    ("format", "format = 1"),
    ("from", "from = \"52 spm\""),
    ("left", "left = 0.3"),
    ("log", "log = \"log.csv\""),
    ("measured", "[measured]"),
    ("off", "off = 4"),
    ("on", "on = 8"),
    ("once", "once = true"),
    ("per", "per = \"cycle\""),
    ("player", "[player]"),
    ("right", "right = 0.3"),
    ("set", "[[set]]"),
    ("side", "side = \"right\""),
    ("steps", "steps = \"steps.csv\""),
    ("swimmer", "swimmer = \"alex.toml\""),
    ("to", "to = \"60 spm\""),
];

/// The example of a key, if it is one that a person writes: a line that holds wherever the key
/// may stand. The key of a set goes before one of the same name elsewhere.
pub fn example_of(key: &str) -> Option<&'static str> {
    let other = OTHERS.iter().find(|(known, _)| *known == key);
    let levels = [Level::Session, Level::Player, Level::Measured];
    let mut rows = (SET_KEYS.iter()).chain(levels.into_iter().flat_map(keys_on));
    (other.map(|(_, example)| *example))
        .or_else(|| rows.find(|row| row.name == key).map(|row| row.example))
}
