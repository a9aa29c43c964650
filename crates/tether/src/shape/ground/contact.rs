//! Where a taut line lands and lifts off.

use std::cell::Cell;

use beamstay_environment::flow::Flow;
use nalgebra::{SVector, Vector2, Vector3};

use super::{super::relax::NEGLIGIBLE_RATIO, Shape, compose::Parts, loose::Loose, site::Site};
use crate::error::TetherError;

mod newton;

/// Newton steps for one goal.
const NEWTON_STEPS: u32 = 25;
/// Steps of the differences over the slack.
const STEP_RATIOS: [f64; 3] = [1e-3, 3e-5, 3e-2];
/// Tolerance of the parts over that of the whole, and where that leaves too much open.
const PART_TOLERANCES: [f64; 2] = [0.1, 1e-3];
/// Goals on the way.
const STEPS: u32 = 25;
/// Trials without a shape after which there will be none: each costs as much as a hundred that have one.
const FAILURES: u32 = 30;

type Unknowns = SVector<f64, 6>;

/// What is given.
#[derive(Debug, Clone, Copy)]
pub(super) enum Goal {
    /// The unstretched length, m.
    Length(f64),
    /// The tension at the drum exit, N.
    Tension(f64),
}

impl Goal {
    /// Between two goals of one kind.
    fn between(from: Self, to: Self, share: f64) -> Self {
        match (from, to) {
            (Self::Length(a), Self::Length(b)) => Self::Length(a + share * (b - a)),
            (Self::Tension(a), Self::Tension(b)) => Self::Tension(a + share * (b - a)),
            _ => to,
        }
    }
}

/// Where the line lands and lifts off, as far as known: x and y of the landing, length up to there, x and y of the lifting off,
/// length from there on, and the length between.
#[derive(Debug, Clone, Copy)]
pub(super) struct Places {
    unknowns: Unknowns,
    lying_m: f64,
    loose: bool,
}

impl Places {
    /// Where it lands, the length up to there, where it lifts off, the length from there on, and the length between.
    pub(super) fn new(
        lands_m: Vector2<f64>,
        at_drum_m: f64,
        lifts_off_m: Vector2<f64>,
        free_m: f64,
        lying_m: f64,
    ) -> Self {
        let unknowns = Unknowns::new(lands_m.x, lands_m.y, at_drum_m, lifts_off_m.x, lifts_off_m.y, free_m);
        Self { unknowns, lying_m, loose: false }
    }

    /// A shape that touches the ground in one point.
    pub(super) fn touching(shape: &Shape) -> Self {
        let s_m = if shape.force_at_drum_n().z < 0.0 { shape.lowest_s_m() } else { 0.0 };
        Self::at(shape, s_m, s_m)
    }

    /// A shape of which a part lies.
    pub(super) fn of(shape: &Shape) -> Self {
        let (from_m, to_m) = shape.lying.map_or((0.0, 0.0), |lying| (lying.from_m, lying.to_m));
        Self::at(shape, from_m, to_m)
    }

    fn at(shape: &Shape, from_m: f64, to_m: f64) -> Self {
        let (a, b) = (shape.point(from_m), shape.point(to_m));
        let unknowns = Unknowns::new(a.x, a.y, from_m, b.x, b.y, shape.paid_out_m() - to_m);
        Self { unknowns, lying_m: to_m - from_m, loose: shape.lying.is_some_and(|lying| lying.loose_m > 0.0) }
    }

    /// Whether a part of what lies carries no tension.
    pub(super) fn is_loose(&self) -> bool {
        self.loose
    }

    /// Unstretched length, m.
    pub(super) fn length_m(&self) -> f64 {
        self.unknowns[2] + self.lying_m + self.unknowns[5]
    }
}

/// The equations of a line that lies on the ground and pulls on both sides.
pub(super) struct Contact<'a, F: Flow> {
    site: &'a Site<'a, F>,
    friction_n_per_m: f64,
    /// What hangs at the drum if nothing pulls at it.
    loose: Option<&'a Loose>,
    failures: Cell<u32>,
    /// Tolerance of the parts over that of the whole.
    part_tolerance: Cell<f64>,
}

/// Free parts for some values of the unknowns.
#[derive(Clone, Copy)]
struct State {
    at_drum: Option<Shape>,
    free: Shape,
}

impl<'a, F: Flow> Contact<'a, F> {
    pub(super) fn new(site: &'a Site<'a, F>, friction_n_per_m: f64, loose: Option<&'a Loose>) -> Self {
        Self {
            site,
            friction_n_per_m,
            loose,
            failures: Cell::new(0),
            part_tolerance: Cell::new(PART_TOLERANCES[0]),
        }
    }

    /// Whether there is a taut part at the drum.
    fn has_drum_part(&self) -> bool {
        self.site.exit_m().is_some() && self.loose.is_none()
    }

    /// From `near`, which nearly solves the goal.
    pub(super) fn settle(&self, near: Places, goal: Goal) -> Result<Shape, TetherError> {
        let start = self.fixed(near.unknowns);
        let mut last = not_converged(1.0);
        for part_tolerance in PART_TOLERANCES {
            self.part_tolerance.set(part_tolerance);
            self.failures.set(0);
            // Where the parts bend hard, only smaller differences tell their slopes.
            for step_ratio in STEP_RATIOS {
                let mut unknowns = start;
                match self.newton(&mut unknowns, goal, None, step_ratio) {
                    Ok(state) => return self.compose(&unknowns, &state),
                    Err(error) => last = error,
                }
            }
        }
        Err(last)
    }

    /// Puts in what is no unknown.
    fn fixed(&self, mut unknowns: Unknowns) -> Unknowns {
        if let Some(loose) = self.loose {
            let lands_m = -loose.reach_m();
            (unknowns[0], unknowns[1], unknowns[2]) = (lands_m.x, lands_m.y, loose.length_m());
        } else if self.site.exit_m().is_none() {
            (unknowns[0], unknowns[1], unknowns[2]) = (0.0, 0.0, 0.0);
        }
        unknowns
    }

    /// Goes from `start`, which solves the goal `from`, to the goal `to`.
    pub(super) fn reach(&self, start: Places, from: Goal, to: Goal) -> Result<Shape, TetherError> {
        let mut good = self.fixed(start.unknowns);
        let (mut share, mut step) = (0.0, 1.0);
        let mut warm = None;
        for _ in 0..STEPS {
            let next = f64::min(share + step, 1.0);
            let mut unknowns = good;
            match self.newton(&mut unknowns, Goal::between(from, to, next), warm.as_ref(), STEP_RATIOS[0]) {
                Ok(state) => {
                    if next >= 1.0 {
                        return self.compose(&unknowns, &state);
                    }
                    (good, share) = (unknowns, next);
                    warm = Some(state);
                    step *= 2.0;
                }
                Err(error) => {
                    step *= 0.4;
                    if step < 1e-2 {
                        return Err(error);
                    }
                }
            }
        }
        Err(not_converged(1.0))
    }

    fn state(&self, x: &Unknowns, warm: Option<&State>) -> Result<State, TetherError> {
        if self.failures.get() >= FAILURES || self.site.budget.is_spent() {
            return Err(not_converged(1.0));
        }
        let state = self.parts(x, warm);
        self.failures.set(self.failures.get() + u32::from(state.is_err()));
        state
    }

    fn parts(&self, x: &Unknowns, warm: Option<&State>) -> Result<State, TetherError> {
        let mut at_drum = None;
        if self.has_drum_part() {
            match self.drum_part(x, warm.and_then(|w| w.at_drum.as_ref())) {
                Ok(part) => at_drum = Some(part),
                Err(error) => return Err(error),
            }
        }
        match self.free_part(x, warm.map(|w| &w.free)) {
            Ok(free) => Ok(State { at_drum, free }),
            Err(error) => Err(error),
        }
    }

    fn drum_part(&self, x: &Unknowns, warm: Option<&Shape>) -> Result<Shape, TetherError> {
        let end_m = Vector3::new(x[0], x[1], self.site.ground.height_m);
        self.site.part(self.site.flow, end_m, x[2], warm, self.part_tolerance.get())
    }

    fn free_part(&self, x: &Unknowns, warm: Option<&Shape>) -> Result<Shape, TetherError> {
        let raised = self.site.raised();
        let end_m = self.site.end_m - Vector3::new(x[3], x[4], raised.height_m);
        self.site.part(&raised, end_m, x[5], warm, self.part_tolerance.get())
    }

    /// Level where it lands and lifts off; pull along the lying part on both sides, less by friction; and the goal.
    fn residual(&self, x: &Unknowns, state: &State, goal: Goal) -> Unknowns {
        let pull_n = state.free.force_at_drum_n();
        let tension_n = pull_n.norm();
        // A pull that is negligible beside that at the vehicle is only known to a part of the latter.
        let size_n = tension_n.max(NEGLIGIBLE_RATIO * state.free.top_tension_n());
        let way_m = Vector3::new(x[3] - x[0], x[4] - x[1], 0.0);
        let scale_m = self.site.end_m.norm();
        let along = Vector3::new(pull_n.x, pull_n.y, 0.0).normalize();
        let across = Vector3::new(-along.y, along.x, 0.0);
        let lying_m = self.lying_m(way_m.dot(&along), tension_n);
        let landing_n = tension_n - self.friction_n_per_m * lying_m;
        let mut residual = Unknowns::zeros();
        residual[3] = way_m.dot(&across) / scale_m;
        residual[4] = pull_n.z / size_n;
        if let Some(at_drum) = &state.at_drum {
            let arriving_n = at_drum.top_force_n;
            let target_n = landing_n.max(0.0) * along;
            residual[0] = (arriving_n.x - target_n.x) / size_n;
            residual[1] = (arriving_n.y - target_n.y) / size_n;
            residual[2] = arriving_n.z / size_n;
        }
        residual[5] = match goal {
            Goal::Length(length_m) => (x[2] + lying_m + x[5] - length_m) / scale_m,
            Goal::Tension(tension_n) => {
                let drum_n = state.at_drum.as_ref().map_or(landing_n, Shape::drum_tension_n);
                (drum_n - tension_n) / tension_n
            }
        };
        residual
    }

    /// Unstretched length that covers `way_m` with the tension `tension_n` at its far end, m.
    pub(super) fn lying_m(&self, way_m: f64, tension_n: f64) -> f64 {
        let c = self.site.line.compliance_per_n();
        let b = 1.0 + c * tension_n;
        let root = b * b - 2.0 * c * self.friction_n_per_m * way_m;
        let lying_m = 2.0 * way_m / (b + root.max(0.0).sqrt());
        if self.friction_n_per_m * lying_m > tension_n {
            way_m - 0.5 * c * tension_n * tension_n / self.friction_n_per_m
        } else {
            lying_m
        }
    }

    fn compose(&self, x: &Unknowns, state: &State) -> Result<Shape, TetherError> {
        let pull_n = state.free.force_at_drum_n();
        let level_n = Vector3::new(pull_n.x, pull_n.y, 0.0);
        let height_m = if self.site.exit_m().is_some() { self.site.ground.height_m } else { 0.0 };
        let lands_m = Vector3::new(x[0], x[1], height_m);
        let lift_off_m = Vector3::new(x[3], x[4], height_m);
        let way_m = (lift_off_m - lands_m).dot(&level_n.normalize());
        let lying_m = self.lying_m(way_m, level_n.norm());
        if lying_m < -1e-6 * self.site.end_m.norm() {
            return Err(not_converged(-lying_m / self.site.end_m.norm()));
        }
        let lying_m = lying_m.max(0.0);
        // What was taken to hang loose at the drum must find no pull where it lands.
        let landing_ratio = 1.0 - self.friction_n_per_m * lying_m / level_n.norm();
        if self.loose.is_some() && landing_ratio > self.site.options.relative_tolerance {
            return Err(not_converged(landing_ratio));
        }
        let mut parts = Parts::new(
            self.site.line,
            self.site.end_m,
            x[2] + lying_m + x[5],
            self.site.options.relative_tolerance,
        );
        match (&state.at_drum, self.loose) {
            (Some(at_drum), _) => parts.free(at_drum)?,
            (None, Some(loose)) => {
                parts.hanging(loose, Vector3::zeros(), true, |z_m, force_n| self.site.load(z_m, force_n))?
            }
            (None, None) => {}
        }
        let arriving_n = state.at_drum.as_ref().map(|part| part.top_force_n);
        parts.lying(lying_m, pull_n, self.friction_n_per_m, arriving_n, lift_off_m)?;
        parts.free(&state.free)?;
        Ok(parts.finish())
    }
}

fn not_converged(size: f64) -> TetherError {
    TetherError::NotConverged { iterations_count: NEWTON_STEPS, force_error_ratio: size, end_error_m: 0.0 }
}
