//! ListWhat `list` lists, as JSON and in words.

use serde::Serialize;

use crate::cli::shared::report::Report;
use crate::cli::shared::words::Page;
use crate::error::Result;
use crate::files::{PRESETS, SWIMMERS, parse_session, parse_swimmer, voices};
use crate::live::Device;
use crate::model::cue::{Side, Voice};
use crate::model::voice::Recipe;
use crate::model::wishes::Said;

/// Sessions and invented swimmers that come with the program.
#[derive(Debug, Serialize)]
pub struct PresetList {
    presets: Vec<PresetRow>,
    swimmers: Vec<SwimmerRow>,
}

#[derive(Debug, Serialize)]
struct PresetRow {
    name: &'static str,
    title: String,
    #[serde(rename = "for")]
    for_whom: String,
}

#[derive(Debug, Serialize)]
struct SwimmerRow {
    name: &'static str,
    swimmer: String,
    rate: String,
}

impl PresetList {
    /// All of them.
    ///
    /// # Errors
    /// When one does not hold.
    pub fn new() -> Result<Self> {
        let text = |said: Option<Said<String>>| said.map(|said| said.value).unwrap_or_default();
        let presets = PRESETS.iter().map(|preset| {
            let session = parse_session(preset.name, preset.text)?;
            Ok(PresetRow {
                name: preset.name,
                title: text(session.title),
                for_whom: text(session.for_whom),
            })
        });
        let swimmers = SWIMMERS.iter().map(|preset| {
            let swimmer = parse_swimmer(preset.name, preset.text)?;
            let rate = swimmer.rate.map(|rate| rate.both_ways());
            Ok(SwimmerRow {
                name: preset.name,
                swimmer: swimmer.name,
                rate: rate.unwrap_or_default(),
            })
        });
        let (presets, swimmers) = (
            presets.collect::<Result<_>>()?,
            swimmers.collect::<Result<_>>()?,
        );
        Ok(Self { presets, swimmers })
    }
}

impl Report for PresetList {
    fn words(&self, to: &mut Page) {
        to.line("Sessions, in the order in which a swimmer meets them:\n");
        for preset in &self.presets {
            to.line(format_args!("  {}", preset.name));
            let options = textwrap::Options::new(78).initial_indent("    for ");
            let options = options.subsequent_indent("    ");
            to.line(textwrap::fill(&preset.for_whom, options));
        }
        to.line("\nInvented swimmers, to try them with:\n");
        for row in &self.swimmers {
            to.row(17, row.name, format_args!("{}, {}", row.swimmer, row.rate));
        }
        to.line("\nNext: cuelane show deck-march --swimmer adult-learner");
    }
}

/// The sounds of cues and signals.
#[derive(Debug, Serialize)]
pub struct SoundList {
    sounds: Vec<Sound>,
}

#[derive(Debug, Serialize)]
struct Sound {
    name: String,
    ear: &'static str,
    about: String,
    length_ms: f64,
}

impl SoundList {
    /// All of them.
    pub fn new() -> Self {
        let recipes = Voice::ALL.into_iter().zip(voices::shipped());
        let sound = |(voice, recipe): (Voice, Recipe)| Sound {
            name: voice.to_string(),
            ear: match voice.side {
                Some(Side::Left) => "left ear",
                Some(Side::Right) => "right ear",
                None => "both ears",
            },
            about: recipe.about,
            length_ms: recipe.length_ms,
        };
        Self {
            sounds: recipes.map(sound).collect(),
        }
    }
}

impl Report for SoundList {
    fn words(&self, to: &mut Page) {
        for sound in &self.sounds {
            let name = format!("{:<13}{:<10} ", sound.name, sound.ear);
            to.hang(&name, &" ".repeat(name.len()), &sound.about);
        }
    }
}

/// The sound devices that `live` and `play` can use.
#[derive(Debug, Serialize)]
pub struct DeviceList {
    devices: Vec<DeviceRow>,
}

#[derive(Debug, Serialize)]
struct DeviceRow {
    name: String,
    about: String,
    #[serde(rename = "default")]
    is_usual: bool,
}

impl DeviceList {
    /// ListWhat the system has.
    pub fn new(devices: Vec<Device>) -> Self {
        let row = |device: Device| DeviceRow {
            name: device.name,
            about: device.about,
            is_usual: device.is_usual,
        };
        Self {
            devices: devices.into_iter().map(row).collect(),
        }
    }
}

impl Report for DeviceList {
    fn words(&self, to: &mut Page) {
        for device in &self.devices {
            let usual = "   (used by itself)";
            let usual = if device.is_usual { usual } else { "" };
            to.line(format_args!("{}{usual}\n    {}", device.name, device.about));
        }
        if self.devices.is_empty() {
            to.line("No sound device was found.");
        }
        to.line("\nNext: cuelane live --stroke-rate \"54 spm\" --device NAME");
    }
}
