//! The keys that swimmers, defaults and sets share, read into a layer of wishes.

use super::doc::Section;
use super::entry::{Entry, shown};
use crate::error::{Error, Result};
use crate::model::cue::{CUE_KINDS, Kind, PerSide, Side};
use crate::model::kick::{Kick, Pairing};
use crate::model::layer::{Layer, Said};
use crate::model::session::{
    Breath, Cues, Fade, FadePer, Lead, RampBy, RatePlan, Walls, WishedRate,
};
use crate::units::{Exact, Length, RateWish, Time, exact, fraction};
use toml::de::DeValue;

/// Every key of a set.
pub const SET_KEYS: [&str; 24] = [
    "name",
    "repeats",
    "swim",
    "pool",
    "pace",
    "stroke_length",
    "rest",
    "send_off",
    "rest_after",
    "rate",
    "pairing",
    "kick",
    "three_on",
    "catch_after_entry",
    "right_entry",
    "first_arm",
    "push_off",
    "glide",
    "walls",
    "cues",
    "breath",
    "fade",
    "lead",
    "say",
];

const SIDES: [(&str, Side); 2] = [("left", Side::Left), ("right", Side::Right)];

/// The pairings by their words.
pub const PAIRINGS: [(&str, Pairing); 2] = [
    ("same-side", Pairing::SameSide),
    ("opposite-side", Pairing::OppositeSide),
];

/// The kicks by their words.
pub const KICKS: [(&str, Kick); 4] = [
    ("two-beat", Kick::TwoBeat),
    ("four-beat", Kick::FourBeat),
    ("six-beat", Kick::SixBeat),
    ("pull", Kick::Pull),
];

/// Reads every key of a set that the section has. Which keys it may have, its caller checks.
pub fn read_layer(section: &Section) -> Result<Layer> {
    Ok(Layer {
        name: section.text("name")?,
        repeats: section.count("repeats", 1, u64::from(u32::MAX))?,
        swim: section.quantity("swim")?,
        pool: section.read("pool", pool)?,
        pace: section.quantity("pace")?,
        stroke_length: section.quantity("stroke_length")?,
        rest: section.quantity("rest")?,
        send_off: section.quantity_or_none("send_off")?,
        rest_after: section.quantity("rest_after")?,
        rate: section.read("rate", |entry| rate_plan(section, entry))?,
        pairing: section.word("pairing", &PAIRINGS)?,
        kick: section.word("kick", &KICKS)?,
        three_on: section.word("three_on", &SIDES)?,
        catch_after_entry: section.read("catch_after_entry", |entry| {
            per_side(section, entry, |entry| entry.decimal(("0", "0.5", "0.3")))
        })?,
        right_entry: section.decimal("right_entry", ("0.35", "0.65", "0.5"))?,
        first_arm: section.word("first_arm", &SIDES)?,
        push_off: section.read("push_off", |entry| {
            time_between(entry, 0, 60, "a time from 0 to 60 s", "push_off = \"3 s\"")
        })?,
        glide: section.quantity("glide")?,
        walls: section.word(
            "walls",
            &[("through", Walls::Through), ("pause", Walls::Pause)],
        )?,
        cues: section.read("cues", |entry| cues(section, entry))?,
        breath: section.read("breath", |entry| breath(section, entry))?,
        fade: section.read("fade", |entry| fade(section, entry))?,
        lead: section.read("lead", |entry| lead(section, entry))?,
        say: section.text("say")?,
    })
}

fn pool(entry: &Entry) -> Result<Length> {
    let pool: Length = entry.quantity()?;
    match *pool.metres() >= exact(5) && *pool.metres() <= exact(1000) {
        true => Ok(pool),
        false => Err(entry
            .refuse(format!("found {pool}"))
            .accepted("a pool of 5 to 1000 m, in m or yd")
            .example("pool = \"25 m\"")),
    }
}

fn time_between(
    entry: &Entry,
    least_s: i64,
    most_s: i64,
    accepted: &str,
    example: &str,
) -> Result<Time> {
    let time: Time = entry.quantity()?;
    match *time.s() >= exact(least_s) && *time.s() <= exact(most_s) {
        true => Ok(time),
        false => Err(entry
            .refuse(format!("found {time}"))
            .accepted(accepted)
            .example(example)),
    }
}

/// `"54 spm"`, or a table of from, to and by.
fn rate_plan<'a>(section: &Section<'a>, entry: &Entry<'a>) -> Result<WishedRate> {
    const EXAMPLE: &str = "rate = { from = \"52 spm\", to = \"60 spm\", by = \"repeat\" }";
    if !matches!(entry.value, DeValue::Table(_)) {
        return entry.quantity::<RateWish>().map(RatePlan::Steady);
    }
    let table = section.section_of(entry, EXAMPLE)?;
    table.only(&["from", "to", "by"])?;
    let from = table.quantity("from")?;
    let to = table.quantity("to")?;
    let by = table.word("by", &[("repeat", RampBy::Repeat), ("time", RampBy::Time)])?;
    let (Some(from), Some(to), Some(by)) = (from, to, by) else {
        return Err(entry
            .refuse("a rate table needs from, to and by")
            .accepted("by = \"repeat\" (from repeat to repeat) or by = \"time\" (inside each swim)")
            .example(EXAMPLE));
    };
    Ok(RatePlan::Ramp {
        from: from.value,
        to: to.value,
        by: by.value,
    })
}

/// One value for both sides, or a table of left and right.
pub fn per_side<'a, T: Clone>(
    section: &Section<'a>,
    entry: &Entry<'a>,
    read: impl Fn(&Entry<'a>) -> Result<T>,
) -> Result<PerSide<T>> {
    if !matches!(entry.value, DeValue::Table(_)) {
        let value = read(entry)?;
        return Ok(PerSide {
            left: value.clone(),
            right: value,
        });
    }
    let table = section.section_of(entry, "")?;
    table.only(&["left", "right"])?;
    match (table.entry("left"), table.entry("right")) {
        (Some(left), Some(right)) => Ok(PerSide {
            left: read(&left)?,
            right: read(&right)?,
        }),
        _ => Err(entry
            .refuse("a table of sides needs left and right")
            .accepted("one value for both, or { left = ..., right = ... }")
            .example("catch_after_entry = { left = 0.32, right = 0.30 }")),
    }
}

fn cues<'a>(section: &Section<'a>, entry: &Entry<'a>) -> Result<Cues> {
    let words = CUE_KINDS.map(|kind| (kind.word(), kind));
    let items = entry.items(
        section,
        "a list of any of arm, kick, fill, breath, wall",
        "cues = [\"arm\", \"kick\"]",
    )?;
    let mut cues = Cues::NONE;
    for item in items {
        let kind: Kind = item
            .word(&words)
            .map_err(|error| error.example("cues = [\"arm\", \"kick\"]"))?;
        cues = cues.with(kind);
    }
    Ok(cues)
}

fn breath<'a>(section: &Section<'a>, entry: &Entry<'a>) -> Result<Option<Breath>> {
    const EXAMPLE: &str = "breath = { every = 3, side = \"right\" }";
    if entry.is_none_word() {
        return Ok(None);
    }
    let table = section.section_of(entry, EXAMPLE)?;
    table.only(&["every", "side"])?;
    let Some(every) = table.entry("every") else {
        return Err(entry
            .refuse("a breath table needs every: the strokes from one breath to the next")
            .accepted("every = 2 to 5")
            .example(EXAMPLE));
    };
    const ACCEPTED: &str = "2 to 5, and at most 6 s at the lowest rate of the set";
    let strokes =
        (every.count(1, u64::MAX)).map_err(|error| error.accepted(ACCEPTED).example(EXAMPLE))?;
    let longer = || {
        every
            .refuse(format!(
                "found {strokes}, a breath every {strokes} strokes; {}",
                crate::model::resolve::BREATH_CAUTION
            ))
            .accepted(ACCEPTED)
            .example(EXAMPLE)
    };
    let every = match strokes {
        2..=5 => strokes as u32,
        1 => {
            return Err(every
                .refuse("found 1; a breath cue every stroke cannot be followed")
                .accepted(ACCEPTED)
                .example(EXAMPLE));
        }
        _ => return Err(longer()),
    };
    let side = table
        .word("side", &SIDES)?
        .map_or(Side::Right, |said| said.value);
    Ok(Some(Breath { every, side }))
}

fn fade<'a>(section: &Section<'a>, entry: &Entry<'a>) -> Result<Option<Fade>> {
    const EXAMPLE: &str = "fade = { on = 8, off = 4, per = \"cycle\" }";
    if entry.is_none_word() {
        return Ok(None);
    }
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
    let per = table.word(
        "per",
        &[("cycle", FadePer::Cycle), ("length", FadePer::Length)],
    )?;
    Ok(Some(Fade {
        on: on.value as u32,
        off: off.value as u32,
        per: per.map_or(FadePer::Cycle, |said| said.value),
    }))
}

/// `"40 ms"`, or a table of arm and kick; what a table does not name stays on its moment.
fn lead<'a>(section: &Section<'a>, entry: &Entry<'a>) -> Result<Lead> {
    const EXAMPLE: &str = "lead = { arm = \"0 ms\", kick = \"40 ms\" }";
    let one = |entry: &Entry| -> Result<Time> {
        let time: Time = entry
            .quantity()
            .map_err(|error: Error| error.example("lead = \"40 ms\""))?;
        let limit: Exact = fraction(300, 1000);
        match *time.s() <= limit && *time.s() >= -limit {
            true => Ok(time),
            false => Err(entry
                .refuse(format!("found {}", time.in_ms()))
                .accepted("-300 ms (later) to 300 ms (earlier)")
                .example("lead = \"40 ms\"")),
        }
    };
    match entry.value {
        DeValue::Table(_) => {
            let table = section.section_of(entry, EXAMPLE)?;
            table.only(&["arm", "kick"])?;
            let key = |key| -> Result<Time> {
                let said: Option<Said<Time>> = table.read(key, one)?;
                Ok(said.map_or(Time::whole_s(0), |said| said.value))
            };
            Ok(Lead {
                arm: key("arm")?,
                kick: key("kick")?,
                breath: Time::whole_s(0),
            })
        }
        DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_) => Ok(Lead::all(one(entry)?)),
        other => Err(entry
            .refuse(format!("found {}", shown(other)))
            .accepted("a time such as 40 ms, or a table of arm and kick")
            .example(EXAMPLE)),
    }
}
