//! One pass of the film, folded on its entries.

use super::circular::Circular;
use super::slope::{ENTRY, OTHER_ENTRY, Point};
use super::wrap_half;
use crate::model::cue::Side;
use crate::model::record::StrokeMoment;

/// An interval longer than this share of a cycle has a mark missing, or is a break.
const GAP: f64 = 1.5;

/// Marks of one side or one length, in order of time and without doubles.
#[derive(Debug, Clone)]
pub struct Pass {
    /// Its number in the file.
    pub number: u32,
    /// The usual cycle, s: no estimate, only a scale for gaps and doubles.
    pub cycle_s: f64,
    /// The hand on whose entries the pass is folded: the left where it has two.
    pub lead: Side,
    times: [[Vec<f64>; 2]; 5],
    /// For each entry of each hand, the run of entries without a gap that it is in: first, last.
    runs: [Vec<(usize, usize)>; 2],
}

/// Cycles on either side over which a cycle's own length is taken: long enough that a single
/// mark's error hardly enters, short enough to follow a rate that changes within the pass.
const AROUND: usize = 2;

impl Pass {
    /// Nothing where no hand has two entries without a gap between them.
    pub(super) fn new(number: u32, times: [[Vec<f64>; 2]; 5], cycle_s: f64) -> Option<Self> {
        let entries = &times[StrokeMoment::Entry as usize];
        let runs = [runs(&entries[0], cycle_s), runs(&entries[1], cycle_s)];
        let folds = |side: &Side| {
            runs[*side as usize]
                .iter()
                .any(|(first, last)| first < last)
        };
        let lead = Side::BOTH.into_iter().find(folds)?;
        Some(Self {
            number,
            cycle_s,
            lead,
            times,
            runs,
        })
    }

    /// The same pass with the marks of the feet exchanged, left for right.
    pub(super) fn with_feet_exchanged(&self) -> Self {
        let mut pass = self.clone();
        pass.times[StrokeMoment::Kick as usize].swap(0, 1);
        pass
    }

    /// The times of one event, s.
    pub fn of(&self, moment: StrokeMoment, side: Side) -> &[f64] {
        &self.times[moment as usize][side as usize]
    }

    /// Cycles of a hand without a gap.
    pub fn cycles(&self, hand: Side) -> usize {
        let at_end = |(at, run): (usize, &(usize, usize))| usize::from(at < run.1);
        self.runs[hand as usize]
            .iter()
            .enumerate()
            .map(at_end)
            .sum()
    }

    /// The cycles of a hand as seen, s each.
    pub fn intervals(&self, hand: Side) -> impl Iterator<Item = f64> {
        let entries = self.of(StrokeMoment::Entry, hand);
        (self.runs[hand as usize].iter().enumerate())
            .filter(|(at, run)| *at < run.1)
            .map(|(at, _)| entries[at + 1] - entries[at])
    }

    /// Gaps between entries of a hand: from, to, s.
    pub(super) fn gaps(&self, hand: Side) -> Vec<(f64, f64)> {
        (self.of(StrokeMoment::Entry, hand).windows(2))
            .filter(|pair| pair[1] - pair[0] > GAP * self.cycle_s)
            .map(|pair| (pair[0], pair[1]))
            .collect()
    }

    /// The length of a cycle around an entry of a hand, s.
    fn cycle_near(&self, hand: Side, at: usize) -> f64 {
        let (first, last) = self.runs[hand as usize][at];
        let low = at.saturating_sub(AROUND).max(first);
        let high = (at + 1 + AROUND).min(last);
        let entries = self.of(StrokeMoment::Entry, hand);
        if high > low {
            (entries[high] - entries[low]) / (high - low) as f64
        } else {
            self.cycle_s
        }
    }

    /// The length of a cycle around a time, s; the usual one where no entry is near.
    pub(super) fn cycle_at(&self, time: f64) -> f64 {
        let before = self
            .of(StrokeMoment::Entry, self.lead)
            .partition_point(|entry| *entry <= time);
        self.cycle_near(self.lead, before.saturating_sub(1))
    }

    /// The phase of a time after the entry of the leading hand, and the length of a cycle there.
    ///
    /// Counted from the nearer of the two entries around it, with the length of the cycles
    /// around, so that phases of different cycles err independently. Nothing in a gap, more than
    /// half a cycle before a first entry, or a cycle after a last one.
    pub(super) fn phase(&self, time: f64) -> Option<(f64, f64)> {
        let at = self.nearest_entry(time);
        let cycle_s = self.cycle_near(self.lead, at);
        let phase = (time - self.of(StrokeMoment::Entry, self.lead)[at]) / cycle_s;
        (-0.5..1.0)
            .contains(&phase)
            .then_some((phase - phase.floor(), cycle_s))
    }

    /// The entry of the leading hand that is nearest to a time, by its place in the pass.
    pub(super) fn nearest_entry(&self, time: f64) -> usize {
        let entries = self.of(StrokeMoment::Entry, self.lead);
        let after = entries.partition_point(|entry| *entry <= time);
        let distance = |at: usize| (time - entries[at]).abs();
        match after {
            0 => 0,
            _ if after == entries.len() => after - 1,
            _ if distance(after) < distance(after - 1) => after,
            _ => after - 1,
        }
    }

    /// From each entry of `hand` to the first `moment` of `side` after it that comes within
    /// `most` of a cycle and before the next entry but by half a cycle: delay in s, cycle in s.
    pub(super) fn delays(
        &self,
        from: (StrokeMoment, Side),
        to: (StrokeMoment, Side),
        most: f64,
    ) -> Vec<(f64, f64)> {
        let (starts, ends) = (self.of(from.0, from.1), self.of(to.0, to.1));
        let mut delays = Vec::new();
        for (at, start) in starts.iter().enumerate() {
            let cycle_s = self.cycle_at(*start);
            let limit =
                (starts.get(at + 1).copied().unwrap_or(f64::MAX)).min(start + most * cycle_s);
            let found = ends.partition_point(|end| end < start);
            if let Some(end) = ends.get(found).filter(|end| **end < limit) {
                delays.push((end - start, cycle_s));
            }
        }
        delays
    }

    /// From each mark `from` to the nearest mark `to` within half a `period` (a share of the
    /// cycle) either way: distance in s, cycle in s. A little more than half is let through: on
    /// the circle of the period it is the same distance, and a sharp edge would keep of two marks
    /// half a period apart only those that happen to lie nearer.
    pub(super) fn nearest(
        &self,
        from: (StrokeMoment, Side),
        to: (StrokeMoment, Side),
        period: f64,
    ) -> Vec<(f64, f64)> {
        let ends = self.of(to.0, to.1);
        (self.of(from.0, from.1).iter())
            .filter_map(|start| {
                let cycle_s = self.cycle_at(*start);
                let after = ends.partition_point(|end| end < start);
                let around = ends[after.saturating_sub(1)..(after + 1).min(ends.len())].iter();
                let distance =
                    (around.map(|end| end - start)).min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
                (distance.abs() <= 0.6 * period * cycle_s).then_some((distance, cycle_s))
            })
            .collect()
    }

    /// Whether a moment of either side is marked.
    pub(super) fn shows(&self, moment: StrokeMoment) -> bool {
        (Side::BOTH.iter()).any(|side| !self.of(moment, *side).is_empty())
    }

    /// From each mark of an event to the next, in cycles of the leading hand; none over a gap in its
    /// entries.
    pub(super) fn steps(&self, event: (StrokeMoment, Side)) -> Vec<f64> {
        let entries = self.of(StrokeMoment::Entry, self.lead);
        let runs = &self.runs[self.lead as usize];
        (self.of(event.0, event.1).windows(2))
            .filter_map(|pair| {
                let (first, last) = (self.nearest_entry(pair[0]), self.nearest_entry(pair[1]));
                // Neighbours are told by the cycles around, so that one entry's error hardly enters.
                let cycle_s = if last > first + 1 {
                    (entries[last] - entries[first]) / (last - first) as f64
                } else {
                    self.cycle_near(self.lead, first)
                };
                (runs[first] == runs[last]).then(|| (pair[1] - pair[0]) / cycle_s)
            })
            .collect()
    }

    /// Entries of a hand whose cycle, closed by a next entry, has no `moment`.
    pub(super) fn entries_without(&self, moment: StrokeMoment, hand: Side) -> Vec<f64> {
        let (entries, marks) = (self.of(StrokeMoment::Entry, hand), self.of(moment, hand));
        (entries.windows(2))
            .filter(|pair| pair[1] - pair[0] <= GAP * self.cycle_s)
            .filter(|pair| {
                let found = marks.partition_point(|mark| *mark < pair[0]);
                marks.get(found).is_none_or(|mark| *mark >= pair[1])
            })
            .map(|pair| pair[0])
            .collect()
    }

    /// Marks of the arms as points of a line, a run of entries each, in order of their numbers.
    pub(super) fn points(&self) -> Vec<Vec<Point>> {
        let entries = self.of(StrokeMoment::Entry, self.lead);
        let mut lines = Vec::new();
        let mut at = 0;
        while at < entries.len() {
            let last = self.runs[self.lead as usize][at].1;
            if last > at {
                let run = &entries[at..=last];
                let mut line: Vec<Point> = (run.iter().enumerate())
                    .map(|(index, time)| Point {
                        number: index as f64,
                        time: *time,
                        event: ENTRY,
                    })
                    .collect();
                let others = [
                    (OTHER_ENTRY, StrokeMoment::Entry, self.lead.other()),
                    (OTHER_ENTRY + 1, StrokeMoment::Catch, self.lead),
                    (OTHER_ENTRY + 2, StrokeMoment::Catch, self.lead.other()),
                    (OTHER_ENTRY + 3, StrokeMoment::Exit, self.lead),
                    (OTHER_ENTRY + 4, StrokeMoment::Exit, self.lead.other()),
                ];
                for (event, moment, side) in others {
                    line.extend(numbered(run, self.of(moment, side), event));
                }
                line.sort_by(|a, b| a.number.total_cmp(&b.number));
                lines.push(line);
            }
            at = last + 1;
        }
        lines
    }
}

/// Marks of one event within a run of entries, numbered by whole cycles from their usual phase:
/// an event that falls near an entry, now before it and now after, keeps its count.
fn numbered(run: &[f64], marks: &[f64], event: usize) -> Vec<Point> {
    let within = marks.partition_point(|mark| *mark < run[0])
        ..marks.partition_point(|mark| *mark < run[run.len() - 1]);
    let counted: Vec<(f64, f64)> = (marks[within].iter())
        .map(|mark| {
            let at = run.partition_point(|entry| entry <= mark) - 1;
            let share = (mark - run[at]) / (run[at + 1] - run[at]);
            (at as f64 + share, *mark)
        })
        .collect();
    let phases: Vec<f64> = counted.iter().map(|(count, _)| count.fract()).collect();
    let Some(usual) = Circular::of(&phases).map(|circular| circular.mean) else {
        return Vec::new();
    };
    let mut points: Vec<Point> = (counted.into_iter())
        .map(|(count, time)| Point {
            number: usual + (count - usual).round(),
            time,
            event,
        })
        .collect();
    points.dedup_by_key(|point| point.number);
    points
}

/// For each entry, the first and the last entry of its run.
fn runs(entries: &[f64], cycle_s: f64) -> Vec<(usize, usize)> {
    let mut runs = Vec::with_capacity(entries.len());
    let mut first = 0;
    for at in 0..entries.len() {
        let ends = at + 1 == entries.len() || entries[at + 1] - entries[at] > GAP * cycle_s;
        if ends {
            runs.extend((first..=at).map(|_| (first, at)));
            first = at + 1;
        }
    }
    runs
}

/// Distances in cycles brought together around their circular mean of a `period`: they can then
/// be averaged as plain numbers.
pub(super) fn unwrap(distances: &mut [f64], period: f64, mean: f64) {
    for distance in distances {
        *distance = mean + period * wrap_half((*distance - mean) / period);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pass(left: &[f64], kicks: &[f64]) -> Pass {
        let mut times: [[Vec<f64>; 2]; 5] = Default::default();
        times[StrokeMoment::Entry as usize][0] = left.to_vec();
        times[StrokeMoment::Kick as usize][0] = kicks.to_vec();
        Pass::new(1, times, 2.0).expect("two entries")
    }

    #[test]
    fn phases_are_counted_from_the_nearer_entry() {
        let pass = pass(&[0.0, 2.0, 4.0], &[]);
        for (time, phase) in [(0.6, 0.3), (2.0, 0.0), (3.8, 0.9), (5.6, 0.8), (-0.5, 0.75)] {
            let found = pass.phase(time).expect("near").0;
            assert!((found - phase).abs() < 1e-12, "{time}: {found}");
        }
        assert_eq!(pass.phase(6.1), None);
        assert_eq!(pass.phase(-1.2), None);
    }

    #[test]
    fn nothing_is_folded_over_a_break() {
        let pass = pass(&[0.0, 2.0, 20.0, 22.0], &[0.6, 10.0, 20.6]);
        assert_eq!(pass.cycles(Side::Left), 2);
        assert_eq!(pass.phase(10.0), None);
        assert_eq!(pass.steps((StrokeMoment::Entry, Side::Left)), [1.0, 1.0]);
        assert_eq!(pass.points().len(), 2);
    }

    #[test]
    fn the_nearest_kick_may_come_before_or_after() {
        let pass = pass(&[0.0, 2.0, 4.0], &[0.1, 1.9, 4.05]);
        let found = pass.nearest(
            (StrokeMoment::Entry, Side::Left),
            (StrokeMoment::Kick, Side::Left),
            1.0,
        );
        let ms: Vec<i64> = found
            .iter()
            .map(|(s, _)| (s * 1000.0).round() as i64)
            .collect();
        assert_eq!(ms, [100, -100, 50]);
    }
}
