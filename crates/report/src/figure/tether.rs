//! The tether from the side and from above, to scale, with the tension along it as colour and as width of the line, and
//! the forces on the vehicle beside it.

use beamstay_planner::{OperatingPoint, TetherCurve};
use plotters::{
    element::{Circle, EmptyElement, PathElement, Text},
    series::{DashedLineSeries, LineSeries},
    style::{Color, ShapeStyle},
};

use super::{
    FigureError, Theme, WIDE,
    axes::{Area, Axis, Chart, axes},
    fault, figure, forces,
    theme::TEXT_PX,
};
use crate::number::quantity;

/// Room of a view that is not axis or margin, px.
const SIDE_PX: (f64, f64) = (440.0, 390.0);
const PLAN_PX: (f64, f64) = (770.0, 100.0);

/// Draws the tether in the mean wind, with the gust beside it as a dashed line, and the forces on the vehicle in both.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn tether_figure(
    title: &str,
    point: &OperatingPoint,
    mean: &TetherCurve,
    gust: &TetherCurve,
) -> Result<String, FigureError> {
    let (forces_mean, forces_gust) = (forces::on_vehicle(point, false), forces::on_vehicle(point, true));
    let description =
        format!("{} {}", description(mean, gust), forces::description(&forces_mean, &forces_gust));
    figure(WIDE, title, &description, |root| {
        let (upper, rest) = root.split_vertically(490);
        let (side, balance) = upper.split_horizontally(550);
        let (plan, legend) = rest.split_vertically(190);
        draw_side(&side, mean, gust)?;
        forces::draw(&balance, &forces_mean, &forces_gust)?;
        draw_plan(&plan, mean, gust)?;
        draw_legend(&legend, mean)
    })
}

fn description(mean: &TetherCurve, gust: &TetherCurve) -> String {
    let ends = |curve: &TetherCurve| {
        let first = curve.points.first().map_or(0.0, |p| p.tension_n);
        let last = curve.points.last().map_or(0.0, |p| p.tension_n);
        format!("{} at the drum, {} at the vehicle", quantity(first, "N"), quantity(last, "N"))
    };
    let place = mean.points.last().map_or(String::new(), |p| {
        format!("{} up, {} downwind", quantity(p.height_m, "m"), quantity(p.x_m, "m"))
    });
    format!(
        "Side view and plan view of the tether, to scale; vehicle {place}. Tension in the mean wind: {}. In the gust: {}.",
        ends(mean),
        ends(gust)
    )
}

fn draw_side(area: &Area<'_>, mean: &TetherCurve, gust: &TetherCurve) -> Result<(), FigureError> {
    let points = |curve: &TetherCurve| curve.points.iter().map(|p| (p.x_m, p.height_m)).collect::<Vec<_>>();
    let (mean_points, gust_points) = (points(mean), points(gust));
    let (x, y) = to_scale(mean_points.iter().chain(&gust_points).chain(&[(0.0, 0.0)]), SIDE_PX);
    let mut chart =
        axes(area, "side view, to scale", axis("downwind of the drum, m", x), axis("height, m", y))?;
    if y.0 < 0.0 && y.1 > 0.0 {
        let level = [(x.0, 0.0), (x.1, 0.0)];
        let style = ShapeStyle { color: Theme::MUTED.to_rgba(), filled: false, stroke_width: 3 };
        chart.draw_series(LineSeries::new(level, style)).map_err(fault)?;
    }
    draw_curve(&mut chart, &mean_points, &gust_points, mean, true)
}

fn draw_plan(area: &Area<'_>, mean: &TetherCurve, gust: &TetherCurve) -> Result<(), FigureError> {
    let points = |curve: &TetherCurve| curve.points.iter().map(|p| (p.x_m, p.y_m)).collect::<Vec<_>>();
    let (mean_points, gust_points) = (points(mean), points(gust));
    let (x, y) = to_scale(mean_points.iter().chain(&gust_points), PLAN_PX);
    let (across, left) = (axis("downwind of the drum, m", x), axis("left, m", y));
    let mut chart = axes(area, "seen from above, to scale", across, left)?;
    draw_curve(&mut chart, &mean_points, &gust_points, mean, false)
}

fn axis(name: &str, (from, to): (f64, f64)) -> Axis<'_> {
    Axis { name, from, to }
}

/// Ranges that hold all points with one metre as long up as across.
pub(super) fn to_scale<'a>(
    points: impl Iterator<Item = &'a (f64, f64)>,
    (width_px, height_px): (f64, f64),
) -> ((f64, f64), (f64, f64)) {
    let (mut x, mut y) = ((f64::INFINITY, f64::NEG_INFINITY), (f64::INFINITY, f64::NEG_INFINITY));
    for (px, py) in points {
        x = (x.0.min(*px), x.1.max(*px));
        y = (y.0.min(*py), y.1.max(*py));
    }
    let m_per_px = (1.25 * (x.1 - x.0) / width_px).max(1.2 * (y.1 - y.0) / height_px).max(1e-3);
    let around = |(lo, hi): (f64, f64), px: f64| {
        let (middle, half) = (0.5 * (lo + hi), 0.5 * m_per_px * px);
        (middle - half, middle + half)
    };
    (around(x, width_px), around(y, height_px))
}

fn draw_curve(
    chart: &mut Chart<'_, '_>,
    points: &[(f64, f64)],
    gust: &[(f64, f64)],
    curve: &TetherCurve,
    with_tension: bool,
) -> Result<(), FigureError> {
    let (lo, hi) = curve.tension_range_n();
    let steps: Vec<usize> = curve.points.iter().map(|p| Theme::step(p.tension_n, lo, hi)).collect();
    let mut start = 0;
    for end in 1..points.len() {
        // A run of one step is one line, so that it shows no seams.
        if steps[end] != steps[start] || end + 1 == points.len() {
            let run = points[start..=end].iter().copied();
            chart.draw_series(LineSeries::new(run, stroke(steps[start]))).map_err(fault)?;
            start = end;
        }
    }
    let dashed = ShapeStyle { color: Theme::INK.to_rgba(), filled: false, stroke_width: 1 };
    chart.draw_series(DashedLineSeries::new(gust.iter().copied(), 8, 6, dashed)).map_err(fault)?;
    let tension = |index: Option<f64>| index.map_or(String::new(), |t| format!(", {}", quantity(t, "N")));
    let ends = [
        (points.first(), "drum", curve.points.first().map(|p| p.tension_n)),
        (points.last(), "vehicle", curve.points.last().map(|p| p.tension_n)),
    ];
    for (place, name, tension_n) in ends {
        let Some(place) = place else { continue };
        let text = if with_tension { format!("{name}{}", tension(tension_n)) } else { name.to_owned() };
        // Beside the line in the side view, over it in the plan.
        let offset = if with_tension { (16, -14) } else { (0, -20) };
        let style = if with_tension {
            Theme::beginning(Theme::text(TEXT_PX))
        } else {
            Theme::centred(Theme::text(TEXT_PX))
        };
        chart.draw_series([Circle::new(*place, 5, Theme::INK.filled())]).map_err(fault)?;
        let label = EmptyElement::at(*place) + Text::new(text, offset, style);
        chart.draw_series([label]).map_err(fault)?;
    }
    Ok(())
}

/// Colour and width of a step.
fn stroke(step: usize) -> ShapeStyle {
    ShapeStyle { color: Theme::STEPS[step].to_rgba(), filled: false, stroke_width: 2 + 2 * step as u32 }
}

fn draw_legend(area: &Area<'_>, curve: &TetherCurve) -> Result<(), FigureError> {
    let (lo, hi) = curve.tension_range_n();
    for step in 0..5_usize {
        let x = 40 + 170 * step as i32;
        let line = PathElement::new(vec![(x, 18), (x + 36, 18)], stroke(step));
        area.draw(&line).map_err(fault)?;
        let from = lo + (hi - lo) * step as f64 / 5.0;
        let label = format!("from {}", quantity(from, "N"));
        area.draw(&Text::new(label, (x + 46, 18), Theme::beginning(Theme::text(TEXT_PX)))).map_err(fault)?;
    }
    let text = "tension in the mean wind: the thicker and lighter the line, the more; dashed: in the gust";
    area.draw(&Text::new(text, (40, 48), Theme::beginning(Theme::text(TEXT_PX)))).map_err(fault)
}
