//! Models of the area `rotor`.

use std::f64::consts::PI;

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::minimum::brent;
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, CoaxialPair, Control, DiskRotor, DiskRotorInputs, Inflow,
    MotorDrive, ProfileLoss, Rotor, Section, SpeedLaw, coaxial,
    coefficients::{HelicopterCoefficients, PropellerCoefficients},
    ground_effect, momentum,
    power_curve::RotaryWingCurve,
    vortex_ring,
};
use serde_json::Value;

use super::number;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (name, output) = model.split_once('.')?;
    match name {
        "momentum" => hover(output, inputs),
        "axial" => axial(output, inputs),
        "glauert" => glauert(output, inputs),
        "climb_power" => climb_power(output, inputs),
        "vortex_ring" => vortex(output, inputs),
        "power_curve" => power_curve(output, inputs),
        "disk" => disk(output, inputs),
        "untwisted" => untwisted(output, inputs),
        "propeller" => propeller(output, inputs),
        "coefficients" => coefficients(output, inputs),
        "coaxial" => coaxial_pair(output, inputs),
        "ground_effect" => ground(output, inputs),
        "motor" => motor(output, inputs),
        _ => None,
    }
}

fn fluid(density_kg_m3: f64, speed_of_sound_m_s: f64) -> Fluid {
    Fluid {
        temperature_k: 288.15,
        pressure_pa: 101_325.0,
        density_kg_m3,
        dynamic_viscosity_pa_s: 1.789_38e-5,
        thermal_conductivity_w_per_m_k: 0.0253,
        specific_heat_j_per_kg_k: 1005.0,
        speed_of_sound_m_s,
    }
}

/// Hover of `rotor_count` disks that share a thrust.
fn hover(output: &str, inputs: &Value) -> Option<f64> {
    let diameter_m = number(inputs, "diameter_m")?;
    let area_m2 = number(inputs, "rotor_count").unwrap_or(1.0) * 0.25 * PI * diameter_m * diameter_m;
    let (thrust_n, density) = (number(inputs, "thrust_n")?, number(inputs, "density_kg_m3")?);
    let induced_m_s = momentum::hover_induced_velocity_m_s(thrust_n, area_m2, density);
    match output {
        "induced_velocity_m_s" => Some(induced_m_s),
        "far_wake_m_s" => Some(2.0 * induced_m_s),
        "ideal_power_w" => Some(momentum::ideal_hover_power_w(thrust_n, area_m2, density)),
        _ => None,
    }
}

fn axial(output: &str, inputs: &Value) -> Option<f64> {
    let ratio = number(inputs, "axial_ratio")?;
    match output {
        "climb_ratio" => Some(momentum::climb_ratio(ratio)),
        "windmill_ratio" => momentum::windmill_ratio(ratio),
        // The same numbers by the general solver.
        "general_ratio" => Some(momentum::glauert_ratio(ratio, 0.0)),
        _ => None,
    }
}

/// λ = μ tan α + λ_i in the helicopter convention, from CT, μ and the tilt of the disk.
fn glauert(output: &str, inputs: &Value) -> Option<f64> {
    if output == "level_ratio" {
        return Some(momentum::glauert_ratio(0.0, number(inputs, "edgewise_ratio")?));
    }
    let hover_inflow = (0.5 * number(inputs, "thrust_coefficient")?).sqrt();
    let advance = number(inputs, "advance_ratio")?;
    let axial = advance * number(inputs, "tilt_deg")?.to_radians().tan();
    let induced = momentum::glauert_ratio(axial / hover_inflow, advance / hover_inflow);
    match output {
        "inflow_ratio" => Some(axial + induced * hover_inflow),
        "induced_inflow_ratio" => Some(induced * hover_inflow),
        "induced_over_hover" => Some(induced),
        _ => None,
    }
}

/// The climb speed that a share of a power buys, from thrust × (climb + induced velocity).
fn climb_power(output: &str, inputs: &Value) -> Option<f64> {
    let (thrust_n, density) = (number(inputs, "thrust_n")?, number(inputs, "density_kg_m3")?);
    let diameter_m = number(inputs, "diameter_m")?;
    let through_m_s = number(inputs, "power_w")? * number(inputs, "useful_ratio")? / thrust_n;
    let hover_m_s =
        momentum::hover_induced_velocity_m_s(thrust_n, 0.25 * PI * diameter_m * diameter_m, density);
    // V + v is a rising function of V; find V.
    let climb = beamstay_numerics::root::bracketed(
        |v_m_s| v_m_s + hover_m_s * momentum::climb_ratio(v_m_s / hover_m_s) - through_m_s,
        0.0,
        through_m_s,
        Default::default(),
    )
    .ok()?
    .x;
    (output == "climb_m_s").then_some(climb)
}

fn vortex(output: &str, inputs: &Value) -> Option<f64> {
    let factor = number(inputs, "induced_factor").unwrap_or(1.15);
    match output {
        "fit_ratio" => vortex_ring::leishman_fit_ratio(number(inputs, "axial_ratio")?, factor),
        "induced_ratio" => {
            let edgewise = number(inputs, "edgewise_ratio").unwrap_or(0.0);
            Some(momentum::induced_flow(number(inputs, "axial_ratio")?, edgewise, factor).induced_ratio)
        }
        "autorotation_ratio" => beamstay_numerics::root::bracketed(
            |x| x + vortex_ring::leishman_fit_ratio(x, factor).unwrap_or(f64::NAN),
            -1.99,
            -1.5,
            Default::default(),
        )
        .ok()
        .map(|root| root.x),
        "upper_edge" => vortex_ring::boundary_ratio(number(inputs, "edgewise_ratio")?).map(|edge| edge.0),
        "lower_edge" => vortex_ring::boundary_ratio(number(inputs, "edgewise_ratio")?).map(|edge| edge.1),
        _ => None,
    }
}

/// Zeng, Xu and Zhang 2019, Table I.
fn power_curve(output: &str, inputs: &Value) -> Option<f64> {
    let curve = RotaryWingCurve::from_parameters(
        number(inputs, "weight_n")?,
        number(inputs, "density_kg_m3")?,
        number(inputs, "disk_area_m2")?,
        number(inputs, "blade_speed_rad_s")?,
        number(inputs, "radius_m")?,
        number(inputs, "solidity")?,
        number(inputs, "drag_coefficient")?,
        number(inputs, "induced_increment")?,
        number(inputs, "hover_velocity_m_s")?,
        number(inputs, "fuselage_drag_ratio")?,
    );
    match output {
        "profile_w" => Some(curve.profile_w),
        "induced_w" => Some(curve.induced_w),
        "power_w" => Some(curve.power_w(number(inputs, "speed_m_s")?)),
        "least_power_w" => Some(brent(|v| curve.power_w(v), 1.0, 30.0, 1e-7).f),
        "least_power_speed_m_s" => Some(brent(|v| curve.power_w(v), 1.0, 30.0, 1e-7).x),
        "best_range_speed_m_s" => Some(brent(|v| curve.power_w(v) / v, 5.0, 30.0, 1e-7).x),
        "best_range_j_per_m" => Some(brent(|v| curve.power_w(v) / v, 5.0, 30.0, 1e-7).f),
        _ => None,
    }
}

/// An actuator disk with a figure of merit, or with a mean drag coefficient at a tip speed.
fn disk(output: &str, inputs: &Value) -> Option<f64> {
    let mut rotor = DiskRotorInputs::with_figure_of_merit(
        number(inputs, "diameter_m")?,
        number(inputs, "figure_of_merit").unwrap_or(0.7),
    );
    if let Some(factor) = number(inputs, "induced_factor") {
        rotor.induced_factor = factor;
    }
    if let Some(drag) = number(inputs, "drag_coefficient") {
        rotor.profile = ProfileLoss::MeanDragCoefficient(drag);
        rotor.solidity = number(inputs, "solidity");
        rotor.speed = Some(SpeedLaw::TipSpeedMS(number(inputs, "tip_speed_m_s")?));
    }
    let rotor = DiskRotor::new(rotor).ok()?;
    let inflow = Inflow {
        axial_m_s: number(inputs, "axial_m_s").unwrap_or(0.0),
        edgewise_m_s: number(inputs, "edgewise_m_s").unwrap_or(0.0),
    };
    let air = fluid(number(inputs, "density_kg_m3")?, 340.294);
    let operation = rotor.operate(number(inputs, "thrust_n")?, inflow, &air).ok()?;
    match output {
        "shaft_w" => Some(operation.shaft_w),
        "induced_w" => Some(operation.induced_w),
        "profile_w" => Some(operation.profile_w),
        _ => None,
    }
}

/// An untwisted rotor of constant chord in the helicopter convention, as the classical reports tested it.
fn untwisted(output: &str, inputs: &Value) -> Option<f64> {
    let radius_m = number(inputs, "radius_m")?;
    let root = number(inputs, "root_ratio")?;
    let tip_m_s = number(inputs, "tip_speed_m_s")?;
    // The polars of these reports belong to the Mach number of the test unless the case says otherwise.
    let air = fluid(1.225, number(inputs, "speed_of_sound_m_s").unwrap_or(5000.0));
    let at = |pitch_deg: f64| {
        let station = |radius_ratio| BladeStation {
            radius_ratio,
            chord_ratio: number(inputs, "chord_m").unwrap_or(f64::NAN) / radius_m,
            pitch_rad: pitch_deg.to_radians(),
        };
        let rotor = BladeRotor::new(BladeRotorInputs {
            diameter_m: 2.0 * radius_m,
            blade_count: number(inputs, "blade_count")? as u32,
            stations: vec![station(root), station(1.0)],
            section: Section::symmetric(
                number(inputs, "lift_slope_per_rad")?,
                number(inputs, "drag_constant")?,
                number(inputs, "drag_per_rad2")?,
            ),
            control: Control::Speed { max_speed_rad_s: 1e4 },
            max_tip_mach: 0.95,
        })
        .ok()?;
        let point = rotor.test_point(tip_m_s / radius_m, 0.0, 0.0, &air).ok()?;
        let scale = air.density_kg_m3 * rotor.area_m2() * tip_m_s * tip_m_s;
        Some((point.thrust_n / scale, point.shaft_w / (scale * tip_m_s)))
    };
    let (thrust, torque) = at(number(inputs, "pitch_deg")?)?;
    match output {
        "thrust_coefficient" => Some(thrust),
        "torque_coefficient" => Some(torque),
        "torque_above_idle" => Some(torque - at(0.0)?.1),
        "thrust_ratio" => Some(thrust / at(number(inputs, "other_pitch_deg")?)?.0),
        _ => None,
    }
}

/// Geometry tables of the UIUC Propeller Database: r/R, c/R, β in degrees, after a header.
fn geometry(name: &str) -> Option<(f64, &'static str)> {
    Some(match name {
        "apcsf_10x4.7" => (0.2540, include_str!("../../data/propellers/apcsf_10x4.7_geom.csv")),
        "apcsf_11x4.7" => (0.2794, include_str!("../../data/propellers/apcsf_11x4.7_geom.csv")),
        "apce_11x5.5" => (0.2794, include_str!("../../data/propellers/apce_11x5.5_geom.csv")),
        "apce_14x12" => (0.3556, include_str!("../../data/propellers/apce_14x12_geom.csv")),
        _ => return None,
    })
}

/// One of the four measured propellers with geometry, by the name of its files.
pub(crate) fn uiuc_propeller(name: &str) -> Option<BladeRotor> {
    let (diameter_m, table) = geometry(name)?;
    let station = |line: &str| {
        let mut cells = line.split(',').map(|cell| cell.parse::<f64>().ok());
        Some(BladeStation {
            radius_ratio: cells.next()??,
            chord_ratio: cells.next()??,
            pitch_rad: cells.next()??.to_radians(),
        })
    };
    BladeRotor::new(BladeRotorInputs {
        diameter_m,
        blade_count: 2,
        stations: table.lines().skip(1).map(station).collect::<Option<_>>()?,
        section: Section::SMALL_PROPELLER,
        control: Control::Speed { max_speed_rad_s: 1500.0 },
        max_tip_mach: 0.7,
    })
    .ok()
}

/// A measured propeller by blade elements, propeller convention.
fn propeller(output: &str, inputs: &Value) -> Option<f64> {
    let rotor = uiuc_propeller(inputs.get("propeller")?.as_str()?)?;
    let diameter_m = rotor.inputs().diameter_m;
    let air = fluid(1.225, 340.294);
    let n = number(inputs, "speed_rpm")? / 60.0;
    let axial_m_s = number(inputs, "advance_ratio").unwrap_or(0.0) * n * diameter_m;
    let point = rotor.test_point(2.0 * PI * n, 0.0, axial_m_s, &air).ok()?;
    let c = PropellerCoefficients::measured(point.thrust_n, point.shaft_w, 2.0 * PI * n, diameter_m, 1.225);
    match output {
        "thrust_coefficient" => Some(c.thrust),
        "power_coefficient" => Some(c.power),
        _ => None,
    }
}

fn coefficients(output: &str, inputs: &Value) -> Option<f64> {
    let c = PropellerCoefficients {
        thrust: number(inputs, "thrust_coefficient")?,
        power: number(inputs, "power_coefficient")?,
    };
    let helicopter: HelicopterCoefficients = c.to_helicopter();
    let of = |f: fn(&PropellerCoefficients, f64, f64, f64) -> f64| {
        let speed_rad_s = number(inputs, "speed_rpm")? * PI / 30.0;
        Some(f(&c, speed_rad_s, number(inputs, "diameter_m")?, number(inputs, "density_kg_m3")?))
    };
    match output {
        "thrust_n" => of(PropellerCoefficients::thrust_n),
        "shaft_w" => of(PropellerCoefficients::shaft_w),
        "thrust_per_power_n_per_w" => {
            Some(of(PropellerCoefficients::thrust_n)? / of(PropellerCoefficients::shaft_w)?)
        }
        "figure_of_merit" => Some(c.figure_of_merit()),
        "helicopter_figure_of_merit" => Some(helicopter.figure_of_merit()),
        "helicopter_thrust" => Some(helicopter.thrust),
        "helicopter_power" => Some(helicopter.power),
        _ => None,
    }
}

fn coaxial_pair(output: &str, inputs: &Value) -> Option<f64> {
    match output {
        "coplanar_factor" => Some(coaxial::COPLANAR_FACTOR),
        "full_wake_factor" => Some(coaxial::FULL_WAKE_FACTOR),
        "interference_factor" => Some(coaxial::interference_factor(number(inputs, "spacing_over_diameter")?)),
        "figure_of_merit_one_disk" => {
            // A single rotor of this figure of merit at half the thrust, profile power held.
            let (diameter_m, merit) =
                (number(inputs, "diameter_m")?, number(inputs, "single_figure_of_merit")?);
            let mut rotor = DiskRotorInputs::with_figure_of_merit(diameter_m, merit);
            rotor.induced_factor = number(inputs, "induced_factor")?;
            let rotor = Rotor::Disk(DiskRotor::new(rotor).ok()?);
            let pair = CoaxialPair::new(rotor, number(inputs, "spacing_over_diameter")?).ok()?;
            let air = fluid(1.225, 340.294);
            Some(pair.operate(2000.0, Inflow::HOVER, &air).ok()?.figure_of_merit_on_one_disk)
        }
        _ => None,
    }
}

fn ground(output: &str, inputs: &Value) -> Option<f64> {
    let height = number(inputs, "height_over_radius")?;
    match output {
        "thrust_ratio" => Some(ground_effect::thrust_ratio(height, 0.0)),
        "induced_power_ratio" => Some(ground_effect::induced_power_ratio(height, 0.0)),
        _ => None,
    }
}

fn motor(output: &str, inputs: &Value) -> Option<f64> {
    let constant = number(inputs, "speed_constant_rpm_per_v")? * PI / 30.0;
    let drive = MotorDrive::ideal_controller(
        constant,
        number(inputs, "resistance_ohm")?,
        number(inputs, "no_load_current_a")?,
    );
    if output == "torque_constant_n_m_per_a" {
        return Some(1.0 / drive.speed_constant_rad_s_per_v);
    }
    let voltage_v = number(inputs, "voltage_v")?;
    let current_a = number(inputs, "current_a").or_else(|| drive.best_current_a(voltage_v))?;
    let point = drive.at_current(voltage_v, current_a);
    match output {
        "best_current_a" => drive.best_current_a(voltage_v),
        "speed_rpm" => Some(point.speed_rad_s * 30.0 / PI),
        "torque_n_m" => Some(point.torque_n_m),
        "shaft_w" => Some(point.shaft_w),
        "electrical_w" => Some(point.electrical_w),
        "efficiency" => Some(point.efficiency()),
        // The same motor the other way round: torque and speed in, power out.
        "electrical_w_from_shaft" => beamstay_rotor::Drive::Motor(drive)
            .operate(point.torque_n_m, point.speed_rad_s, voltage_v)
            .ok()
            .map(|o| o.electrical_w),
        _ => None,
    }
}
