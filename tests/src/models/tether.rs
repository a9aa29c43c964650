//! Models of the area `tether`: reference solutions of the whole boundary-value problem, and catenaries.

use std::sync::OnceLock;

use beamstay_environment::flow::{Flow, FlowSample};
use beamstay_tether::{
    DragCurve, Line, NormalDrag, Options, Shape, TensionSolution, solve_for_drum_tension, solve_for_length,
};
use nalgebra::Vector3;
use serde_json::Value;

use super::number;

/// The solved cases; conventions and method stand in the file.
const REFERENCE: &str = include_str!("../../data/tether-cases.json");
const GRAVITY_M_S2: f64 = 9.806_65;
/// Asked of the solver: what a user gets by default, and for the finer digits and the catenaries.
const DEFAULT: f64 = 1e-6;
const FINE: f64 = 1e-9;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (kind, output) = model.split_once('.')?;
    let shape = match kind {
        "reference" => reference(inputs.get("case")?.as_str()?)?.solve(DEFAULT)?,
        "fine" => reference(inputs.get("case")?.as_str()?)?.solve(FINE)?,
        "catenary" => catenary_shape(inputs)?,
        _ => return None,
    };
    read(&shape, output)
}

/// One number of a shape.
pub(super) fn read(shape: &Shape, output: &str) -> Option<f64> {
    let (at_drum, on_vehicle) = (shape.force_at_drum_n(), shape.force_on_vehicle_n());
    Some(match output {
        "force_at_drum_x_n" => at_drum.x,
        "force_at_drum_y_n" => at_drum.y,
        "force_at_drum_z_n" => at_drum.z,
        // The reference gives the pull of the vehicle on the tether.
        "force_top_x_n" => -on_vehicle.x,
        "force_top_y_n" => -on_vehicle.y,
        "force_top_z_n" => -on_vehicle.z,
        "horizontal_n" => at_drum.x.hypot(at_drum.y),
        "drum_tension_n" => shape.drum_tension_n(),
        "top_tension_n" => shape.top_tension_n(),
        "max_tension_n" => shape.max_tension().0,
        "paid_out_m" => shape.paid_out_m(),
        "stretched_m" => shape.stretched_m(),
        "drum_elevation_deg" => shape.drum_elevation_deg(),
        "top_elevation_deg" => shape.top_elevation_deg(),
        "sag_perp_m" => shape.sag_perp_m(),
        "min_bend_radius_m" => shape.min_bend_radius().0,
        "lowest_z_m" => shape.lowest_point().z,
        "half_x_m" => shape.point(0.5 * shape.paid_out_m()).x,
        "half_y_m" => shape.point(0.5 * shape.paid_out_m()).y,
        "half_z_m" => shape.point(0.5 * shape.paid_out_m()).z,
        "sweeps" => f64::from(shape.iterations_count()),
        "flow_evaluations" => f64::from(shape.flow_evaluations_count()),
        _ => return None,
    })
}

/// A tether in still air or water without drag: the catenary.
pub(super) fn catenary_shape(inputs: &Value) -> Option<Shape> {
    let weight_n_per_m = number(inputs, "weight_n_per_m")?;
    // A line that floats: as much lighter than the fluid of 1000 kg/m³ that it displaces.
    let area_m2 = if weight_n_per_m < 0.0 { 1e-4 } else { 0.0 };
    let line = Line {
        mass_kg_per_m: weight_n_per_m / GRAVITY_M_S2 + 1000.0 * area_m2,
        diameter_m: 0.01,
        buoyancy_area_m2: area_m2,
        axial_stiffness_n: number(inputs, "axial_stiffness_n"),
        normal_drag: NormalDrag::constant(1.0).ok()?,
        tangential_coefficient: 0.0,
    };
    let end_m = Vector3::new(number(inputs, "span_m")?, 0.0, number(inputs, "rise_m")?);
    let options = Options { relative_tolerance: FINE, ..Options::default() };
    solve_for_length(&line, &Still, end_m, number(inputs, "length_m")?, &options, None).ok()
}

/// A fluid at rest.
struct Still;

impl Flow for Still {
    fn at(&self, _z_m: f64) -> FlowSample {
        FlowSample { velocity_m_s: Vector3::zeros(), density_kg_m3: 1000.0, dynamic_viscosity_pa_s: 1e-3 }
    }

    fn kink_heights_m(&self) -> &[f64] {
        &[]
    }
}

/// One case in the form of the reference file, with its line, its flow and the place of the vehicle.
pub struct Reference {
    line: Line,
    flow: ReferenceFlow,
    end_m: Vector3<f64>,
    asked: Asked,
}

/// What is known besides the place of the ends.
enum Asked {
    /// Length, m.
    Length(f64),
    /// Tension at the drum, N.
    DrumTension(f64),
}

impl Reference {
    /// Reads a case; `None` if it does not keep to the conventions of the file.
    pub fn new(case: &Value) -> Option<Self> {
        let inputs = case.get("inputs")?;
        let flow = ReferenceFlow::new(inputs)?;
        let diameter_m = number(inputs, "d_m")?;
        let buoyancy = number(inputs, "rho_buoy_kg_m3")?;
        let area_m2 = 0.25 * std::f64::consts::PI * diameter_m * diameter_m;
        let curve = match inputs["cn"]["type"].as_str()? {
            "const" => DragCurve::Constant(number(&inputs["cn"], "value")?),
            "white" => DragCurve::White,
            _ => return None,
        };
        let line = Line {
            mass_kg_per_m: number(inputs, "m_kg_per_m")?,
            diameter_m,
            buoyancy_area_m2: if buoyancy > 0.0 { area_m2 } else { 0.0 },
            axial_stiffness_n: number(inputs, "EA_N"),
            normal_drag: NormalDrag::new(curve, 1.0).ok()?,
            tangential_coefficient: number(inputs, "ct")?,
        };
        let p = inputs.get("P_m")?.as_array()?;
        let end_m = Vector3::new(p.first()?.as_f64()?, p.get(1)?.as_f64()?, p.get(2)?.as_f64()?);
        let asked = match case["problem"].as_str()? {
            "ends" => Asked::Length(number(inputs, "L0_m")?),
            "base_tension" => Asked::DrumTension(number(inputs, "T_base_N")?),
            _ => return None,
        };
        Some(Self { line, flow, end_m, asked })
    }

    /// Solves the case.
    pub fn solve(&self, relative_tolerance: f64) -> Option<Shape> {
        let options = Options { relative_tolerance, ..Options::default() };
        let Self { line, flow, end_m, asked } = self;
        match *asked {
            Asked::Length(length_m) => solve_for_length(line, flow, *end_m, length_m, &options, None).ok(),
            Asked::DrumTension(tension_n) => {
                match solve_for_drum_tension(line, flow, *end_m, tension_n, &options, None).ok()? {
                    TensionSolution::Hangs { shape, .. } => Some(shape),
                    TensionSolution::NoneExists { .. } => None,
                }
            }
        }
    }
}

/// The cases of the reference.
pub fn reference_cases() -> &'static [Value] {
    static CASES: OnceLock<Value> = OnceLock::new();
    let cases = CASES.get_or_init(|| serde_json::from_str(REFERENCE).unwrap_or(Value::Null));
    cases.get("cases").and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn reference(id: &str) -> Option<Reference> {
    Reference::new(reference_cases().iter().find(|case| case["id"] == id)?)
}

/// A case of the reference with a length of its own.
pub(super) fn reference_of_length(id: &str, length_m: f64) -> Option<Shape> {
    Reference { asked: Asked::Length(length_m), ..reference(id)? }.solve(DEFAULT)
}

/// The flows of the reference, written down a second time from its conventions.
struct ReferenceFlow {
    law: Law,
    /// Direction at height 0 and its change with the height.
    direction_deg: (f64, f64),
    density: Density,
    viscosity_pa_s: f64,
    kinks_m: Vec<f64>,
}

/// Speed, m/s, over the height; the names are those of the file.
enum Law {
    Uniform { speed: f64 },
    Power { v_ref: f64, z_ref: f64, alpha: f64, z_min: f64 },
    Exponential { v_surface: f64, delta: f64 },
    PowerDepth { v_surface: f64, depth: f64, alpha: f64 },
}

/// Density, kg/m³, everywhere or of the standard atmosphere over an altitude, m.
enum Density {
    Uniform(f64),
    Standard(f64),
}

impl ReferenceFlow {
    fn new(inputs: &Value) -> Option<Self> {
        let (flow, density) = (inputs.get("flow")?, inputs.get("density")?);
        let of = |key| number(flow, key);
        let law = match flow["type"].as_str()? {
            "uniform" => Law::Uniform { speed: of("speed")? },
            "power" => Law::Power {
                v_ref: of("v_ref")?,
                z_ref: of("z_ref")?,
                alpha: of("alpha")?,
                z_min: of("z_min")?,
            },
            "exp" => Law::Exponential { v_surface: of("v_surface")?, delta: of("delta")? },
            "power_depth" => {
                Law::PowerDepth { v_surface: of("v_surface")?, depth: of("depth")?, alpha: of("alpha")? }
            }
            _ => return None,
        };
        let kinks_m = of("z_min").into_iter().collect();
        let density = match number(density, "rho") {
            Some(rho) => Density::Uniform(rho),
            None => Density::Standard(number(density, "station_alt_m")?),
        };
        let direction_deg = (of("dir0_deg")?, of("veer_deg_per_m")?);
        let viscosity_pa_s = number(&inputs["cn"], "mu").unwrap_or(1.8e-5);
        Some(Self { law, direction_deg, density, viscosity_pa_s, kinks_m })
    }

    fn speed_m_s(&self, z_m: f64) -> f64 {
        match self.law {
            Law::Uniform { speed } => speed,
            Law::Power { v_ref, z_ref, alpha, z_min } => v_ref * (z_m.max(z_min) / z_ref).powf(alpha),
            Law::Exponential { v_surface, delta } => v_surface * (z_m / delta).exp(),
            Law::PowerDepth { v_surface, depth, alpha } => {
                v_surface * ((z_m + depth) / depth).max(0.0).powf(alpha)
            }
        }
    }
}

impl Flow for ReferenceFlow {
    fn at(&self, z_m: f64) -> FlowSample {
        let (sine, cosine) = (self.direction_deg.0 + self.direction_deg.1 * z_m).to_radians().sin_cos();
        let speed = self.speed_m_s(z_m);
        let density_kg_m3 = match self.density {
            Density::Uniform(rho) => rho,
            Density::Standard(altitude_m) => {
                let h_m = altitude_m + z_m;
                1.225 * (1.0 - 0.0065 * h_m / 288.15).powf(GRAVITY_M_S2 / (287.052_87 * 0.0065) - 1.0)
            }
        };
        FlowSample {
            velocity_m_s: Vector3::new(speed * cosine, speed * sine, 0.0),
            density_kg_m3,
            dynamic_viscosity_pa_s: self.viscosity_pa_s,
        }
    }

    fn kink_heights_m(&self) -> &[f64] {
        &self.kinks_m
    }
}
