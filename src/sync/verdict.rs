//! What may be said of the places that are left.

use super::answer::{Sync, SyncAnswer};
use super::arrival::{Arrival, first_arrival};
use super::fine::{Fine, Line};
use super::places::PlacesLeft;
use super::sides::{SidesHeard, sides_heard};
use crate::model::cue::CueKind;

/// Share of the arm and kick cues that must be heard, for any answer and for one with times.
const LEAST_SHARE: f64 = 0.5;
const SHARE: f64 = 0.75;
/// So much likelier must sides as said be than exchanged, in nats, of arm and of kick.
const CERTAIN: f64 = 6.0;
/// The least difference between left and right, nats a tone; the most elsewhere, as a share of it; and
/// how far from its moment it may be the largest, s.
const DIFFERENCE: f64 = 4.5;
const ELSEWHERE: f64 = 0.8;
const AT_MOST_OFF_S: f64 = 0.021;
/// What a claimed interval is at least, one way: in simulation no claim was farther off, s.
const LEAST_INTERVAL_S: f64 = 1e-4;
/// What an interval that claims no millisecond has beyond the arrivals, each way, s.
const BEYOND_S: f64 = 5e-4;

/// The answer that the places of a film allow.
pub fn told(fine: &mut Fine, places: &PlacesLeft) -> Sync {
    let arrival = first_arrival(fine, places.fitted);
    let first = |line: Line| Line {
        start_s: line.start_s - arrival.shift_s,
        ..line
    };
    let line = first(places.line);
    let sides = [CueKind::Arm, CueKind::Kick].map(|kind| sides_heard(fine, line, kind));
    let answer = answer(places, sides);
    let times = Some(()).filter(|()| answer.gives_times());
    let lines = [places.line]
        .into_iter()
        .chain(places.rivals.iter().copied());
    Sync {
        answer,
        track_s_at_film_0: times.map(|()| line.start_s),
        drift_ppm: line.drift * 1e6,
        interval_ms: times.map(|()| interval_ms(&arrival)),
        several_paths: answer.gives_times() && arrival.agrees_s.is_none(),
        heard: places.heard,
        places: times.map_or_else(Vec::new, |()| {
            lines.map(|line| first(line).start_s).collect()
        }),
    }
}

fn answer(places: &PlacesLeft, sides: [Option<SidesHeard>; 2]) -> SyncAnswer {
    let share = places.heard.0 as f64 / places.heard.1.max(1) as f64;
    if share < LEAST_SHARE {
        return SyncAnswer::None;
    }
    // Cues are heard, but without enough of both sides the feet are not to be told.
    let [Some(arm), Some(kick)] = sides else {
        return SyncAnswer::Unsure;
    };
    let least = arm.likelihood.min(kick.likelihood);
    if least < -CERTAIN && arm.likelihood.max(kick.likelihood) > CERTAIN {
        return SyncAnswer::Other;
    }
    let at_its_moment = |heard: &SidesHeard| {
        heard.difference >= DIFFERENCE
            && heard.elsewhere <= ELSEWHERE * heard.difference
            && heard.largest_at_s.abs() <= AT_MOST_OFF_S
    };
    if share < SHARE || least < CERTAIN || ![arm, kick].iter().all(at_its_moment) {
        SyncAnswer::Unsure
    } else if places.rivals.is_empty() {
        SyncAnswer::Locked
    } else if places.same_moments {
        SyncAnswer::Cycles
    } else {
        SyncAnswer::Unsure
    }
}

/// How much earlier and later than told a cue may be, ms.
fn interval_ms(arrival: &Arrival) -> (f64, f64) {
    if let Some(agrees_s) = arrival.agrees_s {
        let either = 1000.0 * LEAST_INTERVAL_S.hypot(agrees_s);
        return (-either, either);
    }
    let (earliest, strongest) = arrival.between_s;
    let early = (earliest - arrival.shift_s).min(0.0) - BEYOND_S;
    let late = (strongest - arrival.shift_s).max(0.0) + BEYOND_S;
    (1000.0 * early, 1000.0 * late)
}
