//! `list`: presets, sounds and devices that can be used.

mod view;

use crate::cli::shared::load::bank;
use crate::cli::shared::report::tell;
use crate::cli::shared::silenced::while_asking;
use crate::error::{Error, Result};
use crate::live::devices;
use crate::model::cue::{Side, Voice};
use view::{DeviceList, PresetList, SoundList};

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
    if args.play && !matches!(args.what, ListWhat::Sounds) {
        return Err(Error::input("only sounds are played")
            .at("--play")
            .accepted("list sounds")
            .example("cuelane list sounds --play"));
    }
    match args.what {
        ListWhat::Presets => tell(&PresetList::new()?, args.json)?,
        ListWhat::Sounds => tell(&SoundList::new(), args.json)?,
        ListWhat::Devices => tell(&DeviceList::new(while_asking(devices)?), args.json)?,
    }
    if args.play {
        super::play::sound(all_voices)?;
    }
    Ok(())
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
            match voice.side {
                Some(Side::Left) => frame[0] += sample,
                Some(Side::Right) => frame[1] += sample,
                None => *frame = frame.map(|ear| ear + sample),
            }
        }
    }
    sound
}
