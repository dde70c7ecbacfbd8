//! `check`: does a track, or a folder of tracks, hold what its session says?

use crate::cli::shared::args::{FilesArg, SessionArgs, SpeechArgs};
use std::collections::HashMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::cli::shared::load::{Loaded, Sounds, division, load};
use crate::cli::shared::out;
use crate::error::{Error, Result};
use crate::export::check::{CheckReport, check_track};
use crate::export::{Job, TrackFile, TrackReader};
use crate::model::track_format::{Channels, Division, Format};
use crate::units::{Fix, Time};

#[derive(Debug, clap::Args)]
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

/// Runs `check`; exit code 1 where something differs.
pub fn run(args: &CheckArgs) -> Result<u8> {
    let loaded = load(&args.session)?;
    let sounds = Sounds::new(&args.voice, &loaded.session)?;
    let mut jobs = Jobs {
        sounds,
        swap: args.swap || loaded.player().swapped.unwrap_or(false),
        name_length: loaded.player().name_length,
        loaded,
        by_rate: HashMap::new(),
    };
    if !args.track.exists() {
        return Err(Error::failed("there is no such file or folder")
            .at(args.track.display())
            .accepted("an exported track, or a folder of them")
            .example("cuelane check tracks evening.toml"));
    }
    let checked = if args.track.is_dir() {
        folder(args, &mut jobs)?
    } else {
        vec![track(args, &mut jobs)?]
    };
    if args.json {
        print_json(&checked)?
    } else {
        out::result(&checked.iter().map(Checked::in_words).collect::<String>())?;
        note_strays(&args.track, &checked);
    }
    Ok(u8::from(!checked.iter().all(Checked::holds)))
}

/// Other tracks in a checked folder are no fault of the session's, but a player plays them too.
fn note_strays(folder: &Path, checked: &[Checked]) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    let is_checked = |name: &str| {
        let name_of = |one: &Checked| Path::new(&one.name).file_name().map(ToOwned::to_owned);
        checked
            .iter()
            .any(|one| name_of(one).is_some_and(|own| own == name))
    };
    let mut strays: Vec<String> = (entries.flatten())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| Format::of_name(name).is_some() && !is_checked(name))
        .collect();
    strays.sort();
    if !strays.is_empty() {
        out::note(&format!(
            "also there, and not of this session: {}",
            strays.join(", ")
        ));
    }
}

/// The session laid out at each audio rate that turns up.
struct Jobs {
    loaded: Loaded,
    sounds: Sounds,
    swap: bool,
    name_length: Option<usize>,
    by_rate: HashMap<u32, Job>,
}

impl Jobs {
    fn at(&mut self, sample_rate_hz: u32) -> Result<&Job> {
        if !self.by_rate.contains_key(&sample_rate_hz) {
            let job = (self.sounds).job(self.loaded.session.clone(), sample_rate_hz, self.swap)?;
            self.by_rate.insert(sample_rate_hz, job);
        }
        Ok(&self.by_rate[&sample_rate_hz])
    }

    /// The parts of a division; names and repeats are the same at every audio rate.
    fn parts(&mut self, division: Division, format: Format) -> Result<Vec<TrackFile>> {
        let length = self.name_length;
        Ok(self.at(44_100)?.parts(division, format, length))
    }
}

/// One track and what was found, or why it could not be read.
struct Checked {
    name: String,
    sample_rate_hz: u32,
    /// The frame of the session on which the track starts.
    start: u64,
    outcome: Result<CheckReport>,
}

impl Checked {
    fn holds(&self) -> bool {
        self.outcome.as_ref().is_ok_and(CheckReport::holds)
    }
}

/// Checks a whole folder: every part of the session must be there, and hold.
fn folder(args: &CheckArgs, jobs: &mut Jobs) -> Result<Vec<Checked>> {
    if args.part.is_some() {
        return Err(
            Error::input("a folder is checked whole, and --part names one track")
                .at(args.track.display())
                .accepted("--part with the path of one track"),
        );
    }
    let present = |parts: &[TrackFile]| {
        parts
            .iter()
            .filter(|part| args.track.join(&part.name).is_file())
            .count()
    };
    // The division and format whose names are there; the player's, or the usual, where none is.
    let player = jobs.loaded.player();
    let usual = args
        .files
        .map(division)
        .or(player.files)
        .unwrap_or(Division::PerSet);
    let mut parts = jobs.parts(usual, player.format.unwrap_or(Format::Wav))?;
    for division in Division::ALL {
        if args.files.is_some() && division != usual {
            continue;
        }
        for format in Format::ALL {
            let others = jobs.parts(division, format)?;
            let share = |parts: &[TrackFile]| present(parts) as f64 / parts.len() as f64;
            if share(&others) > share(&parts) {
                parts = others;
            }
        }
    }
    let mut checked = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let path = args.track.join(&part.name);
        checked.push(if path.exists() {
            check_one(args, jobs, &path, &parts, index)?
        } else {
            Checked {
                name: part.name.clone(),
                sample_rate_hz: 0,
                start: 0,
                outcome: Err(Error::failed("the track is not in the folder").at(path.display())),
            }
        });
    }
    Ok(checked)
}

/// Checks one track: which part it is, its name tells, or `--part`.
fn track(args: &CheckArgs, jobs: &mut Jobs) -> Result<Checked> {
    let name = args
        .track
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let asked = args.files.map(division);
    let divisions: Vec<Division> = match asked {
        Some(division) => vec![division],
        None => Division::ALL.to_vec(),
    };
    let format = Format::of_name(&name).unwrap_or(Format::Wav);
    if args.part.is_none() {
        for division in &divisions {
            let parts = jobs.parts(*division, format)?;
            if let Some(index) = parts.iter().position(|part| part.name == name) {
                return check_one(args, jobs, &args.track, &parts, index);
            }
        }
    }
    let player_files = jobs.loaded.player().files;
    let parts = jobs.parts(asked.or(player_files).unwrap_or(Division::PerSet), format)?;
    let index = match args.part {
        Some(number) => number.checked_sub(1).filter(|index| *index < parts.len()),
        None => by_number(&name, &parts),
    };
    let Some(index) = index else {
        let what = match args.part {
            Some(number) => format!("there is no part {number}"),
            None => format!("the name {name} does not say which part it is"),
        };
        return Err(Error::input(what)
            .at(args.track.display())
            .accepted(format!(
                "--part 1 to {}, in the order of playing",
                parts.len()
            ))
            .example("--part 1"));
    };
    check_one(args, jobs, &args.track, &parts, index)
}

/// The part that the number in front of a name (the set), and a `-rN-` after it, stand for.
fn by_number(name: &str, parts: &[TrackFile]) -> Option<usize> {
    if let [_] = parts {
        return Some(0);
    }
    let digits: String = name.chars().take_while(char::is_ascii_digit).collect();
    let set: u32 = digits.parse().ok()?;
    let repeat: Option<u32> = (name.rsplit('-'))
        .filter_map(|word| word.strip_prefix('r'))
        .find_map(|number| number.parse().ok());
    let of_set = |part: &&TrackFile| part.set == set;
    match parts.iter().filter(of_set).count() {
        1 => parts.iter().position(|part| part.set == set),
        _ => parts
            .iter()
            .position(|part| part.set == set && Some(part.repeat) == repeat),
    }
}

fn check_one(
    args: &CheckArgs,
    jobs: &mut Jobs,
    path: &Path,
    parts: &[TrackFile],
    index: usize,
) -> Result<Checked> {
    let mut checked = Checked {
        name: path.display().to_string(),
        sample_rate_hz: 0,
        start: 0,
        outcome: Ok(CheckReport::default()),
    };
    let reader = match TrackReader::open(path) {
        Ok(reader) => reader,
        Err(error) => {
            checked.outcome = Err(error);
            return Ok(checked);
        }
    };
    let rate = reader.sample_rate_hz();
    checked.sample_rate_hz = rate;
    if let Some(wanted) = args.sample_rate.filter(|wanted| *wanted != rate) {
        let path: PathBuf = path.into();
        checked.outcome =
            Err(Error::failed(format!("found {rate} Hz, not {wanted} Hz")).at(path.display()));
        return Ok(checked);
    }
    let players = jobs.loaded.player().channels.unwrap_or(Channels::Mono);
    let job = jobs.at(rate)?;
    // The same repeats at this file's own rate.
    let part = TrackFile {
        frames: job.timeline.frames_of(&parts[index].repeats),
        ..parts[index].clone()
    };
    checked.start = part.frames.start;
    let single = reader.is_mono();
    checked.outcome = check_track(job, &part, players, reader);
    // One channel may hold both ears or either: which one, only its sound tells.
    let others = [Channels::Mono, Channels::Left, Channels::Right];
    for channels in others
        .into_iter()
        .filter(|other| single && *other != players)
    {
        if checked.holds() || checked.outcome.is_err() {
            break;
        }
        let outcome =
            TrackReader::open(path).and_then(|reader| check_track(job, &part, channels, reader));
        if outcome.as_ref().is_ok_and(CheckReport::holds) {
            checked.outcome = outcome;
        }
    }
    Ok(checked)
}

impl Checked {
    fn in_words(&self) -> String {
        let verdict = if self.holds() { "holds  " } else { "differs" };
        let report = match &self.outcome {
            Ok(report) => report,
            Err(error) => return format!("{verdict}  {error}\n"),
        };
        let rate = self.sample_rate_hz.max(1);
        let ms = report.worst_error_frames as f64 * 1000.0 / f64::from(rate);
        let mut text = format!(
            "{verdict}  {}\n    {} expected, {} found, {} missing, {} extra; worst error {} ({ms:.2} ms)\n",
            self.name,
            report.expected,
            report.found,
            report.missing_count,
            report.extra_count,
            match report.worst_error_frames {
                1 => "1 frame".to_string(),
                n => format!("{n} frames"),
            },
        );
        let mut line = |told: String| {
            let _ = writeln!(text, "    {told}");
        };
        if !report.is_as_long() {
            line(format!(
                "{} frames long, {} expected",
                report.frames, report.frames_expected
            ));
        }
        if let Some(level) = report.level() {
            line(format!(
                "the whole track is at {level:.2} of its level: export it again"
            ));
        } else if report.is_another() {
            line(
                "hardly anything fits: another session, swimmer, rate or part, or swapped ears"
                    .into(),
            );
        }
        let at = |frame: u64| {
            let frames = Fix::from_integer(frame.saturating_sub(self.start).into());
            Time::from_s(frames / Fix::from_integer(rate.into())).rounded()
        };
        for event in &report.missing {
            line(format!(
                "missing: {} at {} of this file, set {}, repeat {}",
                event.voice(),
                at(event.frame),
                event.set,
                event.repeat
            ));
        }
        for extra in &report.extra {
            let (voice, at) = (extra.voice, at(extra.frame));
            let ear = if extra.other_ear {
                " in the wrong ear"
            } else {
                ""
            };
            line(format!("extra: {voice}{ear} at {at} of this file"));
        }
        if let Some(from) = report.noise_from.filter(|_| report.is_noisy()) {
            line(format!(
                "{} of sound that no cue explains, from {} of this file: a corrupt copy",
                in_s(report.noise_ms),
                at(from)
            ));
        }
        let listed = (report.missing.len() + report.extra.len()) as u64;
        let all = report.missing_count + report.extra_count;
        if all > listed {
            line(format!("and {} more", all - listed));
        }
        text
    }

    fn in_json(&self) -> Value {
        match &self.outcome {
            Err(error) => json!({ "name": self.name, "ok": false, "error": error.to_string() }),
            Ok(report) => json!({
                "name": self.name,
                "cues_expected": report.expected,
                "cues_found": report.found,
                "missing": report.missing_count,
                "extra": report.extra_count,
                "unexplained_ms": report.noise_ms,
                "worst_error_frames": report.worst_error_frames,
                "frames": report.frames,
                "frames_expected": report.frames_expected,
                "sample_rate_hz": self.sample_rate_hz,
                "ok": self.holds(),
            }),
        }
    }
}

/// `0.23 s`.
fn in_s(ms: u64) -> String {
    format!("{:.2} s", ms as f64 / 1000.0)
}

fn print_json(checked: &[Checked]) -> Result<()> {
    let sum = |count: fn(&CheckReport) -> u64| -> u64 {
        checked
            .iter()
            .filter_map(|one| one.outcome.as_ref().ok())
            .map(count)
            .sum()
    };
    let worst = checked.iter().filter_map(|one| one.outcome.as_ref().ok());
    out::json(&json!({
        "format": 1,
        "cues_expected": sum(|report| report.expected),
        "cues_found": sum(|report| report.found),
        "missing": sum(|report| report.missing_count),
        "extra": sum(|report| report.extra_count),
        "worst_error_frames": worst.map(|report| report.worst_error_frames).max().unwrap_or(0),
        "ok": checked.iter().all(Checked::holds),
        "tracks": checked.iter().map(Checked::in_json).collect::<Vec<_>>(),
    }))
}
