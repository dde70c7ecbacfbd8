//! What the deck writes of a set sounds as what was heard of it: whole sessions and swimmers, drawn for
//! every key, under a hand that changes rate, pairing, kick and what is silent.
#![allow(clippy::unwrap_used)]

use cuelane::files::{parse_swimmer, session_text};
use cuelane::live::Group;
use cuelane::model::cue::CUE_KINDS;
use cuelane::model::kick::{Kick, Pairing};
use cuelane::model::resolve::Resolved;
use cuelane::model::session::CueSet;
use cuelane::timeline::{ByHand, Event, Repeat, Schedule, SteadyRate, Timeline, by_hand};
use cuelane::units::{Fix, Quantity, Rate, to_f64};
use proptest::prelude::*;

use crate::pinned::{drawn_sessions, read, session, swimmer};

const RATE_HZ: u32 = 44_100;

/// A lead delays the last cues of a swim by so much past its end; the counts of the next one begin later.
const LEAD_AT_MOST_S: f64 = 0.3;

/// What a hand does in the rest before a set.
#[derive(Debug, Clone)]
struct Wished {
    rate: Option<&'static str>,
    pairing: Pairing,
    kick: Kick,
    muted: [bool; 4],
}

fn wished() -> impl Strategy<Value = Wished> {
    let rates = ["57 spm", "61.5 spm", "56.3 spm", "48.25 spm", "92 spm"];
    let pairings = [Pairing::SameSide, Pairing::OppositeSide];
    let kicks = [Kick::TwoBeat, Kick::FourBeat, Kick::SixBeat, Kick::Pull];
    let all = (
        prop::option::weighted(0.8, prop::sample::select(rates.to_vec())),
        prop::sample::select(pairings.to_vec()),
        prop::sample::select(kicks.to_vec()),
        prop::array::uniform4(prop::bool::weighted(0.2)),
    );
    all.prop_map(|(rate, pairing, kick, muted)| Wished {
        rate,
        pairing,
        kick,
        muted,
    })
}

/// An event without its repeat, its frame counted from the first start.
type Heard = (i64, Event);

/// Events by their distance from the first start among them.
fn from_start(events: impl Iterator<Item = Event>) -> Vec<Heard> {
    let events: Vec<Event> = events.collect();
    let start = (events.iter()).find(|event| event.kind == cuelane::model::cue::CueKind::Start);
    let start = start.unwrap().frame as i64;
    let bare = |event: Event| Event {
        frame: 0,
        set: 0,
        repeat: 0,
        ..event
    };
    (events.into_iter())
        .map(|event| (event.frame as i64 - start, bare(event)))
        .collect()
}

/// What is heard of a set where a hand is on it from the rest before it on, once the swim before has
/// sounded to its last cue; on its rate from the rest before the first repeat that is not for
/// comparison: what is set sooner is the comparison's.
fn under_a_hand(session: &Resolved, set: usize, wished: &Wished) -> Vec<Heard> {
    let schedule = Schedule::new(session).unwrap();
    let timeline = Timeline::new(session, &schedule, RATE_HZ);
    let before = |wanted: &dyn Fn(&Repeat) -> bool| {
        let first =
            (schedule.repeats.iter()).position(|repeat| repeat.set == set && wanted(repeat));
        let end_s = first
            .unwrap()
            .checked_sub(1)
            .map(|before| schedule.repeats[before].end_s);
        let frame = |time: f64| (time * f64::from(RATE_HZ)).ceil() as u64;
        end_s.map_or(0, |end_s| frame(to_f64(&end_s) + LEAD_AT_MOST_S) + 2)
    };
    let begins = before(&|_| true);
    let rate_from = before(&|repeat| session.sets[set].compared(repeat.number).is_none());
    let mut cursor = timeline.events();
    let mut events: Vec<Event> = std::iter::from_fn(|| cursor.next_before(begins)).collect();
    cursor.switch(begins, wished.pairing, wished.kick);
    cursor.mute_breath(wished.muted[Group::Breath as usize]);
    events.extend(std::iter::from_fn(|| cursor.next_before(rate_from)));
    if let Some(rate) = wished.rate {
        let rate = SteadyRate::of(&Rate::parse(rate).unwrap());
        cursor.change(rate_from, rate, Fix::ZERO);
    }
    events.extend(cursor);
    let silent = |event: &Event| {
        let mut groups = Group::ALL.into_iter().zip(wished.muted);
        groups.any(|(group, muted)| muted && group.has(event.kind))
    };
    let own = events
        .into_iter()
        .filter(|event| event.set as usize == set + 1);
    from_start(own.filter(|event| !silent(event)))
}

fn cues_left(muted: &[bool; 4]) -> CueSet {
    let kinds = CUE_KINDS.into_iter().filter(|kind| {
        let mut groups = Group::ALL.into_iter().zip(muted);
        !groups.any(|(group, muted)| *muted && group.has(*kind))
    });
    kinds.fold(CueSet::NONE, CueSet::with)
}

/// What no file may hold, whoever writes it.
const REFUSED: [&str; 3] = [
    "s from breath to breath, over 6 s",
    "is not longer than the push-off",
    "outside 0 to 5 m",
];

/// Writes a set as it is now, if a file may hold it.
fn written(session: &Resolved, set: usize, wished: &Wished) -> Result<String, String> {
    let hand = ByHand {
        rate: wished.rate.map(|rate| Rate::parse(rate).unwrap()),
        pairing: wished.pairing,
        kick: wished.kick,
        cues: cues_left(&wished.muted),
    };
    let sets = by_hand(&session.sets[set], &hand)?;
    let session = Resolved {
        sets,
        ..session.clone()
    };
    let text = session_text(&[], &session);
    read(&text, None).map_err(|why| why.to_string())?;
    Ok(text)
}

proptest! {
    #![proptest_config(drawn_sessions())]

    #[test]
    fn what_is_written_of_a_set_sounds_as_what_was_heard_of_it(
        text in session(),
        mine in swimmer(),
        theirs in swimmer(),
        wished in wished(),
    ) {
        let parse = |text: &str| parse_swimmer("drawn.toml", text).ok();
        let (mine, theirs) = (parse(&mine), parse(&theirs));
        prop_assume!(mine.is_some() && theirs.is_some());
        let Ok((session, _)) = read(&text, mine.as_ref()) else {
            return Err(TestCaseError::reject("a session that does not hold"));
        };
        for set in 0..session.sets.len() {
            let heard = under_a_hand(&session, set, &wished);
            let text = match written(&session, set, &wished) {
                Ok(text) => text,
                Err(why) => {
                    prop_assert!(REFUSED.iter().any(|known| why.contains(known)), "{}", why);
                    continue;
                }
            };
            for swimmer in [mine.as_ref(), theirs.as_ref(), None] {
                let (_, events) = read(&text, swimmer).expect("it holds under any swimmer's file");
                let again = from_start(events.into_iter());
                for ((at, one), (at_again, other)) in heard.iter().zip(&again) {
                    prop_assert_eq!(one, other, "{} {}\n{}", at, at_again, text);
                    // From another start of its own a frame may be the one beside.
                    prop_assert!((at - at_again).abs() <= 1, "{:?} at {} {}\n{}", one, at, at_again, text);
                }
                prop_assert_eq!(heard.len(), again.len(), "{}", text);
            }
        }
    }
}
