//! What the swims of a week show: the speed of its days, and how its comparison swims differ from
//! the others of the same day.

use super::LoggedSwim;
use super::days::{Days, FROM_MAD, Squares, middle};
use super::levels::SameDay;
use super::rules::{EFFORT_APART, FAR_SWIM, SAME_RATE};
use crate::analysis::stats::{mean, median};

/// The rates that the swims of a week may have been cued at, strokes/min.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekRates {
    /// The week's.
    pub week_spm: f64,
    /// That of the comparison swims; none where all swims are alike.
    pub comparison_spm: Option<f64>,
}

/// What a swim is to its week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Cued at the week's rate.
    AtRate,
    /// Cued at the plan's first rate, for comparison.
    Comparison,
    /// Cued at neither.
    OtherRate,
    /// Without cues.
    Uncued,
}

impl WeekRates {
    /// By the rate cued alone: sets and repeats are named as everybody likes.
    pub fn kind(&self, swim: &LoggedSwim) -> Kind {
        let Some(cued) = swim.cued_spm else {
            return Kind::Uncued;
        };
        let off = |spm: f64| (cued - spm).abs();
        let week = off(self.week_spm);
        match self.comparison_spm.map(off) {
            Some(comparison) if comparison < week && comparison <= SAME_RATE => Kind::Comparison,
            _ if week <= SAME_RATE => Kind::AtRate,
            _ => Kind::OtherRate,
        }
    }
}

/// A week, as the levels learn from it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Observed {
    /// The logarithm of speed at the week's rate, over the distance that most swims have.
    pub speed: Days,
    /// Those swims about the middle of their day.
    pub swims: Squares,
    /// The others less the comparison swims of the same days.
    pub same_day: Option<SameDay>,
    /// How much harder the others felt than the comparison swims, one mean a day.
    pub felt: Vec<f64>,
    /// Days left out because the two felt too different.
    pub apart: usize,
    /// The distance, m.
    pub distance_m: Option<f64>,
}

impl Observed {
    /// From the swims of a week, in order. Strokes are not asked for: speed needs none.
    pub fn of(swam: &[&LoggedSwim], rates: WeekRates, single: bool) -> Self {
        let is_timed = |swim: &&&LoggedSwim| swim.speed_m_s.is_some();
        let at_rate = |swim: &&&LoggedSwim| rates.kind(swim) == Kind::AtRate;
        let timed: Vec<&LoggedSwim> = (swam.iter().filter(at_rate).filter(is_timed))
            .copied()
            .collect();
        let distance_m = commonest(&timed);
        let alike = |swim: &LoggedSwim| Some(swim.distance_m) == distance_m;
        let log_speed = |swim: &LoggedSwim| swim.speed_m_s.map(f64::ln);
        let of_distance: Vec<&LoggedSwim> =
            timed.iter().copied().filter(|swim| alike(swim)).collect();
        let mut seen = Self {
            speed: Days::of(&of_distance, &log_speed, single),
            distance_m,
            ..Self::default()
        };
        for day in of_distance.chunk_by(|a, b| a.date == b.date) {
            seen.swims = seen.swims.with(about_the_middle(day));
        }
        let mut differences = Vec::new();
        let mut share = 0.0;
        for day in swam.chunk_by(|a, b| a.date == b.date) {
            let logged: Vec<&LoggedSwim> = day.iter().filter(is_timed).copied().collect();
            // Fast out and a sprint home would count for one kind alone.
            let inside = logged.get(1..logged.len().saturating_sub(1)).unwrap_or(&[]);
            let of = |kind: Kind| -> Vec<&LoggedSwim> {
                let wanted = |swim: &&&LoggedSwim| rates.kind(swim) == kind && alike(swim);
                inside.iter().filter(wanted).copied().collect()
            };
            let (others, comparison) = (of(Kind::AtRate), of(Kind::Comparison));
            let value = |swims: &[&LoggedSwim]| {
                middle(
                    &swims
                        .iter()
                        .filter_map(|swim| log_speed(swim))
                        .collect::<Vec<_>>(),
                )
            };
            let Some((fast, slow)) = value(&others).zip(value(&comparison)) else {
                continue;
            };
            let felt = effort(&others).zip(effort(&comparison));
            let felt = felt.map(|(others, comparison)| others - comparison);
            seen.felt.extend(felt);
            if felt.is_some_and(|felt| felt.abs() >= EFFORT_APART - 1e-9) {
                seen.apart += 1;
                continue;
            }
            differences.push(fast - slow);
            share += 1.0 / others.len() as f64 + 1.0 / comparison.len() as f64;
        }
        let days = differences.len() as f64;
        seen.same_day = mean(&differences).map(|difference| SameDay {
            difference,
            share: share / (days * days),
        });
        seen
    }
}

fn effort(swims: &[&LoggedSwim]) -> Option<f64> {
    mean(
        &swims
            .iter()
            .filter_map(|swim| swim.effort)
            .collect::<Vec<_>>(),
    )
}

/// The swims of a day about its middle; a wild one counts as no farther off than [`FAR_SWIM`]
/// spreads.
fn about_the_middle(day: &[&LoggedSwim]) -> Squares {
    let speeds: Vec<f64> = (day.iter().filter_map(|swim| swim.speed_m_s))
        .map(f64::ln)
        .collect();
    let centre = middle(&speeds).unwrap_or(0.0);
    let off: Vec<f64> = speeds.iter().map(|speed| (speed - centre).abs()).collect();
    let most = (FAR_SWIM * FROM_MAD * median(&off).unwrap_or(0.0)).max(1e-4);
    Squares {
        squares: off.iter().map(|off| off.min(most).powi(2)).sum(),
        df: speeds.len().saturating_sub(1),
    }
}

/// The scatter of a swimmer's own swims about the middle of their day, distance and cue; none of
/// nothing.
pub fn own_scatter(swims: &[LoggedSwim]) -> Squares {
    let mut groups: Vec<Vec<&LoggedSwim>> = Vec::new();
    for swim in swims.iter().filter(|swim| swim.speed_m_s.is_some()) {
        let alike = |group: &&mut Vec<&LoggedSwim>| {
            let first = group[0];
            (first.date, first.distance_m, first.cued_spm)
                == (swim.date, swim.distance_m, swim.cued_spm)
        };
        // Swims are in order of date: the same day is among the last groups.
        match groups.iter_mut().rev().take(16).find(alike) {
            Some(group) => group.push(swim),
            None => groups.push(vec![swim]),
        }
    }
    (groups.iter()).fold(Squares::default(), |all, group| {
        all.with(about_the_middle(group))
    })
}

/// The distance that most swims have; of equals the longer.
pub fn commonest(swims: &[&LoggedSwim]) -> Option<f64> {
    let mut metres: Vec<f64> = swims.iter().map(|swim| swim.distance_m).collect();
    metres.sort_by(f64::total_cmp);
    (metres.chunk_by(|a, b| a == b))
        .max_by(|a, b| a.len().cmp(&b.len()).then(a[0].total_cmp(&b[0])))
        .map(|alike| alike[0])
}
