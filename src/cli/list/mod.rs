//! `list`: presets and sounds that come with the program.

use serde_json::json;
use std::fmt::Write as _;

use crate::cli::shared::load::bank;
use crate::cli::shared::out;
use crate::error::{Error, Result};
use crate::files::{PRESETS, SWIMMERS, parse_session, parse_swimmer, voices};
use crate::model::cue::{Side, Voice};
use crate::model::wishes::Said;

#[derive(Debug, clap::Args)]
pub struct ListArgs {
    /// What to list
    pub what: ListWhat,
    /// Play the sounds, one after another, on the usual device (list sounds)
    #[arg(long, conflicts_with = "json")]
    pub play: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum ListWhat {
    /// Sessions and invented swimmers
    Presets,
    /// The sounds of cues and signals
    Sounds,
    /// The sound devices that `live` and `play` can use
    Devices,
}

/// Runs `list`.
pub fn run(args: &ListArgs) -> Result<()> {
    match args.what {
        _ if args.play && !matches!(args.what, ListWhat::Sounds) => {
            Err(Error::input("only sounds are played")
                .at("--play")
                .accepted("list sounds")
                .example("cuelane list sounds --play"))
        }
        ListWhat::Presets => presets(args.json),
        ListWhat::Sounds if args.play => {
            sounds(false)?;
            super::play::sound(all_voices)
        }
        ListWhat::Sounds => sounds(args.json),
        ListWhat::Devices => devices(args.json),
    }
}

fn devices(as_json: bool) -> Result<()> {
    let devices = crate::cli::shared::silenced::while_asking(crate::live::devices)?;
    if as_json {
        let row = |device: &crate::live::Device| json!({ "name": device.name, "about": device.about, "default": device.is_usual });
        return out::json(&json!({
            "format": 1,
            "devices": devices.iter().map(row).collect::<Vec<_>>(),
        }));
    }
    let mut text = String::new();
    for device in &devices {
        let usual = if device.is_usual {
            "   (used by itself)"
        } else {
            ""
        };
        let _ = writeln!(text, "{}{usual}\n    {}", device.name, device.about);
    }
    if devices.is_empty() {
        text.push_str("No sound device was found.\n");
    }
    text.push_str("\nNext: cuelane live --stroke-rate \"54 spm\" --device NAME\n");
    out::result(&text)
}

/// From one voice to the next, s.
const APART_S: f64 = 0.8;

/// Every voice in its own ear, in the order of the list.
fn all_voices(rate_hz: u32) -> Vec<[f32; 2]> {
    let bank = bank(rate_hz);
    let apart = (APART_S * f64::from(rate_hz)) as usize;
    let mut sound = vec![[0.0; 2]; apart * (Voice::ALL.len() + 1)];
    for (at, voice) in Voice::ALL.into_iter().enumerate() {
        let start = apart / 2 + at * apart;
        for (frame, sample) in sound[start..].iter_mut().zip(bank.voice(voice)) {
            let sample = sample * PLAYED_LEVEL;
            match voice.side {
                Some(Side::Left) => frame[0] += sample,
                Some(Side::Right) => frame[1] += sample,
                None => *frame = frame.map(|ear| ear + sample),
            }
        }
    }
    sound
}

/// Well below full scale: nobody knows how loud the speakers are.
const PLAYED_LEVEL: f32 = 0.4;

fn presets(as_json: bool) -> Result<()> {
    let mut rows = Vec::new();
    for preset in PRESETS {
        let session = parse_session(preset.name, preset.text)?;
        let text = |said: Option<Said<String>>| said.map(|said| said.value).unwrap_or_default();
        rows.push((preset.name, text(session.title), text(session.for_whom)));
    }
    let mut swimmers = Vec::new();
    for preset in SWIMMERS {
        let swimmer = parse_swimmer(preset.name, preset.text)?;
        let rate = swimmer
            .rate
            .map(|rate| rate.both_ways())
            .unwrap_or_default();
        swimmers.push((preset.name, swimmer.name, rate));
    }
    if as_json {
        let row = |(name, title, for_whom): &(&str, String, String)| json!({ "name": name, "title": title, "for": for_whom });
        let swimmer = |(name, title, rate): &(&str, String, String)| json!({ "name": name, "swimmer": title, "rate": rate });
        return out::json(&json!({
            "format": 1,
            "presets": rows.iter().map(row).collect::<Vec<_>>(),
            "swimmers": swimmers.iter().map(swimmer).collect::<Vec<_>>(),
        }));
    }
    let mut text = String::from("Sessions, in the order in which a swimmer meets them:\n");
    for (name, _, for_whom) in rows {
        let _ = writeln!(text, "\n  {name}");
        text.push_str(&textwrap::fill(
            &for_whom,
            textwrap::Options::new(78)
                .initial_indent("    for ")
                .subsequent_indent("    "),
        ));
    }
    text.push_str("\n\nInvented swimmers, to try them with:\n");
    for (name, swimmer, rate) in swimmers {
        let _ = write!(text, "\n  {name:<16} {swimmer}, {rate}");
    }
    text.push_str("\n\nNext: cuelane show deck-march --swimmer adult-learner\n");
    out::result(&text)
}

fn sounds(as_json: bool) -> Result<()> {
    let recipes = voices::shipped();
    let rows = Voice::ALL.into_iter().zip(&recipes);
    let ear = |voice: Voice| match voice.side {
        Some(Side::Left) => "left ear",
        Some(Side::Right) => "right ear",
        None => "both ears",
    };
    if as_json {
        let rows: Vec<_> = rows
            .map(|(voice, recipe)| {
                json!({
                    "name": voice.to_string(),
                    "ear": ear(voice),
                    "about": recipe.about,
                    "length_ms": recipe.length_ms,
                })
            })
            .collect();
        return out::json(&json!({ "format": 1, "sounds": rows }));
    }
    let mut text = String::new();
    for (voice, recipe) in rows {
        let name = format!("{:<13}{:<10} ", voice.to_string(), ear(voice));
        let indent = " ".repeat(name.len());
        let options = textwrap::Options::new(79)
            .initial_indent(&name)
            .subsequent_indent(&indent);
        text.push_str(&textwrap::fill(&recipe.about, options));
        text.push('\n');
    }
    out::result(&text)
}
