//! The two inputs whose changes together close a plan most cheaply.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::Serialize;

use super::{
    Group, Lever,
    scan::{Probe, Scan, Step, closes},
};
use crate::{
    limit::LimitCode,
    study::{Standing, Worker},
};

/// Pairs that are tried in earnest.
const TRIED_COUNT: usize = 48;
/// Changes that bring a missing stage back from which the others are scanned.
const WAYS_BACK_COUNT: usize = 3;
/// Second inputs that are scanned from each, those that a small step helps most.
const HELPING_COUNT: usize = 10;
/// That step over the measure of an input.
const SMALL_STEP_RATIO: f64 = 0.01;
/// How far beyond its forecast a pair is tried.
const STRETCHES: [f64; 5] = [1.0, 1.15, 1.4, 1.8, 2.5];

/// Two changes that together close the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairRemedy {
    /// The first input.
    pub first: Lever,
    /// Its value.
    pub first_closes_at: f64,
    /// The second input.
    pub second: Lever,
    /// Its value.
    pub second_closes_at: f64,
    /// Sum of both relative changes, without their signs.
    pub change_ratio: f64,
}

/// A pair of changes by forecast.
#[derive(Debug, Clone, Copy)]
struct Forecast {
    first: (usize, f64),
    second: (usize, f64),
    cost: f64,
}

/// One change and what it does to each limit.
struct Change {
    value: f64,
    cost: f64,
    /// Change of the margin of each limit, in the order of those of the present point.
    gains: Vec<f64>,
}

/// The cheapest pair among inputs that can be chosen, and the points it took. Effects of single changes are added for a
/// forecast, limit by limit; the cheapest forecasts are then tried and drawn tight.
pub fn cheapest_pair(
    stated: &Worker,
    levers: &[Lever],
    scans: &[Scan],
    present: Standing,
) -> (Option<PairRemedy>, u64) {
    let mut probe = Probe::new(stated, levers, 0, present);
    let present_step = probe.at(levers.first().map_or(0.0, |lever| lever.from));
    let Some(limits) = limits_of(&present_step) else {
        let (forecasts, count) = through_stages(stated, levers, scans);
        let (pair, more_count) = cheapest_of(stated, levers, present, &forecasts);
        return (pair, 1 + count + more_count);
    };
    let changes: Vec<Vec<Change>> = levers.iter().zip(scans).map(|(l, s)| changes(l, s, &limits)).collect();
    let mut forecasts: Vec<Forecast> = (0..levers.len())
        .into_par_iter()
        .flat_map_iter(|first| {
            let (limits, changes) = (&limits, &changes);
            (first + 1..levers.len()).filter_map(move |second| forecast(first, second, changes, limits))
        })
        .collect();
    forecasts.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let (pair, count) = cheapest_of(stated, levers, present, &forecasts);
    (pair, 1 + count)
}

/// The cheapest pair of the first forecasts once each is drawn tight, and the points it took.
fn cheapest_of(
    stated: &Worker,
    levers: &[Lever],
    present: Standing,
    forecasts: &[Forecast],
) -> (Option<PairRemedy>, u64) {
    let first = &forecasts[..forecasts.len().min(TRIED_COUNT)];
    let tried: Vec<(Option<PairRemedy>, u64)> =
        first.par_iter().map(|forecast| tighten(stated, levers, present, forecast)).collect();
    let evaluations_count = tried.iter().map(|(_, count)| count).sum::<u64>();
    let best = tried
        .into_iter()
        .filter_map(|(pair, _)| pair)
        .min_by(|a, b| a.change_ratio.total_cmp(&b.change_ratio));
    (best, evaluations_count)
}

/// Pairs of a plan of which a stage has no solution, the cheapest first, and the points they took. Without that stage there are
/// no margins to add up: the cheapest changes that bring it back are made, a little further than just so, and from there every
/// other input that helps is scanned for the value that closes the plan.
fn through_stages(stated: &Worker, levers: &[Lever], scans: &[Scan]) -> (Vec<Forecast>, u64) {
    let chosen = (0..levers.len()).filter(|place| is_chosen(&levers[*place]));
    let mut ways_back: Vec<(usize, &Step, f64)> =
        chosen.filter_map(|place| way_back(place, levers, scans)).collect();
    ways_back.sort_by(|a, b| a.2.total_cmp(&b.2));
    ways_back.truncate(WAYS_BACK_COUNT);
    let firsts: Vec<(usize, f64)> = ways_back
        .iter()
        .map(|(first, step, _)| (*first, stretched(&levers[*first], step.value, STRETCHES[1])))
        .collect();
    let helping: Vec<(Vec<Helping>, u64)> =
        firsts.par_iter().map(|first| helping(stated, levers, *first)).collect();
    let pairs: Vec<((usize, f64), Helping)> = firsts
        .iter()
        .zip(&helping)
        .flat_map(|(first, (helping, _))| helping.iter().map(move |second| (*first, *second)))
        .collect();
    let mut scanned: Vec<(Vec<Forecast>, u64)> =
        pairs.par_iter().map(|(first, second)| closing(stated, levers, *first, *second)).collect();
    scanned.extend(helping.into_iter().map(|(_, count)| (Vec::new(), count)));
    let evaluations_count = scanned.iter().map(|(_, count)| count).sum();
    let mut forecasts: Vec<Forecast> = scanned.into_iter().flat_map(|(found, _)| found).collect();
    forecasts.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    (forecasts, evaluations_count)
}

/// The cheapest value of an input with which every stage has a solution, and its cost.
fn way_back<'a>(place: usize, levers: &[Lever], scans: &'a [Scan]) -> Option<(usize, &'a Step, f64)> {
    let scan = &scans[place];
    [&scan.down, &scan.up]
        .into_iter()
        .filter_map(|side| side.steps.iter().find(|step| step.margins.is_some()))
        .filter_map(|step| Some((place, step, levers[place].change_ratio(step.value)?.abs())))
        .min_by(|a, b| a.2.total_cmp(&b.2))
}

/// A second input that helps once the stage is back: which way, and how the plan stands before it is moved.
#[derive(Debug, Clone, Copy)]
struct Helping {
    place: usize,
    sign: f64,
    present: Standing,
    gain: f64,
}

/// The inputs that a small step helps most with the first as it is, and the points it took; none where the first alone closes the
/// plan, or brings nothing back.
fn helping(stated: &Worker, levers: &[Lever], first: (usize, f64)) -> (Vec<Helping>, u64) {
    let missing = Standing { level: -1.0, code: None };
    let mut probe = Probe::new(stated, levers, first.0, missing);
    let base = probe.at(first.1);
    let mut evaluations_count = probe.evaluations_count;
    if closes(&base.standing) || base.margins.is_none() {
        return (Vec::new(), evaluations_count);
    }
    let mut found = Vec::new();
    for place in (0..levers.len()).filter(|place| *place != first.0 && is_chosen(&levers[*place])) {
        let lever = &levers[place];
        let mut probe = Probe::new(stated, levers, place, base.standing).with(first.0, first.1);
        let step = if lever.input.whole { 1.0 } else { SMALL_STEP_RATIO * lever.measure };
        for sign in [-1.0, 1.0] {
            let value = lever.from + sign * step;
            if lever.input.check(value).is_ok() {
                let gain = probe.at(value).standing.level - base.standing.level;
                found.push(Helping { place, sign, present: base.standing, gain });
            }
        }
        evaluations_count += probe.evaluations_count;
    }
    found.retain(|helping| helping.gain > 0.0);
    found.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    found.truncate(HELPING_COUNT);
    (found, evaluations_count)
}

/// The value of the second input that closes the plan with the first as it is, and the points it took.
fn closing(stated: &Worker, levers: &[Lever], first: (usize, f64), second: Helping) -> (Vec<Forecast>, u64) {
    let mut probe = Probe::new(stated, levers, second.place, second.present).with(first.0, first.1);
    let crossing = probe.side(second.sign).crossing;
    let cost_of =
        |place: usize, value: f64| levers[place].change_ratio(value).map_or(f64::INFINITY, f64::abs);
    let found = crossing
        .map(|crossing| Forecast {
            first,
            second: (second.place, crossing.beyond),
            cost: cost_of(first.0, first.1) + cost_of(second.place, crossing.beyond),
        })
        .filter(|forecast| forecast.cost.is_finite());
    (found.into_iter().collect(), probe.evaluations_count)
}

/// Whether designer or pilot choose an input.
fn is_chosen(lever: &Lever) -> bool {
    matches!(lever.group, Group::Design | Group::Station)
}

/// Margins of the present point by limit; none where a stage is missing.
fn limits_of(step: &Step) -> Option<BTreeMap<LimitCode, f64>> {
    step.margins.as_ref().map(|margins| margins.iter().copied().collect())
}

/// What each scanned value of an input that can be chosen costs and gains, the cheapest first.
fn changes(lever: &Lever, scan: &Scan, limits: &BTreeMap<LimitCode, f64>) -> Vec<Change> {
    if !is_chosen(lever) {
        return Vec::new();
    }
    let mut changes: Vec<Change> = scan
        .down
        .steps
        .iter()
        .chain(&scan.up.steps)
        .filter_map(|step| {
            let after = limits_of(step)?;
            let cost = lever.change_ratio(step.value)?.abs();
            let gains: Vec<f64> =
                limits.iter().map(|(code, before)| after.get(code).map_or(0.0, |a| a - before)).collect();
            Some(Change { value: step.value, cost, gains })
        })
        .collect();
    changes.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    changes
}

/// The cheapest two changes of a pair that are forecast to close the plan.
fn forecast(
    first: usize,
    second: usize,
    changes: &[Vec<Change>],
    limits: &BTreeMap<LimitCode, f64>,
) -> Option<Forecast> {
    let present: Vec<f64> = limits.values().copied().collect();
    let mut best: Option<Forecast> = None;
    for a in &changes[first] {
        let most = best.map_or(f64::INFINITY, |b| b.cost);
        if a.cost >= most {
            break;
        }
        // A change that mends no broken limit and harms one is of no use.
        let left: Vec<f64> = present.iter().zip(&a.gains).map(|(p, g)| p + g).collect();
        let found = changes[second]
            .iter()
            .take_while(|b| a.cost + b.cost < most)
            .find(|b| left.iter().zip(&b.gains).all(|(l, g)| l + g >= 0.0));
        if let Some(b) = found {
            best =
                Some(Forecast { first: (first, a.value), second: (second, b.value), cost: a.cost + b.cost });
        }
    }
    best
}

/// Stretches a forecast until it holds, then draws each change back as far as the other allows.
fn tighten(
    stated: &Worker,
    levers: &[Lever],
    present: Standing,
    forecast: &Forecast,
) -> (Option<PairRemedy>, u64) {
    let ((first, first_value), (second, second_value)) = (forecast.first, forecast.second);
    let mut evaluations_count = 0;
    let stretched = STRETCHES.iter().find_map(|stretch| {
        let reach = |place: usize, value: f64| stretched(&levers[place], value, *stretch);
        let (a, b) = (reach(first, first_value), reach(second, second_value));
        let mut probe = Probe::new(stated, levers, second, present).with(first, a);
        let holds = closes(&probe.at(b).standing);
        evaluations_count += probe.evaluations_count;
        holds.then_some((a, b))
    });
    let Some((a, b)) = stretched else { return (None, evaluations_count) };
    let mut draw_back = |moved: usize, value: f64, other: usize, held: f64| {
        let mut probe = Probe::new(stated, levers, moved, present).with(other, held);
        let near = probe.at(levers[moved].from);
        // The other change alone closes it: this is no pair.
        let crossing = (!closes(&near.standing)).then(|| {
            let step = probe.at(value);
            probe.bisect(levers[moved].from, (value, step.standing)).beyond
        });
        evaluations_count += probe.evaluations_count;
        crossing
    };
    let cost = |a: f64, b: f64| {
        let ratio =
            |place: usize, value: f64| levers[place].change_ratio(value).map_or(f64::INFINITY, f64::abs);
        ratio(first, a) + ratio(second, b)
    };
    let second_then = draw_back(second, b, first, a).and_then(|b| Some((draw_back(first, a, second, b)?, b)));
    let first_then = draw_back(first, a, second, b).and_then(|a| Some((a, draw_back(second, b, first, a)?)));
    let best = [second_then, first_then]
        .into_iter()
        .flatten()
        .min_by(|x, y| cost(x.0, x.1).total_cmp(&cost(y.0, y.1)));
    let pair = best.map(|(a, b)| PairRemedy {
        first: levers[first].clone(),
        first_closes_at: a,
        second: levers[second].clone(),
        second_closes_at: b,
        change_ratio: cost(a, b),
    });
    (pair, evaluations_count)
}

/// The change made longer, inside the range of the input.
fn stretched(lever: &Lever, value: f64, stretch: f64) -> f64 {
    let longer = lever.from + stretch * (value - lever.from);
    let longer = if lever.input.whole { longer.round() } else { longer };
    longer.clamp(lever.input.min.unwrap_or(f64::MIN), lever.input.max.unwrap_or(f64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Document, load, remedy::inputs::levers};

    #[test]
    fn a_longer_change_goes_on_the_same_way_as_far_as_the_input_may() {
        let text = include_str!("../../../../scenarios/breakwater-lookout.json");
        let scenario = load(&Document::parse(text).unwrap()).unwrap().scenario;
        let levers = levers(&scenario);
        let of = |pointer: &str| levers.iter().find(|lever| lever.pointer == pointer).unwrap();
        let payload = of("/payload/mass_kg");
        let at = |value: f64| stretched(payload, value, 1.5);
        assert!((at(payload.from + 0.2) - (payload.from + 0.3)).abs() < 1e-12);
        assert!((at(payload.from - 0.2) - (payload.from - 0.3)).abs() < 1e-12);
        assert_eq!(at(0.0), 0.0, "no payload weighs less than nothing");
        let cells = of("/receiver/cells/parallel_count");
        assert_eq!(stretched(cells, cells.from + 1.0, 1.3), cells.from + 1.0, "whole");
    }
}
