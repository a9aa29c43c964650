//! Where a line that lies lands and lifts off, nearly: by shooting from the level pull at the lift-off, one number and a
//! direction, instead of six places. Newton's method on the parts starts from there.

use beamstay_environment::flow::Flow;
use beamstay_numerics::root::{Tolerance, bracketed_from};
use nalgebra::{Vector2, Vector3};

use super::{
    super::load::{Pull, load_n_per_m, weight_n_per_m},
    contact::{Contact, Goal, Places},
    site::Site,
    stiff,
};
use crate::line::Line;

/// How many more steps a line takes that the wind holds at one angle.
const STIFF_STEPS: usize = 4;
/// Evaluations of the flow that a stiff step costs, its algebra included.
const STIFF_WORK: usize = 60;
/// Turns of the direction for one pull.
const TURNS: u32 = 32;
/// Change of the direction that tells how the line swings.
const NUDGE_RAD: f64 = 1e-4;
/// Pulls at the lift-off that are next to nothing, over the weight of a line that is as long as the vehicle is high.
const LEAST_PULL_RATIOS: [f64; 2] = [1e-4, 1e-8];
/// The pull is raised by this until it is too much, and most often so often.
const FACTOR: f64 = 10.0;
const MOST_FACTORS: u32 = 30;
/// How near the pull and the places are sought: what follows is exact.
const ROOT_LN: f64 = 1e-5;
const NEAR: f64 = 1e-6;
/// Steepness that a step counts with at least.
const LEAST_CLIMB: f64 = 1e-6;

/// A line that leaves the ground level with a pull: how far it reaches, how long it is and how hard it pulls at a height.
#[derive(Debug, Clone, Copy)]
struct Rise {
    reach_m: Vector2<f64>,
    length_m: f64,
    top_n: f64,
}

impl Rise {
    /// From a pull of `level_n` to `height_m` in a flow whose heights count from the ground. The variable is that of a catenary,
    /// z = a (cosh u − 1), in which its steps are even however tight it bends. By Runge's and Kutta's fourth-order method or, for
    /// a line that the wind holds at one angle, in many stiff steps.
    fn new<F: Flow>(
        site: &Site<'_, F>,
        flow: &impl Flow,
        level_n: Vector2<f64>,
        height_m: f64,
    ) -> Option<Self> {
        let is_stiff = site.is_fine();
        let climb = Climb::new(site.line, flow, level_n);
        let last = (1.0 + height_m / climb.a_m).acosh();
        if !(last.is_finite() && last > 0.0) {
            return None;
        }
        let steps = (16 + (3.0 * last) as usize) * if is_stiff { STIFF_STEPS } else { 1 };
        site.budget.spend(steps * if is_stiff { STIFF_WORK } else { 4 });
        if site.budget.is_spent() {
            return None;
        }
        let mut rise = Self { reach_m: Vector2::zeros(), length_m: 0.0, top_n: 0.0 };
        let mut force_n = Vector3::new(level_n.x, level_n.y, 0.0);
        let step = last / steps as f64;
        for i in 0..steps {
            let u = i as f64 * step;
            let after = if is_stiff {
                rise.stiff_step(&climb, u, step, force_n)
            } else {
                rise.step(&climb, u, step, force_n)
            };
            force_n = after;
        }
        rise.top_n = force_n.norm();
        (rise.length_m.is_finite() && rise.top_n.is_finite()).then_some(rise)
    }

    /// The pull after one step.
    fn step<F: Flow>(
        &mut self,
        climb: &Climb<'_, F>,
        u: f64,
        step: f64,
        force_n: Vector3<f64>,
    ) -> Vector3<f64> {
        let (r1, f1, s1) = climb.at(u, &force_n);
        let (r2, f2, s2) = climb.at(u + 0.5 * step, &(force_n + 0.5 * step * f1));
        let (r3, f3, s3) = climb.at(u + 0.5 * step, &(force_n + 0.5 * step * f2));
        let (r4, f4, s4) = climb.at(u + step, &(force_n + step * f3));
        self.reach_m += step / 6.0 * (r1 + 2.0 * (r2 + r3) + r4);
        self.length_m += step / 6.0 * (s1 + 2.0 * (s2 + s3) + s4);
        force_n + step / 6.0 * (f1 + 2.0 * (f2 + f3) + f4)
    }

    /// The same where the pull turns within a hair.
    fn stiff_step<F: Flow>(
        &mut self,
        climb: &Climb<'_, F>,
        u: f64,
        step: f64,
        force_n: Vector3<f64>,
    ) -> Vector3<f64> {
        let [third_n, end_n] = stiff::pulls_n(u, step, &force_n, |u, force_n| climb.at(u, force_n).1);
        let (r1, _, s1) = climb.at(u + step / 3.0, &third_n);
        let (r2, _, s2) = climb.at(u + step, &end_n);
        self.reach_m += stiff::sum(step, r1, r2);
        self.length_m += stiff::sum(step, s1, s2);
        end_n
    }
}

/// Changes of a line that rises from the ground with the variable of its steps.
struct Climb<'a, F: Flow> {
    line: &'a Line,
    flow: &'a F,
    /// Height over which it bends away from the ground, m.
    a_m: f64,
    /// Length over that variable where both are 0, m.
    start_m: f64,
}

impl<'a, F: Flow> Climb<'a, F> {
    /// A line bends over the length pull/load, and rises over it by the share of the weight in the load.
    fn new(line: &'a Line, flow: &'a F, level_n: Vector2<f64>) -> Self {
        let sample = flow.at(0.0);
        let pull = Pull::new(&Vector3::new(level_n.x, level_n.y, 0.0), line.compliance_per_n());
        let weight_n_per_m = weight_n_per_m(line, sample.density_kg_m3);
        let load = load_n_per_m(line, &sample, &pull);
        let a_m = pull.tension_n * weight_n_per_m / load.norm_squared();
        let start_m = (pull.tension_n * a_m / (weight_n_per_m * pull.stretch_ratio)).sqrt();
        Self { line, flow, a_m, start_m }
    }

    /// Changes of place over the ground, pull and length.
    fn at(&self, u: f64, force_n: &Vector3<f64>) -> (Vector2<f64>, Vector3<f64>, f64) {
        let pull = Pull::new(force_n, self.line.compliance_per_n());
        let gradient = pull.gradient();
        let load = load_n_per_m(self.line, &self.flow.at(self.a_m * (u.cosh() - 1.0)), &pull);
        // Level at the ground, where both are 0: their quotient.
        let metres = if u > 0.0 { self.a_m * u.sinh() / gradient.z.max(LEAST_CLIMB) } else { self.start_m };
        (metres * gradient.xy(), -metres * load, metres)
    }
}

/// What follows from a pull at the lift-off.
#[derive(Debug, Clone, Copy)]
struct Found {
    /// Direction in which the line lies and is pulled.
    angle_rad: f64,
    lands_m: Vector2<f64>,
    at_drum: Option<Rise>,
    lifts_off_m: Vector2<f64>,
    free: Rise,
    lying_m: f64,
    /// Pull where it lands, N.
    landing_n: f64,
    /// Change of [`Self::aside_m`] with the direction, as far as known, m.
    swing_m: f64,
}

impl Found {
    /// How far the lift-off is beside the direction of the pull, seen from the landing, m.
    fn aside_m(&self) -> f64 {
        let along = Vector2::new(self.angle_rad.cos(), self.angle_rad.sin());
        (self.lifts_off_m - self.lands_m).perp(&along)
    }

    fn length_m(&self) -> f64 {
        self.at_drum.map_or(0.0, |rise| rise.length_m) + self.lying_m + self.free.length_m
    }

    fn drum_tension_n(&self) -> f64 {
        self.at_drum.map_or(self.landing_n, |rise| rise.top_n)
    }
}

/// Places for a goal; `None` where they are not found, or the line would hang free. Also the pull that is left where it lands, N.
pub(super) fn places<F: Flow>(
    site: &Site<'_, F>,
    friction_n_per_m: f64,
    goal: Goal,
) -> Option<(Places, f64)> {
    let found = Shooting { site, friction_n_per_m }.root(|found| match goal {
        Goal::Length(length_m) => 1.0 - found.length_m() / length_m,
        Goal::Tension(tension_n) => found.drum_tension_n() / tension_n - 1.0,
    })?;
    let lying_m = found.lying_m;
    if lying_m < -1e-6 * site.end_m.norm() {
        return None;
    }
    let at_drum_m = found.at_drum.map_or(0.0, |rise| rise.length_m);
    let places =
        Places::new(found.lands_m, at_drum_m, found.lifts_off_m, found.free.length_m, lying_m.max(0.0));
    Some((places, found.landing_n))
}

/// Length of the line that only just touches the ground, nearly, m.
pub(super) fn touching_length_m<F: Flow>(site: &Site<'_, F>) -> Option<f64> {
    let scale_m = site.end_m.norm();
    let touching = Shooting { site, friction_n_per_m: 0.0 }.root(|found| -found.lying_m / scale_m)?;
    Some(touching.length_m())
}

struct Shooting<'a, 'b, F: Flow> {
    site: &'a Site<'b, F>,
    friction_n_per_m: f64,
}

impl<F: Flow> Shooting<'_, '_, F> {
    /// What has no miss, which rises with the pull at the lift-off: less line, more drum tension. From a pull that is next to
    /// nothing, up.
    fn root(&self, miss: impl Fn(&Found) -> f64) -> Option<Found> {
        let site = self.site;
        let weight_n_per_m = weight_n_per_m(site.line, site.flow.at(site.ground.height_m).density_kg_m3);
        let scale_n = weight_n_per_m * (site.end_m.z - site.ground.height_m);
        let mut lo = LEAST_PULL_RATIOS
            .iter()
            .filter_map(|ratio| Some((ratio * scale_n, self.first(ratio * scale_n)?)))
            .find(|(_, found)| miss(found) < 0.0)?;
        let mut hi = None;
        for _ in 0..MOST_FACTORS {
            let pull_n = FACTOR * lo.0;
            let found = self.found(pull_n, &lo.1)?;
            if miss(&found) >= 0.0 {
                hi = Some((pull_n, found));
                break;
            }
            lo = (pull_n, found);
        }
        let hi = hi?;
        let (lo_ln, hi_ln) = (lo.0.ln(), hi.0.ln());
        // The direction hardly turns within a factor of the pull.
        let mut near = hi.1;
        let mut at = |pull_ln: f64| {
            let share = (pull_ln - lo_ln) / (hi_ln - lo_ln);
            near.angle_rad = lo.1.angle_rad + share * (hi.1.angle_rad - lo.1.angle_rad);
            near = self.found(pull_ln.exp(), &near)?;
            Some(near)
        };
        let tolerance = Tolerance { x_abs: ROOT_LN, x_rel: 0.0, max_evaluations_count: 60 };
        let root = bracketed_from(
            |pull_ln| at(pull_ln).map_or(f64::NAN, |found| miss(&found)),
            (lo_ln, miss(&lo.1)),
            (hi_ln, miss(&hi.1)),
            tolerance,
        );
        at(root.ok()?.x)
    }

    /// What follows from a pull that is next to nothing: the free part does not turn with it, so the direction is that of the
    /// lying part.
    fn first(&self, pull_n: f64) -> Option<Found> {
        let mut near = self.laid(pull_n, 0.0, self.site.end_m.y.atan2(self.site.end_m.x))?;
        for _ in 0..3 {
            let way_m = near.lifts_off_m - near.lands_m;
            near = self.laid(pull_n, 0.0, way_m.y.atan2(way_m.x))?;
        }
        let beside = self.laid(pull_n, near.landing_n, near.angle_rad + NUDGE_RAD)?;
        near.swing_m = (beside.aside_m() - near.aside_m()) / NUDGE_RAD;
        self.found(pull_n, &near)
    }

    /// What follows from a pull: the direction is sought, near that of another pull, in which the line lies along its own pull.
    fn found(&self, pull_n: f64, near: &Found) -> Option<Found> {
        let scale_m = self.site.end_m.norm();
        let mut now = self.laid(pull_n, near.landing_n.min(pull_n), near.angle_rad)?;
        now.swing_m = near.swing_m;
        let mut landing_n = now.landing_n;
        for turn in 0..TURNS {
            // Where much friction and a bight at the drum answer each other, half-way meets sooner.
            landing_n = if turn < TURNS / 4 { now.landing_n } else { 0.5 * (landing_n + now.landing_n) };
            let here_m = now.aside_m();
            let turn_rad = -(here_m / now.swing_m).clamp(-0.4, 0.4);
            let mut next = self.laid(pull_n, landing_n, now.angle_rad + turn_rad)?;
            let chord_m = (next.aside_m() - here_m) / turn_rad;
            next.swing_m = match chord_m.is_finite() && chord_m.abs() > 1e-3 * now.swing_m.abs() {
                true => chord_m,
                false => now.swing_m,
            };
            let settled = (next.landing_n - landing_n).abs() <= NEAR * pull_n;
            if settled && next.aside_m().abs() <= NEAR * scale_m {
                return Some(next);
            }
            now = next;
        }
        None
    }

    /// The parts for a pull, a direction and what is left of the pull where the line lands.
    fn laid(&self, pull_n: f64, landing_n: f64, angle_rad: f64) -> Option<Found> {
        let along = &Vector2::new(angle_rad.cos(), angle_rad.sin());
        let site = self.site;
        let raised = site.raised();
        let free = Rise::new(site, &raised, pull_n * along, site.end_m.z - raised.height_m)?;
        let lifts_off_m = site.end_m.xy() - free.reach_m;
        let at_drum = match site.exit_m() {
            Some(exit_m) => Some(Rise::new(site, &raised, -landing_n.max(1e-7 * pull_n) * along, exit_m)?),
            None => None,
        };
        let lands_m = at_drum.map_or(Vector2::zeros(), |rise| -rise.reach_m);
        let way_m = (lifts_off_m - lands_m).dot(along);
        let lying_m = Contact::new(site, self.friction_n_per_m, None).lying_m(way_m, pull_n);
        let landing_n = (pull_n - self.friction_n_per_m * lying_m.max(0.0)).max(0.0);
        Some(Found { angle_rad, lands_m, at_drum, lifts_off_m, free, lying_m, landing_n, swing_m: f64::NAN })
    }
}
