//! `show`: what a session will do, before anyone swims it.

mod cycle;
mod files;
mod hearing;
mod says;
mod set;
mod view;

use std::io::{BufWriter, StdoutLock, Write};

use self::files::{FileArgs, written};
use crate::cli::shared::args::{SessionArgs, SpeechArgs};
use crate::cli::shared::load::{Sounds, load};
use crate::cli::shared::out;
use crate::cli::shared::report::tell;
use crate::error::Result;
use crate::export::{Job, TrackForm};
use crate::model::cue::Side;
use view::ShowReport;

#[derive(Debug, clap::Args)]
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
    #[command(flatten)]
    pub files: FileArgs,
    /// Print the result as JSON
    #[arg(long, conflicts_with_all = ["explain", "detail"])]
    pub json: bool,
}

/// Runs `show`.
pub fn run(args: &ShowArgs) -> Result<()> {
    let loaded = load(&args.session)?;
    let players = TrackForm::of(&loaded.player()).sample_rate_hz;
    let sounds = Sounds::new(&args.voice, &loaded.session)?;
    let job = sounds.outline(loaded.session, args.sample_rate.unwrap_or(players))?;
    for note in sounds.notes() {
        out::note(&format!("note: {note}"));
    }
    if args.files.wav.is_some() || args.files.svg.is_some() {
        return written(&args.files, &sounds, &job);
    }
    if args.events {
        return events(&job, out::stdout()?).map_err(|error| out::broken(&error));
    }
    let swimmer = loaded.swimmer.as_ref();
    let report = ShowReport::new(&job, swimmer, args.explain, args.detail);
    tell(&report, args.json)
}

/// Every sounding event as CSV.
fn events(job: &Job, out: StdoutLock) -> std::io::Result<()> {
    let timeline = &job.timeline;
    let mut said = 0;
    let mut out = BufWriter::with_capacity(1 << 16, out);
    out.write_all(b"frame,time_s,event,side,set,repeat,cycle,phase_cycle\n")?;
    let sample_rate = f64::from(timeline.sample_rate_hz());
    for event in timeline.events() {
        if said < job.spoken.said.says.len() {
            said = says::rows(job, &mut out, said, event.frame)?;
        }
        let time_s = event.frame as f64 / sample_rate;
        let side = event.side.map_or("both", Side::word);
        let (frame, word) = (event.frame, event.kind.word());
        write!(
            out,
            "{frame},{time_s:.6},{word},{side},{},{},",
            event.set, event.repeat
        )?;
        match event.beat {
            Some((cycle, micro)) => writeln!(out, "{cycle},0.{micro:06}")?,
            None => out.write_all(b",\n")?,
        }
    }
    out.flush()
}
