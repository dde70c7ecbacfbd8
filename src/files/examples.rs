//! An example that works, for every key of every file.

/// A line to copy, by key: it holds wherever the key may stand.
const EXAMPLES: [(&str, &str); 63] = [
    ("about", "about = \"low knock\""),
    ("arm", "arm = \"0 ms\""),
    ("bed", "bed = \"waves.ogg\""),
    ("bits", "bits = 16"),
    ("breath", "breath = { every = 3, side = \"right\" }"),
    ("by", "by = \"repeat\""),
    ("catch_after_entry", "catch_after_entry = 0.3"),
    (
        "catch_after_entry_interval",
        "catch_after_entry_interval = { left = [0.32, 0.36], right = [0.29, 0.33] }",
    ),
    ("channels", "channels = \"stereo\""),
    ("cues", "cues = [\"arm\", \"kick\"]"),
    ("date", "date = \"2026-10-04\""),
    ("defaults", "[defaults]"),
    ("every", "every = 3"),
    ("fade", "fade = { on = 8, off = 4, per = \"cycle\" }"),
    ("file", "file = \"waves.ogg\""),
    ("files", "files = \"per-set\""),
    ("first_arm", "first_arm = \"left\""),
    ("for", "for = \"swimmers who run ahead of the sound\""),
    ("format", "format = 1"),
    ("from", "from = \"52 spm\""),
    ("glide", "glide = \"4 m\""),
    ("kick", "kick = \"two-beat\""),
    ("largest_mb", "largest_mb = 1000"),
    ("lead", "lead = \"40 ms\""),
    ("lead_in", "lead_in = \"60 s\""),
    ("left", "left = 0.3"),
    ("log", "log = \"log.csv\""),
    ("measured", "[measured]"),
    ("name", "name = \"Settle\""),
    ("name_length", "name_length = 40"),
    ("off", "off = 4"),
    ("on", "on = 8"),
    ("once", "once = true"),
    ("opening", "opening = false"),
    ("pace", "pace = \"2:05 / 100 m\""),
    ("pairing", "pairing = \"same-side\""),
    ("per", "per = \"cycle\""),
    ("player", "[player]"),
    ("pool", "pool = \"25 m\""),
    ("push_off", "push_off = \"3 s\""),
    ("rate", "rate = \"54 spm\""),
    (
        "rate_interval",
        "rate_interval = [\"51.6 spm\", \"53.1 spm\"]",
    ),
    ("repeats", "repeats = 4"),
    ("rest", "rest = \"20 s\""),
    ("rest_after", "rest_after = \"1:00\""),
    ("right", "right = 0.3"),
    ("right_entry", "right_entry = 0.5"),
    (
        "right_entry_interval",
        "right_entry_interval = [0.47, 0.51]",
    ),
    ("sample_rate_hz", "sample_rate_hz = 44100"),
    ("say", "say = \"Easy. Finish the kick on the sound.\""),
    ("send_off", "send_off = \"2:00\""),
    ("set", "[[set]]"),
    ("side", "side = \"right\""),
    ("sounds", "sounds = \"my-sounds\""),
    ("steps", "steps = \"steps.csv\""),
    ("stroke_length", "stroke_length = \"0.95 m/stroke\""),
    ("swapped", "swapped = false"),
    ("swim", "swim = \"50 m\""),
    ("swimmer", "swimmer = \"alex.toml\""),
    ("three_on", "three_on = \"left\""),
    ("title", "title = \"Evening\""),
    ("to", "to = \"60 spm\""),
    ("walls", "walls = \"through\""),
];

/// The example of a key, if it is one that a person writes.
pub fn example_of(key: &str) -> Option<&'static str> {
    let found = EXAMPLES.iter().find(|(known, _)| *known == key);
    found.map(|(_, example)| *example)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::keys::SET_KEYS;

    #[test]
    fn every_key_of_a_set_has_an_example_of_itself() {
        for key in SET_KEYS {
            let example = example_of(key).expect(key);
            assert!(example.starts_with(&format!("{key} = ")), "{example}");
        }
        assert!(EXAMPLES.is_sorted());
    }
}
