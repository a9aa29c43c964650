//! Hazard distances seen from above, to scale: all of them, and, where the longest dwarf the rest, the neighbourhood of the
//! ground station beside them.

use beamstay_planner::{
    HazardStudy,
    hazard::{PlanCircle, PlanKind},
};

use super::{
    FigureError, Theme,
    axes::{Area, Axis, Chart, axes},
    figure,
    mark::{Dash, Entry, Form, Mark, draw_legend, draw_line, draw_point, legend_height_px},
};
use crate::number::quantity;

/// Width of the figure and height of a view, px.
const WIDTH_PX: u32 = 900;
const VIEW_PX: u32 = 560;
/// Room of a view that is not axis or margin, px.
const ROOM_PX: (f64, f64) = (786.0, 452.0);
/// A second view is drawn where the longest radius is more than so many times the one that it should show.
const DWARFED_RATIO: f64 = 12.0;
/// How much of the surroundings of a working area is shown, in its radius.
const ROUND_AREA_RATIO: f64 = 2.0;
/// Straight pieces of a circle.
const PIECES_COUNT: u32 = 180;

/// The ground station and the vehicle.
const STATION: Mark = Mark { colour: Theme::INK, dash: Dash::Solid, form: Form::Cross, width_px: 1 };
const VEHICLE: Mark = Mark { colour: Theme::INK, dash: Dash::Dotted, form: Form::Diamond, width_px: 1 };

/// Draws the hazard distances in plan view.
///
/// # Errors
/// [`FigureError`] with the words of the drawing library.
pub fn hazard_figure(study: &HazardStudy) -> Result<String, FigureError> {
    let circles = &study.ground.circles;
    let mut entries: Vec<Entry> =
        circles.iter().enumerate().map(|(i, c)| Entry::Line(mark(i, c), label(c))).collect();
    entries.push(Entry::Line(STATION, "ground station".into()));
    entries.push(Entry::Line(VEHICLE, "vehicle".into()));
    let vehicle = (study.ground.vehicle_x_m, study.ground.vehicle_y_m);
    let legend_px = legend_height_px(&entries, WIDTH_PX as i32 - 78);
    let near_m = near_reach_m(circles);
    let views = if near_m.is_some() { 2 } else { 1 };
    let height_px = views * VIEW_PX + legend_px + 12;
    figure((WIDTH_PX, height_px), &study.title, &description(study), |root| {
        let (first, rest) = root.split_vertically(VIEW_PX);
        draw_view(&first, "hazard distances seen from above, to scale", circles, vehicle, reach_m(circles))?;
        let Some(near_m) = near_m else { return draw_legend(&rest, &entries, 78) };
        let (second, rest) = rest.split_vertically(VIEW_PX);
        draw_view(&second, "the neighbourhood of the ground station, to scale", circles, vehicle, near_m)?;
        draw_legend(&rest, &entries, 78)
    })
}

fn label(circle: &PlanCircle) -> String {
    let radius = match circle.radius_m {
        m if m >= 1e4 => quantity(1e-3 * m, "km"),
        m => quantity(m, "m"),
    };
    format!("{}: {radius}", circle.name)
}

fn description(study: &HazardStudy) -> String {
    let all: Vec<String> = study.ground.circles.iter().map(label).collect();
    format!(
        "Plan view of hazard distances round the ground station, to scale. {}. Planning figures: the laser safety officer decides.",
        all.join("; ")
    )
}

fn reach_m(circles: &[PlanCircle]) -> f64 {
    circles.iter().map(|c| c.centre_x_m.hypot(c.centre_y_m) + c.radius_m).fold(1.0, f64::max)
}

/// Radius of a second view, where the first one dwarfs something: the surroundings of the working area, or the largest circle
/// that would be too small.
fn near_reach_m(circles: &[PlanCircle]) -> Option<f64> {
    let whole_m = reach_m(circles);
    let mut small = circles.iter().filter(|c| DWARFED_RATIO * c.radius_m < whole_m);
    let area = small.clone().find(|c| c.kind == PlanKind::WorkingArea);
    match area {
        Some(area) => Some(ROUND_AREA_RATIO * area.radius_m).filter(|m| *m > 0.0),
        None => {
            let first = small.next()?;
            let of = |c: &PlanCircle| c.centre_x_m.hypot(c.centre_y_m) + c.radius_m;
            Some(small.map(of).fold(of(first), f64::max))
        }
    }
}

fn draw_view(
    area: &Area<'_>,
    caption: &str,
    circles: &[PlanCircle],
    vehicle: (f64, f64),
    reach_m: f64,
) -> Result<(), FigureError> {
    let half_y_m = 1.08 * reach_m;
    let half_x_m = half_y_m * ROOM_PX.0 / ROOM_PX.1;
    let across = Axis { name: "downwind of the ground station, m", from: -half_x_m, to: half_x_m };
    let left = Axis { name: "left, m", from: -half_y_m, to: half_y_m };
    let mut chart = axes(area, caption, across, left)?;
    for (index, circle) in circles.iter().enumerate() {
        draw_circle(&mut chart, circle, mark(index, circle), (half_x_m, half_y_m))?;
    }
    draw_point(&mut chart, (0.0, 0.0), STATION)?;
    if vehicle.0.abs() <= half_x_m && vehicle.1.abs() <= half_y_m {
        draw_point(&mut chart, vehicle, VEHICLE)?;
    }
    Ok(())
}

/// Draws the pieces of a circle that lie inside the view.
fn draw_circle(
    chart: &mut Chart<'_, '_>,
    circle: &PlanCircle,
    mark: Mark,
    (half_x_m, half_y_m): (f64, f64),
) -> Result<(), FigureError> {
    let inside = |p: &(f64, f64)| p.0.abs() <= half_x_m && p.1.abs() <= half_y_m;
    let points: Vec<(f64, f64)> = (0..=PIECES_COUNT)
        .map(|i| {
            let (sine, cosine) = (std::f64::consts::TAU * f64::from(i) / f64::from(PIECES_COUNT)).sin_cos();
            (circle.centre_x_m + circle.radius_m * cosine, circle.centre_y_m + circle.radius_m * sine)
        })
        .collect();
    for run in points.split(|p| !inside(p)).filter(|run| run.len() > 1) {
        draw_line(chart, run, mark, usize::MAX)?;
    }
    Ok(())
}

/// Line of a circle: its dash tells what kind it is, its colour which one.
fn mark(index: usize, circle: &PlanCircle) -> Mark {
    let (colour, dash, width_px) = match circle.kind {
        PlanKind::WithoutShutOff => (Theme::SERIES[index % 5], Dash::Solid, 3),
        PlanKind::WithShutOff => (Theme::SERIES[index % 5], Dash::Dashed, 3),
        PlanKind::WithOptics => (Theme::SERIES[index % 5], Dash::Dotted, 3),
        PlanKind::AtVehicle => (Theme::SERIES[index % 5], Dash::Dotted, 2),
        PlanKind::WorkingArea => (Theme::INK, Dash::Solid, 6),
    };
    Mark { colour, dash, form: Form::None, width_px }
}

#[cfg(test)]
mod tests {
    use beamstay_planner::{Document, hazard_study, load};

    use super::*;

    fn study(text: &str) -> HazardStudy {
        let document = Document::parse(text).unwrap();
        hazard_study(&document, &load(&document).unwrap()).unwrap()
    }

    #[test]
    fn a_fiber_has_one_view_and_a_beam_two() {
        let fiber = study(include_str!("../../../../scenarios/breakwater-lookout.json"));
        let beam = study(include_str!("../../../../scenarios/beam-hover.json"));
        let views = |study: &HazardStudy| hazard_figure(study).unwrap().matches("seen from above").count();
        assert!(views(&fiber) >= 1);
        assert!(near_reach_m(&beam.ground.circles).is_some());
        assert!(hazard_figure(&beam).unwrap().contains("neighbourhood"));
    }

    #[test]
    fn every_circle_is_named_in_the_description() {
        let study = study(include_str!("../../../../scenarios/breakwater-lookout.json"));
        let text = description(&study);
        assert!(study.ground.circles.iter().all(|c| text.contains(&c.name)), "{text}");
    }
}
