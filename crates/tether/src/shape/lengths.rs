//! A drum tension near the least that hangs, by quick shapes of given lengths, each from the last. There an iteration that holds
//! the tension runs away; one that holds lengths does not.

use beamstay_environment::flow::Flow;

use super::{
    Shape,
    bottom::{Hung, stationary},
    quick,
    relax::Problem,
    start,
};

/// Steps along the curve, and steps towards its turn.
const STEPS: usize = 12;
/// Longest step in the logarithm of the slack.
const MOST_STEP: f64 = 0.5;
/// How far from the guess, as a logarithm of the slack, a neighbour may be to start from.
const NEIGHBOUR_LN: f64 = 1.5;
/// Longest step while the slope is that of a taut line.
const MOST_TAUT_STEP: f64 = 1.5;
/// Slope, logarithm of the drum tension over that of the slack, beyond which the least drum tension is near.
const NEAR_SLOPE: f64 = -0.1;
/// The same below which a line is taut; -1/2 is that of a nearly straight one.
const TAUT_SLOPE: f64 = -0.4;
/// Slacks that are looked at, as logarithms: 10⁻⁶ and 9.
const SLACK_LN: (f64, f64) = (-13.8, 2.2);
/// How near in the logarithm of the slack the place of the least drum tension is known: the drum tension goes with the square.
const AT_TURN: f64 = 1e-3;
/// Places of the curve that are kept.
const PLACES: usize = 48;

/// What quick shapes say about a drum tension.
pub(super) enum Said {
    /// This shape has it.
    Hangs(Shape),
    /// This shape has the least, which is more.
    Least(Shape),
}

/// Hangs lengths near each other.
struct Hanger<'a, 'b, F: Flow> {
    problem: &'b Problem<'a, F>,
    drum_tension_n: f64,
    tolerance: f64,
    last: Shape,
    places: [Hung; PLACES],
    count: usize,
}

/// What quick shapes say about a drum tension, from a neighbouring shape or from a guess; `problem` holds the length. `None` if
/// they do not say it.
pub(super) fn ask<F: Flow>(
    problem: &Problem<'_, F>,
    drum_tension_n: f64,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Option<Said> {
    // A neighbour that hangs in another wind is worse than the guess.
    let warm = warm.filter(|shape| is_near(problem, drum_tension_n, shape));
    let slack_ln =
        warm.map_or_else(|| guess_ln(problem, drum_tension_n), |shape| slack_ln_of(problem, shape));
    let distance_m = problem.end_m.norm();
    let first = quick::solve(problem, distance_m * (1.0 + slack_ln.exp()), tolerance, warm).ok()?;
    let places = [Hung::default(); PLACES];
    Hanger { problem, drum_tension_n, tolerance, last: first, places, count: 0 }.walk(slack_ln)
}

/// Whether a shape is slack enough, and not too slack, to lead to a drum tension.
pub(super) fn is_near<F: Flow>(problem: &Problem<'_, F>, drum_tension_n: f64, shape: &Shape) -> bool {
    (slack_ln_of(problem, shape) - guess_ln(problem, drum_tension_n)).abs() < NEIGHBOUR_LN
}

/// Logarithm of the slack that a line with a drum tension would have if it were nearly straight.
fn guess_ln<F: Flow>(problem: &Problem<'_, F>, drum_tension_n: f64) -> f64 {
    let load_n_per_m = start::mean_load_n_per_m(problem.line, problem.flow, &problem.end_m);
    let slack = start::slack_ratio(&load_n_per_m, &problem.end_m, drum_tension_n, problem.compliance_per_n);
    slack.ln().max(SLACK_LN.0)
}

fn slack_ln_of<F: Flow>(problem: &Problem<'_, F>, shape: &Shape) -> f64 {
    (shape.paid_out_m() / problem.end_m.norm() - 1.0).ln().max(SLACK_LN.0)
}

impl<F: Flow> Hanger<'_, '_, F> {
    /// Hangs a length from the last one.
    fn hang(&mut self, slack_ln: f64) -> Option<Hung> {
        if !(SLACK_LN.0..=SLACK_LN.1).contains(&slack_ln) {
            return None;
        }
        let length_m = self.problem.end_m.norm() * (1.0 + slack_ln.exp());
        self.last = quick::solve(self.problem, length_m, self.tolerance, Some(&self.last)).ok()?;
        self.read(slack_ln)
    }

    /// Keeps where the last shape is on the curve.
    fn read(&mut self, slack_ln: f64) -> Option<Hung> {
        let too_taut = (self.last.drum_tension_n() / self.drum_tension_n).ln();
        let here = Hung { at_ln: slack_ln, too_taut };
        *self.places.get_mut(self.count)? = here;
        self.count += 1;
        too_taut.is_finite().then_some(here)
    }

    /// Secants along the taut side of the curve, as long as the tension falls.
    fn walk(&mut self, slack_ln: f64) -> Option<Said> {
        let mut here = self.read(slack_ln)?;
        // On the taut side the tension goes with the root of the slack.
        let mut step = 2.0 * here.too_taut;
        let mut most = MOST_TAUT_STEP;
        for _ in 0..STEPS {
            let next = self.hang(here.at_ln + step.clamp(-most, most))?;
            let slope = (next.too_taut - here.too_taut) / (next.at_ln - here.at_ln);
            if slope.is_nan() {
                return None;
            }
            if slope > NEAR_SLOPE {
                return self.turn(here, next);
            }
            if next.too_taut.abs() <= self.tolerance {
                return Some(Said::Hangs(self.last));
            }
            step = -next.too_taut / slope;
            most = if slope < TAUT_SLOPE { MOST_TAUT_STEP } else { MOST_STEP };
            here = next;
        }
        None
    }

    /// Down from the higher of two places until the tension rises again, then to the least; or to the drum tension, where it is
    /// met.
    fn turn(&mut self, one: Hung, other: Hung) -> Option<Said> {
        let (before, mut here) = if one.too_taut > other.too_taut { (one, other) } else { (other, one) };
        let way = MOST_STEP.copysign(here.at_ln - before.at_ln);
        for _ in 0..STEPS {
            if here.too_taut <= 0.0 {
                return self.shorter(here);
            }
            let next = self.hang(here.at_ln + way)?;
            if next.too_taut >= here.too_taut {
                return self.least();
            }
            here = next;
        }
        None
    }

    /// The least drum tension: the least of a cubic through the places next to it, until the next one would be no other.
    fn least(&mut self) -> Option<Said> {
        for _ in 0..STEPS {
            let slack_ln = stationary(&mut self.places[..self.count])?;
            let next = self.hang(slack_ln)?;
            if next.too_taut <= 0.0 {
                return self.shorter(next);
            }
            let after = stationary(&mut self.places[..self.count])?;
            if (after - next.at_ln).abs() <= AT_TURN {
                return Some(Said::Least(self.last));
            }
        }
        None
    }

    /// The shape with the drum tension that is shorter than a place which has less: the rule of false position (M. Dowell,
    /// P. Jarratt, *A modified regula falsi method*, BIT 11, 1971).
    fn shorter(&mut self, place: Hung) -> Option<Said> {
        let (mut before, mut here) = (place, place);
        while here.too_taut <= 0.0 {
            before = here;
            here = self.hang(here.at_ln - MOST_STEP)?;
        }
        for _ in 0..2 * STEPS {
            let share = here.too_taut / (here.too_taut - before.too_taut);
            let next = self.hang(here.at_ln + share * (before.at_ln - here.at_ln))?;
            if next.too_taut.abs() <= self.tolerance {
                return Some(Said::Hangs(self.last));
            }
            if next.too_taut * here.too_taut < 0.0 {
                before = here;
            } else {
                before.too_taut *= here.too_taut / (here.too_taut + next.too_taut);
            }
            here = next;
        }
        None
    }
}
