//! Lines in one wind on a net of drum forces, and what lies between them by splines. A line is followed from the drum with its force
//! there, so that nothing is searched for, and what is read of it is smooth in that force, also where the line is all but limp.

/// Places that a spline rests on.
const WIDTH: usize = 4;

/// What is known of the lines at the places of a net; coordinates count steps: elevation at the drum, then its tension.
#[derive(Debug, Clone)]
pub(super) struct Net<const K: usize> {
    counts: [usize; 2],
    places: Vec<Option<[f64; K]>>,
}

impl<const K: usize> Net<K> {
    /// With `at` asked at every place.
    pub(super) fn new(counts: [usize; 2], mut at: impl FnMut([usize; 2]) -> Option<[f64; K]>) -> Self {
        let places = (0..counts[0] * counts[1]).map(|k| at([k / counts[1], k % counts[1]])).collect();
        Self { counts, places }
    }

    pub(super) fn counts(&self) -> [usize; 2] {
        self.counts
    }

    /// A place of the net.
    pub(super) fn place(&self, at: [usize; 2]) -> Option<&[f64; K]> {
        self.places.get(at[0] * self.counts[1] + at[1])?.as_ref()
    }

    /// Places that are known.
    pub(super) fn known(&self) -> impl Iterator<Item = ([usize; 2], &[f64; K])> {
        let each = self.places.iter().enumerate();
        each.filter_map(|(k, place)| Some(([k / self.counts[1], k % self.counts[1]], place.as_ref()?)))
    }

    /// Between the places, and up to half a step beyond: by splines that rest on known places alone. None where one
    /// next to it is not.
    pub(super) fn between(&self, at: [f64; 2]) -> Option<[f64; K]> {
        let from = self.stencil(at)?;
        let [across, along] = [0, 1].map(|k| weights(at[k] - from[k] as f64));
        let mut sum = [0.0; K];
        for (i, a) in across.iter().enumerate() {
            for (j, b) in along.iter().enumerate() {
                let place = self.place([from[0] + i, from[1] + j])?;
                for (total, number) in sum.iter_mut().zip(place) {
                    *total += a * b * number;
                }
            }
        }
        Some(sum)
    }

    /// Some numbers between the places, each with its slopes by both coordinates.
    pub(super) fn sloped<const M: usize>(&self, at: [f64; 2], which: [usize; M]) -> Option<[[f64; 3]; M]> {
        let from = self.stencil(at)?;
        let inner = [0, 1].map(|k| at[k] - from[k] as f64);
        let ([across, along], [by_u, by_v]) = (inner.map(weights), inner.map(slopes));
        let mut sums = [[0.0; 3]; M];
        for i in 0..WIDTH {
            for j in 0..WIDTH {
                let place = self.place([from[0] + i, from[1] + j])?;
                let factors = [across[i] * along[j], by_u[i] * along[j], across[i] * by_v[j]];
                for (sum, number) in sums.iter_mut().zip(which) {
                    for (part, factor) in sum.iter_mut().zip(factors) {
                        *part += factor * place[number];
                    }
                }
            }
        }
        Some(sums)
    }

    /// First places on which the splines around a place rest.
    fn stencil(&self, at: [f64; 2]) -> Option<[usize; 2]> {
        let within = |k: usize| at[k] >= -0.5 && at[k] <= self.counts[k] as f64 - 0.5;
        if !(within(0) && within(1)) || self.counts[0] < WIDTH || self.counts[1] < WIDTH {
            return None;
        }
        let middle = |k: usize| {
            let below = at[k].floor().max(0.0) as usize;
            below.saturating_sub(1).min(self.counts[k] - WIDTH)
        };
        let middle = [middle(0), middle(1)];
        let shifted = |from: usize, by: i32, k: usize| {
            let to = from as i32 + by;
            // The place must stay near.
            let covers = f64::from(to) - 0.5 <= at[k] && at[k] <= f64::from(to) + WIDTH as f64 - 0.5;
            (to >= 0 && to as usize + WIDTH <= self.counts[k] && covers).then_some(to as usize)
        };
        let shifts = [0, -1, 1, -2, 2];
        shifts.iter().flat_map(|i| shifts.iter().map(move |j| (*i, *j))).find_map(|(i, j)| {
            let from = [shifted(middle[0], i, 0)?, shifted(middle[1], j, 1)?];
            self.is_known(from).then_some(from)
        })
    }

    fn is_known(&self, from: [usize; 2]) -> bool {
        (0..WIDTH).all(|i| (0..WIDTH).all(|j| self.place([from[0] + i, from[1] + j]).is_some()))
    }
}

/// Weights of nodes at 0, 1, 2, 3: between the middle two the parabolas through three of them pass over into each other (E. Catmull,
/// R. Rom, *A class of local interpolating splines*, 1974, from memory), beyond them there is one. So slopes do not jump at the places of the net,
/// where a search would be caught.
fn weights(at: f64) -> [f64; WIDTH] {
    let (below, above) = (parabola(at), parabola(at - 1.0));
    let over = (at - 1.0).clamp(0.0, 1.0);
    blended(below, above, over)
}

/// Their slopes.
fn slopes(at: f64) -> [f64; WIDTH] {
    let (below, above) = (parabola(at), parabola(at - 1.0));
    let over = (at - 1.0).clamp(0.0, 1.0);
    let turned = blended(parabola_slope(at), parabola_slope(at - 1.0), over);
    let rate = if (0.0..1.0).contains(&(at - 1.0)) { 1.0 } else { 0.0 };
    let (rising, falling) = (blended([0.0; 3], above, 1.0), blended(below, [0.0; 3], 0.0));
    std::array::from_fn(|k| turned[k] + rate * (rising[k] - falling[k]))
}

/// What is above counts by `over`, what is below by the rest.
fn blended(below: [f64; 3], above: [f64; 3], over: f64) -> [f64; WIDTH] {
    let of_below = |k: usize| below.get(k).map_or(0.0, |weight| (1.0 - over) * weight);
    let of_above = |k: usize| k.checked_sub(1).map_or(0.0, |k| over * above[k]);
    std::array::from_fn(|k| of_below(k) + of_above(k))
}

/// Weights of nodes at 0, 1, 2 of the parabola through them.
fn parabola(at: f64) -> [f64; 3] {
    let (a, b, c) = (at, at - 1.0, at - 2.0);
    [0.5 * b * c, -a * c, 0.5 * a * b]
}

fn parabola_slope(at: f64) -> [f64; 3] {
    [at - 1.5, 2.0 - 2.0 * at, at - 0.5]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_those_of_the_weights_and_do_not_jump() {
        for at in [-0.3, 0.4, 1.2, 1.9, 2.4, 3.3] {
            for k in 0..WIDTH {
                let difference = (weights(at + 1e-6)[k] - weights(at - 1e-6)[k]) / 2e-6;
                assert!((difference - slopes(at)[k]).abs() < 1e-8, "{at} {k}");
            }
        }
        let net = Net::new([9, 4], |at| Some([(0.7 * at[0] as f64).sin()]));
        for place in [2.0, 3.0, 5.0] {
            let [below, above] = [-1e-9, 1e-9].map(|by| net.sloped([place + by, 1.5], [0]).unwrap()[0][1]);
            assert!((above - below).abs() < 1e-7, "{place}: {below} {above}");
        }
    }

    #[test]
    fn parabolas_are_met_between_places_and_around_holes() {
        let curved = |u: f64, v: f64| [u * u - 2.0 * u * v * v + 1.0, v * v - u];
        let net = Net::new([7, 6], |at| (at != [0, 0]).then(|| curved(at[0] as f64, at[1] as f64)));
        for at in [[1.3, 2.7], [5.9, 4.2], [0.4, 1.6], [6.4, 5.4]] {
            let (met, wanted) = (net.between(at).unwrap(), curved(at[0], at[1]));
            assert!((0..2).all(|k| (met[k] - wanted[k]).abs() < 1e-11), "{at:?} {met:?} {wanted:?}");
            let [[value, by_u, by_v]] = net.sloped(at, [0]).unwrap();
            assert!((value - wanted[0]).abs() < 1e-11);
            assert!((by_u - (2.0 * at[0] - 2.0 * at[1] * at[1])).abs() < 1e-10);
            assert!((by_v + 4.0 * at[0] * at[1]).abs() < 1e-10);
        }
        assert!(net.between([0.1, 0.1]).is_none() && net.between([7.0, 2.0]).is_none());
    }
}
