//! The tether from the side and from above, to scale, with the tension along it as colour and as width of the line, and
//! the forces on the vehicle beside it.

use beamstay_planner::{OperatingPoint, TetherCurve, curve::CurvePoint};
use plotters::{
    element::{Circle, EmptyElement, PathElement, Rectangle, Text},
    series::{DashedLineSeries, LineSeries},
    style::{Color, ShapeStyle, text_anchor::HPos},
};

use super::{
    FigureError, Theme, WIDE,
    axes::{Area, Axis, Chart, axes},
    fault, figure, forces,
    label::{BESIDE, OVER, View},
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
        let (plan, legend) = rest.split_vertically(182);
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
    let lies = mean.touches.as_ref().map_or(String::new(), |[lands, lifts_off]| {
        let (lying_m, off_m) = (lifts_off.s_m - lands.s_m, lifts_off.x_m.hypot(lifts_off.y_m));
        format!(
            " {} of it lie on the ground; it touches down {} from the drum.",
            quantity(lying_m, "m"),
            quantity(off_m, "m")
        )
    });
    format!(
        "Side view and plan view of the tether, to scale; vehicle {place}. Tension in the mean wind: {}. In the gust: {}.{lies}",
        ends(mean),
        ends(gust)
    )
}

fn draw_side(area: &Area<'_>, mean: &TetherCurve, gust: &TetherCurve) -> Result<(), FigureError> {
    let place = |p: &CurvePoint| (p.x_m, p.height_m);
    let points = |curve: &TetherCurve| curve.points.iter().map(place).collect::<Vec<_>>();
    let (mean_points, gust_points) = (points(mean), points(gust));
    let (x, y) = to_scale(mean_points.iter().chain(&gust_points).chain(&[(0.0, 0.0)]), SIDE_PX);
    let view = View { x, y, size_px: SIDE_PX };
    let mut chart =
        axes(area, "side view, to scale", axis("downwind of the drum, m", x), axis("height, m", y))?;
    let mut taken = view.boxes(mean_points.iter().chain(&gust_points));
    if y.0 < 0.0 && y.1 > 0.0 {
        let level = [(x.0, 0.0), (x.1, 0.0)];
        let style = ShapeStyle { color: Theme::MUTED.to_rgba(), filled: false, stroke_width: 3 };
        chart.draw_series(LineSeries::new(level, style)).map_err(fault)?;
        taken.push(view.band(0.0));
        let under_water = mean.points.last().is_some_and(|p| p.height_m < 0.0);
        let name = if under_water { "water" } else { "ground" };
        view.label(
            &mut chart,
            (x.1, 0.0),
            name,
            &[(-6, 16, HPos::Right), (-6, -14, HPos::Right)],
            &mut taken,
        )?;
    }
    draw_curve(&mut chart, &mean_points, &gust_points, mean)?;
    let tension =
        |p: Option<&CurvePoint>| p.map_or(String::new(), |p| format!(", {}", quantity(p.tension_n, "N")));
    let mut marks = vec![
        (mean.points.first().map(place), format!("drum{}", tension(mean.points.first()))),
        (mean.points.last().map(place), format!("vehicle{}", tension(mean.points.last()))),
    ];
    if let Some([_, lifts_off]) = &mean.touches {
        marks.push((Some(place(lifts_off)), "touches down".to_owned()));
    }
    draw_touches(&mut chart, mean, place)?;
    for (at, text) in marks {
        let Some(at) = at else { continue };
        view.label(&mut chart, at, &text, &BESIDE, &mut taken)?;
    }
    Ok(())
}

fn draw_plan(area: &Area<'_>, mean: &TetherCurve, gust: &TetherCurve) -> Result<(), FigureError> {
    let place = |p: &CurvePoint| (p.x_m, p.y_m);
    let points = |curve: &TetherCurve| curve.points.iter().map(place).collect::<Vec<_>>();
    let (mean_points, gust_points) = (points(mean), points(gust));
    let (x, y) = to_scale(mean_points.iter().chain(&gust_points), PLAN_PX);
    let (across, left) = (axis("downwind of the drum, m", x), axis("left, m", y));
    let view = View { x, y, size_px: PLAN_PX };
    let mut chart = axes(area, "seen from above, to scale", across, left)?;
    let mut taken = view.boxes(mean_points.iter().chain(&gust_points));
    draw_curve(&mut chart, &mean_points, &gust_points, mean)?;
    draw_touches(&mut chart, mean, place)?;
    for (at, text) in [(mean_points.first(), "drum"), (mean_points.last(), "vehicle")] {
        let Some(at) = at else { continue };
        view.label(&mut chart, *at, text, &OVER, &mut taken)?;
    }
    Ok(())
}

/// Squares where the line lands on the ground and lifts off.
fn draw_touches(
    chart: &mut Chart<'_, '_>,
    curve: &TetherCurve,
    place: impl Fn(&CurvePoint) -> (f64, f64),
) -> Result<(), FigureError> {
    for touch in curve.touches.iter().flatten().filter(|touch| touch.s_m > 0.0) {
        let square = Rectangle::new([(-5, -5), (5, 5)], Theme::INK.filled());
        chart.draw_series([EmptyElement::at(place(touch)) + square]).map_err(fault)?;
    }
    Ok(())
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
    for place in [points.first(), points.last()].into_iter().flatten() {
        chart.draw_series([Circle::new(*place, 5, Theme::INK.filled())]).map_err(fault)?;
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
    area.draw(&Text::new(text, (40, 44), Theme::beginning(Theme::text(TEXT_PX)))).map_err(fault)?;
    let Some([lands, lifts_off]) = &curve.touches else { return Ok(()) };
    let text = format!(
        "square: on the ground it lies from {} to {} of its length in the mean wind",
        quantity(lands.s_m, "m"),
        quantity(lifts_off.s_m, "m")
    );
    area.draw(&Text::new(text, (40, 68), Theme::beginning(Theme::text(TEXT_PX)))).map_err(fault)
}
