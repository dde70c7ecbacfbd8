//! The voices inside the program: small text files in `sounds/`.

use super::doc::{Section, Source};
use crate::error::Result;
use crate::model::cue::Voice;
use crate::model::voice::{Partial, Recipe};
use crate::units::{Exact, Time, exact, to_f64};

/// The text of every shipped voice, in the order of [`Voice::ALL`].
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

/// The recipes of the shipped voices, in the order of [`Voice::ALL`].
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
    let source = Source::new(file, text.to_string());
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
                .decimal("hz", ("20", "20000"))?
                .map(|said| said.value),
        )?;
        let to_hz = section
            .decimal("to_hz", ("20", "20000"))?
            .map_or(hz.clone(), |said| said.value);
        partials.push(Partial {
            hz: to_f64(&hz),
            to_hz: to_f64(&to_hz),
            level_db: section
                .decimal("level_db", ("-60", "20"))?
                .map_or(0.0, |said| to_f64(&said.value)),
            after_ms: match section.entry("after") {
                Some(_) => ms(&section, "after")?,
                None => 0.0,
            },
            decay_ms: ms(&section, "decay")?,
        });
    }
    Ok(Recipe {
        about: needed(&top, "about", top.text("about")?.map(|said| said.value))?,
        length_ms: ms(&top, "length")?,
        attack_ms: ms(&top, "attack")?,
        release_ms: ms(&top, "release")?,
        peak_db: to_f64(&needed(
            &top,
            "peak_db",
            top.decimal("peak_db", ("-40", "0"))?.map(|said| said.value),
        )?),
        partials,
    })
}

fn ms(section: &Section, key: &str) -> Result<f64> {
    let time = needed(section, key, section.quantity::<Time>(key)?)?.value;
    let ms: Exact = time.s() * exact(1000);
    Ok(to_f64(&ms))
}

fn needed<T>(section: &Section, key: &str, found: Option<T>) -> Result<T> {
    found.ok_or_else(|| section.missing(key))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shipped_voice_parses_and_stands_in_order() {
        for ((file, text), voice) in SHIPPED.into_iter().zip(Voice::ALL) {
            assert_eq!(file, format!("sounds/{voice}.toml"));
            let recipe = parse_voice(file, text).expect(file);
            assert!(!recipe.partials.is_empty(), "{file}");
        }
    }
}
