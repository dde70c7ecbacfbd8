//! Arguments that several commands take.

use clap::builder::{PossibleValuesParser, TypedValueParser};

use crate::cli::shared::silenced::while_asking;
use crate::error::Result;
use crate::live::{Deck, Play, WantedDevice, look};
use crate::model::value::Word;

/// Which session, for whom, and what is changed for this once.
#[derive(Debug, clap::Args)]
pub struct SessionArgs {
    /// A preset's name, or the path of a .toml file (- is standard input)
    pub session: String,
    #[command(flatten)]
    pub wishes: SetFlags,
}

#[derive(Debug, Clone, Default, clap::Args)]
pub struct SetFlags {
    /// The swimmer's file, or the name of an invented swimmer
    #[arg(long, value_name = "FILE")]
    pub swimmer: Option<String>,
    /// Stroke rate in every set: "54 spm", "27 cpm", "+2 spm", "96 %"
    #[arg(long, value_name = "RATE", allow_hyphen_values = true)]
    pub stroke_rate: Option<String>,
    /// Pairing in every set: same-side or opposite-side
    #[arg(long, value_name = "PAIRING")]
    pub pairing: Option<String>,
    /// Kick in every set: two-beat, four-beat, six-beat or pull
    #[arg(long, value_name = "KICK")]
    pub kick: Option<String>,
}

/// Who speaks.
#[derive(Debug, Clone, clap::Args)]
pub struct SpeechArgs {
    /// Who speaks the coach's own words: auto (a speech program if one is installed), off (no
    /// speech at all), or a program's name or path
    #[arg(long, value_name = "NAME", default_value = "auto")]
    pub speech: String,
}

/// Reads a flag that takes one of a few words.
pub fn one_of<W: Word + Send + Sync>() -> impl TypedValueParser<Value = W> {
    let words = W::ALL.iter().map(|one| one.word());
    PossibleValuesParser::new(words).map(|found| {
        let found = W::ALL.iter().find(|one| one.word() == found);
        *found.expect("the parser lets no other word through")
    })
}

/// Where it sounds.
#[derive(Debug, clap::Args)]
pub struct DeviceArgs {
    /// The sound device: a name of `cuelane list devices` [default: the system's own choice]
    #[arg(long, value_name = "NAME", conflicts_with = "silent")]
    pub device: Option<String>,
    /// Frames a call of the device [default: live: small, larger after underruns; play: 4096]
    #[arg(long, value_name = "FRAMES", value_parser = clap::value_parser!(u32).range(16..=16384))]
    pub buffer: Option<u32>,
    /// Run without sound, by the clock
    #[arg(long)]
    pub silent: bool,
}

impl DeviceArgs {
    /// Starts to play, in buffers of so many frames where the person names no other.
    ///
    /// # Errors
    /// When the device does not open.
    pub fn start(&self, player: Box<dyn Play>, frames: Option<u32>) -> Result<Deck> {
        let wanted = WantedDevice {
            silent: self.silent,
            device: self.device.clone(),
            buffer_frames: self.buffer.or(frames),
        };
        while_asking(|| Deck::start(player, wanted))
    }

    /// The audio rate at which it will play; a wished one where the device has it.
    ///
    /// # Errors
    /// When there is no device, or it plays nothing that can be made.
    pub fn rate_hz(&self, wished: Option<u32>) -> Result<u32> {
        if self.silent {
            return Ok(wished.unwrap_or(44_100));
        }
        while_asking(|| look(self.device.as_deref(), wished)).map(|choice| choice.rate_hz)
    }
}
