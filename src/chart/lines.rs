//! The log over time, and a step test over rate: marks and lines on axes with units.
//!
//! In: rows, or steps and what they say. Out: the text of an SVG file. Black on white: what a
//! colour would tell, the shape of a mark tells.

use std::collections::HashSet;
use std::fmt;

use jiff::civil::Date;

use super::panels::{Mark, Panel, draw, extent};
use super::tick;
use crate::analysis::steps::{Best, Step, StepTest};
use crate::error::{Error, Result};
use crate::model::kick::Pairing;
use crate::model::log::{Row, Water};
use crate::units::to_f64;

/// What is drawn of a row: its figures where it says enough.
#[derive(Debug, Clone, Copy)]
pub struct Dot {
    date: Option<Date>,
    mark: Mark,
    figures: [Option<f64>; 4],
}

/// The figures of a row, each with its unit and the decimals that are worth writing.
const FIGURES: [(&str, usize); 4] = [
    ("speed, m/s", 2),
    ("rate swum, strokes/min", 0),
    ("distance per stroke, m", 2),
    ("effort, 0 to 10", 1),
];

impl Dot {
    /// What is drawn of a row that was swum in such water.
    pub fn of(row: &Row, water: &Water) -> Self {
        let swum = row.swum(water);
        Self {
            date: row.date,
            mark: match row.pairing {
                Some(Pairing::SameSide) => Mark::Disc,
                Some(Pairing::OppositeSide) => Mark::Ring,
                None => Mark::Cross,
            },
            figures: [
                swum.speed_m_s,
                swum.rate_spm,
                swum.stroke_length_m,
                row.effort.as_ref().map(to_f64),
            ],
        }
    }
}

/// How many marks a picture has, where not all are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Thinned {
    /// Marks drawn.
    pub drawn: usize,
    /// Marks in all.
    pub all: usize,
}

impl fmt::Display for Thinned {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} of {} marks drawn: one where several lie on each other",
            self.drawn, self.all
        )
    }
}

/// Speed, rate swum, distance per stroke and effort of a log's rows, over days (over rows where a row
/// has no date). Of very many marks one is drawn where several lie on each other.
///
/// # Errors
/// When no row says enough to be drawn.
pub fn log_chart(dots: &[Dot]) -> Result<(String, Option<Thinned>)> {
    let dated = dots.iter().all(|dot| dot.date.is_some());
    let first = dots.iter().filter_map(|dot| dot.date).min();
    let at = |index: usize, dot: &Dot| match (dated, dot.date, first) {
        (true, Some(date), Some(first)) => days(first, date),
        _ => index as f64 + 1.0,
    };
    let x_label = move |x: &f64| match first.filter(|_| dated) {
        Some(first) => {
            let whole = (x - x.round()).abs() < 1e-9;
            let day = jiff::Span::new().try_days(x.round() as i64);
            let date = day.and_then(|days| first.checked_add(days));
            date.ok()
                .filter(|_| whole)
                .map(|date| date.to_string())
                .unwrap_or_default()
        }
        None if (x - x.round()).abs() < 1e-9 => format!("{x:.0}"),
        None => String::new(),
    };
    let mut panels = Vec::new();
    let mut marks = Thinned { drawn: 0, all: 0 };
    for (figure, (y, decimals)) in FIGURES.into_iter().enumerate() {
        let point = |(index, dot): (usize, &Dot)| {
            dot.figures[figure].map(|value| (at(index, dot), value, dot.mark))
        };
        let mut points: Vec<_> = dots.iter().enumerate().filter_map(point).collect();
        marks.all += points.len();
        thin(&mut points);
        marks.drawn += points.len();
        if !points.is_empty() {
            panels.push(Panel {
                x: if dated { "date" } else { "row" },
                y,
                points,
                curve: Vec::new(),
                upright: None,
                x_label: &x_label,
                decimals,
            });
        }
    }
    if panels.is_empty() {
        return Err(Error::input("no row has a distance and a time to draw")
            .accepted("rows with distance, time and strokes"));
    }
    let thinned = (marks.drawn < marks.all).then_some(marks);
    let caption = "Log: disc same-side, ring opposite-side, cross no pairing";
    let note = thinned.map(|thinned| thinned.to_string());
    Ok((draw(caption, note.as_deref(), &panels)?, thinned))
}

/// Where a panel has very many marks, leaves one of a kind in each square of a mark's width. No mark
/// that lies alone is lost.
fn thin(points: &mut Vec<(f64, f64, Mark)>) {
    /// So many can still be told apart.
    const ENOUGH: usize = 2000;
    /// Squares of eight pixels: as many as lie between the outermost marks of a panel.
    const SQUARES: (f64, f64) = (84.0, 25.0);
    if points.len() <= ENOUGH {
        return;
    }
    let (left, right) = extent(points.iter().map(|point| point.0));
    let (low, high) = extent(points.iter().map(|point| point.1));
    let square = |value: f64, (from, to): (f64, f64), squares: f64| {
        // All on one line: one square.
        ((value - from) / (to - from).max(f64::MIN_POSITIVE) * squares) as u32
    };
    let mut taken = HashSet::new();
    points.retain(|&(x, y, mark)| {
        let across = square(x, (left, right), SQUARES.0);
        taken.insert((across, square(y, (low, high), SQUARES.1), mark))
    });
}

/// Speed and distance per stroke over rate, with the fitted curves and the rate of best speed.
///
/// # Errors
/// When there is no step.
pub fn steps_chart(steps: &[Step], test: &StepTest) -> Result<String> {
    if steps.is_empty() {
        return Err(Error::input("there is no step to draw"));
    }
    let (slowest, fastest) = extent(steps.iter().map(|step| step.rate_spm));
    let x_label = |x: &f64| tick(*x, fastest - slowest + 1.0, 0);
    let along = |pieces: u32, value: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
        let share = |i: u32| f64::from(i) / f64::from(pieces);
        (0..=pieces)
            .map(|i| slowest + (fastest - slowest) * share(i))
            .map(|rate| (rate, value(rate)))
            .collect()
    };
    let panel = |y, of: fn(&Step) -> f64, curve| Panel {
        x: "rate, strokes/min",
        y,
        points: (steps.iter())
            .map(|step| (step.rate_spm, of(step), Mark::Disc))
            .collect(),
        curve,
        upright: None,
        x_label: &x_label,
        decimals: 2,
    };
    let speed_curve = test.speed.map(|fit| fit.coefficients);
    let speed_curve = speed_curve.map(|[a, b, c]| along(60, &|x| (a * x + b) * x + c));
    let length_line = test
        .length
        .map(|fit| (fit.intercept.value, fit.slope.value));
    let length_line = length_line.map(|(a, b)| along(1, &|x| a + b * x));
    let mut panels = [
        panel(
            "speed, m/s",
            |step| step.speed_m_s,
            speed_curve.unwrap_or_default(),
        ),
        panel(
            "distance per stroke, m",
            |step| step.stroke_length_m,
            length_line.unwrap_or_default(),
        ),
    ];
    let caption = match &test.best {
        Best::Reached { rate_spm, .. } => {
            panels[0].upright = Some(*rate_spm);
            let band = rate_spm.interval.map_or("", |_| ", 95 % interval grey");
            format!("Rate of best speed {:.1} spm, dashed{band}", rate_spm.value)
        }
        _ => "Rate of best speed not reached".to_string(),
    };
    draw(&caption, None, &panels)
}

/// Days from one date to another.
fn days(from: Date, to: Date) -> f64 {
    f64::from(from.until(to).map_or(0, |span| span.get_days()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::steps::step_test;
    use crate::units::{Length, Quantity, Time};

    fn row(date: &str, time: &str, pairing: Option<Pairing>) -> Row {
        Row {
            date: date.parse().ok(),
            distance: Length::parse("50 m").ok(),
            time: Time::parse(time).ok(),
            pairing,
            ..Row::default()
        }
    }

    #[test]
    fn axes_say_what_and_in_which_unit() {
        let rows = [
            row("2026-03-14", "48.1 s", Some(Pairing::SameSide)),
            row("2026-03-21", "47.6 s", Some(Pairing::OppositeSide)),
        ];
        let dots = rows.map(|row| Dot::of(&row, &Water::default()));
        let (svg, thinned) = log_chart(&dots).expect("two rows");
        assert_eq!(thinned, None);
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
        for words in ["speed, m/s", "date", "2026-03-14", "ring opposite-side"] {
            assert!(svg.contains(words), "{words}");
        }
        assert!(!svg.contains("rate swum"), "no strokes, no panel of rates");
    }

    #[test]
    fn of_very_many_marks_one_is_drawn_where_several_lie_on_each_other_and_it_says_so() {
        let water = Water::default();
        let dot = |date: &str, time: &str| Dot::of(&row(date, time, None), &water);
        let days = [
            dot("2026-03-14", "48.1 s"),
            dot("2026-03-15", "48.2 s"),
            dot("2026-03-16", "48.3 s"),
        ];
        let mut dots = days.repeat(1000);
        // One slow swim among them all.
        dots.insert(1500, dot("2026-03-15", "70 s"));
        let (svg, thinned) = log_chart(&dots).expect("many marks");
        let thinned = thinned.expect("not all are drawn");
        assert_eq!((thinned.drawn, thinned.all), (4, 3001));
        assert!(svg.contains("4 of 3001 marks drawn: one where"), "{svg}");

        let (svg, thinned) = log_chart(&dots[..2000]).expect("as many as can be told apart");
        assert_eq!(thinned, None);
        assert!(!svg.contains("marks drawn"));
    }

    #[test]
    fn a_single_mark_and_a_bare_row_are_drawn_or_refused() {
        let dot = |row: &Row| Dot::of(row, &Water::default());
        let one = row("", "48.1 s", None);
        let (svg, _) = log_chart(&[dot(&one)]).expect("one mark");
        assert!(svg.contains("row"));
        assert!(log_chart(&[dot(&Row::default())]).is_err());
        let step = Step {
            rate_spm: 54.0,
            speed_m_s: 1.0,
            stroke_length_m: 1.1,
        };
        assert!(steps_chart(&[step], &step_test(&[step])).is_ok());
        assert!(steps_chart(&[], &step_test(&[])).is_err());
    }
}
