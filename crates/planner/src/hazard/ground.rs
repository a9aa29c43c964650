//! What the distances mean on the ground, seen from above: how far round drum or ground optic the light can harm, and whether
//! the working area holds it.

use serde::Serialize;

use super::{DistancesOut, SourceHazard};
use crate::{
    point::OperatingPoint,
    scenario::{Delivery, Hazard, Scenario},
};

/// What the distances mean on the ground.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ground {
    /// How far from the drum a loose end can come: the line paid out, or all of it where the plan has no solution, m; 0 for a
    /// beam.
    pub reach_m: f64,
    /// Reach and the longest distance of eye and skin together, without shut-off, m.
    pub keep_out_radius_m: f64,
    /// The same with the shut-off, m.
    pub keep_out_with_shut_off_m: Option<f64>,
    /// Lowest elevation of a free beam while it is on the vehicle, °.
    pub beam_elevation_deg: Option<f64>,
    /// Height over the ground optic up to which that beam harms an eye, m.
    pub beam_top_m: Option<f64>,
    /// Radius of the working area, m.
    pub working_area_radius_m: Option<f64>,
    /// Whether the working area holds the light when nothing shuts it off.
    pub working_area_holds: Option<bool>,
    /// Whether it does with the shut-off.
    pub working_area_holds_with_shut_off: Option<bool>,
    /// The vehicle, downwind of drum or ground optic, m.
    pub vehicle_x_m: f64,
    /// The vehicle, to the left of the wind, m.
    pub vehicle_y_m: f64,
    /// The same in plan view.
    pub circles: Vec<PlanCircle>,
}

/// A circle in plan view.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanCircle {
    /// What it is.
    pub name: String,
    /// What kind.
    pub kind: PlanKind,
    /// Centre, downwind of drum or ground optic, m.
    pub centre_x_m: f64,
    /// Centre, to the left of the wind, m.
    pub centre_y_m: f64,
    /// Radius, m.
    pub radius_m: f64,
}

/// Kind of a circle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanKind {
    /// Hazard without shut-off.
    WithoutShutOff,
    /// Hazard with the shut-off.
    WithShutOff,
    /// Hazard to an eye behind optics.
    WithOptics,
    /// Hazard at the vehicle.
    AtVehicle,
    /// The working area.
    WorkingArea,
}

pub(super) fn ground(
    scenario: &Scenario,
    inputs: Hazard,
    point: Option<&OperatingPoint>,
    sources: &[SourceHazard],
) -> Ground {
    let reach_m = match &scenario.delivery {
        Delivery::Fiber(fiber) => {
            point.and_then(|p| p.tether).map_or(fiber.total_length_m, |tether| tether.paid_out_m)
        }
        _ => 0.0,
    };
    let longest = |of: fn(&SourceHazard) -> Option<&DistancesOut>| {
        sources.iter().filter_map(of).map(DistancesOut::unaided_m).reduce(f64::max)
    };
    let keep_out_radius_m = reach_m + longest(|s| Some(&s.without_shut_off)).unwrap_or(0.0);
    let keep_out_with_shut_off_m = longest(|s| s.with_shut_off.as_ref()).map(|m| reach_m + m);
    let beam = matches!(scenario.delivery, Delivery::FreeBeam(_));
    let elevation_deg = beam.then(|| elevation_deg(scenario, point));
    let whole_m = sources.first().map_or(0.0, |s| s.without_shut_off.eye.distance_m);
    let area_m = inputs.working_area_radius_m;
    Ground {
        reach_m,
        keep_out_radius_m,
        keep_out_with_shut_off_m,
        beam_elevation_deg: elevation_deg,
        beam_top_m: elevation_deg.map(|deg| whole_m * deg.to_radians().sin()),
        working_area_radius_m: area_m,
        working_area_holds: area_m.map(|m| m >= keep_out_radius_m),
        working_area_holds_with_shut_off: area_m
            .and_then(|m| keep_out_with_shut_off_m.map(|keep_out_m| m >= keep_out_m)),
        vehicle_x_m: scenario.station.downwind_m,
        vehicle_y_m: scenario.station.crosswind_m,
        circles: circles(scenario, sources, reach_m, elevation_deg, area_m),
    }
}

fn elevation_deg(scenario: &Scenario, point: Option<&OperatingPoint>) -> f64 {
    let station = &scenario.station;
    let straight = || station.height_m.atan2(station.downwind_m.hypot(station.crosswind_m)).to_degrees();
    point.and_then(|p| p.light).and_then(|l| l.beam_elevation_deg).unwrap_or_else(straight)
}

fn circles(
    scenario: &Scenario,
    sources: &[SourceHazard],
    reach_m: f64,
    elevation_deg: Option<f64>,
    working_area_m: Option<f64>,
) -> Vec<PlanCircle> {
    let round = |kind, name: &str, radius_m| PlanCircle {
        name: name.to_owned(),
        kind,
        centre_x_m: 0.0,
        centre_y_m: 0.0,
        radius_m,
    };
    let mut list = Vec::new();
    let Some(first) = sources.first() else { return list };
    let bare = &first.without_shut_off;
    match elevation_deg {
        None => {
            list.push(round(PlanKind::WithoutShutOff, "eye, end at the drum", bare.eye.distance_m));
            list.push(round(PlanKind::WithoutShutOff, "eye, loose end anywhere", reach_m + bare.unaided_m()));
            let aided_m = reach_m + bare.eye_with_optics.distance_m;
            list.push(round(PlanKind::WithOptics, "eye with optics, loose end anywhere", aided_m));
            if let Some(short) = &first.with_shut_off {
                let name = "eye, loose end anywhere, with shut-off";
                list.push(round(PlanKind::WithShutOff, name, reach_m + short.unaided_m()));
            }
        }
        Some(elevation_deg) => {
            let over_ground = elevation_deg.to_radians().cos();
            list.push(round(PlanKind::WithoutShutOff, "eye, beam turned anywhere", bare.unaided_m()));
            let under_m = bare.unaided_m() * over_ground;
            list.push(round(
                PlanKind::WithoutShutOff,
                "under the beam that harms an eye, on the vehicle",
                under_m,
            ));
            if let Some(short) = &first.with_shut_off {
                let name = "eye, beam turned anywhere, with shut-off";
                list.push(round(PlanKind::WithShutOff, name, short.unaided_m()));
            }
            if let Some(matt) = sources.iter().find(|s| s.code == "matt_surface") {
                list.push(PlanCircle {
                    centre_x_m: scenario.station.downwind_m,
                    centre_y_m: scenario.station.crosswind_m,
                    ..round(
                        PlanKind::AtVehicle,
                        "eye, light scattered by the hull",
                        matt.without_shut_off.unaided_m(),
                    )
                });
            }
        }
    }
    if let Some(radius_m) = working_area_m {
        list.push(round(PlanKind::WorkingArea, "working area", radius_m));
    }
    list
}
