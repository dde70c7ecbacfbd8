//! One value of a TOML document, and how it is refused.

use toml::de::{DeInteger, DeValue};

use super::examples::example_of;
use crate::error::{Error, Place, Result};
use crate::units::{Fix, Quantity, decimal, exact};

/// The least and the greatest decimal accepted, and an example between them.
pub type Bounds = (&'static str, &'static str, &'static str);

/// A key's value with its place.
pub struct KeyValue<'a> {
    pub value: &'a DeValue<'a>,
    pub place: Place,
    pub path: String,
}

impl<'a> KeyValue<'a> {
    /// An error at this entry.
    pub fn refuse(&self, what: impl Into<String>) -> Error {
        Error::input(what).within(&self.path).at(&self.place)
    }

    /// The key itself, without the tables around it.
    pub fn key(&self) -> &str {
        self.path.rsplit(", ").next().unwrap_or(&self.path)
    }

    /// The line to copy for this key, or one made of `value`.
    pub fn example(&self, value: &str) -> String {
        let made = || format!("{} = {value}", self.key());
        example_of(self.key()).map_or_else(made, Into::into)
    }

    pub fn is_none_word(&self) -> bool {
        matches!(self.value, DeValue::String(word) if word == "none")
    }

    pub fn string(&self, accepted: &str, example: &str) -> Result<&'a str> {
        match self.value {
            DeValue::String(text) => Ok(text),
            other => Err(self
                .refuse(format!("found {}", shown(other)))
                .accepted(accepted)
                .example(example)),
        }
    }

    pub fn quantity<Q: Quantity>(&self) -> Result<Q> {
        let written = match self.value {
            DeValue::String(text) => text.to_string(),
            // A bare number goes the same way, so that the refusal names its units.
            DeValue::Integer(n) => written(n),
            DeValue::Float(n) => n.as_str().to_string(),
            other => {
                return Err(self
                    .refuse(format!("found {}", shown(other)))
                    .accepted(Q::ACCEPTED)
                    .example(self.example(&quoted(Q::EXAMPLE))));
            }
        };
        Q::parse(&written).map_err(|why| {
            self.refuse(why)
                .accepted(Q::ACCEPTED)
                .example(self.example(&quoted(Q::EXAMPLE)))
        })
    }

    pub fn word<T: Copy>(&self, words: &[(&str, T)]) -> Result<T> {
        let all: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let accepted = || {
            all.iter()
                .map(|word| quoted(word))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let example = || format!("{} = {}", self.key(), quoted(all[0]));
        let found = self.string(&accepted(), &example())?;
        match words.iter().find(|(word, _)| *word == found) {
            Some((_, value)) => Ok(*value),
            None => {
                let near = nearest(found, &all)
                    .map(|near| format!("; did you mean \"{near}\"?"))
                    .unwrap_or_default();
                Err(self
                    .refuse(format!("found {}{near}", quoted(found)))
                    .accepted(accepted())
                    .example(example()))
            }
        }
    }

    /// A bare decimal between two bounds, both included; `example` is one that works.
    pub fn decimal(&self, (low, high, example): Bounds) -> Result<Fix> {
        let refuse = |why: String| {
            self.refuse(why)
                .accepted(format!("a number from {low} to {high}"))
                .example(self.example(example))
        };
        let digits = match self.value {
            DeValue::Float(n) => n.as_str(),
            DeValue::Integer(n) if n.radix() == 10 => n.as_str(),
            other => return Err(refuse(format!("found {}", shown(other)))),
        };
        let value = Fix::decimal(digits).map_err(&refuse)?;
        let bound = |text| decimal(text).expect("a bound is a decimal in the code");
        if value >= bound(low) && value <= bound(high) {
            Ok(value)
        } else {
            Err(refuse(format!("found {digits}")))
        }
    }

    /// A whole number from `least` to `most`.
    pub fn count(&self, least: u64, most: u64) -> Result<u64> {
        let refuse = |found: String| {
            self.refuse(format!("found {found}"))
                .accepted(match most {
                    u64::MAX => format!("a whole number from {least} on"),
                    _ => format!("a whole number from {least} to {most}"),
                })
                .example(self.example(&least.max(4).min(most).to_string()))
        };
        let DeValue::Integer(n) = self.value else {
            return Err(refuse(shown(self.value)));
        };
        let digits = n.as_str();
        let value = decimal(digits)
            .ok()
            .filter(|value| n.radix() == 10 && *value >= exact(0) && value.is_integer());
        let value = value.and_then(|value| crate::units::floor_u64(&value));
        match value {
            Some(value) if value >= least && value <= most => Ok(value),
            _ => Err(refuse(written(n))),
        }
    }
}

/// The known word nearest to what was written, if any is near.
pub fn nearest<'w>(found: &str, words: &[&'w str]) -> Option<&'w str> {
    let similarity = |word: &str| strsim::jaro_winkler(&found.to_lowercase(), word);
    (words.iter())
        .map(|word| (similarity(word), *word))
        .filter(|(near, _)| *near > 0.75)
        .max_by(|(a, _), (b, _)| a.total_cmp(b))
        .map(|(_, word)| word)
}

/// A value as it can stand in a message: short, on one line.
pub fn shown(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => quoted(text),
        DeValue::Integer(n) => format!("{}, a bare number", written(n)),
        DeValue::Float(n) => format!("{}, a bare number", n.as_str()),
        DeValue::Boolean(value) => value.to_string(),
        DeValue::Datetime(date) => format!("{date}, a date"),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

/// A whole number as it stands in the file: the parser keeps the radix apart.
fn written(n: &DeInteger<'_>) -> String {
    let sign = match n.radix() {
        2 => "0b",
        8 => "0o",
        16 => "0x",
        _ => "",
    };
    format!("{sign}{}", n.as_str())
}

/// A word in quotes, cut where it is long, with nothing a terminal would obey.
pub fn quoted(word: &str) -> String {
    let short: String = word.chars().take(40).collect();
    let more = if short.len() < word.len() { "..." } else { "" };
    format!("\"{}{more}\"", short.escape_debug())
}
