//! Presets and invented swimmers inside the program.

/// A file inside the program.
#[derive(Debug, Clone, Copy)]
pub struct Preset {
    /// Its bare name.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! inside {
    ($folder:literal, $($name:literal),+ $(,)?) => {
        &[$(Preset {
            name: $name,
            text: include_str!(concat!("../../", $folder, "/", $name, ".toml")),
        }),+]
    };
}

/// The sessions, in the order in which a swimmer meets them.
pub const PRESETS: &[Preset] = inside!(
    "presets",
    "first-sounds",
    "deck-march",
    "kick-with-board",
    "one-arm",
    "first-lengths-same-side",
    "first-lengths-opposite-side",
    "try-both-pairings",
    "hold-the-rate",
    "fade-by-cycle",
    "fade-by-length",
    "rate-rises-by-repeat",
    "rate-rises-inside-a-swim",
    "six-beat",
    "four-beat",
    "breathe-every-three",
    "pull",
    "open-water-rehearsal",
);

/// The invented swimmers.
pub const SWIMMERS: &[Preset] = inside!("presets/swimmers", "adult-learner", "triathlete");

/// The preset session of a name.
pub fn preset(name: &str) -> Option<&'static Preset> {
    PRESETS.iter().find(|preset| preset.name == name)
}

/// The invented swimmer of a name.
pub fn preset_swimmer(name: &str) -> Option<&'static Preset> {
    SWIMMERS.iter().find(|preset| preset.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, parse_swimmer};
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;

    #[test]
    fn every_preset_holds_for_every_invented_swimmer() {
        for swimmer in SWIMMERS {
            let swimmer = parse_swimmer(swimmer.name, swimmer.text).expect(swimmer.name);
            for preset in PRESETS {
                let session = parse_session(preset.name, preset.text).expect(preset.name);
                assert!(
                    session.for_whom.is_some(),
                    "{} says whom it is for",
                    preset.name
                );
                let resolved = resolve(&session, Some(&swimmer), &Wishes::default());
                resolved.unwrap_or_else(|error| {
                    panic!("{} for {}: {error}", preset.name, swimmer.name)
                });
            }
        }
    }

    #[test]
    fn presets_take_their_rate_from_the_swimmer() {
        for preset in PRESETS {
            let session = parse_session(preset.name, preset.text).expect(preset.name);
            let alone = resolve(&session, None, &Wishes::default());
            let error = alone
                .err()
                .map(|error| error.to_string())
                .unwrap_or_default();
            assert!(
                error.contains("rate"),
                "{} has a rate of its own: {error}",
                preset.name
            );
        }
    }
}
