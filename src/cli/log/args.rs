//! What `log add` takes.

use super::import::ImportArgs;
use crate::cli::shared::swum::WaterArgs;

#[derive(Debug, Clone, clap::Args)]
pub struct AddArgs {
    /// The set: 4x50, 8x25yd, 400m
    pub set: Option<String>,
    /// A time for each repeat: 48.1, 1:02.4, or - for none
    #[arg(value_name = "TIME", allow_negative_numbers = true)]
    pub times: Vec<String>,
    /// The log; made if it is not there
    #[arg(long, value_name = "FILE", default_value = "log.csv")]
    pub log: String,
    /// Strokes of both arms: 44, 22/length, or one for each repeat: 44,45,44,46
    #[arg(long)]
    pub strokes: Option<String>,
    /// Did the kick follow the cue, by video or a coach's eye: yes, part, no; as you felt it:
    /// felt-yes, felt-part, felt-no; or one for each repeat
    #[arg(long)]
    pub kept: Option<String>,
    /// Effort, 0 to 10; or one for each repeat
    #[arg(long)]
    pub effort: Option<String>,
    /// The rate that was cued: "54 spm"
    #[arg(long, value_name = "RATE")]
    pub rate_cued: Option<String>,
    /// The pairing that was cued
    #[arg(long)]
    pub pairing: Option<String>,
    /// The kick that was cued
    #[arg(long)]
    pub kick: Option<String>,
    /// The day, as 2026-03-14 [default: today]
    #[arg(long)]
    pub date: Option<String>,
    /// The session's name
    #[arg(long)]
    pub session: Option<String>,
    /// The set's name
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
    /// The trial it belongs to
    #[arg(long)]
    pub trial: Option<String>,
    /// Anything else
    #[arg(long)]
    pub note: Option<String>,
    /// The plan it belongs to: rows without a cued rate are matched to its day by their date
    #[arg(long, value_name = "FILE", conflicts_with = "from")]
    pub plan: Option<String>,
    /// Take in a filled-in log-to-fill.csv, or any file with a log's columns
    #[arg(long, value_name = "FILE", conflicts_with_all = ["set", "times", "strokes", "kept", "effort", "import"])]
    pub from: Option<String>,
    #[command(flatten)]
    pub import: ImportArgs,
    /// Where the log says something else of a swim that is taken in, put the new in its place
    #[arg(long)]
    pub replace: bool,
    #[command(flatten)]
    pub water: WaterArgs,
}
