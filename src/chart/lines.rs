//! The log over time, and a step test over rate: marks and lines on axes with units.
//!
//! In: rows, or steps and what they say. Out: the text of an SVG file. Black on white: what a
//! colour would tell, the shape of a mark tells.

use std::collections::HashSet;
use std::fmt;
use std::ops::Range;
use std::slice;

use jiff::civil::Date;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use super::tick;
use crate::analysis::Estimate;
use crate::analysis::steps::{Best, Step, StepTest};
use crate::error::{Error, Result};
use crate::model::kick::Pairing;
use crate::model::log::{Row, Water};
use crate::units::to_f64;

/// Width of a picture and height of a panel, pixels.
const WIDTH: u32 = 900;
const PANEL: u32 = 300;
const FONT: (&str, u32) = ("sans-serif", 15);

type Area<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;
type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

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

/// What a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Mark {
    Disc,
    Ring,
    Cross,
}

/// One panel: what its axes say, and how far they reach.
pub(super) struct Panel<'a> {
    pub x: &'a str,
    pub y: &'a str,
    pub points: Vec<(f64, f64, Mark)>,
    /// A line through them, if there is one.
    pub curve: Vec<(f64, f64)>,
    /// Where to draw a dashed line upright, with its interval as a band.
    pub upright: Option<Estimate>,
    /// How a value on the x axis is written.
    pub x_label: &'a dyn Fn(&f64) -> String,
    /// The smallest part of the y axis worth writing has so many decimals.
    pub decimals: usize,
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
    Ok((draw(caption, thinned, &panels)?, thinned))
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

/// The least and the greatest of some values.
fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), value| {
        (lo.min(value), hi.max(value))
    })
}

/// A little more than the values reach, so that no mark lies on an edge.
fn roomy((lo, hi): (f64, f64), least: f64) -> Range<f64> {
    let room = ((hi - lo) * 0.08).max(least);
    lo - room..hi + room
}

/// How far the axes of a panel reach, across and up.
type Reach = [Range<f64>; 2];

/// How far the axes of panels reach that have one scale.
fn reach(panels: &[Panel]) -> Reach {
    let points = || panels.iter().flat_map(|panel| &panel.points);
    let curves = panels.iter().flat_map(|panel| &panel.curve);
    let ys = points().map(|point| point.1);
    let decimals = panels.iter().map(|panel| panel.decimals).max();
    [
        roomy(extent(points().map(|point| point.0)), 0.5),
        // Alone, or among its like, a value has twice the smallest part worth writing around it.
        roomy(
            extent(ys.chain(curves.map(|point| point.1))),
            2.0 * 0.1_f64.powi(decimals.unwrap_or(0) as i32),
        ),
    ]
}

/// Draws panels one under the other, each on a scale of its own.
pub(super) fn draw(caption: &str, thinned: Option<Thinned>, panels: &[Panel]) -> Result<String> {
    let own = |panel: &Panel| reach(slice::from_ref(panel));
    drawn(caption, thinned, panels, &own)
}

/// Draws panels one under the other on one scale, so that they can be compared by eye.
pub(super) fn draw_alike(caption: &str, panels: &[Panel]) -> Result<String> {
    let shared = reach(panels);
    drawn(caption, None, panels, &|_| shared.clone())
}

fn drawn(
    caption: &str,
    thinned: Option<Thinned>,
    panels: &[Panel],
    reach_of: &dyn Fn(&Panel) -> Reach,
) -> Result<String> {
    let mut svg = String::new();
    {
        let heads = 1 + u32::from(thinned.is_some());
        let height = PANEL * panels.len() as u32 + 30 * heads;
        let root = SVGBackend::with_string(&mut svg, (WIDTH, height)).into_drawing_area();
        root.fill(&WHITE).map_err(|error| undrawable(&error))?;
        let mut rest = root
            .titled(caption, ("sans-serif", 18))
            .map_err(|error| undrawable(&error))?;
        if let Some(thinned) = thinned {
            rest = rest
                .titled(&thinned.to_string(), FONT)
                .map_err(|error| undrawable(&error))?;
        }
        let areas = rest.split_evenly((panels.len(), 1));
        for (area, panel) in areas.iter().zip(panels) {
            let mut chart = axes(area, panel, reach_of(panel))?;
            if let Some(rate) = &panel.upright {
                upright(&mut chart, rate)?;
            }
            curve(&mut chart, &panel.curve)?;
            marks(&mut chart, &panel.points)?;
        }
        root.present().map_err(|error| undrawable(&error))?;
    }
    Ok(svg)
}

fn axes<'a, 'b>(area: &'a Area<'b>, panel: &Panel, [xs, ys]: Reach) -> Result<Chart<'a, 'b>> {
    let (range, decimals) = (ys.end - ys.start, panel.decimals);
    let mut chart = ChartBuilder::on(area)
        .margin(12)
        .margin_right(44)
        .x_label_area_size(42)
        .y_label_area_size(64)
        .build_cartesian_2d(xs, ys)
        .map_err(|error| undrawable(&error))?;
    (chart.configure_mesh())
        .bold_line_style(BLACK.mix(0.2))
        .light_line_style(TRANSPARENT)
        .axis_style(BLACK)
        .x_desc(panel.x)
        .y_desc(panel.y)
        .x_labels(8)
        .y_labels(6)
        .x_label_formatter(panel.x_label)
        .y_label_formatter(&|y| tick(*y, range, decimals))
        .label_style(FONT)
        .axis_desc_style(FONT)
        .draw()
        .map_err(|error| undrawable(&error))?;
    Ok(chart)
}

fn marks(chart: &mut Chart, points: &[(f64, f64, Mark)]) -> Result<()> {
    let of = |mark: Mark| {
        let same = move |point: &&(f64, f64, Mark)| point.2 == mark;
        points.iter().filter(same).map(|&(x, y, _)| (x, y))
    };
    let drawn = (|| {
        chart.draw_series(of(Mark::Disc).map(|at| Circle::new(at, 4, BLACK.filled())))?;
        chart.draw_series(of(Mark::Ring).map(|at| Circle::new(at, 4, BLACK.stroke_width(2))))?;
        chart.draw_series(of(Mark::Cross).map(|at| Cross::new(at, 4, BLACK.stroke_width(2))))?;
        Ok(())
    })();
    drawn.map_err(|error: DrawingAreaErrorKind<_>| undrawable(&error))
}

fn curve(chart: &mut Chart, points: &[(f64, f64)]) -> Result<()> {
    let line = LineSeries::new(points.iter().copied(), BLACK.stroke_width(2));
    chart
        .draw_series(line)
        .map(drop)
        .map_err(|error| undrawable(&error))
}

/// A dashed line at a rate, and its interval as a band.
fn upright(chart: &mut Chart, rate: &Estimate) -> Result<()> {
    let (xs, ys) = (chart.x_range(), chart.y_range());
    let dashed = DashedLineSeries::new(
        [(rate.value, ys.start), (rate.value, ys.end)],
        8,
        5,
        BLACK.stroke_width(2),
    );
    let drawn = (|| {
        chart.draw_series(dashed)?;
        if let Some((lo, hi)) = rate.interval {
            let (lo, hi) = (lo.max(xs.start), hi.min(xs.end));
            let band = Rectangle::new([(lo, ys.start), (hi, ys.end)], BLACK.mix(0.08).filled());
            chart.draw_series([band])?;
        }
        Ok(())
    })();
    drawn.map_err(|error: DrawingAreaErrorKind<_>| undrawable(&error))
}

pub(super) fn undrawable(error: &dyn std::fmt::Display) -> Error {
    Error::failed(format!("the picture cannot be drawn: {error}"))
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
