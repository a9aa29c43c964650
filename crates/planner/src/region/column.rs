//! One column of a map whose tethers hang once: the largest payload of all stations, and the station of a large margin at
//! every payload up to it. What is told is computed afresh.

use super::{
    follow::{End, extreme, few, highest, only},
    loaded::{Aim, Loaded, Site},
};
use crate::{
    optimise::{Finish, Problem, Trial, finish},
    search::Target,
    study::standing_of,
};

/// How much finer the lattice is than the grid of tethers, in offset and in slack.
const FINER: (usize, usize) = (2, 3);
/// Level of the best station from which on a payload may close between those of the lattice.
const MAY_CLOSE: f64 = -0.05;
/// Starts of the search for the largest payload.
const STARTS: usize = 4;
/// Ends of those that are put right and compared.
const RIVALS: usize = 3;
/// Share of the largest payload by which another end may hold less and still be searched on.
const RIVAL: f64 = 0.02;
/// Share of the payload that is left off where a drum tension is held instead of a length, for rounding.
const INSIDE: f64 = 1e-5;
/// Share of a limit by which it may be broken there: a station on several limits that is hung anew by its tension.
const ROUNDING: f64 = 5e-6;
/// How often the table is put right at most.
const ROUNDS: usize = 5;
/// Share of the largest payload within which table and plan agree where no more is put right.
const AGREED: f64 = 1e-4;
/// Shares of the largest payload at which stations are chosen.
const KNOTS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 0.92];
/// Stations kept at each of those.
const KEPT: usize = 4;
/// Stations computed in full at most at a place before it is searched on its own.
const TRIED: usize = 4;

/// The station of each place, and before each the largest payload where it ends there.
pub(super) type Chosen = (Vec<End>, Vec<Option<Vec<f64>>>);

/// The best station at each payload. None where stations of the table say that some may close and none does.
pub(super) fn chosen(
    loaded: &mut Loaded<'_>,
    target: &mut Target<'_>,
    climber: &mut Target<'_>,
    units: &[f64],
) -> Option<Chosen> {
    let sites = loaded.sites(FINER, 0.0);
    let Some(top) = largest(loaded, climber, &sites) else {
        let nearest = nearest(loaded, units.first().copied().unwrap_or(0.0))?;
        let ends = units.iter().map(|y| at(target, &nearest, *y)).collect();
        return Some((ends, vec![None; units.len()]));
    };
    let pool = pool(loaded, &sites, &top);
    let ends: Vec<End> = units
        .iter()
        .map(|y| if *y <= top[0] { below(loaded, target, &pool, *y) } else { at(target, &top, *y) })
        .collect();
    let tops = (0..units.len())
        .map(|i| (i > 0 && units[i - 1] <= top[0] && top[0] < units[i]).then(|| top.clone()))
        .collect();
    Some((ends, tops))
}

fn at(target: &mut Target<'_>, station: &[f64], y: f64) -> End {
    let mut unit = station.to_vec();
    unit[0] = y;
    let trial = target.evaluate(&unit);
    (unit, trial)
}

/// The station that stands nearest to closing where none does; none if the table has none, or one that may close.
fn nearest(loaded: &mut Loaded<'_>, y: f64) -> Option<Vec<f64>> {
    let payload_kg = loaded.payload_kg(y);
    let mut best: Option<(f64, Vec<f64>)> = None;
    for site in loaded.sites((1, 1), -1.0) {
        let level = loaded.standing(&site, payload_kg).level;
        if best.as_ref().is_none_or(|(most, _)| level > *most) {
            best = Some((level, vec![y, site.unit[0], site.unit[1]]));
        }
    }
    let (_, unit) = best?;
    loaded.put_back();
    loaded.aim = Aim::Margin;
    let trial = loaded.evaluate(&unit);
    let bounds = loaded.bounds((y, y));
    let end = finish(loaded, (unit, trial), &bounds, &on_the_table());
    (end.1.level < MAY_CLOSE).then_some(end.0)
}

/// The largest payload of any station, kept where it closes.
fn largest(loaded: &mut Loaded<'_>, climber: &mut Target<'_>, sites: &[Site]) -> Option<Vec<f64>> {
    loaded.aim = Aim::Payload;
    if let Some(site) = sites.get(sites.len() / 2) {
        let unit = held_by(loaded, site, 0.0).unwrap_or(0.5);
        loaded.put_right(&[unit, site.unit[0], site.unit[1]]);
    }
    let mut held: Vec<(f64, usize)> = Vec::with_capacity(sites.len());
    let mut most = 0.0_f64;
    for (index, site) in sites.iter().enumerate() {
        if let Some(unit) = held_by(loaded, site, 0.8 * most) {
            most = most.max(unit);
            held.push((unit, index));
        }
    }
    held.sort_by(|a, b| b.0.total_cmp(&a.0));
    let starts = apart(held.iter().map(|(unit, index)| (*unit, &sites[*index])), STARTS);
    let bounds = loaded.bounds((0.0, 1.0));
    let mut ends: Vec<End> = Vec::new();
    for (unit, site) in starts {
        loaded.put_back();
        let unit = vec![unit, site.unit[0], site.unit[1]];
        let trial = loaded.evaluate(&unit);
        let end = finish(loaded, (unit, trial), &bounds, &on_the_table());
        let known = |other: &End| end.0.iter().zip(&other.0).all(|(a, b)| (a - b).abs() < 0.01);
        if !ends.iter().any(known) {
            ends.push(end);
        }
    }
    ends.sort_by(|a, b| a.1.compare(&b.1));
    ends.truncate(RIVALS);
    let ends: Vec<Vec<f64>> = ends.into_iter().filter_map(|end| settled(loaded, climber, end)).collect();
    let most = ends.iter().map(|end| end[0]).fold(0.0, f64::max);
    // The table ends where a line no longer hangs in the gust; the plan may go on to there.
    let rivals = ends.into_iter().filter(|end| end[0] >= most * (1.0 - RIVAL));
    let found = rivals.map(|end| {
        let found = extreme(climber, &end, (0.0, 1.0));
        let gains = found.1.is_feasible() && found.0[0] > end[0] * (1.0 + AGREED);
        if gains { as_far_as_held(climber, end, &found.0) } else { end }
    });
    let best = found.max_by(|a, b| a[0].total_cmp(&b[0]))?;
    // The table may have missed the side on which most is held.
    let found = highest(climber, &best);
    Some(if found.1.is_feasible() && found.0[0] > best[0] * (1.0 + AGREED) {
        as_far_as_held(climber, best, &found.0)
    } else {
        best
    })
}

/// The last place on the straight way from one station to another that closes with its drum tension held.
fn as_far_as_held(climber: &mut Target<'_>, from: Vec<f64>, to: &[f64]) -> Vec<f64> {
    if closes_held(climber, to) {
        return to.to_vec();
    }
    let between =
        |share: f64| -> Vec<f64> { from.iter().zip(to).map(|(a, b)| a + share * (b - a)).collect() };
    let (mut lo, mut hi) = (0.0, 1.0);
    for _ in 0..8 {
        let middle = 0.5 * (lo + hi);
        if closes_held(climber, &between(middle)) { lo = middle } else { hi = middle }
    }
    between(lo)
}

/// Whether a station closes when the winch holds the drum tension of its line: of two lengths with one tension it has the
/// shorter.
fn closes_held(target: &mut Target<'_>, unit: &[f64]) -> bool {
    let mut inside = unit.to_vec();
    inside[0] *= 1.0 - INSIDE;
    if target.point(&inside).is_err() {
        return false;
    }
    let values = target.values().to_vec();
    target.point_of_values(&values).is_ok_and(|point| standing_of(&point).level >= -ROUNDING)
}

/// Largest coordinate of the payload that a station holds, if it is more than `least`.
fn held_by(loaded: &mut Loaded<'_>, site: &Site, least: f64) -> Option<f64> {
    let mut level = |unit: f64| {
        let payload_kg = loaded.payload_kg(unit);
        loaded.standing(site, payload_kg).level
    };
    let from = level(least);
    if from < 0.0 {
        return None;
    }
    root(&mut level, (least, from), 1e-2)
}

/// Largest coordinate with a level that is not negative, from one that has it up to 1: to a share of itself.
fn root(level: &mut dyn FnMut(f64) -> f64, from: (f64, f64), share: f64) -> Option<f64> {
    let mut lo = from;
    let mut hi = (1.0, level(1.0));
    if hi.1 >= 0.0 {
        return Some(1.0);
    }
    for step in 0..60 {
        if hi.0 - lo.0 <= share * hi.0.max(1e-9) {
            break;
        }
        // Levels are steep where stages are missing, and never straight: every third step halves.
        let straight = lo.0 + (hi.0 - lo.0) * (lo.1 / (lo.1 - hi.1)).clamp(0.02, 0.98);
        let middle = if step % 3 == 2 || hi.1 < -0.9 || lo.1 < 1e-6 { 0.5 * (lo.0 + hi.0) } else { straight };
        let here = level(middle);
        if here >= 0.0 {
            lo = (middle, here);
        } else {
            hi = (middle, here);
        }
    }
    Some(lo.0)
}

/// The first of `ordered` that stand apart.
fn apart<'s>(ordered: impl Iterator<Item = (f64, &'s Site)>, count: usize) -> Vec<(f64, &'s Site)> {
    let mut chosen: Vec<(f64, &Site)> = Vec::with_capacity(count);
    for (value, site) in ordered {
        let near = |(_, other): &(f64, &Site)| {
            site.index.0.abs_diff(other.index.0) <= 2 * FINER.0
                && site.index.1.abs_diff(other.index.1) <= 2 * FINER.1
        };
        if !chosen.iter().any(near) {
            chosen.push((value, site));
            if chosen.len() >= count {
                break;
            }
        }
    }
    chosen
}

/// Puts the table right where a search on it ended and searches on; the largest payload that closes there.
fn settled(loaded: &mut Loaded<'_>, climber: &mut Target<'_>, mut end: End) -> Option<Vec<f64>> {
    let bounds = loaded.bounds((0.0, 1.0));
    let mut best: Option<Vec<f64>> = None;
    for _ in 0..ROUNDS {
        loaded.put_right(&end.0);
        let trial = loaded.evaluate(&end.0);
        end = finish(loaded, (end.0, trial), &bounds, &on_the_table());
        let told = end.0[0];
        let Some(closes) = largest_there(climber, &end.0) else { continue };
        let agreed = (closes[0] - told).abs() <= AGREED * told.abs();
        if best.as_ref().is_none_or(|b| closes[0] > b[0]) {
            best = Some(closes);
        }
        if agreed {
            break;
        }
    }
    best.or_else(|| {
        let found = extreme(climber, &end.0, (0.0, 1.0));
        found.1.is_feasible().then_some(found.0)
    })
}

/// The largest payload that closes at a station, near what is told of it.
fn largest_there(climber: &mut Target<'_>, unit: &[f64]) -> Option<Vec<f64>> {
    let mut here = unit.to_vec();
    let mut level = |y: f64| {
        here[0] = y;
        climber.evaluate(&here).level
    };
    let (mut lo, mut hi) = (unit[0], unit[0]);
    let mut width = 1e-4 * unit[0].max(1e-4);
    if level(lo) >= 0.0 {
        while hi < 1.0 {
            hi = (hi + width).min(1.0);
            if level(hi) < 0.0 {
                break;
            }
            lo = hi;
            width *= 8.0;
        }
    } else {
        loop {
            if lo <= 0.0 {
                return None;
            }
            hi = lo;
            lo = (lo - width).max(0.0);
            if level(lo) >= 0.0 {
                break;
            }
            width *= 8.0;
        }
    }
    let mut found = unit.to_vec();
    found[0] = bisect(&mut level, lo, hi, 1e-7);
    Some(found)
}

fn bisect(level: &mut dyn FnMut(f64) -> f64, mut lo: f64, mut hi: f64, share: f64) -> f64 {
    for _ in 0..60 {
        if hi - lo <= share * hi {
            break;
        }
        let middle = 0.5 * (lo + hi);
        if level(middle) >= 0.0 { lo = middle } else { hi = middle }
    }
    lo
}

/// Stations of large margins at some payloads up to the largest, with that of the largest.
fn pool(loaded: &mut Loaded<'_>, sites: &[Site], top: &[f64]) -> Vec<[f64; 2]> {
    loaded.aim = Aim::Margin;
    let mut pool: Vec<[f64; 2]> = vec![[top[1], top[2]]];
    let mut path: Vec<[f64; 2]> = Vec::with_capacity(KNOTS.len());
    for share in KNOTS {
        let y = share * top[0];
        let payload_kg = loaded.payload_kg(y);
        let mut closing: Vec<(f64, usize)> = Vec::new();
        for (index, site) in sites.iter().enumerate() {
            let standing = loaded.standing(site, payload_kg);
            if standing.level >= 0.0 {
                closing.push((standing.margin_w, index));
            }
        }
        closing.sort_by(|a, b| b.0.total_cmp(&a.0));
        let kept = apart(closing.iter().map(|(margin_w, index)| (*margin_w, &sites[*index])), KEPT);
        pool.extend(kept.iter().map(|(_, site)| site.unit));
        let first = kept.first().map_or([top[1], top[2]], |(_, site)| site.unit);
        let unit = vec![y, first[0], first[1]];
        loaded.put_back();
        let trial = loaded.evaluate(&unit);
        let bounds = loaded.bounds((y, y));
        let end = finish(loaded, (unit, trial), &bounds, &on_the_table());
        loaded.put_right(&end.0);
        let trial = loaded.evaluate(&end.0);
        let end = finish(loaded, (end.0, trial), &bounds, &on_the_table());
        path.push([end.0[1], end.0[2]]);
    }
    path.push([top[1], top[2]]);
    for pair in path.windows(2) {
        for share in [0.0, 0.25, 0.5, 0.75] {
            let between = |i: usize| pair[0][i] + share * (pair[1][i] - pair[0][i]);
            pool.push([between(0), between(1)]);
        }
    }
    loaded.put_back();
    pool
}

/// A payload below the largest: the station of the pool with the largest margin that closes, computed in full.
fn below(loaded: &mut Loaded<'_>, target: &mut Target<'_>, pool: &[[f64; 2]], y: f64) -> End {
    let mut ordered: Vec<(Vec<f64>, Trial)> = pool
        .iter()
        .map(|station| {
            let unit = vec![y, station[0], station[1]];
            let trial = loaded.evaluate(&unit);
            (unit, trial)
        })
        .collect();
    ordered.sort_by(|a, b| a.1.compare(&b.1));
    let mut best: Option<End> = None;
    let last = vec![y, pool[0][0], pool[0][1]];
    for unit in ordered.into_iter().take(TRIED).map(|(unit, _)| unit).chain(std::iter::once(last)) {
        let trial = target.evaluate(&unit);
        if trial.is_feasible() && closes_held(target, &unit) {
            return (unit, trial);
        }
        if best.as_ref().is_none_or(|b| trial.beats(&b.1)) {
            best = Some((unit, trial));
        }
    }
    let (unit, trial) = best.unwrap_or_else(|| (vec![y, 0.5, 0.5], Trial::missing(-3.0)));
    if trial.is_feasible() {
        return (unit, trial);
    }
    // A station that holds the largest payload need not hold a lighter one, which the wind may drive.
    let from = finish(target, (unit, trial), &only(y, target.count()), &few(6));
    if from.1.is_feasible() {
        return from;
    }
    let top = at(target, &[y, pool[0][0], pool[0][1]], y);
    finish(target, top, &only(y, target.count()), &few(12))
}

/// A search on the table, whose places cost next to nothing.
fn on_the_table() -> Finish {
    Finish { central: false, backoff: 1e-6, iterations: 40, tolerance: 1e-6, ..Finish::default() }
}
