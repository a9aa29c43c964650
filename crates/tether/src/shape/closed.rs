//! Tethers that need no iteration: without any load they are straight, and in a still fluid under a vehicle straight above or
//! below the drum they are plumb.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    Shape, TensionSolution,
    adapt::Allowed,
    load::weight_n_per_m,
    mesh::{Element, Mesh},
    relax::{Grid, Problem},
};
use crate::error::TetherError;

/// Horizontal offset below which a tether is plumb, relative to its length.
const PLUMB_RATIO: f64 = 1e-12;

/// Nodes of a straight or folded tether.
const NODES: usize = 4;

/// Heights at which the flow is sampled to see whether it is still, as shares of the length from −1 to 1.
const SAMPLES: i32 = 8;

/// What the flow does anywhere that the tether can reach, as far as samples tell.
struct Surroundings {
    still: bool,
    loaded: bool,
    weight_n_per_m: f64,
    /// Whether the weight is the same everywhere.
    even: bool,
}

/// `None` if there is flow, as one look at the height of the vehicle usually tells.
fn surroundings(problem: &Problem<'_, impl Flow>, length_m: f64) -> Option<Surroundings> {
    let line = problem.line;
    let drags = line.normal_drag.coefficient(1e3) > 0.0 || line.tangential_coefficient > 0.0;
    let at_vehicle = problem.flow.at(problem.end_m.z);
    if drags && at_vehicle.velocity_m_s.norm_squared() * at_vehicle.density_kg_m3 > 0.0 {
        return None;
    }
    let first = weight_n_per_m(line, problem.flow.at(0.0).density_kg_m3);
    let mut found = Surroundings { still: true, loaded: false, weight_n_per_m: first, even: true };
    for i in -SAMPLES..=SAMPLES {
        let sample = problem.flow.at(f64::from(i) / f64::from(SAMPLES) * length_m);
        let still = sample.velocity_m_s.norm() * sample.density_kg_m3 == 0.0;
        let weight = weight_n_per_m(line, sample.density_kg_m3);
        found.still &= still;
        found.even &= (weight - first).abs() <= 1e-12 * first.abs();
        found.loaded |= weight != 0.0 || (drags && !still);
    }
    Some(found)
}

/// The closed form if there is one; `None` if the tether must be solved for.
///
/// # Errors
/// [`TetherError::Indeterminate`] if nothing fixes the tension.
pub(super) fn solve(problem: &Problem<'_, impl Flow>, length_m: f64) -> Result<Option<Shape>, TetherError> {
    let distance_m = problem.end_m.norm();
    let indeterminate = TetherError::Indeterminate { length_m, distance_m };
    let plumb = problem.end_m.x.hypot(problem.end_m.y) <= PLUMB_RATIO * length_m;
    let c = problem.compliance_per_n;
    if c == 0.0 && length_m <= distance_m {
        return Err(indeterminate);
    }
    let Some(around) = surroundings(problem, length_m) else { return Ok(None) };
    if !around.loaded {
        let strain = distance_m / length_m - 1.0;
        if strain <= 0.0 || c == 0.0 {
            return Err(indeterminate);
        }
        let force_n = problem.end_m / distance_m * (strain / c);
        return Ok(Some(laid(problem, length_m, force_n, 0.0, None)));
    }
    if !(plumb && around.still && around.even) {
        return Ok(None);
    }
    // F_z = V + w s. In a bight it is 0 at s_b = −V/w, where the tether turns from down to up (or, floating, from up to down).
    let weight = around.weight_n_per_m;
    let (height_m, sign) = (problem.end_m.z, weight.signum());
    let own = 0.5 * weight * length_m * length_m * c;
    let bight_m = (length_m + sign * (own - height_m)) / (2.0 + weight.abs() * length_m * c);
    if bight_m > 0.0 && bight_m < length_m {
        let force_n = Vector3::new(0.0, 0.0, -weight * bight_m);
        return Ok(Some(laid(problem, length_m, force_n, weight, Some(bight_m))));
    }
    if c == 0.0 {
        return Err(indeterminate);
    }
    // Taut: all of it points to the vehicle.
    let pull_n = (height_m - height_m.signum() * length_m - own) / (c * length_m);
    Ok(Some(laid(problem, length_m, Vector3::new(0.0, 0.0, pull_n), weight, None)))
}

/// The same for a given drum tension: `None` if the tether must be solved for.
pub(super) fn solve_for_drum_tension(
    problem: &Problem<'_, impl Flow>,
    drum_tension_n: f64,
) -> Option<TensionSolution> {
    let distance_m = problem.end_m.norm();
    let c = problem.compliance_per_n;
    let plumb = problem.end_m.x.hypot(problem.end_m.y) <= PLUMB_RATIO * distance_m;
    let around = surroundings(problem, distance_m)?;
    if around.loaded && !(plumb && around.still && around.even) {
        return None;
    }
    // Straight: distance = L (1 + T/EA) + w L²/(2EA), w counted as it adds to the tension towards the vehicle.
    let weight = if around.loaded { around.weight_n_per_m * problem.end_m.z.signum() } else { 0.0 };
    let length_at = |tension_n: f64| {
        let (a, b) = (0.5 * weight * c, 1.0 + c * tension_n);
        2.0 * distance_m / (b + (b * b + 4.0 * a * distance_m).max(0.0).sqrt())
    };
    let chord = problem.end_m / distance_m;
    let straight = |tension_n: f64| {
        laid(problem, length_at(tension_n), tension_n * chord, weight * problem.end_m.z.signum(), None)
    };
    let length_m = length_at(drum_tension_n);
    if drum_tension_n + weight * length_m >= 0.0 {
        return Some(TensionSolution::Hangs { shape: straight(drum_tension_n), other_length_m: None });
    }
    // The far end would go slack: the least drum tension carries the weight of all that hangs.
    let taut_m = if c > 0.0 {
        (1.0 - (1.0 + 2.0 * weight * c * distance_m).max(0.0).sqrt()) / (-weight * c)
    } else {
        distance_m
    };
    let least_n = -weight * taut_m;
    Some(TensionSolution::NoneExists {
        least_drum_tension_n: least_n,
        at_length_m: taut_m,
        shape: straight(least_n),
    })
}

/// A straight or folded tether with the force `drum_n` at the drum that grows by the weight, folded at `bight_m`.
fn laid(
    problem: &Problem<'_, impl Flow>,
    length_m: f64,
    drum_n: Vector3<f64>,
    weight_n_per_m: f64,
    bight_m: Option<f64>,
) -> Shape {
    let mut mesh = Mesh::empty();
    let fold = bight_m.map_or(1.0, |m| m / length_m);
    mesh.push(Element::even(0.0, fold, 2), NODES);
    if fold < 1.0 {
        mesh.push(Element::even(fold, 1.0, 2), NODES);
    }
    let mut grid = Grid::<NODES>::new(length_m);
    grid.lay(&mesh);
    let gain_n = Vector3::new(0.0, 0.0, weight_n_per_m * length_m);
    grid.set_force(|place| drum_n + place * gain_n);
    grid.integrate(problem);
    let none = Allowed { force_n: 0.0, position_m: 0.0 };
    Shape::of(&grid, problem, none, 1.0)
}
