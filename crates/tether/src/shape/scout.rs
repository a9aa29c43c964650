//! A rough but sure look along the curve of all shapes between drum and vehicle, from taut to slack: where it has a drum tension,
//! a length, its least drum tension.
//!
//! The line is shot from the drum ([`super::shot`]). Force at the drum and length are four unknowns for the three coordinates
//! of the vehicle; their solutions are a curve that is followed by its tangent and Newton's method (E. L. Allgower, K. Georg,
//! *Numerical Continuation Methods*, 1990, ch. 2), through the fold at the least drum tension.

use beamstay_environment::flow::Flow;
use nalgebra::{Matrix3, Vector3};

use super::{load::Pull, relax::Problem, shot::Shot, start};

/// Missed distance, over the length, that is near enough.
const NEAR_RATIO: f64 = 1e-5;
/// Corrections at one place of the curve.
const CORRECTIONS: u32 = 8;
/// Step of the drum force for a difference, over the force.
const DIFFERENCE: f64 = 1e-6;
/// Where a quantity of the size of one is taken for zero.
const SMALL: f64 = 1e-3;
/// Places of the curve that are looked at.
const PLACES: u32 = 60;
/// Step along the curve: one is a change of force or slack by a factor of e.
const STRIDE: f64 = 0.6;
/// Length over distance at which the search ends.
const LONGEST_RATIO: f64 = 12.0;

/// One place of the curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub drum_force_n: Vector3<f64>,
    pub length_m: f64,
    /// Change of drum force and length along the curve, towards more length.
    along: Along,
}

/// A change of drum force and length.
#[derive(Debug, Clone, Copy)]
struct Along {
    force_n: Vector3<f64>,
    length_m: f64,
}

impl Place {
    pub(super) fn drum_tension_n(&self) -> f64 {
        self.drum_force_n.norm()
    }

    /// Change of the drum tension along the curve, N.
    fn rise_n(&self) -> f64 {
        self.drum_force_n.dot(&self.along.force_n) / self.drum_tension_n()
    }

    /// Change of the drum tension with the length, N/m.
    pub(super) fn tension_by_length_n_per_m(&self) -> f64 {
        self.rise_n() / self.along.length_m
    }
}

/// What is held while a place is corrected.
#[derive(Debug, Clone, Copy)]
enum Hold {
    Tension(f64),
    Length(f64),
    /// The way along the curve from a place.
    Way(Along),
}

/// What the curve says about a drum tension or a length.
#[derive(Debug, Clone, Copy)]
pub(super) enum Found {
    /// There it is, on the side of the shorter length.
    Place(Place),
    /// The curve turns at this place before it comes to the drum tension.
    Least(Place),
}

/// Follows the curve.
pub(super) struct Scout<'a, 'b, F: Flow> {
    problem: &'b Problem<'a, F>,
    shot: Shot,
}

impl<'a, 'b, F: Flow> Scout<'a, 'b, F> {
    pub(super) fn new(problem: &'b Problem<'a, F>) -> Self {
        Self { problem, shot: Shot::new() }
    }

    /// The last shot.
    pub(super) fn shot(&self) -> &Shot {
        &self.shot
    }

    /// The place with a drum tension, or the one with the least. `None` if the curve is lost.
    pub(super) fn at_tension(&mut self, tension_n: f64) -> Option<Found> {
        let first = self.taut(tension_n)?;
        if first.drum_tension_n() <= tension_n * (1.0 + 1e-9) && first.rise_n() < 0.0 {
            return Some(Found::Place(first));
        }
        self.follow(first, tension_n)
    }

    /// The place with a length. `None` if the curve is lost.
    pub(super) fn at_length(&mut self, length_m: f64) -> Option<Place> {
        let mut place = self.taut(0.0)?;
        let mut stride = STRIDE;
        for _ in 0..PLACES {
            if let Some(there) = self.corrected_to_length(&place, length_m) {
                return Some(there);
            }
            place = self.next(&place, &mut stride)?;
            if place.length_m >= length_m {
                return self.corrected_to_length(&place, length_m);
            }
        }
        None
    }

    /// The place with a length, next to one with a drum force. `None` where that does not lead to it.
    pub(super) fn near_length(&mut self, drum_force_n: Vector3<f64>, length_m: f64) -> Option<Place> {
        self.corrected(drum_force_n, length_m, Hold::Length(length_m))
    }

    /// The place with a drum tension, next to one with a drum force and a length, if the tension falls there as more is paid out.
    pub(super) fn near_tension(
        &mut self,
        tension_n: f64,
        drum_force_n: Vector3<f64>,
        length_m: f64,
    ) -> Option<Place> {
        self.corrected(drum_force_n, length_m, Hold::Tension(tension_n)).filter(|place| place.rise_n() < 0.0)
    }

    /// The place with the least drum tension. `None` if the curve is lost.
    pub(super) fn least(&mut self) -> Option<Place> {
        let first = self.taut(0.0)?;
        match self.follow(first, 0.0)? {
            Found::Least(place) | Found::Place(place) => Some(place),
        }
    }

    /// The place at which the line leaves the drum level, on the taut side of the least drum tension.
    pub(super) fn level(&mut self) -> Option<Place> {
        let mut place = self.taut(0.0)?;
        let mut stride = STRIDE;
        for _ in 0..PLACES {
            let next = self.next(&place, &mut stride)?;
            if next.drum_force_n.z <= 0.0 {
                return self.crossing(&place, &next, |place| place.drum_force_n.z / place.drum_tension_n());
            }
            place = next;
        }
        None
    }

    /// Whether the drum tension falls as more is paid out, for a shape with this drum force and length. `None` if the curve is
    /// lost.
    pub(super) fn falls(&mut self, drum_force_n: Vector3<f64>, length_m: f64) -> Option<bool> {
        let (_, along) = self.look(&drum_force_n, length_m)?;
        Some(Place { drum_force_n, length_m, along }.rise_n() < 0.0)
    }

    /// A place at which the line is taut, with this drum tension if it is then.
    fn taut(&mut self, tension_n: f64) -> Option<Place> {
        let load = start::load_of_many_n_per_m(self.problem);
        let distance_m = self.problem.end_m.norm();
        let compliance = self.problem.compliance_per_n;
        let mut taut_n = tension_n.max(0.5 * load.norm() * distance_m);
        for attempt in 0..12 {
            let slack = start::slack_ratio(&load, &self.problem.end_m, taut_n, compliance);
            let length_m = distance_m * (1.0 + slack);
            let force_n = start::drum_force_n(&load, &self.problem.end_m, length_m, compliance);
            let guess_n = taut_n * force_n.try_normalize(0.0)?;
            if let Some(place) = self.corrected(guess_n, length_m, Hold::Tension(taut_n))
                && place.rise_n() < 0.0
            {
                return Some(place);
            }
            taut_n *= if attempt < 2 { 1.6 } else { 3.0 };
        }
        None
    }

    /// Goes on until the drum tension comes down to `tension_n`, or until the curve turns.
    fn follow(&mut self, mut place: Place, tension_n: f64) -> Option<Found> {
        let mut stride = STRIDE;
        for _ in 0..PLACES {
            let next = self.next(&place, &mut stride)?;
            // Behind the turn a tension is met from the other side.
            if next.rise_n() >= 0.0 {
                let least = self.turn(&place, &next)?;
                if least.drum_tension_n() > tension_n {
                    return Some(Found::Least(least));
                }
                return self.between(&place, &least, tension_n).map(Found::Place);
            }
            if next.drum_tension_n() <= tension_n {
                return self.between(&place, &next, tension_n).map(Found::Place);
            }
            if next.length_m > LONGEST_RATIO * self.problem.end_m.norm() {
                return None;
            }
            place = next;
        }
        None
    }

    /// The next place of the curve, as far as it goes well.
    fn next(&mut self, place: &Place, stride: &mut f64) -> Option<Place> {
        for _ in 0..12 {
            if let Some(next) = self.step(place, *stride)
                && (next.drum_tension_n() / place.drum_tension_n()).ln().abs() < 3.0
                && next.length_m > place.length_m
            {
                *stride = (1.4 * *stride).min(1.5 * STRIDE);
                return Some(next);
            }
            *stride *= 0.4;
        }
        None
    }

    /// The place some way along the curve.
    fn step(&mut self, place: &Place, way: f64) -> Option<Place> {
        let force_n = place.drum_force_n + way * place.along.force_n;
        let length_m = place.length_m + way * place.along.length_m;
        self.corrected(force_n, length_m, Hold::Way(place.along))
    }

    /// The place between two where the drum tension is least.
    fn turn(&mut self, before: &Place, after: &Place) -> Option<Place> {
        self.crossing(before, after, |place| place.rise_n() / place.drum_tension_n())
    }

    /// The place between two where a quantity, a change of which by 10⁻³ counts, is zero: the rule of false position (M. Dowell,
    /// P. Jarratt, *A modified regula falsi method*, BIT 11, 1971).
    fn crossing(&mut self, before: &Place, after: &Place, quantity: impl Fn(&Place) -> f64) -> Option<Place> {
        let whole = (after.length_m - before.length_m) / before.along.length_m;
        let (mut lo, mut hi) = ((0.0, quantity(before)), (whole, quantity(after)));
        let mut best = *after;
        for _ in 0..16 {
            let way = lo.0 - lo.1 * (hi.0 - lo.0) / (hi.1 - lo.1);
            best = self.step(before, way)?;
            let here = quantity(&best);
            if here.abs() < SMALL {
                break;
            }
            if here * hi.1 < 0.0 {
                lo = hi;
            } else {
                lo.1 *= hi.1 / (hi.1 + here);
            }
            hi = (way, here);
        }
        Some(best)
    }

    /// The place between two, on the taut side, with a drum tension.
    fn between(&mut self, taut: &Place, slack: &Place, tension_n: f64) -> Option<Place> {
        let share = (tension_n - taut.drum_tension_n()) / (slack.drum_tension_n() - taut.drum_tension_n());
        let guess = |place: &Place| {
            let force_n = taut.drum_force_n + share * (slack.drum_force_n - taut.drum_force_n);
            (force_n.normalize() * tension_n, taut.length_m + share * (place.length_m - taut.length_m))
        };
        let (force_n, length_m) = guess(slack);
        let direct = self.corrected(force_n, length_m, Hold::Tension(tension_n));
        let is_between =
            |there: &Place| there.rise_n() < 0.0 && there.length_m < slack.length_m * (1.0 + 1e-3);
        if let Some(there) = direct.filter(is_between) {
            return Some(there);
        }
        let near = self.crossing(taut, slack, |place| (place.drum_tension_n() / tension_n).ln())?;
        Some(self.corrected(near.drum_force_n, near.length_m, Hold::Tension(tension_n)).unwrap_or(near))
    }

    fn corrected_to_length(&mut self, place: &Place, length_m: f64) -> Option<Place> {
        let way = (length_m - place.length_m) / place.along.length_m;
        if !(-1.0..=1.2 * STRIDE).contains(&way) {
            return None;
        }
        self.corrected(place.drum_force_n + way * place.along.force_n, length_m, Hold::Length(length_m))
    }

    /// Newton's method towards the curve; the derivative is kept while it does well.
    fn corrected(&mut self, mut force_n: Vector3<f64>, mut length_m: f64, hold: Hold) -> Option<Place> {
        let mut missed_before = f64::INFINITY;
        let (mut inverse, mut along) = self.look(&force_n, length_m)?;
        let mut fresh = true;
        for _ in 0..CORRECTIONS {
            let missed_m = self.shot.end_m - self.problem.end_m;
            let missed = missed_m.norm() / length_m;
            if !missed.is_finite() || missed > 0.9 * missed_before && missed > 1e-2 {
                return None;
            }
            let off = match hold {
                Hold::Tension(tension_n) => (force_n.norm() / tension_n - 1.0).abs(),
                Hold::Length(_) | Hold::Way(_) => 0.0,
            };
            if missed <= NEAR_RATIO && off <= NEAR_RATIO {
                // For a length it is not asked how to go on.
                if !fresh && !matches!(hold, Hold::Length(_)) {
                    (_, along) = self.look(&force_n, length_m)?;
                }
                return Some(Place { drum_force_n: force_n, length_m, along });
            }
            if !fresh && missed > 0.1 * missed_before {
                (inverse, along) = self.look(&force_n, length_m)?;
            }
            missed_before = missed;
            let back_n = -(inverse * missed_m);
            let share = match hold {
                Hold::Tension(tension_n) => {
                    let tangent = force_n / force_n.norm();
                    (tension_n - force_n.norm() - tangent.dot(&back_n)) / tangent.dot(&along.force_n)
                }
                Hold::Length(wanted_m) => (wanted_m - length_m) / along.length_m,
                Hold::Way(way) => {
                    -self.product(&back_n, 0.0, &way, force_n.norm(), length_m)
                        / self.product(&along.force_n, along.length_m, &way, force_n.norm(), length_m)
                }
            };
            let change_n = back_n + share * along.force_n;
            let change_m = share * along.length_m;
            // No step that leaves all sense.
            let factor = (0.7 * force_n.norm() / change_n.norm().max(f64::MIN_POSITIVE))
                .min(0.5 * length_m / change_m.abs().max(f64::MIN_POSITIVE))
                .min(1.0);
            force_n += factor * change_n;
            length_m += factor * change_m;
            self.shoot(&force_n, length_m, false)?;
            fresh = false;
        }
        None
    }

    /// Product of two changes, each over the size of what it changes.
    fn product(&self, force_n: &Vector3<f64>, length_m: f64, way: &Along, size_n: f64, at_m: f64) -> f64 {
        let slack_m = self.slack_m(at_m);
        force_n.dot(&way.force_n) / (size_n * size_n) + length_m * way.length_m / (slack_m * slack_m)
    }

    /// What a length is measured by along the curve.
    fn slack_m(&self, length_m: f64) -> f64 {
        let distance_m = self.problem.end_m.norm();
        (length_m - distance_m).abs().max(1e-3 * distance_m)
    }

    /// Shoots with steps chosen anew; the inverse of the change of the end with the force, by differences of shots with the same
    /// steps, and the way along the curve.
    fn look(&mut self, force_n: &Vector3<f64>, length_m: f64) -> Option<(Matrix3<f64>, Along)> {
        self.shoot(force_n, length_m, true)?;
        let step_n = DIFFERENCE * force_n.norm();
        let mut by_force = Matrix3::zeros();
        for axis in 0..3 {
            let mut aside_n = *force_n;
            aside_n[axis] += step_n;
            by_force.set_column(axis, &((self.end_m(&aside_n, length_m) - self.shot.end_m) / step_n));
        }
        let inverse = by_force.try_inverse()?;
        let end = Pull::new(self.shot.top_force_n(), self.problem.compliance_per_n);
        let mut along = Along { force_n: -(inverse * end.gradient()), length_m: 1.0 };
        let size = self.product(&along.force_n, along.length_m, &along, force_n.norm(), length_m).sqrt();
        if !(size.is_finite() && size > 0.0) {
            return None;
        }
        along.force_n /= size;
        along.length_m /= size;
        Some((inverse, along))
    }

    /// Shoots from the drum, with the steps of the last shot or with new ones.
    fn shoot(&mut self, drum_force_n: &Vector3<f64>, length_m: f64, anew: bool) -> Option<()> {
        self.shot.shoot(self.problem, drum_force_n, length_m, anew)?;
        self.problem.budget.spend(4 * self.shot.steps());
        (!self.problem.budget.is_spent()).then_some(())
    }

    /// Where another drum force leads with the steps of the last shot, m.
    fn end_m(&mut self, drum_force_n: &Vector3<f64>, length_m: f64) -> Vector3<f64> {
        self.problem.budget.spend(4 * self.shot.steps());
        self.shot.end_m(self.problem, drum_force_n, length_m)
    }
}
