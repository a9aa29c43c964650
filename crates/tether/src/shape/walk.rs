//! A way to a shape from its neighbours: the line is solved for a vehicle beside its place, where it bends less, and the vehicle is
//! walked there step by step.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    Shape, quick,
    relax::{Held, Problem},
    scout::Scout,
    start,
    thorough::Thorough,
    verify,
};

/// How far beside the vehicle is at first, over the farthest that the line reaches, and for a line that is as good as taut, over the
/// distance.
const BESIDE: f64 = 0.5;
const LEAST_BESIDE: f64 = 0.03;
/// Distance over the length at which a line is nearly straight.
const TAUT: f64 = 0.97;
/// How far it still is after a step, at first and after one that failed.
const STEP: f64 = 0.35;
const SHORT_STEP: f64 = 0.95;
/// Offset over the length from which it goes to its place at once.
const NEAR: f64 = 1e-9;
/// Most steps.
const STEPS: u32 = 100;
/// Tolerance on the way.
const ROUGH: f64 = 1e-5;

/// The shape, with the vehicle walked from beside; `None` if it is lost on the way.
pub(super) fn walked<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    let chord = problem.end_m.normalize();
    let mean = start::load_of_many_n_per_m(problem);
    let across = mean - mean.dot(&chord) * chord;
    let down = across.try_normalize(1e-6 * mean.norm()).unwrap_or_else(|| start::any_across(&chord));
    let aside = down.cross(&chord);
    let distance_m = problem.end_m.norm();
    let spare_m = (length_m * length_m - distance_m * distance_m).max(0.0).sqrt();
    let least_m = if problem.compliance_per_n > 0.0 { LEAST_BESIDE * distance_m } else { 0.0 };
    let beside_m = (BESIDE * spare_m).max(least_m);
    let sideways = [aside, -down].map(|direction| beside_m * direction);
    let taut_m = (TAUT * length_m - distance_m).max(least_m);
    let back = [down, -aside].map(|direction| beside_m * direction);
    let starts_m = sideways.into_iter().chain([taut_m * chord]).chain(back);
    starts_m.into_iter().find_map(|start_m| from(problem, length_m, tolerance, start_m))
}

/// The same from one side.
fn from<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    start_m: Vector3<f64>,
) -> Option<Shape> {
    let mut beside_m = start_m.norm();
    let direction = start_m.try_normalize(0.0)?;
    let rough = tolerance.max(ROUGH);
    let at = |beside_m: f64| Problem { end_m: problem.end_m + beside_m * direction, ..*problem };
    let mut shape = begun(&at(beside_m), length_m, rough)?;
    let mut step = STEP;
    for _ in 0..STEPS {
        if problem.budget.is_spent() {
            return None;
        }
        let is_last = beside_m * step < NEAR * length_m;
        let next_m = if is_last { 0.0 } else { beside_m * step };
        let goal = if is_last { tolerance } else { rough };
        match Thorough::new(length_m).solve_from(&at(next_m), goal, &shape) {
            Ok(found) if is_last => return verify::sure(problem, tolerance, found),
            Ok(found) => (shape, beside_m, step) = (found, next_m, (step * step).max(STEP)),
            Err(_) if step > SHORT_STEP => return None,
            Err(_) => step = step.sqrt(),
        }
    }
    None
}

/// The shape with the vehicle beside its place.
fn begun<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    debug_assert!(problem.held == Held::Length);
    if let Ok(shape) = quick::solve(problem, length_m, tolerance, None) {
        return Some(shape);
    }
    if let Some(shape) = quick::solve_taut(problem, length_m, tolerance) {
        return Some(shape);
    }
    let mut scout = Scout::new(problem);
    if scout.at_length(length_m).is_some()
        && let Ok(shape) = Thorough::new(length_m).solve_near(problem, tolerance, scout.shot())
    {
        return Some(shape);
    }
    Thorough::new(length_m).solve(problem, tolerance).ok()
}
