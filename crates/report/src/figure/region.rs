//! The feasible region: one map for each wind, what binds as patterns with their names, steps of the margin as numbers, and
//! the boundary as a line.

use std::collections::BTreeMap;

use beamstay_planner::{
    limit::LimitCode,
    region::{RegionCell, RegionLayer, RegionReport},
};
use plotters::{
    element::{Circle, EmptyElement, PathElement, Rectangle, Text},
    style::Color,
};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, Chart, axes},
    contour, fault, figure,
    mark::{Dash, Entry, Form, Mark, Pattern, draw_legend, draw_line, fill_rectangle, legend_height_px},
    theme::TEXT_PX,
};
use crate::number::{quantity, significant, with_unit};

/// Width of the figure, px.
const WIDTH_PX: u32 = 1100;
/// Height of one row of maps, px.
const MAP_PX: u32 = 470;
/// Width of the legend, px.
const LEGEND_PX: i32 = 980;

/// Draws the maps, two in a row.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn region_figure(report: &RegionReport) -> Result<String, FigureError> {
    let binding = binding_codes(report);
    let step_w = contour::step(most_margin_w(report));
    let entries = legend(&binding, step_w);
    let rows = report.layers.len().div_ceil(2).max(1) as u32;
    let size = (WIDTH_PX, rows * MAP_PX + legend_height_px(&entries, LEGEND_PX));
    figure(size, &report.provenance.title, &description(report), |root| {
        let (maps, legend) = root.split_vertically(rows * MAP_PX);
        let columns = if report.layers.len() > 1 { 2 } else { 1 };
        for (area, layer) in maps.split_evenly((rows as usize, columns)).iter().zip(&report.layers) {
            draw_layer(area, report, layer, &binding, step_w)?;
        }
        draw_legend(&legend, &entries, 78)
    })
}

/// Limits that hold somewhere something back, the commonest first.
fn binding_codes(report: &RegionReport) -> Vec<LimitCode> {
    let mut counts: BTreeMap<LimitCode, usize> = BTreeMap::new();
    for cell in report.layers.iter().flat_map(|layer| &layer.cells).filter(|cell| !cell.feasible) {
        if let Some(code) = cell.tightest {
            *counts.entry(code).or_default() += 1;
        }
    }
    let mut codes: Vec<(LimitCode, usize)> = counts.into_iter().collect();
    codes.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    codes.into_iter().map(|(code, _)| code).collect()
}

/// Pattern of a limit: the first is left to what closes.
fn pattern(binding: &[LimitCode], code: Option<LimitCode>) -> (usize, Pattern) {
    let index = code.and_then(|code| binding.iter().position(|b| *b == code)).unwrap_or(4).min(4);
    (index + 1, Pattern::area(index + 1))
}

/// Largest power margin of any place that closes, W.
fn most_margin_w(report: &RegionReport) -> f64 {
    let closing = report.layers.iter().flat_map(|layer| &layer.cells).filter(|cell| cell.feasible);
    closing.filter_map(|cell| cell.margin_w).fold(0.0, f64::max)
}

fn legend(binding: &[LimitCode], step_w: Option<f64>) -> Vec<Entry> {
    let mut entries = vec![
        Entry::Line(boundary(), "boundary".to_owned()),
        Entry::Patch {
            fill: Theme::PAPER,
            pattern: Pattern::Plain,
            stroke: Theme::MUTED,
            text: "closes; the number is the power margin in W".to_owned(),
        },
    ];
    if let Some(step_w) = step_w {
        entries.insert(
            1,
            Entry::Line(equal(), format!("equal margin, every {}", with_unit(&significant(step_w, 2), "W"))),
        );
    }
    for (index, code) in binding.iter().enumerate().take(5) {
        let (fill, pattern) = pattern(binding, Some(*code));
        let more = index == 4 && binding.len() > 5;
        let name = if more { "another limit" } else { code.words().name };
        entries.push(Entry::Patch {
            fill: Theme::FILLS[fill % 6],
            pattern,
            stroke: Theme::MUTED,
            text: format!("broken: {name}"),
        });
    }
    entries
}

fn boundary() -> Mark {
    Mark { colour: Theme::INK, dash: Dash::Solid, form: Form::None, width_px: 3 }
}

fn equal() -> Mark {
    Mark { colour: Theme::MUTED, dash: Dash::Solid, form: Form::None, width_px: 1 }
}

fn description(report: &RegionReport) -> String {
    let most = |layer: &RegionLayer| {
        let top = layer.boundary.iter().filter(|p| p.upper).max_by(|a, b| a.y.total_cmp(&b.y));
        let value = with_unit(&significant(layer.value, 3), &report.layer.unit);
        match top {
            Some(top) => format!(
                "At {value}: up to {} at {}.",
                quantity(top.y, &report.y.unit),
                quantity(top.x, &report.x.unit)
            ),
            None => format!("At {value}: no boundary in the map."),
        }
    };
    let layers = report.layers.iter().map(most).collect::<Vec<_>>().join(" ");
    format!("Feasible region over {} and {}. {layers}", report.x.pointer, report.y.pointer)
}

fn named(pointer: &str, unit: &str) -> String {
    let key = pointer.trim_start_matches('/').replace('/', " ");
    let key = match unit {
        "" => key,
        _ => key.rsplit_once('_').map_or(key.clone(), |(stem, _)| stem.to_owned()),
    };
    let words = key.replace('_', " ");
    if unit.is_empty() { words } else { format!("{words}, {unit}") }
}

fn draw_layer(
    area: &Area<'_>,
    report: &RegionReport,
    layer: &RegionLayer,
    binding: &[LimitCode],
    step_w: Option<f64>,
) -> Result<(), FigureError> {
    let (xs, ys) = (edges(&report.x.values), edges(&report.y.values));
    let (x_name, y_name) =
        (named(&report.x.pointer, &report.x.unit), named(&report.y.pointer, &report.y.unit));
    let range = |name, edges: &[f64]| Axis {
        name,
        from: edges.iter().copied().fold(f64::INFINITY, f64::min),
        to: edges.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    };
    let key = report.layer.pointer.rsplit('/').next().unwrap_or_default();
    let stem = key.strip_suffix("_m_s").unwrap_or(key).replace('_', " ");
    let value = with_unit(&significant(layer.value, 3), &report.layer.unit);
    let caption = format!("{} {value}", if stem == "speed" { "wind".to_owned() } else { stem });
    let mut chart = axes(area, &caption, range(&x_name, &xs), range(&y_name, &ys))?;
    let rows = report.y.values.len();
    for (i, column) in layer.cells.chunks(rows.max(1)).enumerate() {
        let ys = column_edges(report, layer, i, &ys);
        for (j, cell) in column.iter().enumerate().filter(|(_, cell)| !cell.feasible) {
            let (fill, pattern) = pattern(binding, cell.tightest);
            let a = own(area, chart.backend_coord(&(xs[i], ys[j])));
            let b = own(area, chart.backend_coord(&(xs[i + 1], ys[j + 1])));
            fill_rectangle(area, a, b, Theme::FILLS[fill % 6], pattern, Theme::MUTED)?;
        }
    }
    draw_margins(&chart, report, layer, step_w)?;
    label_margins(&chart, report, layer)?;
    for upper in [true, false] {
        for run in runs(report, layer, upper) {
            draw_line(&mut chart, &run, boundary(), 1)?;
        }
    }
    mark_plan(&chart, report, layer)
}

/// Edges of the cells of one column: those of all, but on the boundary where it runs between two cells.
fn column_edges(report: &RegionReport, layer: &RegionLayer, column: usize, edges: &[f64]) -> Vec<f64> {
    let mut edges = edges.to_vec();
    let values = &report.y.values;
    for point in layer.boundary.iter().filter(|point| point.x == report.x.values[column]) {
        let above = values.partition_point(|v| if point.upper { *v <= point.y } else { *v < point.y });
        if (1..values.len()).contains(&above) {
            edges[above] = point.y;
        }
    }
    edges
}

/// The plan: a disk in the map of its own wind, a ring in the others.
fn mark_plan(chart: &Chart<'_, '_>, report: &RegionReport, layer: &RegionLayer) -> Result<(), FigureError> {
    let (Some(x), Some(y)) = (report.x.plan, report.y.plan) else { return Ok(()) };
    let (x_range, y_range) = (chart.x_range(), chart.y_range());
    if !(x_range.start..=x_range.end).contains(&x) || !(y_range.start..=y_range.end).contains(&y) {
        return Ok(());
    }
    let area = chart.plotting_area();
    let own_wind = report.layer.plan == Some(layer.value);
    let paper = Circle::new((x, y), 9, Theme::PAPER.filled());
    area.draw(&paper).map_err(fault)?;
    let style = if own_wind { Theme::INK.filled() } else { Theme::INK.stroke_width(2) };
    area.draw(&Circle::new((x, y), 7, style)).map_err(fault)?;
    let high = y_range.end - y_range.start;
    let wide = x_range.end - x_range.start;
    let text = if own_wind { "the plan" } else { "the plan's place" };
    // Over it, under it, beside it: the first that the boundary does not cross.
    let half = (0.005 * wide * text.len() as f64, 0.03 * high);
    let beside = [
        (0.0, 2.0),
        (0.0, -2.0),
        (-1.15, 0.0),
        (1.15, 0.0),
        (-1.0, -2.0),
        (1.0, 2.0),
        (-1.0, 2.0),
        (1.0, -2.0),
    ];
    let places = beside.map(|(across, up)| (x + across * half.0, y + up * half.1));
    let inside = |place: &(f64, f64)| {
        x_range.contains(&(place.0 - half.0))
            && x_range.contains(&(place.0 + half.0))
            && y_range.contains(&place.1)
    };
    let free = places.iter().find(|place| inside(place) && !crossed(layer, **place, half));
    let place = *free.unwrap_or(&places[0]);
    // On paper, so that it can be read where the map is hatched.
    let half_px = 4 * text.len() as i32;
    let paper = Rectangle::new([(-half_px, -9), (half_px, 9)], Theme::PAPER.filled());
    area.draw(&(EmptyElement::at(place) + paper)).map_err(fault)?;
    let style = Theme::centred(Theme::text(TEXT_PX));
    area.draw(&Text::new(text, place, style)).map_err(fault)
}

/// Whether the boundary runs through a box around a place.
fn crossed(layer: &RegionLayer, (x, y): (f64, f64), half: (f64, f64)) -> bool {
    const PARTS: u32 = 40;
    layer.boundary.windows(2).any(|pair| {
        (0..=PARTS).map(|i| f64::from(i) / f64::from(PARTS)).any(|share| {
            let at = |a: f64, b: f64| a + share * (b - a);
            (at(pair[0].x, pair[1].x) - x).abs() < half.0 && (at(pair[0].y, pair[1].y) - y).abs() < half.1
        })
    })
}

fn own(area: &Area<'_>, pixel: (i32, i32)) -> (i32, i32) {
    let base = area.get_base_pixel();
    (pixel.0 - base.0, pixel.1 - base.1)
}

/// Lines of equal power margin where the plan closes.
fn draw_margins(
    chart: &Chart<'_, '_>,
    report: &RegionReport,
    layer: &RegionLayer,
    step_w: Option<f64>,
) -> Result<(), FigureError> {
    let Some(step_w) = step_w else { return Ok(()) };
    let rows = report.y.values.len();
    let margin_w = |i: usize, j: usize| {
        let cell = layer.cells.get(i * rows + j)?;
        cell.margin_w.filter(|_| cell.feasible)
    };
    let style = equal().colour.stroke_width(equal().width_px);
    let levels = (1..=5).map(|count| step_w * f64::from(count));
    for level_w in levels {
        for piece in contour::pieces(&report.x.values, &report.y.values, &margin_w, level_w) {
            chart.plotting_area().draw(&PathElement::new(piece.to_vec(), style)).map_err(fault)?;
        }
    }
    Ok(())
}

/// Power margins where the plan closes, so many that they can be read.
fn label_margins(
    chart: &Chart<'_, '_>,
    report: &RegionReport,
    layer: &RegionLayer,
) -> Result<(), FigureError> {
    let (columns, rows) = (report.x.values.len(), report.y.values.len());
    let (across, up) = ((columns / 5).max(1), (rows / 6).max(1));
    for i in (across / 2..columns).step_by(across) {
        for j in (up / 2..rows).step_by(up) {
            let cell: &RegionCell = &layer.cells[i * rows + j];
            if let (true, Some(margin_w)) = (cell.feasible, cell.margin_w) {
                let at = (report.x.values[i], report.y.values[j]);
                if crowded(report, layer, at) {
                    continue;
                }
                let number = significant(margin_w, 2);
                let half_px = 5 * number.len() as i32;
                let paper = Rectangle::new([(-half_px, -9), (half_px, 9)], Theme::PAPER.filled());
                let style = Theme::centred(Theme::text(TEXT_PX));
                chart.plotting_area().draw(&(EmptyElement::at(at) + paper)).map_err(fault)?;
                chart.plotting_area().draw(&Text::new(number, at, style)).map_err(fault)?;
            }
        }
    }
    let frame = Rectangle::new(
        [(chart.x_range().start, chart.y_range().start), (chart.x_range().end, chart.y_range().end)],
        Theme::INK.stroke_width(1),
    );
    chart.plotting_area().draw(&frame).map_err(fault)
}

/// Whether a number here would stand on the boundary or on the plan.
fn crowded(report: &RegionReport, layer: &RegionLayer, (x, y): (f64, f64)) -> bool {
    let span = |values: &[f64]| match (values.first(), values.last()) {
        (Some(first), Some(last)) if last > first => last - first,
        _ => 1.0,
    };
    let (wide, high) = (span(&report.x.values), span(&report.y.values));
    let near = |px: f64, py: f64, reach: (f64, f64)| {
        (px - x).abs() < reach.0 * wide && (py - y).abs() < reach.1 * high
    };
    // The plan has its name over or under it.
    let plan = report.x.plan.zip(report.y.plan);
    plan.is_some_and(|(px, py)| near(px, py, (0.2, 0.13)))
        || layer.boundary.iter().any(|point| near(point.x, point.y, (0.09, 0.09)))
}

/// The boundary as lines over neighbouring values of `x`.
fn runs(report: &RegionReport, layer: &RegionLayer, upper: bool) -> Vec<Vec<(f64, f64)>> {
    let mut runs: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut last: Option<usize> = None;
    for point in layer.boundary.iter().filter(|p| p.upper == upper) {
        let column = report.x.values.iter().position(|x| *x == point.x).unwrap_or(0);
        match (last, runs.last_mut()) {
            (Some(before), Some(run)) if column == before + 1 => run.push((point.x, point.y)),
            _ => runs.push(vec![(point.x, point.y)]),
        }
        last = Some(column);
    }
    runs
}

/// Edges of cells around values, half way between neighbours.
pub(super) fn edges(values: &[f64]) -> Vec<f64> {
    let count = values.len();
    if count < 2 {
        let middle = values.first().copied().unwrap_or(0.0);
        return vec![middle - 0.5, middle + 0.5];
    }
    let mut edges = vec![values[0] - 0.5 * (values[1] - values[0])];
    edges.extend(values.windows(2).map(|pair| 0.5 * (pair[0] + pair[1])));
    edges.push(values[count - 1] + 0.5 * (values[count - 1] - values[count - 2]));
    edges
}
