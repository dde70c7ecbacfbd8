//! The command line as a whole: which commands there are.

/// Sound cues that put a freestyle swimmer's kick on the right moment of the arm stroke.
#[derive(Debug, clap::Parser)]
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

#[derive(Debug, clap::Subcommand)]
pub enum Command {
    /// Write the tracks of a session for a player
    Export(super::export::ExportArgs),
    /// Show what a session will do, as a table and a picture of one cycle
    Show(super::show::ShowArgs),
    /// Cues on deck, changed while they sound
    Live(super::live::LiveArgs),
    /// Play a track or a session through the speakers
    Play(super::play::PlayArgs),
    /// Check a track, or a folder of them, against its session
    Check(super::check::CheckArgs),
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
    Swimmer(super::swimmer::SwimmerArgs),
    /// Try both pairings fairly: set a trial out, and read what came of it
    Trial(super::trial::TrialArgs),
    /// Weeks: raise the rate, keep the stroke, take the cues away
    Plan(super::plan::PlanArgs),
    /// List what comes with the program
    List(super::list::ListArgs),
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
