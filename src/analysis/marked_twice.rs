//! Two markings of one film: how far the same event moves when it is marked again.

use libm::sqrt;

use super::Estimate;
use super::student::Mean;
use crate::model::record::{Mark, Marks};

/// What marking itself adds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkingError {
    /// Standard deviation of one mark, s: that of the differences over √2.
    pub mark_sd_s: f64,
    /// How much later the second marking lies, s.
    pub shift_s: Estimate,
    /// Marks of either marking that the other has not.
    pub unmatched: usize,
}

/// Marks farther apart than this are not the same event, s: under a third of the fastest cycle's
/// kick period.
const SAME_EVENT_S: f64 = 0.1;

impl MarkingError {
    /// Matches each mark with the nearest of the same event in the other marking, one to one.
    /// Nothing with fewer than two matches.
    pub fn of(first: &Marks, again: &Marks) -> Option<Self> {
        let key = |mark: &Mark| (mark.pass, mark.moment, mark.side);
        let sorted = |marks: &Marks| {
            let mut marks = marks.marks.clone();
            marks.sort_by(|a, b| key(a).cmp(&key(b)).then(a.time_s.total_cmp(&b.time_s)));
            marks
        };
        let (ours, theirs) = (sorted(first), sorted(again));
        let (mut i, mut j) = (0, 0);
        let mut differences = Vec::new();
        while i < ours.len() && j < theirs.len() {
            let apart = theirs[j].time_s - ours[i].time_s;
            let order = (key(&ours[i]).cmp(&key(&theirs[j]))).then(match apart {
                apart if apart > SAME_EVENT_S => std::cmp::Ordering::Less,
                apart if apart < -SAME_EVENT_S => std::cmp::Ordering::Greater,
                _ => std::cmp::Ordering::Equal,
            });
            match order {
                std::cmp::Ordering::Less => i += 1,
                std::cmp::Ordering::Greater => j += 1,
                std::cmp::Ordering::Equal => {
                    differences.push(apart);
                    (i, j) = (i + 1, j + 1);
                }
            }
        }
        let mean = Mean::of(&differences, 0.0).filter(|mean| mean.n >= 2)?;
        Some(Self {
            mark_sd_s: sqrt(mean.variance / 2.0),
            shift_s: mean.estimate(),
            unmatched: ours.len() + theirs.len() - 2 * differences.len(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::cue::Side;
    use crate::model::record::{MarkedFilm, StrokeMoment};

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
        assert!((found.shift_s.value - 0.02).abs() < 1e-9);
        assert!((found.mark_sd_s - 0.008_164_966).abs() < 1e-8, "{found:?}");
        assert_eq!(found.unmatched, 2);
    }
}
