//! Steady shape of a tether between drum and vehicle under weight, buoyancy and a flow: a line, a flow, the vehicle's place
//! and a length or a drum tension go in, a [`Shape`] comes out.

use beamstay_environment::flow::Flow;
use beamstay_numerics::domain::in_range;
use nalgebra::Vector3;

use crate::{error::TetherError, line::Line};
use budget::Budget;
use chain::Chain;
use quick::Stop;
use relax::{Grid, Held, Problem};
use scout::Scout;
use thorough::Thorough;

mod adapt;
mod ascent;
mod bottom;
mod budget;
mod chain;
mod closed;
mod extremes;
mod gauss;
mod ground;
mod growth;
mod kink;
mod lanes;
mod lengths;
mod load;
mod mesh;
mod mixer;
mod near;
mod newton;
mod pack;
mod quick;
mod relax;
mod remesh;
mod scout;
mod shot;
mod slopes;
mod solution;
mod start;
mod taut;
mod tension;
mod thorough;
mod verify;
mod walk;

pub use ascent::{Ascending, Ascent, ascend, ascend_past};
pub use ground::{
    Ground, Lying, TensionOverGround, solve_for_drum_tension_over_ground, solve_for_length_over_ground,
};
pub use near::{Near, solve_for_drum_tension_near, solve_for_length_near};
pub use solution::{Node, Shape};
pub use tension::{LeastDrumTension, least_drum_tension, solve_for_drum_tension};

/// How well to solve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Allowed error of the forces at both ends, relative to themselves (to a thousandth of the larger one if they are smaller),
    /// and of positions, relative to the length; 10⁻¹⁰ to 10⁻².
    pub relative_tolerance: f64,
    /// Whether [`solve_for_drum_tension`] looks for the longer length too, which takes some ten times longer.
    pub seek_other_length: bool,
    /// Work that may be spent on a line that the quick sweeps do not reach, counted as evaluations of the flow, before
    /// [`TetherError::WorkSpent`]; with 0 such a line is given up at once, for who looks at many lines and can do without some.
    pub most_evaluations_count: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self { relative_tolerance: 1e-6, seek_other_length: false, most_evaluations_count: budget::MOST_WORK }
    }
}

/// What hangs for a given drum tension.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "a shape lives on the stack so that solving allocates nothing")]
pub enum TensionSolution {
    /// A tether hangs with this drum tension.
    Hangs {
        /// The shape with the shorter of the two lengths.
        shape: Shape,
        /// The longer length with the same drum tension, m, if there is one and [`Options::seek_other_length`] asks for it.
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
/// Solves dr/ds = (1 + T/EA) t, dF/ds = −q with the load q of weight, buoyancy and cross-flow drag, per unstretched metre, by
/// collocation on Gauss nodes of the unstretched length; elements end where the load is not smooth. `warm` may be a
/// neighbouring shape, from which fewer sweeps are needed. Nothing is allocated.
///
/// # Errors
/// [`TetherError::TooShort`] if the line does not stretch and does not reach, [`TetherError::Indeterminate`] if nothing fixes its
/// tension, [`TetherError::OutOfRange`] for numbers outside: length and distance 1 mm to 100 km, see also [`Line::check`];
/// [`TetherError::BadFlow`], [`TetherError::Overstretched`], [`TetherError::NotConverged`], [`TetherError::WorkSpent`].
///
/// # Examples
/// Uniform wind of 8 m/s, vehicle straight above (reference by quadrature: drum tension 3.58723768617275 N, at the vehicle
/// 2.4516625 N more, the weight of the tether):
/// ```
/// use beamstay_environment::{Atmosphere, UniformFlow};
/// use beamstay_tether::{Line, NormalDrag, Options, solve_for_length};
/// use nalgebra::Vector3;
///
/// let wind = UniformFlow::new(Atmosphere::new(0.0, 0.0)?.at(0.0), Vector3::new(8.0, 0.0, 0.0))?;
/// let line = Line {
///     mass_kg_per_m: 0.005,
///     diameter_m: 0.0015,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1)?,
///     tangential_coefficient: 0.0,
/// };
/// let vehicle_m = Vector3::new(0.0, 0.0, 50.0);
/// let shape = solve_for_length(&line, &wind, vehicle_m, 51.0, &Options::default(), None)?;
/// assert!((shape.drum_tension_n() - 3.587237686).abs() < 4e-6);
/// assert!((shape.top_tension_n() - shape.drum_tension_n() - 2.4516625).abs() < 4e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
// Where this is part of its caller, the shape is copied once more at every step on its way out.
#[inline(never)]
pub fn solve_for_length(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    length_m: f64,
    options: &Options,
    warm: Option<&Shape>,
) -> Result<Shape, TetherError> {
    check(line, &end_m, options)?;
    check_length(length_m)?;
    let distance_m = end_m.norm();
    if line.axial_stiffness_n.is_none() && length_m < distance_m {
        return Err(TetherError::TooShort { length_m, distance_m });
    }
    let budget = Budget::new(options.most_evaluations_count);
    let problem = Problem::new(line, flow, end_m, Held::Length, &budget);
    solve_checked(&problem, length_m, options.relative_tolerance, warm)
}

/// Lengths and distances that are solved for, m.
const LENGTHS_M: (f64, f64) = (1e-3, 1e5);

fn check(line: &Line, end_m: &Vector3<f64>, options: &Options) -> Result<(), TetherError> {
    line.check()?;
    in_range("relative tolerance", "", options.relative_tolerance, 1e-10, 1e-2)?;
    in_range("distance from drum exit to vehicle", "m", end_m.norm(), LENGTHS_M.0, LENGTHS_M.1)?;
    Ok(())
}

fn check_length(length_m: f64) -> Result<(), TetherError> {
    in_range("unstretched tether length", "m", length_m, LENGTHS_M.0, LENGTHS_M.1)?;
    Ok(())
}

fn solve_checked<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Result<Shape, TetherError> {
    match closed::solve(problem, length_m) {
        Ok(Some(shape)) => return Ok(shape),
        Ok(None) => {}
        Err(error) => return Err(error),
    }
    let mut grid = Grid::<{ quick::FEW_NODES }>::new(length_m);
    match quick::settle(&mut grid, problem, tolerance, warm) {
        Ok((errors, scale_n)) if grid.is_doubtful => {
            surely(&Shape::of(&grid, problem, errors, scale_n), &grid, problem, tolerance)
        }
        // Made where it is handed out: a shape is large.
        Ok((errors, scale_n)) => Ok(Shape::of(&grid, problem, errors, scale_n)),
        Err(stop) => solve_after(stop, &grid, problem, tolerance, warm),
    }
}

/// A shape from few nodes if it holds its load, else what is solved after it.
#[cold]
#[inline(never)]
fn surely<F: Flow>(
    shape: &Shape,
    grid: &Grid<{ quick::FEW_NODES }>,
    problem: &Problem<'_, F>,
    tolerance: f64,
) -> Result<Shape, TetherError> {
    verify::sure(problem, tolerance, *shape)
        .map_or_else(|| solve_after(Stop::NeedsNodes, grid, problem, tolerance, Some(shape)), Ok)
}

/// Solves what the quick solver did not with few nodes. Kept apart: it needs so much room that its caller would feel it.
#[cold]
#[inline(never)]
fn solve_after<F: Flow>(
    stop: Stop,
    grid: &Grid<{ quick::FEW_NODES }>,
    problem: &Problem<'_, F>,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Result<Shape, TetherError> {
    let length_m = grid.length_m;
    // One after the other, each in a function of its own: in a build that does not optimise, the room that all of them need for
    // their shapes would be taken at once.
    let sure = |shape: Shape| verify::sure(problem, tolerance, shape);
    if let Some(shape) = swept(stop, grid, problem, tolerance, warm) {
        return Ok(shape);
    }
    if problem.budget.is_spent() {
        return Err(problem.budget.spent());
    }
    let mut found = neared(problem, length_m, tolerance, warm).and_then(sure);
    if found.is_none() {
        found = scouted(problem, length_m, tolerance).and_then(sure);
    }
    if let Some(shape) = found {
        return Ok(shape);
    }
    let error = match guessed_surely(problem, length_m, tolerance) {
        Ok(shape) => return Ok(shape),
        Err(error) => error,
    };
    if let Some(shape) = rested(problem, length_m, tolerance) {
        return Ok(shape);
    }
    // A flow that gives no numbers is the cause, whatever the solver made of it.
    let cause = bad_flow(problem, length_m).or_else(|| overstretched(problem, length_m));
    Err(problem.budget.cause(cause.unwrap_or(error)))
}

/// Solves by sweeps with more nodes, without the neighbour, or as a nearly straight line.
fn swept<F: Flow>(
    stop: Stop,
    grid: &Grid<{ quick::FEW_NODES }>,
    problem: &Problem<'_, F>,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Option<Shape> {
    let length_m = grid.length_m;
    let held = |shape: Shape| match shape.is_doubtful {
        true => verify::sure(problem, tolerance, shape),
        false => Some(shape),
    };
    let mut quick = quick::solve_after(stop, grid, problem, tolerance, warm).ok().and_then(held);
    // A neighbour that is too far away is worse than none.
    if quick.is_none() && warm.is_some() {
        quick = quick::solve(problem, length_m, tolerance, None).ok().and_then(held);
    }
    if quick.is_none() {
        let taut = quick::solve_taut(problem, length_m, tolerance);
        quick = taut.and_then(|shape| verify::sure(problem, tolerance, shape));
    }
    quick
}

/// Solves from the neighbour.
fn neared<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Option<Shape> {
    Thorough::new(length_m).solve_from(problem, tolerance, warm?).ok()
}

/// Solves from the first guess.
fn guessed<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Result<Shape, TetherError> {
    Thorough::new(length_m).solve(problem, tolerance)
}

/// The same, surely.
fn guessed_surely<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
) -> Result<Shape, TetherError> {
    let shape = guessed(problem, length_m, tolerance)?;
    verify::sure(problem, tolerance, shape).ok_or_else(|| does_not_hold(&shape))
}

/// That a shape was found whose sums do not close.
fn does_not_hold(shape: &Shape) -> TetherError {
    TetherError::NotConverged {
        iterations_count: shape.iterations_count,
        force_error_ratio: shape.error_estimate_ratio,
        end_error_m: 0.0,
    }
}

/// Strain beyond which no line is elastic.
const HOPELESS_STRAIN_RATIO: f64 = 0.5;

/// That a line would stretch beyond all sense.
fn overstretched<F: Flow>(problem: &Problem<'_, F>, length_m: f64) -> Option<TetherError> {
    let strain_ratio = start::strain_ratio(problem, length_m);
    (strain_ratio > HOPELESS_STRAIN_RATIO).then_some(TetherError::Overstretched { strain_ratio })
}

/// Solves from the place with the length on the curve of all shapes.
fn scouted<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    let mut scout = Scout::new(problem);
    scout.at_length(length_m)?;
    Thorough::new(length_m).solve_near(problem, tolerance, scout.shot()).ok()
}

/// Solves from where a chain of links comes to rest or, where it flutters, from beside or from what following its shapes leads to.
fn rested<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    if let Some(shape) = let_go(problem, length_m, tolerance) {
        return Some(shape);
    }
    if let Some(shape) = walk::walked(problem, length_m, tolerance) {
        return Some(shape);
    }
    followed(problem, length_m, tolerance)
}

/// Solves from where a chain of links comes to rest.
fn let_go<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    settled(problem, length_m, tolerance, &mut Chain::new(problem, length_m))
}

/// Solves from what following the shapes of a chain leads to, or from where it comes to rest from there.
fn followed<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    match &mut Chain::follow(problem, length_m) {
        Some(chain) => match at_rest(problem, length_m, tolerance, chain) {
            None => settled(problem, length_m, tolerance, chain),
            found => found,
        },
        None => None,
    }
}

/// Solves from where a chain comes to rest.
fn settled<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    chain: &mut Chain,
) -> Option<Shape> {
    if chain.rest(problem) { at_rest(problem, length_m, tolerance, chain) } else { None }
}

/// Solves from a chain at rest.
fn at_rest<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64, chain: &Chain) -> Option<Shape> {
    let sure = |shape: Shape| verify::sure(problem, tolerance, shape);
    roughly_at_rest(problem, length_m, tolerance, chain).and_then(sure)
}

/// The same, which is not sure.
fn roughly_at_rest<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    chain: &Chain,
) -> Option<Shape> {
    Thorough::new(length_m).solve_at_rest(problem, tolerance, chain).ok()
}

/// Looks for a flow that is not usable, where the tether may be.
fn bad_flow<F: Flow>(problem: &Problem<'_, F>, length_m: f64) -> Option<TetherError> {
    (-20..=20)
        .map(|i| 0.5 * problem.end_m.z + 0.05 * f64::from(i) * length_m)
        .chain([0.0, problem.end_m.z])
        .find_map(|height_m| {
            let sample = problem.flow.at(height_m);
            let (speed_m_s, density_kg_m3) = (sample.velocity_m_s.norm(), sample.density_kg_m3);
            let good = speed_m_s.is_finite()
                && density_kg_m3.is_finite()
                && density_kg_m3 >= 0.0
                && sample.dynamic_viscosity_pa_s.is_finite();
            (!good).then_some(TetherError::BadFlow { height_m, speed_m_s, density_kg_m3 })
        })
}
