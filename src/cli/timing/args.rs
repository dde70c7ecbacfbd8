//! Arguments of `timing`.

use std::path::PathBuf;

use clap::Args as ClapArgs;

use crate::cli::shared::film::{WayArgs, WhereArgs};

#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  cuelane timing marks.csv --fps 60\n  \
                  cuelane timing marks.csv --fps 60 --swimmer alex.toml --save --chart cycle.svg\n  \
                  cuelane timing cued.csv --session evening.toml --swimmer alex.toml --sync 4.20\n  \
                  cuelane timing cued.csv --session evening.toml --swimmer alex.toml --film clip.mp4")]
pub struct TimingArgs {
    /// The marks: CSV with time or frame, event, and optionally pass (- is standard input)
    pub marks: String,
    /// The film's frames a second; needed for frame numbers and time code
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub fps: Option<String>,
    /// The swimmer's file
    #[arg(long, value_name = "FILE")]
    pub swimmer: Option<String>,
    /// Write what was measured into the swimmer's file; what is cued stays as it is
    #[arg(long, requires = "swimmer")]
    pub save: bool,
    /// Draw the cycle as a circle; with --session, how far hands and feet come behind their cues
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// A second marking of the same film: how exact is the marking itself?
    #[arg(long, value_name = "FILE")]
    pub again: Option<String>,
    /// The session that sounded: how far do hand and foot come behind the sound?
    #[arg(long, value_name = "FILE")]
    pub session: Option<String>,
    /// When one arm cue of that session is heard in the film
    #[arg(
        long,
        value_name = "TIME",
        requires = "session",
        conflicts_with = "film"
    )]
    pub sync: Option<String>,
    /// The film itself, or a WAV of its sound: the cues are found in it
    #[arg(long, value_name = "FILE", requires = "session")]
    pub film: Option<PathBuf>,
    #[command(flatten)]
    pub place: WhereArgs,
    #[command(flatten)]
    pub way: WayArgs,
    /// A log: whether the kick was kept is written into the swim's row
    #[arg(long, value_name = "FILE", requires = "session", requires = "row")]
    pub log: Option<String>,
    /// What names that row, such as "date=2026-10-04, set=Hold, repeat=3"
    #[arg(long, value_name = "NAMES", requires = "log")]
    pub row: Option<String>,
    /// Add scatter, steadiness, coordination and what the numbers rest on
    #[arg(long, conflicts_with = "json")]
    pub detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}
