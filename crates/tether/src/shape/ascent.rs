//! A line followed from the drum up to a height, from the force with which it leaves: nothing is searched for.

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

/// Turn of the line in one step, rad, and load on it, over the tension.
const TURN: f64 = 0.2;
const LOADED: f64 = 0.2;
/// Longest step, over the height.
const LONGEST: f64 = 0.1;
/// Part of its height over the drum, and of the whole, that a step climbs at most: shear is strongest below.
const SHEAR: (f64, f64) = (0.7, 0.03);
/// Most steps.
const STEPS: usize = 400;
/// Corrections of the last step.
const LAST: usize = 3;

/// What a line is followed for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ascending {
    /// Height of the vehicle over the drum exit, m; above 0.
    pub height_m: f64,
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
}

/// Follows the line that leaves the drum with `drum_force_n`, by the classical Runge-Kutta method with steps of a limited turn: end
/// and forces are good to some 10⁻⁴ of themselves. Upwards, where the tension grows, errors fade. `None` for a line that does not reach
/// the height with the length or above the depth of `asked`.
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
/// let asked = Ascending { height_m: 40.0, longest_m: 100.0, counted_from_m: 0.0, deepest_m: -1.0 };
/// let ascent = ascend(&line, &calm, Vector3::new(3.0, 0.0, 4.0), &asked)?.unwrap();
/// assert!((ascent.paid_out_m - 50.0).abs() < 1e-6 && (ascent.end_m.x - 30.0).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn ascend(
    line: &Line,
    flow: &impl Flow,
    drum_force_n: Vector3<f64>,
    asked: &Ascending,
) -> Result<Option<Ascent>, TetherError> {
    let above_m = Vector3::new(0.0, 0.0, asked.height_m);
    check(line, &above_m, &super::Options::default())?;
    let budget = Budget::new(u64::MAX);
    let problem = Problem::new(line, flow, above_m, Held::Length, &budget);
    Ok(Climber::new(&problem, asked, drum_force_n).and_then(Climber::climb))
}

/// A line on its way.
struct Climber<'a, 'b, F: Flow> {
    problem: &'b Problem<'a, F>,
    asked: &'b Ascending,
    state: State,
    paid_out_m: f64,
    ascent: Ascent,
}

impl<'a, 'b, F: Flow> Climber<'a, 'b, F> {
    fn new(problem: &'b Problem<'a, F>, asked: &'b Ascending, drum_force_n: Vector3<f64>) -> Option<Self> {
        let ascent = Ascent {
            end_m: Vector3::zeros(),
            drum_force_n,
            top_force_n: drum_force_n,
            paid_out_m: 0.0,
            max_tension_n: 0.0,
            max_curvature_per_m: 0.0,
            lowest_m: f64::INFINITY,
        };
        let state = State { position_m: Vector3::zeros(), force_n: drum_force_n };
        let pulls = drum_force_n.norm() > 0.0 && drum_force_n.iter().all(|part| part.is_finite());
        pulls.then_some(Self { problem, asked, state, paid_out_m: 0.0, ascent })
    }

    fn climb(mut self) -> Option<Ascent> {
        for _ in 0..STEPS {
            let slope = self.state.slope(self.problem);
            self.look(&slope);
            let step_m = self.step_m(&slope);
            let next = self.state.after(self.problem, &slope, step_m);
            let (from_m, to_m) = (self.state.position_m.z, next.position_m.z);
            if to_m >= self.asked.height_m {
                let share = (self.asked.height_m - from_m) / (to_m - from_m);
                return Some(self.arrive(&slope, share * step_m));
            }
            self.take(&slope, next, step_m);
            if !(to_m >= self.asked.deepest_m && self.paid_out_m <= self.asked.longest_m) {
                return None;
            }
        }
        None
    }

    /// Shortens the last step until it ends at the height.
    fn arrive(&mut self, slope: &State, mut step_m: f64) -> Ascent {
        let mut end = self.state.after(self.problem, slope, step_m);
        for _ in 0..LAST {
            let gradient = Pull::new(&end.force_n, self.problem.compliance_per_n).gradient();
            step_m += (self.asked.height_m - end.position_m.z) / gradient.z.max(0.05);
            end = self.state.after(self.problem, slope, step_m);
            if (self.asked.height_m - end.position_m.z).abs() <= 1e-9 * self.asked.height_m {
                break;
            }
        }
        self.take(slope, end, step_m);
        let slope = self.state.slope(self.problem);
        self.look(&slope);
        self.ascent.end_m = self.state.position_m;
        self.ascent.top_force_n = self.state.force_n;
        self.ascent.paid_out_m = self.paid_out_m;
        self.ascent.lowest_m = self.ascent.lowest_m.min(self.state.position_m.z);
        self.ascent
    }

    /// Length of the next step, m; one ends where the lowest place begins to count.
    fn step_m(&self, slope: &State) -> f64 {
        let height_m = self.asked.height_m;
        let turn_m = TURN / self.curvature_per_m(slope).max(f64::MIN_POSITIVE);
        let loaded_m = LOADED * self.state.force_n.norm() / slope.force_n.norm().max(f64::MIN_POSITIVE);
        let shear_m = SHEAR.0 * self.state.position_m.z.abs() + SHEAR.1 * height_m;
        let step_m = turn_m.min(loaded_m).min(shear_m).min(LONGEST * height_m);
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

    /// Goes on to the end of a step.
    fn take(&mut self, slope: &State, next: State, step_m: f64) {
        let counted = self.paid_out_m >= self.asked.counted_from_m * (1.0 - 1e-9);
        self.paid_out_m += step_m;
        if counted {
            let falls = slope.position_m.z;
            let rises = Pull::new(&next.force_n, self.problem.compliance_per_n).gradient().z;
            let mut lowest_m = self.state.position_m.z.min(next.position_m.z);
            if falls < 0.0 && rises > 0.0 {
                lowest_m = self.state.position_m.z + 0.5 * falls * step_m * falls / (falls - rises);
            }
            self.ascent.lowest_m = self.ascent.lowest_m.min(lowest_m);
        }
        self.state = next;
    }
}
