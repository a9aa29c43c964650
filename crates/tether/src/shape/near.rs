//! Shapes from a line nearby whose force at the drum is known: for lines that are all but limp, whose shape hangs on a force that is a
//! small part of the load. Others are found as quickly without.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    Options, Shape,
    budget::Budget,
    relax::{Held, Problem},
    scout::Scout,
    tension,
    thorough::Thorough,
    verify,
};
use crate::{error::TetherError, line::Line};

/// A line that is nearly the one that is looked for, such as [`super::ascend`] has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    /// Pull at the drum of the part above, N; x downwind, y to the left, z up.
    pub drum_force_n: Vector3<f64>,
    /// Unstretched length, m.
    pub paid_out_m: f64,
}

impl Near {
    fn is_line(&self) -> bool {
        let force_n = self.drum_force_n;
        force_n.norm() > 0.0 && force_n.iter().all(|part| part.is_finite()) && self.paid_out_m > 0.0
    }
}

/// As [`super::solve_for_length`], from a line nearby, several times quicker where it is all but limp. `None` where that does not lead to it.
///
/// # Errors
/// [`TetherError::OutOfRange`] as [`super::solve_for_length`].
///
/// # Examples
/// What is followed from the drum hangs there:
/// ```
/// use beamstay_environment::{Atmosphere, UniformFlow};
/// use beamstay_tether::{Ascending, Line, Near, NormalDrag, Options, ascend, solve_for_length_near};
/// use nalgebra::Vector3;
///
/// let wind = UniformFlow::new(Atmosphere::new(0.0, 0.0)?.at(0.0), Vector3::new(5.0, 0.0, 0.0))?;
/// let line = Line {
///     mass_kg_per_m: 0.005,
///     diameter_m: 0.0015,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1)?,
///     tangential_coefficient: 0.0,
/// };
/// let asked = Ascending { longest_m: 200.0, counted_from_m: 0.0, deepest_m: -1.0 };
/// let ascent = ascend(&line, &wind, Vector3::new(0.0, 0.0, 0.02), 40.0, &asked)?.unwrap();
/// let near = Near { drum_force_n: ascent.drum_force_n, paid_out_m: ascent.paid_out_m };
/// let (end_m, length_m) = (ascent.end_m, ascent.paid_out_m);
/// let shape = solve_for_length_near(&line, &wind, end_m, length_m, &near, &Options::default())?.unwrap();
/// assert!((shape.drum_tension_n() - 0.02).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[inline(never)]
pub fn solve_for_length_near(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    length_m: f64,
    near: &Near,
    options: &Options,
) -> Result<Option<Shape>, TetherError> {
    super::check(line, &end_m, options)?;
    super::check_length(length_m)?;
    let budget = Budget::new(options.most_evaluations_count);
    let problem = Problem::new(line, flow, end_m, Held::Length, &budget);
    Ok(near.is_line().then(|| from_force(&problem, length_m, near, options.relative_tolerance)).flatten())
}

/// Solves for a length from where a force at the drum leads.
fn from_force<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    near: &Near,
    tolerance: f64,
) -> Option<Shape> {
    let mut scout = Scout::new(problem);
    scout.near_length(near.drum_force_n, length_m)?;
    let shape = Thorough::new(length_m).solve_near(problem, tolerance, scout.shot()).ok()?;
    verify::sure(problem, tolerance, shape)
}

/// As [`super::solve_for_drum_tension`], from a line nearby: the shape where the tension falls as more is paid out, several times quicker where it
/// is next to the least. `None` where that does not lead to it, as where none hangs.
///
/// # Errors
/// [`TetherError::OutOfRange`] as [`super::solve_for_drum_tension`].
#[inline(never)]
pub fn solve_for_drum_tension_near(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    drum_tension_n: f64,
    near: &Near,
    options: &Options,
) -> Result<Option<Shape>, TetherError> {
    super::check(line, &end_m, options)?;
    tension::check_tension(drum_tension_n)?;
    let budget = Budget::new(options.most_evaluations_count);
    let problem = Problem::new(line, flow, end_m, Held::Length, &budget);
    let found = || tension::next_to(problem, options, drum_tension_n, near.drum_force_n, near.paid_out_m);
    Ok(near.is_line().then(found).flatten())
}
