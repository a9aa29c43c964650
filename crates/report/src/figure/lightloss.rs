//! The loss of light over time: height, charge and power; and what each rate of descent costs.

use beamstay_planner::lightloss::{Drill, LightLossReport};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, axes},
    figure,
    mark::{Entry, Mark, draw_legend, draw_line},
};
use crate::number::quantity;

/// Width and height, px.
const SIZE: (u32, u32) = (900, 980);

/// Draws the worst cause over time, and time and energy over the rate of descent.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn light_loss_figure(report: &LightLossReport) -> Result<String, FigureError> {
    let Some(worst) = report.worst() else {
        return Err(FigureError { detail: "no cause was worked through".into() });
    };
    let description = format!(
        "{}. {} {}. It takes {} and {}.",
        worst.cause.name,
        worst.outcome.words(),
        worst.reason,
        quantity(worst.time_s, "s"),
        quantity(worst.needed_j / 3600.0, "Wh")
    );
    let title = format!("{}: light lost", report.title);
    figure(SIZE, &title, &description, |root| {
        let (top, rest) = root.split_vertically(320);
        let (middle, rest) = rest.split_vertically(300);
        let (bottom, legend) = rest.split_vertically(300);
        heights(&top, worst)?;
        charges(&middle, worst)?;
        rates(&bottom, report)?;
        let entries = [
            Entry::Line(Mark::series(0).without_points(), "worst cause".into()),
            Entry::Line(Mark::series(1).without_points(), "what must stay, or begins".into()),
        ];
        draw_legend(&legend, &entries, 80)
    })
}

/// Time and another quantity, from the instant of the loss.
fn over_time(drill: &Drill, value: impl Fn(&beamstay_planner::lightloss::RideRow) -> f64) -> Vec<(f64, f64)> {
    drill.rows.iter().map(|row| (row.time_s, value(row))).collect()
}

fn heights(area: &Area<'_>, drill: &Drill) -> Result<(), FigureError> {
    let mut points = over_time(drill, |row| row.height_m);
    if points.is_empty() {
        // Without a battery there is nothing to follow but the flight that would be needed.
        let mut time_s = 0.0;
        for leg in &drill.legs {
            points.push((time_s, leg.from_height_m));
            time_s += leg.duration_s;
            points.push((time_s, leg.to_height_m));
        }
    } else if let Some(leg) = drill.legs.first() {
        points.insert(0, (0.0, leg.from_height_m));
    }
    let caption = if drill.rows.is_empty() {
        format!("NO BATTERY: the way down that would be needed ({})", drill.cause.name)
    } else {
        drill.cause.name.clone()
    };
    let x = Axis::around("time since the light was lost, s", points.iter().map(|p| p.0).chain([0.0]));
    let y = Axis::around("height, m", points.iter().map(|p| p.1).chain([0.0]));
    let mut chart = axes(area, &caption, x, y)?;
    draw_line(&mut chart, &points, Mark::series(0).without_points(), 1)
}

fn charges(area: &Area<'_>, drill: &Drill) -> Result<(), FigureError> {
    let points = over_time(drill, |row| 100.0 * row.charge_ratio);
    let last_s = points.last().map_or(drill.time_s.max(1.0), |p| p.0);
    let x = Axis { name: "time since the light was lost, s", from: 0.0, to: 1.06 * last_s };
    let y = Axis { name: "charge left, %", from: 0.0, to: 105.0 };
    let mut chart = axes(area, "battery", x, y)?;
    draw_line(&mut chart, &points, Mark::series(0).without_points(), 1)?;
    match drill.floor_ratio {
        Some(floor) => {
            let level = [(0.0, 100.0 * floor), (last_s, 100.0 * floor)];
            draw_line(&mut chart, &level, Mark::series(1).without_points(), 1)
        }
        None => Ok(()),
    }
}

fn rates(area: &Area<'_>, report: &LightLossReport) -> Result<(), FigureError> {
    let points: Vec<(f64, f64)> =
        report.rates.iter().map(|row| (row.rate_m_s, row.energy_j / 3600.0)).collect();
    if points.is_empty() {
        let style = Theme::text(super::theme::TEXT_PX);
        let text = plotters::element::Text::new("no choice of a rate of descent here", (80, 60), style);
        return area.draw(&text).map_err(super::fault);
    }
    let x = Axis::around("rate of descent, m/s", points.iter().map(|p| p.0).chain([0.0]));
    // The slowest rates would flatten all others.
    let shown = points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min) * 6.0;
    let y = Axis { name: "energy to the ground, Wh", from: 0.0, to: shown };
    let visible: Vec<(f64, f64)> = points.into_iter().filter(|p| p.1 <= shown).collect();
    let mut chart = axes(area, "every rate; the dashed line: vortex ring state if the wind drops", x, y)?;
    draw_line(&mut chart, &visible, Mark::series(0).without_points(), 1)?;
    let Some(rate) = report.worst().and_then(|drill| drill.rate) else { return Ok(()) };
    let boundary = [(rate.vortex_ring_from_m_s, 0.0), (rate.vortex_ring_from_m_s, shown)];
    draw_line(&mut chart, &boundary, Mark::series(1).without_points(), 1)
}
