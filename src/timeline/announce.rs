//! What a track says before a repeat, as parts by how soon they may be left out.

use super::schedule::{Repeat, Schedule};
use crate::model::arms::Arms;
use crate::model::cue::{CueKind, Side, Voice};
use crate::model::kick::{Kick, Pairing};
use crate::model::phrases::{CLAUSE_MS, PhrasePart, Phrases, slug};
use crate::model::resolve::{Resolved, Set};
use crate::model::session::{RampBy, RatePlan, RepeatSwim};
use crate::model::words;
use crate::units::{Rate, exact};

/// The announcement of one repeat.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Announcement {
    /// What the coach wrote, sentence by sentence; empty where it cannot be spoken.
    pub say: Vec<Vec<PhrasePart>>,
    /// The set's name, or its number.
    pub name: Vec<PhrasePart>,
    /// How many times how far.
    pub swim: Vec<PhrasePart>,
    /// The rate, where it is said.
    pub rate: Vec<PhrasePart>,
    /// The number of the rate alone, where it is another than before.
    pub new_rate: Vec<PhrasePart>,
    /// Pairing and what must be known beforehand, or how many are to go.
    pub rest: Vec<PhrasePart>,
    /// The kick.
    pub kick: Vec<PhrasePart>,
    /// Sentences that have no clip.
    pub unspoken: Vec<String>,
}

impl Announcement {
    /// All but names, the coach's own words and the kick.
    pub fn facts(&self) -> Vec<PhrasePart> {
        clauses([self.swim.clone(), self.rate.clone(), self.rest.clone()])
    }

    /// The rate where it is new, in full: what must not be lost.
    pub fn news(&self) -> Vec<PhrasePart> {
        if self.new_rate.is_empty() {
            Vec::new()
        } else {
            self.rate.clone()
        }
    }
}

/// Clauses one after another, with pauses between.
pub(super) fn clauses(clauses: impl IntoIterator<Item = Vec<PhrasePart>>) -> Vec<PhrasePart> {
    let mut all = Vec::new();
    for clause in clauses {
        if !all.is_empty() && !clause.is_empty() {
            all.push(PhrasePart::Pause(CLAUSE_MS));
        }
        all.extend(clause);
    }
    all
}

/// The sentences of a text that have a word to say, and those that have none.
pub fn sentences(text: &str) -> (Vec<&str>, Vec<&str>) {
    text.split_inclusive(['.', '!', '?', ';', ':'])
        .map(str::trim)
        .filter(|sentence| !sentence.is_empty())
        .partition(|sentence| !slug(sentence).is_empty())
}

/// The opening of a track: which ear is which, a hand and a foot, and what keeps a swimmer safe.
/// The first of the two is left out where there is no room for both.
pub(super) fn opening(session: &Resolved, phrases: &Phrases) -> [Vec<PhrasePart>; 2] {
    let has = |kind| session.sets.iter().any(|set| set.cues.has(kind));
    let mut check = Vec::new();
    for (key, side) in [("left", Side::Left), ("right", Side::Right)] {
        for part in phrases.say(key, &[]) {
            check.push(match part {
                PhrasePart::Words { words, .. } => PhrasePart::Words {
                    words,
                    ear: Some(side),
                },
                other => other,
            });
        }
        check.push(PhrasePart::Pause(2 * CLAUSE_MS));
    }
    for (key, kind, side) in [
        ("hand", CueKind::Arm, Side::Left),
        ("foot", CueKind::Kick, Side::Right),
    ] {
        if has(kind) {
            let voice = Voice {
                kind,
                side: Some(side),
            };
            check.extend(phrases.say(key, &[]));
            check.push(PhrasePart::Pause(CLAUSE_MS / 2));
            check.push(PhrasePart::Cue(voice));
            check.push(PhrasePart::Pause(2 * CLAUSE_MS));
        }
    }
    let is_dry = session.sets.iter().all(has_no_push_off);
    let mut safety = phrases.say(if is_dry { "safety_dry" } else { "safety" }, &[]);
    if session.bed.is_some() {
        safety = clauses([safety, phrases.say("bed", &[])]);
    }
    [check, safety]
}

/// What is said before repeat `index` of the schedule. `known` are the clips there are.
pub(super) fn announcement(
    session: &Resolved,
    schedule: &Schedule,
    index: usize,
    phrases: &Phrases,
    known: &impl Fn(&str) -> bool,
) -> Announcement {
    let repeat = &schedule.repeats[index];
    let set = &session.sets[repeat.set];
    let first = repeat.number == 1;
    let before = index.checked_sub(1).map(|before| &schedule.repeats[before]);
    let late = match index {
        1 => phrases.say("late", &[]),
        _ => Vec::new(),
    };
    let compared = |repeat: &Repeat| set.compared(repeat.number).is_some();
    let is_new = before.is_none_or(|before| before.from != repeat.from)
        || !first && before.is_some_and(compared)
        || compared(repeat);
    let rate = rate(set, repeat, phrases);
    let new_rate = if is_new && !rate.is_empty() {
        spoken_rate(&repeat.from, phrases)
    } else {
        Vec::new()
    };
    if !first {
        return Announcement {
            rate: if is_new { rate } else { Vec::new() },
            new_rate,
            rest: clauses([to_go(set, repeat, phrases), late]),
            ..Announcement::default()
        };
    }
    let (say, unspoken) = spoken(set.say.as_deref(), known);
    Announcement {
        say,
        unspoken,
        name: name(set, repeat.set + 1, phrases, known),
        swim: swim(set, phrases),
        rate,
        new_rate,
        rest: clauses([
            arms(set, phrases),
            feet(set, phrases),
            notices(set, phrases),
            late,
        ]),
        kick: kick(set, phrases),
    }
}

/// The sentences that have a clip, and those that have none.
fn spoken(say: Option<&str>, known: &impl Fn(&str) -> bool) -> (Vec<Vec<PhrasePart>>, Vec<String>) {
    let (with_words, without) = sentences(say.unwrap_or_default());
    let (spoken, unspoken): (Vec<&str>, Vec<&str>) =
        (with_words.into_iter()).partition(|sentence| known(&slug(sentence)));
    let spoken = spoken.into_iter();
    (
        spoken
            .map(|sentence| vec![PhrasePart::words(sentence)])
            .collect(),
        unspoken
            .into_iter()
            .chain(without)
            .map(String::from)
            .collect(),
    )
}

fn name(
    set: &Set,
    number: usize,
    phrases: &Phrases,
    known: &impl Fn(&str) -> bool,
) -> Vec<PhrasePart> {
    if known(&slug(&set.name)) {
        vec![PhrasePart::words(&set.name)]
    } else {
        let number = exact(number as i64);
        phrases.say("set", &[phrases.number(&number)])
    }
}

fn swim(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    let swim = phrases.swim(&set.swim);
    match set.repeats {
        1 => phrases.say("once", &[swim]),
        n => {
            let number = phrases.number(&exact(n as i64));
            phrases.say("repeats", &[number, swim])
        }
    }
}

fn to_go(set: &Set, repeat: &Repeat, phrases: &Phrases) -> Vec<PhrasePart> {
    match set.repeats - repeat.number + 1 {
        1 => phrases.say("last", &[]),
        n => phrases.say("to_go", &[phrases.number(&exact(n as i64))]),
    }
}

/// A rate to the nearest half: nobody hears or swims finer steps.
fn spoken_rate(rate: &Rate, phrases: &Phrases) -> Vec<PhrasePart> {
    let halves = i64::try_from((rate.spm() * exact(2)).nearest()).unwrap_or(0);
    phrases.number(&(exact(halves) / exact(2)))
}

fn rate(set: &Set, repeat: &Repeat, phrases: &Phrases) -> Vec<PhrasePart> {
    if !words::has_cues(set) {
        return Vec::new();
    }
    if let Some(rate) = set.compared(repeat.number) {
        return phrases.say("compare", &[spoken_rate(rate, phrases)]);
    }
    let [from, to] = [&repeat.from, &repeat.to].map(|rate| spoken_rate(rate, phrases));
    match &set.rate {
        RatePlan::Ramp {
            by: RampBy::Time, ..
        } if from != to => {
            let rises = repeat.to.spm() > repeat.from.spm();
            phrases.say(if rises { "rising" } else { "falling" }, &[from, to])
        }
        _ => phrases.say("rate", &[from]),
    }
}

fn arms(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    match set.arms {
        Arms::Both => Vec::new(),
        Arms::Left => phrases.say("left_arm", &[]),
        Arms::Right => phrases.say("right_arm", &[]),
    }
}

/// Which foot goes with which arm; an arm that rests, or that no cue tells of, goes with none.
fn feet(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    if set.kick == Kick::Pull {
        return phrases.say("pull", &[]);
    }
    let keys = match set.pairing {
        Pairing::SameSide => [(Side::Right, "right_catch"), (Side::Left, "left_catch")],
        Pairing::OppositeSide => [(Side::Left, "left_entry"), (Side::Right, "right_entry")],
    };
    let arms_sound = set.cues.has(CueKind::Arm);
    clauses(
        (keys.into_iter())
            .filter(|(arm, _)| arms_sound && set.arms.swims(*arm))
            .map(|(_, key)| phrases.say(key, &[])),
    )
}

fn kick(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    let key = match (set.kick, set.three_on) {
        (Kick::Pull, _) => return Vec::new(),
        (Kick::TwoBeat, _) => "two_beat",
        (Kick::FourBeat, Side::Left) => "four_beat_left",
        (Kick::FourBeat, Side::Right) => "four_beat_right",
        (Kick::SixBeat, _) => "six_beat",
    };
    if set.cues.has(CueKind::Kick) {
        phrases.say(key, &[])
    } else {
        Vec::new()
    }
}

/// Whether a set starts without a push-off: on land, or with a board in hand.
fn has_no_push_off(set: &Set) -> bool {
    set.push_off.s().is_zero()
}

/// What a swimmer must know beforehand: silence, a swim by time, breath.
fn notices(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    let by_time = matches!(set.swim, RepeatSwim::Time(_));
    let wanted = [
        ("no_cues", !words::has_cues(set)),
        ("fade", set.fade.is_some()),
        // On land there is no length to finish.
        ("by_time", by_time && !has_no_push_off(set)),
        ("by_time_dry", by_time && has_no_push_off(set)),
        ("breath", set.heard_breath().is_some()),
    ];
    clauses(
        (wanted.into_iter())
            .filter(|(_, wanted)| *wanted)
            .map(|(key, _)| phrases.say(key, &[])),
    )
}
