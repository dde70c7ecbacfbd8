//! `live`: the deck. Everything that can be wrong is said before the screen opens.

mod book;

use std::path::Path;
use std::sync::Arc;

use crate::analysis::taps::Each;
use crate::cli::shared::args::{DeviceArgs, SessionArgs, SetFlags, SpeechArgs, one_of};
use crate::cli::shared::date::today;
use crate::cli::shared::load::{Sounds, bank, in_any_folder, load, load_text, score};
use crate::cli::shared::out;
use crate::cli::shared::save::save;
use crate::cli::shared::swum::quantity;
use crate::cli::shared::terminal::terminal_only;
use crate::error::{Error, Result};
use crate::export::Job;
use crate::files::{read_swimmer, session_text};
use crate::live::{Engine, Group, Laid, Running, Score};
use crate::media::WordsFor;
use crate::model::cue::{CUE_KINDS, CueKind};
use crate::model::resolve::{Resolved, Set};
use crate::model::session::{CueSet, RatePlan};
use crate::timeline::{Goes, Timeline};
use crate::tui::{App, Hooks, Laying, Programme, Settings, run_lines};
use crate::units::{Length, Quantity, Rate, Time, exact, to_f64};

use book::{Book, rate_of};

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
    let worked = work(
        args,
        session,
        programme,
        score,
        beginning,
        lay,
        book.as_ref(),
    );
    // What was timed is written whatever became of the screen.
    let written = book.map_or(Ok(()), Book::close);
    worked.and(written)
}

/// Plays and shows it until it is quit.
fn work(
    args: &LiveArgs,
    session: &Resolved,
    programme: Programme,
    score: Score,
    beginning: u64,
    mut lay: impl FnMut(&Laying) -> Laid,
    book: Option<&Book>,
) -> Result<()> {
    let (engine, mut remote) = Engine::new(score, beginning);
    let deck = args.device.start(Box::new(engine), None)?;
    let app = App::new(programme, remote.state(), args.each);
    let hooks = Hooks {
        save: &mut |app| save_set(session, app),
        lay: &mut lay,
        keep: &mut |kept| {
            if let Some(book) = book {
                book.keep(kept);
            }
        },
        told: &mut || book.and_then(Book::told),
    };
    if args.lines {
        run_lines(app, remote, &deck, hooks, &mut |line| out::result(line))
    } else {
        crate::tui::run(app, remote, &deck, hooks)
    }
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

/// How much later the swimmer hears a cue, in s and in a sentence: sound goes 343 m/s in air at 20 °C and about
/// 1482 m/s in fresh water at 20 °C (textbook values, from memory).
fn heard_later(text: &str) -> Result<(f64, String)> {
    let (length, speed_m_s, through) = match text.trim().strip_suffix("water") {
        Some(length) => (length.trim(), 1482.0, "of water"),
        None => (text.trim(), 343.0, "of air"),
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

/// Writes the settings as a session under the first free name, and says so.
fn save_set(session: &Resolved, app: &App) -> Result<String> {
    let (settings, set) = (app.settings(), &session.sets[app.set()]);
    let name = (1..1000)
        .map(|number| format!("deck-{number}.toml"))
        .find(|name| !Path::new(name).exists())
        .ok_or_else(|| Error::failed("deck-1.toml to deck-999.toml are there already"))?;
    let rate = rate_by_hand(set, app)?;
    let session = in_any_folder(&Resolved {
        sets: vec![changed(set.clone(), &settings, rate)],
        ..session.clone()
    })?;
    let text = session_text(
        &[format!("As it was set on deck on {}.", today())],
        &session,
    );
    save(Path::new(&name), &text)?;
    Ok(format!("Written: {name}. Try it: cuelane show ./{name}"))
}

/// A set with what a hand has changed, and only that.
fn changed(mut set: Set, settings: &Settings, rate: Option<Rate>) -> Set {
    if let Some(rate) = rate {
        set.rate = RatePlan::Steady(rate);
    }
    // Another kick sounds its fills; that of the session sounds what the session asks for.
    if settings.kick != set.kick && settings.kick.has_fills() {
        set.cues = set.cues.with(CueKind::Fill);
    }
    set.pairing = settings.pairing;
    set.kick = settings.kick;
    let groups = Group::ALL.into_iter().zip(settings.muted);
    for (group, _) in groups.filter(|(_, muted)| *muted) {
        let kinds = CUE_KINDS.into_iter().filter(|kind| group.has(*kind));
        set.cues = kinds.fold(set.cues, CueSet::without);
    }
    set
}

/// The rate that a hand has set, where it is another than the set's own.
fn rate_by_hand(set: &Set, app: &App) -> Result<Option<Rate>> {
    let Some(spm) = app.rate_by_hand() else {
        return Ok(None);
    };
    let own =
        matches!(&set.rate, RatePlan::Steady(rate) if (to_f64(rate.spm()) - spm).abs() < 1e-5);
    if own {
        Ok(None)
    } else {
        rate_of(spm).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, parse_swimmer};
    use crate::model::kick::{Kick, Pairing};
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;

    /// The first set of a session, under a swimmer's file.
    fn read(session: &str, swimmer: Option<&str>) -> Resolved {
        let swimmer = swimmer.map(|text| parse_swimmer("alex.toml", text).expect(text));
        let read = parse_session("deck.toml", session).expect(session);
        resolve(&read, swimmer.as_ref(), &Wishes::default()).expect(session)
    }

    /// What `w` writes, read back under the same swimmer's file.
    fn saved(
        session: &str,
        swimmer: Option<&str>,
        hand: impl Fn(&mut Settings),
        rate: Option<&str>,
    ) -> [Set; 2] {
        let session = read(session, swimmer);
        let set = session.sets[0].clone();
        let mut settings = Settings {
            spm: 0.0,
            pairing: set.pairing,
            kick: set.kick,
            muted: [false; 4],
            gentle: false,
        };
        hand(&mut settings);
        let rate = rate.map(|text| Rate::parse(text).expect(text));
        let on_deck = Resolved {
            sets: vec![changed(set.clone(), &settings, rate)],
            ..session
        };
        let mut back = read(&session_text(&[], &on_deck), swimmer);
        [set, back.sets.remove(0)]
    }

    #[test]
    fn what_a_hand_changed_reads_back_and_all_else_stays() {
        let text = "title = \"Tuesday \\\"late\\\"\"\n[[set]]\nswim = \"50 m\"\nrepeats = 4\nsend_off = \"1:30\"\n\
                    pace = \"2:00 / 100 m\"\nrate = \"54 spm\"\nkick = \"two-beat\"\n\
                    cues = [\"arm\", \"kick\", \"breath\"]\nbreath = { every = 3 }\nfade = { on = 8, off = 4 }\n\
                    lead = \"40 ms\"\ncatch_after_entry = 0.34\n";
        let hand = |settings: &mut Settings| {
            settings.pairing = Pairing::OppositeSide;
            settings.kick = Kick::SixBeat;
            settings.muted[Group::Hands as usize] = true;
        };
        let [set, back] = saved(text, None, hand, Some("56.5 spm"));
        assert_eq!(back.rate.ends().0.to_string(), "56.5 spm");
        assert_eq!(
            (back.pairing, back.kick),
            (Pairing::OppositeSide, Kick::SixBeat)
        );
        assert_eq!(back.cues.to_string(), "kick, fill, breath");
        assert_eq!(
            (back.gap(), &back.swim, back.repeats),
            (set.gap(), &set.swim, set.repeats)
        );
        assert_eq!(
            (back.stroke(), back.fade, back.breath, &back.lead),
            (set.stroke(), set.fade, set.breath, &set.lead)
        );
        let mute = |settings: &mut Settings| settings.muted[Group::Breath as usize] = true;
        let [_, back] = saved(text, None, mute, None);
        assert_eq!(
            (back.cues.to_string(), back.breath),
            ("arm, kick".into(), None)
        );
    }

    #[test]
    fn what_no_hand_changed_is_saved_as_it_was() {
        for rate in [
            "\"1.03 s/stroke\"",
            "\"54.123456789 spm\"",
            "{ from = \"50 spm\", to = \"60 spm\", by = \"repeat\" }",
        ] {
            let text = format!("[[set]]\nswim = \"45 s\"\nrepeats = 3\nrate = {rate}\n");
            let [set, back] = saved(&text, None, |_| {}, None);
            assert_eq!(back.rate, set.rate);
        }
        let six = "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\nkick = \"six-beat\"\n";
        let [set, back] = saved(six, None, |_| {}, None);
        assert_eq!(back.cues, set.cues);
    }

    #[test]
    fn a_lead_is_saved_as_it_was_and_none_too() {
        let swimmer = "name = \"Alex\"\nlead = \"40 ms\"\n";
        for lead in [
            "\"40 ms\"",
            "\"0 ms\"",
            "{ arm = \"10 ms\", kick = \"40 ms\" }",
        ] {
            let text = format!(
                "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\nlead = {lead}\n\
                 cues = [\"arm\", \"breath\"]\nbreath = {{ every = 2 }}\n"
            );
            let [set, back] = saved(&text, Some(swimmer), |_| {}, None);
            assert_eq!(back.lead, set.lead);
        }
    }
}
