//! The files of a trial: what is practised, what is swum on each day, what is to be filled in.

use super::super::out;
use super::words::{feet, full};
use crate::error::{Error, Result};
use crate::files::{Course, TrialSet, course_text, parse_session, set_field};
use crate::model::kick::Pairing;
use crate::model::layer::Layer;
use crate::model::log::Row;
use crate::model::resolve::{Set, resolve};
use crate::model::session::Swim;
use crate::model::swimmer::Swimmer;
use crate::timeline::{Schedule, Timeline};
use crate::units::Time;

/// What all swims of a trial share.
pub struct Base {
    /// A decided set.
    pub set: Set,
    /// The swimmer's own sounds and words: they would change with the swimmer's file.
    pub sounds: Option<String>,
}

/// A file of the trial: its name in the folder and its text.
pub struct Sheet {
    pub name: String,
    pub text: String,
}

/// Blocks day by day, as even as can be.
pub fn spread(blocks: &[[Pairing; 4]], days: usize) -> Vec<Vec<Pairing>> {
    let (each, more) = (blocks.len() / days, blocks.len() % days);
    let mut rest = blocks;
    (0..days)
        .map(|day| {
            let (today, later) = rest.split_at(each + usize::from(day < more));
            rest = later;
            today.concat()
        })
        .collect()
}

/// How presets call a set of this pairing.
fn short_name(pairing: Pairing) -> &'static str {
    match pairing {
        Pairing::SameSide => "Own side",
        Pairing::OppositeSide => "Other side",
    }
}

/// The session in which one pairing is learnt before it counts.
pub fn practise(name: &str, base: &Base, rest: &Time, pairing: Pairing) -> Sheet {
    let set = |name: &str, repeats, swim, say: String| TrialSet {
        name: format!("{name}, {}", short_name(pairing).to_lowercase()),
        repeats,
        swim,
        pairing,
        say,
    };
    let course = Course {
        comment: vec![
            "Before the trial: swim each of the two practise sessions on two or three days,".into(),
            "the two as often as each other, so that neither is new when it counts.".into(),
        ],
        title: format!("{name}: practise {}", full(pairing)),
        for_whom: "whoever is about to try both pairings".into(),
        base: &base.set,
        sounds: base.sounds.clone(),
        rest: rest.clone(),
        sets: vec![
            set(
                "Find it",
                4,
                Some(base.set.pool.to_string()),
                format!(
                    "Easy. {}. Listen for two cycles, then let the kick join.",
                    feet(pairing)
                ),
            ),
            set("Keep it", 4, None, format!("The same. {}.", feet(pairing))),
        ],
    };
    Sheet {
        name: format!("practise-{}.toml", pairing.word()),
        text: course_text(&course),
    }
}

/// The session of one day of the trial: every swim a set of its own, all with the same rest.
pub fn day<'a>(
    name: &str,
    base: &'a Base,
    rest: &Time,
    seed: u64,
    number: usize,
    swims: &[Pairing],
) -> Course<'a> {
    let sets = swims.iter().enumerate().map(|(at, pairing)| TrialSet {
        name: format!("{} {}", short_name(*pairing), at + 1),
        repeats: 1,
        swim: None,
        pairing: *pairing,
        say: format!("Swim {} of {}. {}.", at + 1, swims.len(), feet(*pairing)),
    });
    Course {
        comment: vec![
            format!(
                "Blocks of four swims, there and back again, their order drawn with seed {seed}."
            ),
            "Change nothing: same rate, same rest, and note every swim in log.csv.".into(),
        ],
        title: format!("{name}: day {number}"),
        for_whom: "whoever has practised both pairings on two or three days".into(),
        base: &base.set,
        sounds: base.sounds.clone(),
        rest: rest.clone(),
        sets: sets.collect(),
    }
}

/// One row a swim, with all that is known before it.
pub fn day_rows(
    name: &str,
    swimmer: Option<&Swimmer>,
    base: &Set,
    course: &Course,
    date: &str,
) -> Result<Vec<Row>> {
    let distance = match &base.swim {
        Swim::Distance(distance) => Some(distance.clone()),
        Swim::Time(_) => None,
    };
    let row = |set: &TrialSet| {
        let mut row = Row {
            swimmer: swimmer
                .map(|swimmer| swimmer.name.clone())
                .unwrap_or_default(),
            session: course.title.clone(),
            set: set.name.clone(),
            repeat: Some(1),
            distance: distance.clone(),
            rate_cued: Some(base.rate.ends().0.clone()),
            pairing: Some(set.pairing),
            kick: Some(base.kick),
            trial: name.to_string(),
            ..Row::default()
        };
        set_field(&mut row, "date", date)
            .map_err(|why| Error::input(why).at("--on").example("--on 2026-11-27"))?;
        Ok(row)
    };
    course.sets.iter().map(row).collect()
}

/// What was written must hold as any session does: read, decided and laid out.
pub fn lay_out(sheet: &Sheet) -> Result<()> {
    let session = parse_session(&sheet.name, &sheet.text)?;
    let resolved = resolve(&session, None, &Layer::default())?;
    let schedule = Schedule::new(&resolved)?;
    let timeline = Timeline::new(&resolved, &schedule, 44_100);
    for warning in resolved.warnings.iter().chain(&schedule.warnings) {
        out::note(&format!("warning: {}: {warning}", sheet.name));
    }
    match timeline.events().next() {
        Some(_) => Ok(()),
        None => Err(Error::failed("nothing would sound").at(&sheet.name)),
    }
}
