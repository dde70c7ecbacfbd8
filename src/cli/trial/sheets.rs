//! The files of a trial: what is practised, what is swum on each day, what is to be filled in.

use super::verdict::{feet, full};
use crate::cli::shared::out;
use crate::error::{Error, Result};
use crate::files::{parse_session, session_text, set_field};
use crate::model::kick::Pairing;
use crate::model::log::Row;
use crate::model::resolve::{Resolved, Set, resolve};
use crate::model::session::RepeatSwim;
use crate::model::swimmer::Swimmer;
use crate::model::trial_looks::TrialLooks;
use crate::model::wishes::Wishes;
use crate::timeline::{Schedule, Timeline};

/// A file of the trial: its name in the folder and its text.
pub struct TrialFile {
    pub name: String,
    pub text: String,
}

/// A session of a trial as a file. Every value that could change between two days stands in it,
/// so that both days sound alike.
pub fn sheet(name: String, comment: &[String], session: &Resolved) -> TrialFile {
    TrialFile {
        name,
        text: session_text(comment, session),
    }
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

/// One set of a trial: what all swims share, with a name, a pairing and words of its own.
fn set_of(base: &Resolved, name: String, pairing: Pairing, say: String) -> Set {
    Set {
        name,
        pairing,
        say: Some(say),
        ..base.sets[0].clone()
    }
}

/// The session in which one pairing is learnt before it counts.
pub fn practise(name: &str, base: &Resolved, pairing: Pairing) -> TrialFile {
    let set = |name: &str, say: String| {
        let name = format!("{name}, {}", short_name(pairing).to_lowercase());
        Set {
            repeats: 4,
            ..set_of(base, name, pairing, say)
        }
    };
    let find = format!(
        "Easy. {}. Listen for two cycles, then let the kick join.",
        feet(pairing)
    );
    let session = Resolved {
        title: format!("{name}: practise {}", full(pairing)),
        for_whom: Some("whoever is about to try both pairings".into()),
        sets: vec![
            Set {
                swim: RepeatSwim::Distance(base.sets[0].pool.clone()),
                ..set("Find it", find)
            },
            set("Keep it", format!("The same. {}.", feet(pairing))),
        ],
        ..base.clone()
    };
    let comment = [
        "Before the trial: swim each of the two practise sessions on two or three days,".into(),
        "the two as often as each other, so that neither is new when it counts.".into(),
    ];
    sheet(
        format!("practise-{}.toml", pairing.word()),
        &comment,
        &session,
    )
}

/// What stands at the top of each day's file.
pub fn day_comment(seed: u64, looks: &TrialLooks) -> [String; 3] {
    [
        format!("Blocks of four swims, there and back again, their order drawn with seed {seed}."),
        "Change nothing: same rate, same rest, and note every swim in log.csv.".into(),
        format!("Looked at {looks}."),
    ]
}

/// The session of one day of the trial: every swim a set of its own, all with the same rest.
pub fn day(name: &str, base: &Resolved, number: usize, swims: &[Pairing]) -> Resolved {
    let sets = swims.iter().enumerate().map(|(at, pairing)| {
        let say = format!("Swim {} of {}. {}.", at + 1, swims.len(), feet(*pairing));
        let name = format!("{} {}", short_name(*pairing), at + 1);
        set_of(base, name, *pairing, say)
    });
    Resolved {
        title: format!("{name}: day {number}"),
        for_whom: Some("whoever has practised both pairings on two or three days".into()),
        trial: Some(name.to_string()),
        sets: sets.collect(),
        ..base.clone()
    }
}

/// One row a swim, with all that is known before it.
pub fn day_rows(
    name: &str,
    swimmer: Option<&Swimmer>,
    day: &Resolved,
    date: &str,
    looks: &TrialLooks,
) -> Result<Vec<Row>> {
    let row = |set: &Set| {
        let mut row = Row {
            swimmer: swimmer
                .map(|swimmer| swimmer.name.clone())
                .unwrap_or_default(),
            session: day.title.clone(),
            set: set.name.clone(),
            repeat: Some(1),
            distance: match &set.swim {
                RepeatSwim::Distance(distance) => Some(distance.clone()),
                RepeatSwim::Time(_) => None,
            },
            rate_cued: Some(set.rate.ends().0.clone()),
            pairing: Some(set.pairing),
            kick: Some(set.kick),
            trial: name.to_string(),
            trial_looks: Some(looks.clone()),
            ..Row::default()
        };
        set_field(&mut row, "date", date)
            .map_err(|why| Error::input(why).at("--on").example("--on 2026-11-27"))?;
        Ok(row)
    };
    day.sets.iter().map(row).collect()
}

/// What was written must hold as any session does: read, decided and laid out.
pub fn lay_out(sheet: &TrialFile) -> Result<()> {
    let session = parse_session(&sheet.name, &sheet.text)?;
    let resolved = resolve(&session, None, &Wishes::default())?;
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
