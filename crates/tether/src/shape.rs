//! Steady shape of a tether between drum and vehicle under weight, buoyancy and a flow: a line, a flow, the vehicle's place
//! and a length or a drum tension go in, a [`Shape`] comes out.

use beamstay_environment::flow::Flow;
use beamstay_numerics::domain::in_range;
use nalgebra::Vector3;

use crate::{error::TetherError, line::Line};
use mesh::{Element, Mesh};
use relax::{Grid, Problem};

mod extremes;
mod gauss;
mod load;
mod mesh;
mod relax;
mod solution;
mod start;

pub use solution::{Node, Shape};
use solution::MAX_NODES;

/// How well and how long to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Allowed error of the forces at both ends, relative to themselves, and of positions, relative to the length; 10⁻¹¹
    /// to 10⁻².
    pub relative_tolerance: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self { relative_tolerance: 1e-6 }
    }
}

/// What hangs for a given drum tension.
// A shape is large by design: it lives on the stack so that solving allocates nothing.
#[allow(clippy::large_enum_variant)]
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TensionSolution {
    /// A tether hangs with this drum tension.
    Hangs {
        /// The shape with the shorter of the two lengths.
        shape: Shape,
        /// The longer length with the same drum tension, m, if there is one.
        other_length_m: Option<f64>,
    },
    /// No length gives so little drum tension.
    NoneExists {
        /// The least drum tension that any length gives, N.
        least_drum_tension_n: f64,
        /// The unstretched length that gives it, m.
        at_length_m: f64,
        /// The shape at that length.
        shape: Shape,
    },
}

/// Shape of a tether of which `length_m`, unstretched, is paid out between the drum exit at the origin and the vehicle at
/// `end_m`.
///
/// # Errors
/// [`TetherError`].
pub fn solve_for_length(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    length_m: f64,
    options: &Options,
    _warm: Option<&Shape>,
) -> Result<Shape, TetherError> {
    line.check()?;
    in_range("unstretched tether length", "m", length_m, 1e-3, 1e5)?;
    let distance_m = end_m.norm();
    in_range("distance from drum exit to vehicle", "m", distance_m, 1e-3, 1e5)?;
    if line.axial_stiffness_n.is_none() && length_m < distance_m {
        return Err(TetherError::TooShort { length_m, distance_m });
    }
    let problem = Problem { line, flow, compliance_per_n: line.compliance_per_n(), end_m, length_m };
    let mut mesh = Mesh::empty();
    for (start_ratio, span_ratio) in [(0.0, 0.02), (0.02, 0.18), (0.2, 0.8)] {
        mesh.push(Element { start_ratio, span_ratio, order: 12, ..Element::default() }, MAX_NODES);
    }
    let mut grid = Grid::<MAX_NODES>::new(mesh, length_m);
    let load = start::mean_load_n_per_m(line, flow, &end_m);
    grid.start(start::drum_force_n(&load, &end_m, length_m, problem.compliance_per_n), &load);
    let mut last = (f64::INFINITY, f64::INFINITY);
    for _ in 0..100 {
        last = grid.sweep(&problem);
        if last.0 < 0.1 * options.relative_tolerance * grid.drum_force_n.norm().min(grid.top_force_n.norm()) {
            return Ok(shape_of(&grid, &problem));
        }
    }
    Err(TetherError::NotConverged {
        iterations_count: grid.iterations_count,
        force_error_ratio: last.0 / grid.drum_force_n.norm(),
        end_error_m: last.1,
    })
}

fn shape_of(grid: &Grid<MAX_NODES>, problem: &Problem<'_, impl Flow>) -> Shape {
    Shape {
        mesh: grid.mesh,
        length_m: grid.length_m,
        compliance_per_n: problem.compliance_per_n,
        start_force_n: grid.start_force_n,
        start_position_m: grid.start_position_m,
        force_n: grid.force_n,
        load_n_per_m: grid.load_n_per_m,
        top_force_n: grid.top_force_n,
        end_m: problem.end_m,
        stretched_m: grid.stretched_m,
        error_estimate_ratio: 0.0,
        iterations_count: grid.iterations_count,
        flow_evaluations_count: grid.flow_evaluations_count,
    }
}

/// Shape with a given drum tension.
///
/// # Errors
/// [`TetherError`].
pub fn solve_for_drum_tension(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    drum_tension_n: f64,
    options: &Options,
    warm: Option<&Shape>,
) -> Result<TensionSolution, TetherError> {
    in_range("drum tension", "N", drum_tension_n, 1e-6, 1e9)?;
    let mut length_m = end_m.norm() * 1.02;
    let mut shape = solve_for_length(line, flow, end_m, length_m, options, warm)?;
    for _ in 0..50 {
        let excess = shape.drum_tension_n() - drum_tension_n;
        if excess.abs() < 1e-9 * drum_tension_n {
            return Ok(TensionSolution::Hangs { shape, other_length_m: None });
        }
        let step = 1e-5 * length_m;
        let other = solve_for_length(line, flow, end_m, length_m + step, options, None)?;
        length_m -= excess * step / (other.drum_tension_n() - shape.drum_tension_n());
        shape = solve_for_length(line, flow, end_m, length_m, options, None)?;
    }
    Err(TetherError::NotConverged {
        iterations_count: 50,
        force_error_ratio: shape.drum_tension_n() / drum_tension_n - 1.0,
        end_error_m: 0.0,
    })
}
