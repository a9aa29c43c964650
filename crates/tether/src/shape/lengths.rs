//! A drum tension near the least that hangs, by quick shapes of given lengths, each from the last. There an iteration that holds
//! the tension runs away; one that holds lengths does not.

use beamstay_environment::flow::Flow;

use super::{Shape, quick, relax::Problem, start};

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

/// A length that was hung: the logarithm of its slack, and that of its drum tension over the asked one.
#[derive(Debug, Clone, Copy, Default)]
struct Hung {
    slack_ln: f64,
    too_taut: f64,
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
        let here = Hung { slack_ln, too_taut };
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
            let next = self.hang(here.slack_ln + step.clamp(-most, most))?;
            let slope = (next.too_taut - here.too_taut) / (next.slack_ln - here.slack_ln);
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
        let way = MOST_STEP.copysign(here.slack_ln - before.slack_ln);
        for _ in 0..STEPS {
            if here.too_taut <= 0.0 {
                return self.shorter(here);
            }
            let next = self.hang(here.slack_ln + way)?;
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
            if (after - next.slack_ln).abs() <= AT_TURN {
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
            here = self.hang(here.slack_ln - MOST_STEP)?;
        }
        for _ in 0..2 * STEPS {
            let share = here.too_taut / (here.too_taut - before.too_taut);
            let next = self.hang(here.slack_ln + share * (before.slack_ln - here.slack_ln))?;
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

/// Where the cubic, or parabola, through the lowest of some places and those next to it has its least; between its neighbours.
/// `None` if the lowest has no neighbour on one side.
fn stationary(places: &mut [Hung]) -> Option<f64> {
    let lowest = *places.iter().min_by(|a, b| a.too_taut.total_cmp(&b.too_taut))?;
    let off = |place: &Hung| place.slack_ln - lowest.slack_ln;
    let below = places.iter().map(off).filter(|off| *off < 0.0).fold(f64::NEG_INFINITY, f64::max);
    let above = places.iter().map(off).filter(|off| *off > 0.0).fold(f64::INFINITY, f64::min);
    if !(below.is_finite() && above.is_finite()) {
        return None;
    }
    places.sort_unstable_by(|a, b| off(a).abs().total_cmp(&off(b).abs()));
    let near = &places[..places.len().min(4)];
    // Divided differences, then the coefficients of the powers of the distance from the lowest.
    let mut differences = [0.0; 4];
    for (difference, place) in differences.iter_mut().zip(near) {
        *difference = place.too_taut - lowest.too_taut;
    }
    for order in 1..near.len() {
        for k in (order..near.len()).rev() {
            differences[k] = (differences[k] - differences[k - 1]) / (off(&near[k]) - off(&near[k - order]));
        }
    }
    let mut powers = [0.0; 4];
    for (place, difference) in near.iter().zip(differences).rev() {
        for k in (1..4).rev() {
            powers[k] = powers[k - 1] - off(place) * powers[k];
        }
        powers[0] = difference - off(place) * powers[0];
    }
    let [_, a, b, c] = powers;
    let step = -a / (b + (b * b - 3.0 * a * c).sqrt());
    // Where the cubic is none, some way into the wider side.
    let wider = if -below > above { below } else { above };
    let good = step > below && step < above;
    Some(lowest.slack_ln + if good { step } else { 0.38 * wider })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_of_a_cubic_is_met_at_once() {
        // x³ − x has its least at 1/√3.
        let mut places = [-0.2, 0.3, 0.9, 1.4].map(|x: f64| Hung { slack_ln: x, too_taut: x.powi(3) - x });
        let found = stationary(&mut places).unwrap();
        assert!((found - 1.0 / 3f64.sqrt()).abs() < 1e-12, "{found}");
    }

    #[test]
    fn three_places_make_a_parabola() {
        let mut places = [0.0, 0.5, 2.0].map(|x: f64| Hung { slack_ln: x, too_taut: (x - 0.7).powi(2) });
        assert!((stationary(&mut places).unwrap() - 0.7).abs() < 1e-12);
    }

    #[test]
    fn without_a_neighbour_on_one_side_nothing_is_known() {
        let mut places = [0.0, 0.5, 2.0].map(|x: f64| Hung { slack_ln: x, too_taut: x });
        assert!(stationary(&mut places).is_none());
    }
}
