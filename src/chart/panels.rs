//! Panels with axes, one under the other: what the log, a step test and a swim to its cues are drawn in.

use std::ops::Range;
use std::slice;

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use super::tick;
use crate::analysis::Estimate;
use crate::error::{Error, Result};

/// Width of a picture and height of a panel, pixels.
const WIDTH: u32 = 900;
const PANEL: u32 = 300;
const FONT: (&str, u32) = ("sans-serif", 15);

type Area<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;
type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

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

/// The least and the greatest of some values.
pub(super) fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
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
pub(super) fn draw(caption: &str, note: Option<&str>, panels: &[Panel]) -> Result<String> {
    let own = |panel: &Panel| reach(slice::from_ref(panel));
    drawn(caption, note, panels, &own)
}

/// Draws panels one under the other on one scale, so that they can be compared by eye.
pub(super) fn draw_alike(caption: &str, panels: &[Panel]) -> Result<String> {
    let shared = reach(panels);
    drawn(caption, None, panels, &|_| shared.clone())
}

fn drawn(
    caption: &str,
    note: Option<&str>,
    panels: &[Panel],
    reach_of: &dyn Fn(&Panel) -> Reach,
) -> Result<String> {
    let mut svg = String::new();
    {
        let heads = 1 + u32::from(note.is_some());
        let height = PANEL * panels.len() as u32 + 30 * heads;
        let root = SVGBackend::with_string(&mut svg, (WIDTH, height)).into_drawing_area();
        root.fill(&WHITE).map_err(|error| undrawable(&error))?;
        let mut rest = root
            .titled(caption, ("sans-serif", 18))
            .map_err(|error| undrawable(&error))?;
        if let Some(note) = note {
            rest = rest
                .titled(note, FONT)
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
