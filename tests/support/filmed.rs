//! Swimmers whose truth is known, their films as marks, and what a marker does wrong.

use std::fmt::Write as _;

use cuelane::model::cue::Side;
use cuelane::model::kick::Pairing;
use cuelane::model::record::{Mark, MarkedFilm, Marks, StrokeMoment};

/// A swimmer, and the film of one length.
#[derive(Debug, Clone)]
pub struct Truth {
    pub cycle_s: f64,
    pub right_entry: f64,
    pub catches: [f64; 2],
    pub exits: [f64; 2],
    /// Each foot's paired kick on the circle.
    pub kicks: [f64; 2],
    /// Kicks of a foot in a cycle, evenly spread unless `fills` says otherwise.
    pub beats_of_a_foot: u32,
    /// How far each foot's second kick of four-beat lies after its paired one, where that is not half a
    /// cycle.
    pub fills: Option<[f64; 2]>,
    /// How far the kicks have moved on the circle in each cycle, by its number.
    pub astray: Vec<f64>,
    pub scatter_s: f64,
    pub wander: f64,
    pub cycles: usize,
    pub fps: f64,
}

/// A number of the standard normal distribution.
pub fn normal(rng: &mut fastrand::Rng) -> f64 {
    (-2.0 * (1.0 - rng.f64()).ln()).sqrt() * (std::f64::consts::TAU * rng.f64()).cos()
}

pub fn between(rng: &mut fastrand::Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.f64()
}

impl Truth {
    /// 6 to 30 cycles, filmed at 30 to 240 frames/s, marks off by 10 to 40 ms, kicks anywhere.
    /// Half of them keep an even stroke, the others wander: each cycle longer or shorter by 0.3
    /// to 2 %. (What swimmers do lies between; common practice, no source.)
    pub fn new(rng: &mut fastrand::Rng) -> Self {
        let mut between = |low: f64, high: f64| low + (high - low) * rng.f64();
        let wanders = between(0.0, 1.0) < 0.5;
        Self {
            cycle_s: between(1.5, 2.7),
            right_entry: between(0.45, 0.55),
            catches: [between(0.2, 0.38), between(0.2, 0.38)],
            exits: [between(0.7, 0.85), between(0.7, 0.85)],
            kicks: [between(0.0, 1.0), between(0.0, 1.0)],
            beats_of_a_foot: 1,
            fills: None,
            astray: Vec::new(),
            scatter_s: between(0.010, 0.040),
            wander: if wanders { between(0.003, 0.02) } else { 0.0 },
            cycles: between(6.0, 31.0) as usize,
            fps: [30.0, 60.0, 120.0, 240.0][between(0.0, 4.0) as usize],
        }
    }

    /// Where a pairing puts each foot's kick.
    pub fn places(&self, pairing: Pairing) -> [f64; 2] {
        match pairing {
            Pairing::SameSide => [self.catches[0], self.right_entry + self.catches[1]],
            Pairing::OppositeSide => [self.right_entry, 0.0],
        }
    }

    /// Kicks by a pairing, all of them off by one share of the cycle and each foot by another.
    #[must_use]
    pub fn kicking(mut self, pairing: Pairing, off: [f64; 2]) -> Self {
        let places = self.places(pairing);
        self.kicks = [places[0] + off[0], places[1] + off[1]];
        self
    }

    /// A four-beat kick as the program cues it (docs/rules.md): three beats on one arm's side, thirds of the
    /// gap between the paired ones apart.
    #[must_use]
    pub fn four_beat_as_cued(mut self, pairing: Pairing, three_on: Side) -> Self {
        let places = self.places(pairing);
        let (first, last) = (three_on as usize, three_on.other() as usize);
        let gap = (places[last] - places[first]).rem_euclid(1.0);
        let mut fills = [0.0; 2];
        fills[first] = 2.0 / 3.0 * gap;
        fills[last] = -2.0 / 3.0 * gap;
        self.fills = Some(fills);
        self
    }

    /// The share of a cycle by which the two pairings differ, by the mean catch (docs/rules.md).
    pub fn apart(&self) -> f64 {
        let catch = (self.catches[0] + self.catches[1]) / 2.0;
        if self.beats_of_a_foot < 3 {
            return 0.5 - catch;
        }
        let shift = (catch - 1.0 / 6.0).rem_euclid(1.0 / 3.0);
        shift.min(1.0 / 3.0 - shift)
    }

    /// The marks of a film, and the mean cycle that was swum in it, s.
    pub fn film(&self, rng: &mut fastrand::Rng) -> (Marks, f64) {
        let mut marks = Vec::new();
        let mut start = 5.0 + rng.f64();
        let (first, mut last) = (start, start);
        for cycle in 0..=self.cycles {
            let cycle_s = self.cycle_s * (1.0 + self.wander * normal(rng));
            let astray = self.astray.get(cycle).copied().unwrap_or(0.0);
            for (at, side) in Side::BOTH.into_iter().enumerate() {
                let entry = if at == 0 { 0.0 } else { self.right_entry };
                let mut events = vec![
                    (StrokeMoment::Entry, entry),
                    (StrokeMoment::Catch, entry + self.catches[at]),
                    (StrokeMoment::Exit, entry + self.exits[at]),
                ];
                for beat in 0..self.beats_of_a_foot {
                    let even = f64::from(beat) / f64::from(self.beats_of_a_foot);
                    let share = (self.fills.filter(|_| beat > 0)).map_or(even, |fills| fills[at]);
                    events.push((StrokeMoment::Kick, self.kicks[at] + share + astray));
                }
                for (moment, phase) in events {
                    let time_s = start + phase * cycle_s + self.scatter_s * normal(rng);
                    marks.push(Mark {
                        time_s: (time_s * self.fps).round() / self.fps,
                        moment,
                        side,
                        pass: 1,
                        line: marks.len() + 2,
                    });
                }
            }
            last = start;
            start += cycle_s;
        }
        let marks = Marks {
            source: "simulated".into(),
            marks,
            frame_rate_hz: Some(self.fps),
            film: MarkedFilm::default(),
            notes: Vec::new(),
        };
        (marks, (last - first) / self.cycles as f64)
    }
}

/// Left and right exchanged in the marks of some moments.
pub fn crossed(mut marks: Marks, moments: &[StrokeMoment]) -> Marks {
    for mark in &mut marks.marks {
        if moments.contains(&mark.moment) {
            mark.side = mark.side.other();
        }
    }
    marks
}

/// Left and right exchanged in a share of the marks of the hands, each by itself.
pub fn mixed(mut marks: Marks, share: f64, rng: &mut fastrand::Rng) -> Marks {
    let of_hands = [StrokeMoment::Entry, StrokeMoment::Catch, StrokeMoment::Exit];
    for mark in &mut marks.marks {
        if of_hands.contains(&mark.moment) && rng.f64() < share {
            mark.side = mark.side.other();
        }
    }
    marks
}

/// The kicks of one foot, either, marked in a share of cycles, and those of the other in another.
pub fn thinned(mut marks: Marks, seen: [f64; 2], rng: &mut fastrand::Rng) -> Marks {
    let near = rng.usize(0..2);
    (marks.marks).retain(|mark| {
        mark.moment != StrokeMoment::Kick
            || rng.f64() < seen[usize::from(mark.side as usize != near)]
    });
    marks
}

/// Two lengths filmed from one side each: of the left side in pass 1, the right in pass 2. The
/// far hand is not seen; of the far foot's kicks a share is.
pub fn one_sided(left: Marks, right: Marks, far_seen: f64, rng: &mut fastrand::Rng) -> Marks {
    let mut both = Marks {
        marks: Vec::new(),
        ..left.clone()
    };
    for (pass, near, marks) in [(1, Side::Left, left), (2, Side::Right, right)] {
        for mut mark in marks.marks {
            let far_kick = mark.moment == StrokeMoment::Kick && rng.f64() < far_seen;
            if mark.side == near || far_kick {
                mark.pass = pass;
                both.marks.push(mark);
            }
        }
    }
    both
}

/// The same moments marked by a person: each kind of mark (in the order of
/// [`StrokeMoment::ALL`]) late by a habit, s, and each mark off by itself, s.
pub fn marked_by(
    mut marks: Marks,
    habits: &[f64; 5],
    scatter_s: f64,
    rng: &mut fastrand::Rng,
) -> Marks {
    for mark in &mut marks.marks {
        mark.time_s += habits[mark.moment as usize] + scatter_s * normal(rng);
    }
    marks
}

/// A file of marks whose film begins 60 s into a track of 60 spm: 16 cycles from 3 s on (60 s of lead-in
/// and 3 s of push-off: docs/session.md), catches at 0.3 of a cycle, and each foot so far behind the
/// catch of its side, s, by the cycle's number. `place` is the answer of the search in the sound.
pub fn filmed_in_track(place: &str, lag_s: impl Fn(u32) -> f64) -> String {
    let mut text = String::from("time,event,sync,track_s_at_film_0\n");
    let mut found = format!("{place},60");
    for cycle in 0..16 {
        for (side, entry_s) in [("left", 3.0), ("right", 4.0)] {
            let entry_s = entry_s + 2.0 * f64::from(cycle);
            let (catch_s, kick_s) = (entry_s + 0.6, entry_s + 0.6 + lag_s(cycle));
            for (event, at_s) in [("entry", entry_s), ("catch", catch_s), ("kick", kick_s)] {
                let _ = writeln!(text, "{at_s:.3},{side}_{event},{found}");
                found = ",".into();
            }
        }
    }
    text
}
