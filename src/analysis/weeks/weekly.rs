//! Weeks of a log by themselves, without a plan: what was swum, with intervals.

use jiff::Span;
use jiff::civil::Date;

use super::LoggedSwim;
use super::days::{Days, Squares};
use super::observed::commonest;
use super::verdict::Figures;

/// A calendar week, Monday to Sunday.
#[derive(Debug, Clone, PartialEq)]
pub struct Weekly {
    /// Its number, from 1 for the week of the first swim.
    pub week: usize,
    /// Its Monday.
    pub monday: Date,
    /// The middle of the rates cued, strokes/min; none where nothing was cued.
    pub cued_spm: Option<f64>,
    /// Share of the swims that had cues, 0 to 1.
    pub cued_share: f64,
    /// What was swum; speed and distance per stroke of the commonest distance of all weeks.
    pub figures: Figures,
}

/// The weeks in which there are swims. Swims of which one arm seems to be counted are left out of
/// rates and lengths.
pub fn weekly(swims: &[LoggedSwim]) -> Vec<Weekly> {
    let mut all: Vec<&LoggedSwim> = swims.iter().collect();
    all.sort_by_key(|swim| swim.date);
    let distance = commonest(&all);
    let mut scatters = [Squares::default(); 4];
    let mut weeks = Vec::new();
    let mut first = None;
    for swam in all.chunk_by(|a, b| monday(a.date) == monday(b.date)) {
        let monday_of_week = monday(swam[0].date);
        let first = *first.get_or_insert(monday_of_week);
        let sound: Vec<&LoggedSwim> = (swam.iter().copied())
            .filter(|swim| swim.slip().is_none())
            .collect();
        let alike: Vec<&LoggedSwim> = (sound.iter().copied())
            .filter(|swim| Some(swim.distance_m) == distance)
            .collect();
        let figures = [
            Days::of(&sound, &|swim| swim.rate_spm, false),
            Days::of(&alike, &|swim| swim.speed_m_s, false),
            Days::of(&alike, &|swim| swim.length_m, false),
            Days::of(swam, &|swim| swim.effort, false),
        ];
        let mut found = [None; 4];
        for ((scatter, days), found) in scatters.iter_mut().zip(&figures).zip(&mut found) {
            scatter.add(days);
            *found = scatter.estimate(days);
        }
        let [rate_spm, speed_m_s, length_m, effort] = found;
        let cued = Days::of(swam, &|swim| swim.cued_spm, false);
        let days = first
            .until(monday_of_week)
            .map_or(0, |span| span.get_days());
        weeks.push(Weekly {
            week: usize::try_from(days / 7).unwrap_or(0) + 1,
            monday: monday_of_week,
            cued_spm: cued.value(),
            cued_share: cued.swims as f64 / swam.len() as f64,
            figures: Figures {
                rate_spm,
                speed_m_s,
                length_m,
                effort,
                distance_m: distance,
                ..Figures::default()
            },
        });
    }
    weeks
}

fn monday(date: Date) -> Date {
    let days = date.weekday().to_monday_zero_offset();
    date.saturating_sub(Span::new().days(i64::from(days)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn swims_fall_into_calendar_weeks_and_half_counts_are_left_out() {
        let swim = |date: &str, rate: f64, cued: Option<f64>| LoggedSwim {
            date: date.parse().expect("a date"),
            distance_m: 50.0,
            cued_spm: cued,
            strokes: None,
            rate_spm: Some(rate),
            speed_m_s: Some(1.0),
            length_m: Some(0.9),
            effort: None,
            kept: None,
            ill: false,
            pain: false,
        };
        let swims = [
            swim("2027-03-07", 52.0, Some(52.0)),
            swim("2027-03-08", 54.0, Some(54.0)),
            swim("2027-03-10", 56.0, None),
            swim("2027-03-10", 27.0, Some(54.0)),
            swim("2027-03-22", 55.0, None),
        ];
        let weeks = weekly(&swims);
        let numbers: Vec<usize> = weeks.iter().map(|week| week.week).collect();
        assert_eq!(numbers, [1, 2, 4], "2027-03-07 is a Sunday");
        let rate = weeks[1].figures.rate_spm.expect("two days");
        assert_eq!((rate.value, rate.n), (55.0, 2));
        assert!((weeks[1].cued_share - 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(weekly(&[]), []);
    }
}
