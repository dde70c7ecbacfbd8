//! The phrase table inside the program, and how such a table is read.

use std::collections::BTreeMap;

use super::document::{Section, SourceText};
use crate::error::{Error, Result};
use crate::model::phrases::{KEYS, Numbers, Phrases};
use crate::model::wishes::Said;

/// The shipped table: English.
const SHIPPED: &str = include_str!("../../sounds/en/phrases.toml");

/// The phrases inside the program.
///
/// # Panics
/// Never: a test parses the shipped table.
pub fn shipped() -> Phrases {
    parse_phrases("sounds/en/phrases.toml", SHIPPED).expect("a test parses the shipped table")
}

/// Parses a phrase table; `file` is the name for messages.
///
/// # Errors
/// When the text does not hold, or lacks a phrase.
pub fn parse_phrases(file: &str, text: &str) -> Result<Phrases> {
    let source = SourceText::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    top.only(&["format", "language", "phrases", "numbers"])?;
    top.format_1()?;
    let table = |key: &str| {
        let section = top.section(key, &format!("[{key}]"))?;
        section.ok_or_else(|| top.missing(key))
    };
    let section = table("phrases")?;
    section.only(&KEYS)?;
    let mut templates = BTreeMap::new();
    for key in KEYS {
        let template = section.text(key)?.ok_or_else(|| section.missing(key))?;
        templates.insert(key.to_string(), template.value);
    }
    let section = table("numbers")?;
    section.only(&["units", "tens", "hundred", "thousand", "point"])?;
    let word = |key: &str| -> Result<String> {
        let said: Said<String> = section.text(key)?.ok_or_else(|| section.missing(key))?;
        Ok(said.value)
    };
    let words = |key: &'static str| -> Result<Vec<String>> {
        let list = section.read(key, |entry| {
            let items = section.items_of(entry, "a list of words", "tens = [\"twenty\"]")?;
            (items.iter())
                .map(|item| Ok(item.string("a word in quotes", "\"twenty\"")?.to_string()))
                .collect::<Result<Vec<_>>>()
        })?;
        list.map(|said| said.value)
            .ok_or_else(|| section.missing(key))
    };
    let numbers = Numbers {
        units: words("units")?,
        tens: words("tens")?,
        hundred: word("hundred")?,
        thousand: word("thousand")?,
        point: word("point")?,
    };
    Phrases::new(templates, numbers).map_err(|why| Error::input(why).at(file))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::phrases::in_words;
    use crate::model::session::RepeatSwim;
    use crate::units::{Quantity, decimal};

    #[test]
    fn numbers_are_read_as_people_read_them() {
        let phrases = shipped();
        for (number, words) in [
            ("0", "zero"),
            ("7", "seven"),
            ("13", "thirteen"),
            ("54", "fifty-four"),
            ("90", "ninety"),
            ("100", "one hundred"),
            ("160", "one hundred sixty"),
            ("1500", "one thousand five hundred"),
            ("54.5", "fifty-four point five"),
            ("51.84", "fifty-one point eight four"),
            ("51.05", "fifty-one point zero five"),
            ("59.999", "sixty"),
        ] {
            let value = decimal(number).expect("a decimal");
            assert_eq!(in_words(&phrases.number(&value)), words, "{number}");
        }
    }

    #[test]
    fn swims_are_read_with_their_units() {
        let phrases = shipped();
        for (swim, words) in [
            ("50 m", "fifty metres"),
            ("1 m", "one metre"),
            ("25 yd", "twenty-five yards"),
            ("33 1/3 m", "thirty-three point three three metres"),
            ("45 s", "forty-five seconds"),
            ("1:30", "one minute thirty seconds"),
            ("6 min", "six minutes"),
            ("1.5 h", "one hour thirty minutes"),
        ] {
            let value = RepeatSwim::parse(swim).expect("a swim");
            assert_eq!(in_words(&phrases.swim(&value)), words, "{swim}");
        }
    }

    #[test]
    fn a_table_that_lacks_a_phrase_is_refused_by_its_name() {
        let text = SHIPPED.replace("late            =", "to_late =");
        let error = parse_phrases("de/phrases.toml", &text).expect_err("a key is wrong");
        assert!(error.to_string().contains("to_late"), "{error}");
        let lines: Vec<&str> = (SHIPPED.lines())
            .filter(|line| !line.starts_with("late "))
            .collect();
        let error =
            parse_phrases("de/phrases.toml", &lines.join("\n")).expect_err("one is missing");
        assert!(error.to_string().contains("late is missing"), "{error}");
    }
}
