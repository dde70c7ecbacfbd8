//! `export`: the tracks of a session in a folder.

mod view;

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};

use crate::cli::shared::args::{SessionArgs, SpeechArgs, one_of};
use crate::cli::shared::load::{Sounds, load};
use crate::cli::shared::report::tell;
use crate::cli::shared::room::room_for;
use crate::cli::shared::words::Page;
use crate::cli::shared::{out, stop};
use crate::error::{Error, Result};
use crate::export::{
    Effort, Folder, Job, SHEET, TrackFile, TrackForm, Written, bytes_apart, bytes_in_words,
    check_sizes, contents, write_folder,
};
use crate::model::swimmer::Player;
use crate::model::track_format::{Channels, Division, Format};
use crate::units::{Fix, Time, exact};
use view::{ExportReport, WrittenTrack};

#[derive(Debug, clap::Args)]
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
    #[arg(long, value_parser = one_of::<Format>())]
    pub format: Option<Format>,
    /// Audio rate in Hz [default: the player's, or 44100]
    #[arg(long, value_name = "HZ", value_parser = ["44100", "48000"])]
    pub sample_rate: Option<String>,
    /// Bits a sample [default: the player's, or 16]
    #[arg(long, value_parser = ["16", "24"])]
    pub bits: Option<String>,
    /// Channels [default: the player's, or stereo]
    #[arg(long, value_parser = one_of::<Channels>())]
    pub channels: Option<Channels>,
    /// Exchange the ears, for a player that is worn or wired the other way round
    #[arg(long)]
    pub swap: bool,
    /// How the session is divided [default: the player's, or per-set]
    #[arg(long, value_parser = one_of::<Division>())]
    pub files: Option<Division>,
    /// Replace tracks that are there
    #[arg(long)]
    pub force: bool,
    /// Do not measure loudness and true peak
    #[arg(long)]
    pub no_loudness: bool,
    /// Say the measured loudness and true peak too
    #[arg(long)]
    pub detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
    /// Print nothing but errors
    #[arg(long)]
    pub quiet: bool,
}

/// Runs `export`.
pub fn run(args: &ExportArgs) -> Result<()> {
    let loaded = load(&args.session)?;
    let player = loaded.player();
    let form = form(args, &player)?;
    let divided = (args.files.or(player.files)).unwrap_or(Division::PerSet);
    let sounds = Sounds::new(&args.voice, &loaded.session)?;
    let swap = args.swap || player.swapped.unwrap_or(false);
    let job = sounds.job(loaded.session, form.sample_rate_hz, swap)?;
    let parts = job.parts(divided, form.format, player.name_length);
    check_sizes(&job, &parts, &form, player.largest_mb)?;

    let folder = Folder::hold(&args.out)?;
    let (stray, replaced) = look_around(folder.path(), &parts, args.force)?;
    let sheet = contents(&job, &parts, &form);
    let sizes = parts.iter().map(|part| form.file_bytes(part.length()));
    let bytes = sizes.sum::<u64>() + sheet.len() as u64;
    let smaller = "a disk with room, or a smaller form";
    room_for(folder.path(), bytes, smaller, "--channels mono")?;
    if !args.quiet {
        sounds.tell(&job);
    }
    if !args.quiet && !args.json {
        out::note(&plan(&parts, &form, bytes, folder.path()));
    }
    let written = write(args, &job, &parts, &form, &folder, &sheet)?;
    check_written(&written, &args.out, player.largest_mb)?;
    if args.quiet && !args.json {
        return Ok(());
    }
    let warnings = job.session.warnings.iter().chain(&job.schedule.warnings);
    let notes = sounds.notes().chain(&job.spoken.said.notes);
    let total = Time::from_s(job.schedule.total_s);
    let report = ExportReport {
        folder: args.out.display().to_string(),
        file_format: form.format.word(),
        sample_rate_hz: form.sample_rate_hz,
        bits: form.bits,
        channels: form.channels.count(),
        swapped: swap,
        contents: SHEET,
        bytes: written.iter().map(|file| file.bytes).sum::<u64>() + sheet.len() as u64,
        files: (written.into_iter().zip(&parts))
            .map(|(file, part)| WrittenTrack::new(file, part, form.sample_rate_hz))
            .collect(),
        duration_s: total.s().into(),
        speech: sounds.speak(),
        warnings: warnings.chain(notes).cloned().collect(),
        detail: args.detail,
        total,
        louder: !stray.is_empty() || replaced,
        stray,
        has_bed: job.session.bed.is_some(),
        session: job.session.title,
        swimmer: job.session.swimmer,
    };
    tell(&report, args.json)
}

/// The form that is asked for, and where nothing is, the player's.
fn form(args: &ExportArgs, player: &Player) -> Result<TrackForm> {
    let number = |text: &Option<String>| text.as_ref().and_then(|text| text.parse::<u32>().ok());
    let usual = TrackForm::of(player);
    Ok(TrackForm {
        format: wanted_format(args, usual.format)?,
        sample_rate_hz: number(&args.sample_rate).unwrap_or(usual.sample_rate_hz),
        bits: number(&args.bits).map_or(usual.bits, |bits| bits as u16),
        channels: args.channels.unwrap_or(usual.channels),
    })
}

/// Refuses to replace files unless told to; gives the other tracks in the folder, and whether some
/// of this session are there too.
fn look_around(folder: &Path, parts: &[TrackFile], force: bool) -> Result<(Vec<String>, bool)> {
    let entries = std::fs::read_dir(folder).map_err(|error| {
        Error::io("this folder cannot be read", folder.display(), &error)
            .accepted("a folder that you may read and write")
            .example("--out tracks")
    })?;
    let ours = |name: &str| name == SHEET || parts.iter().any(|part| part.name == name);
    let (mut stray, mut replaced) = (Vec::new(), false);
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if ours(&name) && !force {
            return Err(Error::failed("is there already")
                .at(entry.path().display())
                .accepted("another folder, or --force to replace what is there")
                .example("--out tracks-2"));
        }
        if ours(&name) {
            replaced = true;
        } else if Format::of_name(&name).is_some() {
            stray.push(name);
        }
    }
    stray.sort();
    Ok((stray, replaced))
}

/// The format that is asked for, where this build can write it.
fn wanted_format(args: &ExportArgs, players: Format) -> Result<Format> {
    let wanted = args.format.unwrap_or(players);
    if wanted == Format::Mp3 && cfg!(not(feature = "mp3")) {
        Err(
        Error::input("found mp3, which this build of the program does not write")
            .at(if args.format.is_some() { "--format" } else { "[player], format" })
            .accepted("wav, flac; or a build with its usual features: cargo install --path . --locked")
            .example("--format flac"),
    )
    } else {
        Ok(wanted)
    }
}

/// What is about to be written: each file's size, all sizes, the room on the disk.
fn plan(parts: &[TrackFile], form: &TrackForm, bytes: u64, folder: &Path) -> String {
    let mut page = Page::default();
    for part in parts {
        let length = Fix::from_integer(part.length().into()) / exact(form.sample_rate_hz.into());
        page.line(format_args!(
            "  {:<44} {:>7} {:>10}",
            part.name,
            Time::from_s(length).rounded(),
            bytes_in_words(form.file_bytes(part.length()))
        ));
    }
    let free = fs4::available_space(folder)
        .map(|free| format!("; {} free on this disk", bytes_in_words(free)))
        .unwrap_or_default();
    let most = if form.size_is_known() { "" } else { "at most " };
    let smaller = if form.format == Format::Wav && bytes > MUCH_BYTES {
        SMALLER
    } else {
        ""
    };
    page.text() + &format!("  {most}{} in all{free}{smaller}", bytes_in_words(bytes))
}

/// Tracks of WAV above this are worth a smaller format.
const MUCH_BYTES: u64 = 300_000_000;
/// 1411 kbit/s of a CD's form against 192 of MP3; FLAC of cues is smaller still.
const SMALLER: &str = "\n  Much for a player: --format flac holds the same exactly in a tenth or less, \
    --format mp3\n  in about a seventh, for a player that takes no FLAC";

fn write(
    args: &ExportArgs,
    job: &Job,
    parts: &[TrackFile],
    form: &TrackForm,
    folder: &Folder,
    sheet: &str,
) -> Result<Vec<Written>> {
    stop::listen();
    let samples = parts
        .iter()
        .map(|part| part.length() * form.frame_bytes())
        .sum();
    let shown = std::io::stderr().is_terminal() && !args.quiet && !args.json;
    let bar = if shown {
        ProgressBar::new(samples).with_style(style())
    } else {
        ProgressBar::hidden()
    };
    let mut progress = |bytes: u64| {
        bar.inc(bytes);
        stop::unless_wished()
    };
    let effort = Effort {
        measure: !args.no_loudness,
        cores: std::thread::available_parallelism().map_or(1, usize::from),
    };
    let sheet = (SHEET, sheet);
    let written = write_folder(job, parts, form, folder, sheet, effort, &mut progress);
    bar.finish_and_clear();
    written
}

/// A packed file's size is known only now: one that the player cannot play is said to be so.
fn check_written(written: &[Written], folder: &Path, largest_mb: Option<u64>) -> Result<()> {
    let Some(mb) = largest_mb else { return Ok(()) };
    match written.iter().find(|file| file.bytes > mb * 1_000_000) {
        None => Ok(()),
        Some(file) => Err(Error::failed(format!(
            "has {}, over the player's limit of {mb} MB (largest_mb)",
            bytes_apart(file.bytes, mb * 1_000_000)
        ))
        .at(folder.join(&file.name).display())
        .accepted("shorter files")
        .example("--files per-repeat")),
    }
}

fn style() -> ProgressStyle {
    ProgressStyle::with_template("  {bar:40} {percent:>3} %, {eta} left")
        .unwrap_or_else(|_| ProgressStyle::default_bar())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smaller_formats_are_named_where_wav_is_much() {
        let told = |format, bytes| {
            let form = TrackForm {
                format,
                ..TrackForm::of(&Player::default())
            };
            plan(&[], &form, bytes, Path::new("."))
        };
        let much = told(Format::Wav, 300_000_001);
        assert!(
            much.contains("--format flac") && much.contains("--format mp3"),
            "{much}"
        );
        assert!(!told(Format::Wav, 300_000_000).contains("--format"));
        assert!(!told(Format::Flac, 300_000_001).contains("--format"));
    }
}
