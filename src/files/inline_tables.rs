//! How the kinds of value that are tables of a few keys stand in a file.

use toml::de::DeValue;
use toml_edit::{Array, InlineTable, Value};

use super::document::Section;
use super::key_value::{KeyValue, shown};
use super::value::InToml;
use crate::error::{Error, Result};
use crate::model::catch::MEASURED;
use crate::model::keys::Takes;
use crate::model::keys::kinds::*;
use crate::model::resolve::BREATH_CAUTION;
use crate::model::session::{FadePer, RampBy};
use crate::model::value::words;
use crate::units::{print_apart, print_decimal};

/// One value for both sides, or a table of left and right.
impl<T: InToml + Clone> InToml for PerSide<T> {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        if !matches!(entry.value, DeValue::Table(_)) {
            let value = T::read(section, entry, takes)?;
            return Ok(Self {
                left: value.clone(),
                right: value,
            });
        }
        let table = section.section_of(entry, "")?;
        table.only(&["left", "right"])?;
        match (table.entry("left"), table.entry("right")) {
            (Some(left), Some(right)) => Ok(Self {
                left: T::read(&table, &left, takes)?,
                right: T::read(&table, &right, takes)?,
            }),
            _ => Err(entry
                .refuse("a table of sides needs left and right")
                .accepted("one value for both, or { left = ..., right = ... }")
                .example("catch_after_entry = { left = 0.32, right = 0.30 }")),
        }
    }
    fn write(&self) -> Value {
        table([("left", self.left.write()), ("right", self.right.write())])
    }
}

/// Numbers, or the word that asks for the swimmer's own.
impl InToml for CatchWish {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, takes: Takes) -> Result<Self> {
        if matches!(entry.value, DeValue::String(_)) {
            return (entry.word(&[(MEASURED, ())]).map(|()| Self::Measured)).map_err(|error| {
                error
                    .accepted("0 to 0.5, { left = ..., right = ... }, or \"measured\"")
                    .example("catch_after_entry = { left = 0.32, right = 0.30 }")
            });
        }
        PerSide::read(section, entry, takes).map(Self::Said)
    }
    fn write(&self) -> Value {
        match self {
            Self::Said(sides) => sides.write(),
            Self::Measured => Value::from(MEASURED),
        }
    }
}

fn table<const N: usize>(keys: [(&str, Value); N]) -> Value {
    Value::InlineTable(InlineTable::from_iter(keys))
}

/// `"54 spm"`, or a table of from, to and by.
impl InToml for RatePlan<RateWish> {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        const EXAMPLE: &str = "rate = { from = \"52 spm\", to = \"60 spm\", by = \"repeat\" }";
        if !matches!(entry.value, DeValue::Table(_)) {
            return entry.quantity::<RateWish>().map(Self::Steady);
        }
        let table = section.section_of(entry, EXAMPLE)?;
        table.only(&["from", "to", "by"])?;
        let from = table.quantity("from")?;
        let to = table.quantity("to")?;
        let by = table.word("by", &words::<RampBy>())?;
        let (Some(from), Some(to), Some(by)) = (from, to, by) else {
            return Err(entry
                .refuse("a rate table needs from, to and by")
                .accepted(
                    "by = \"repeat\" (from repeat to repeat) or by = \"time\" (inside each swim)",
                )
                .example(EXAMPLE));
        };
        Ok(Self::Ramp {
            from: from.value,
            to: to.value,
            by: by.value,
        })
    }
    fn write(&self) -> Value {
        let text = |wish: &RateWish| Value::from(wish.exactly());
        match self {
            Self::Steady(rate) => text(rate),
            Self::Ramp { from, to, by } => {
                table([("from", text(from)), ("to", text(to)), ("by", by.write())])
            }
        }
    }
}

impl InToml for Compare<RateWish> {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        const EXAMPLE: &str = "compare = { rate = \"54 spm\", at = [3, 6] }";
        const NUMBERS: &str = "the numbers of repeats, from 1, each once and ascending";
        let table = section.section_of(entry, EXAMPLE)?;
        table.only(&["rate", "at"])?;
        let (Some(rate), Some(list)) = (table.quantity("rate")?, table.entry("at")) else {
            return Err(entry
                .refuse("a comparison needs rate and at")
                .accepted(format!("a rate, and {NUMBERS}; \"none\" for no comparison"))
                .example(EXAMPLE));
        };
        let mut at: Vec<u64> = Vec::new();
        for item in table.items_of(&list, NUMBERS, EXAMPLE)? {
            let number = (item.count(1, u64::from(u32::MAX)))
                .map_err(|error| error.accepted(NUMBERS).example(EXAMPLE))?;
            if at.last().is_some_and(|before| *before >= number) {
                return Err(item
                    .refuse(format!("found {number}, after {}", at[at.len() - 1]))
                    .accepted(NUMBERS)
                    .example(EXAMPLE));
            }
            at.push(number);
        }
        if at.is_empty() {
            return Err(list
                .refuse("found an empty list")
                .accepted(NUMBERS)
                .example(EXAMPLE));
        }
        Ok(Self {
            rate: rate.value,
            at,
        })
    }
    fn write(&self) -> Value {
        let at = self.at.iter().map(InToml::write);
        table([
            ("rate", Value::from(self.rate.exactly())),
            ("at", Value::Array(Array::from_iter(at))),
        ])
    }
}

impl InToml for Breath {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        const EXAMPLE: &str = "breath = { every = 3, side = \"right\" }";
        const ACCEPTED: &str = "2 to 5, and at most 6 s at the lowest rate of the set";
        let table = section.section_of(entry, EXAMPLE)?;
        table.only(&["every", "side"])?;
        let Some(every) = table.entry("every") else {
            return Err(entry
                .refuse("a breath table needs every: the strokes from one breath to the next")
                .accepted("every = 2 to 5")
                .example(EXAMPLE));
        };
        let strokes = (every.count(1, u64::MAX))
            .map_err(|error| error.accepted(ACCEPTED).example(EXAMPLE))?;
        let refused = |what: String| Err(every.refuse(what).accepted(ACCEPTED).example(EXAMPLE));
        if strokes == 1 {
            return refused("found 1; a breath cue every stroke cannot be followed".into());
        }
        if strokes > 5 {
            return refused(format!(
                "found {strokes}, a breath every {strokes} strokes; {BREATH_CAUTION}"
            ));
        }
        let side = table.word("side", &words())?;
        Ok(Self {
            every: strokes as u32,
            side: side.map_or(Side::Right, |said| said.value),
        })
    }
    fn write(&self) -> Value {
        table([
            ("every", u64::from(self.every).write()),
            ("side", self.side.write()),
        ])
    }
}

impl InToml for Fade {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        const EXAMPLE: &str = "fade = { on = 8, off = 4, per = \"cycle\" }";
        let table = section.section_of(entry, EXAMPLE)?;
        table.only(&["on", "off", "per"])?;
        let (Some(on), Some(off)) = (
            table.count("on", 1, 100_000)?,
            table.count("off", 1, 100_000)?,
        ) else {
            return Err(entry
                .refuse("a fade needs on and off")
                .accepted("how many sound, how many are silent; \"none\" switches the fade off")
                .example(EXAMPLE));
        };
        let per = table.word("per", &words())?;
        Ok(Self {
            on: on.value as u32,
            off: off.value as u32,
            per: per.map_or(FadePer::Cycle, |said| said.value),
        })
    }
    fn write(&self) -> Value {
        table([
            ("on", self.on.write()),
            ("off", self.off.write()),
            ("per", self.per.write()),
        ])
    }
}

/// `"40 ms"`, or a table of arm, kick and breath; what a table does not name stays on its moment.
impl InToml for Lead {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        const EXAMPLE: &str = "lead = { arm = \"0 ms\", kick = \"40 ms\" }";
        match entry.value {
            DeValue::Table(_) => {
                let table = section.section_of(entry, EXAMPLE)?;
                table.only(&["arm", "kick", "breath"])?;
                let key = |key| -> Result<Time> {
                    let said = table.read(key, one_lead)?;
                    Ok(said.map_or(Time::whole_s(0), |said| said.value))
                };
                Ok(Self {
                    arm: key("arm")?,
                    kick: key("kick")?,
                    breath: key("breath")?,
                })
            }
            DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_) => {
                Ok(Self::all(one_lead(entry)?))
            }
            other => Err(entry
                .refuse(format!("found {}", shown(other)))
                .accepted("a time such as 40 ms, or a table of arm, kick and breath")
                .example(EXAMPLE)),
        }
    }
    fn write(&self) -> Value {
        let ms = |time: &Time| {
            let ms = print_decimal(&(time.s() * exact(1000)));
            Value::from(ms.map_or_else(|| time.to_string(), |ms| format!("{ms} ms")))
        };
        if self.arm == self.kick && self.kick == self.breath {
            ms(&self.arm)
        } else {
            let (arm, kick) = (("arm", ms(&self.arm)), ("kick", ms(&self.kick)));
            if self.breath.s().is_zero() {
                table([arm, kick])
            } else {
                table([arm, kick, ("breath", ms(&self.breath))])
            }
        }
    }
}

fn one_lead(entry: &KeyValue) -> Result<Time> {
    let time: Time =
        (entry.quantity()).map_err(|error: Error| error.example("lead = \"40 ms\""))?;
    let (ms, most) = (*time.s() * exact(1000), exact(300));
    if ms.abs() <= most {
        return Ok(time);
    }
    let limit = if ms.is_negative() { -most } else { most };
    Err(entry
        .refuse(format!("found {} ms", print_apart(&ms, &limit, 1)))
        .accepted("-300 ms (later) to 300 ms (earlier)")
        .example("lead = \"40 ms\""))
}

/// The file of a bed, or a table of file and once.
impl InToml for BedWish {
    fn read<'a>(section: &Section<'a>, entry: &KeyValue<'a>, _: Takes) -> Result<Self> {
        const EXAMPLE: &str = "bed = \"waves.ogg\"";
        if !matches!(entry.value, DeValue::Table(_)) {
            let file = entry.string(
                "the path of a sound file, or a table of file and once",
                EXAMPLE,
            )?;
            return Ok(Self {
                file: file.to_string(),
                once: false,
            });
        }
        let table = section.section_of(entry, EXAMPLE)?;
        table.only(&["file", "once"])?;
        let file = table.text("file")?.ok_or_else(|| {
            (entry.refuse("a bed needs a file"))
                .accepted("the path of a sound file")
                .example(EXAMPLE)
        })?;
        Ok(Self {
            file: file.value,
            once: table.switch("once")?.is_some_and(|said| said.value),
        })
    }
    fn write(&self) -> Value {
        table([("file", self.file.write()), ("once", self.once.write())])
    }
}
