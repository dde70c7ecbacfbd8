//! `check`: does a track, or a folder of tracks, hold what its session says?

mod view;

use std::collections::HashMap;
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use crate::cli::shared::args::{SessionArgs, SpeechArgs, one_of};
use crate::cli::shared::load::{Loaded, Sounds, load};
use crate::cli::shared::out;
use crate::cli::shared::report::tell;
use crate::error::{Error, Result};
use crate::export::check::check_track;
use crate::export::{Job, TrackFile, TrackReader};
use crate::model::track_format::{Channels, Division, Fold, Format};
use view::{CheckedTrack, CheckedTracks, HeardTrack};

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
    #[arg(long, value_parser = one_of::<Division>())]
    pub files: Option<Division>,
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
    let tracks = if args.track.is_dir() {
        folder(args, &mut jobs)?
    } else {
        vec![track(args, &mut jobs)?]
    };
    let report = CheckedTracks::new(tracks);
    tell(&report, args.json)?;
    if !args.json {
        note_strays(&args.track, &report.tracks);
        if let Some(swimmer) = args
            .session
            .wishes
            .swimmer
            .as_deref()
            .filter(|_| !report.ok)
        {
            note_newer(swimmer, &report.tracks);
        }
    }
    Ok(u8::from(!report.ok))
}

/// Other tracks in a checked folder are no fault of the session's, but a player plays them too.
fn note_strays(folder: &Path, checked: &[CheckedTrack]) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    let is_checked = |name: &str| {
        let named =
            |track: &CheckedTrack| Path::new(&track.name).file_name() == Some(name.as_ref());
        checked.iter().any(named)
    };
    let mut strays: Vec<String> = (entries.flatten())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| Format::of_name(name).is_some() && !is_checked(name))
        .collect();
    strays.sort();
    if !strays.is_empty() {
        let strays = strays.join(", ");
        out::note(&format!("also there, and not of this session: {strays}"));
    }
}

/// A track that differs may be right for the swimmer's file as it was when it was exported.
fn note_newer(swimmer: &str, checked: &[CheckedTrack]) {
    let changed = |file: &str| {
        std::fs::metadata(file)
            .and_then(|about| about.modified())
            .ok()
    };
    let Some(written) = changed(swimmer) else {
        return;
    };
    let older = |track: &&CheckedTrack| changed(&track.name).is_some_and(|made| made < written);
    if checked
        .iter()
        .filter(|track| !track.ok)
        .any(|track| older(&track))
    {
        out::note(&format!(
            "{swimmer} is newer than what differs: it may have changed since the export \
             (export the tracks again)"
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

/// Checks a whole folder: every part of the session must be there, and hold.
fn folder(args: &CheckArgs, jobs: &mut Jobs) -> Result<Vec<CheckedTrack>> {
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
    let usual = args.files.or(player.files).unwrap_or(Division::PerSet);
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
    let check = |part: &TrackFile| {
        let path = args.track.join(&part.name);
        if path.exists() {
            return check_one(args, jobs, &path, part);
        }
        let missing = Error::failed("the track is not in the folder").at(path.display());
        Ok(CheckedTrack::new(part.name.clone(), Err(missing)))
    };
    parts.iter().map(check).collect()
}

/// Checks one track: which part it is, its name tells, or `--part`.
fn track(args: &CheckArgs, jobs: &mut Jobs) -> Result<CheckedTrack> {
    let name = args
        .track
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let asked = args.files;
    let divisions: Vec<Division> = match asked {
        Some(division) => vec![division],
        None => Division::ALL.to_vec(),
    };
    let format = Format::of_name(&name).unwrap_or(Format::Wav);
    if args.part.is_none() {
        for division in &divisions {
            let parts = jobs.parts(*division, format)?;
            if let Some(part) = parts.iter().find(|part| part.name == name) {
                return check_one(args, jobs, &args.track, part);
            }
        }
    }
    let player_files = jobs.loaded.player().files;
    let parts = jobs.parts(asked.or(player_files).unwrap_or(Division::PerSet), format)?;
    let (part, what) = match args.part {
        Some(number) => (
            number.checked_sub(1).and_then(|index| parts.get(index)),
            format!("there is no part {number}"),
        ),
        None => (
            by_number(&name, &parts),
            format!("the name {name} does not say which part it is"),
        ),
    };
    let Some(part) = part else {
        let last = parts.len();
        return Err(Error::input(what)
            .at(args.track.display())
            .accepted(format!("--part 1 to {last}, in the order of playing"))
            .example("--part 1"));
    };
    check_one(args, jobs, &args.track, part)
}

/// The part that the number in front of a name (the set), and a `-rN-` after it, stand for.
fn by_number<'a>(name: &str, parts: &'a [TrackFile]) -> Option<&'a TrackFile> {
    if let [only] = parts {
        return Some(only);
    }
    let digits: String = name.chars().take_while(char::is_ascii_digit).collect();
    let set: u32 = digits.parse().ok()?;
    let repeat: Option<u32> = (name.rsplit('-'))
        .filter_map(|word| word.strip_prefix('r'))
        .find_map(|number| number.parse().ok());
    let mut of_set = parts.iter().filter(|part| part.set == set);
    match of_set.clone().count() {
        1 => of_set.next(),
        _ => of_set.find(|part| Some(part.repeat) == repeat),
    }
}

fn check_one(
    args: &CheckArgs,
    jobs: &mut Jobs,
    path: &Path,
    part: &TrackFile,
) -> Result<CheckedTrack> {
    let outcome = match opened(args, path) {
        Ok(reader) => heard(jobs, path, part, reader)?,
        Err(error) => Err(error),
    };
    Ok(CheckedTrack::new(path.display().to_string(), outcome))
}

/// A track at the audio rate that it must have.
fn opened(args: &CheckArgs, path: &Path) -> Result<TrackReader<BufReader<File>>> {
    let reader = TrackReader::open(path)?;
    let rate = reader.sample_rate_hz();
    match args.sample_rate.filter(|wanted| *wanted != rate) {
        None => Ok(reader),
        Some(wanted) => {
            Err(Error::failed(format!("found {rate} Hz, not {wanted} Hz")).at(path.display()))
        }
    }
}

/// What a track holds of its part, or why that cannot be told.
///
/// # Errors
/// When the session cannot be laid out at the track's audio rate.
fn heard(
    jobs: &mut Jobs,
    path: &Path,
    part: &TrackFile,
    reader: TrackReader<BufReader<File>>,
) -> Result<Result<HeardTrack>> {
    let players =
        (jobs.loaded.player().channels.and_then(Channels::fold)).unwrap_or(Fold::Balanced);
    let (rate, single) = (reader.sample_rate_hz(), reader.is_mono());
    let job = jobs.at(rate)?;
    // The same repeats at this file's own rate.
    let part = TrackFile {
        frames: job.timeline.frames_of(&part.repeats),
        ..part.clone()
    };
    let mut outcome = check_track(job, &part, players, reader);
    // One channel may hold both ears or either: which one, only its sound tells.
    let others = Fold::ALL.into_iter().filter(|other| *other != players);
    for fold in others.filter(|_| single) {
        if outcome.as_ref().map_or(true, |found| found.holds()) {
            break;
        }
        let other =
            TrackReader::open(path).and_then(|reader| check_track(job, &part, fold, reader));
        if other.as_ref().is_ok_and(|found| found.holds()) {
            outcome = other;
        }
    }
    Ok(outcome.map(|found| HeardTrack::new(found, part.frames.start, rate)))
}
