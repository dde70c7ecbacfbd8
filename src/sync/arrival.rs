//! The first arrival: in a hall the strongest sound may be a reflection, 4 to 40 ms late.
//!
//! The correlations of all loud cues are laid over each other. What one arrival alone would look
//! like is known, so arrivals are taken off one by one, the largest first. The earliest that is
//! nearly as large as the largest is taken for the sound that came straight.

use realfft::num_complex::Complex32;

use super::fine::{Fine, Line, MIDDLE, TRANSFORM, WIDE, rms};
use super::fourier::Back;
use super::ranks::first_greatest;
use super::track::RATE_HZ;

/// Places a sample.
const FINER: usize = 4;
const PLACES_HZ: f64 = (RATE_HZ as usize * FINER) as f64;
/// So many arrivals are taken off.
const TAKEN: usize = 14;
/// The first is at least this share of the largest, and this many times what is left over.
const FIRST_SHARE: f64 = 0.45;
const FIRST_OVER_REST: f64 = 4.5;
/// What is nearer to the first than this, s, is no arrival before it.
const BEFORE_S: f64 = 3e-4;
/// Fewer loud cues than this show nothing.
const FEWEST: usize = 4;
/// A millisecond is claimed only where odd and even cues agree within so many s on the first arrival,
/// nothing before it is this share of the largest, and what is left over is no more than this share.
const AGREE_S: f64 = 1e-4;
const MOST_BEFORE: f64 = 0.2;
const MOST_REST: f64 = 0.08;

/// What the arrivals of a film's cues say of a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrival {
    /// From the fitted place to the first arrival, s; 0 where none is found. Mostly earlier: below 0.
    pub shift_s: f64,
    /// The earliest arrival of all and the strongest, from the fitted place, s.
    pub between_s: (f64, f64),
    /// How far the first arrivals of odd and even cues lie from the first one, s, where it is certain
    /// enough to claim a millisecond.
    pub agrees_s: Option<f64>,
}

/// Arrivals in one sum, as places from the start of the correlation.
struct Arrivals {
    /// Place and height, as they were taken.
    taken: Vec<(usize, f32)>,
    /// What is left over: the root of its mean square.
    rest: f64,
}

/// Looks for the first arrival of the loud cues of a place.
pub fn first_arrival(fine: &mut Fine, line: Line) -> Arrival {
    let loud: Vec<CueSpectra> = spectra(fine, line);
    if loud.len() < FEWEST {
        return Arrival {
            shift_s: 0.0,
            between_s: (0.0, 0.0),
            agrees_s: None,
        };
    }
    let mut back = Back::new(TRANSFORM * FINER, fine.band.start);
    let all = Arrivals::of(&loud.iter().collect::<Vec<_>>(), &mut back);
    let halves = [0, 1].map(|odd| {
        let half: Vec<_> = loud.iter().skip(odd).step_by(2).collect();
        Arrivals::of(&half, &mut back).first()
    });
    let seconds = |place: usize| place as f64 / PLACES_HZ - MIDDLE as f64 / f64::from(RATE_HZ);
    let first = all.first();
    let earliest = all.taken.iter().map(|(place, _)| *place).min();
    let (strongest, _) = all.largest();
    let agrees_s = first
        .filter(|first| all.is_clear(*first))
        .and_then(|first| {
            let [odd, even] =
                halves.map(|half| half.map(|half| (seconds(half) - seconds(first)).abs()));
            let most = odd?.max(even?);
            (most <= AGREE_S + 1e-9).then_some(most)
        });
    Arrival {
        shift_s: first.map_or(0.0, seconds),
        between_s: (seconds(earliest.unwrap_or(strongest)), seconds(strongest)),
        agrees_s,
    }
}

/// What was heard where a cue is, by bin, and the power that the cue alone would have there.
type CueSpectra = (Vec<Complex32>, Vec<f32>);

/// For each loud cue inside: its correlation's spectrum, and that of one arrival alone.
fn spectra(fine: &mut Fine, line: Line) -> Vec<CueSpectra> {
    let track = fine.track;
    let inside = track.instants[fine.inside(line)].iter();
    let loud = inside.filter(|instant| track.label(instant).is_loud());
    let each = loud.map(|instant| {
        let (window, sound) = (
            fine.window(line.film_s(instant.at_s)),
            fine.sound(instant.label),
        );
        let found: Vec<Complex32> = window.against(&sound).collect();
        let level = 1.0 / rms(fine.correlation(found.iter().copied()));
        let alone = sound.iter().zip(&window.gains);
        (
            found.iter().map(|bin| bin * level).collect(),
            alone
                .map(|(bin, gain)| bin.norm_sqr() * gain * level)
                .collect(),
        )
    });
    each.collect()
}

impl Arrivals {
    fn of(cues: &[&CueSpectra], back: &mut Back) -> Self {
        let bins = cues[0].0.len();
        let sum = |of: &dyn Fn(&CueSpectra, usize) -> Complex32| -> Vec<Complex32> {
            (0..bins)
                .map(|bin| cues.iter().map(|cue| of(cue, bin)).sum())
                .collect()
        };
        let found = sum(&|cue, bin| cue.0[bin]);
        let alone = sum(&|cue, bin| Complex32::new(cue.1[bin], 0.0));
        let mut rest = back.of(found.into_iter())[..WIDE * FINER].to_vec();
        let alone = back.of(alone.into_iter()).to_vec();
        let length = alone.len();
        let mut taken = Vec::with_capacity(TAKEN);
        for _ in 0..TAKEN {
            let sizes = rest.iter().map(|value| value.abs());
            let place = first_greatest(sizes).map_or(0, |top| top.0);
            let height = rest[place];
            taken.push((place, height));
            let one = (0..rest.len()).map(|at| alone[(at + length - place) % length] / alone[0]);
            rest.iter_mut()
                .zip(one)
                .for_each(|(rest, one)| *rest -= height * one);
        }
        Self {
            taken,
            rest: f64::from(rms(&rest)),
        }
    }

    /// The strongest of all.
    fn largest(&self) -> (usize, f64) {
        let sizes = self.taken.iter().map(|(_, height)| height.abs());
        first_greatest(sizes).map_or((0, 0.0), |(at, size)| (self.taken[at].0, f64::from(size)))
    }

    /// The earliest that is large enough.
    fn first(&self) -> Option<usize> {
        let enough = (FIRST_SHARE * self.largest().1).max(FIRST_OVER_REST * self.rest);
        let large = (self.taken.iter()).filter(|(_, height)| f64::from(height.abs()) > enough);
        large.map(|(place, _)| *place).min()
    }

    /// Whether nothing of size comes before the first, and little is left over.
    fn is_clear(&self, first: usize) -> bool {
        let largest = self.largest().1;
        let near = (BEFORE_S * PLACES_HZ) as usize;
        let before = (self.taken.iter())
            .filter(|(place, _)| place + near < first)
            .map(|(_, height)| f64::from(height.abs()))
            .fold(0.0, f64::max);
        before <= MOST_BEFORE * largest && self.rest <= MOST_REST * largest
    }
}
