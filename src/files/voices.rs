//! The voices inside the program: small text files in `sounds/`.

use super::document::{Section, SourceText};
use crate::error::Result;
use crate::model::voice::{Partial, Recipe};
use crate::units::{Fix, Time, exact, to_f64};

/// The text of every shipped voice, in the order of [`Voice::ALL`](crate::model::cue::Voice::ALL).
const SHIPPED: [(&str, &str); 12] = {
    macro_rules! voice {
        ($name:literal) => {
            (
                concat!("sounds/", $name, ".toml"),
                include_str!(concat!("../../sounds/", $name, ".toml")),
            )
        };
    }
    [
        voice!("arm-left"),
        voice!("arm-right"),
        voice!("kick-left"),
        voice!("kick-right"),
        voice!("fill-left"),
        voice!("fill-right"),
        voice!("breath-left"),
        voice!("breath-right"),
        voice!("wall"),
        voice!("count"),
        voice!("start"),
        voice!("end"),
    ]
};

/// Just under [`Recipe::LONGEST_MS`].
const LONGEST_MS: i64 = 499;

/// The recipes of the shipped voices, in the order of [`Voice::ALL`](crate::model::cue::Voice::ALL).
///
/// # Panics
/// Never: a test parses every shipped file.
pub fn shipped() -> [Recipe; 12] {
    SHIPPED.map(|(file, text)| parse_voice(file, text).expect("a test parses every shipped voice"))
}

/// Parses a voice; `file` is the name for messages.
///
/// # Errors
/// When the text does not hold.
fn parse_voice(file: &str, text: &str) -> Result<Recipe> {
    let source = SourceText::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    top.only(&[
        "format", "about", "length", "attack", "release", "peak_db", "partial",
    ])?;
    top.format_1()?;
    let mut partials = Vec::new();
    for (_, section) in top.sections("partial", "partial")? {
        section.only(&["hz", "to_hz", "level_db", "after", "decay"])?;
        let hz = needed(
            &section,
            "hz",
            section
                .decimal("hz", ("20", "20000", "1500"))?
                .map(|said| said.value),
        )?;
        let to_hz = section
            .decimal("to_hz", ("20", "20000", "1500"))?
            .map_or(hz, |said| said.value);
        partials.push(Partial {
            hz: to_f64(&hz),
            to_hz: to_f64(&to_hz),
            level_db: section
                .decimal("level_db", ("-60", "20", "-6"))?
                .map_or(0.0, |said| to_f64(&said.value)),
            after_ms: match section.entry("after") {
                Some(_) => ms(&section, "after", 0, LONGEST_MS)?,
                None => 0.0,
            },
            decay_ms: ms(&section, "decay", 1, 10_000)?,
        });
    }
    Ok(Recipe {
        about: needed(&top, "about", top.text("about")?.map(|said| said.value))?,
        length_ms: ms(&top, "length", 1, LONGEST_MS)?,
        attack_ms: ms(&top, "attack", 0, 5)?,
        release_ms: ms(&top, "release", 1, LONGEST_MS)?,
        peak_db: to_f64(&needed(
            &top,
            "peak_db",
            top.decimal("peak_db", ("-40", "0", "-3"))?
                .map(|said| said.value),
        )?),
        partials,
    })
}

/// A time in ms within a range, both ends included.
fn ms(section: &Section, key: &str, least: i64, most: i64) -> Result<f64> {
    let time = section.read(key, |entry| {
        let ms: Fix = entry.quantity::<Time>()?.s() * exact(1000);
        if ms >= exact(least) && ms <= exact(most) {
            Ok(to_f64(&ms))
        } else {
            Err(entry
                .refuse(format!("found {} ms", to_f64(&ms)))
                .accepted(format!("{least} to {most} ms"))
                .example(format!("{key} = \"{least} ms\"")))
        }
    })?;
    Ok(needed(section, key, time)?.value)
}

fn needed<T>(section: &Section, key: &str, found: Option<T>) -> Result<T> {
    found.ok_or_else(|| section.missing(key))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::cue::Voice;

    #[test]
    fn every_shipped_voice_parses_and_stands_in_order() {
        for ((file, text), voice) in SHIPPED.into_iter().zip(Voice::ALL) {
            assert_eq!(file, format!("sounds/{voice}.toml"));
            let recipe = parse_voice(file, text).expect(file);
            assert!(!recipe.partials.is_empty(), "{file}");
        }
    }
}
