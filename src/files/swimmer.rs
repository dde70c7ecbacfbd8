//! Swimmer files: read, and written once by `swimmer new`.

use super::document::{Section, SourceText};
use super::keys::{names_on, read_measured, read_player, read_session_keys, read_wishes};
use super::presets::{SWIMMERS, preset_swimmer};
use super::{STANDARD_INPUT, name_of, read_text};
use std::path::Path;

use crate::error::{Error, Result};
use crate::model::keys::Level;
use crate::model::session::RatePlan;
use crate::model::swimmer::{Player, Swimmer};
use crate::model::track_format::Format;
use crate::model::wishes::{Said, Wishes};
use crate::units::RateWish;

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
        let example = if Path::new(&meant).is_file() {
            meant
        } else {
            "alex.toml".into()
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
    let source = SourceText::new(file, text.to_string());
    let document = source.parse()?;
    let top = Section::top(&source, &document);
    let own = names_on(Level::Swimmer);
    top.only(&[&["format"], &own[..], &["player", "measured"]].concat())?;
    top.format_1()?;
    let wishes = read_wishes(&top)?;
    let rate = match wishes.rate.as_ref() {
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
    wishes.check_rivals()?;
    Ok(Swimmer {
        source: file.to_string(),
        name: wishes
            .name
            .as_ref()
            .map_or_else(|| "the swimmer".into(), |said| said.value.clone()),
        // A swimmer's name is not the name of every set.
        wishes: Wishes {
            name: None,
            ..wishes
        },
        rate,
        sounds: read_session_keys(&top)?.sounds,
        player: match top.section("player", "[player]")? {
            Some(section) => {
                section.only(&names_on(Level::Player))?;
                read_player(&section)?
            }
            None => Player::default(),
        },
        measured: match top.section("measured", "[measured]")? {
            Some(section) => {
                section.only(&names_on(Level::Measured))?;
                Some(read_measured(&section)?)
            }
            None => None,
        },
    })
}

/// What `swimmer new` writes down, each as the person said it and already known to parse.
#[derive(Debug, Clone)]
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
    /// Format of the player's files.
    pub format: Format,
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// A line that was said, or an open one as a comment; their remarks stand in one column.
fn line(key: &str, said: &Option<String>, example: &str, why: &str) -> String {
    let (sign, value) = match said {
        Some(said) => ("", quoted(said)),
        None => ("# ", quoted(example)),
    };
    format!(
        "{:<40}  # {why}\n",
        format!("{:<13} = {value}", format!("{sign}{key}"))
    )
}

/// The text of a new swimmer's file, commented so that it can be edited by hand.
///
/// # Errors
/// When a value does not hold; the message is that of the file itself.
pub fn new_swimmer(file: &str, new: &NewSwimmer) -> Result<String> {
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
        "\n[player]\n".to_string(),
        line(
            "format",
            &Some(new.format.word().into()),
            "",
            "what the player takes: \"wav\", \"flac\" or \"mp3\"",
        ),
    ]
    .concat();
    parse_swimmer(file, &text)?;
    Ok(text)
}
