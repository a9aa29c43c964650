//! The largest payload of one column: searches by slopes on its table from places that stand apart, and on from the best of their ends, the
//! table put right by what hangs there.

use super::{
    full::Full,
    loaded::{Aim, Loaded, Site},
    slopes::{SPARE, searched, spare_after},
};

/// Places of the net from which the largest payload is looked for, and how many steps of the net they stand apart.
const STARTS: usize = 8;
/// As many more that all but hold it.
const BETWEEN: usize = 3;
const APART: f64 = 2.1;
/// Places that are asked first what they hold, and shares of that which the others are asked to hold, with the level to which they must.
const PROBES: usize = 40;
const SHARES: [(f64, f64); 2] = [(1.0, 0.0), (0.7, -0.1)];
/// Share of the largest payload by which another end may hold less and still be looked at.
const RIVAL: f64 = 0.08;
/// How many of those are searched on from, the table put right by what hangs there.
const RIVALS: usize = 6;
/// Payloads, of the largest of the map, with which a station is looked for where no place of the net closes, and level from which on one
/// is looked at there.
const NEAR_PAYLOADS: [f64; 3] = [0.0, 0.1, 0.3];
const NEAR: f64 = -0.3;
/// Searches at most from one end of the table.
const SETTLING: usize = 5;
/// Share of the largest payload to which searching once more would not change it.
const AGREED: f64 = 1e-4;
/// How much heavier a payload is tried where one is too light: times itself, and a share of the largest of the map.
const HEAVIER: (f64, f64) = (1.1, 0.03);
/// Share of itself to which the largest payload is found, on the table and in full.
const CLOSE: (f64, f64) = (1e-2, 1e-7);
/// Share of the payload that is left off where a drum tension is held instead of a length, for rounding.
pub(super) const INSIDE: f64 = 1e-5;
/// Shorter lines that are tried where a drum tension has a shorter one, and how much shorter each is.
const SHORTER: (usize, f64) = (5, 0.01);

/// The largest payload.
pub(super) struct Top {
    /// Its coordinate.
    pub payload: f64,
    /// The station that holds it.
    pub full: Full,
}

/// The largest payload of any station, kept where it closes.
pub(super) fn largest(loaded: &mut Loaded<'_>, sites: &[Site]) -> Option<Top> {
    let (held, others) = holding(loaded, sites);
    if held.is_empty() {
        return nearly(loaded, sites);
    }
    let placed = |(unit, index): &(f64, usize)| (*unit, &sites[*index]);
    let starts = apart(held.iter().map(placed), STARTS);
    let count = starts.len() + BETWEEN;
    let starts = apart(starts.into_iter().chain(others.iter().map(placed)), count);
    if let Some((unit, site)) = starts.first()
        && let Some(full) = loaded.station(site.at).and_then(|station| loaded.full(station))
    {
        loaded.put_right(&full, site.at, *unit);
    }
    let mut ends = searched_from(loaded, starts);
    ends.sort_by(|a, b| b.0.total_cmp(&a.0));
    ends.dedup_by(|a, b| (0..2).all(|i| (a.1[i] - b.1[i]).abs() < 0.1));
    best_of(loaded, ends.into_iter().take(RIVALS))
}

/// Ends of searches for the largest payload on the table.
fn searched_from(loaded: &mut Loaded<'_>, starts: Vec<(f64, &Site)>) -> Vec<(f64, [f64; 2])> {
    let end = |(unit, site): (f64, &Site)| searched(loaded, Aim::Payload, (0.0, 1.0), (unit, site.at), SPARE);
    starts.into_iter().map(end).collect()
}

/// The largest payload that ends of searches on the table lead to; one that is far below what is held already is not looked at.
fn best_of(loaded: &mut Loaded<'_>, ends: impl Iterator<Item = (f64, [f64; 2])>) -> Option<Top> {
    let mut best: Option<Top> = None;
    for (unit, at) in ends {
        let held = best.as_ref().map_or(0.0, |best| best.payload);
        if unit < held * (1.0 - RIVAL) {
            continue;
        }
        if let Some(top) = settled(loaded, unit, at).filter(|top| top.payload > held) {
            best = Some(top);
        }
    }
    best
}

/// Places that hold a payload near the largest of any, with it and the best first: what some of them hold is found, then which of all
/// hold most of that with most to spare. And those that all but hold it, with the nearest first: between two places of the net one
/// may hold more than any of them.
#[allow(clippy::type_complexity, reason = "places with their payloads, twice")]
fn holding(loaded: &mut Loaded<'_>, sites: &[Site]) -> (Vec<(f64, usize)>, Vec<(f64, usize)>) {
    let mut most = 0.0_f64;
    let mut held: Vec<(f64, usize)> = Vec::new();
    for (index, site) in sites.iter().enumerate().step_by(sites.len().div_ceil(PROBES).max(1)) {
        if let Some(unit) = held_by(loaded, site, most) {
            most = unit;
            held.push((unit, index));
        }
    }
    held.reverse();
    let mut others: Vec<(f64, usize)> = Vec::new();
    for (share, least) in SHARES {
        let payload_kg = loaded.payload_kg(share * most);
        let mut levels: Vec<(f64, usize)> = sites
            .iter()
            .enumerate()
            .filter(|(_, site)| site.level >= least)
            .map(|(index, site)| (loaded.standing(site, payload_kg).level, index))
            .filter(|(level, _)| *level >= least)
            .collect();
        levels.sort_by(|a, b| b.0.total_cmp(&a.0));
        let (holds, nearly): (Vec<_>, Vec<_>) = levels.into_iter().partition(|(level, _)| *level >= 0.0);
        held.extend(holds.iter().map(|(_, index)| (share * most, *index)));
        others.extend(nearly.iter().map(|(_, index)| (share * most, *index)));
    }
    (held, others)
}

/// The same where no place of the net closes: from those that stand nearest to it with one of a few payloads.
fn nearly(loaded: &mut Loaded<'_>, sites: &[Site]) -> Option<Top> {
    let mut near: Vec<(f64, usize, f64)> = Vec::new();
    for unit in NEAR_PAYLOADS {
        let payload_kg = loaded.payload_kg(unit);
        let level = |(index, site)| (loaded.standing(site, payload_kg).level, index, unit);
        near.extend(sites.iter().enumerate().map(level).filter(|(level, ..)| *level > NEAR));
    }
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    let ordered = near.iter().map(|(_, index, unit)| (*unit, &sites[*index]));
    let ends = searched_from(loaded, apart(ordered, STARTS));
    best_of(loaded, ends.into_iter())
}

/// Searches on from a place by slopes, the table put right at each end by what hangs there; the largest payload that closes.
fn settled(loaded: &mut Loaded<'_>, payload: f64, at: [f64; 2]) -> Option<Top> {
    loaded.put_back();
    let (mut near, mut at, mut spare) = (payload, at, SPARE);
    let mut best: Option<Top> = None;
    for round in 0..SETTLING {
        let full = loaded.full(loaded.station(at)?)?;
        loaded.put_right(&full, at, near);
        let level = loaded.level(&full, near * (1.0 - AGREED));
        let top = largest_there(loaded, full, near);
        let agrees = top.as_ref().is_some_and(|top| (top.payload - near).abs() <= AGREED * near);
        let ends = agrees && round > 0 && spare == SPARE;
        // What no payload holds there is broken by the line alone.
        spare = if top.is_some() { SPARE } else { spare_after(level, round) };
        if let Some(top) = top
            && best.as_ref().is_none_or(|best| top.payload > best.payload)
        {
            best = Some(top);
        }
        if ends {
            break;
        }
        (near, at) = searched(loaded, Aim::Payload, (0.0, 1.0), (near, at), spare);
    }
    best
}

/// Largest coordinate of the payload that a place holds, if it is more than `least`.
fn held_by(loaded: &mut Loaded<'_>, site: &Site, least: f64) -> Option<f64> {
    if site.level < 0.0 {
        return None;
    }
    let mut standing = |unit: f64| {
        let payload_kg = loaded.payload_kg(unit);
        loaded.standing(site, payload_kg)
    };
    // A vehicle that the wind drives may need a heavier payload.
    let (mut least, mut from) = (least, standing(least));
    while from.level < 0.0 {
        if !from.too_light || least >= 1.0 {
            return None;
        }
        least = (HEAVIER.0 * least + HEAVIER.1).min(1.0);
        from = standing(least);
    }
    // A payload a little larger mostly is too large, and then the rest need not be looked at.
    let mut level = |unit: f64| standing(unit).level;
    let next = (1.1 * least + 1e-3).min(1.0);
    let there = level(next);
    if there < 0.0 {
        return Some(between(&mut level, (least, from.level), (next, there), CLOSE.0));
    }
    let hi = (1.0, level(1.0));
    Some(if hi.1 >= 0.0 { 1.0 } else { between(&mut level, (next, there), hi, CLOSE.0) })
}

/// The last coordinate with a level that is not negative, between one that has it and one that has not.
fn between(level: &mut dyn FnMut(f64) -> f64, mut lo: (f64, f64), mut hi: (f64, f64), share: f64) -> f64 {
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
    lo.0
}

/// The first of `ordered` that stand apart.
pub(super) fn apart<'s>(
    ordered: impl Iterator<Item = (f64, &'s Site)>,
    count: usize,
) -> Vec<(f64, &'s Site)> {
    let mut chosen: Vec<(f64, &Site)> = Vec::with_capacity(count);
    for (value, site) in ordered {
        let near = |(_, other): &(f64, &Site)| (0..2).all(|i| (site.at[i] - other.at[i]).abs() < APART);
        if !chosen.iter().any(near) {
            chosen.push((value, site));
            if chosen.len() >= count {
                break;
            }
        }
    }
    chosen
}

/// The largest payload that closes at a station, near what is told of it; a shorter line where the drum tension has one.
fn largest_there(loaded: &mut Loaded<'_>, full: Full, near: f64) -> Option<Top> {
    let mut full = full;
    for _ in 0..SHORTER.0 {
        let payload = most_at(loaded, &full, near)?;
        if loaded.closes_held(&full, payload * (1.0 - INSIDE)) {
            return Some(Top { payload, full });
        }
        full = loaded.full([full.station[0], full.station[1] - SHORTER.1])?;
    }
    None
}

/// The largest payload that closes at a station, found from near it.
fn most_at(loaded: &mut Loaded<'_>, full: &Full, near: f64) -> Option<f64> {
    let mut level = |y: f64| loaded.level(full, y);
    let mut width = 1e-4 * near.max(1e-3);
    let mut here = (near, level(near));
    let up = here.1 >= 0.0;
    loop {
        let end = if up { 1.0 } else { 0.0 };
        if here.0 == end {
            return up.then_some(1.0);
        }
        let y = if up { (here.0 + width).min(1.0) } else { (here.0 - width).max(0.0) };
        let next = (y, level(y));
        if (next.1 >= 0.0) != up {
            let (lo, hi) = if up { (here, next) } else { (next, here) };
            return Some(between(&mut level, lo, hi, CLOSE.1));
        }
        here = next;
        width *= 8.0;
    }
}
