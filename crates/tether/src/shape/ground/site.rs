//! A line over a ground that it reaches, and the ways to its shape.

use beamstay_environment::flow::Flow;
use beamstay_numerics::domain::in_range;
use nalgebra::Vector3;

use super::{
    super::{
        Options, Shape,
        budget::Budget,
        check,
        load::{Pull, load_n_per_m, weight_n_per_m},
        relax::{Held, Problem},
        solve_checked,
        tension::touching,
        thorough::Thorough,
    },
    Ground,
    compose::{Parts, between},
    contact::{Contact, Goal, Places},
    loose::{Loose, MORE_STEPS, STEPS},
    raised::Raised,
    rise,
};
use crate::{error::TetherError, line::Line};

/// Drum exits lower than this above the ground count as on it, m: the bight there would be too flat to be told.
const ON_GROUND_M: f64 = 0.05;

/// Estimated error over the tolerance with which a shape is still handed out: loose parts are summed on a fixed number of steps,
/// and what hangs from the drum counts by its own small tension.
const LOOSE_MARGIN: f64 = 30.0;

/// A line over a ground that it reaches.
pub(super) struct Site<'a, F: Flow> {
    pub line: &'a Line,
    pub flow: &'a F,
    pub ground: &'a Ground,
    pub end_m: Vector3<f64>,
    pub options: Options,
    pub budget: &'a Budget,
    /// Steps of what hangs loose.
    loose_steps: usize,
}

impl<'a, F: Flow> Site<'a, F> {
    pub(super) fn new(
        line: &'a Line,
        flow: &'a F,
        ground: &'a Ground,
        end_m: Vector3<f64>,
        options: &Options,
        budget: &'a Budget,
    ) -> Result<Self, TetherError> {
        check(line, &end_m, options)?;
        let over_m = end_m.z - ground.height_m;
        in_range("height of the vehicle above the ground", "m", over_m, 1e-3, 1e5)?;
        Ok(Self { line, flow, ground, end_m, options: *options, budget, loose_steps: STEPS })
    }

    /// The same with finer steps of what hangs loose.
    pub(super) fn finer(&self) -> Self {
        Self { loose_steps: MORE_STEPS, ..*self }
    }

    /// Whether steps are fine and stiff.
    pub(super) fn is_fine(&self) -> bool {
        self.loose_steps > STEPS
    }

    /// Height of the drum exit over the ground, m; none if it is on it.
    pub(super) fn exit_m(&self) -> Option<f64> {
        (-self.ground.height_m > ON_GROUND_M).then_some(-self.ground.height_m)
    }

    pub(super) fn friction_n_per_m(&self) -> f64 {
        let weight = weight_n_per_m(self.line, self.flow.at(self.ground.height_m).density_kg_m3);
        self.ground.friction_ratio * weight.max(0.0)
    }

    pub(super) fn contact(&self, friction_n_per_m: f64) -> Contact<'_, F> {
        Contact::new(self, friction_n_per_m, None)
    }

    /// What hangs from the drum exit with nothing that holds its lower end; none if the exit is on the ground.
    pub(super) fn loose_at_drum(&self) -> Result<Option<Loose>, TetherError> {
        self.exit_m()
            .map(|exit_m| Loose::new(self.line, &self.raised(), exit_m, self.loose_steps))
            .transpose()
    }

    /// The tension that what hangs from the drum exit down to the ground needs, N.
    pub(super) fn least_drum_tension_n(&self) -> Result<f64, TetherError> {
        Ok(self.loose_at_drum()?.map_or(0.0, |loose| loose.top_tension_n()))
    }

    /// The flow above the ground.
    pub(super) fn raised(&self) -> Raised<'_, F> {
        let height_m = self.exit_m().map_or(0.0, |_| self.ground.height_m);
        Raised::new(self.flow, height_m)
    }

    /// The shape that only just touches the ground; `slack` is a longer one that hangs through it.
    pub(super) fn touching(&self, slack: &Shape) -> Result<Shape, TetherError> {
        let problem = Problem::new(self.line, self.flow, self.end_m, Held::Length, self.budget);
        let gap = |shape: &Shape| match self.exit_m() {
            Some(_) if shape.force_at_drum_n().z < 0.0 => {
                shape.clearance_m(self.ground.height_m, 0.0) / shape.paid_out_m()
            }
            Some(exit_m) => exit_m / shape.paid_out_m() + shape.force_at_drum_n().z / shape.drum_tension_n(),
            None => shape.force_at_drum_n().z / shape.drum_tension_n(),
        };
        touching(&problem, &self.options, slack, gap)
    }

    pub(super) fn touching_places(&self, slack: &Shape) -> Result<Places, TetherError> {
        self.touching(slack).map(|shape| Places::touching(&shape))
    }

    /// The shape with a length, where it comes without a start: slack, or by shooting.
    pub(super) fn directly(&self, length_m: f64) -> Result<Option<Shape>, TetherError> {
        // In one go, as below: a shape and what hangs loose are large, and a question mark would copy them.
        match self.loose_at_drum() {
            Ok(at_drum) => match self.finished_slack(length_m, at_drum.as_ref()) {
                Ok(None) => Ok(self.shot(Goal::Length(length_m), at_drum.as_ref())),
                known => known,
            },
            Err(error) => Err(error),
        }
    }

    /// As [`Self::slack`], known well enough.
    fn finished_slack(&self, length_m: f64, at_drum: Option<&Loose>) -> Result<Option<Shape>, TetherError> {
        let raised = self.raised();
        let loose = Loose::new(self.line, &raised, self.end_m.z - raised.height_m, self.loose_steps)?;
        let Some(shape) = self.slack(length_m, &loose, at_drum, None)? else { return Ok(None) };
        match self.finished(shape) {
            Err(TetherError::NotConverged { .. }) if self.is_fine() => {
                let hanging = self.hanging(&loose)?;
                let shape = self.slack(length_m, &loose, at_drum, Some(&hanging))?;
                shape.map(|shape| self.finished(shape)).transpose()
            }
            finished => finished.map(Some),
        }
    }

    /// The shape with a length; `start` gives places from which to look for those where a taut line lands and lifts off.
    pub(super) fn by_length(
        &self,
        length_m: f64,
        start: impl FnOnce() -> Result<Places, TetherError>,
    ) -> Result<Shape, TetherError> {
        match self.directly(length_m) {
            Ok(None) => self.reached(length_m, start()?),
            Ok(Some(shape)) => Ok(shape),
            Err(error) => Err(error),
        }
    }

    /// The shape with a length that does not come without a start, from places where it may land and lift off.
    pub(super) fn reached(&self, length_m: f64, start: Places) -> Result<Shape, TetherError> {
        match self.loose_at_drum() {
            Ok(at_drum) => self.reached_with(at_drum.as_ref(), length_m, start),
            Err(error) => Err(error),
        }
    }

    /// The same with what hangs loose at the drum.
    fn reached_with(
        &self,
        at_drum: Option<&Loose>,
        length_m: f64,
        start: Places,
    ) -> Result<Shape, TetherError> {
        let friction_n_per_m = self.friction_n_per_m();
        let (from, goal) = (Goal::Length(start.length_m()), Goal::Length(length_m));
        if let Some(at_drum) = at_drum.filter(|_| start.is_loose())
            && let Ok(shape) = self.reach(friction_n_per_m, Some(at_drum), start, from, goal)
        {
            return Ok(shape);
        }
        match at_drum.filter(|_| friction_n_per_m > 0.0) {
            Some(at_drum) => self.held_back(friction_n_per_m, at_drum, start, from, goal),
            None => self.reach(friction_n_per_m, None, start, from, goal),
        }
    }

    /// With friction the line may have no tension left where it lands: then what hangs from the drum hangs loose.
    fn held_back(
        &self,
        friction_n_per_m: f64,
        at_drum: &Loose,
        start: Places,
        from: Goal,
        goal: Goal,
    ) -> Result<Shape, TetherError> {
        let smooth = |smooth: Shape| (Places::of(&smooth), has_tension_left(&smooth, friction_n_per_m));
        let (start, is_taut) = self.contact(0.0).reach(start, from, goal).map(smooth)?;
        if is_taut
            && let Ok(shape) = self.contact(friction_n_per_m).reach(start, goal, goal)
            && shape.lying.is_some_and(|lying| lying.loose_m <= 0.0)
        {
            return self.finished(shape);
        }
        self.reach(friction_n_per_m, Some(at_drum), start, goal, goal)
    }

    /// The shape that the equations of a line that lies lead to; `loose` is what hangs at the drum if nothing pulls at it.
    fn reach(
        &self,
        friction_n_per_m: f64,
        loose: Option<&Loose>,
        start: Places,
        from: Goal,
        goal: Goal,
    ) -> Result<Shape, TetherError> {
        let reached = Contact::new(self, friction_n_per_m, loose).reach(start, from, goal);
        reached.and_then(|shape| self.finished(shape))
    }

    /// The shape by shooting, if it comes that way.
    pub(super) fn shot(&self, goal: Goal, at_drum: Option<&Loose>) -> Option<Shape> {
        let friction_n_per_m = self.friction_n_per_m();
        let (places, landing_n) = rise::places(self, friction_n_per_m, goal)?;
        let loose = at_drum.filter(|_| friction_n_per_m > 0.0 && landing_n <= 0.0);
        let shape = Contact::new(self, friction_n_per_m, loose).settle(places, goal).ok()?;
        // Taut or loose where it lands, as it was sought.
        let is_loose = shape.lying.is_some_and(|lying| lying.loose_m > 0.0);
        (self.exit_m().is_none() || is_loose == loose.is_some()).then_some(())?;
        self.finished(shape).ok()
    }

    /// What hangs from the vehicle, with nothing that holds its lower end, by Newton's method from what steps led to.
    fn hanging(&self, loose: &Loose) -> Result<Shape, TetherError> {
        let raised = self.raised();
        let problem = Problem {
            is_loose: true,
            ..Problem::new(self.line, &raised, loose.reach_m(), Held::Length, self.budget)
        };
        let length_m = loose.length_m();
        let force_n = |place: f64| between(loose, place * length_m).1;
        let tolerance = self.options.relative_tolerance;
        Thorough::new(length_m).hang(&problem, tolerance, &loose.mesh(&raised), force_n)
    }

    /// The shape with more length than a taut line could use, if it is one; `hanging` is what hangs from the vehicle where that is
    /// known better.
    fn slack(
        &self,
        length_m: f64,
        loose: &Loose,
        at_drum: Option<&Loose>,
        hanging: Option<&Shape>,
    ) -> Result<Option<Shape>, TetherError> {
        let lift_off_m = self.end_m - hanging.map_or(loose.reach_m(), |hanging| hanging.end_m);
        let lands_m = at_drum.map_or(Vector3::zeros(), |l| -l.reach_m());
        let hanging_m = hanging.map_or(loose.length_m(), Shape::paid_out_m);
        let lying_m = length_m - hanging_m - at_drum.map_or(0.0, Loose::length_m);
        let gap_m = (lift_off_m - lands_m).xy().norm();
        if lying_m < gap_m {
            return Ok(None);
        }
        let mut parts = Parts::new(self.line, self.end_m, length_m, self.options.relative_tolerance);
        let load = |z_m: f64, force_n: &Vector3<f64>| self.load(z_m, force_n);
        if let Some(at_drum) = at_drum {
            parts.hanging(at_drum, Vector3::zeros(), true, load)?;
        }
        parts.folded(lying_m, lift_off_m)?;
        match hanging {
            Some(hanging) => parts.free(hanging)?,
            None => parts.hanging(loose, lift_off_m, false, load)?,
        }
        Ok(Some(parts.finish()))
    }

    /// Load on a loose line at a height over the ground with a pull upwards, N/m.
    pub(super) fn load(&self, z_m: f64, force_n: &Vector3<f64>) -> Vector3<f64> {
        let pull = Pull::new(force_n, self.line.compliance_per_n());
        load_n_per_m(self.line, &self.raised().at(z_m), &pull)
    }

    /// Refuses a shape whose free parts come down to the ground once more, and one whose loose parts are not known well enough.
    pub(super) fn finished(&self, shape: Shape) -> Result<Shape, TetherError> {
        let depth_m = -shape.clearance_m(self.ground.height_m, 0.0);
        if depth_m > 1e-5 * shape.paid_out_m() {
            return Err(TetherError::TouchesTwice { depth_m });
        }
        let is_loose = shape.lying.is_some_and(|lying| lying.loose_m > 0.0);
        let tolerance = self.options.relative_tolerance;
        if is_loose && !shape.holds(self.line, self.flow, tolerance)
            || shape.error_estimate_ratio > LOOSE_MARGIN * tolerance
        {
            return Err(TetherError::NotConverged {
                iterations_count: shape.iterations_count,
                force_error_ratio: shape.error_estimate_ratio,
                end_error_m: 0.0,
            });
        }
        Ok(shape)
    }

    /// A free part, solved finer than asked for, to a share of its tolerance.
    pub(super) fn part(
        &self,
        flow: &impl Flow,
        end_m: Vector3<f64>,
        length_m: f64,
        warm: Option<&Shape>,
        share: f64,
    ) -> Result<Shape, TetherError> {
        let distance_m = end_m.norm();
        if self.line.axial_stiffness_n.is_none() && length_m <= distance_m {
            return Err(TetherError::TooShort { length_m, distance_m });
        }
        let problem = Problem::new(self.line, flow, end_m, Held::Length, self.budget);
        let tolerance = (share * self.options.relative_tolerance).clamp(1e-10, 1e-7);
        solve_checked(&problem, length_m, tolerance, warm)
    }
}

/// Whether friction would leave a line that lies without any some tension where it lands.
fn has_tension_left(smooth: &Shape, friction_n_per_m: f64) -> bool {
    let (length_m, to_m) = smooth.lying.map_or((0.0, 0.0), |lying| (lying.length_m(), lying.to_m));
    friction_n_per_m * length_m < smooth.tension_n(to_m)
}
