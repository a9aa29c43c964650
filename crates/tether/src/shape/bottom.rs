//! The least drum tension among lengths that are hung one by one.

/// Places that are looked at for the least.
const LOOKS: usize = 20;
/// How near the place of the least is known, over the first step: the drum tension goes with the square.
const AT_LEAST: f64 = 0.05;

/// A length that was hung: the logarithm of what is changed, its slack or the length itself, and that of its drum tension over
/// another one.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Hung {
    pub at_ln: f64,
    pub too_taut: f64,
}

/// Lengths that were looked at on the way to the least drum tension.
struct Looks<F> {
    too_taut: F,
    most: f64,
    places: [Hung; LOOKS],
    count: usize,
}

/// Where the drum tension is least, no farther than `most` from 0: by steps that grow until it rises, the first one `step`, then by
/// cubics until the next would be no other. `None` if that leads nowhere.
pub(super) fn bottom(step: f64, most: f64, too_taut: impl FnMut(f64) -> f64) -> Option<f64> {
    Looks { too_taut, most, places: [Hung::default(); LOOKS], count: 0 }.least(step)
}

impl<F: FnMut(f64) -> f64> Looks<F> {
    fn look(&mut self, at_ln: f64) -> Option<Hung> {
        if at_ln.abs() > self.most {
            return None;
        }
        let here = Hung { at_ln, too_taut: (self.too_taut)(at_ln) };
        *self.places.get_mut(self.count)? = here;
        self.count += 1;
        here.too_taut.is_finite().then_some(here)
    }

    fn least(&mut self, step: f64) -> Option<f64> {
        let near = AT_LEAST * step;
        let (middle, longer) = (self.look(0.0)?, self.look(step)?);
        let (mut way, mut lowest) =
            if longer.too_taut < middle.too_taut { (step, longer) } else { (-step, middle) };
        loop {
            let next = self.look(lowest.at_ln + way)?;
            if next.too_taut >= lowest.too_taut {
                break;
            }
            (lowest, way) = (next, 2.0 * way);
        }
        loop {
            let next = stationary(&mut self.places[..self.count])?;
            let known = self.places[..self.count].iter().any(|place| (place.at_ln - next).abs() <= near);
            if known {
                return Some(next);
            }
            self.look(next)?;
        }
    }
}

/// Where the cubic, or parabola, through the lowest of some places and those next to it has its least; between its neighbours.
/// `None` if the lowest has no neighbour on one side.
pub(super) fn stationary(places: &mut [Hung]) -> Option<f64> {
    let lowest = *places.iter().min_by(|a, b| a.too_taut.total_cmp(&b.too_taut))?;
    let off = |place: &Hung| place.at_ln - lowest.at_ln;
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
    Some(lowest.at_ln + if good { step } else { 0.38 * wider })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_of_a_cubic_is_met_at_once() {
        // x³ − x has its least at 1/√3.
        let mut places = [-0.2, 0.3, 0.9, 1.4].map(|x: f64| Hung { at_ln: x, too_taut: x.powi(3) - x });
        let found = stationary(&mut places).unwrap();
        assert!((found - 1.0 / 3f64.sqrt()).abs() < 1e-12, "{found}");
    }

    #[test]
    fn three_places_make_a_parabola() {
        let mut places = [0.0, 0.5, 2.0].map(|x: f64| Hung { at_ln: x, too_taut: (x - 0.7).powi(2) });
        assert!((stationary(&mut places).unwrap() - 0.7).abs() < 1e-12);
    }

    #[test]
    fn without_a_neighbour_on_one_side_nothing_is_known() {
        let mut places = [0.0, 0.5, 2.0].map(|x: f64| Hung { at_ln: x, too_taut: x });
        assert!(stationary(&mut places).is_none());
    }

    #[test]
    fn the_bottom_is_met_on_either_side_and_looked_at_no_more_than_it_takes() {
        for least in [-0.13, -0.004, 0.0, 0.03, 0.2] {
            let mut count = 0;
            let found = bottom(0.02, 0.4, |x: f64| {
                count += 1;
                ((x - least) + (x - least).powi(2)).cosh()
            });
            assert!((found.unwrap() - least).abs() < 2e-3, "{least} {found:?}");
            assert!(count <= 9, "{count}");
        }
        assert!(bottom(0.02, 0.4, |x| -x).is_none(), "falls on and on");
        assert!(bottom(0.02, 0.4, |x| if x == 0.0 { 1.0 } else { f64::NAN }).is_none());
    }
}
