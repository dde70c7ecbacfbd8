//! Which place it is: the likeliest, and all that cannot be told from it.

use super::fine::{Fine, FittedLine, Line};
use super::ranks::{first_greatest, median, quantile, to_nearest};

/// So many places are fitted.
const FITTED: usize = 6;
/// Below this strength nothing is claimed and nothing further looked at: the largest of 1691 films
/// without cues was 5.9.
const FAINTEST: f64 = 6.0;
/// Weakest strength of an answer, and fewest arm and kick instants inside.
const STRENGTH: f64 = 8.5;
const FEWEST: usize = 6;
/// A height above this is a cue that is heard.
pub const HEARD: f32 = 2.0;
/// Heights count between these, and what a kind of cue has in a film lies between those.
const COUNTED: (f32, f32) = (-1.0, 6.0);
const USUAL: (f32, f32) = (0.3, 4.0);
/// What is expected of a kind of cue that the likeliest place does not have.
const UNSEEN: f32 = 2.0;
/// The weight of a place without a cue inside.
const NOTHING_INSIDE: f64 = -9.0;
/// A place less likely than the likeliest by this much, in nats, is ruled out.
const RULED_OUT: f64 = 12.0;
/// Places nearer than this, s, are one.
const ONE_PLACE_S: f64 = 0.02;
/// Two places have the same cues where so many of them fall together within so many s.
const SAME_SHARE: f64 = 0.7;
const SAME_S: f64 = 0.0015;

/// What is left after all places were weighed.
pub enum WeighedPlaces {
    /// Too little is heard.
    Nothing {
        /// Arm and kick instants heard, of those expected.
        heard: (usize, usize),
    },
    /// At least one place.
    Places(PlacesLeft),
}

/// The likeliest place and its rivals.
pub struct PlacesLeft {
    /// The likeliest.
    pub line: Line,
    /// The fitted place from which the others were reckoned.
    pub fitted: Line,
    /// All that cannot be told from the likeliest.
    pub rivals: Vec<Line>,
    /// Whether the rivals have the same cues at the same moments of the film.
    pub same_moments: bool,
    /// Arm and kick instants heard, of those expected.
    pub heard: (usize, usize),
}

/// Weighs candidates (the track's time at the film's time 0, s, the likeliest first) and all places
/// that the track's own repetition makes possible.
pub fn choose(fine: &mut Fine, candidates: &[f64]) -> WeighedPlaces {
    let fits = fitted(fine, candidates);
    let strongest = fits.iter().map(|fit| fit.strength).fold(0.0, f64::max);
    if strongest < FAINTEST {
        return WeighedPlaces::Nothing { heard: (0, 0) };
    }
    let greatest = |weights: &[f64]| first_greatest(weights).map_or(0, |most| most.0);
    // Each place by its own levels first: few clear cues beat many dim ones.
    let own: Vec<f64> = (fits.iter())
        .map(|fit| {
            let usual = usual(fine, fit.line);
            likelihood(fine, fit.line, &usual, f64::NEG_INFINITY)
        })
        .collect();
    let usual = usual(fine, fits[greatest(&own)].line);
    let weights: Vec<f64> = (fits.iter())
        .map(|fit| likelihood(fine, fit.line, &usual, f64::NEG_INFINITY))
        .collect();
    let best = fits[greatest(&weights)];
    let heard_there = heard(fine, best.line);
    if best.strength < STRENGTH || heard_there.1 < FEWEST {
        return WeighedPlaces::Nothing { heard: heard_there };
    }
    let mut weighed: Vec<(f64, Line)> = (weights.into_iter())
        .zip(fits.iter().map(|fit| fit.line))
        .collect();
    let mut most = weighed
        .iter()
        .map(|one| one.0)
        .fold(f64::NEG_INFINITY, f64::max);
    for line in repetitions(fine, best.line) {
        let weight = likelihood(fine, line, &usual, most - RULED_OUT);
        most = most.max(weight);
        weighed.push((weight, line));
    }
    weighed.sort_by(|one, other| other.0.total_cmp(&one.0));
    let (most, line) = weighed[0];
    let rivals: Vec<Line> = (weighed.iter())
        .filter(|(weight, _)| *weight > most - RULED_OUT)
        .map(|(_, other)| *other)
        .filter(|other| !is_one_place(line, *other))
        .collect();
    WeighedPlaces::Places(PlacesLeft {
        same_moments: (rivals.iter()).all(|rival| have_same_moments(fine, line, *rival)),
        heard: heard(fine, line),
        line,
        fitted: best.line,
        rivals: apart(rivals),
    })
}

fn is_one_place(one: Line, other: Line) -> bool {
    (one.start_s - other.start_s).abs() <= ONE_PLACE_S
}

/// The likeliest of each place: one that was fitted may also be a repetition of the likeliest, a few
/// hundredths of a millisecond off.
fn apart(places: Vec<Line>) -> Vec<Line> {
    let mut kept: Vec<Line> = Vec::new();
    for place in places {
        if !kept.iter().any(|other| is_one_place(*other, place)) {
            kept.push(place);
        }
    }
    kept
}

/// Fits the candidates until [`FITTED`] lie; one that has the cues of another is left out.
fn fitted(fine: &mut Fine, candidates: &[f64]) -> Vec<FittedLine> {
    let mut fits = Vec::new();
    let mut seen: Vec<Vec<f64>> = Vec::new();
    for start_s in candidates {
        if fits.len() == FITTED {
            break;
        }
        let pattern = pattern(fine, *start_s);
        if seen.iter().any(|other| is_same(&pattern, other)) {
            continue;
        }
        seen.push(pattern);
        fits.extend(fine.fit(*start_s));
    }
    fits
}

/// The film times of a place's cues, s, each label a day after the one before; sorted.
fn pattern(fine: &Fine, start_s: f64) -> Vec<f64> {
    let (from, to) = (start_s + 0.1, start_s + fine.seconds - 0.1);
    let cues = fine.track.instants[fine.track.between(from, to)].iter();
    let mut times: Vec<f64> = cues
        .map(|cue| cue.label as f64 * 86_400.0 + cue.at_s - start_s)
        .collect();
    times.sort_by(f64::total_cmp);
    times
}

/// Whether two patterns have the same cues at the same intervals: four in five within 30 ms of one
/// another, and all by nearly the same. At 30 ms alone a neighbouring cycle of a slowly rising rate
/// would count as the same place.
fn is_same(one: &[f64], other: &[f64]) -> bool {
    let nearest = one.iter().filter_map(|time| to_nearest(other, *time));
    let mut near: Vec<f64> = nearest.filter(|off| off.abs() < 0.03).collect();
    near.sort_by(f64::total_cmp);
    !near.is_empty()
        && near.len() as f64 >= 0.8 * one.len().max(other.len()) as f64
        && quantile(&near, 0.9) - quantile(&near, 0.1) < 0.002
}

/// The places at which the cue in the film's middle is another of the same label. From the events
/// alone: a limit on their number, or on how well they fit, loses the right one.
fn repetitions(fine: &Fine, line: Line) -> Vec<Line> {
    let track = fine.track;
    let inside = track.between(line.start_s, line.track_s(fine.seconds));
    if inside.is_empty() {
        return Vec::new();
    }
    let middle = inside.start + inside.len() / 2;
    let cue = track.instants[middle];
    let others = track.instants.iter().enumerate();
    let moved = others
        .filter(|(at, other)| *at != middle && other.label == cue.label)
        .map(|(_, other)| Line {
            start_s: line.start_s + other.at_s - cue.at_s,
            ..line
        });
    moved
        .filter(|line| track.during.contains(&(line.start_s + 0.5 * fine.seconds)))
        .collect()
}

/// How high each kind of cue is at a place, as a rule.
fn usual(fine: &mut Fine, line: Line) -> Vec<f32> {
    let track = fine.track;
    let mut of_kind: Vec<Vec<f32>> = vec![Vec::new(); track.kinds];
    for (at, height) in fine.heights(line) {
        of_kind[track.label(&track.instants[at]).kind].push(height);
    }
    let usual = of_kind.iter().map(|heights| {
        if heights.is_empty() {
            UNSEEN
        } else {
            median(heights).clamp(USUAL.0, USUAL.1)
        }
    });
    usual.collect()
}

/// How much likelier the cues of a place are than none of them, in nats. A silent cue that should be
/// there counts against the place. Where it cannot reach `least` any more, something below that.
fn likelihood(fine: &mut Fine, line: Line, usual: &[f32], least: f64) -> f64 {
    let track = fine.track;
    let inside = fine.inside(line);
    if inside.is_empty() {
        return NOTHING_INSIDE;
    }
    let gain = |at: usize, height: f32| {
        let usual = usual[track.label(&track.instants[at]).kind];
        f64::from(usual * height.clamp(COUNTED.0, COUNTED.1) - usual * usual / 2.0)
    };
    let mut to_come: f64 = (inside.clone()).map(|at| gain(at, COUNTED.1)).sum();
    let mut sum = 0.0;
    for at in inside {
        if sum + to_come < least {
            return sum + to_come;
        }
        let cue = track.instants[at];
        to_come -= gain(at, COUNTED.1);
        sum += gain(at, fine.height(cue.label, line.film_s(cue.at_s)));
    }
    sum
}

/// Instants with an arm or kick cue that are heard at a place, of those inside.
fn heard(fine: &mut Fine, line: Line) -> (usize, usize) {
    let track = fine.track;
    let mut heights = fine.heights(line);
    heights.retain(|(at, _)| track.label(&track.instants[*at]).is_of_the_body());
    let heard = heights.iter().filter(|(_, height)| *height > HEARD).count();
    (heard, heights.len())
}

/// Whether nearly every loud cue of one place has a cue of its label at the same film time in another.
fn have_same_moments(fine: &Fine, line: Line, other: Line) -> bool {
    let track = fine.track;
    let mut by_label: Vec<Vec<f64>> = vec![Vec::new(); track.labels.len()];
    for instant in &track.instants {
        by_label[instant.label].push(other.film_s(instant.at_s));
    }
    let inside = track.between(line.track_s(0.1), line.track_s(fine.seconds - 0.15));
    let loud = (track.instants[inside].iter()).filter(|instant| track.label(instant).is_loud());
    let same: Vec<bool> = loud
        .map(|instant| {
            let off = to_nearest(&by_label[instant.label], line.film_s(instant.at_s));
            off.is_some_and(|off| off.abs() < SAME_S)
        })
        .collect();
    let count = same.iter().filter(|same| **same).count();
    count > 0 && count as f64 >= SAME_SHARE * same.len() as f64
}
