//! What surrounds the best point: less fiber for the same goal, what binds and what giving way is worth, how flat it is.

use super::{
    Binding, Bound,
    target::{Aim, TENSION_ENDS, Target},
};
use crate::{
    limit::LimitCode,
    optimise::{Bound as Range, Finish, Found, Problem, Trial, finish},
    point::OperatingPoint,
};

/// Margin up to which a limit counts as binding.
const BINDS_WITHIN: f64 = 3e-5;
/// Coordinate from a bound up to which it counts as binding.
const AT_BOUND: f64 = 1e-6;
/// Share of the goal given up for less fiber.
const TIE: f64 = 1e-6;
/// Gain below which a limit is touched but holds nothing back, over the goal.
const NO_GAIN: f64 = 1e-7;

fn cube(count: usize) -> Vec<Range> {
    vec![(0.0, 1.0); count]
}

/// The same goal, to one part in a million, with less fiber.
pub(super) fn with_less_fiber(target: &mut Target<'_>, found: Found, how: &Finish) -> Found {
    if !found.trial.is_feasible() {
        return found;
    }
    let least_goal = found.trial.goal - TIE * found.trial.goal.abs();
    target.aim = Aim::LessFiber { least_goal };
    let start = target.evaluate(&found.unit);
    let bounds = cube(found.unit.len());
    let (unit, trial) = if start.goal < 0.0 {
        finish(target, (found.unit.clone(), start.clone()), &bounds, how)
    } else {
        (found.unit.clone(), start.clone())
    };
    target.aim = Aim::Goal;
    // Only what saves more than a thousandth of the fiber is worth moving for.
    if !trial.is_feasible() || trial.goal <= start.goal + 1e-3 * start.goal.abs() {
        return found;
    }
    let trial = target.evaluate(&unit);
    if trial.is_feasible() { Found { unit, trial, ..found } } else { found }
}

/// The point as a stranger computes it, from the values alone with nothing known from before, and those values: if a limit
/// that binds is on the wrong side then, by rounding, the search ends farther off it.
pub(super) fn standing_alone<'a>(
    make: impl Fn() -> Target<'a>,
    found: Found,
    how: &Finish,
) -> (Found, Vec<f64>, Option<OperatingPoint>) {
    let mut found = found;
    for wider in [10.0, 100.0, 1000.0, 10_000.0] {
        let values = make().values_at(&found.unit);
        let (alone, point) = make().trial_of_values(&values);
        if alone.is_feasible() || !found.trial.is_feasible() || wider > 5_000.0 {
            return (Found { trial: alone, ..found }, values, point);
        }
        let how = Finish { backoff: wider * how.backoff, ..*how };
        let mut target = make();
        let start = target.evaluate(&found.unit);
        let start = Trial { level: start.level.min(-f64::MIN_POSITIVE), ..start };
        let (unit, trial) = finish(&mut target, (found.unit.clone(), start), &cube(found.unit.len()), &how);
        found = Found { unit, trial, ..found };
    }
    (found, Vec::new(), None)
}

/// Limits and bounds that hold the goal back, the dearest first.
pub(super) fn binding(target: &mut Target<'_>, found: &Found) -> Vec<Binding> {
    let mut list = Vec::new();
    for code in LimitCode::ALL {
        if found.trial.margins.get(code as usize).is_some_and(|m| *m <= BINDS_WITHIN) {
            let gain = gain_of_limit(target, found, code);
            list.push((gain, Binding { limit: Some(code), bound: None, gain_per_percent: gain }));
        }
    }
    for index in 0..found.unit.len() {
        for upper in [false, true] {
            if is_at_bound(target, found, index, upper) {
                let span = &target.free[index].span;
                let value = if upper { span.hi } else { span.lo };
                let bound = Bound { pointer: span.input.pointer.clone(), upper, value };
                let gain = gain_of_bound(target, found, index, upper);
                list.push((gain, Binding { limit: None, bound: Some(bound), gain_per_percent: gain }));
            }
        }
    }
    let least = NO_GAIN * found.trial.goal.abs().max(1e-9);
    list.retain(|(gain, _)| gain.is_none_or(|g| g > least));
    list.sort_by(|a, b| b.0.unwrap_or(0.0).total_cmp(&a.0.unwrap_or(0.0)));
    list.into_iter().map(|(_, binding)| binding).collect()
}

/// Whether a free input is at a bound: of a drum tension, which follows from the slack, whether it comes out there.
fn is_at_bound(target: &Target<'_>, found: &Found, index: usize, upper: bool) -> bool {
    if target.free[index].is_slack() {
        let margin = found.trial.margins.get(TENSION_ENDS + usize::from(upper));
        return margin.is_some_and(|margin| *margin <= BINDS_WITHIN);
    }
    let unit = found.unit[index];
    if upper { unit >= 1.0 - AT_BOUND } else { unit <= AT_BOUND }
}

fn again() -> Finish {
    Finish { iterations: 30, reach: 0.1, central: false, ..Finish::default() }
}

/// Gain of the goal when a limit gives way by one percent; none for a limit of 0.
fn gain_of_limit(target: &mut Target<'_>, found: &Found, code: LimitCode) -> Option<f64> {
    let of_zero = {
        let point = target.point(&found.unit).ok()?;
        point.limits.iter().find(|row| row.code == code)?.margin_ratio.is_none()
    };
    if of_zero {
        return None;
    }
    target.relaxed = Some((code, 0.01));
    let start = target.evaluate(&found.unit);
    let (_, trial) = finish(target, (found.unit.clone(), start), &cube(found.unit.len()), &again());
    target.relaxed = None;
    trial.is_feasible().then_some((trial.goal - found.trial.goal).max(0.0))
}

/// Gain of the goal when a bound gives way by one percent of itself; none for a bound of 0 or one that the scenario does
/// not let give way.
fn gain_of_bound(target: &mut Target<'_>, found: &Found, index: usize, upper: bool) -> Option<f64> {
    let free = &target.free[index];
    let value = if upper { free.span.hi } else { free.span.lo };
    if value == 0.0 {
        return None;
    }
    let wider = if upper { value + 0.01 * value.abs() } else { value - 0.01 * value.abs() };
    free.span.input.check(wider).ok()?;
    let (mut bounds, mut start) = (cube(found.unit.len()), found.trial.clone());
    if free.is_slack() {
        let (lo, hi) = (free.span.lo, free.span.hi);
        target.tension_ends_n = Some(if upper { (lo, wider) } else { (wider, hi) });
        start = target.evaluate(&found.unit);
    } else {
        let unit = free.unit(wider).filter(|u| u.is_finite())?;
        bounds[index] = if upper { (0.0, unit.max(1.0)) } else { (unit.min(0.0), 1.0) };
    }
    let (_, trial) = finish(target, (found.unit.clone(), start), &bounds, &again());
    target.tension_ends_n = None;
    trial.is_feasible().then_some((trial.goal - found.trial.goal).max(0.0))
}

/// For each free input, least and largest value with which the others still reach 99 % of the goal.
pub(super) fn ranges(target: &mut Target<'_>, found: &Found) -> Vec<Option<(f64, f64)>> {
    let least_goal = found.trial.goal - 0.01 * found.trial.goal.abs();
    let own = target.goal_index();
    (0..found.unit.len())
        .map(|index| {
            if own == Some(index) {
                return None;
            }
            let mut ends = [found.unit.clone(), found.unit.clone()];
            for (end, upward) in ends.iter_mut().zip([false, true]) {
                target.aim = Aim::Coordinate { index, upward, least_goal };
                let start = target.evaluate(&found.unit);
                let how = Finish { iterations: 25, reach: 0.05, central: false, ..Finish::default() };
                let (unit, trial) =
                    finish(target, (found.unit.clone(), start), &cube(found.unit.len()), &how);
                if trial.is_feasible() {
                    *end = unit;
                }
            }
            target.aim = Aim::Goal;
            let [a, b] = ends.map(|unit| target.values_at(&unit)[index]);
            let at = target.values_at(&found.unit)[index];
            Some((a.min(b).min(at), a.max(b).max(at)))
        })
        .collect()
}
