//! Two markings of one film: how far the same event moves when it is marked again.

use std::cmp::Ordering;

use libm::sqrt;

use super::Estimate;
use super::student::Mean;
use crate::model::cue::Side;
use crate::model::record::{Mark, Marks, StrokeMoment};

/// What marking itself adds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkingError {
    /// Of all marks together.
    pub all: OfKind,
    /// Of each kind of mark, in the order of [`StrokeMoment::ALL`], where two of it matched.
    pub kinds: [Option<OfKind>; 5],
    /// Marks of either marking that the other has not.
    pub unmatched: usize,
}

/// How far marks moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfKind {
    /// Standard deviation of one mark, s: that of the differences over √2.
    pub mark_sd_s: f64,
    /// How much later the second marking lies, s.
    pub shift_s: Estimate,
}

impl OfKind {
    fn of(differences: &[f64]) -> Option<Self> {
        let mean = Mean::of(differences, 0.0).filter(|mean| mean.n >= 2)?;
        Some(Self {
            mark_sd_s: sqrt(mean.variance / 2.0),
            shift_s: mean.estimate(),
        })
    }
}

/// Marks farther apart than this are not the same event, s: of kicks under a third of the fastest
/// cycle's kick period, of the arms, whose marks come once a cycle, more: habits differ by 0.1 s.
const SAME_KICK_S: f64 = 0.1;
const SAME_EVENT_S: f64 = 0.25;

impl MarkingError {
    /// Matches each mark with the nearest of the same event in the other marking, one to one.
    /// Nothing with fewer than two matches. Of a copy it says nothing: see [`is_copy`].
    pub fn of(first: &Marks, again: &Marks) -> Option<Self> {
        let (ours, theirs) = (in_order(first), in_order(again));
        let (mut i, mut j) = (0, 0);
        let mut differences: Vec<(StrokeMoment, f64)> = Vec::new();
        while i < ours.len() && j < theirs.len() {
            let apart = theirs[j].time_s - ours[i].time_s;
            let moment = ours[i].moment;
            let most = match moment {
                StrokeMoment::Kick => SAME_KICK_S,
                _ => SAME_EVENT_S,
            };
            let order = (event(&ours[i]).cmp(&event(&theirs[j]))).then(match apart {
                apart if apart > most => Ordering::Less,
                apart if apart < -most => Ordering::Greater,
                _ => Ordering::Equal,
            });
            match order {
                Ordering::Less => i += 1,
                Ordering::Greater => j += 1,
                Ordering::Equal => {
                    differences.push((moment, apart));
                    (i, j) = (i + 1, j + 1);
                }
            }
        }
        let of = |wanted: &dyn Fn(StrokeMoment) -> bool| {
            let kept = differences.iter().filter(|(moment, _)| wanted(*moment));
            OfKind::of(&kept.map(|(_, apart)| *apart).collect::<Vec<f64>>())
        };
        Some(Self {
            all: of(&|_| true)?,
            kinds: StrokeMoment::ALL.map(|kind| of(&|moment| moment == kind)),
            unmatched: ours.len() + theirs.len() - 2 * differences.len(),
        })
    }

    /// What the two markings say of the marker's habits.
    pub fn habits(&self) -> Habits {
        let kinds = (self.kinds)
            .map(|kind| kind.map(|kind| (kind.shift_s.value, kind.mark_sd_s * kind.mark_sd_s)));
        let shifts: Vec<f64> = kinds.iter().flatten().map(|(shift, _)| *shift).collect();
        let shifts = Mean::of(&shifts, 0.0);
        Habits {
            kinds,
            shifts_s2: shifts.map_or(0.0, |shifts| shifts.variance),
        }
    }
}

/// Whether a marking has the very marks of another, in whatever order: it is the same marking, and
/// says nothing of how exact that is.
pub fn is_copy(first: &Marks, again: &Marks) -> bool {
    let [first, again] = [first, again].map(in_order);
    let of = |marks: &[Mark]| -> Vec<_> {
        let each = marks.iter().map(|mark| (event(mark), mark.time_s));
        each.collect()
    };
    of(&first) == of(&again)
}

/// Of which event a mark is.
fn event(mark: &Mark) -> (u32, StrokeMoment, Side) {
    (mark.pass, mark.moment, mark.side)
}

/// Marks by their events, each in order of time.
fn in_order(marks: &Marks) -> Vec<Mark> {
    let mut marks = marks.marks.clone();
    marks.sort_by(|a, b| (event(a).cmp(&event(b))).then(a.time_s.total_cmp(&b.time_s)));
    marks
}

/// What is known of a marker's habits: a kind of mark that always comes late, such as catches by
/// 40 ms, and how single marks scatter.
///
/// Of two markings either may be the one that is off. The shift between them is taken for the
/// standard deviation of the habit, a judgement rather than a sample (type B evaluation: JCGM
/// 100:2008, 4.3): an interval then holds what either marking says, and as much again. Where two
/// kinds of mark moved alike by chance, both markers may be off in them, as they were in others: so it
/// is never taken for less than the other kinds show, whose shifts scatter by twice the variance of a
/// habit (both markers have one), as does a habit between two kinds.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Habits {
    /// By the order of [`StrokeMoment::ALL`]: the shift, s, and the variance of one mark, s².
    kinds: [Option<(f64, f64)>; 5],
    /// The variance of the shifts of all kinds, s².
    shifts_s2: f64,
}

impl Habits {
    /// Squared error of all times from one kind of mark to another, s². A clock that was set
    /// differently shifts both kinds, and nothing between them; so does a habit between two marks of
    /// one kind.
    pub(super) fn apart_s2(&self, from: StrokeMoment, to: StrokeMoment) -> f64 {
        match (self.kinds[from as usize], self.kinds[to as usize]) {
            (Some((first, _)), Some((second, _))) if from != to => {
                f64::max((second - first).powi(2), self.shifts_s2)
            }
            _ => 0.0,
        }
    }

    /// Squared error of all marks of a kind against a clock of their own, s².
    pub(super) fn late_s2(&self, kind: StrokeMoment) -> f64 {
        self.kinds[kind as usize].map_or(0.0, |(shift, _)| {
            f64::max(shift.powi(2), self.shifts_s2 / 2.0)
        })
    }

    /// Variance of one such time by the scatter of the marking, s²; 0 where it is not known.
    pub(super) fn scatter_s2(&self, from: StrokeMoment, to: StrokeMoment) -> f64 {
        let of = |kind: StrokeMoment| self.kinds[kind as usize].map_or(0.0, |(_, scatter)| scatter);
        of(from) + of(to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::record::MarkedFilm;

    fn marks(times: &[f64]) -> Marks {
        let mark = |time_s: &f64| Mark {
            time_s: *time_s,
            moment: StrokeMoment::Entry,
            side: Side::Left,
            pass: 1,
            line: 2,
        };
        Marks {
            source: "swim.csv".into(),
            marks: times.iter().map(mark).collect(),
            frame_rate_hz: None,
            film: MarkedFilm::default(),
            notes: Vec::new(),
        }
    }

    #[test]
    fn marking_again_gives_the_error_of_one_mark() {
        let found = MarkingError::of(
            &marks(&[0.0, 2.0, 4.0, 6.0, 20.0]),
            &marks(&[6.01, 0.01, 2.03, 4.03, 9.0]),
        )
        .expect("four matches");
        // Differences 10, 30, 30, 10 ms: mean 20 ms, sd 11.547 ms, over √2 8.165 ms.
        assert!((found.all.shift_s.value - 0.02).abs() < 1e-9);
        assert!(
            (found.all.mark_sd_s - 0.008_164_966).abs() < 1e-8,
            "{found:?}"
        );
        assert_eq!(found.unmatched, 2);
    }
}
