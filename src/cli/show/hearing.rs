//! Which cues will be heard in a loud pool, by the way of listening: a model, and no measurement.

use serde::Serialize;

use crate::cli::shared::words::Page;
use crate::model::cue::CueKind;
use crate::model::resolve::Set;

/// Ways of listening, in the order of [`Row::more_db`].
const WAYS: [&str; 4] = ["in-ear", "leaky in-ear", "bone conduction", "small speaker"];

/// How much more than a hand in a sealed ear each shipped sound needs, dB, to stand 13 dB over the
/// noise of a loud pool (docs/sources.md, "Loudness and hearing"); `tests/ears/hearing.py` computes
/// them from the voices. Sounds of the coach's own are as loud and need about as much.
const ROWS: [Row; 6] = [
    Row::new("hand", CueKind::Arm, [0, 10, 9, 15]),
    Row::new("foot", CueKind::Kick, [6, 17, 12, 21]),
    Row::new("kick between", CueKind::Fill, [9, 22, 15, 24]),
    Row::new("breath", CueKind::Breath, [9, 20, 15, 24]),
    Row::new("wall", CueKind::Wall, [4, 14, 14, 20]),
    Row::new("signals", CueKind::Start, [6, 19, 11, 21]),
];

/// Up to this much more a sound is heard easily, and mostly, dB; beyond it hardly. Limits of ours.
const EASILY_DB: i32 = 11;
const MOSTLY_DB: i32 = 18;

struct Row {
    sound: &'static str,
    kind: CueKind,
    more_db: [i32; 4],
}

impl Row {
    const fn new(sound: &'static str, kind: CueKind, more_db: [i32; 4]) -> Self {
        Self {
            sound,
            kind,
            more_db,
        }
    }
}

/// One sound in one way of listening.
#[derive(Serialize)]
pub struct Hearing {
    listening: &'static str,
    sound: &'static str,
    needs_more_db: i32,
    heard: &'static str,
}

impl Hearing {
    /// Of every sound that a session has, in every way of listening.
    pub fn of(sets: &[Set]) -> Vec<Self> {
        let sounds = |kind| sets.iter().any(|set| set.cues.has(kind));
        let rows: Vec<&Row> = ROWS.iter().filter(|row| sounds(row.kind)).collect();
        let of_way = |(at, listening)| {
            rows.iter().map(move |row| Self {
                listening,
                sound: row.sound,
                needs_more_db: row.more_db[at],
                heard: in_words(row.more_db[at]),
            })
        };
        WAYS.into_iter().enumerate().flat_map(of_way).collect()
    }
}

fn in_words(more_db: i32) -> &'static str {
    if more_db <= EASILY_DB {
        "easily"
    } else if more_db <= MOSTLY_DB {
        "mostly"
    } else {
        "hardly"
    }
}

/// A line a way of listening, and what it means.
pub fn words(heard: &[Hearing], to: &mut Page) {
    to.line("\nHeard in a loud pool, by a model that nobody has checked in the water");
    for of_way in heard.chunk_by(|one, next| one.listening == next.listening) {
        let by_word = ["easily", "mostly", "hardly"].map(|word| {
            let sounds: Vec<&str> = (of_way.iter().filter(|one| one.heard == word))
                .map(|one| one.sound)
                .collect();
            (!sounds.is_empty()).then(|| format!("{word} {}", sounds.join(", ")))
        });
        let told: Vec<String> = by_word.into_iter().flatten().collect();
        let way = format!("  {:<17}", of_way[0].listening);
        to.hang(&way, "                   ", told.join("; "));
    }
    to.hang(
        "  ",
        "  ",
        "A loudspeaker on deck does not reach swimmers in a loud pool: use players, and do not turn it \
         up. Where much is hardly heard, look for a better seal.",
    );
}
