//! Searches among the stations of a column, on its table: by windows of places, and by slopes.

use super::loaded::{Aim, Loaded, Site};
use crate::optimise::{Finish, Problem, finish};

/// How much narrower each round looks that found nothing better, and one that did.
const NARROWER: (f64, f64) = (0.45, 0.8);
/// Steps of a search by slopes, and what each limit has to spare there, so that it also holds where the line is hung.
const ITERATIONS: u64 = 40;
const BACKOFF: f64 = 1e-5;
/// Difference for its slopes, in the unit cube.
const DIFFERENCE: f64 = 1e-5;
/// Longest first step of it.
const REACH: f64 = 0.05;

/// What is looked for on the table; the larger, the better.
pub(super) type Wanted<'w> = &'w mut dyn FnMut(&mut Loaded<'_>, &Site, f64) -> Option<f64>;

/// How a climb goes: its rounds, how far each looks at first in steps of the net, and places of a window to each side.
pub(super) struct Climb {
    rounds: usize,
    width: f64,
    reach: i32,
}

/// A climb on the table.
pub(super) const ON_TABLE: Climb = Climb { rounds: 14, width: 0.6, reach: 2 };
/// Climbs from a place to the best around: windows of places, narrower from round to round. Unlike a search by slopes it
/// does not mind where a line that hangs all but limp turns about. `wanted` tells a value only where it is more than the one given.
pub(super) fn climbed(
    loaded: &mut Loaded<'_>,
    wanted: Wanted<'_>,
    from: (f64, [f64; 2]),
    how: &Climb,
) -> (f64, [f64; 2]) {
    let (mut best, mut at) = from;
    let mut width = how.width;
    for _ in 0..how.rounds {
        let centre = at;
        for i in -how.reach..=how.reach {
            for j in -how.reach..=how.reach {
                let step = |k: i32| width * f64::from(k) / f64::from(how.reach);
                let here = [centre[0] + step(i), centre[1] + step(j)];
                if (i, j) == (0, 0) {
                    continue;
                }
                let Some(site) = loaded.site(here, 0.0) else { continue };
                if let Some(value) = wanted(loaded, &site, best) {
                    (best, at) = (value, here);
                }
            }
        }
        width *= if at == centre { NARROWER.0 } else { NARROWER.1 };
    }
    (best, at)
}

/// A search by slopes on the table, from a payload and a place: where it ends.
pub(super) fn searched(
    loaded: &mut Loaded<'_>,
    aim: Aim,
    payload: (f64, f64),
    from: f64,
    at: [f64; 2],
) -> (f64, [f64; 2]) {
    loaded.aim = aim;
    let [u, v] = loaded.table.unit(at);
    let unit = vec![from, u, v];
    let trial = loaded.evaluate(&unit);
    let bounds = loaded.bounds(payload);
    let how = Finish {
        central: false,
        backoff: BACKOFF,
        difference: DIFFERENCE,
        iterations: ITERATIONS,
        tolerance: 1e-7,
        reach: REACH,
        ..Finish::default()
    };
    let end = finish(loaded, (unit, trial), &bounds, &how).0;
    (end[0], loaded.table.place([end[1], end[2]]))
}
