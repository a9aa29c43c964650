//! What is searched, and between which bounds, where the user does not say.

use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use serde_json::Value;

use crate::{
    diagnostic::Diagnostic,
    scenario::{Delivery, Scenario, Vehicle, Winch},
    search::input,
    study::Span,
};

const HEIGHT: &str = "/station/height_m";
pub(crate) const PAYLOAD: &str = "/payload/mass_kg";
pub(crate) const DOWNWIND: &str = "/station/downwind_m";
pub(crate) const TENSION: &str = "/station/winch/drum_tension/drum_tension_n";
const PAID_OUT: &str = "/station/winch/paid_out/paid_out_m";
const LASER: &str = "/ground/laser/rated_w";

/// Inputs that choose the station at a given height.
pub fn station_free(scenario: &Scenario) -> Vec<&'static str> {
    match (&scenario.vehicle, scenario.station.winch) {
        (Vehicle::FixedLoad(_), _) => vec![],
        (_, Some(Winch::DrumTension { .. })) => vec![DOWNWIND, TENSION],
        (_, Some(Winch::PaidOut { .. })) => vec![DOWNWIND, PAID_OUT],
        (_, None) => vec![DOWNWIND],
    }
}

/// Goals that are asked when none is given, each with its free inputs.
pub fn default_goals(scenario: &Scenario) -> Vec<(&'static str, Vec<&'static str>)> {
    let with =
        |first: &[&'static str]| first.iter().copied().chain(station_free(scenario)).collect::<Vec<_>>();
    match &scenario.vehicle {
        Vehicle::FixedLoad(_) if scenario.ground.laser.is_some() => {
            vec![("min:/ground/laser/rated_w", vec![LASER])]
        }
        Vehicle::FixedLoad(_) => vec![("max:margin_w", vec![HEIGHT])],
        Vehicle::Underwater(_) => {
            vec![("min:/station/height_m", with(&[HEIGHT])), ("max:margin_w", with(&[]))]
        }
        Vehicle::Multirotor(_) | Vehicle::FixedWing(_) => vec![
            ("max:/station/height_m", with(&[HEIGHT])),
            ("max:/payload/mass_kg", with(&[PAYLOAD])),
            ("max:/payload/mass_kg*/station/height_m", with(&[HEIGHT, PAYLOAD])),
            ("max:margin_w", with(&[])),
        ],
    }
}

/// Spans of inputs between bounds that hold every sensible value.
///
/// # Errors
/// None for pointers that the scenario has.
pub fn default_free(
    scenario: &Scenario,
    complete: &Value,
    pointers: &[&str],
) -> Result<Vec<Span>, Box<Diagnostic>> {
    pointers
        .iter()
        .map(|pointer| {
            let input = input(complete, pointer)?;
            let (lo, hi) = bounds(scenario, pointer, input.value.unwrap_or(1.0));
            let lo = input.min.map_or(lo, |m| lo.max(m));
            let hi = input.max.map_or(hi, |m| hi.min(m));
            Span::new(input, lo, hi)
        })
        .collect()
}

fn bounds(scenario: &Scenario, pointer: &str, value: f64) -> (f64, f64) {
    let line_m = match &scenario.delivery {
        Delivery::Fiber(fiber) => Some(fiber.total_length_m),
        Delivery::Copper(copper) => Some(copper.total_length_m),
        Delivery::FreeBeam(_) | Delivery::None {} => None,
    };
    let exit_m = scenario.ground.drum.as_ref().map_or(0.0, |drum| drum.exit_height_m);
    let height_m = scenario.station.height_m;
    match pointer {
        HEIGHT => match (&scenario.site.water, line_m) {
            (Some(water), _) => (-water.depth_m, -0.5),
            (None, Some(line_m)) => (exit_m + 0.5, exit_m + line_m),
            (None, None) => (0.2 * height_m.max(1.0), 4.0 * height_m.max(1.0)),
        },
        DOWNWIND => {
            let reach_m = line_m.map_or(2.0 * height_m.abs(), |line_m| line_m.min(2.0 * height_m.abs()));
            (-reach_m.max(1.0), reach_m.max(1.0))
        }
        TENSION => (0.0, largest_tension_n(scenario)),
        PAID_OUT => (0.1, line_m.unwrap_or(value)),
        PAYLOAD => (0.0, largest_payload_kg(scenario, value)),
        _ if value > 0.0 => (0.05 * value, 5.0 * value),
        _ if value < 0.0 => (5.0 * value, 0.05 * value),
        _ => (0.0, 1.0),
    }
}

/// Weight that the vehicle could just lift, or ten times what stands there, N.
fn largest_tension_n(scenario: &Scenario) -> f64 {
    let standing_n = match scenario.station.winch {
        Some(Winch::DrumTension { drum_tension_n }) => drum_tension_n,
        _ => 10.0,
    };
    (10.0 * standing_n).max(0.3 * lift_n(scenario).unwrap_or(0.0))
}

fn largest_payload_kg(scenario: &Scenario, value: f64) -> f64 {
    match lift_n(scenario) {
        Some(lift_n) => (lift_n / STANDARD_GRAVITY_M_S2).max(2.0 * value),
        None => 10.0 * value.max(1.0),
    }
}

/// Largest thrust in the gust less the weight of the empty vehicle, where the station as it is tells, N.
fn lift_n(scenario: &Scenario) -> Option<f64> {
    let Vehicle::Multirotor(v) = &scenario.vehicle else { return None };
    let system = crate::System::new(scenario).ok()?;
    let point = system.operate(&system.place(&scenario.station).ok()?).ok()?;
    let in_gust = point.vehicle_in_gust?;
    let thrust_n = in_gust.thrust_n * in_gust.thrust_reserve_ratio?;
    Some((thrust_n - STANDARD_GRAVITY_M_S2 * v.empty_mass_kg).max(1.0))
}
