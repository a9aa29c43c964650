//! Following the shapes of a chain from an easy load to the true one, where letting it go leads nowhere: a line in a wind may have
//! a steady shape that it flutters away from.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    super::{relax::Problem, start},
    Chain, LINKS, LONG, MOST_TURN, Steps,
};

/// Strides along the curve of shapes, the first and the shortest.
const WAYS: u32 = 400;
const FIRST_STRIDE: f64 = 0.05;
const LEAST_STRIDE: f64 = 1e-6;
/// Rounds of Newton's method for one stride, and the turn of a link at which they end, rad.
const ROUNDS: u32 = 10;
const SETTLED_TURN: f64 = 1e-5;

/// A direction of the curve: steps of the lumps and change of the share of the true load.
type Tangent = (Steps, f64);

impl Chain {
    /// Follows the shapes from those under an easy load, the same on every metre, to those under the true one: the curve may turn
    /// back on its way, but it leads there (J. Leray, J. Schauder, Ann. Sci. Éc. Norm. Sup. 51, 1934, from memory), since under any
    /// given load a line has one shape.
    pub(in crate::shape) fn follow<F: Flow>(problem: &Problem<'_, F>, length_m: f64) -> Option<Self> {
        let chord = problem.end_m.normalize();
        let mean = start::load_of_many_n_per_m(problem);
        let across = mean - mean.dot(&chord) * chord;
        let size = mean.norm().max(f64::MIN_POSITIVE);
        let sideways = across.try_normalize(1e-3 * size).unwrap_or_else(|| start::any_across(&chord));
        let mut chain = Self::under(problem, length_m, size * sideways);
        (chain.easy_n_per_m, chain.share) = (size * sideways, 0.0);
        if !chain.sink(problem, LONG) {
            return None;
        }
        let mut before = None;
        let mut stride = FIRST_STRIDE;
        for _ in 0..WAYS {
            if problem.budget.is_spent() {
                return None;
            }
            let tangent = chain.tangent(problem, before.as_ref())?;
            stride = chain.go_on(problem, &tangent, stride)?;
            if chain.share >= 1.0 {
                chain.share = 1.0;
                return chain.sink(problem, LONG).then_some(chain);
            }
            before = Some(tangent);
        }
        None
    }

    /// Direction of the curve, the way that the one before went.
    fn tangent<F: Flow>(&mut self, problem: &Problem<'_, F>, before: Option<&Tangent>) -> Option<Tangent> {
        self.link(problem);
        self.eliminate(f64::INFINITY)?;
        let along_m = self.solved(|chain, i| chain.open_by_share_n(i));
        let size = (self.product(&along_m, &along_m) + 1.0).sqrt();
        let (step_m, share) = (along_m.map(|step_m| step_m / size), 1.0 / size);
        let is_forth = before.is_none_or(|(last_m, last)| self.product(&step_m, last_m) + share * last > 0.0);
        Some(if is_forth { (step_m, share) } else { (step_m.map(|step_m| -step_m), -share) })
    }

    /// One stride, shorter until it succeeds; how long the next should be.
    fn go_on<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tangent: &Tangent,
        mut stride: f64,
    ) -> Option<f64> {
        let good = (self.position_m, self.tension_n, self.share);
        while stride >= LEAST_STRIDE {
            match self.go_along(problem, tangent, stride) {
                Some(0..=3) => return Some(1.6 * stride),
                Some(4..=5) => return Some(stride),
                Some(_) => return Some(0.7 * stride),
                None => {
                    (self.position_m, self.tension_n, self.share) = good;
                    self.link(problem);
                    stride *= 0.3;
                }
            }
        }
        None
    }

    fn open_by_share_n(&self, i: usize) -> Vector3<f64> {
        0.5 * (self.links[i - 1].load_by_share_n + self.links[i].load_by_share_n)
    }

    /// A stride along a tangent and back to the curve; the rounds of Newton's method that it took.
    fn go_along<F: Flow>(&mut self, problem: &Problem<'_, F>, tangent: &Tangent, stride: f64) -> Option<u32> {
        let (mut gone_m, from_share) = (tangent.0.map(|step_m| stride * step_m), self.share);
        self.step_m = gone_m;
        if self.largest_turn(&self.step_m)? > MOST_TURN {
            return None;
        }
        self.go();
        self.share += stride * tangent.1;
        let mut turn_before = f64::INFINITY;
        for round in 1..=ROUNDS {
            self.link(problem);
            self.eliminate(f64::INFINITY)?;
            let own_m = self.solved(|chain, i| chain.open_n(i));
            let along_m = self.solved(|chain, i| chain.open_by_share_n(i));
            let left = stride
                - self.product(&tangent.0, &gone_m)
                - tangent.1 * (self.share - from_share)
                - self.product(&tangent.0, &own_m);
            let more = left / (self.product(&tangent.0, &along_m) + tangent.1);
            for i in 0..LINKS {
                self.step_m[i] = own_m[i] + more * along_m[i];
                gone_m[i] += self.step_m[i];
            }
            let turn = self.largest_turn(&self.step_m)?;
            if turn > MOST_TURN || (round > 3 && turn > 0.5 * turn_before) {
                return None;
            }
            self.go();
            self.share += more;
            if turn < SETTLED_TURN {
                return Some(round);
            }
            turn_before = turn;
        }
        None
    }
}
