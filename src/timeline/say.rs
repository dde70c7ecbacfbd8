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
mod tests {
    use super::*;
    use crate::files::{parse_session, phrases};
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;
    use crate::units::fraction;
    use proptest::prelude::*;

    /// Every clip lasts as long as its name has letters, 50 ms each.
    fn lengths(session: &Resolved, phrases: &Phrases) -> Lengths {
        let own = session.sets.iter().filter_map(|set| set.say.as_deref());
        let own = own.flat_map(|say| super::super::announce::sentences(say).0);
        let mut lengths: Lengths = (phrases.clips().into_iter().chain(own))
            .map(crate::model::phrases::slug)
            .map(|clip| (clip.clone(), 50 * clip.len() as u64))
            .collect();
        for voice in crate::model::cue::Voice::ALL {
            lengths.insert(format!("={voice}"), 120);
        }
        lengths
    }

    fn said(text: &str) -> (TrackSpeech, Schedule) {
        let session = parse_session("test.toml", text).expect("parses");
        let session = resolve(&session, None, &Wishes::default()).expect("resolves");
        let schedule = Schedule::new(&session).expect("fits");
        let phrases = phrases::shipped();
        let lengths = lengths(&session, &phrases);
        let said = say(&session, &schedule, &phrases, &lengths, Since::default());
        (said, schedule)
    }

    fn texts(said: &TrackSpeech) -> Vec<&str> {
        said.says.iter().map(|say| say.text.as_str()).collect()
    }

    #[test]
    fn a_set_is_told_in_full_and_its_repeats_by_what_is_left() {
        let (said, _) = said(
            "[[set]]\nrepeats = 3\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nrest = \"40 s\"\n\
             rate = { from = \"54 spm\", to = \"56.5 spm\", by = \"repeat\" }\n",
        );
        assert_eq!(
            texts(&said)[1..],
            [
                "set one, three times fifty metres, rate fifty-four, right foot with right catch, \
                 left foot with left catch, two-beat kick",
                "rate fifty-five point five, two to go, late? rest, take the next one",
                "rate fifty-six point five, the last one",
            ]
        );
        assert_eq!(said.notes, [""; 0]);
    }

    #[test]
    fn a_comparison_is_said_before_it_and_the_rate_after_it() {
        let after_the_first = |rate: &str| {
            let (said, _) = said(&format!(
                "[[set]]\nrepeats = 4\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nrest = \"40 s\"\n\
                 compare = {{ rate = \"54 spm\", at = [3] }}\nrate = {rate}\n"
            ));
            texts(&said)[3..].join("; ")
        };
        let compared = "comparison, at fifty-four, same effort as the others, two to go";
        assert_eq!(
            after_the_first("\"58 spm\""),
            format!("{compared}; rate fifty-eight, the last one")
        );
        // The same rate at the first entry is another swim all the same.
        assert_eq!(
            after_the_first("{ from = \"54 spm\", to = \"58 spm\", by = \"time\" }"),
            format!("{compared}; rate fifty-four rising to fifty-eight, the last one")
        );
    }

    #[test]
    fn the_opening_names_the_ears_the_sounds_and_the_cautions_once() {
        let text = "[[set]]\nrepeats = 2\nswim = \"45 s\"\nrate = \"54 spm\"\n";
        let (said, _) = said(text);
        assert_eq!(
            texts(&said)[0],
            "left, right, a hand (arm-left), a foot, at its lowest (kick-right), breathe whenever \
             you need, look before you push off, stop for the whistle"
        );
        let ears: Vec<_> = said.says[0].clips.iter().map(|clip| clip.ear).collect();
        assert_eq!(ears[..2], [Some(Side::Left), Some(Side::Right)]);
        // Next to the announcement, which ends half a second before the first count.
        let [opening, first] = [&said.says[0], &said.says[1]];
        assert_eq!(opening.at_ms + opening.length_ms + APART_MS, first.at_ms);
        assert_eq!(first.at_ms + first.length_ms, 56_166);
        let without = format!("opening = false\n{text}");
        let (quiet, _) = super::tests::said(&without);
        assert_eq!(quiet.says.len(), said.says.len() - 1);
    }

    #[test]
    fn silence_breath_and_swims_by_time_are_foretold() {
        let (said, _) = said(
            "[[set]]\nswim = \"5 min\"\nrate = \"54 spm\"\nfade = { on = 8, off = 4 }\n\
             cues = [\"arm\", \"breath\"]\nbreath = { every = 3 }\n",
        );
        let text = texts(&said)[1];
        for words in [
            "five minutes",
            "the cues fade and come back",
            "finish the length",
            "breathe out as it rises, turn as it ends, or whenever you want",
        ] {
            assert!(text.contains(words), "{text}");
        }
        assert!(!text.contains("kick"), "no kick sounds: {text}");
    }

    #[test]
    fn the_name_goes_first_then_the_kick_then_all_and_own_words_last() {
        let set = |lead_in: &str, say: &str| {
            let (said, _) = said(&format!(
                "opening = false\nlead_in = \"{lead_in}\"\n[[set]]\nswim = \"50 m\"\n\
                 pace = \"2:00 / 100 m\"\nrate = \"54 spm\"\ncount = \"seconds\"\n{say}"
            ));
            let text = said.says.first().map(|say| say.text.clone());
            (text.unwrap_or_default(), said.notes.join("; "))
        };
        let (whole, notes) = set("60 s", "");
        assert!(whole.starts_with("set one, fifty metres") && whole.ends_with("kick"));
        assert_eq!(notes, "");
        let (short, notes) = set("10.4 s", "");
        assert!(
            short.starts_with("fifty metres") && short.ends_with("kick"),
            "{short}"
        );
        assert!(notes.contains("the name is left out"), "{notes}");
        let (shorter, notes) = set("9.8 s", "");
        assert!(shorter.ends_with("left catch"), "{shorter}");
        assert!(notes.contains("name and kick are left out"), "{notes}");
        let (rate, notes) = set("6 s", "");
        assert_eq!(rate, "rate fifty-four");
        assert!(notes.contains("only the rate is said"), "{notes}");
        let (number, notes) = set("5 s", "");
        assert_eq!(number, "fifty-four");
        assert!(notes.contains("only the number"), "{notes}");
        let own = "say = \"Easy now. And again, a sentence of some length to be sure of it.\"\n";
        assert!(set("60 s", own).0.starts_with("Easy now. And again"));
        // The rate is new: it is said before words that are cut for it.
        let (both, notes) = set("9.6 s", own);
        assert!(both.starts_with("rate fifty-four, Easy now. And again"));
        assert!(notes.contains("only the rate and its own words"), "{notes}");
        let (cut, notes) = set("8 s", own);
        assert_eq!(cut, "rate fifty-four, Easy now.");
        assert!(notes.contains("its own words are cut"), "{notes}");
        let (rate, notes) = set("5.5 s", own);
        assert_eq!(rate, "rate fifty-four");
        assert!(notes.contains("only the rate is said"), "{notes}");
    }

    #[test]
    fn a_sentence_that_is_too_long_is_cut_within() {
        let (said, _) = said(
            "opening = false\n[[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\nrest = \"6.5 s\"\n\
             [[set]]\nswim = \"45 s\"\nrate = \"60 spm\"\n\
             say = \"One sentence without any end that goes on and on for a good while\"\n",
        );
        assert_eq!(said.says[1].length_ms, 2000);
        assert_eq!(said.says[1].clips[0].most_ms, Some(2000));
        assert!(said.notes[0].contains("cut"), "{:?}", said.notes);
    }

    #[test]
    fn a_new_rate_is_said_before_anything_else_where_the_rest_is_tight() {
        let (said, _) = said(
            "opening = false\n[[set]]\nrepeats = 3\nswim = \"45 s\"\nrest = \"7 s\"\ncount = \"seconds\"\n\
             rate = { from = \"54 spm\", to = \"56 spm\", by = \"repeat\" }\n",
        );
        assert_eq!(
            texts(&said)[1..],
            ["rate fifty-five", "rate fifty-six, the last one"]
        );
        assert!(said.notes[0].contains("only the rate is said (once)"));
        let (unsaid, _) = super::tests::said(
            "opening = false\nlead_in = \"5 s\"\n[[set]]\nswim = \"45 s\"\nrate = \"77.5 spm\"\n\
             count = \"seconds\"\n",
        );
        assert!(unsaid.says.is_empty());
        assert!(unsaid.notes[0].contains("nothing is said, and the rate is new"));
    }

    #[test]
    fn fixed_words_fit_a_set_on_land_or_with_a_board() {
        let set = |keys: &str| {
            let (said, _) = said(&format!(
                "[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n{keys}\n"
            ));
            (said.says[0].text.clone(), said.says[1].text.clone())
        };
        let (opening, swum) = set("");
        assert!(opening.contains("look before you push off"), "{opening}");
        assert!(swum.contains("finish the length") && swum.contains("catch"));
        let (opening, dry) = set("push_off = \"0 s\"");
        assert!(!opening.contains("push off") && opening.ends_with("stop for the whistle"));
        assert!(!dry.contains("finish the length") && dry.contains("until the end tone"));
        assert!(dry.contains("catch"), "both arms sound: {dry}");
        for pairing in ["same-side", "opposite-side"] {
            let keys = format!("cues = [\"kick\"]\npush_off = \"0 s\"\npairing = \"{pairing}\"");
            let (_, board) = set(&keys);
            assert!(
                !board.contains("catch") && !board.contains("hand"),
                "{board}"
            );
            assert!(board.contains("two-beat kick"), "{board}");
        }
    }

    proptest! {
        #[test]
        fn speech_never_touches_a_count_or_a_cut(
            lead_in in 50u32..900, rest in 50u32..600, swim in 200u32..900, repeats in 1u32..5,
        ) {
            let tenth = |tenths: u32| format!("{}.{} s", tenths / 10, tenths % 10);
            let (said, schedule) = said(&format!(
                "lead_in = \"{}\"\n[[set]]\nrepeats = {repeats}\nswim = \"{}\"\nrest = \"{}\"\n\
                 rate = \"57 spm\"\nsay = \"Easy. Finish the kick on the sound.\"\n",
                tenth(lead_in), tenth(swim), tenth(rest),
            ));
            let ms = |time: &crate::units::Fix| (crate::units::to_f64(time) * 1000.0).round() as u64;
            for say in &said.says {
                let index = say.repeat as usize - 1;
                let end = say.at_ms + say.length_ms;
                let repeat = &schedule.repeats[index];
                let counts = repeat.count_s().times(3) + fraction(1, 2);
                prop_assert!(end <= ms(&(repeat.start_s - counts)), "{say:?}");
                let quiet = index.checked_sub(1).map_or(0, |n| ms(&schedule.repeats[n].end_s));
                prop_assert!(say.at_ms >= quiet + 1000, "{say:?}");
            }
            for pair in said.says.windows(2) {
                prop_assert!(pair[0].at_ms + pair[0].length_ms <= pair[1].at_ms);
            }
        }
    }
}
