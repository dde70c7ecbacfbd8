//! What a track says before a repeat, as parts by how soon they may be left out.

use super::schedule::{Repeat, Schedule};
use crate::model::arms::Arms;
use crate::model::cue::{CueKind, Side, Voice};
use crate::model::kick::{Kick, Pairing};
use crate::model::phrases::{CLAUSE_MS, PhrasePart, Phrases, slug};
use crate::model::resolve::{Resolved, Set};
use crate::model::session::{RampBy, RatePlan, RepeatSwim};
use crate::model::words;

/// The announcement of one repeat.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Announcement {
    /// What the coach wrote, sentence by sentence; empty where it cannot be spoken.
    pub say: Vec<Vec<PhrasePart>>,
    /// The set's name, or its number.
    pub name: Vec<PhrasePart>,
    /// Swim, rate, pairing and what must be known before it.
    pub facts: Vec<PhrasePart>,
    /// The kick.
    pub kick: Vec<PhrasePart>,
    /// Whether a sentence has no clip.
    pub unspoken: bool,
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
    let mut safety = phrases.say("safety", &[]);
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
    if !first {
        let compared = |repeat: &Repeat| set.compared(repeat.number).is_some();
        let changed = before
            .filter(|before| before.from != repeat.from || compared(before) || compared(repeat));
        let rate = changed.map(|_| rate(set, repeat, phrases));
        let facts = [rate.unwrap_or_default(), to_go(set, repeat, phrases), late];
        return Announcement {
            facts: clauses(facts),
            ..Announcement::default()
        };
    }
    let (say, unspoken) = spoken(set.say.as_deref(), known);
    Announcement {
        say,
        unspoken,
        name: name(set, repeat.set + 1, phrases, known),
        facts: clauses([
            swim(set, phrases),
            rate(set, repeat, phrases),
            arms(set, phrases),
            feet(set, phrases),
            notices(set, phrases),
            late,
        ]),
        kick: kick(set, phrases),
    }
}

/// The sentences that have a clip, and whether any has none.
fn spoken(say: Option<&str>, known: &impl Fn(&str) -> bool) -> (Vec<Vec<PhrasePart>>, bool) {
    let (with_words, without) = sentences(say.unwrap_or_default());
    let all = with_words.len() + without.len();
    let spoken: Vec<Vec<PhrasePart>> = (with_words.into_iter())
        .filter(|sentence| known(&slug(sentence)))
        .map(|sentence| vec![PhrasePart::words(sentence)])
        .collect();
    let unspoken = spoken.len() < all;
    (spoken, unspoken)
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
        let number = crate::units::exact(number as i64);
        phrases.say("set", &[phrases.number(&number)])
    }
}

fn swim(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    let swim = phrases.swim(&set.swim);
    match set.repeats {
        1 => phrases.say("once", &[swim]),
        n => {
            let number = phrases.number(&crate::units::exact(n as i64));
            phrases.say("repeats", &[number, swim])
        }
    }
}

fn to_go(set: &Set, repeat: &Repeat, phrases: &Phrases) -> Vec<PhrasePart> {
    match set.repeats - repeat.number + 1 {
        1 => phrases.say("last", &[]),
        n => phrases.say("to_go", &[phrases.number(&crate::units::exact(n as i64))]),
    }
}

fn rate(set: &Set, repeat: &Repeat, phrases: &Phrases) -> Vec<PhrasePart> {
    let number = |rate: &crate::units::Rate| phrases.number(rate.spm());
    if !words::has_cues(set) {
        return Vec::new();
    }
    if let Some(rate) = set.compared(repeat.number) {
        return phrases.say("compare", &[number(rate)]);
    }
    match &set.rate {
        RatePlan::Ramp {
            by: RampBy::Time, ..
        } if repeat.from != repeat.to => {
            let rises = repeat.to.spm() > repeat.from.spm();
            let key = if rises { "rising" } else { "falling" };
            phrases.say(key, &[number(&repeat.from), number(&repeat.to)])
        }
        _ => phrases.say("rate", &[number(&repeat.from)]),
    }
}

fn arms(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    match set.arms {
        Arms::Both => Vec::new(),
        Arms::Left => phrases.say("left_arm", &[]),
        Arms::Right => phrases.say("right_arm", &[]),
    }
}

fn feet(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    if set.kick == Kick::Pull {
        return phrases.say("pull", &[]);
    }
    let sounds = [CueKind::Arm, CueKind::Kick].map(|kind| set.cues.has(kind));
    match (sounds.contains(&true), set.pairing) {
        (false, _) => Vec::new(),
        (true, Pairing::SameSide) => phrases.say("same_side", &[]),
        (true, Pairing::OppositeSide) => phrases.say("opposite_side", &[]),
    }
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

/// What a swimmer must know beforehand: silence, a swim by time, breath.
fn notices(set: &Set, phrases: &Phrases) -> Vec<PhrasePart> {
    let wanted = [
        ("no_cues", !words::has_cues(set)),
        ("fade", set.fade.is_some()),
        ("by_time", matches!(set.swim, RepeatSwim::Time(_))),
        ("breath", set.heard_breath().is_some()),
    ];
    clauses(
        (wanted.into_iter())
            .filter(|(_, wanted)| *wanted)
            .map(|(key, _)| phrases.say(key, &[])),
    )
}
