//! Swimmer files: read, and written once by `swimmer new`.

use super::doc::{Section, Source};
use super::entry::Entry;
use super::keys::{per_side, read_layer};
use super::presets::{SWIMMERS, preset_swimmer};
use super::{STANDARD_INPUT, name_of, read_text};
use std::path::Path;

use crate::error::{Error, Result};
use crate::model::cue::PerSide;
use crate::model::layer::Said;
use crate::model::session::RatePlan;
use crate::model::swimmer::{Channels, Division, Format, Measured, Player, Swimmer};
use crate::units::{Exact, Rate, RateWish};

/// The keys of a swimmer's file.
const KEYS: [&str; 19] = [
    "format",
    "name",
    "pool",
    "rate",
    "pace",
    "stroke_length",
    "pairing",
    "kick",
    "three_on",
    "catch_after_entry",
    "right_entry",
    "first_arm",
    "breath",
    "push_off",
    "glide",
    "lead",
    "sounds",
    "player",
    "measured",
];

const PLAYER_KEYS: [&str; 8] = [
    "format",
    "sample_rate_hz",
    "bits",
    "channels",
    "swapped",
    "files",
    "largest_mb",
    "name_length",
];

const MEASURED_KEYS: [&str; 9] = [
    "date",
    "rate",
    "rate_interval",
    "catch_after_entry",
    "catch_after_entry_interval",
    "right_entry",
    "right_entry_interval",
    "pairing",
    "kick",
];

/// The ways of dividing a track, by their words.
pub const DIVISIONS: [(&str, Division); 3] = [
    ("per-set", Division::PerSet),
    ("per-repeat", Division::PerRepeat),
    ("one", Division::One),
];

/// Reads a swimmer's file; `-` is standard input, a bare name one of the invented swimmers.
///
/// # Errors
/// When it cannot be read or does not hold.
pub fn read_swimmer(file: &str) -> Result<Swimmer> {
    let is_path = file == "-" || file.contains(['/', '\\']) || file.ends_with(".toml");
    if let Some(preset) = preset_swimmer(file).filter(|_| !is_path) {
        return parse_swimmer(file, preset.text);
    }
    let file = name_of(file);
    if file != STANDARD_INPUT && !Path::new(file).exists() {
        let invented: Vec<&str> = SWIMMERS.iter().map(|preset| preset.name).collect();
        let meant = format!("{file}.toml");
        let example = match Path::new(&meant).is_file() {
            true => meant,
            false => "alex.toml".into(),
        };
        return Err(Error::input("cannot be read: there is no such file")
            .at(file)
            .accepted(format!(
                "the path of a swimmer's file, or {}",
                invented.join(", ")
            ))
            .example(format!("--swimmer {example}")));
    }
    parse_swimmer(file, &read_text(file)?)
}

/// Parses a swimmer's text; `file` is the name for messages.
///
/// # Errors
/// When the text does not hold.
pub fn parse_swimmer(file: &str, text: &str) -> Result<Swimmer> {
    let source = Source::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    top.only(&KEYS)?;
    top.format_1()?;
    let layer = read_layer(&top)?;
    let rate = match layer.rate.as_ref() {
        None => None,
        Some(Said {
            value: RatePlan::Steady(RateWish::Absolute(rate)),
            ..
        }) => Some(rate.clone()),
        Some(Said { value, at }) => {
            return Err(Error::input(format!(
                "rate: found {value}; others refer to the swimmer's own rate"
            ))
            .at_place(at.as_ref())
            .accepted("one rate that is not relative")
            .example("rate = \"54 spm\""));
        }
    };
    layer.check_rivals()?;
    Ok(Swimmer {
        source: file.to_string(),
        name: layer
            .name
            .as_ref()
            .map_or_else(|| "the swimmer".into(), |said| said.value.clone()),
        // A swimmer's name is not the name of every set.
        layer: crate::model::layer::Layer {
            name: None,
            ..layer
        },
        rate,
        sounds: top.text("sounds")?,
        player: match top.section("player", "[player]")? {
            Some(section) => player(&section)?,
            None => Player::default(),
        },
        measured: match top.section("measured", "[measured]")? {
            Some(section) => Some(measured(&section)?),
            None => None,
        },
    })
}

fn value<T>(said: Option<Said<T>>) -> Option<T> {
    said.map(|said| said.value)
}

fn player(section: &Section) -> Result<Player> {
    section.only(&PLAYER_KEYS)?;
    let one_of = |key, accepted: &'static [u64]| {
        section.read(key, |entry: &Entry| {
            let two = || format!("{} or {}", accepted[0], accepted[1]);
            let refused = |error: Error| {
                error
                    .accepted(two())
                    .example(entry.example(&accepted[0].to_string()))
            };
            let found = entry.count(0, u64::MAX).map_err(refused)?;
            match accepted.contains(&found) {
                true => Ok(found as u32),
                false => Err(refused(entry.refuse(format!("found {found}")))),
            }
        })
    };
    Ok(Player {
        format: value(section.word("format", &Format::ALL.map(|one| (one.word(), one)))?),
        sample_rate_hz: value(one_of("sample_rate_hz", &[44_100, 48_000])?),
        bits: value(one_of("bits", &[16, 24])?).map(|bits| bits as u16),
        channels: value(section.word(
            "channels",
            &[
                ("stereo", Channels::Stereo),
                ("mono", Channels::Mono),
                ("left", Channels::Left),
                ("right", Channels::Right),
            ],
        )?),
        swapped: value(section.switch("swapped")?),
        files: value(section.word("files", &DIVISIONS)?),
        largest_mb: value(section.count("largest_mb", 1, 1_000_000)?),
        name_length: value(section.count("name_length", 14, 255)?).map(|n| n as usize),
    })
}

fn measured(section: &Section) -> Result<Measured> {
    section.only(&MEASURED_KEYS)?;
    let share = |entry: &Entry| entry.decimal(("0", "0.5", "0.3"));
    let entry_share = |entry: &Entry| entry.decimal(("0", "1", "0.5"));
    Ok(Measured {
        date: value(section.text("date")?),
        rate: value(section.quantity("rate")?),
        rate_interval: value(section.read("rate_interval", |entry| {
            interval(section, entry, |end| end.quantity::<Rate>())
        })?),
        catch_after_entry: value(
            section.read("catch_after_entry", |entry| per_side(section, entry, share))?,
        ),
        catch_after_entry_interval: value(section.read("catch_after_entry_interval", |entry| {
            per_side(section, entry, |side| {
                interval(section, side, |end| end.decimal(("-0.5", "1", "0.3")))
            })
        })?) as Option<PerSide<(Exact, Exact)>>,
        right_entry: value(section.read("right_entry", entry_share)?),
        right_entry_interval: value(section.read("right_entry_interval", |entry| {
            interval(section, entry, entry_share)
        })?),
        pairing: value(section.word(
            "pairing",
            &[
                ("same-side", "same-side"),
                ("opposite-side", "opposite-side"),
                ("undecided", "undecided"),
            ],
        )?)
        .map(Into::into),
        kick: value(section.word(
            "kick",
            &[
                ("two-beat", "two-beat"),
                ("four-beat", "four-beat"),
                ("six-beat", "six-beat"),
                ("pull", "pull"),
            ],
        )?)
        .map(Into::into),
    })
}

/// A list of two: the low end and the high end.
fn interval<'a, T>(
    section: &Section<'a>,
    entry: &Entry<'a>,
    read: impl Fn(&Entry<'a>) -> Result<T>,
) -> Result<(T, T)> {
    const ACCEPTED: &str = "a list of two: the low end and the high end";
    let ends = entry.items(section, ACCEPTED, &entry.example("[0.3, 0.4]"))?;
    match &ends[..] {
        [low, high] => Ok((read(low)?, read(high)?)),
        _ => Err(entry
            .refuse(format!("found {} values", ends.len()))
            .accepted(ACCEPTED)
            .example(entry.example("[0.3, 0.4]"))),
    }
}

/// What `swimmer new` writes down, each as the person said it and already known to parse.
#[derive(Debug, Clone, Default)]
pub struct NewSwimmer {
    /// Name.
    pub name: String,
    /// Pool.
    pub pool: Option<String>,
    /// Own rate.
    pub rate: Option<String>,
    /// Clock pace, or
    pub pace: Option<String>,
    /// distance per stroke.
    pub stroke_length: Option<String>,
    /// Pairing.
    pub pairing: Option<String>,
    /// Kick.
    pub kick: Option<String>,
}

/// The text of a new swimmer's file, commented so that it can be edited by hand.
///
/// # Errors
/// When a value does not hold; the message is that of the file itself.
pub fn new_swimmer(file: &str, new: &NewSwimmer) -> Result<String> {
    let quoted = |text: &str| toml::Value::from(text).to_string();
    // Said lines and open ones (in comments) have their remarks in one column.
    let line = |key: &str, said: &Option<String>, example: &str, why: &str| {
        let (sign, value) = match said {
            Some(said) => ("", quoted(said)),
            None => ("# ", quoted(example)),
        };
        format!(
            "{:<40}  # {why}\n",
            format!("{:<13} = {value}", format!("{sign}{key}"))
        )
    };
    let text = [
        "format        = 1\n".to_string(),
        format!("name          = {}\n", quoted(&new.name)),
        line(
            "pool",
            &new.pool,
            "25 m",
            "where you swim; or \"25 yd\", \"33 1/3 m\"",
        ),
        line(
            "rate",
            &new.rate,
            "54 spm",
            "your own stroke rate, both arms counted",
        ),
        line(
            "pace",
            &new.pace,
            "2:05 / 100 m",
            "by the clock; or stroke_length, not both",
        ),
        line(
            "stroke_length",
            &new.stroke_length,
            "0.95 m/stroke",
            "metres swum a stroke, push-off left out",
        ),
        line(
            "pairing",
            &new.pairing,
            "same-side",
            "or \"opposite-side\": try both",
        ),
        line(
            "kick",
            &new.kick,
            "two-beat",
            "or \"four-beat\", \"six-beat\", \"pull\"",
        ),
    ]
    .concat();
    parse_swimmer(file, &text)?;
    Ok(text)
}
