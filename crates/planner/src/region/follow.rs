//! One column of any two inputs, followed from each value of the first coordinate to the next: for maps whose places have
//! to be computed one by one.

use crate::{
    optimise::{Finish, Problem, Trial, finish},
    search::Target,
};

/// What each limit has to spare where a search ends, so that it still holds where the winch is set to the drum tension that is told.
const BACKOFF: f64 = 1e-5;

/// Goes from a place that closes as far along the first coordinate as any station closes, within `between`.
pub(super) fn extreme(target: &mut Target<'_>, from: &[f64], between: (f64, f64)) -> (Vec<f64>, Trial) {
    let mut bounds = vec![(0.0, 1.0); target.count()];
    bounds[0] = between;
    let start = target.evaluate(from);
    let how =
        Finish { backoff: BACKOFF, tolerance: 1e-7, iterations: 40, central: false, ..Finish::default() };
    finish(target, (from.to_vec(), start), &bounds, &how)
}

/// The largest first coordinate at which any station closes, from the last place that does and from all sides there.
pub(super) fn highest(climber: &mut Target<'_>, from: &[f64]) -> (Vec<f64>, Trial) {
    let count = climber.count();
    let mut best = extreme(climber, from, (from[0], 1.0));
    for station in TRIED.iter().step_by(2) {
        let unit: Vec<f64> = std::iter::once(from[0]).chain(station.iter().copied()).take(count).collect();
        let end = extreme(climber, &unit, (from[0], 1.0));
        if end.1.beats(&best.1) {
            best = end;
        }
    }
    best
}

/// A place of the unit cube and its evaluation.
pub(super) type End = (Vec<f64>, Trial);

/// Stations tried at each few values: upwind, overhead and downwind, tight and slack, in the unit cube of the station.
const TRIED: [[f64; 2]; 7] =
    [[0.5, 0.45], [0.42, 0.5], [0.35, 0.6], [0.25, 0.65], [0.58, 0.4], [0.65, 0.5], [0.5, 0.65]];
/// Those of [`TRIED`] that compete for one start.
const SIDES: [std::ops::Range<usize>; 3] = [0..2, 2..4, 4..7];
/// Values from one global start to the next.
const GLOBAL_EVERY: usize = 13;
/// Values from one new choice of the station to the next; between them the last one stays while it closes.
const CHOSEN_EVERY: usize = 4;

/// The best station at each value of the first coordinate: found from all sides at some, followed from there to the rest.
/// Before a value is called one that does not close, the largest one that does is searched: both are returned.
pub(super) fn inner(
    target: &mut Target<'_>,
    climber: &mut Target<'_>,
    units: &[f64],
) -> (Vec<End>, Vec<Option<Vec<f64>>>) {
    let mut tops: Vec<Option<Vec<f64>>> = vec![None; units.len()];
    let mut ends: Vec<(Vec<f64>, Trial)> = Vec::with_capacity(units.len());
    for (index, y) in units.iter().enumerate() {
        let mut best = ends.last().map(|(unit, before)| follow(target, unit, before, *y, index));
        if index.is_multiple_of(GLOBAL_EVERY) {
            let before = best.as_ref().map(|(_, trial)| trial.level);
            for end in from_all_sides(target, *y, before) {
                if best.as_ref().is_none_or(|b| end.1.beats(&b.1)) {
                    best = Some(end);
                }
            }
        }
        let missing = || {
            let unit = std::iter::once(*y).chain(vec![0.5; target.count() - 1]).collect();
            (unit, Trial::missing(crate::study::NOTHING_COMPUTED))
        };
        let mut end = best.unwrap_or_else(missing);
        if let Some((before, _)) = ends.last().filter(|(_, t)| t.is_feasible() && !end.1.is_feasible()) {
            let known = tops[index - 1].clone();
            let highest = known.unwrap_or_else(|| highest(climber, before).0);
            if highest[0] >= *y {
                let mut unit = highest.clone();
                unit[0] = *y;
                let trial = target.evaluate(&unit);
                if trial.beats(&end.1) {
                    end = (unit, trial);
                }
            }
            tops[index] = Some(highest);
        }
        ends.push(end);
    }
    back_down(target, units, &mut ends);
    (ends, tops)
}

/// A station that closes at one value may close at the one before, where another one was followed that did not.
fn back_down(target: &mut Target<'_>, units: &[f64], ends: &mut [(Vec<f64>, Trial)]) {
    for index in (1..ends.len()).rev() {
        if ends[index].1.is_feasible() && !ends[index - 1].1.is_feasible() {
            let mut unit = ends[index].0.clone();
            unit[0] = units[index - 1];
            let trial = target.evaluate(&unit);
            if trial.is_feasible() {
                ends[index - 1] = (unit, trial);
            }
        }
    }
}

/// The station of one value at the next: kept while it closes and was chosen not long ago, or far beyond where any closes;
/// chosen anew otherwise.
fn follow(target: &mut Target<'_>, unit: &[f64], before: &Trial, y: f64, index: usize) -> (Vec<f64>, Trial) {
    let mut unit = unit.to_vec();
    unit[0] = y;
    let start = target.evaluate(&unit);
    let chosen = index.is_multiple_of(CHOSEN_EVERY);
    let kept = start.is_feasible() && !chosen;
    let nearer = chosen && start.level > before.level;
    let beyond = !(start.is_feasible() || before.is_feasible() || nearer);
    if kept || beyond {
        return (unit, start);
    }
    finish(target, (unit, start), &only(y, target.count()), &few(if before.is_feasible() { 3 } else { 6 }))
}

/// Ends of short searches upwind, overhead and downwind; where the last station is `level` below what closes, of those
/// alone that start nearer.
fn from_all_sides(target: &mut Target<'_>, y: f64, level: Option<f64>) -> Vec<(Vec<f64>, Trial)> {
    let count = target.count();
    let tried: Vec<(Vec<f64>, Trial)> = TRIED
        .iter()
        .map(|station| {
            let unit: Vec<f64> = std::iter::once(y).chain(station.iter().copied()).take(count).collect();
            let trial = target.evaluate(&unit);
            (unit, trial)
        })
        .collect();
    SIDES
        .iter()
        .filter_map(|side| {
            let first = tried[side.clone()]
                .iter()
                .reduce(|best, other| if other.1.beats(&best.1) { other } else { best })?;
            let promising = level.is_none_or(|level| level >= 0.0 || first.1.level > level);
            (promising && first.1.is_complete())
                .then(|| finish(target, first.clone(), &only(y, count), &few(12)))
        })
        .collect()
}

/// Bounds that hold the first coordinate.
pub(super) fn only(y: f64, count: usize) -> Vec<(f64, f64)> {
    let mut bounds = vec![(0.0, 1.0); count];
    bounds[0] = (y, y);
    bounds
}

/// A short finish.
pub(super) fn few(iterations: u64) -> Finish {
    Finish {
        central: false,
        backoff: BACKOFF,
        iterations,
        reach: 0.15,
        tolerance: 1e-4,
        halvings: 4,
        ..Finish::default()
    }
}
