//! Choices of hostile input.

use beamstay_numerics::random::Random;

/// One of a list that is not empty.
pub fn pick<'a, T: ?Sized>(random: &mut Random, list: &[&'a T]) -> &'a T {
    list[random.below(list.len())]
}

/// Between two numbers, by their logarithms where both are above 0, half of the time.
pub fn between(random: &mut Random, lo: f64, hi: f64) -> f64 {
    if lo > 0.0 && random.chance(0.5) { random.spread(lo, hi) } else { random.between(lo, hi) }
}
