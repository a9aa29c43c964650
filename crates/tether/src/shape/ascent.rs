//! A line followed from the drum up to heights, from the force with which it leaves: nothing is searched for.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    budget::Budget,
    check,
    load::Pull,
    relax::{Held, Problem},
    shot::State,
};
use crate::{error::TetherError, line::Line};
use beamstay_numerics::domain::in_range;

/// Turn of the line in one step, rad, and load on it, over the tension.
const TURN: f64 = 0.2;
const LOADED: f64 = 0.2;
/// Longest step, over the height or, if that is higher, over the lowest height asked for.
const LONGEST: f64 = 0.1;
/// Part of its height over the drum, and of the lowest asked for, that a step climbs at most: shear is strongest below.
const SHEAR: (f64, f64) = (0.7, 0.03);
/// Most steps.
const STEPS: usize = 400;
/// Corrections of the place at which a step passes a height.
const HALVINGS: usize = 40;

/// How far a line is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ascending {
    /// Unstretched length after which the line is given up, m.
    pub longest_m: f64,
    /// Unstretched length from the drum from which on [`Ascent::lowest_m`] counts, m.
    pub counted_from_m: f64,
    /// Height under which the line is given up, m; not above 0.
    pub deepest_m: f64,
}

/// A line from the drum to where it first reaches a height.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Ascent {
    /// Where it does, m; x downwind, y to the left, z up from the drum exit.
    pub end_m: Vector3<f64>,
    /// Pull of the part above on the part below, at the drum and there, N.
    pub drum_force_n: Vector3<f64>,
    /// The same at the upper end, N.
    pub top_force_n: Vector3<f64>,
    /// Unstretched length, m.
    pub paid_out_m: f64,
    /// Largest tension, N.
    pub max_tension_n: f64,
    /// Largest curvature, 1/m.
    pub max_curvature_per_m: f64,
    /// Height of the lowest place beyond the first metres, m.
    pub lowest_m: f64,
    /// Height of the lowest place of all, m; not above 0, the drum exit.
    pub lowest_of_all_m: f64,
}

/// Follows the line that leaves the drum with `drum_force_n`, by the classical Runge-Kutta method with steps of a limited turn: end
/// and forces are good to some 10⁻⁴ of themselves. Upwards, where the tension grows, errors fade. `None` for a line that does not reach
/// `height_m` over the drum exit with the length or above the depth of `asked`.
///
/// # Errors
/// [`TetherError::OutOfRange`] as [`super::solve_for_length`], for a vehicle right above the drum.
///
/// # Examples
/// A line without weight in still air is straight:
/// ```
/// use beamstay_environment::{Atmosphere, UniformFlow};
/// use beamstay_tether::{Ascending, Line, NormalDrag, ascend};
/// use nalgebra::Vector3;
///
/// let calm = UniformFlow::new(Atmosphere::new(0.0, 0.0)?.at(0.0), Vector3::zeros())?;
/// let line = Line {
///     mass_kg_per_m: 1e-12,
///     diameter_m: 0.001,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1)?,
///     tangential_coefficient: 0.0,
/// };
/// let asked = Ascending { longest_m: 100.0, counted_from_m: 0.0, deepest_m: -1.0 };
/// let ascent = ascend(&line, &calm, Vector3::new(3.0, 0.0, 4.0), 40.0, &asked)?.unwrap();
/// assert!((ascent.paid_out_m - 50.0).abs() < 1e-6 && (ascent.end_m.x - 30.0).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn ascend(
    line: &Line,
    flow: &impl Flow,
    drum_force_n: Vector3<f64>,
    height_m: f64,
    asked: &Ascending,
) -> Result<Option<Ascent>, TetherError> {
    Ok(ascend_past(line, flow, drum_force_n, &[height_m], asked)?.pop())
}

/// As [`ascend`], past several heights that rise: the line below each of those that it reaches. Steps are laid for the lowest, and after
/// 400 the line is given up: one that trails far along the ground may not come to a height that it reaches alone.
///
/// # Errors
/// As [`ascend`] for the lowest and the highest, and for heights that do not rise.
pub fn ascend_past(
    line: &Line,
    flow: &impl Flow,
    drum_force_n: Vector3<f64>,
    heights_m: &[f64],
    asked: &Ascending,
) -> Result<Vec<Ascent>, TetherError> {
    let (Some(lowest_m), Some(highest_m)) = (heights_m.first(), heights_m.last()) else {
        return Ok(Vec::new());
    };
    for pair in heights_m.windows(2) {
        in_range("height above the one before", "m", pair[1] - pair[0], f64::MIN_POSITIVE, f64::MAX)?;
    }
    for height_m in [lowest_m, highest_m] {
        check(line, &Vector3::new(0.0, 0.0, *height_m), &super::Options::default())?;
    }
    let budget = Budget::new(u64::MAX);
    let problem = Problem::new(line, flow, Vector3::new(0.0, 0.0, *highest_m), Held::Length, &budget);
    Ok(Climber::new(&problem, asked, *lowest_m, drum_force_n)
        .map_or_else(Vec::new, |climber| climber.climb(heights_m)))
}

/// A line on its way.
struct Climber<'a, 'b, F: Flow> {
    problem: &'b Problem<'a, F>,
    asked: &'b Ascending,
    /// Lowest height asked for, m.
    lowest_m: f64,
    state: State,
    paid_out_m: f64,
    ascent: Ascent,
}

impl<F: Flow> Clone for Climber<'_, '_, F> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<F: Flow> Copy for Climber<'_, '_, F> {}

impl<'a, 'b, F: Flow> Climber<'a, 'b, F> {
    fn new(
        problem: &'b Problem<'a, F>,
        asked: &'b Ascending,
        lowest_m: f64,
        drum_force_n: Vector3<f64>,
    ) -> Option<Self> {
        let ascent = Ascent {
            end_m: Vector3::zeros(),
            drum_force_n,
            top_force_n: drum_force_n,
            paid_out_m: 0.0,
            max_tension_n: 0.0,
            max_curvature_per_m: 0.0,
            lowest_m: f64::INFINITY,
            lowest_of_all_m: 0.0,
        };
        let state = State { position_m: Vector3::zeros(), force_n: drum_force_n };
        let pulls = drum_force_n.norm() > 0.0 && drum_force_n.iter().all(|part| part.is_finite());
        pulls.then_some(Self { problem, asked, lowest_m, state, paid_out_m: 0.0, ascent })
    }

    fn climb(mut self, heights_m: &[f64]) -> Vec<Ascent> {
        let mut ascents = Vec::with_capacity(heights_m.len());
        let mut slope = self.state.slope(self.problem);
        for _ in 0..STEPS {
            self.look(&slope);
            let step_m = self.step_m(&slope);
            let next = self.state.after(self.problem, &slope, step_m);
            let step = Step { from: self.state, to: next, slopes: (slope, next.slope(self.problem)), step_m };
            while let Some(height_m) = heights_m.get(ascents.len())
                && next.position_m.z >= *height_m
            {
                ascents.push(self.arrive(&step, *height_m));
            }
            self.take(&step, 1.0, next);
            slope = step.slopes.1;
            let goes_on =
                next.position_m.z >= self.asked.deepest_m && self.paid_out_m <= self.asked.longest_m;
            if !goes_on || ascents.len() == heights_m.len() {
                break;
            }
        }
        ascents
    }

    /// The line up to where a step passes a height.
    fn arrive(mut self, step: &Step, height_m: f64) -> Ascent {
        let share = step.share_at(height_m);
        self.take(step, share, step.at(share));
        self.ascent.max_tension_n = self.ascent.max_tension_n.max(self.state.force_n.norm());
        self.ascent.end_m = Vector3::new(self.state.position_m.x, self.state.position_m.y, height_m);
        self.ascent.top_force_n = self.state.force_n;
        self.ascent.paid_out_m = self.paid_out_m;
        self.ascent.lowest_m = self.ascent.lowest_m.min(height_m);
        self.ascent
    }

    /// Length of the next step, m; one ends where the lowest place begins to count.
    fn step_m(&self, slope: &State) -> f64 {
        let at_m = self.state.position_m.z.abs();
        let turn_m = TURN / self.curvature_per_m(slope).max(f64::MIN_POSITIVE);
        let loaded_m = LOADED * self.state.force_n.norm() / slope.force_n.norm().max(f64::MIN_POSITIVE);
        let shear_m = SHEAR.0 * at_m + SHEAR.1 * self.lowest_m;
        let step_m = turn_m.min(loaded_m).min(shear_m).min(LONGEST * at_m.max(self.lowest_m));
        let left_m = self.asked.counted_from_m - self.paid_out_m;
        if left_m > 0.0 { step_m.min(left_m) } else { step_m }
    }

    /// Curvature by the unstretched length, 1/m.
    fn curvature_per_m(&self, slope: &State) -> f64 {
        let (tension_n, across_n_per_m) = self.state.turning(slope);
        across_n_per_m / tension_n
    }

    /// Takes note of the state.
    fn look(&mut self, slope: &State) {
        let curvature_per_m = self.curvature_per_m(slope);
        self.ascent.max_curvature_per_m = self.ascent.max_curvature_per_m.max(curvature_per_m);
        self.ascent.max_tension_n = self.ascent.max_tension_n.max(self.state.force_n.norm());
    }

    /// Goes on to a share of a step, where the line is at `next`.
    fn take(&mut self, step: &Step, share: f64, next: State) {
        let counted = self.paid_out_m >= self.asked.counted_from_m * (1.0 - 1e-9);
        let step_m = share * step.step_m;
        self.paid_out_m += step_m;
        let falls = step.slopes.0.position_m.z;
        let rises = Pull::new(&next.force_n, self.problem.compliance_per_n).gradient().z;
        let mut lowest_m = self.state.position_m.z.min(next.position_m.z);
        if falls < 0.0 && rises > 0.0 {
            lowest_m = self.state.position_m.z + 0.5 * falls * step_m * falls / (falls - rises);
        }
        self.ascent.lowest_of_all_m = self.ascent.lowest_of_all_m.min(lowest_m);
        if counted {
            self.ascent.lowest_m = self.ascent.lowest_m.min(lowest_m);
        }
        self.state = next;
    }
}

/// A step and the cubics through places, forces and their slopes at its ends.
struct Step {
    from: State,
    to: State,
    slopes: (State, State),
    step_m: f64,
}

impl Step {
    fn at(&self, share: f64) -> State {
        let cubic = |from: &Vector3<f64>, to: &Vector3<f64>, leaves: &Vector3<f64>, comes: &Vector3<f64>| {
            let (rest, change) = (1.0 - share, to - from);
            let (bend_from, bend_to) = (self.step_m * leaves - change, change - self.step_m * comes);
            from + share * change + share * rest * (rest * bend_from + share * bend_to)
        };
        let (leaves, comes) = &self.slopes;
        State {
            position_m: cubic(
                &self.from.position_m,
                &self.to.position_m,
                &leaves.position_m,
                &comes.position_m,
            ),
            force_n: cubic(&self.from.force_n, &self.to.force_n, &leaves.force_n, &comes.force_n),
        }
    }

    /// Share of it at which a height is reached that its end is not below.
    fn share_at(&self, height_m: f64) -> f64 {
        let (mut lo, mut hi) = (0.0, 1.0);
        let mut share = (height_m - self.from.position_m.z) / (self.to.position_m.z - self.from.position_m.z);
        for _ in 0..HALVINGS {
            let off_m = self.at(share).position_m.z - height_m;
            if off_m.abs() <= 1e-10 * height_m {
                break;
            }
            if off_m < 0.0 {
                lo = share
            } else {
                hi = share
            }
            let slope_m = (self.at(share + 1e-4).position_m.z - self.at(share).position_m.z) / 1e-4;
            let newton = share - off_m / slope_m;
            share = if newton > lo && newton < hi { newton } else { 0.5 * (lo + hi) };
        }
        share
    }
}
