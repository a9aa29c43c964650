//! A way to a shape from its neighbours: the line is solved for a vehicle beside its place, where it bends less, and the vehicle is
//! walked there step by step.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    Shape, guessed, quick,
    relax::{Held, Problem},
    scouted, start,
    thorough::Thorough,
    verify,
};
use crate::error::TetherError;

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
    let taut_m = (TAUT * length_m - distance_m).max(least_m);
    // Sideways, taut, and back.
    let starts_m = [beside_m * aside, -beside_m * down, taut_m * chord, beside_m * down, -beside_m * aside];
    for start_m in starts_m {
        if let Some(shape) = from(problem, length_m, tolerance, start_m) {
            return Some(shape);
        }
    }
    None
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
        match stepped(&at(next_m), length_m, goal, &shape) {
            Ok(found) if is_last => return verify::sure(problem, tolerance, found),
            Ok(found) => {
                (beside_m, step) = (next_m, (step * step).max(STEP));
                shape = found;
            }
            Err(_) if step > SHORT_STEP => return None,
            Err(_) => step = step.sqrt(),
        }
    }
    None
}

/// One step, from the shape before it.
fn stepped<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    before: &Shape,
) -> Result<Shape, TetherError> {
    Thorough::new(length_m).solve_from(problem, tolerance, before)
}

/// The shape with the vehicle beside its place.
fn begun<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    debug_assert!(problem.held == Held::Length);
    let mut shape = quick::solve(problem, length_m, tolerance, None).ok();
    if shape.is_none() {
        shape = quick::solve_taut(problem, length_m, tolerance);
    }
    if shape.is_none() {
        shape = scouted(problem, length_m, tolerance);
    }
    if shape.is_none() {
        shape = guessed(problem, length_m, tolerance).ok();
    }
    shape
}
