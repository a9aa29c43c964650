//! Given the drum tension instead of the length.
//!
//! As a tether is paid out, the drum tension falls from very large values to a least one and rises again with the weight of the
//! bight. So a drum tension has two lengths, one, or none.

use beamstay_environment::flow::Flow;
use beamstay_numerics::{
    domain::in_range,
    minimum::brent,
    root::{Tolerance, bracketed},
};
use nalgebra::Vector3;

use super::{
    Options, Shape, TensionSolution, bottom,
    budget::Budget,
    check, closed, quick,
    relax::{Grid, Held, Problem},
    scout::{Found, Place, Scout},
    solve_checked,
    thorough::Thorough,
};
use crate::{error::TetherError, line::Line};

mod after;
mod elsewhere;
mod held;
mod search;

/// Tolerance of the search.
const ROUGH: f64 = 1e-5;
/// How far from the rough least the true one is looked for, as a logarithm of the length.
const NEAR_LN: f64 = 0.4;

/// First step from the rough least, as a logarithm of the length: a share of the slack, between these, or of the part of the line
/// that its drum tension could carry, if that is less: so narrow is the least of a limp line.
const SLACK_SHARE: f64 = 0.2;
const LEAST_STEP_LN: f64 = 1e-3;
const MOST_STEP_LN: f64 = 0.02;
const CARRIED_SHARE: f64 = 0.1;
/// The same step once more, over what it was.
const SHORTER: f64 = 0.3;

/// The least drum tension with which a tether hangs free, whatever its length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastDrumTension {
    /// The shape that has it.
    pub shape: Shape,
    /// The shape with the least drum tension of those that do not leave the drum downwards, if that is another one; `None`
    /// also if every one leaves downwards.
    pub level: Option<Shape>,
}

/// Shape of a tether that is held at the drum with `drum_tension_n` and runs from the drum exit at the origin to the vehicle at
/// `end_m`; the unstretched length follows. `warm` may be a neighbouring shape.
///
/// # Errors
/// As [`super::solve_for_length`]. That no length gives the tension is a result, [`TensionSolution::NoneExists`].
///
/// # Examples
/// The constant-tension winch of 40 N, wind and tether of a reference case solved with SciPy (161.5421274 m):
/// ```
/// use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
/// use beamstay_tether::{Line, NormalDrag, Options, TensionSolution, solve_for_drum_tension};
/// use nalgebra::Vector3;
///
/// let shape = ProfileShape::PowerLaw { speed_m_s: 10.0, reference_height_m: 10.0, exponent: 0.143 };
/// let profile = Profile { floor_height_m: 2.0, ..Profile::new(shape)? };
/// let wind = AirFlow::new(Atmosphere::new(0.0, 0.0)?, profile)?;
/// let line = Line {
///     mass_kg_per_m: 0.01,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1)?,
///     tangential_coefficient: 0.02,
/// };
/// let vehicle_m = Vector3::new(30.0, 0.0, 150.0);
/// let solution = solve_for_drum_tension(&line, &wind, vehicle_m, 40.0, &Options::default(), None)?;
/// let TensionSolution::Hangs { shape, .. } = solution else { panic!() };
/// assert!((shape.paid_out_m() - 161.5421274).abs() < 2e-4);
///
/// let solution = solve_for_drum_tension(&line, &wind, vehicle_m, 5.0, &Options::default(), None)?;
/// let TensionSolution::NoneExists { least_drum_tension_n, .. } = solution else { panic!() };
/// assert!((least_drum_tension_n - 10.5).abs() < 0.1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve_for_drum_tension(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    drum_tension_n: f64,
    options: &Options,
    warm: Option<&Shape>,
) -> Result<TensionSolution, TetherError> {
    check(line, &end_m, options)?;
    check_tension(drum_tension_n)?;
    let budget = Budget::new(options.most_evaluations_count);
    by_tension(line, flow, end_m, drum_tension_n, options, warm, &budget).map_err(|error| budget.cause(error))
}

/// Whether a drum tension is in range.
pub(super) fn check_tension(drum_tension_n: f64) -> Result<(), TetherError> {
    in_range("drum tension", "N", drum_tension_n, 1e-6, 1e9)?;
    Ok(())
}

/// The same after its checks, within a budget.
// As for `solve_for_length`.
#[inline(never)]
pub(super) fn by_tension<F: Flow>(
    line: &Line,
    flow: &F,
    end_m: Vector3<f64>,
    drum_tension_n: f64,
    options: &Options,
    warm: Option<&Shape>,
    budget: &Budget,
) -> Result<TensionSolution, TetherError> {
    let problem = Problem::new(line, flow, end_m, Held::DrumTension(drum_tension_n), budget);
    if let Some(solution) = closed::solve_for_drum_tension(&problem, drum_tension_n) {
        return Ok(solution);
    }
    let distance_m = end_m.norm();
    let curve = Curve { problem: problem.with(Held::Length), options };
    let length_m = warm.map_or(distance_m, Shape::paid_out_m);
    let mut grid = Grid::<{ quick::FEW_NODES }>::new(length_m);
    let found = match quick::settle(&mut grid, &problem, options.relative_tolerance, warm) {
        Ok((errors, scale_n)) => {
            let is_sure = !options.seek_other_length && !grid.is_doubtful;
            if is_sure && grid.slopes.is_steep(&grid.drum_force_n) {
                // Made where it is handed out: a shape is large.
                let shape = Shape::of(&grid, &problem, errors, scale_n);
                return Ok(TensionSolution::Hangs { shape, other_length_m: None });
            }
            Ok(Shape::of(&grid, &problem, errors, scale_n))
        }
        Err(stop) => quick::solve_after(stop, &grid, &problem, options.relative_tolerance, warm),
    };
    curve.after_sweeps(&problem, drum_tension_n, found.ok(), warm)
}

/// The least drum tension with which a tether hangs free between the drum exit at the origin and the vehicle at `end_m`.
///
/// # Errors
/// As [`super::solve_for_length`].
pub fn least_drum_tension(
    line: &Line,
    flow: &impl Flow,
    end_m: Vector3<f64>,
    options: &Options,
) -> Result<LeastDrumTension, TetherError> {
    check(line, &end_m, options)?;
    let budget = Budget::new(options.most_evaluations_count);
    let curve = Curve { problem: Problem::new(line, flow, end_m, Held::Length, &budget), options };
    let mut scout = Scout::new(&curve.problem);
    if let Some(shape) = scout.least().and_then(|place| curve.least_near(&scout, &place)) {
        let shape = curve.lower_elsewhere(&shape, 0.0).map_or(shape, |lower| lower.least);
        let level = if shape.drum_elevation_deg() < 0.0 { curve.level_near() } else { None };
        return Ok(LeastDrumTension { shape, level });
    }
    let (shape, searched) = curve.least(None).map_err(|error| budget.cause(error))?;
    let level = if shape.drum_elevation_deg() < 0.0 { curve.level(&shape, &searched) } else { None };
    Ok(LeastDrumTension { shape, level })
}

/// The tautest shape for which `gap`, positive for a taut line, comes to zero, between a nearly straight one and `slack`, which
/// has a negative gap or the least drum tension.
pub(super) fn touching<F: Flow>(
    problem: &Problem<'_, F>,
    options: &Options,
    slack: &Shape,
    gap: impl Fn(&Shape) -> f64,
) -> Result<Shape, TetherError> {
    let curve = Curve { problem: problem.with(Held::Length), options };
    let distance_m = problem.end_m.norm();
    let not_found = TetherError::NotConverged {
        iterations_count: slack.iterations_count(),
        force_error_ratio: 0.0,
        end_error_m: gap(slack).abs() * slack.paid_out_m(),
    };
    // Longer until it touches, then shorter until it does not.
    let mut low = *slack;
    for _ in 0..24 {
        if gap(&low) <= 0.0 {
            break;
        }
        low = curve.roughly_at_length(low.paid_out_m() + 0.1 * distance_m, Some(&low))?;
    }
    if gap(&low) > 0.0 {
        return Err(not_found);
    }
    let mut high = low;
    for _ in 0..60 {
        let slack = high.paid_out_m() / distance_m - 1.0;
        // A line that stretches may hang level though it is shorter than the distance.
        let shorter = match problem.compliance_per_n > 0.0 {
            true if slack < 1e-3 => slack - slack.abs().max(1e-3),
            _ => 0.5 * slack,
        };
        if shorter < -0.5 || shorter.abs() < 1e-9 {
            break;
        }
        high = curve.roughly_at_length((1.0 + shorter) * distance_m, Some(&high))?;
        if gap(&high) > 0.0 {
            let lengths_m = (high.paid_out_m(), low.paid_out_m());
            return curve.root(lengths_m, high, gap).ok_or(not_found);
        }
        low = high;
    }
    Err(not_found)
}

/// Length that the drum tension could carry, over that of the line.
fn carried_ratio(shape: &Shape) -> f64 {
    let [load_n_per_m, _] = shape.end_loads_n_per_m();
    shape.drum_tension_n() / (load_n_per_m.norm() * shape.paid_out_m()).max(f64::MIN_POSITIVE)
}

/// The shape with a drum tension next to a line with a drum force and a length, if it is the shorter one with its tension.
pub(super) fn next_to<F: Flow>(
    problem: Problem<'_, F>,
    options: &Options,
    drum_tension_n: f64,
    drum_force_n: Vector3<f64>,
    length_m: f64,
) -> Option<Shape> {
    let curve = Curve { problem, options };
    let mut scout = Scout::new(&curve.problem);
    let place = scout.near_tension(drum_tension_n, drum_force_n, length_m)?;
    let shape = curve.with_tension(&scout, &place, drum_tension_n)?;
    curve.closed(shape, drum_tension_n)
}

/// That no length gives less drum tension than this shape has.
fn none_below(shape: Shape) -> TensionSolution {
    TensionSolution::NoneExists {
        least_drum_tension_n: shape.drum_tension_n(),
        at_length_m: shape.paid_out_m(),
        shape,
    }
}

/// Drum tension as a function of the length.
struct Curve<'a, F: Flow> {
    problem: Problem<'a, F>,
    options: &'a Options,
}

impl<F: Flow> Curve<'_, F> {
    fn length_m(&self, slack_ln: f64) -> f64 {
        self.problem.end_m.norm() * (1.0 + slack_ln.exp())
    }

    fn at_length(&self, length_m: f64, warm: Option<&Shape>) -> Result<Shape, TetherError> {
        solve_checked(&self.problem, length_m, self.options.relative_tolerance, warm)
    }

    /// Good enough to find the way.
    fn roughly_at_length(&self, length_m: f64, warm: Option<&Shape>) -> Result<Shape, TetherError> {
        solve_checked(&self.problem, length_m, self.options.relative_tolerance.max(ROUGH), warm)
    }

    /// The shape with the drum tension, with the other length that has it if that is asked for.
    fn hangs(&self, shape: Shape, drum_tension_n: f64) -> TensionSolution {
        let other_length_m =
            if self.options.seek_other_length { self.long(&shape, drum_tension_n) } else { None };
        TensionSolution::Hangs { shape, other_length_m }
    }

    /// What the rough curve leads to; `None` if it leads nowhere.
    fn scouted(&self, drum_tension_n: f64) -> Option<TensionSolution> {
        let mut scout = Scout::new(&self.problem);
        match scout.at_tension(drum_tension_n)? {
            Found::Place(place) => self
                .with_tension(&scout, &place, drum_tension_n)
                .and_then(|shape| self.closed(shape, drum_tension_n))
                .map(|shape| self.hangs(shape, drum_tension_n)),
            Found::Least(place) => {
                let shape = self.least_near(&scout, &place)?;
                (shape.drum_tension_n() > drum_tension_n).then(|| none_below(shape))
            }
        }
    }

    /// The shape that leaves the drum level, by the rough curve.
    fn level_near(&self) -> Option<Shape> {
        let mut scout = Scout::new(&self.problem);
        let place = scout.level()?;
        let near = self.near(&scout, &place)?;
        let (lo_m, hi_m) = (place.length_m * (1.0 - 1e-3), place.length_m * (1.0 + 1e-3));
        self.root((lo_m, hi_m), near, |shape| shape.force_at_drum_n().z)
    }

    /// The shape with a drum tension, near a place of the rough curve that has it.
    fn with_tension(&self, scout: &Scout<'_, '_, F>, place: &Place, drum_tension_n: f64) -> Option<Shape> {
        let tolerance = self.options.relative_tolerance;
        let mut thorough = Thorough::new(place.length_m);
        let mut shape = thorough.solve_near(&self.problem, tolerance, scout.shot()).ok()?;
        let mut slope = place.tension_by_length_n_per_m();
        thorough.end_nearer(drum_tension_n / (slope.abs() * place.length_m));
        for _ in 0..12 {
            let off_n = shape.drum_tension_n() - drum_tension_n;
            if off_n.abs() <= 0.3 * tolerance * drum_tension_n {
                return Some(shape);
            }
            let length_m = shape.paid_out_m() - off_n / slope;
            let next = thorough.again(&self.problem, tolerance, length_m).ok()?;
            let secant = (next.drum_tension_n() - shape.drum_tension_n()) / (length_m - shape.paid_out_m());
            if secant.is_finite() && secant < 0.0 {
                slope = secant;
            }
            shape = next;
        }
        None
    }

    /// The shape with the least drum tension, near the place of the rough curve that has it; the rough curve is so flat there
    /// that its length may be a quarter off.
    fn least_near(&self, scout: &Scout<'_, '_, F>, place: &Place) -> Option<Shape> {
        let (tolerance, rough) =
            (self.options.relative_tolerance, self.options.relative_tolerance.max(ROUGH));
        let mut thorough = Thorough::new(place.length_m);
        let mut lowest = thorough.solve_near(&self.problem, rough, scout.shot()).ok()?;
        let carried_ratio = carried_ratio(&lowest);
        thorough.end_nearer(carried_ratio);
        let mut too_taut = |longer_ln: f64| {
            let length_m = place.length_m * longer_ln.exp();
            let near = thorough.again(&self.problem, rough, length_m);
            let Ok(shape) = near.or_else(|_| thorough.again_from(&self.problem, rough, length_m, &lowest))
            else {
                return f64::NAN;
            };
            if shape.drum_tension_n() < lowest.drum_tension_n() {
                lowest = shape;
            }
            (shape.drum_tension_n() / place.drum_tension_n()).ln()
        };
        let slack_ratio = place.length_m / self.problem.end_m.norm() - 1.0;
        let step_ln = (SLACK_SHARE * slack_ratio).clamp(LEAST_STEP_LN, MOST_STEP_LN);
        let step_ln = step_ln.min(CARRIED_SHARE * carried_ratio);
        // A step that leads to no shape may be too long.
        let longer_ln = bottom::bottom(step_ln, NEAR_LN, &mut too_taut)
            .or_else(|| bottom::bottom(SHORTER * step_ln, NEAR_LN, &mut too_taut))
            .or_else(|| {
                let best = brent(&mut too_taut, -NEAR_LN, NEAR_LN, 0.05 * step_ln);
                best.f.is_finite().then_some(best.x)
            });
        let longer_ln = longer_ln.filter(|longer_ln| longer_ln.abs() <= 0.95 * NEAR_LN)?;
        let length_m = place.length_m * longer_ln.exp();
        let least = thorough.again_from(&self.problem, tolerance, length_m, &lowest).ok()?;
        // Where one length has no shape near the others, Brent's search ends where it must not.
        (least.drum_tension_n() <= lowest.drum_tension_n() * (1.0 + ROUGH)).then_some(least)
    }

    /// The shape near a place of the rough curve.
    fn near(&self, scout: &Scout<'_, '_, F>, place: &Place) -> Option<Shape> {
        Thorough::new(place.length_m)
            .solve_near(&self.problem, self.options.relative_tolerance, scout.shot())
            .ok()
    }

    /// Whether the drum tension falls as more is paid out.
    fn is_short(&self, shape: &Shape) -> bool {
        if shape.slopes.is_steep(&shape.force_at_drum_n()) {
            return true;
        }
        if let Some(falls) = Scout::new(&self.problem).falls(shape.force_at_drum_n(), shape.paid_out_m()) {
            return falls;
        }
        let longer_m = shape.paid_out_m() * (1.0 + 1e-3);
        self.at_length(longer_m, Some(shape))
            .is_ok_and(|longer| longer.drum_tension_n() < shape.drum_tension_n())
    }

    /// The longer length with a drum tension, m.
    fn long(&self, short: &Shape, drum_tension_n: f64) -> Option<f64> {
        let mut lower_m = short.paid_out_m();
        let mut warm = *short;
        let mut step_m = 0.05 * lower_m;
        for _ in 0..60 {
            let Ok(longer) = self.roughly_at_length(lower_m + step_m, Some(&warm)) else { return None };
            if longer.drum_tension_n() > drum_tension_n {
                return self
                    .root((lower_m, lower_m + step_m), longer, |s| s.drum_tension_n() - drum_tension_n)
                    .map(|s| s.paid_out_m());
            }
            lower_m = longer.paid_out_m();
            warm = longer;
            step_m *= 1.2;
        }
        None
    }

    /// The shape between two lengths for which a quantity is zero.
    fn root(&self, (lo_m, hi_m): (f64, f64), warm: Shape, quantity: impl Fn(&Shape) -> f64) -> Option<Shape> {
        let mut last = warm;
        let value = |length_m: f64| match self.at_length(length_m, Some(&last)) {
            Ok(shape) => {
                last = shape;
                quantity(&shape)
            }
            Err(_) => f64::NAN,
        };
        // The tension of a nearly straight line goes with the root of its slack, not with its length.
        let slack_ratio = (hi_m.min(lo_m) / self.problem.end_m.norm() - 1.0).abs();
        let tolerance = Tolerance {
            x_rel: 0.01 * self.options.relative_tolerance * slack_ratio.clamp(1e-6, 1.0),
            max_evaluations_count: 60,
            ..Tolerance::default()
        };
        let root = bracketed(value, lo_m, hi_m, tolerance).ok()?;
        self.at_length(root.x, Some(&last)).ok()
    }
}
