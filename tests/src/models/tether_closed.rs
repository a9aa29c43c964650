//! Models of the area `tether_closed`: lines with an answer on paper (catenaries, a point load, even flow, the angle of a long
//! line) and the table of drum tension over length.

use beamstay_environment::flow::{Flow, FlowSample};
use beamstay_numerics::root::{Tolerance, bracketed};
use beamstay_tether::{
    Catenary, Ground, Line, NormalDrag, Options, Shape, critical_angle_deg, solve_for_length,
    solve_for_length_over_ground,
};
use nalgebra::{Matrix2, Vector2, Vector3};
use serde_json::Value;

use super::{number, tether};

const GRAVITY_M_S2: f64 = 9.806_65;
const FOOT_M: f64 = 0.3048;
const POUND_FORCE_N: f64 = 4.448_221_615_260_5;

/// See [`super::compute`].
pub(super) fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (kind, output) = model.split_once('.')?;
    match kind {
        "closed" => read(&given(inputs)?, output),
        "published" => published(inputs, output),
        "point_load" => PointLoad::new(inputs)?.read(output),
        "catenary" => solved(&tether::catenary_shape(inputs)?, number(inputs, "axial_stiffness_n"), output),
        "uniform" => solved(&in_even_flow(inputs)?, None, output),
        "by_length" => {
            let shape =
                tether::reference_of_length(inputs.get("case")?.as_str()?, number(inputs, "length_m")?)?;
            solved(&shape, None, output)
        }
        "critical" => critical(inputs, output),
        "on_ground" => on_ground(inputs, output),
        _ => None,
    }
}

/// The catenary of span, rise, length and weight.
fn given(inputs: &Value) -> Option<Catenary> {
    let rise_m = number(inputs, "rise_m").unwrap_or(0.0);
    let stiffness_n = number(inputs, "axial_stiffness_n");
    let weight_n_per_m = number(inputs, "weight_n_per_m")?;
    Catenary::new(number(inputs, "span_m")?, rise_m, number(inputs, "length_m")?, weight_n_per_m, stiffness_n)
        .ok()
}

fn read(line: &Catenary, output: &str) -> Option<f64> {
    let (start_n, end_n) = (line.vertical_n(0.0), line.vertical_n(line.length_m()));
    let angle_deg = |vertical_n: f64| vertical_n.atan2(line.horizontal_tension_n()).to_degrees();
    Some(match output {
        "parameter_m" => line.parameter_m(),
        "horizontal_n" => line.horizontal_tension_n(),
        "start_vertical_n" => start_n,
        "end_vertical_n" => end_n,
        "start_tension_n" => line.start_tension_n(),
        "end_tension_n" => line.end_tension_n(),
        "mean_tension_n" => 0.5 * (line.horizontal_tension_n() + line.end_tension_n()),
        "start_angle_deg" => angle_deg(start_n),
        "end_angle_deg" => angle_deg(end_n),
        "turning_x_m" => line.turning_point()?.0,
        "turning_z_m" => line.turning_point()?.1,
        "sag_m" => line.sag().0,
        "sag_x_m" => line.sag().1,
        "sag_perp_m" => line.sag_perp_m(),
        "min_bend_radius_m" => line.min_bend_radius_m(),
        "stretched_m" => line.stretched_m(),
        "length_m" => line.length_m(),
        "span_m" => line.point(line.length_m()).0,
        _ => return None,
    })
}

/// A worked example with whatever it gives, in its own units.
fn published(inputs: &Value, output: &str) -> Option<f64> {
    let metres = |name: &str| {
        number(inputs, &format!("{name}_m")).or_else(|| Some(FOOT_M * number(inputs, &format!("{name}_ft"))?))
    };
    let weight_n_per_m = number(inputs, "weight_n_per_m")
        .or_else(|| Some(number(inputs, "weight_kg_per_m")? * number(inputs, "gravity_m_s2")?))
        .or_else(|| Some(number(inputs, "weight_lb_per_ft")? * POUND_FORCE_N / FOOT_M))?;
    let by_sag = |span_m: f64, sag_m: f64| Catenary::level_with_sag(span_m, sag_m, weight_n_per_m).ok();
    let line = match (metres("span"), metres("length"), metres("sag"), number(inputs, "end_tension_n")) {
        (Some(span_m), Some(length_m), None, None) => {
            let stiffness_n = number(inputs, "axial_stiffness_n");
            Catenary::new(span_m, 0.0, length_m, weight_n_per_m, stiffness_n).ok()?
        }
        (Some(span_m), None, Some(sag_m), None) => by_sag(span_m, sag_m)?,
        (None, Some(length_m), Some(sag_m), None) => {
            let miss =
                |span_m: f64| by_sag(span_m, sag_m).map_or(f64::NAN, |line| line.length_m() - length_m);
            by_sag(root(miss, 0.5 * length_m, 0.999_999 * length_m)?, sag_m)?
        }
        // The taut one of the two.
        (Some(span_m), None, None, Some(end_n)) => {
            let miss =
                |sag_m: f64| by_sag(span_m, sag_m).map_or(f64::NAN, |line| line.end_tension_n() - end_n);
            by_sag(span_m, root(miss, 1e-3 * span_m, 0.3 * span_m)?)?
        }
        _ => return None,
    };
    let (name, unit) = output.rsplit_once('_')?;
    Some(match unit {
        "kn" => 1e-3 * read(&line, &format!("{name}_n"))?,
        "lb" => read(&line, &format!("{name}_n"))? / POUND_FORCE_N,
        "ft" => read(&line, &format!("{name}_m"))? / FOOT_M,
        _ => read(&line, output)?,
    })
}

fn root(f: impl FnMut(f64) -> f64, lo: f64, hi: f64) -> Option<f64> {
    let tolerance = Tolerance { x_abs: 0.0, x_rel: 1e-15, max_evaluations_count: 200 };
    bracketed(f, lo, hi, tolerance).ok().map(|root| root.x)
}

/// An elastic line between level ends that carries a weight at one point: two catenaries that meet there.
struct PointLoad {
    depth_m: f64,
    left_m: f64,
    right_m: f64,
    rise_m: f64,
    shift_m: f64,
}

impl PointLoad {
    fn new(inputs: &Value) -> Option<Self> {
        let of = |key: &str| number(inputs, key);
        let (span_m, sag_m, at_m) = (of("span_m")?, of("sag_m")?, of("load_at_m")?);
        let (weight, stiffness_n, load_n) = (of("weight_n_per_m")?, of("axial_stiffness_n")?, of("load_n")?);
        let hung = |x_m: f64, z_m: f64, length_m: f64| {
            Catenary::new(x_m, z_m, length_m, weight, Some(stiffness_n)).ok()
        };
        let miss = |length_m: f64| hung(span_m, 0.0, length_m).map_or(f64::NAN, |line| line.sag().0 - sag_m);
        let bare = hung(span_m, 0.0, root(miss, span_m, 1.2 * span_m)?)?;
        let left_m = root(|s_m| bare.point(s_m).0 - at_m, 0.0, bare.length_m())?;
        let right_m = bare.length_m() - left_m;
        let bare_z_m = bare.point(left_m).1;
        // What is left of the forces at the loaded point.
        let missed_n = |place: &Vector2<f64>| {
            let left = hung(place.x, place.y, left_m)?;
            let right = hung(span_m - place.x, -place.y, right_m)?;
            Some(Vector2::new(
                right.horizontal_tension_n() - left.horizontal_tension_n(),
                right.vertical_n(0.0) - left.vertical_n(left_m) - load_n,
            ))
        };
        let mut place = Vector2::new(at_m, bare_z_m);
        for _ in 0..60 {
            let here = missed_n(&place)?;
            let step_m = 1e-5;
            let by = |axis: Vector2<f64>| Some((missed_n(&(place + step_m * axis))? - here) / step_m);
            let jacobian = Matrix2::from_columns(&[by(Vector2::x())?, by(Vector2::y())?]);
            let mut step = jacobian.lu().solve(&-here)?;
            while missed_n(&(place + step)).is_none_or(|next| next.norm() > here.norm())
                && step.norm() > 1e-12
            {
                step *= 0.5;
            }
            place += step;
            if step.norm() < 1e-11 {
                break;
            }
        }
        Some(Self {
            depth_m: -bare_z_m,
            left_m,
            right_m,
            rise_m: place.y - bare_z_m,
            shift_m: place.x - at_m,
        })
    }

    fn read(&self, output: &str) -> Option<f64> {
        Some(match output {
            "depth_m" => self.depth_m,
            "left_length_m" => self.left_m,
            "right_length_m" => self.right_m,
            "rise_m" => self.rise_m,
            "shift_m" => self.shift_m,
            _ => return None,
        })
    }
}

/// A number of a solved shape; the gains are first integrals of the equations.
fn solved(shape: &Shape, stiffness_n: Option<f64>, output: &str) -> Option<f64> {
    let energy_n =
        |tension_n: f64| tension_n + stiffness_n.map_or(0.0, |ea| 0.5 * tension_n * tension_n / ea);
    match output {
        "tension_gain_n" => Some(shape.top_tension_n() - shape.drum_tension_n()),
        "energy_gain_n" => Some(energy_n(shape.top_tension_n()) - energy_n(shape.drum_tension_n())),
        _ => tether::read(shape, output),
    }
}

/// A flow along x, the same everywhere.
struct Even(FlowSample);

impl Flow for Even {
    fn at(&self, _z_m: f64) -> FlowSample {
        self.0
    }

    fn kink_heights_m(&self) -> &[f64] {
        &[]
    }
}

fn in_even_flow(inputs: &Value) -> Option<Shape> {
    let of = |key: &str| number(inputs, key);
    let flow = Even(FlowSample {
        velocity_m_s: Vector3::new(of("speed_m_s")?, 0.0, 0.0),
        density_kg_m3: of("density_kg_m3")?,
        dynamic_viscosity_pa_s: 1.8e-5,
    });
    let line = Line {
        mass_kg_per_m: of("mass_kg_per_m")?,
        diameter_m: of("diameter_m")?,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: None,
        normal_drag: NormalDrag::constant(of("normal_coefficient")?).ok()?,
        tangential_coefficient: of("tangential_coefficient")?,
    };
    let end_m = Vector3::new(of("x_m")?, 0.0, of("height_m")?);
    let options = Options { relative_tolerance: 1e-10, ..Options::default() };
    solve_for_length(&line, &flow, end_m, of("length_m")?, &options, None).ok()
}

fn critical(inputs: &Value, output: &str) -> Option<f64> {
    let of = |key: &str| number(inputs, key);
    let (diameter_m, density, speed_m_s) = (of("diameter_m")?, of("density_kg_m3")?, of("speed_m_s")?);
    let displaced = if inputs.get("buoyant")?.as_bool()? { density } else { 0.0 };
    let area_m2 = 0.25 * std::f64::consts::PI * diameter_m * diameter_m;
    let weight_n_per_m = (of("mass_kg_per_m")? - displaced * area_m2) * GRAVITY_M_S2;
    let drag_n_per_m = 0.5 * density * of("normal_coefficient")? * diameter_m * speed_m_s * speed_m_s;
    let angle_deg = critical_angle_deg(weight_n_per_m, drag_n_per_m).ok()?;
    match output {
        "angle_deg" => Some(angle_deg),
        "cosine" => Some(angle_deg.to_radians().cos()),
        _ => None,
    }
}

/// A line in calm air of which a part lies on the ground, the drum exit on it too.
fn on_ground(inputs: &Value, output: &str) -> Option<f64> {
    let of = |key: &str| number(inputs, key);
    let calm = Even(FlowSample {
        velocity_m_s: Vector3::zeros(),
        density_kg_m3: 1.225,
        dynamic_viscosity_pa_s: 1.8e-5,
    });
    let line = Line {
        mass_kg_per_m: of("mass_kg_per_m")?,
        diameter_m: 0.003,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: Some(of("axial_stiffness_n")?),
        normal_drag: NormalDrag::constant(1.1).ok()?,
        tangential_coefficient: 0.02,
    };
    let ground = Ground::new(0.0, of("friction_ratio")?).ok()?;
    let end_m = Vector3::new(of("x_m")?, 0.0, of("height_m")?);
    let options = Options { relative_tolerance: 1e-8, ..Options::default() };
    let length_m = of("length_m")?;
    let shape = solve_for_length_over_ground(&line, &calm, &ground, end_m, length_m, &options, None).ok()?;
    let lying = shape.lying()?;
    Some(match output {
        "pull_x_n" => -shape.force_on_vehicle_n().x,
        "pull_z_n" => -shape.force_on_vehicle_n().z,
        "on_ground_m" => lying.length_m(),
        "drum_tension_n" => shape.drum_tension_n(),
        "lift_off_x_m" => shape.point(lying.to_m).x,
        "loose_m" => lying.loose_m,
        _ => return None,
    })
}
