//! What the program writes as a session sounds the same under any swimmer's file: whole sessions,
//! as `plan export` and `trial new` write them, and single sets, as the deck saves them. Values are
//! drawn for every row of the tables of keys, so that a new key is covered the day it is added.
#![allow(clippy::unwrap_used)]

use cuelane::files::{parse_session, parse_swimmer, session_text};
use cuelane::model::keys::{Key, Level, Takes, keys_on};
use cuelane::model::resolve::{Resolved, Set, resolve};
use cuelane::model::swimmer::Swimmer;
use cuelane::model::wishes::Wishes;
use cuelane::timeline::{Event, Schedule, Timeline};
use cuelane::units::{Fix, Length, Quantity, Time};
use proptest::prelude::*;
use proptest::sample::Index;

const TIMES: [&str; 7] = [
    "0 s",
    "3.000000001 s",
    "5.5 s",
    "20 s",
    "41.123456789 s",
    "8123.123456789 ms",
    "1:02.4",
];
const SEND_OFFS: [&str; 4] = ["5:00", "9:59.999999999", "600123.4 ms", "7:30"];
const LENGTHS: [&str; 7] = [
    "25 m",
    "25 yd",
    "33 1/3 m",
    "50 m",
    "4 m",
    "2.5 yd",
    "3.123456789 m",
];
const SWIMS: [&str; 8] = [
    "50 m",
    "100 yd",
    "66 2/3 m",
    "45 s",
    "1:00.25",
    "75 m",
    "2 lengths",
    "1 length",
];
const PACES: [&str; 4] = [
    "2:05 / 100 m",
    "1:50.123 / 100 yd",
    "30 s / 25 m",
    "58 s / 50 m",
];
const LENGTHS_OF_STROKES: [&str; 4] = [
    "0.95 m/stroke",
    "1.873 m/cycle",
    "22 strokes / 21 m",
    "23 strokes / 22 yd",
];
const RATES: [&str; 7] = [
    "54 spm",
    "27.5 cpm",
    "1.03 s/stroke",
    "2.07 s/cycle",
    "54.123456789 spm",
    "61 spm",
    "0.987654321 s/stroke",
];
const RELATIVE: [&str; 6] = [
    "+2 spm",
    "-1.5 spm",
    "96 %",
    "103.123456789 %",
    "-1 cpm",
    "+0 spm",
];

/// Values that a key takes, by its kind: a new key of a known kind needs nothing here.
fn values(key: &Key, level: Level) -> Vec<String> {
    let kind = (key.kind)();
    let (of, none) = match kind.strip_suffix(", or \"none\"") {
        Some(of) => (of, true),
        None => (&kind[..], false),
    };
    let texts = |all: &[&str]| -> Vec<String> {
        let taken = all.iter().filter(|text| takes(key.takes, text));
        taken.map(|text| format!("\"{text}\"")).collect()
    };
    let numbers = || match key.takes {
        Takes::From(low, high) => between(low, high),
        _ => ["1", "3"].map(String::from).into(),
    };
    let mut values = match of {
        "a text" if matches!(key.takes, Takes::OneOf(_)) => one_of(key),
        "a text" => texts(&["Easy", "A \\\"quoted\\\" word", "Ruhig schwimmen, bitte"]),
        "true or false" => vec!["true".into(), "false".into()],
        "a whole number" => ["1", "2", "3"].map(String::from).into(),
        "a distance, lengths or a time" => texts(&SWIMS),
        "a time" if none => texts(&SEND_OFFS),
        "a time" => texts(&TIMES),
        "a length" => texts(&LENGTHS),
        "a pace" => texts(&PACES),
        "a distance per stroke" => texts(&LENGTHS_OF_STROKES),
        "a rate" => texts(&RATES),
        // Others refer to the swimmer's own rate.
        _ if key.name == "rate" && level == Level::Swimmer => texts(&RATES),
        "a rate, or a table of from, to and by" => {
            let mut rates = texts(&RATES);
            rates.extend(texts(&RELATIVE));
            for (from, to) in [(0, 5), (2, 4), (9, 3), (6, 8)] {
                for by in ["repeat", "time"] {
                    let (from, to) = (&rates[from], &rates[to]);
                    rates.push(format!("{{ from = {from}, to = {to}, by = \"{by}\" }}"));
                }
            }
            rates
        }
        "a number" => numbers(),
        // The word itself asks for what not every swimmer drawn here has.
        "a number, or a table of left and right"
        | "a number, or a table of left and right, or \"measured\"" => {
            let mut sides = numbers();
            sides.push(format!("{{ left = {}, right = {} }}", sides[1], sides[2]));
            sides
        }
        "a list of cues" => [
            "[]",
            "[\"arm\", \"kick\"]",
            "[\"arm\", \"kick\", \"fill\", \"breath\"]",
            "[\"arm\", \"breath\", \"wall\"]",
            "[\"kick\", \"wall\"]",
        ]
        .map(String::from)
        .into(),
        "a table of rate and at" => [
            "{ rate = \"54.123456789 spm\", at = [1] }",
            "{ rate = \"-1.5 spm\", at = [1, 3] }",
        ]
        .map(String::from)
        .into(),
        "a table of every and side" => ["{ every = 2 }", "{ every = 3, side = \"left\" }"]
            .map(String::from)
            .into(),
        "a table of on, off and per" => [
            "{ on = 3, off = 2 }",
            "{ on = 1, off = 1, per = \"length\" }",
        ]
        .map(String::from)
        .into(),
        "a time, or a table of arm, kick and breath" => [
            "\"0 ms\"",
            "\"40 ms\"",
            "\"-12.123456789 ms\"",
            "{ kick = \"40 ms\" }",
            "{ arm = \"10.5 ms\", kick = \"0 ms\" }",
            "{ arm = \"10.5 ms\", kick = \"0 ms\", breath = \"-20 ms\" }",
            "{ breath = \"40 ms\" }",
        ]
        .map(String::from)
        .into(),
        "a file, or a table of file and once" => {
            ["\"waves.ogg\"", "{ file = \"a b.wav\", once = true }"]
                .map(String::from)
                .into()
        }
        words if words.starts_with('"') => words.split(", ").map(String::from).collect(),
        other => panic!("{}: no values are drawn for {other}", key.name),
    };
    if none {
        values.push("\"none\"".into());
    }
    assert!(values.len() > 1, "{}: {values:?}", key.name);
    values
}

fn one_of(key: &Key) -> Vec<String> {
    let Takes::OneOf(words) = key.takes else {
        return Vec::new();
    };
    words.iter().map(|word| format!("\"{word}\"")).collect()
}

fn takes(takes: Takes, text: &str) -> bool {
    let size = |text: &str| -> Fix {
        let length = Length::parse(text).map(|length| *length.metres());
        length.unwrap_or_else(|_| *Time::parse(text).unwrap().s())
    };
    match takes {
        Takes::Within(low, high, _) => size(text) >= size(low) && size(text) <= size(high),
        _ => true,
    }
}

/// Both ends, and two between them that are no short numbers.
fn between(low: &str, high: &str) -> Vec<String> {
    let [a, b]: [f64; 2] = [low, high].map(|text| text.parse().unwrap());
    let at = |share: f64| format!("{:.9}", a + (b - a) * share);
    vec![
        low.into(),
        at(0.598_765_431),
        at(0.701_234_567),
        high.into(),
    ]
}

/// One level: for each of its keys whether it is said, and which of its values.
type Drawn = Vec<(u8, Index)>;

fn drawn(level: Level) -> impl Strategy<Value = Drawn> {
    prop::collection::vec((0u8..100, any::<Index>()), keys_on(level).len())
}

/// What a level says of its keys, each with a chance of so many in a hundred.
fn text(level: Level, drawn: &Drawn, percent: u8, but: &[&str]) -> String {
    let keys = keys_on(level).into_iter().zip(drawn);
    let said = keys.filter(|(key, (chance, _))| *chance < percent && !but.contains(&key.name));
    said.map(|(key, (_, index))| format!("{} = {}\n", key.name, index.get(&values(key, level))))
        .collect()
}

/// Without the later of two rivals, which one level may not have.
fn without_rivals(text: String) -> String {
    let mut said: Vec<&str> = Vec::new();
    let lines = text.lines().filter(|line| {
        let key = line.split(' ').next().unwrap();
        let rival = [("stroke_length", "pace"), ("send_off", "rest")]
            .iter()
            .any(|(later, earlier)| key == *later && said.contains(earlier));
        said.push(key);
        !rival
    });
    lines.map(|line| format!("{line}\n")).collect()
}

prop_compose! {
    pub fn swimmer()(own in drawn(Level::Swimmer), film in drawn(Level::Measured)) -> String {
        let measured = text(Level::Measured, &film, 30, &["rate_interval", "catch_after_entry_interval", "right_entry_interval", "date"]);
        format!("{}[measured]\n{measured}", without_rivals(text(Level::Swimmer, &own, 50, &[])))
    }
}

prop_compose! {
    pub fn session()(
        own in drawn(Level::Session),
        defaults in drawn(Level::Defaults),
        sets in prop::collection::vec(drawn(Level::Set), 1..4),
    ) -> String {
        let mut session = text(Level::Session, &own, 50, &[]);
        session += "[defaults]\n";
        session += &without_rivals(text(Level::Defaults, &defaults, 25, &["walls"]));
        for set in sets {
            session += "[[set]]\n";
            session += &without_rivals(text(Level::Set, &set, 35, &[]));
        }
        session
    }
}

pub fn read(
    session: &str,
    swimmer: Option<&Swimmer>,
) -> cuelane::error::Result<(Resolved, Vec<Event>)> {
    let session = parse_session("drawn.toml", session)?;
    let resolved = resolve(&session, swimmer, &Wishes::default())?;
    let schedule = Schedule::new(&resolved)?;
    let events = Timeline::new(&resolved, &schedule, 44_100)
        .events()
        .collect();
    Ok((resolved, events))
}

fn sounds_alike(written: &str, as_it_was: &(Resolved, Vec<Event>), swimmer: Option<&Swimmer>) {
    let (resolved, events) =
        read(written, swimmer).unwrap_or_else(|why| panic!("{written}\n{why}"));
    let (before, events_before) = as_it_was;
    let first = events.iter().zip(events_before).find(|(a, b)| a != b);
    assert!(
        first.is_none() && events.len() == events_before.len(),
        "{written}\n{first:?}"
    );
    let of = |session: &Resolved| {
        let sounds = session.sounds.clone().map(|said| said.value);
        let bed = session.bed.clone().map(|said| said.value);
        let says: Vec<_> = session
            .sets
            .iter()
            .map(|set| (set.name.clone(), set.say.clone()))
            .collect();
        let strokes: Vec<_> = session.sets.iter().map(Set::stroke).collect();
        (
            session.title.clone(),
            session.opening,
            sounds,
            bed,
            says,
            strokes,
        )
    };
    assert_eq!(of(&resolved), of(before), "{written}");
}

/// Of the many sessions drawn, most do not hold.
pub fn drawn_sessions() -> ProptestConfig {
    let drawn = ProptestConfig::default();
    ProptestConfig {
        max_global_rejects: drawn.cases.saturating_mul(400),
        failure_persistence: None,
        ..drawn
    }
}

proptest! {
    #![proptest_config(drawn_sessions())]

    #[test]
    fn a_written_session_sounds_the_same_under_any_swimmers_file(
        session in session(),
        mine in swimmer(),
        theirs in swimmer(),
    ) {
        let parse = |text: &str| parse_swimmer("drawn.toml", text).ok();
        let (mine, theirs) = (parse(&mine), parse(&theirs));
        prop_assume!(mine.is_some() && theirs.is_some());
        let Ok(as_it_was) = read(&session, mine.as_ref()) else {
            return Err(TestCaseError::reject("a session that does not hold"));
        };
        let written = session_text(&["A comment.".into()], &as_it_was.0);
        for swimmer in [mine.as_ref(), theirs.as_ref(), None] {
            sounds_alike(&written, &as_it_was, swimmer);
        }
        // One set of it, as it is saved on deck: its events, its start apart.
        for set in &as_it_was.0.sets {
            let alone = Resolved { sets: vec![set.clone()], ..as_it_was.0.clone() };
            let written = session_text(&[], &alone);
            let schedule = Schedule::new(&alone).expect("a part of what holds");
            let events = Timeline::new(&alone, &schedule, 44_100).events().collect();
            sounds_alike(&written, &(alone, events), theirs.as_ref());
        }
    }

    #[test]
    fn what_is_written_says_every_key(session in session(), mine in swimmer()) {
        let Ok(mine) = parse_swimmer("drawn.toml", &mine) else {
            return Err(TestCaseError::reject("a swimmer that does not hold"));
        };
        let Ok((resolved, _)) = read(&session, Some(&mine)) else {
            return Err(TestCaseError::reject("a session that does not hold"));
        };
        let written = session_text(&[], &Resolved { sets: vec![resolved.sets[0].clone()], ..resolved });
        let says = |key: &str| written.lines().any(|line| line.split(' ').next() == Some(key));
        for key in keys_on(Level::Swimmer) {
            // Of rivals one decides; a name is the set's own; a swim by time needs no speed.
            if !["pace", "stroke_length"].contains(&key.name) {
                prop_assert!(says(key.name), "{}\n{written}", key.name);
            }
        }
    }
}
