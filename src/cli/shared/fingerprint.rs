//! A short number that changes whenever what it was taken of does.

use std::fmt;

use crate::timeline::Timeline;

/// FNV-1a with 64 bits (from memory): no guard against malice, only against what is stale.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Fingerprint(u64);

impl Default for Fingerprint {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Fingerprint {
    /// Of the cues of the body that sound, by kind, side and frame: no name is in it, no sound, and
    /// nothing that stays silent. The same cues at another sample rate are others.
    pub fn of_cues(timeline: &Timeline) -> Self {
        let mut known = Self::default();
        for cue in timeline.events().filter(|event| event.beat.is_some()) {
            let side = cue.side.map_or("both", |side| side.word());
            known.take(&format!("{} {side} {}", cue.kind.word(), cue.frame));
        }
        known
    }

    /// Takes in bytes; what follows joins on to them.
    pub fn take_bytes(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }

    /// Takes in a text, and that it ends here.
    pub fn take(&mut self, text: &str) {
        self.take_bytes(text.as_bytes());
        self.take_bytes(&[0]);
    }

    /// As a table holds it: 16 letters from a to p, which no spreadsheet takes for a number.
    pub fn letters(self) -> String {
        let letter = |place: u32| char::from(b'a' + ((self.0 >> (4 * place)) & 15) as u8);
        (0..16).rev().map(letter).collect()
    }
}

/// As 16 hexadecimal digits.
impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::parse_session;
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;
    use crate::timeline::Schedule;

    #[test]
    fn the_numbers_are_those_of_the_published_test_vectors() {
        // FNV-1a, 64 bits, of "" and of "foobar": the test vectors of its authors, from memory.
        let mut known = Fingerprint::default();
        assert_eq!(known.to_string(), "cbf29ce484222325");
        known.take_bytes(b"foobar");
        assert_eq!(known.to_string(), "85944171f73967e8");
        assert_eq!(known.letters(), "ifjeebhbphdjghoi");
    }

    #[test]
    fn cues_are_known_by_what_sounds_when_and_on_which_side_and_by_nothing_else() {
        let of = |text: &str| {
            let session = parse_session("test.toml", text).expect("parses");
            let session = resolve(&session, None, &Wishes::default()).expect("resolves");
            let schedule = Schedule::new(&session).expect("fits");
            Fingerprint::of_cues(&Timeline::new(&session, &schedule, 48_000)).letters()
        };
        let set = "[[set]]\nswim = \"45 s\"\nrate = \"56 spm\"\npairing = \"same-side\"\n";
        let known = of(set);
        assert_eq!(
            known,
            of(&format!("title = \"Evening\"\n{set}name = \"Hold\"\n"))
        );
        for other in [
            set.replace("56 spm", "56.01 spm"),
            set.replace("same-side", "opposite-side"),
            format!("{set}lead = {{ kick = \"1 ms\" }}\n"),
            format!("{set}cues = [\"arm\"]\n"),
            format!("{set}fade = {{ on = 8, off = 4, per = \"cycle\" }}\n"),
            format!("lead_in = \"61 s\"\n{set}"),
            format!("{set}repeats = 2\nrest = \"20 s\"\n"),
        ] {
            assert_ne!(known, of(&other), "{other}");
        }
    }
}
