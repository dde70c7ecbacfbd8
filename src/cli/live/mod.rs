//! `live`: the deck. Everything that can be wrong is said before the screen opens.

mod book;
#[cfg(feature = "phone")]
mod phone;
mod saved;

use std::sync::Arc;

use crate::analysis::taps::Each;
use crate::cli::shared::args::{DeviceArgs, SessionArgs, SetFlags, SpeechArgs, one_of};
use crate::cli::shared::load::{Sounds, bank, load, load_text, score};
use crate::cli::shared::out;
use crate::cli::shared::sound_speed::{IN_AIR_M_S, IN_WATER_M_S};
use crate::cli::shared::swum::quantity;
use crate::cli::shared::terminal::terminal_only;
use crate::error::{Error, Result};
use crate::export::Job;
use crate::files::read_swimmer;
use crate::live::{Engine, Laid, Running, Score};
use crate::media::WordsFor;
use crate::model::resolve::Resolved;
use crate::timeline::{Goes, Timeline};
use crate::tui::{App, Away, Hooks, Laying, Programme, run_lines};
use crate::units::{Length, Quantity, Time, exact, to_f64};

use book::Book;
use saved::save_set;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  cuelane live --stroke-rate \"54 spm\"\n  \
                  cuelane live try-both-pairings --swimmer alex.toml --log log.csv\n\n\
                  ? on the screen names every key. A deck speaker hardly reaches ears under water; never\n\
                  louder than whistles and announcements; the laptop on battery, no mains lead near the pool.")]
pub struct LiveArgs {
    /// A preset's name, or the path of a .toml file; without it, cues without an end
    pub session: Option<String>,
    #[command(flatten)]
    pub wishes: SetFlags,
    #[command(flatten)]
    pub voice: SpeechArgs,
    #[command(flatten)]
    pub device: DeviceArgs,
    /// Exchange the ears
    #[arg(long)]
    pub swap: bool,
    /// A log to which each time that is taken is written at once; made if it is not there
    #[arg(long, value_name = "FILE")]
    pub log: Option<String>,
    /// Another swimmer's file: swims to the same cues; up to five times
    #[arg(long, value_name = "FILE")]
    pub with: Vec<String>,
    /// From one swimmer's go to the next one's
    #[arg(long, value_name = "TIME", default_value = "0 s", requires = "with")]
    pub apart: String,
    /// A line for each thing that happens, for a screen reader or a pipe, in place of the screen
    #[arg(long)]
    pub lines: bool,
    /// How far the swimmer is from the speaker: "15 m" in air, "15 m water" for one under water
    #[arg(long, value_name = "LENGTH")]
    pub distance: Option<String>,
    /// What is tapped: each entry of the arm that starts (cycle), or of both arms (stroke)
    #[arg(long, default_value = "cycle", value_parser = one_of::<Each>())]
    pub each: Each,
    #[cfg(feature = "phone")]
    #[command(flatten)]
    pub phone: phone::PhoneArgs,
}

/// How long before the first start the clock begins on deck, s: the coach is there.
const LEAD_IN_S: f64 = 10.0;
/// Quiet before the first word, ms.
const BEFORE_WORDS_MS: u64 = 500;

/// Runs `live`.
pub fn run(args: &LiveArgs) -> Result<()> {
    let (delay_s, distance) = match args.distance.as_deref().map(heard_later).transpose()? {
        Some((delay_s, words)) => (delay_s, Some(words)),
        None => (0.0, None),
    };
    let session = match &args.session {
        Some(name) => {
            load(&SessionArgs {
                session: name.clone(),
                wishes: args.wishes.clone(),
            })?
            .session
        }
        None => endless(&args.wishes)?,
    };
    let swimmers = swimmers(args, &session)?;
    needs_session(args)?;
    apart(args)?;
    if !args.lines {
        terminal_only(
            "live",
            "cuelane live NAME --lines, cuelane export NAME --out tracks, or cuelane play NAME, \
             which need none",
        )?;
    }
    let rate_hz = args.device.rate_hz(None)?;
    // On deck a player says nothing of the speaker: only the flag counts.
    let swap = args.swap;
    if args.session.is_none() {
        let score = Score::endless(&session.sets[0], bank(rate_hz), swap);
        let lay = |_: &Laying| unreachable!("cues without an end are never laid anew");
        let programme = Programme::new(&session, &score, 0, distance, None);
        return work(args, &session, programme, score, 0, lay, None);
    }
    run_session(args, &session, swimmers, rate_hz, (delay_s, distance))
}

/// Runs a session, with its log. `heard` is how much later the swimmers hear it, in s and in words.
fn run_session(
    args: &LiveArgs,
    session: &Resolved,
    swimmers: Vec<String>,
    rate_hz: u32,
    (delay_s, distance): (f64, Option<String>),
) -> Result<()> {
    let goes = Goes {
        swimmers: swimmers.len() as u32,
        apart_s: *apart(args)?.s(),
    };
    let sounds = Sounds::new(&args.voice, session)?;
    let mut job = sounds.for_all(session.clone(), goes, rate_hz, args.swap, WordsFor::Deck)?;
    sounds.tell(&job);
    if swimmers.len() > 1 {
        out::note(&format!(
            "note: all swim to the cues of {}; the others' own rate, pairing and lead are not heard",
            swimmers[0]
        ));
    }
    let book = (args.log.as_ref())
        .map(|log| Book::open(log, session, &swimmers))
        .transpose()?;
    let beginning = beginning(&job);
    let score = score(&job);
    let running = Running::new(
        session.clone(),
        job.schedule.clone(),
        rate_hz,
        swimmers,
        delay_s,
    );
    let programme = Programme::new(session, &score, beginning, distance, Some(running));
    let lay = |laying: &Laying| {
        let speech = sounds.anew(&mut job, &laying.course, laying.since);
        Laid {
            timeline: Arc::new(Timeline::new(&job.session, &laying.course, rate_hz)),
            speech: Arc::new(speech),
        }
    };
    work(args, session, programme, score, beginning, lay, book)
}

/// Plays and shows it until it is quit, and closes the log.
fn work(
    args: &LiveArgs,
    session: &Resolved,
    programme: Programme,
    score: Score,
    beginning: u64,
    mut lay: impl FnMut(&Laying) -> Laid,
    book: Option<Book>,
) -> Result<()> {
    #[cfg(feature = "phone")]
    let server = args.phone.serve()?;
    let (engine, mut remote) = Engine::new(score, beginning);
    let deck = args.device.start(Box::new(engine), None)?;
    let app = App::new(programme, remote.state(), args.each);
    #[cfg(feature = "phone")]
    let (app, mut away) = args.phone.let_in(server, app, args.lines)?;
    #[cfg(not(feature = "phone"))]
    let mut away: Option<Box<dyn Away>> = None;
    let hooks = Hooks {
        save: &mut |app| save_set(session, app),
        lay: &mut lay,
        keep: &mut |kept| {
            if let Some(book) = &book {
                book.keep(kept);
            }
        },
        told: &mut || book.as_ref().and_then(Book::told),
        away: away.as_deref_mut().map(|away| away as &mut dyn Away),
    };
    let worked = if args.lines {
        run_lines(app, remote, &deck, hooks, &mut |line| out::result(line))
    } else {
        crate::tui::run(app, remote, &deck, hooks)
    };
    // What was timed is written whatever became of the screen, and before phones hear of the end.
    let written = book.map_or(Ok(()), Book::close);
    worked.and(written)
}

/// Swimmers that one coach can time by hand.
const MOST_SWIMMERS: usize = 6;

/// Who swims, in the order of leaving: whoever the session is for, then the others.
fn swimmers(args: &LiveArgs, session: &Resolved) -> Result<Vec<String>> {
    let first = session.swimmer.clone().unwrap_or_default();
    let mut names = vec![first];
    for file in &args.with {
        names.push(read_swimmer(file)?.name);
    }
    let found = if names.len() > MOST_SWIMMERS {
        format!("found {} swimmers", names.len())
    } else if names.len() > 1 && names[0].is_empty() {
        "the first swimmer is not known".to_string()
    } else if (1..names.len()).any(|at| names[..at].contains(&names[at])) {
        "two swimmers have the same name: their rows could not be told apart".to_string()
    } else {
        if names[0].is_empty() {
            names[0] = "Swimmer".into();
        }
        return Ok(names);
    };
    Err(Error::input(found)
        .at("--with")
        .accepted(format!(
            "up to {MOST_SWIMMERS} swimmers of different names, the first by --swimmer"
        ))
        .example("cuelane live settle --swimmer alex.toml --with bo.toml --with cy.toml"))
}

/// From one swimmer's go to the next one's.
fn apart(args: &LiveArgs) -> Result<Time> {
    let time: Time = quantity("--apart", &args.apart)?;
    if (exact(0)..=exact(60)).contains(time.s()) {
        return Ok(time);
    }
    Err(Error::input(format!("found {time}"))
        .at("--apart")
        .accepted("a time from 0 to 60 s")
        .example("--apart \"5 s\""))
}

/// Refuses what only a session has, where there is none.
fn needs_session(args: &LiveArgs) -> Result<()> {
    let flag = match (&args.session, &args.log, args.with.is_empty()) {
        (None, Some(_), _) => "--log",
        (None, _, false) => "--with",
        _ => return Ok(()),
    };
    Err(
        Error::input("cues without an end have no swims that could be timed")
            .at(flag)
            .accepted("a session")
            .example("cuelane live try-both-pairings --swimmer alex.toml --log log.csv"),
    )
}

/// The frame at which the clock begins: [`LEAD_IN_S`] before the first start, or early enough for
/// all of what is said last before it. The opening is for ears that are alone.
fn beginning(job: &Job) -> u64 {
    let rate_hz = u64::from(job.bank.sample_rate_hz());
    let first = job.schedule.repeats.first();
    let start_s = first.map_or(0.0, |repeat| to_f64(&repeat.start_s));
    let lead_in = ((start_s - LEAD_IN_S).max(0.0) * rate_hz as f64) as u64;
    let says = job.spoken.said.says.iter().map(|say| say.at_ms);
    let words = says
        .take_while(|at_ms| (*at_ms as f64) < start_s * 1e3)
        .last();
    let words = words.map(|at_ms| at_ms.saturating_sub(BEFORE_WORDS_MS) * rate_hz / 1000);
    words.map_or(lead_in, |words| words.min(lead_in))
}

/// One set without an end, at the flag's rate or the swimmer's own.
fn endless(flags: &SetFlags) -> Result<Resolved> {
    let rate = match (&flags.stroke_rate, &flags.swimmer) {
        (None, None) => {
            return Err(Error::input(
                "no rate is known: neither a session, nor a swimmer, nor a rate is given",
            )
            .accepted("one of them")
            .example("cuelane live --stroke-rate \"54 spm\""));
        }
        // Only to be replaced by the flag.
        (Some(_), None) => "54 spm",
        (_, Some(_)) => "+0 spm",
    };
    let text = format!(
        "title = \"On deck\"\n[[set]]\nname = \"Cues\"\nswim = \"5 min\"\nrate = \"{rate}\"\n\
         push_off = \"0 s\"\ncues = [\"arm\", \"kick\", \"fill\"]\n"
    );
    load_text("On deck", &text, flags).map(|loaded| loaded.session)
}

/// How much later the swimmer hears a cue, in s and in a sentence.
fn heard_later(text: &str) -> Result<(f64, String)> {
    let (length, speed_m_s, through) = match text.trim().strip_suffix("water") {
        Some(length) => (length.trim(), IN_WATER_M_S, "of water"),
        None => (text.trim(), IN_AIR_M_S, "of air"),
    };
    let refuse = |why: String| {
        Error::input(why)
            .at("--distance")
            .accepted("a length of 0 to 100 m, with the word water for a speaker under water")
            .example("--distance \"15 m\"")
    };
    let length = Length::parse(length).map_err(refuse)?;
    let metres = to_f64(length.metres());
    if !(0.0..=100.0).contains(&metres) {
        return Err(refuse(format!("found {length}")));
    }
    let delay_s = metres / speed_m_s;
    let words = format!(
        "Heard {:.0} ms later through {length} {through}; wireless adds 100 to 300 ms",
        delay_s * 1000.0
    );
    Ok((delay_s, words))
}
