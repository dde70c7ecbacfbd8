//! From arguments to a resolved session.

use crate::live::Score;
use std::collections::BTreeSet;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::cli::shared::args::{SessionArgs, SetFlags, SpeechArgs};
use crate::cli::shared::out;
use crate::cli::shared::swum::flag;
use crate::error::{Error, Result};
use crate::export::Job;
use crate::files::{load_session, parse_session, phrases, preset, read_swimmer, voices};
use crate::media::{
    self, Bed, OwnSounds, Voicebox, WordsFor, open_bed, open_own, own_sounds, with_own,
};
use crate::model::phrases::slug;
use crate::model::resolve::{Resolved, resolve};
use crate::model::session::RatePlan;
use crate::model::swimmer::{Player, Swimmer};
use crate::model::value::Word;
use crate::model::wishes::{Said, Session, Wishes, said};
use crate::sound::{Bank, Speech, too_alike};
use crate::timeline::{Goes, Schedule, Since, sentences};

/// A session with everything decided, and who it is for.
pub struct Loaded {
    pub session: Resolved,
    pub swimmer: Option<Swimmer>,
}

impl Loaded {
    /// The swimmer's player, or one that wants nothing.
    pub fn player(&self) -> Player {
        let player = self.swimmer.as_ref().map(|swimmer| swimmer.player);
        player.unwrap_or_default()
    }
}

/// Reads the session and the swimmer, and decides every value.
///
/// # Errors
/// When either does not hold, or a flag is no such quantity.
pub fn load(args: &SessionArgs) -> Result<Loaded> {
    let flags = flags(&args.wishes)?;
    if args.session == "-" && args.wishes.swimmer.as_deref() == Some("-") {
        return Err(
            Error::input("session and swimmer cannot both come from standard input")
                .accepted("- for one of them")
                .example("cuelane show - --swimmer alex.toml"),
        );
    }
    let session = load_session(&args.session)?;
    decided(&session, &args.wishes, &flags).map_err(|error| {
        // A first try: a preset as it stands, which has no rate and no pace of its own.
        if args.wishes.swimmer.is_none() && preset(&args.session).is_some() {
            let name = &args.session;
            error
                .accepted("a swimmer, whose own rate and pace a preset takes: --swimmer FILE")
                .example(format!("cuelane show {name} --swimmer adult-learner"))
        } else {
            error
        }
    })
}

/// Decides every value of a session that stands nowhere but in the program.
///
/// # Errors
/// When the swimmer or a flag does not hold.
pub fn load_text(name: &str, text: &str, wishes: &SetFlags) -> Result<Loaded> {
    let flags = flags(wishes)?;
    decided(&parse_session(name, text)?, wishes, &flags)
}

fn decided(session: &Session, wishes: &SetFlags, flags: &Wishes) -> Result<Loaded> {
    let swimmer = wishes.swimmer.as_deref().map(read_swimmer).transpose()?;
    let session = resolve(session, swimmer.as_ref(), flags)?;
    Ok(Loaded { session, swimmer })
}

fn flags(wishes: &SetFlags) -> Result<Wishes> {
    let rate = flag("--stroke-rate", wishes.stroke_rate.as_deref())?;
    let pairing = wishes.pairing.as_ref();
    let kick = wishes.kick.as_ref();
    Ok(Wishes {
        rate: rate.map(RatePlan::Steady).and_then(said),
        pairing: (pairing.map(|text| word("--pairing", text)).transpose()?).and_then(said),
        kick: (kick.map(|text| word("--kick", text)).transpose()?).and_then(said),
        ..Wishes::default()
    })
}

/// Reads a flag's word.
///
/// # Errors
/// When it is none of its kind.
pub fn word<W: Word>(flag: &str, found: &str) -> Result<W> {
    let word = W::ALL.iter().find(|one| one.word() == found);
    word.copied().ok_or_else(|| {
        let all: Vec<&str> = W::ALL.iter().map(|one| one.word()).collect();
        Error::input(format!("found {found:?}"))
            .at(flag)
            .accepted(all.join(", "))
            .example(format!("{flag} {}", all[0]))
    })
}

/// What a session sounds with beside the shipped voices.
pub struct Sounds {
    own: OwnSounds,
    bed: Option<(PathBuf, bool)>,
    /// The program that speaks what has no clip, if one does.
    speaker: Option<String>,
    voicebox: Option<Voicebox>,
}

impl Sounds {
    /// Reads the coach's own sounds, and has their words spoken.
    ///
    /// # Errors
    /// When a folder or file does not hold, or the speech program that was asked for fails.
    pub fn new(args: &SpeechArgs, session: &Resolved) -> Result<Self> {
        let phrases = phrases::shipped();
        let own_words: Vec<&str> = (session.sets.iter())
            .flat_map(|set| match &set.say {
                Some(say) => sentences(say).0,
                None => vec![set.name.as_str()],
            })
            .collect();
        let names: BTreeSet<String> = (phrases.clips().into_iter())
            .chain(own_words.iter().copied())
            .chain(session.sets.iter().map(|set| set.name.as_str()))
            .map(slug)
            .collect();
        let mut own = match &session.sounds {
            Some(said) => own_sounds(&beside(said, &said.value), |name| names.contains(name))
                .map_err(|error| error.within("sounds"))?,
            None => OwnSounds::default(),
        };
        if !own.cues.is_empty() {
            let alike = too_alike(&with_own(bank(44_100), &own));
            own.notes.extend(alike.into_iter().map(|(one, other)| {
                format!(
                    "{one} and {other} are hard to tell apart by one ear or on a mono player: take sounds \
                     a third apart for the sides, a fifth or plainly longer for the feet"
                )
            }));
        }
        let bed =
            (session.bed.as_ref()).map(|said| (beside(said, &said.value.file), said.value.once));
        let (program, is_asked) = match args.speech.as_str() {
            "off" => (None, false),
            "auto" => (media::find(), false),
            name => (Some(media::named(name)?), true),
        };
        let mut voicebox = Voicebox::new(phrases);
        for (name, sound) in &own.words {
            voicebox.add(name.clone(), sound);
        }
        match &program {
            Some(program) => voicebox.learn(&own_words, program, is_asked)?,
            None if args.speech == "auto" => voicebox.miss(says_of(session)),
            None => {}
        }
        Ok(Self {
            own,
            bed,
            speaker: program.map(|program| program.name()),
            voicebox: (args.speech != "off").then_some(voicebox),
        })
    }

    /// Whether anything is said.
    pub fn speak(&self) -> bool {
        self.voicebox.is_some()
    }

    /// The voices, the coach's own among them.
    pub fn voices(&self, sample_rate_hz: u32) -> Bank {
        with_own(bank(sample_rate_hz), &self.own)
    }

    /// The files that sound in a track, opened one by one: the coach's own sounds and words, then
    /// the bed.
    pub fn files(&self) -> impl Iterator<Item = Result<(&Path, File)>> {
        let own = (self.own.files.iter()).map(|path| Ok((path.as_path(), open_own(path)?)));
        let bed = (self.bed.iter()).map(|(path, _)| Ok((path.as_path(), open_bed(path)?)));
        own.chain(bed)
    }

    /// The program that speaks what has no clip, if one does.
    pub fn speaker(&self) -> Option<&str> {
        self.speaker.as_deref()
    }

    /// What a person should know of them.
    pub fn notes(&self) -> impl Iterator<Item = &String> + Clone {
        let of_speech = self.voicebox.iter().flat_map(|voicebox| &voicebox.notes);
        self.own.notes.iter().chain(of_speech)
    }

    /// Says what a person should know of a session before it sounds.
    pub fn tell(&self, job: &Job) {
        for warning in job.session.warnings.iter().chain(&job.schedule.warnings) {
            out::note(&format!("warning: {warning}"));
        }
        for note in self.notes().chain(&job.spoken.said.notes) {
            out::note(&format!("note: {note}"));
        }
    }

    /// A session laid out with all of it, ready to be written.
    ///
    /// # Errors
    /// Those of [`Job::new`], or of the bed.
    pub fn job(&self, session: Resolved, sample_rate_hz: u32, swap: bool) -> Result<Job> {
        let mut job = self.laid_out(session, sample_rate_hz, swap, WordsFor::Tracks)?;
        if let Some((path, once)) = &self.bed {
            job.lay(Bed::open(path, sample_rate_hz, *once)?);
        }
        Ok(job)
    }

    /// A session laid out to be played now, which leaves out its bed.
    ///
    /// # Errors
    /// Those of [`Job::new`].
    pub fn without_bed(
        &self,
        session: Resolved,
        sample_rate_hz: u32,
        swap: bool,
        words: WordsFor,
    ) -> Result<Job> {
        if self.bed.is_some() {
            out::note("note: the bed is heard in exported tracks only");
        }
        self.laid_out(session, sample_rate_hz, swap, words)
    }

    fn laid_out(
        &self,
        session: Resolved,
        sample_rate_hz: u32,
        swap: bool,
        words: WordsFor,
    ) -> Result<Job> {
        self.for_all(session, Goes::ONE, sample_rate_hz, swap, words)
    }

    /// A session laid out, without its bed, for swimmers who start one after another.
    ///
    /// # Errors
    /// Those of [`Job::new`].
    pub fn for_all(
        &self,
        session: Resolved,
        goes: Goes,
        sample_rate_hz: u32,
        swap: bool,
        words: WordsFor,
    ) -> Result<Job> {
        let schedule = Schedule::for_all(&session, goes)?;
        let voices = self.voices(sample_rate_hz);
        let mut job = Job::laid_out(session, schedule, voices, swap);
        if let Some(voicebox) = &self.voicebox {
            job.speak(voicebox, words);
        }
        Ok(job)
    }

    /// What a session says where its schedule has become another one.
    pub fn anew(&self, job: &mut Job, course: &Schedule, since: Since) -> Speech {
        match &self.voicebox {
            Some(voicebox) => job.speak_anew(voicebox, WordsFor::Deck, course, since),
            None => Speech::default(),
        }
    }

    /// A session laid out to be looked at, without a sample of speech or bed.
    ///
    /// # Errors
    /// Those of [`Job::new`].
    pub fn outline(&self, session: Resolved, sample_rate_hz: u32) -> Result<Job> {
        let mut job = Job::new(session, self.voices(sample_rate_hz), false)?;
        if let Some(voicebox) = &self.voicebox {
            job.say(voicebox);
        }
        Ok(job)
    }
}

/// The sentences that a coach has said.
fn says_of(session: &Resolved) -> impl Iterator<Item = &str> {
    let says = session.sets.iter().filter_map(|set| set.say.as_deref());
    says.flat_map(|say| sentences(say).0)
}

/// A path as a file means it: from the folder in which that file is.
pub fn beside<T>(said: &Said<T>, path: &str) -> PathBuf {
    let file = said.at.as_ref().map(|place| Path::new(&*place.file));
    match file.and_then(Path::parent) {
        Some(folder) => folder.join(path),
        None => PathBuf::from(path),
    }
}

/// A session whose own files are found from every folder, so that it can be written anywhere.
///
/// # Errors
/// When this folder has no place.
pub fn in_any_folder(session: &Resolved) -> Result<Resolved> {
    let absolute = |file: PathBuf| -> Result<String> {
        let path = std::path::absolute(&file)
            .map_err(|error| Error::io("has no place", file.display(), &error))?;
        Ok(path.display().to_string())
    };
    let mut session = session.clone();
    if let Some(said) = &mut session.sounds {
        said.value = absolute(beside(said, &said.value))?;
    }
    if let Some(said) = &mut session.bed {
        said.value.file = absolute(beside(said, &said.value.file))?;
    }
    Ok(session)
}

/// The shipped voices at an audio rate.
pub fn bank(sample_rate_hz: u32) -> Bank {
    Bank::new(&voices::shipped(), sample_rate_hz)
}

/// What the deck plays of a session.
pub fn score(job: &Job) -> Score {
    Score::session(&job.session, &job.schedule, job.bank.clone(), job.swap)
        .saying(Arc::clone(&job.spoken.speech))
}
