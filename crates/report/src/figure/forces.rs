//! The forces on the vehicle as arrows on one scale.

use beamstay_planner::OperatingPoint;
use plotters::{
    element::{EmptyElement, PathElement, Polygon},
    series::DashedLineSeries,
    style::{Color, RGBColor, ShapeStyle, text_anchor::HPos},
};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, Chart, axes},
    fault,
    label::{Offset, View},
    tether::to_scale,
};
use crate::number::quantity;

/// Standard gravity (CGPM 1901), m/s².
const GRAVITY_M_S2: f64 = 9.806_65;
/// Room between the axes, px.
const ROOM_PX: (f64, f64) = (210.0, 390.0);

/// Where the words of an arrow may stand about its tip.
const ABOUT: [Offset; 8] = [
    (12, 10, HPos::Left),
    (-12, 10, HPos::Right),
    (12, -22, HPos::Left),
    (-12, -22, HPos::Right),
    (12, 34, HPos::Left),
    (-12, 34, HPos::Right),
    (30, -44, HPos::Left),
    (-30, -44, HPos::Right),
];

/// A force in the plane of the wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Force {
    name: &'static str,
    downwind_n: f64,
    up_n: f64,
    size_n: f64,
    colour: RGBColor,
}

/// The forces on a vehicle that hangs from its rotors: thrust, weight, drag and tether. What the model does not say as a
/// vector is left out: the thrust is shown only where the rest of the balance gives the thrust that was computed.
pub(super) fn on_vehicle(point: &OperatingPoint, gust: bool) -> Vec<Force> {
    let tether = if gust { point.tether_in_gust } else { point.tether };
    let vehicle = if gust { point.vehicle_in_gust } else { point.vehicle };
    let mut forces = Vec::new();
    let mut push = |name, [x, y, z]: [f64; 3], series: usize| {
        let size_n = (x * x + y * y + z * z).sqrt();
        forces.push(Force { name, downwind_n: x, up_n: z, size_n, colour: Theme::SERIES[series] });
    };
    let pull = tether.map_or([0.0; 3], |t| t.force_on_vehicle_n);
    if tether.is_some() {
        push("tether", pull, 0);
    }
    let Some(vehicle) = vehicle else { return forces };
    let weight_n = point.masses.total_kg() * GRAVITY_M_S2;
    let thrust = [-pull[0] - vehicle.body_drag_n, -pull[1], weight_n - pull[2]];
    let closing_n = thrust.iter().map(|f| f * f).sum::<f64>().sqrt();
    if (closing_n - vehicle.thrust_n).abs() < 0.01 * closing_n {
        push("weight", [0.0, 0.0, -weight_n], 5);
        push("drag", [vehicle.body_drag_n, 0.0, 0.0], 2);
        push("thrust", thrust, 1);
    }
    forces
}

/// The forces in words.
pub(super) fn description(mean: &[Force], gust: &[Force]) -> String {
    let list = |forces: &[Force]| {
        let words: Vec<String> =
            forces.iter().map(|f| format!("{} {}", f.name, quantity(f.size_n, "N"))).collect();
        words.join(", ")
    };
    format!("Forces on the vehicle in the mean wind: {}; in the gust: {}.", list(mean), list(gust))
}

/// Draws the arrows, those of the gust dashed.
pub(super) fn draw(area: &Area<'_>, mean: &[Force], gust: &[Force]) -> Result<(), FigureError> {
    let tips: Vec<(f64, f64)> =
        mean.iter().chain(gust).map(|f| (f.downwind_n, f.up_n)).chain([(0.0, 0.0)]).collect();
    let (x, y) = to_scale(tips.iter(), ROOM_PX);
    let across = Axis { name: "downwind, N", from: x.0, to: x.1 };
    let up = Axis { name: "up, N", from: y.0, to: y.1 };
    let mut chart = axes(area, "forces on the vehicle", across, up)?;
    for force in gust {
        let style = ShapeStyle { color: force.colour.to_rgba(), filled: false, stroke_width: 2 };
        let line = [(0.0, 0.0), (force.downwind_n, force.up_n)];
        chart.draw_series(DashedLineSeries::new(line, 6, 5, style)).map_err(fault)?;
    }
    mean.iter().try_for_each(|force| draw_arrow(&mut chart, force))?;
    let view = View { x, y, size_px: ROOM_PX };
    let arrows: Vec<(f64, f64)> = mean.iter().flat_map(along).collect();
    let mut taken = view.boxes(arrows.iter());
    for force in mean {
        let text = format!("{}\n{}", force.name, quantity(force.size_n, "N"));
        view.label(&mut chart, (force.downwind_n, force.up_n), &text, &ABOUT, &mut taken)?;
    }
    Ok(())
}

/// Points along an arrow.
fn along(force: &Force) -> impl Iterator<Item = (f64, f64)> + '_ {
    (0..=20).map(|i| (force.downwind_n * f64::from(i) / 20.0, force.up_n * f64::from(i) / 20.0))
}

fn draw_arrow(chart: &mut Chart<'_, '_>, force: &Force) -> Result<(), FigureError> {
    let tip = (force.downwind_n, force.up_n);
    let style = ShapeStyle { color: force.colour.to_rgba(), filled: false, stroke_width: 4 };
    chart.draw_series([PathElement::new(vec![(0.0, 0.0), tip], style)]).map_err(fault)?;
    let size = tip.0.hypot(tip.1);
    if size > 0.0 {
        let (ux, uy) = (tip.0 / size, -tip.1 / size);
        let corner = |along: f64, aside: f64| {
            ((along * ux - aside * uy).round() as i32, (along * uy + aside * ux).round() as i32)
        };
        let head = vec![corner(8.0, 0.0), corner(-6.0, 7.0), corner(-6.0, -7.0)];
        chart
            .draw_series([EmptyElement::at(tip) + Polygon::new(head, force.colour.filled())])
            .map_err(fault)?;
    }
    Ok(())
}
