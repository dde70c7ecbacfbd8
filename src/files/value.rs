//! How each kind of value stands in a file; one `impl` a kind, and none for a key.

use toml_edit::{Array, Value};

use super::document::Section;
use super::key_value::KeyValue;
use crate::error::{Error, Result};
use crate::model::cue::CUE_KINDS;
use crate::model::keys::Takes;
use crate::model::keys::kinds::*;
use crate::model::session::{FadePer, RampBy};
use crate::model::value::{Word, words};
use crate::units::Quantity;

/// A kind of value that a file can say.
pub trait InToml: Sized {
    /// Reads it.
    ///
    /// # Errors
    /// At the value, when it is none of this kind or none that the key takes.
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self>;

    /// Writes it so that it reads back as it is.
    fn write(&self) -> Value;
}

impl InToml for String {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        if let Takes::OneOf(accepted) = takes {
            let words: Vec<(&str, &str)> = accepted.iter().map(|word| (*word, *word)).collect();
            return entry.word(&words).map(Into::into);
        }
        let said = section.text(entry.key())?;
        Ok(said.map(|said| said.value).unwrap_or_default())
    }
    fn write(&self) -> Value {
        Value::from(self)
    }
}

impl InToml for bool {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        let said = section.switch(entry.key())?;
        Ok(said.is_some_and(|said| said.value))
    }
    fn write(&self) -> Value {
        Value::from(*self)
    }
}

macro_rules! count {
    ($($kind:ty)*) => {$(
        impl InToml for $kind {
            fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
                let found = count(entry, takes)?;
                Self::try_from(found).map_err(|_| entry.refuse(format!("found {found}, far too large")))
            }
            fn write(&self) -> Value {
                digits(&self.to_string())
            }
        }
    )*};
}
count! { u16 u32 u64 usize }

fn count(entry: &KeyValue, takes: Takes) -> Result<u64> {
    let number = |text: &str| text.parse().expect("a bound is a number in the code");
    match takes {
        Takes::All => entry.count(0, u64::MAX),
        Takes::From(least, most) | Takes::Within(least, most, _) => {
            entry.count(number(least), number(most))
        }
        Takes::OneOf(accepted) => {
            let refused = |error: Error| {
                error
                    .accepted(accepted.join(" or "))
                    .example(entry.example(accepted[0]))
            };
            let found = entry.count(0, u64::MAX).map_err(refused)?;
            if accepted.iter().any(|one| number(one) == found) {
                Ok(found)
            } else {
                Err(refused(entry.refuse(format!("found {found}"))))
            }
        }
    }
}

/// A number as it is written, which a float might not be.
fn digits(text: &str) -> Value {
    text.parse().expect("digits are TOML")
}

macro_rules! quantity {
    ($($kind:ty)*) => {$(
        impl InToml for $kind {
            fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
                entry.quantity()
            }
            fn write(&self) -> Value {
                Value::from(self.to_string())
            }
        }
    )*};
}
quantity! { SwimWish Pace StrokeLength }

impl InToml for Length {
    fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        quantity_within(entry, takes, |length: &Self| *length.metres())
    }
    fn write(&self) -> Value {
        Value::from(self.to_string())
    }
}

impl InToml for Time {
    fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        quantity_within(entry, takes, |time: &Self| *time.s())
    }
    fn write(&self) -> Value {
        Value::from(self.to_string())
    }
}

fn quantity_within<Q: Quantity + std::fmt::Display>(
    entry: &KeyValue,
    takes: Takes,
    size: impl Fn(&Q) -> Fix,
) -> Result<Q> {
    let value: Q = entry.quantity()?;
    let Takes::Within(least, most, accepted) = takes else {
        return Ok(value);
    };
    let bound = |text| size(&Q::parse(text).expect("a bound is a quantity in the code"));
    if size(&value) >= bound(least) && size(&value) <= bound(most) {
        return Ok(value);
    }
    Err(entry
        .refuse(format!("found {value}"))
        .accepted(accepted)
        .example(entry.example("")))
}

impl InToml for Rate {
    fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        entry.quantity()
    }
    fn write(&self) -> Value {
        Value::from(self.exactly())
    }
}

impl InToml for Fix {
    fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        match takes {
            Takes::From(least, most) | Takes::Within(least, most, _) => {
                entry.decimal((least, most, least))
            }
            Takes::All | Takes::OneOf(_) => entry.decimal(("0", "1", "0.5")),
        }
    }
    fn write(&self) -> Value {
        digits(&self.to_string())
    }
}

macro_rules! word {
    ($($kind:ty)*) => {$(
        impl InToml for $kind {
            fn read<'a>(_: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
                entry.word(&words())
            }
            fn write(&self) -> Value {
                Value::from(Word::word(*self))
            }
        }
    )*};
}
word! { Side Arms ArmCue Pairing Kick Walls Count RampBy FadePer Format Channels Division }

/// `"none"` switches it off.
impl<T: InToml> InToml for Option<T> {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        if entry.is_none_word() {
            Ok(None)
        } else {
            T::read(section, entry, takes).map(Some)
        }
    }
    fn write(&self) -> Value {
        self.as_ref().map_or_else(|| Value::from("none"), T::write)
    }
}

/// A list of two: the low end and the high end.
impl<T: InToml> InToml for (T, T) {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        const ACCEPTED: &str = "a list of two: the low end and the high end";
        let ends = section.items_of(entry, ACCEPTED, &entry.example("[0.3, 0.4]"))?;
        match &ends[..] {
            [low, high] => Ok((
                T::read(section, low, takes)?,
                T::read(section, high, takes)?,
            )),
            _ => Err(entry
                .refuse(format!("found {} values", ends.len()))
                .accepted(ACCEPTED)
                .example(entry.example("[0.3, 0.4]"))),
        }
    }
    fn write(&self) -> Value {
        Value::Array(Array::from_iter([self.0.write(), self.1.write()]))
    }
}

impl InToml for CueSet {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        let items = section.items_of(
            entry,
            "a list of any of arm, kick, fill, breath, wall",
            "cues = [\"arm\", \"kick\"]",
        )?;
        let mut cues = Self::NONE;
        for item in items {
            let kind: CueKind = (item.word(&words()))
                .map_err(|error| error.example("cues = [\"arm\", \"kick\"]"))?;
            cues = cues.with(kind);
        }
        Ok(cues)
    }
    fn write(&self) -> Value {
        let kinds = CUE_KINDS.into_iter().filter(|kind| self.has(*kind));
        Value::Array(kinds.map(CueKind::word).collect())
    }
}
