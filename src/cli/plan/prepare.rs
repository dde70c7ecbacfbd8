//! From a training day to a job for the tracks: resolved, laid out, named, told apart.

use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::inputs::beside;
use super::paper::Paper;
use crate::cli::shared::args::SpeechArgs;
use crate::cli::shared::fingerprint::Fingerprint;
use crate::cli::shared::load::{Sounds, in_any_folder};
use crate::error::{Error, Result};
use crate::export::{Folder, Job, SHEET, TrackFile, TrackForm, check_sizes, contents};
use crate::files::{load_session, session_text};
use crate::model::plan::{Day, OwnSpeed, TrainingPlan, course_session, session_of, weekday_word};
use crate::model::resolve::{Resolved, Set, resolve};
use crate::model::swimmer::Swimmer;
use crate::model::track_format::{Division, Format};
use crate::model::wishes::{Session, Wishes};
use crate::model::words::has_cues;
use crate::timeline::Schedule;
use crate::units::{exact, to_f64};

/// A swimmer of the squad, with the days that are wanted.
pub struct Athlete {
    pub plan: TrainingPlan,
    pub swimmer: Swimmer,
    pub sessions: Vec<Session>,
    /// How distance per stroke falls with rate, m a stroke/min, by a step test.
    pub line: Option<f64>,
    /// Where its days go, held for the whole run.
    pub folder: Folder,
    pub days: Vec<Day>,
    pub speech: SpeechArgs,
}

impl Athlete {
    /// The folder of a training day.
    pub fn folder_of(&self, day: &Day) -> PathBuf {
        self.folder.path().join(folder_name(day))
    }
}

/// The session's name in a day's folder.
pub const SESSION: &str = "session.toml";

/// A training day, ready to be written.
pub struct Prepared {
    pub job: Job,
    pub parts: Vec<TrackFile>,
    pub form: TrackForm,
    pub sheet: String,
    /// The session as a file: what `check` reads, and by which a change is seen.
    pub text: String,
    pub paper: Paper,
}

impl Prepared {
    /// What the day takes on the disk.
    pub fn bytes(&self) -> u64 {
        let tracks = self
            .parts
            .iter()
            .map(|part| self.form.file_bytes(part.length()));
        tracks.sum::<u64>() + self.sheet.len() as u64 + self.text.len() as u64
    }

    /// Whether a folder holds exactly this already: the same session for the same swimmer in the
    /// same form, and every track in its size.
    pub fn stands_in(&self, folder: &Path) -> bool {
        let same = |name: &str, text: &str| {
            std::fs::read(folder.join(name)).is_ok_and(|bytes| bytes == text.as_bytes())
        };
        let whole = |part: &TrackFile| {
            let size = self.form.file_bytes(part.length());
            std::fs::metadata(folder.join(&part.name)).is_ok_and(|about| match self.form.format {
                Format::Wav => about.len() == size,
                // How small sound packs is known once it is packed.
                Format::Flac | Format::Mp3 => (1..=size).contains(&about.len()),
            })
        };
        same(SESSION, &self.text) && same(SHEET, &self.sheet) && self.parts.iter().all(whole)
    }
}

/// The name of a day's folder: in the order of training.
pub fn folder_name(day: &Day) -> String {
    format!(
        "week-{:02}-{}-{}",
        day.week,
        day.date,
        weekday_word(day.date.weekday())
    )
}

/// The session files of a plan, read once; none where the plan has its own.
///
/// # Errors
/// When one is missing or does not hold.
pub fn written_sessions(plan: &TrainingPlan) -> Result<Vec<Session>> {
    (plan.sessions.iter())
        .map(|said| {
            let file = beside(&plan.source, &said.value);
            let is_path = file.contains(['/', '\\']) || file.ends_with(".toml");
            if is_path && !Path::new(&file).is_file() {
                return Err(Error::input(format!("sessions: there is no file {file}"))
                    .at_place(said.at.as_ref())
                    .accepted(
                        "the path of a session file, seen from the plan's folder, or a preset",
                    )
                    .example("sessions = [\"hold-the-rate\"]"));
            }
            load_session(&file)
        })
        .collect()
}

/// The session of a day with every value decided; `line` is that of the swimmer's step test, where
/// there is one.
///
/// # Errors
/// Those of the session and of the swimmer.
pub fn decided(
    plan: &TrainingPlan,
    swimmer: &Swimmer,
    sessions: &[Session],
    line: Option<f64>,
    day: &Day,
) -> Result<Resolved> {
    let path = plan.path();
    let written = match sessions.len() {
        0 => None,
        n => Some(&sessions[day.number % n]),
    };
    let own = OwnSpeed {
        rate: swimmer.rate.as_ref().unwrap_or(&plan.from),
        line,
    };
    let decide = |session: &Session| {
        // The plan's own session has no place in a file.
        resolve(session, Some(swimmer), &Wishes::default()).map_err(|error| error.at(&plan.source))
    };
    let at_its_pace = |cycles: Option<f64>| -> Result<Resolved> {
        let mut session = match day.step {
            Some(step) => {
                let preset = step.preset(swimmer.nearest_pairing());
                let is_it = |session: &&Session| Some(session.source.as_str()) == preset;
                course_session(plan, day, step, sessions.iter().find(is_it))?
            }
            None => session_of(plan, &path, day, written, cycles)?,
        };
        let decided = decide(&session)?;
        own.follow(&mut session, &decided);
        decide(&session)
    };
    let first = at_its_pace(None)?;
    if *path.share(day.placed.share) >= exact(1) {
        return Ok(first);
    }
    match cycles(&first)? {
        None => Ok(first),
        cycles => at_its_pace(cycles),
    }
}

/// The cycles of a repeat of the first set with cues.
fn cycles(session: &Resolved) -> Result<Option<f64>> {
    let schedule = Schedule::new(session)?;
    let repeat = (schedule.repeats.iter()).find(|repeat| has_cues(&session.sets[repeat.set]));
    Ok(repeat.map(|repeat| {
        let swimming = repeat.swim_s() - session.sets[repeat.set].push_off.s();
        to_f64(&(swimming * repeat.from.cycles_per_second()))
    }))
}

/// How far a day is laid out: its sizes alone, or its sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    Sizes,
    Sound,
}

/// Lays a day out for its swimmer's player.
///
/// # Errors
/// Those of the session, the swimmer, and of sizes that the player cannot hold.
pub fn prepare(athlete: &Athlete, day: &Day, depth: Depth) -> Result<Prepared> {
    let Athlete {
        plan,
        swimmer,
        sessions,
        line,
        speech,
        ..
    } = athlete;
    let resolved = decided(plan, swimmer, sessions, *line, day)?;
    let player = swimmer.player;
    let form = TrackForm::of(&player);
    let division = player.files.unwrap_or(Division::PerSet);
    let swap = player.swapped.unwrap_or(false);
    let sounds = Sounds::new(speech, &resolved)?;
    let mut known = Fingerprint::default();
    known.take_session(&resolved, &form, division, swap);
    known.take_sounds(&sounds)?;
    let comment = [
        format!(
            "Written by plan export from {}; edit the plan, not this.",
            plan.source
        ),
        format!(
            "{}, {} Hz, {} bits, {}, {}; speech {}; swimmer, sounds and form {known}",
            form.format.word(),
            form.sample_rate_hz,
            form.bits,
            form.channels.word(),
            division.word(),
            speech.speech
        ),
    ];
    let text = session_text(&comment, &in_any_folder(&resolved)?);
    let mut job = match depth {
        Depth::Sizes => sounds.outline(resolved, form.sample_rate_hz)?,
        Depth::Sound => sounds.job(resolved, form.sample_rate_hz, swap)?,
    };
    // The sheet says it, and is compared.
    job.swap = swap;
    let parts = job.parts(division, form.format, player.name_length);
    check_sizes(&job, &parts, &form, player.largest_mb)?;
    let sheet = contents(&job, &parts, &form);
    let paper = Paper::of(&job, swimmer, day);
    Ok(Prepared {
        job,
        parts,
        form,
        sheet,
        text,
        paper,
    })
}

/// A form as the fingerprint takes it in. No type's name is asked for: days that are written stay
/// up to date whatever it is called.
fn in_fingerprint(form: &TrackForm) -> String {
    let TrackForm {
        format,
        sample_rate_hz: hz,
        bits,
        channels,
    } = form;
    format!(
        "Form {{ format: {format:?}, sample_rate_hz: {hz}, bits: {bits}, channels: {channels:?} }}"
    )
}

/// What changes whenever the sound would: every decided value of every set, the form of the files, the
/// bytes of what a person brings along, who speaks, and the program's version, whose voices they are.
impl Fingerprint {
    fn take_session(
        &mut self,
        session: &Resolved,
        form: &TrackForm,
        division: Division,
        swap: bool,
    ) {
        self.take(env!("CARGO_PKG_VERSION"));
        let form = in_fingerprint(form);
        self.take(&format!("{form} {division:?} {swap} {}", session.lead_in));
        for set in &session.sets {
            let Set { name, repeats, .. } = set;
            self.take(&format!("{name} {repeats}"));
            for (key, value, _) in set.explain().iter().filter(|(key, ..)| *key != "say") {
                self.take(key);
                self.take(value);
            }
        }
    }

    /// Takes in what sounds beside the shipped voices: a file may change under its name.
    fn take_sounds(&mut self, sounds: &Sounds) -> Result<()> {
        self.take(sounds.speaker().unwrap_or_default());
        for opened in sounds.files() {
            let (path, mut file) = opened?;
            let failed = |error: io::Error| Error::io("cannot be read", path.display(), &error);
            self.take(&path.file_name().unwrap_or_default().to_string_lossy());
            let mut block = [0; 1 << 14];
            let mut length = 0;
            loop {
                let count = file.read(&mut block).map_err(failed)?;
                if count == 0 {
                    break;
                }
                self.take_bytes(&block[..count]);
                length += count as u64;
            }
            // Where one file ends and the next begins.
            self.take(&length.to_string());
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::track_format::Channels;

    #[test]
    fn days_that_are_written_stay_up_to_date() {
        let form = TrackForm {
            format: Format::Wav,
            sample_rate_hz: 44_100,
            bits: 16,
            channels: Channels::Stereo,
        };
        let written = "Form { format: Wav, sample_rate_hz: 44100, bits: 16, channels: Stereo }";
        assert_eq!(in_fingerprint(&form), written);
    }
}
