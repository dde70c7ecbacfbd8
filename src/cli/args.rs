//! The command line: clap's types and the help texts. No logic.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};

/// Sound cues that put a freestyle swimmer's kick on the right moment of the arm stroke.
#[derive(Debug, Parser)]
#[command(
    name = "cuelane",
    version,
    about = "Sound cues that put a freestyle swimmer's kick on the right moment of the arm stroke",
    max_term_width = 80,
    after_help = "Examples:\n  cuelane list presets\n  cuelane show try-both-pairings --swimmer adult-learner\n  \
                  cuelane export evening.toml --swimmer alex.toml --out tracks\n\n\
                  A session is a preset's name or the path of a .toml file."
)]
pub struct Args {
    #[command(subcommand)]
    pub command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write the tracks of a session for a player
    Export(ExportArgs),
    /// Show what a session will do, as a table and a picture of one cycle
    Show(ShowArgs),
    /// Cues on deck, changed while they sound
    Live(super::live::LiveArgs),
    /// Play a track or a session through the speakers
    Play(super::play::PlayArgs),
    /// Check a track, or a folder of them, against its session
    Check(CheckArgs),
    /// Write the page on which a film is marked, for a browser
    Mark(super::mark::MarkArgs),
    /// Stroke timing from the marks of a film
    Timing(super::timing::TimingArgs),
    /// Measure a stroke rate by tapping
    Tap(super::tap::TapArgs),
    /// Keep a log of swims: add, list, chart
    Log(super::log::LogArgs),
    /// Read a rate step test: the rate of best speed
    Steps(super::steps::StepsArgs),
    /// Critical speed from all-out swims
    Css(super::css::CssArgs),
    /// Make or show a swimmer's file
    Swimmer(SwimmerArgs),
    /// Try both pairings fairly: set a trial out, and read what came of it
    Trial(super::trial::TrialArgs),
    /// Weeks: raise the rate, keep the stroke, take the cues away
    Plan(super::plan::PlanArgs),
    /// List what comes with the program
    List(ListArgs),
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print a manual page
    Man {
        /// A command's page, such as `export` or `swimmer new`; without it, the program's
        page: Vec<String>,
    },
}

/// Which session, for whom, and what is changed for this once.
#[derive(Debug, ClapArgs)]
pub struct SessionArgs {
    /// A preset's name, or the path of a .toml file (- is standard input)
    pub session: String,
    #[command(flatten)]
    pub wishes: Wishes,
}

#[derive(Debug, Clone, ClapArgs)]
pub struct Wishes {
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
#[derive(Debug, Clone, ClapArgs)]
pub struct SpeechArgs {
    /// Who speaks the coach's own words: auto (a speech program if one is installed), off (no
    /// speech at all), or a program's name or path
    #[arg(long, value_name = "NAME", default_value = "auto")]
    pub speech: String,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum ChannelsArg {
    Stereo,
    Mono,
    Left,
    Right,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum FormatArg {
    Wav,
    Flac,
    Mp3,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum FilesArg {
    PerSet,
    PerRepeat,
    One,
}

#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  cuelane export hold-the-rate --swimmer alex.toml --out tracks\n  \
                        cuelane export evening.toml --stroke-rate \"54 spm\" --out tracks --files one --bits 24"
)]
pub struct ExportArgs {
    #[command(flatten)]
    pub session: SessionArgs,
    #[command(flatten)]
    pub voice: SpeechArgs,
    /// Folder for the tracks; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Format of the files [default: the player's, or wav]
    #[arg(long)]
    pub format: Option<FormatArg>,
    /// Audio rate in Hz [default: the player's, or 44100]
    #[arg(long, value_name = "HZ", value_parser = ["44100", "48000"])]
    pub sample_rate: Option<String>,
    /// Bits a sample [default: the player's, or 16]
    #[arg(long, value_parser = ["16", "24"])]
    pub bits: Option<String>,
    /// Channels [default: the player's, or stereo]
    #[arg(long)]
    pub channels: Option<ChannelsArg>,
    /// Exchange the ears, for a player that is worn or wired the other way round
    #[arg(long)]
    pub swap: bool,
    /// How the session is divided [default: the player's, or per-set]
    #[arg(long)]
    pub files: Option<FilesArg>,
    /// Replace tracks that are there
    #[arg(long)]
    pub force: bool,
    /// Do not measure loudness and true peak, which takes longer than writing
    #[arg(long)]
    pub no_loudness: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
    /// Print nothing but errors
    #[arg(long)]
    pub quiet: bool,
}

#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  cuelane show six-beat --swimmer alex.toml\n  \
                        cuelane show evening.toml --stroke-rate \"54 spm\" --events | head"
)]
pub struct ShowArgs {
    #[command(flatten)]
    pub session: SessionArgs,
    #[command(flatten)]
    pub voice: SpeechArgs,
    /// Print every sounding event as CSV
    #[arg(long, conflicts_with_all = ["json", "explain", "detail"])]
    pub events: bool,
    /// Audio rate in Hz on which events fall [default: the player's, or 44100]
    #[arg(long, value_name = "HZ", value_parser = clap::value_parser!(u32).range(8000..=192_000))]
    pub sample_rate: Option<u32>,
    /// Say where each value came from
    #[arg(long)]
    pub explain: bool,
    /// Add each repeat's times, and what is left out of the usual view
    #[arg(long)]
    pub detail: bool,
    /// Write a short sample of the session as WAV: opening, an announcement, counts and four
    /// cycles of each set
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,
    /// Write a poster of the session as SVG: A4, black and white; a long session takes several
    /// sheets, FILE-2, FILE-3, ...
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long)]
    pub force: bool,
    /// Print the result as JSON
    #[arg(long, conflicts_with_all = ["explain", "detail"])]
    pub json: bool,
}

#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  cuelane check tracks hold-the-rate --swimmer alex.toml\n  \
                        cuelane check tracks/02-hold-3x100m.wav hold-the-rate --swimmer alex.toml"
)]
pub struct CheckArgs {
    /// A track, or a folder of tracks
    pub track: PathBuf,
    #[command(flatten)]
    pub session: SessionArgs,
    #[command(flatten)]
    pub voice: SpeechArgs,
    /// How the session was divided [default: told from the names]
    #[arg(long)]
    pub files: Option<FilesArg>,
    /// Which file of the session a track is, from 1 [default: told from its name]
    #[arg(long, value_name = "N")]
    pub part: Option<usize>,
    /// The ears were exchanged
    #[arg(long)]
    pub swap: bool,
    /// The audio rate the track must have, in Hz [default: whatever it has]
    #[arg(long, value_name = "HZ")]
    pub sample_rate: Option<u32>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, ClapArgs)]
pub struct SwimmerArgs {
    #[command(subcommand)]
    pub command: SwimmerCommand,
}

#[derive(Debug, Subcommand)]
pub enum SwimmerCommand {
    /// Write a swimmer's file; asks for what is not given where there is a terminal
    #[command(
        after_help = "Example:\n  cuelane swimmer new alex.toml --name Alex --pool \"25 m\" \
                            --rate \"54 spm\" --pace \"2:05 / 100 m\""
    )]
    New(NewSwimmerArgs),
    /// Show a swimmer's values, and what was measured beside what is cued
    Show {
        /// The swimmer's file, or the name of an invented swimmer
        file: String,
        /// Print the result as JSON
        #[arg(long)]
        json: bool,
    },
}

#[derive(Debug, ClapArgs)]
pub struct NewSwimmerArgs {
    /// The file to write
    pub file: PathBuf,
    /// The swimmer's name
    #[arg(long)]
    pub name: Option<String>,
    /// The pool: "25 m", "25 yd", "33 1/3 m"
    #[arg(long)]
    pub pool: Option<String>,
    /// The swimmer's own stroke rate: "54 spm", "27 cpm", "1.1 s/stroke"
    #[arg(long)]
    pub rate: Option<String>,
    /// A clock pace: "2:05 / 100 m"
    #[arg(long, conflicts_with = "stroke_length")]
    pub pace: Option<String>,
    /// Metres swum a stroke, push-off left out: "0.95 m/stroke"
    #[arg(long)]
    pub stroke_length: Option<String>,
    /// same-side or opposite-side
    #[arg(long)]
    pub pairing: Option<String>,
    /// two-beat, four-beat, six-beat or pull
    #[arg(long)]
    pub kick: Option<String>,
    /// Replace a file that is there
    #[arg(long)]
    pub force: bool,
}

#[derive(Debug, ClapArgs)]
pub struct ListArgs {
    /// What to list
    pub what: What,
    /// Play the sounds, one after another, on the usual device (list sounds)
    #[arg(long, conflicts_with = "json")]
    pub play: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum What {
    /// Sessions and invented swimmers
    Presets,
    /// The sounds of cues and signals
    Sounds,
    /// The sound devices that `live` and `play` can use
    Devices,
}
