//! Speech laid into the free time before each start.
//!
//! In: a session, its schedule, a phrase table and how long each clip lasts. Out: what is said
//! and when, to the millisecond, at no particular sample rate. Speech begins 1 s or more after
//! the end before it, where files are cut, and ends 0.5 s or more before the first count; what
//! does not fit is shortened: the name goes first, then the kick, then all but the coach's own
//! words, which are cut next; a rate that is new stays to the end.

use std::collections::BTreeMap;
use std::ops::Range;

use super::announce::{Announcement, announcement, clauses, opening};
use super::schedule::{COUNTS, CUT_S, Schedule};
use crate::model::cue::Side;
use crate::model::phrases::{PhrasePart, Phrases, in_words};
use crate::model::resolve::Resolved;
use crate::model::visible::visible;
use crate::units::{Fix, ceil_u64, exact, floor_u64};

/// How long each clip lasts, ms, by [`PhrasePart::clip`]'s names.
pub type Lengths = BTreeMap<String, u64>;

/// A clip at its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedClip {
    /// From the start of the track, ms.
    pub at_ms: u64,
    /// Which clip.
    pub clip: String,
    /// In whose ear; none is both.
    pub ear: Option<Side>,
    /// How much of it is heard, ms, where it is cut.
    pub most_ms: Option<u64>,
}

/// One thing that is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Say {
    /// From the start of the track, ms.
    pub at_ms: u64,
    /// How long it lasts, ms.
    pub length_ms: u64,
    /// The free time in which it was laid, ms.
    pub room_ms: Range<u64>,
    /// The set that it is about, from 1.
    pub set: u32,
    /// The repeat, from 1.
    pub repeat: u32,
    /// Its clips.
    pub clips: Vec<PlacedClip>,
    /// What is said, for reading.
    pub text: String,
}

impl Say {
    /// The frame on which it starts.
    pub fn frame(&self, sample_rate_hz: u32) -> u64 {
        frame_at(self.at_ms, sample_rate_hz)
    }
}

/// The frame nearest to a time in ms, halves up.
pub fn frame_at(ms: u64, sample_rate_hz: u32) -> u64 {
    (ms * u64::from(sample_rate_hz) + 500) / 1000
}

/// Everything that a track says.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TrackSpeech {
    /// In order.
    pub says: Vec<Say>,
    /// What was shortened or left out.
    pub notes: Vec<String>,
}

/// The quiet between what is said and the counts.
const BEFORE_COUNTS_S: Fix = Fix::HALF;
/// Between the opening and what follows it, ms.
const APART_MS: u64 = 1_000;
/// What is left of a sentence that is cut lasts at least so long, ms.
const LEAST_CUT_MS: u64 = 1_500;

/// From where on something is said.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Since {
    /// The index of the first repeat that is announced.
    pub repeat: usize,
    /// Nothing is said before this, ms from the start of the track.
    pub ms: u64,
}

/// Lays out what a session says. The opening is said at the start of the track alone.
pub fn say(
    session: &Resolved,
    schedule: &Schedule,
    phrases: &Phrases,
    lengths: &Lengths,
    since: Since,
) -> TrackSpeech {
    let mut said = TrackSpeech::default();
    let mut unspoken: Vec<String> = Vec::new();
    let mut shortened: BTreeMap<(usize, &'static str), u64> = BTreeMap::new();
    for (index, repeat) in schedule.repeats.iter().enumerate().skip(since.repeat) {
        let mut room = room_ms(schedule, index);
        room.start = room.start.max(since.ms).min(room.end);
        let known = |clip: &str| lengths.contains_key(clip);
        let what = announcement(session, schedule, index, phrases, &known);
        for sentence in &what.unspoken {
            if !unspoken.contains(sentence) {
                unspoken.push(sentence.clone());
            }
        }
        let (set, number) = (repeat.set as u32 + 1, repeat.number as u32);
        let mut space = room.end.saturating_sub(room.start);
        let mut before = None;
        if index == 0 && session.opening && since == Since::default() {
            let [sounds, safety] = opening(session, phrases);
            // Where the announcement would not fit after the whole of it, the sounds go.
            let versions = [clauses([sounds, safety.clone()]), safety];
            let needed = length_ms(&what.facts(), lengths) + APART_MS;
            before =
                (versions.into_iter()).find(|parts| length_ms(parts, lengths) + needed <= space);
            match &before {
                Some(parts) => space -= length_ms(parts, lengths) + APART_MS,
                None => (said.notes).push("the lead-in is too short for the opening".into()),
            }
        }
        let (parts, cut, lost) = fitting(&what, space, lengths);
        if let Some(lost) = lost {
            *shortened.entry((repeat.set, lost)).or_default() += 1;
        }
        let length = cut.unwrap_or_else(|| length_ms(&parts, lengths));
        let at = room.end - length;
        // Next to the announcement, when the player is worn: a lead-in is time to put it on.
        if let Some(parts) = before {
            let at = at - APART_MS - length_ms(&parts, lengths);
            let say = placed(&parts, at, None, &room, set, number, lengths);
            said.says.push(say);
        }
        if length > 0 {
            let say = placed(&parts, at, cut, &room, set, number, lengths);
            said.says.push(say);
        }
    }
    said.notes.extend(left_out(session, &unspoken, shortened));
    said
}

/// What was shortened or left out before the repeats, in sentences: `unspoken` are own words that
/// nothing speaks, `shortened` counts what was lost in each set.
fn left_out(
    session: &Resolved,
    unspoken: &[String],
    shortened: BTreeMap<(usize, &'static str), u64>,
) -> Vec<String> {
    let mut notes = Vec::new();
    if !unspoken.is_empty() {
        let quoted: Vec<String> = (unspoken.iter())
            .map(|sentence| format!("\"{}\"", visible(sentence)))
            .collect();
        notes.push(format!(
            "own words are left out, as nothing here speaks them: {}",
            quoted.join(" ")
        ));
    }
    for ((set, lost), repeats) in shortened {
        let times = match repeats {
            1 => "once".to_string(),
            n => format!("{n} times"),
        };
        let set = session.sets[set].label(set + 1);
        notes.push(format!(
            "{set}: too little rest to say all; {lost} ({times})"
        ));
    }
    notes
}

/// The free time before a repeat, ms.
fn room_ms(schedule: &Schedule, index: usize) -> Range<u64> {
    let after = match index.checked_sub(1) {
        Some(before) => schedule.repeats[before].end_s + exact(CUT_S),
        None => exact(CUT_S),
    };
    let repeat = &schedule.repeats[index];
    let before = repeat.start_s - repeat.count_s().times(COUNTS.into()) - BEFORE_COUNTS_S;
    let start = ceil_u64(&(after * exact(1000))).unwrap_or(0);
    let end = floor_u64(&(before * exact(1000))).unwrap_or(0);
    start..end.max(start)
}

fn length_ms(parts: &[PhrasePart], lengths: &Lengths) -> u64 {
    let one = |part: &PhrasePart| match part {
        PhrasePart::Pause(ms) => *ms,
        other => (other.clip()).map_or(0, |clip| lengths.get(&clip).copied().unwrap_or(0)),
    };
    parts.iter().map(one).sum()
}

/// As much of an announcement as there is room for, where it is cut (ms), and what was lost.
fn fitting(
    what: &Announcement,
    space_ms: u64,
    lengths: &Lengths,
) -> (Vec<PhrasePart>, Option<u64>, Option<&'static str>) {
    let fits = |parts: &Vec<PhrasePart>| length_ms(parts, lengths) <= space_ms;
    let found = longest(what).into_iter().find(|(parts, _)| fits(parts));
    if let Some((parts, lost)) = found {
        return (parts, None, lost);
    }
    // A new rate is never silent; else a single sentence that is too long is cut within.
    if !what.new_rate.is_empty() {
        return if fits(&what.new_rate) {
            (
                what.new_rate.clone(),
                None,
                Some("only the number of the rate is said"),
            )
        } else {
            (
                Vec::new(),
                None,
                Some("nothing is said, and the rate is new"),
            )
        };
    }
    match what.say.first() {
        Some(sentence) if space_ms >= LEAST_CUT_MS => (
            sentence.clone(),
            Some(space_ms),
            Some("its own words are cut"),
        ),
        _ => (Vec::new(), None, Some("nothing is said")),
    }
}

/// An announcement whole, then shorter and shorter, and what each way loses. What changed goes
/// last and is said first: the name goes before the rate, and so does all that a coach wrote.
fn longest(what: &Announcement) -> Vec<(Vec<PhrasePart>, Option<&'static str>)> {
    let (facts, kick, news) = (what.facts(), what.kick.clone(), what.news());
    let own = clauses(what.say.iter().cloned());
    let named = if own.is_empty() {
        what.name.clone()
    } else {
        own.clone()
    };
    let mut ways = vec![(clauses([named, facts.clone(), kick.clone()]), None)];
    if own.is_empty() {
        ways.push((clauses([facts.clone(), kick]), Some("the name is left out")));
        ways.push((facts, Some("name and kick are left out")));
    } else {
        // A coach's own words stand where the name would, and stay as long as they can.
        ways.push((clauses([own, facts]), Some("the kick is left out")));
        for kept in (1..=what.say.len()).rev() {
            let lost = match (kept == what.say.len(), news.is_empty()) {
                (false, _) => "its own words are cut",
                (true, true) => "only its own words are said",
                (true, false) => "only the rate and its own words are said",
            };
            let own = what.say[..kept].iter().cloned();
            ways.push((clauses([news.clone()].into_iter().chain(own)), Some(lost)));
        }
    }
    if !news.is_empty() {
        ways.push((news, Some("only the rate is said")));
    }
    ways
}

fn placed(
    parts: &[PhrasePart],
    at_ms: u64,
    cut: Option<u64>,
    room: &Range<u64>,
    set: u32,
    repeat: u32,
    lengths: &Lengths,
) -> Say {
    let mut clips = Vec::new();
    let mut at = at_ms;
    for part in parts {
        let length = length_ms(std::slice::from_ref(part), lengths);
        if let Some(clip) = part.clip().filter(|_| length > 0) {
            let ear = match part {
                PhrasePart::Words { ear, .. } => *ear,
                PhrasePart::Cue(voice) => voice.side,
                PhrasePart::Pause(_) => None,
            };
            clips.push(PlacedClip {
                at_ms: at,
                clip,
                ear,
                most_ms: cut,
            });
        }
        at += length;
    }
    Say {
        at_ms,
        length_ms: cut.unwrap_or(at - at_ms),
        room_ms: room.clone(),
        set,
        repeat,
        clips,
        text: in_words(parts),
    }
}

#[cfg(test)]
mod tests;
