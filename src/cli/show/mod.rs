//! `show`: what a session will do, before anyone swims it.

mod cycle;
mod files;
mod says;

use crate::cli::shared::args::{SessionArgs, SpeechArgs};
use std::fmt::Write as _;
use std::io::{BufWriter, StdoutLock, Write};

use serde_json::{Value, json};

use self::cycle::{apart, apart_ms, catch_in_words, going_in_words, picture};
use self::files::{FileArgs, written};
use crate::cli::shared::load::{Loaded, Sounds, load};
use crate::cli::shared::out;
use crate::error::Result;
use crate::export::{Job, TrackForm};
use crate::model::cue::{CUE_KINDS, CueKind};
use crate::model::resolve::{Origin, Set};
use crate::model::session::{Gap, RepeatSwim};
use crate::model::swimmer::{Measured, Swimmer};
use crate::model::value::Value as _;
use crate::model::words;
use crate::timeline::Repeat;
use crate::units::{Fix, Length, Time, exact, to_f64};

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
    let Loaded { session, swimmer } = loaded;
    let sounds = Sounds::new(&args.voice, &session)?;
    let job = sounds.outline(session, args.sample_rate.unwrap_or(players))?;
    for note in sounds.notes() {
        out::note(&format!("note: {note}"));
    }
    if args.files.wav.is_some() || args.files.svg.is_some() {
        return written(&args.files, &sounds, &job);
    }
    if args.events {
        return events(&job, out::stdout()?).map_err(|error| out::broken(&error));
    }
    if args.json {
        return out::json(&in_json(&job));
    }
    out::result(&table(&job, swimmer.as_ref(), args))
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
        let side = event.side.map_or("both", |side| match side {
            crate::model::cue::Side::Left => "left",
            crate::model::cue::Side::Right => "right",
        });
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

/// The repeats of a set.
fn repeats_of(job: &Job, index: usize) -> &[Repeat] {
    let of_set = |repeat: &Repeat| repeat.set == index;
    let repeats = &job.schedule.repeats;
    let start = repeats.iter().position(of_set).unwrap_or(0);
    let end = repeats
        .iter()
        .rposition(of_set)
        .map_or(start, |last| last + 1);
    &repeats[start..end]
}

fn table(job: &Job, swimmer: Option<&Swimmer>, args: &ShowArgs) -> String {
    let session = &job.session;
    let mut text = format!("{}\n", fill(&session.title, ""));
    if let Some(whom) = &session.for_whom {
        let _ = writeln!(text, "{}", fill(&format!("For {whom}."), ""));
    }
    if let Some(swimmer) = swimmer {
        let rate = swimmer
            .rate
            .as_ref()
            .map(|rate| format!(", own rate {}", rate.both_ways()));
        let swimmer = format!("Swimmer: {}{}", swimmer.name, rate.unwrap_or_default());
        let _ = writeln!(text, "{}", fill(&swimmer, ""));
    }
    text.push('\n');
    for (index, set) in session.sets.iter().enumerate() {
        text.push_str(&row(
            index,
            session.sets.len(),
            set,
            repeats_of(job, index),
            args,
        ));
    }
    let _ = writeln!(text, "\n{}", totals(job));
    for warning in session.warnings.iter().chain(&job.schedule.warnings) {
        let _ = writeln!(text, "{}", hang("Warning: ", warning));
    }
    text.push_str(&says::table(job, args.detail));
    text.push_str(&cycles(
        job,
        swimmer.and_then(|swimmer| swimmer.measured.as_ref()),
    ));
    if args.detail {
        text.push_str(&detail(job));
    }
    let _ = writeln!(text, "\n{}", fill(words::RATE_CAUTION, ""));
    if session.sets.iter().any(|set| set.heard_breath().is_some()) {
        let _ = writeln!(text, "{}", fill(words::CAUTIONS[1], ""));
    }
    text
}

/// As wide as a key of `--explain`.
const INDENT: &str = "                          ";

/// One set: a line of facts, what the feet do, what sounds, what is said.
fn row(index: usize, sets: usize, set: &Set, repeats: &[Repeat], args: &ShowArgs) -> String {
    let swims: Vec<String> = repeats
        .iter()
        .map(|repeat| Time::from_s(repeat.swim_s()).rounded())
        .collect();
    let each = match (&set.swim, swims.first(), swims.last()) {
        (RepeatSwim::Distance(_), Some(first), Some(last)) if first != last => {
            format!("  {first} to {last} each")
        }
        (RepeatSwim::Distance(_), Some(first), _) => format!("  {first} each"),
        _ => String::new(),
    };
    // Rest is what is left of a send-off (docs/rules.md): the least of it, where swims differ.
    let longest = repeats.iter().map(Repeat::swim_s).max();
    let left = match (set.gap(), longest) {
        (Gap::SendOff(send_off), Some(longest)) => {
            format!("  {} rest", Time::from_s(send_off.s() - longest).rounded())
        }
        _ => String::new(),
    };
    let head = format!(
        "{:>2}  {}: {}  {}{each}{left}",
        index + 1,
        set.name,
        words::notation(set),
        set.rate.short()
    );
    let mut text = format!("{}\n", hang_at(&head, "    "));
    let foot_line = match set.kick {
        crate::model::kick::Kick::Pull => words::kick(set),
        _ => format!("{}: {}", words::kick(set), words::feet(set)),
    };
    let mut sounds = format!("sounds: {}", words::cues(set));
    let last = index + 1 == sets;
    if let Some(after) = set.rest_after.as_ref().filter(|_| !last) {
        let _ = write!(sounds, "; {after} rest after the set");
    }
    for line in [foot_line, sounds] {
        let _ = writeln!(text, "{}", fill(&line, "    "));
    }
    if let Some(say) = &set.say {
        let _ = writeln!(text, "{}", fill(&format!("\"{say}\""), "    "));
    }
    if args.explain {
        // What is said stands above.
        for (key, value, origin) in set.explain().iter().filter(|(key, ..)| *key != "say") {
            let first = format!("      {key:<18}");
            let options = textwrap::Options::new(79)
                .initial_indent(&first)
                .subsequent_indent(INDENT);
            let told = match origin {
                Origin::Flag => format!("{value}  (flag --{})", flag_of(key)),
                origin => format!("{value}  ({origin})"),
            };
            let _ = writeln!(text, "{}", textwrap::fill(&told, options));
        }
    }
    text
}

/// The flag that says a key.
fn flag_of(key: &str) -> &str {
    if key == "rate" { "stroke-rate" } else { key }
}

/// Total time and distance.
fn totals(job: &Job) -> String {
    let total = Time::from_s(job.schedule.total_s);
    let swims = job.schedule.repeats.len();
    let distance = distance_m(job);
    let swum: Fix = job.schedule.repeats.iter().map(Repeat::swim_s).sum();
    let by_distance = if distance == exact(0) {
        String::new()
    } else {
        format!(", {}", distance_in_words(job, distance))
    };
    format!(
        "Total {}: {swims} {}{by_distance}, {} with cues, {} before the first start",
        total.rounded(),
        if swims == 1 { "repeat" } else { "repeats" },
        Time::from_s(swum).rounded(),
        job.session.lead_in.rounded()
    )
}

fn distance_in_words(job: &Job, metres: Fix) -> String {
    let all_yards = job.session.sets.iter().all(|set| match &set.swim {
        RepeatSwim::Distance(length) => length.in_yards(),
        RepeatSwim::Time(_) => true,
    });
    if all_yards {
        format!("{:.0} yd", to_f64(&metres) / 0.9144)
    } else {
        format!("{:.0} m", to_f64(&metres))
    }
}

/// Metres over all swims by distance.
fn distance_m(job: &Job) -> Fix {
    let of_set = |set: &Set| match &set.swim {
        RepeatSwim::Distance(length) => *Length::times(length, set.repeats).metres(),
        RepeatSwim::Time(_) => exact(0),
    };
    job.session.sets.iter().map(of_set).sum()
}

/// A picture for each way of cycling that the session has, with the sets that swim it.
fn cycles(job: &Job, measured: Option<&Measured>) -> String {
    let mut text = String::new();
    let mut seen: Vec<&Set> = Vec::new();
    for (index, set) in job.session.sets.iter().enumerate() {
        let same = |other: &&Set| {
            (other.pairing, other.kick, other.three_on) == (set.pairing, set.kick, set.three_on)
                && other.stroke() == set.stroke()
        };
        if seen.iter().any(same) {
            continue;
        }
        seen.push(set);
        let rate = &repeats_of(job, index)[0].from;
        let ms = to_f64(&rate.cycle_s()) * 1000.0;
        let which = match job.session.sets.len() {
            1 => String::new(),
            _ => format!(", from set {}", index + 1),
        };
        let _ = writeln!(
            text,
            "\nOne cycle at {}, {ms:.0} ms{which}\n",
            rate.both_ways()
        );
        text.push_str(&picture(set, rate));
        let mut facts = catch_in_words(set);
        if let Some(sides) = measured.and_then(|measured| measured.catch_after_entry.as_ref()) {
            let when = measured
                .and_then(|measured| measured.date.as_deref())
                .unwrap_or("no date");
            let at = measured.and_then(|measured| measured.rate.as_ref());
            let at = at
                .map(|rate| format!(" at {}", rate.short()))
                .unwrap_or_default();
            let sides = sides.explain();
            let _ = write!(facts, " Measured {when}{at}: {sides}.");
        }
        if let Some(apart) = apart(set, rate) {
            let _ = write!(facts, " {apart}");
        }
        let _ = writeln!(text, "{}", fill(&facts, "  "));
    }
    text
}

/// Each repeat's times, walls and rates, and what is the same for the whole track.
fn detail(job: &Job) -> String {
    let mut text = String::from("\nEach swim: set.repeat, start, end, rate, predicted walls\n");
    for repeat in &job.schedule.repeats {
        let clock = |s: &Fix| Time::from_s(*s).rounded();
        let rate = if repeat.from == repeat.to {
            repeat.from.short()
        } else {
            format!("{} to {}", repeat.from.short(), repeat.to.short())
        };
        let walls = match (&repeat.wall_every_s, repeat.walls) {
            (Some(every), 1) => format!("1 wall, after {}", clock(every)),
            (Some(every), 2..) => format!("{} walls, {} apart", repeat.walls, clock(every)),
            _ => "no walls".into(),
        };
        let _ = writeln!(
            text,
            "  {:>2}.{:<3} {:>7} {:>7}  {rate:<22} {walls}",
            repeat.set + 1,
            repeat.number,
            clock(&repeat.start_s),
            clock(&repeat.end_s)
        );
    }
    let going: Vec<String> = job.session.sets.iter().filter_map(going_in_words).collect();
    if let Some(first) = going.first() {
        let _ = writeln!(text, "Times are predicted from {first}");
    }
    let set = &job.session.sets[0];
    let _ = writeln!(
        text,
        "Set 1: κ {}, ε {}; track gain {:.3}",
        set.catch_after_entry.explain(),
        to_f64(&set.right_entry),
        job.gain()
    );
    text
}

fn in_json(job: &Job) -> Value {
    let session = &job.session;
    let number = |value: &Fix| out::micro(to_f64(value));
    let set = |(index, set): (usize, &Set)| {
        let repeats = repeats_of(job, index);
        let (from, to) = set.rate.ends();
        let lead_ms = |kind| number(&(set.lead.of(kind).s() * exact(1000)));
        let mut value = json!({
            "name": set.name,
            "repeats": set.repeats,
            "rate_from_spm": number(from.spm()),
            "rate_to_spm": number(to.spm()),
            "pairing": set.pairing.word(),
            "kick": set.kick.word(),
            "three_on": set.three_on.to_string(),
            "first_arm": set.first_arm.to_string(),
            "cues": CUE_KINDS.into_iter().filter(|kind| set.cues.has(*kind)).map(CueKind::word).collect::<Vec<_>>(),
            "catch_after_entry_cycle": {
                "left": number(&set.catch_after_entry.left),
                "right": number(&set.catch_after_entry.right),
            },
            "right_entry_cycle": number(&set.right_entry),
            "feet": words::feet(set),
            "walls": set.walls.word(),
            "push_off_s": number(set.push_off.s()),
            "breath": set.heard_breath().map(|breath| json!({ "every": breath.every, "side": breath.side.to_string() })),
            "fade": set.fade.map(|fade| json!({ "on": fade.on, "off": fade.off, "per": fade.per.word() })),
            "lead_ms": {
                "arm": lead_ms(CueKind::Arm),
                "kick": lead_ms(CueKind::Kick),
                "breath": lead_ms(CueKind::Breath),
            },
            "rest_after_s": set.rest_after.as_ref().map(|rest| number(rest.s())),
            "say": set.say,
            "starts_s": repeats.iter().map(|repeat| number(&repeat.start_s)).collect::<Vec<_>>(),
            "swims_s": repeats.iter().map(|repeat| number(&repeat.swim_s())).collect::<Vec<_>>(),
        });
        if from == to {
            value["rate_spm"] = number(from.spm());
        }
        match &set.swim {
            RepeatSwim::Distance(length) => value["distance_m"] = number(length.metres()),
            RepeatSwim::Time(time) => value["time_s"] = number(time.s()),
        }
        match &set.gap() {
            Gap::Rest(time) => value["rest_s"] = number(time.s()),
            Gap::SendOff(time) => value["send_off_s"] = number(time.s()),
        }
        if let Some(ms) = apart_ms(set, &repeats[0].from) {
            value["pairings_apart_ms"] = out::micro(ms);
        }
        value
    };
    json!({
        "format": 1,
        "title": session.title,
        "for": session.for_whom,
        "swimmer": session.swimmer,
        "total_s": number(&job.schedule.total_s),
        "distance_m": number(&distance_m(job)),
        "sets": session.sets.iter().enumerate().map(set).collect::<Vec<_>>(),
        "says": says::in_json(job),
        "speech_notes": job.spoken.said.notes,
        "warnings": session.warnings.iter().chain(&job.schedule.warnings).collect::<Vec<_>>(),
        "caution": words::RATE_CAUTION,
    })
}

fn fill(text: &str, indent: &str) -> String {
    textwrap::fill(
        text,
        textwrap::Options::new(79)
            .initial_indent(indent)
            .subsequent_indent(indent),
    )
}

fn hang_at(text: &str, indent: &str) -> String {
    textwrap::fill(text, textwrap::Options::new(79).subsequent_indent(indent))
}

fn hang(label: &str, text: &str) -> String {
    textwrap::fill(
        text,
        textwrap::Options::new(79)
            .initial_indent(label)
            .subsequent_indent("  "),
    )
}
