//! Searches by slopes among the stations of a column, on its table.

use super::loaded::{Aim, Loaded};
use crate::optimise::{Finish, Problem, finish};

/// Most steps of a search.
const ITERATIONS: u64 = 40;
/// Difference for its slopes, in the unit cube.
const DIFFERENCE: f64 = 1e-5;
/// Longest first step of it.
const REACH: f64 = 0.05;
/// What each limit has to spare where a search ends, so that it also holds where the line is hung, and at most where the table was wrong
/// there before.
pub(super) const SPARE: f64 = 1e-5;
const MOST_SPARE: f64 = 0.01;

/// Rounds after which the table, put right, should be right.
const ROUNDS: usize = 2;

/// What each limit has to spare after a round of searching ended at a station that the table said closes and that stood at a level: more
/// where it did not close though the table had been put right nearby.
pub(super) fn spare_after(level: f64, round: usize) -> f64 {
    if round < ROUNDS { SPARE } else { (-1.5 * level).clamp(SPARE, MOST_SPARE) }
}

/// Searches from a payload and a place: where it ends.
pub(super) fn searched(
    loaded: &mut Loaded<'_>,
    aim: Aim,
    payload: (f64, f64),
    (from, at): (f64, [f64; 2]),
    spare: f64,
) -> (f64, [f64; 2]) {
    loaded.aim = aim;
    let [u, v] = loaded.table.unit(at);
    let unit = vec![from, u, v];
    let trial = loaded.evaluate(&unit);
    let bounds = loaded.bounds(payload);
    let how = Finish {
        central: false,
        backoff: spare,
        difference: DIFFERENCE,
        iterations: ITERATIONS,
        tolerance: 1e-6,
        reach: REACH,
        ..Finish::default()
    };
    let end = finish(loaded, (unit, trial), &bounds, &how).0;
    (end[0], loaded.table.place([end[1], end[2]]))
}
