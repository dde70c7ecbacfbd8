//! How it is told where a film lies in its session, in words and as JSON: alike for a film that was
//! looked for and for marks that say where it is.

use serde::Serialize;

use crate::cli::shared::film::PlacedFilm;
use crate::cli::shared::report::Micro;
use crate::cli::shared::words::{Page, count};
use crate::sync::SyncAnswer;
use crate::units::{Fix, Time};

/// Where a film lies, as JSON has it. Marks know neither how many moments were heard nor, of several
/// places, which.
#[derive(Debug, Clone, Serialize)]
pub struct SyncShown {
    answer: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    track_s_at_film_0: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drift_ppm: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    interval_ms: Option<[Micro; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    several_paths: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    heard: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expected: Option<usize>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    places: Vec<Micro>,
}

impl SyncShown {
    /// All that is known.
    pub fn new(placed: &PlacedFilm) -> Self {
        let sync = &placed.sync;
        let times = sync.answer.gives_times();
        let heard = placed.heard();
        Self {
            answer: sync.answer.word(),
            track_s_at_film_0: sync.track_s_at_film_0.map(Micro::from),
            drift_ppm: times.then(|| sync.drift_ppm.into()),
            interval_ms: sync.interval_ms.map(|(lo, hi)| [lo.into(), hi.into()]),
            several_paths: placed.several_paths.filter(|_| times),
            heard: heard.map(|(heard, _)| heard),
            expected: heard.map(|(_, expected)| expected),
            places: sync.places.iter().map(|place| (*place).into()).collect(),
        }
    }
}

/// Where a film lies, in words.
pub fn placed_in_words(placed: &PlacedFilm, to: &mut Page) {
    let answer = answer(placed);
    to.fill(if placed.by_marks {
        format!("As the marks have it: {answer}")
    } else {
        answer
    });
    let Some((early, late)) = placed.sync.interval_ms else {
        return;
    };
    let of_clock = format!(
        "The clocks of track and film differ by {:.0} millionths.",
        placed.sync.drift_ppm.abs()
    );
    to.fill(if placed.several_paths == Some(true) {
        format!(
            "The sound came by several paths: a cue may be up to {:.1} ms earlier or {:.1} ms later \
             than told. Film in sight of the loudspeaker. {of_clock}",
            -early, late
        )
    } else {
        format!(
            "Cues lie within {:.1} ms of what is told. {of_clock}",
            late.max(-early)
        )
    });
}

fn answer(placed: &PlacedFilm) -> String {
    let sync = &placed.sync;
    let heard = placed.heard().map(|(heard, expected)| {
        let moments = count(expected, "moment");
        format!("{heard} of {moments}")
    });
    let in_brackets = |more: &str| match &heard {
        Some(heard) => format!(" ({heard}{more})"),
        None => String::new(),
    };
    match sync.answer {
        SyncAnswer::Locked => {
            let start_s = sync.places[0];
            let index = placed.repeat_at(start_s);
            let (set, repeat) = placed.timeline.set_and_repeat(index);
            format!(
                "The film most likely begins {}, in swim {} (set {set}, repeat {repeat}){}.",
                begins(start_s),
                index + 1,
                in_brackets(" with arm or kick cues heard")
            )
        }
        SyncAnswer::Cycles => format!(
            "The cues are heard{}. The moment inside the cycle is known, which stroke or swim is not: \
             enough for kick timing. {}",
            in_brackets(""),
            places_left(placed)
        ),
        SyncAnswer::Other => {
            "This is a film of the other pairing: arms or feet sound on the other \
                              sides. No times are taken from it; name the session that sounded."
                .into()
        }
        SyncAnswer::Unsure => format!(
            "Cues are heard{}, but not surely where they belong, so no times are taken. \
             Film 15 s or more of a swim in which arms and feet of both sides sound, in sight of \
             the loudspeaker. Sounds of your own are never sure.",
            in_brackets("")
        ),
        SyncAnswer::None => {
            "No cues of this session are heard in the film, so no times are taken. Is it \
                             the session that sounded, and can you hear it in the film?"
                .into()
        }
    }
}

/// How many places are left, and what narrows them.
fn places_left(placed: &PlacedFilm) -> String {
    let swims = placed.swims_left();
    let places = count(placed.sync.places.len(), "place");
    match swims[..] {
        [] => "The film itself tells which places fit: --film.".into(),
        [swim] => format!("{places} fit, all in swim {}.", swim + 1),
        _ => format!(
            "{places} in {} swims fit; --swim or --at says which.",
            swims.len()
        ),
    }
}

/// When in the session a film begins, whose place is a time of the whole track, s. A track may be cut
/// into several files; the session's time holds for all of them.
fn begins(start_s: f64) -> String {
    let time = Time::from_s(Fix::from_f64(start_s.abs())).rounded();
    if start_s < 0.0 {
        format!("{time} before the session")
    } else {
        format!("at {time} of the session")
    }
}
