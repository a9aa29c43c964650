//! Models of the area `vehicle`.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive, ProfileLoss, Rotor, SpeedLaw};
use beamstay_vehicle::{
    Arrangement, DescentPlan, DragArea, Failure, FixedWing, FixedWingInputs, Load, Multirotor,
    MultirotorInputs, Orbit, Polar, Propulsion, RotorSet, RotorSetInputs, UnderwaterInputs,
    UnderwaterVehicle, WingLoad, defaults, rotor_out::authority_index,
};
use nalgebra::Vector3;
use serde_json::Value;

use super::number;

const GRAVITY_M_S2: f64 = 9.806_65;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (name, output) = model.split_once('.')?;
    match name {
        "multirotor_hover" => hover(output, inputs),
        "edgewise_flight" => edgewise(output, inputs),
        "ground_effect" => ground_effect(output, inputs),
        "descent" => descent(output, inputs),
        "drag_area" => drag_area(output, inputs),
        "force_balance" => force_balance(output, inputs),
        "rotor_out" => rotor_out(output, inputs),
        "polar" => polar_number(output, inputs),
        "wing_level" => wing_level(output, inputs),
        "wing_speed" => wing_speed(output, inputs),
        "wing_climb" => wing_climb(output, inputs),
        "loiter" => loiter(output, inputs),
        "underwater" => underwater(output, inputs),
        _ => None,
    }
}

/// A fluid of this density; the rest as in standard air at sea level, on which nothing here depends.
fn fluid(density_kg_m3: f64) -> Fluid {
    Fluid {
        temperature_k: 288.15,
        pressure_pa: 101_325.0,
        density_kg_m3,
        dynamic_viscosity_pa_s: 1.789e-5,
        thermal_conductivity_w_per_m_k: 0.0253,
        specific_heat_j_per_kg_k: 1005.0,
        speed_of_sound_m_s: 340.3,
    }
}

fn vector(inputs: &Value, key: &str) -> Option<Vector3<f64>> {
    let list = inputs.get(key)?.as_array()?;
    Some(Vector3::new(list.first()?.as_f64()?, list.get(1)?.as_f64()?, list.get(2)?.as_f64()?))
}

fn rotor_set(rotor: Rotor, rotor_count: u32, drive: EfficiencyDrive, max_n: Option<f64>) -> Option<RotorSet> {
    RotorSet::new(RotorSetInputs {
        rotor,
        rotor_count,
        arrangement: Arrangement::Single,
        drive: Drive::Efficiency(drive),
        bus_voltage_v: 48.0,
        max_thrust_each_n: max_n,
    })
    .ok()
}

fn multirotor(rotors: RotorSet, body_drag: DragArea, rotor_drag_s_per_m: f64) -> Option<Multirotor> {
    Multirotor::new(MultirotorInputs {
        rotors,
        empty_mass_kg: 1.0,
        body_drag,
        guard_ring: None,
        rotor_drag_s_per_m,
        max_tilt_deg: 85.0,
        avionics_w: 0.0,
    })
    .ok()
}

/// A multirotor from `rotor_count`, `diameter_m` and, if given, other losses than the default ones.
fn plain_multirotor(inputs: &Value) -> Option<(Multirotor, Fluid)> {
    let merit = number(inputs, "figure_of_merit").unwrap_or(defaults::FIGURE_OF_MERIT);
    let disk = DiskRotorInputs::with_figure_of_merit(number(inputs, "diameter_m")?, merit);
    let drive = match number(inputs, "drive_ratio") {
        Some(ratio) => EfficiencyDrive::new(ratio, 1.0),
        None => EfficiencyDrive::new(defaults::MOTOR_RATIO, defaults::CONTROLLER_RATIO),
    };
    let rotor = Rotor::Disk(DiskRotor::new(disk).ok()?);
    let rotors = rotor_set(rotor, number(inputs, "rotor_count")? as u32, drive.ok()?, None)?;
    let aircraft = multirotor(rotors, DragArea::spheroid(0.0, 0.0).ok()?, 0.0)?;
    Some((aircraft, fluid(number(inputs, "density_kg_m3")?)))
}

fn hover(output: &str, inputs: &Value) -> Option<f64> {
    let (aircraft, air) = plain_multirotor(inputs)?;
    let trim = aircraft.trim(&Load::hover(number(inputs, "mass_kg")?), &air).ok()?;
    let ideal_w = trim.thrust_n * trim.hover_velocity_m_s;
    match output {
        "electrical_w" => Some(trim.electrical_w),
        "ideal_w" => Some(ideal_w),
        "overall_ratio" => Some(ideal_w / trim.electrical_w),
        "hover_velocity_m_s" => Some(trim.hover_velocity_m_s),
        _ => None,
    }
}

fn edgewise(output: &str, inputs: &Value) -> Option<f64> {
    let area_m2 = number(inputs, "disk_area_m2")?;
    let mut disk = DiskRotorInputs::with_figure_of_merit((4.0 * area_m2 / std::f64::consts::PI).sqrt(), 0.5);
    disk.induced_factor = number(inputs, "induced_factor")?;
    disk.solidity = number(inputs, "solidity");
    disk.speed = Some(SpeedLaw::TipSpeedMS(number(inputs, "tip_speed_m_s")?));
    disk.profile = ProfileLoss::MeanDragCoefficient(number(inputs, "mean_drag_coefficient")?);
    let rotor = Rotor::Disk(DiskRotor::new(disk).ok()?);
    let rotors = rotor_set(rotor, 1, EfficiencyDrive::new(1.0, 1.0).ok()?, None)?;
    let drag_m2 = number(inputs, "drag_area_m2")?;
    let aircraft = multirotor(rotors, DragArea::spheroid(drag_m2, drag_m2).ok()?, 0.0)?;
    let load = Load::hover(number(inputs, "weight_n")? / GRAVITY_M_S2).with_velocity([
        number(inputs, "speed_m_s")?,
        0.0,
        0.0,
    ]);
    let trim = aircraft.trim_beyond_limits(&load, &fluid(number(inputs, "density_kg_m3")?)).ok()?;
    (output == "shaft_w").then_some(trim.shaft_w)
}

fn ground_effect(output: &str, inputs: &Value) -> Option<f64> {
    let aircraft = serde_json::json!({"rotor_count": 4, "diameter_m": 0.4, "density_kg_m3": 1.2});
    let (aircraft, air) = plain_multirotor(&aircraft)?;
    let high = aircraft.trim(&Load::hover(4.0), &air).ok()?;
    let low = aircraft.hover_over_ground(4.0, 0.2 * number(inputs, "height_over_radius")?, &air).ok()?;
    (output == "induced_power_ratio").then_some(low.induced_w / high.induced_w)
}

fn descent(output: &str, inputs: &Value) -> Option<f64> {
    if let Some(ratio) = number(inputs, "edgewise_ratio") {
        let aircraft = serde_json::json!({"rotor_count": 4, "diameter_m": 0.4, "density_kg_m3": 1.2});
        let (aircraft, air) = plain_multirotor(&aircraft)?;
        let hover = aircraft.trim(&Load::hover(4.0), &air).ok()?;
        let wind = Load::hover(4.0).with_wind([ratio * hover.hover_velocity_m_s, 0.0, 0.0]);
        let descent = aircraft.descend(&wind, 0.0, &air).ok()?;
        return match output {
            "vortex_ring_from_ratio" => descent.vortex_ring_from_ratio,
            "vortex_ring_to_ratio" => descent.vortex_ring_to_ratio,
            _ => None,
        };
    }
    let (aircraft, air) = plain_multirotor(inputs)?;
    let load = Load::hover(number(inputs, "mass_kg")?);
    match output {
        "calm_limit_m_s" => Some(aircraft.descend(&load, 1.0, &air).ok()?.calm_limit_m_s),
        "energy_wh" => {
            let descent = aircraft.descend(&load, number(inputs, "rate_m_s")?, &air).ok()?;
            Some(descent.energy_j(number(inputs, "height_m")?)? / 3600.0)
        }
        "fastest_m_s" => {
            let plan = DescentPlan {
                margin_ratio: number(inputs, "margin_ratio")?,
                max_rate_m_s: number(inputs, "max_rate_m_s")?,
            };
            Some(aircraft.fastest_safe_descent(&load, &plan, &air).ok()?.rate_m_s)
        }
        _ => None,
    }
}

fn drag_area(output: &str, inputs: &Value) -> Option<f64> {
    match output {
        "from_level_and_tilt_m2" => {
            // The plan area that makes the curve pass through the measured tilted point.
            let level_m2 = number(inputs, "level_m2")?;
            let (sin, cos) = number(inputs, "tilted_deg")?.to_radians().sin_cos();
            let plan_m2 = (number(inputs, "tilted_m2")?.powi(2) - (level_m2 * cos).powi(2)).sqrt() / sin;
            let body = DragArea::spheroid(level_m2, plan_m2).ok()?;
            Some(body.at_sin_incidence(number(inputs, "incidence_deg")?.to_radians().sin()))
        }
        "default_level_m2" => {
            Some(defaults::body_drag(number(inputs, "mass_kg")?).ok()?.at_sin_incidence(0.0))
        }
        _ => None,
    }
}

fn force_balance(output: &str, inputs: &Value) -> Option<f64> {
    let body = DragArea::spheroid(number(inputs, "level_drag_m2")?, number(inputs, "plan_drag_m2")?).ok()?;
    let rotor = Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.5, 0.6)).ok()?);
    let rotors = rotor_set(rotor, 4, EfficiencyDrive::new(1.0, 1.0).ok()?, None)?;
    let aircraft = multirotor(rotors, body, number(inputs, "rotor_drag_s_per_m")?)?;
    let load = Load {
        mass_kg: number(inputs, "mass_kg")?,
        external_force_n: vector(inputs, "external_force_n")?,
        air_velocity_m_s: vector(inputs, "air_velocity_m_s")?,
        vehicle_velocity_m_s: vector(inputs, "vehicle_velocity_m_s")?,
    };
    let trim = aircraft.trim_beyond_limits(&load, &fluid(number(inputs, "density_kg_m3")?)).ok()?;
    match output {
        "thrust_n" => Some(trim.thrust_n),
        "tilt_deg" => Some(trim.tilt_deg),
        "azimuth_deg" => Some(trim.azimuth_deg),
        "axial_inflow_m_s" => Some(trim.axial_inflow_m_s),
        "edgewise_m_s" => Some(trim.edgewise_m_s),
        _ => None,
    }
}

fn rotor_out(output: &str, inputs: &Value) -> Option<f64> {
    if output == "authority_index" {
        let lost = inputs.get("lost_rotor").and_then(Value::as_u64);
        let columns: Vec<[f64; 4]> = inputs
            .get("spins")?
            .as_str()?
            .chars()
            .enumerate()
            .filter(|(i, _)| lost != Some(*i as u64 + 1))
            .map(|(i, spin)| {
                let (sin, cos) = (std::f64::consts::TAU * i as f64 / 6.0).sin_cos();
                let yaw = if spin == 'P' { 0.1 } else { -0.1 };
                [6.125, -6.125 * 0.275 * sin, 6.125 * 0.275 * cos, 6.125 * yaw]
            })
            .collect();
        return authority_index(&columns, [1.535 * 9.80, 0.0, 0.0, 0.0]).ok();
    }
    let places = number(inputs, "places_count")? as u32;
    let paired = inputs.get("paired")?.as_bool()?;
    let failure = match inputs.get("failure")?.as_str()? {
        "one_rotor" => Failure::OneRotor,
        _ => Failure::OpposingPair,
    };
    let rotors = RotorSet::new(RotorSetInputs {
        rotor: Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.6)).ok()?),
        rotor_count: if paired { 2 * places } else { places },
        arrangement: if paired { Arrangement::coaxial(0.1) } else { Arrangement::Single },
        drive: Drive::Efficiency(EfficiencyDrive::new(0.8, 0.9).ok()?),
        bus_voltage_v: 48.0,
        max_thrust_each_n: Some(10.0),
    })
    .ok()?;
    let aircraft = multirotor(rotors, DragArea::spheroid(0.0, 0.0).ok()?, 0.0)?;
    let left = aircraft.rotor_out(&Load::hover(1.5), failure, &fluid(1.225)).ok()?;
    (output == "available_lift_in_rotors").then_some(left.hold.available_n / 10.0)
}

fn polar(inputs: &Value) -> Option<Polar> {
    Polar::from_span_efficiency(
        number(inputs, "zero_lift_drag")?,
        number(inputs, "aspect_ratio")?,
        number(inputs, "span_efficiency")?,
        3.0,
    )
    .ok()
}

fn polar_number(output: &str, inputs: &Value) -> Option<f64> {
    let polar = polar(inputs)?;
    match output {
        "largest_lift_to_drag" => Some(polar.largest_lift_to_drag()),
        "largest_endurance_factor" => Some(polar.largest_endurance_factor()),
        "least_power_lift" => Some(polar.least_power_lift()),
        "least_drag_lift" => Some(polar.least_drag_lift()),
        "induced_factor" => Some(polar.drag_coefficient(1.0) - polar.drag_coefficient(0.0)),
        _ => None,
    }
}

fn wing(inputs: &Value) -> Option<FixedWing> {
    FixedWing::new(FixedWingInputs {
        empty_mass_kg: 1.0,
        wing_area_m2: number(inputs, "wing_area_m2")?,
        polar: polar(inputs)?,
        propulsion: Propulsion::Efficiency {
            propeller_ratio: number(inputs, "propeller_ratio").unwrap_or(0.8),
            drive_ratio: number(inputs, "drive_ratio").unwrap_or(1.0),
            max_shaft_w: number(inputs, "max_shaft_w"),
        },
        avionics_w: 0.0,
        max_bank_deg: 80.0,
        max_load_factor: 10.0,
        stall_margin_ratio: 1.0,
    })
    .ok()
}

/// Load and air of a wing given by its weight.
fn wing_case(inputs: &Value) -> Option<(FixedWing, WingLoad, Fluid)> {
    let load = WingLoad::free(number(inputs, "weight_n")? / GRAVITY_M_S2);
    Some((wing(inputs)?, load, fluid(number(inputs, "density_kg_m3")?)))
}

fn wing_level(output: &str, inputs: &Value) -> Option<f64> {
    let (wing, load, air) = wing_case(inputs)?;
    let flight = wing.level(&load, number(inputs, "airspeed_m_s")?, &air).ok()?;
    match output {
        "lift_coefficient" => Some(flight.lift_coefficient),
        "drag_coefficient" => Some(flight.lift_coefficient * flight.drag_n / flight.lift_n),
        "lift_to_drag" => Some(flight.lift_n / flight.drag_n),
        "drag_n" => Some(flight.drag_n),
        "propulsive_w" => Some(flight.propulsive_w),
        _ => None,
    }
}

fn wing_speed(output: &str, inputs: &Value) -> Option<f64> {
    let (wing, load, air) = wing_case(inputs)?;
    let slow_m_s = wing.least_power_speed_m_s(&load, &air).ok()?;
    let fast_m_s = wing.least_drag_speed_m_s(&load, &air).ok()?;
    match output {
        "least_power_m_s" => Some(slow_m_s),
        "least_drag_m_s" => Some(fast_m_s),
        "ratio" => Some(fast_m_s / slow_m_s),
        "least_power_w" => Some(wing.level(&load, slow_m_s, &air).ok()?.propulsive_w),
        "least_drag_n" => Some(wing.level(&load, fast_m_s, &air).ok()?.drag_n),
        _ => None,
    }
}

fn wing_climb(output: &str, inputs: &Value) -> Option<f64> {
    let (wing, load, air) = wing_case(inputs)?;
    let slow_m_s = wing.least_power_speed_m_s(&load, &air).ok()?;
    let rate_m_s = wing.climb_rate_m_s(&load, slow_m_s, &air).ok()?;
    if output == "rate_m_s" { rate_m_s } else { None }
}

fn loiter(output: &str, inputs: &Value) -> Option<f64> {
    let load = WingLoad {
        mass_kg: number(inputs, "mass_kg")?,
        pull_down_n: number(inputs, "pull_down_n").unwrap_or(0.0),
        pull_inward_n: number(inputs, "pull_inward_n").unwrap_or(0.0),
        pull_back_n: number(inputs, "pull_back_n").unwrap_or(0.0),
    };
    let orbit = Orbit { radius_m: number(inputs, "radius_m")?, wind_m_s: number(inputs, "wind_m_s")? };
    let air = fluid(number(inputs, "density_kg_m3")?);
    let round =
        wing(inputs)?.loiter_beyond_limits(&load, &orbit, number(inputs, "airspeed_m_s")?, &air).ok()?;
    match output {
        "period_s" => Some(round.period_s),
        "mean_demand_w" => Some(round.mean_demand_w),
        "largest_demand_w" => Some(round.largest_demand_w),
        "largest_bank_deg" => Some(round.largest_bank_deg),
        "largest_load_factor" => Some(round.largest_load_factor),
        "largest_ground_speed_m_s" => Some(round.largest_ground_speed_m_s),
        "least_ground_speed_m_s" => Some(round.least_ground_speed_m_s),
        "least_thrust_n" => Some(round.least_thrust_n),
        _ => None,
    }
}

fn underwater(output: &str, inputs: &Value) -> Option<f64> {
    let thruster = Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.15, 0.5)).ok()?);
    let thrusters = rotor_set(thruster, 2, EfficiencyDrive::new(0.7, 0.9).ok()?, None)?;
    let vehicle = UnderwaterVehicle::new(UnderwaterInputs {
        empty_mass_kg: 1.0,
        displacement_m3: number(inputs, "displacement_m3")?,
        surge_drag_m2: number(inputs, "surge_drag_m2")?,
        sway_drag_m2: number(inputs, "sway_drag_m2")?,
        heave_drag_m2: number(inputs, "heave_drag_m2")?,
        surge_thrusters: Some(thrusters.clone()),
        heave_thrusters: Some(thrusters),
        hotel_w: 0.0,
    })
    .ok()?;
    let load = Load {
        mass_kg: number(inputs, "mass_kg")?,
        external_force_n: vector(inputs, "external_force_n")?,
        air_velocity_m_s: vector(inputs, "current_m_s")?,
        vehicle_velocity_m_s: Vector3::zeros(),
    };
    let trim = vehicle.trim(&load, &fluid(number(inputs, "density_kg_m3")?)).ok()?;
    match output {
        "surge_thrust_n" => Some(trim.surge_thrust_n),
        "heading_deg" => Some(trim.heading_deg),
        "heave_thrust_n" => Some(trim.heave_thrust_n),
        _ => None,
    }
}
