//! `export`: the tracks of a session in a folder.

use crate::cli::shared::args::{ChannelsArg, FilesArg, FormatArg, SessionArgs, SpeechArgs};
use std::fmt::Write as _;
use std::io::IsTerminal;
use std::path::Path;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

use indicatif::{ProgressBar, ProgressStyle};
use serde_json::json;

use crate::cli::shared::load::{Loaded, Sounds, channels, division, format, load};
use crate::cli::shared::out;
use crate::error::{Error, Result};
use crate::export::{
    Folder, Job, TrackFile, TrackForm, Written, bytes_apart, bytes_in_words, check_sizes, contents,
    write_folder,
};
use crate::model::track_format::{Division, Format};
use crate::model::words;
use crate::sound::Loudness;
use crate::units::{Fix, Time, exact, to_f64};

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

/// The sheet's name.
const SHEET: &str = "contents.txt";

/// Runs `export`.
pub fn run(args: &ExportArgs) -> Result<()> {
    let loaded = load(&args.session)?;
    let player = loaded.player();
    let number = |text: &Option<String>| text.as_ref().and_then(|text| text.parse::<u32>().ok());
    let usual = TrackForm::of(&player);
    let form = TrackForm {
        format: wanted_format(args, usual.format)?,
        sample_rate_hz: number(&args.sample_rate).unwrap_or(usual.sample_rate_hz),
        bits: number(&args.bits).map_or(usual.bits, |bits| bits as u16),
        channels: args.channels.map_or(usual.channels, channels),
    };
    let divided = args
        .files
        .map(division)
        .or(player.files)
        .unwrap_or(Division::PerSet);
    let swap = args.swap || player.swapped.unwrap_or(false);
    let Loaded { session, swimmer } = loaded;
    let sounds = Sounds::new(&args.voice, &session)?;
    let job = sounds.job(session, form.sample_rate_hz, swap)?;
    let parts = job.parts(divided, form.format, player.name_length);
    check_sizes(&job, &parts, &form, player.largest_mb)?;

    let folder = Folder::hold(&args.out)?;
    let stray = look_around(folder.path(), &parts, args.force)?;
    let sheet = contents(&job, &parts, &form);
    let bytes = parts
        .iter()
        .map(|part| form.file_bytes(part.length()))
        .sum::<u64>()
        + sheet.len() as u64;
    check_space(folder.path(), bytes)?;

    let say = |text: &str| {
        if !args.quiet && !args.json {
            out::note(text);
        }
    };
    let warnings = job.session.warnings.iter().chain(&job.schedule.warnings);
    let notes = sounds.notes().chain(&job.spoken.said.notes);
    if !args.quiet {
        sounds.tell(&job);
    }
    say(&plan(&parts, &form, bytes, folder.path()));
    let written = write(args, &job, &parts, &form, &folder, &sheet)?;

    let bytes = written.iter().map(|file| file.bytes).sum::<u64>() + sheet.len() as u64;
    check_written(&written, &args.out, player.largest_mb)?;
    let total = Time::from_s(job.schedule.total_s);
    if args.json {
        let files: Vec<_> = (written.iter().zip(&parts))
            .map(|(file, part)| {
                let mut value = json!({
                    "name": file.name,
                    "bytes": file.bytes,
                    "frames": part.length(),
                    "duration_s": out::micro(part.length() as f64 / f64::from(form.sample_rate_hz)),
                    "set": part.set,
                    "repeat": part.repeat,
                });
                if let Some(loudness) = file.loudness {
                    let rounded = |value: f64| (value * 100.0).round() / 100.0;
                    value["loudness_lufs"] = json!(loudness.lufs.map(rounded));
                    value["true_peak_dbtp"] = json!(loudness.true_peak_dbtp.map(rounded));
                }
                value
            })
            .collect();
        return out::json(&json!({
            "format": 1,
            "session": job.session.title,
            "swimmer": job.session.swimmer,
            "folder": args.out.display().to_string(),
            "file_format": form.format.word(),
            "sample_rate_hz": form.sample_rate_hz,
            "bits": form.bits,
            "channels": form.channels.count(),
            "swapped": swap,
            "files": files,
            "contents": SHEET,
            "bytes": bytes,
            "duration_s": out::micro(to_f64(total.s())),
            "speech": sounds.speak(),
            "warnings": warnings.chain(notes).collect::<Vec<_>>(),
        }));
    }
    if args.quiet {
        return Ok(());
    }
    let whose = swimmer
        .map(|swimmer| format!(" for {}", swimmer.name))
        .unwrap_or_default();
    let count = match written.len() {
        1 => "1 track".to_string(),
        n => format!("{n} tracks"),
    };
    let mut text = format!(
        "{count} of \"{}\"{whose},\n{}, {}, in {}\n",
        job.session.title,
        total.rounded(),
        bytes_in_words(bytes),
        args.out.display()
    );
    if !stray.is_empty() {
        let told = format!(
            "Also there, and not of this session: {}. A player would play them too.",
            stray.join(", ")
        );
        let _ = writeln!(text, "{}", textwrap::fill(&told, 79));
    }
    text.push_str(&loudness(&written));
    let _ = writeln!(
        text,
        "Next: copy the folder onto the player, play the files in the order of their\n\
         names, and take {SHEET} (what each file holds, how to join in) to the pool.\n"
    );
    text.push_str(&textwrap::fill(words::CAUTIONS[0], 79));
    text.push('\n');
    text.push_str(&textwrap::fill(words::CAUTIONS[2], 79));
    text.push('\n');
    if job.session.bed.is_some() {
        text.push_str(&textwrap::fill(words::BED_CAUTION, 79));
        text.push('\n');
    }
    text.push_str(&textwrap::fill(words::RATE_CAUTION, 79));
    text.push('\n');
    out::result(&text)
}

/// Refuses to replace files unless told to; gives the other tracks in the folder.
fn look_around(folder: &Path, parts: &[TrackFile], force: bool) -> Result<Vec<String>> {
    let entries = std::fs::read_dir(folder).map_err(|error| {
        Error::io("this folder cannot be read", folder.display(), &error)
            .accepted("a folder that you may read and write")
            .example("--out tracks")
    })?;
    let ours = |name: &str| name == SHEET || parts.iter().any(|part| part.name == name);
    let mut stray = Vec::new();
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if ours(&name) && !force {
            return Err(Error::failed("is there already")
                .at(entry.path().display())
                .accepted("another folder, or --force to replace what is there")
                .example("--out tracks-2"));
        }
        if !ours(&name) && Format::of_name(&name).is_some() {
            stray.push(name);
        }
    }
    stray.sort();
    Ok(stray)
}

fn check_space(folder: &Path, bytes: u64) -> Result<()> {
    // Where the system cannot tell, writing will.
    let Ok(free) = fs4::available_space(folder) else {
        return Ok(());
    };
    if free >= bytes {
        Ok(())
    } else {
        Err(Error::failed(format!(
            "the tracks need {}, and this disk has {} free",
            bytes_apart(bytes, free),
            bytes_apart(free, bytes)
        ))
        .at(folder.display())
        .accepted("a disk with room, or a smaller form")
        .example("--channels mono"))
    }
}

/// The format that is asked for, where this build can write it.
fn wanted_format(args: &ExportArgs, players: Format) -> Result<Format> {
    let wanted = args.format.map_or(players, format);
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
    let mut text = String::new();
    for part in parts {
        let length = Fix::from_integer(part.length().into()) / exact(form.sample_rate_hz.into());
        let _ = writeln!(
            text,
            "  {:<44} {:>7} {:>10}",
            part.name,
            Time::from_s(length).rounded(),
            bytes_in_words(form.file_bytes(part.length()))
        );
    }
    let free = fs4::available_space(folder)
        .map(|free| format!("; {} free on this disk", bytes_in_words(free)))
        .unwrap_or_default();
    let most = if form.size_is_known() { "" } else { "at most " };
    text + &format!("  {most}{} in all{free}", bytes_in_words(bytes))
}

/// Set by a signal, read between blocks.
static STOPPED: AtomicBool = AtomicBool::new(false);

fn write(
    args: &ExportArgs,
    job: &Job,
    parts: &[TrackFile],
    form: &TrackForm,
    folder: &Folder,
    sheet: &str,
) -> Result<Vec<Written>> {
    // Without a handler a signal ends the process, which leaves no half track under a real name
    // either: so failing to set one is no reason to stop.
    let _ = ctrlc::set_handler(|| STOPPED.store(true, Ordering::Relaxed));
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
        if STOPPED.load(Ordering::Relaxed) {
            Err(Error::failed("stopped by a signal"))
        } else {
            Ok(())
        }
    };
    let written = write_folder(
        job,
        parts,
        form,
        folder,
        (SHEET, sheet),
        !args.no_loudness,
        &mut progress,
    );
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

/// How loud the files are, in one line for all of them.
fn loudness(written: &[Written]) -> String {
    let range = |of: fn(&Loudness) -> Option<f64>, unit: &str| {
        let values = written
            .iter()
            .filter_map(|file| file.loudness.as_ref().and_then(of));
        let tenths: Vec<i64> = values.map(|value| (value * 10.0).round() as i64).collect();
        let (least, most) = (tenths.iter().min()?, tenths.iter().max()?);
        let shown = |tenths: &i64| format!("{:.1}", *tenths as f64 / 10.0);
        Some(if least == most {
            format!("{} {unit}", shown(most))
        } else {
            format!("{} to {} {unit}", shown(least), shown(most))
        })
    };
    let lufs = range(|loudness| loudness.lufs, "LUFS");
    let peak = range(|loudness| loudness.true_peak_dbtp, "dBTP");
    match (lufs, peak) {
        (Some(lufs), Some(peak)) => format!("Loudness {lufs}, true peak {peak}\n"),
        _ => String::new(),
    }
}

fn style() -> ProgressStyle {
    ProgressStyle::with_template("  {bar:40} {percent:>3} %, {eta} left")
        .unwrap_or_else(|_| ProgressStyle::default_bar())
}
