//! A sweep: lines over one input, or a map over two with its steps told by number, and hatched where the plan does not close.

use beamstay_planner::sweep::{SweepReport, SweepRow};
use plotters::{
    element::{Rectangle, Text},
    style::Color,
};

use super::{
    CHART, FigureError, Theme,
    axes::{Area, Axis, Chart, axes},
    fault, figure,
    mark::{
        Dash, Entry, Form, Mark, Pattern, draw_legend, draw_line, draw_point, fill_rectangle,
        legend_height_px,
    },
    region::edges,
    theme::TEXT_PX,
};
use crate::number::{quantity, significant};

/// Width of the legend, px.
const LEGEND_PX: i32 = 800;

/// Draws the first result of a sweep.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library, or if there is nothing to draw.
pub fn sweep_figure(report: &SweepReport) -> Result<String, FigureError> {
    let (Some(input), Some(output)) = (report.inputs.first(), report.outputs.first()) else {
        return Err(fault("a sweep without input or result"));
    };
    let values = report.rows.iter().filter_map(|row| row.outputs[0]);
    let (lo, hi) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)));
    if lo > hi {
        return Err(fault(format!("no point of the sweep has {}", output.name)));
    }
    let over = report.inputs.iter().map(|i| i.pointer.as_str()).collect::<Vec<_>>().join(" and ");
    let closing = report.rows.iter().filter(|row| row.feasible).count();
    let description = format!(
        "{} over {over}: from {} to {}; {closing} of {} points close.",
        output.meaning,
        quantity(lo, output.unit),
        quantity(hi, output.unit),
        report.rows.len()
    );
    figure(CHART, &report.provenance.title, &description, |root| match report.inputs.get(1) {
        None => draw_lines(root, report),
        Some(_) => draw_map(root, report, (lo, hi)),
    })
    .map_err(|error| FigureError { detail: format!("{}: {}", input.pointer, error.detail) })
}

fn named(key: &str, unit: &str) -> String {
    let key = key.rsplit('/').next().unwrap_or(key);
    if unit.is_empty() { key.to_owned() } else { format!("{key}, {unit}") }
}

fn draw_lines(root: &Area<'_>, report: &SweepReport) -> Result<(), FigureError> {
    let (input, output) = (&report.inputs[0], &report.outputs[0]);
    let at = |row: &SweepRow| row.outputs[0].map(|y| (row.inputs[0], y));
    let broken = Mark { colour: Theme::BAD, dash: Dash::Solid, form: Form::Cross, width_px: 2 };
    let entries =
        [Entry::Line(Mark::series(0), "closes".to_owned()), Entry::Line(broken, "does not close".to_owned())];
    let (top, legend) = root.split_vertically(CHART.1 - legend_height_px(&entries, LEGEND_PX));
    let (x_name, y_name) = (named(&input.pointer, &input.unit), named(&output.name, output.unit));
    let x = Axis::around(&x_name, report.rows.iter().map(|row| row.inputs[0]));
    let y = Axis::around(&y_name, report.rows.iter().filter_map(|row| row.outputs[0]));
    let mut chart = axes(&top, &output.meaning, x, y)?;
    let mut runs: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
    for row in &report.rows {
        match (at(row), runs.last_mut()) {
            (Some(place), Some(run)) => run.push(place),
            _ => runs.push(Vec::new()),
        }
    }
    for run in runs.iter().filter(|run| run.len() > 1) {
        draw_line(&mut chart, run, Mark::series(0).without_points(), 1)?;
    }
    for row in &report.rows {
        if let Some(place) = at(row) {
            draw_point(&mut chart, place, if row.feasible { Mark::series(0) } else { broken })?;
        }
    }
    draw_legend(&legend, &entries, 78)
}

fn draw_map(root: &Area<'_>, report: &SweepReport, (lo, hi): (f64, f64)) -> Result<(), FigureError> {
    let (first, second, output) = (&report.inputs[0], &report.inputs[1], &report.outputs[0]);
    let steps: Vec<f64> = (0..=5).map(|i| lo + (hi - lo) * f64::from(i) / 5.0).collect();
    let mut entries: Vec<Entry> = (0..5)
        .map(|step| Entry::Patch {
            fill: Theme::FILLS[step],
            pattern: Pattern::Plain,
            stroke: Theme::MUTED,
            text: format!("{}: from {}", step + 1, quantity(steps[step], output.unit)),
        })
        .collect();
    entries.push(Entry::Patch {
        fill: Theme::PAPER,
        pattern: Pattern::Rising,
        stroke: Theme::MUTED,
        text: "does not close".to_owned(),
    });
    let (top, legend) = root.split_vertically(CHART.1 - legend_height_px(&entries, LEGEND_PX));
    let (x_name, y_name) = (named(&first.pointer, &first.unit), named(&second.pointer, &second.unit));
    let (xs, ys) = (edges(&first.values), edges(&second.values));
    let range = |name, edges: &[f64]| Axis {
        name,
        from: edges.iter().copied().fold(f64::INFINITY, f64::min),
        to: edges.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    };
    let chart = axes(&top, &output.meaning, range(&x_name, &xs), range(&y_name, &ys))?;
    for (index, row) in report.rows.iter().enumerate() {
        let (i, j) = (index / second.values.len(), index % second.values.len());
        let corners = ((xs[i], ys[j]), (xs[i + 1], ys[j + 1]));
        draw_cell(&top, &chart, row, corners, (lo, hi))?;
    }
    label_steps(&chart, report, (lo, hi))?;
    draw_legend(&legend, &entries, 78)
}

fn draw_cell(
    area: &Area<'_>,
    chart: &Chart<'_, '_>,
    row: &SweepRow,
    corners: ((f64, f64), (f64, f64)),
    (lo, hi): (f64, f64),
) -> Result<(), FigureError> {
    let (a, b) = (chart.backend_coord(&corners.0), chart.backend_coord(&corners.1));
    let fill = row.outputs[0].map_or(Theme::PAPER, |v| Theme::FILLS[Theme::step(v, lo, hi)]);
    let pattern = if row.feasible { Pattern::Plain } else { Pattern::Rising };
    let base = area.get_base_pixel();
    let own = |p: (i32, i32)| (p.0 - base.0, p.1 - base.1);
    fill_rectangle(area, own(a), own(b), fill, pattern, Theme::MUTED)
}

/// The number of its step in the middle of every run of equal cells along a row of the map, where there is room.
fn label_steps(chart: &Chart<'_, '_>, report: &SweepReport, (lo, hi): (f64, f64)) -> Result<(), FigureError> {
    let rows = report.inputs[1].values.len();
    let columns = report.inputs[0].values.len();
    let step = |i: usize, j: usize| report.rows[i * rows + j].outputs[0].map(|v| Theme::step(v, lo, hi));
    let every = (rows / 6).max(1);
    for j in (every / 2..rows).step_by(every) {
        let mut start = 0;
        for i in 1..=columns {
            if i == columns || step(i, j) != step(start, j) {
                if let Some(number) = step(start, j) {
                    let middle = report.inputs[0].values[(start + i - 1) / 2];
                    let at = (middle, report.inputs[1].values[j]);
                    let text = Text::new(
                        significant((number + 1) as f64, 1),
                        at,
                        Theme::centred(Theme::text(TEXT_PX)),
                    );
                    chart.plotting_area().draw(&text).map_err(fault)?;
                }
                start = i;
            }
        }
    }
    let frame = Rectangle::new(
        [(chart.x_range().start, chart.y_range().start), (chart.x_range().end, chart.y_range().end)],
        Theme::INK.stroke_width(1),
    );
    chart.plotting_area().draw(&frame).map_err(fault)
}
