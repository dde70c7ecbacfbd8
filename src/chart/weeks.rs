//! The weeks of a plan: rate, speed, distance per stroke, effort and the share of cues.
//!
//! In: plain rows, one a week. Out: the text of an SVG file. Black on white: a line is what was
//! planned, a disc with whiskers what was swum, with its 95 % interval.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use super::panels::undrawable;
use super::tick;
use crate::analysis::Estimate;
use crate::error::Result;

/// A week as it is drawn; what is not known is left out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WeekRow {
    /// Its number, from 1.
    pub week: usize,
    /// The rate planned, strokes/min; none beyond the plan.
    pub planned_spm: Option<f64>,
    /// The rate where the log has moved the path, if it has.
    pub moved_spm: Option<f64>,
    /// Share of cycles with cues, percent.
    pub cued_percent: f64,
    /// The rate swum.
    pub swum_spm: Option<Estimate>,
    /// Speed, m/s.
    pub speed_m_s: Option<Estimate>,
    /// Distance per stroke, m.
    pub length_m: Option<Estimate>,
    /// Effort, 0 to 10.
    pub effort: Option<Estimate>,
}

/// Width of a picture and height of a panel, pixels.
const WIDTH: u32 = 820;
const PANEL: u32 = 200;
const FONT: (&str, u32) = ("sans-serif", 15);

type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// One panel.
struct Panel<'a> {
    y: &'a str,
    /// A line through the weeks, as steps.
    steps: Vec<(f64, f64)>,
    /// Another, dashed.
    dashed: Vec<(f64, f64)>,
    points: Vec<(f64, Estimate)>,
    decimals: usize,
    /// The least range of the axis.
    least: f64,
    /// The whole range of the axis, where it is always the same.
    whole: Option<(f64, f64)>,
}

/// What is known of each week, over its number.
fn by_week<T>(rows: &[WeekRow], of: fn(&WeekRow) -> Option<T>) -> Vec<(f64, T)> {
    (rows.iter())
        .filter_map(|row| Some((row.week as f64, of(row)?)))
        .collect()
}

/// The panels from top to bottom; `share` is what the last axis says.
fn panels<'a>(share: &'a str, rows: &[WeekRow]) -> [Panel<'a>; 5] {
    let plain = |y, points, decimals, least| Panel {
        y,
        steps: Vec::new(),
        dashed: Vec::new(),
        points,
        decimals,
        least,
        whole: None,
    };
    let swum = by_week(rows, |row| row.swum_spm);
    let speed = by_week(rows, |row| row.speed_m_s);
    let length = by_week(rows, |row| row.length_m);
    let effort = by_week(rows, |row| row.effort);
    [
        Panel {
            steps: by_week(rows, |row| row.planned_spm),
            dashed: by_week(rows, |row| row.moved_spm),
            ..plain("rate, strokes/min", swum, 0, 2.0)
        },
        plain("speed, m/s", speed, 2, 0.04),
        plain("distance per stroke, m", length, 2, 0.04),
        plain("effort, 0 to 10", effort, 1, 2.0),
        Panel {
            steps: by_week(rows, |row| Some(row.cued_percent)),
            whole: Some((0.0, 105.0)),
            ..plain(share, Vec::new(), 0, 100.0)
        },
    ]
}

/// The picture of all weeks; `share` is what the last axis says. Panels of which nothing is known
/// are left out.
///
/// # Errors
/// When it cannot be drawn.
pub fn weeks_chart(caption: &str, share: &str, rows: &[WeekRow]) -> Result<String> {
    let panels = panels(share, rows);
    let known = |panel: &&Panel| !(panel.steps.is_empty() && panel.points.is_empty());
    let panels: Vec<&Panel> = panels.iter().filter(known).collect();
    let last = rows.iter().map(|row| row.week).max().unwrap_or(1);
    let mut svg = String::new();
    {
        let height = PANEL * panels.len() as u32 + 34;
        let root = SVGBackend::with_string(&mut svg, (WIDTH, height)).into_drawing_area();
        root.fill(&WHITE).map_err(|error| undrawable(&error))?;
        let rest = root
            .titled(caption, FONT)
            .map_err(|error| undrawable(&error))?;
        for (area, panel) in rest.split_evenly((panels.len(), 1)).iter().zip(panels) {
            draw(area, panel, last).map_err(|error| undrawable(&error))?;
        }
        root.present().map_err(|error| undrawable(&error))?;
    }
    Ok(svg)
}

type Fault = DrawingAreaErrorKind<<SVGBackend<'static> as DrawingBackend>::ErrorType>;

fn draw(
    area: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>,
    panel: &Panel,
    last: usize,
) -> Result<(), Fault> {
    let lines = panel.steps.iter().chain(&panel.dashed).map(|point| point.1);
    let ends = panel.points.iter().flat_map(|(_, found)| {
        let (low, high) = found.interval.unwrap_or((found.value, found.value));
        [low, high]
    });
    let (low, high) = lines
        .chain(ends)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
    let room = ((high - low) * 0.1).max((panel.least - (high - low)) / 2.0);
    let (bottom, top) = panel.whole.unwrap_or((low - room, high + room));
    let mut chart = ChartBuilder::on(area)
        .margin(6)
        .margin_right(24)
        .x_label_area_size(38)
        .y_label_area_size(62)
        .build_cartesian_2d(0.4..last as f64 + 0.6, bottom..top)?;
    let (range, decimals) = (top - bottom, panel.decimals);
    let whole = |x: &f64| {
        if (x - x.round()).abs() < 1e-9 {
            format!("{x:.0}")
        } else {
            String::new()
        }
    };
    (chart.configure_mesh())
        .bold_line_style(BLACK.mix(0.2))
        .light_line_style(TRANSPARENT)
        .axis_style(BLACK)
        .x_desc("week")
        .y_desc(panel.y)
        .x_labels(last.min(26))
        .y_labels(5)
        .x_label_formatter(&whole)
        .y_label_formatter(&|y| tick(*y, range, decimals))
        .label_style(FONT)
        .axis_desc_style(FONT)
        .draw()?;
    let thick = BLACK.stroke_width(2);
    chart.draw_series(LineSeries::new(steps(&panel.steps), thick))?;
    chart.draw_series(DashedLineSeries::new(steps(&panel.dashed), 6, 4, thick))?;
    whiskers(&mut chart, &panel.points)
}

/// A value holds from the middle before a week to the middle after it.
fn steps(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let around = |&(x, y): &(f64, f64)| [(x - 0.5, y), (x + 0.5, y)];
    points.iter().flat_map(around).collect()
}

fn whiskers(chart: &mut Chart, points: &[(f64, Estimate)]) -> Result<(), Fault> {
    let thick = BLACK.stroke_width(2);
    let intervals = points
        .iter()
        .filter_map(|(x, found)| Some((*x, found.interval?)));
    let bars = intervals.flat_map(|(x, (low, high))| {
        [
            PathElement::new(vec![(x, low), (x, high)], thick),
            PathElement::new(vec![(x - 0.1, low), (x + 0.1, low)], thick),
            PathElement::new(vec![(x - 0.1, high), (x + 0.1, high)], thick),
        ]
    });
    chart.draw_series(bars)?;
    let discs = points
        .iter()
        .map(|(x, found)| Circle::new((*x, found.value), 4, BLACK.filled()));
    chart.draw_series(discs)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(week: usize, swum: bool) -> WeekRow {
        let found = |value: f64| {
            swum.then_some(Estimate {
                value,
                interval: Some((value - 0.1, value + 0.1)),
                n: 20,
            })
        };
        WeekRow {
            week,
            planned_spm: Some(52.0 + week as f64),
            moved_spm: None,
            cued_percent: 100.0 - week as f64,
            swum_spm: found(52.0),
            speed_m_s: found(1.0),
            length_m: found(0.9),
            effort: found(5.0),
        }
    }

    #[test]
    fn every_axis_says_what_it_is_and_in_which_unit() {
        let rows: Vec<WeekRow> = (1..=12).map(|week| row(week, week < 4)).collect();
        let svg = weeks_chart("Weeks", "cycles with cues, %", &rows).expect("draws");
        for words in [
            "rate, strokes/min",
            "speed, m/s",
            "distance per stroke, m",
            "effort, 0 to 10",
            "cycles with cues, %",
            ">week<",
        ] {
            assert!(svg.replace('\n', "").contains(words), "{words}");
        }
        let coloured = svg.match_indices('#').filter(|(at, _)| {
            let colour = svg.get(at + 1..at + 7).unwrap_or_default();
            !colour.chars().all(|c| c == 'F' || c == '0')
        });
        assert_eq!(coloured.count(), 0, "black and white alone");
    }

    #[test]
    fn a_plan_without_a_log_shows_what_is_planned() {
        let rows: Vec<WeekRow> = (1..=2).map(|week| row(week, false)).collect();
        let svg = weeks_chart("Weeks", "cycles with cues, %", &rows).expect("draws");
        assert!(svg.contains("rate, strokes/min") && !svg.contains("speed, m/s"));
    }
}
