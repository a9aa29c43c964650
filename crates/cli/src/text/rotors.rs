//! Rotors and what they can do, as text.

use beamstay_planner::{
    OperatingPoint,
    point::VehiclePoint,
    rotors::{LaunchRow, LostRow, RotorStates},
    scenario::{RotorFailure, RotorTask},
};
use beamstay_report::number::{quantity, signed_percent, significant};

use super::table::{aligned, folded};

/// The rotors in mean wind and gust; none where nothing turns.
pub fn one_rotor(point: &OperatingPoint) -> Option<String> {
    let mean = point.vehicle.filter(|v| v.rotor_speed_rpm.is_some())?;
    let gust = point.vehicle_in_gust;
    let mut rows = Vec::new();
    let mut row = |name: &str, unit: &str, read: fn(&VehiclePoint) -> Option<f64>| {
        let text = |v: Option<f64>| v.map_or(String::new(), |v| quantity(v, unit));
        if read(&mean).is_some() {
            rows.push(vec![name.to_owned(), text(read(&mean)), text(gust.as_ref().and_then(read))]);
        }
    };
    row("speed of rotation", "rpm", |v| v.rotor_speed_rpm);
    row("torque of one rotor", "N·m", |v| v.rotor_torque_n_m);
    row("Mach number of the advancing tip", "", |v| v.tip_mach_ratio);
    row("induced speed at the disk", "m/s", |v| Some(v.induced_speed_m_s));
    row("ideal hover over induced and profile power", "", |v| v.figure_of_merit);
    row("induced power", "W", |v| Some(v.induced_w));
    row("profile power", "W", |v| Some(v.profile_w));
    row("power against the wind", "W", |v| Some(v.axial_w));
    row("current of one motor", "A", |v| v.motor_current_a);
    row("winding in steady state", "°C", |v| v.winding_temp_c);
    row("power of all controllers", "W", |v| Some(v.electrical_w));
    row("force in the rotor planes", "N", |v| Some(v.rotor_drag_n));
    Some(aligned(&["", "mean wind", "gust"], rows, &[0]))
}

/// What bounds the thrust.
pub fn bounds(states: &RotorStates) -> String {
    let rows = states.thrust_bounds.iter().map(|row| {
        vec![
            row.bound.words().to_owned(),
            significant(row.largest_thrust_n, 4),
            significant(row.reserve_ratio, 3),
        ]
    });
    aligned(&["", "N", "over thrust needed"], rows.collect(), &[0])
}

/// Hover over the ground.
pub fn launch(states: &RotorStates) -> String {
    let name = |row: &LaunchRow| match (row.rotor_height_m, row.height_over_radius_ratio) {
        (Some(height_m), Some(ratio)) => {
            format!("rotors {} over the ground ({} radii)", quantity(height_m, "m"), significant(ratio, 2))
        }
        _ => "far from the ground".to_owned(),
    };
    let rows = states
        .launch
        .iter()
        .map(|row| vec![name(row), significant(row.shaft_w, 4), significant(row.demand_w, 4)]);
    aligned(&["", "shaft W", "demand W"], rows.collect(), &[0])
}

/// Coming down.
pub fn descent(states: &RotorStates) -> String {
    let d = &states.descent;
    let pair = |name: &str, value: String| vec![name.to_owned(), value];
    let rows = vec![
        pair("induced velocity of hover", quantity(d.hover_velocity_m_s, "m/s")),
        pair("vortex ring state from", quantity(d.vortex_ring_from_m_s, "m/s")),
        pair("to", quantity(d.vortex_ring_to_m_s, "m/s")),
        pair("fastest descent to plan with", quantity(d.safe_rate_m_s, "m/s")),
        pair("power to plan it with", quantity(d.planning_w, "W")),
        pair("energy from the station to the ground", quantity(d.energy_wh, "Wh")),
    ];
    aligned(&[], rows, &[0])
}

/// Rotors lost.
pub fn lost(states: &RotorStates) -> String {
    if states.lost.is_empty() {
        return "  fewer than three places with rotors: not judged".into();
    }
    let name = |row: &LostRow| {
        let failure = match row.failure {
            RotorFailure::OneRotor => "one rotor",
            RotorFailure::OpposingPair => "opposite pair",
        };
        let task = match row.task {
            RotorTask::Hold => "hold",
            RotorTask::Land => "land",
        };
        format!("{failure}: {task}")
    };
    let rows = states.lost.iter().map(|row| {
        vec![
            name(row),
            if row.possible { "yes" } else { "NO" }.to_owned(),
            row.held.to_owned(),
            significant(row.needed_n, 4),
            significant(row.available_n, 4),
            signed_percent(row.margin_ratio),
        ]
    });
    let table =
        aligned(&["lost", "can it", "held", "needs N", "has N", "margin"], rows.collect(), &[0, 1, 2]);
    let note = "What the remaining thrust allows; the upset, the height it costs and the flight controller are \
                not in it. Below a margin of 11 % a plain controller cannot: NO.";
    format!("{table}\n  {}", folded(note, 77, "  "))
}
