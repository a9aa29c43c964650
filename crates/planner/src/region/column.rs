//! One column of a map whose tethers hang once: the station of a large margin at every payload up to the largest. What is told is
//! computed in full.

use super::{
    climb::{ON_TABLE, climbed, searched},
    full::{Full, Told},
    loaded::{Aim, Loaded, Site},
    summit::{INSIDE, Top, apart, largest},
};
use crate::search::Target;

/// Level of the tether alone from which on a station is looked at: between two of the lattice it may hold.
const LOOKED_AT: f64 = -0.3;
/// Level of the best place of the table from which on a payload may close between those of the table.
const MAY_CLOSE: f64 = -0.02;
/// What a limit has to spare, of itself, where the table says that it holds.
const SPARE: f64 = 2e-3;
/// Places of the table from which a payload is sought that no station known holds, and stations that are hung from each.
const SOUGHT: (usize, usize) = (4, 5);
/// Shares of the largest payload at which stations are chosen.
const KNOTS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 0.92];

/// A column as it is told.
pub(super) struct Chosen {
    /// The best station of each payload.
    pub told: Vec<Told>,
    /// The largest payload, and the station that holds it.
    pub top: Option<Top>,
}

/// The best station at each payload of `units`. None where the table cannot tell.
pub(super) fn chosen(loaded: &mut Loaded<'_>, climber: &mut Target<'_>, units: &[f64]) -> Option<Chosen> {
    let sites = loaded.sites(LOOKED_AT);
    let Some(top) = largest(loaded, climber, &sites) else {
        let nearest = nearest(loaded, &sites, units.first().copied().unwrap_or(0.0))?;
        return Some(Chosen { told: units.iter().map(|y| loaded.told(&nearest, *y)).collect(), top: None });
    };
    let path = path(loaded, &sites, &top);
    let mut told: Vec<Told> = Vec::with_capacity(units.len());
    let mut last = top.full.clone();
    for y in units.iter().rev() {
        told.push(if *y <= top.payload {
            below(loaded, &sites, &path, &mut last, *y)
        } else {
            loaded.told(&top.full, *y)
        });
    }
    told.reverse();
    Some(Chosen { told, top: Some(top) })
}

/// The station that stands nearest to closing where none does; none if the table has none, or one that may close.
fn nearest(loaded: &mut Loaded<'_>, sites: &[Site], y: f64) -> Option<Full> {
    let payload_kg = loaded.payload_kg(y);
    let levels: Vec<f64> = sites.iter().map(|site| loaded.standing(site, payload_kg).level).collect();
    let best = (0..sites.len()).max_by(|a, b| levels[*a].total_cmp(&levels[*b]))?;
    let mut wanted = |loaded: &mut Loaded<'_>, site: &Site, least: f64| {
        Some(loaded.standing(site, payload_kg).level).filter(|level| *level > least)
    };
    let (level, at) = climbed(loaded, &mut wanted, (levels[best], sites[best].at), &ON_TABLE);
    let station = loaded.station(at).filter(|_| level < MAY_CLOSE)?;
    loaded.full(station)
}

/// Stations of large margins at some payloads up to the largest, and that of the largest.
fn path(loaded: &mut Loaded<'_>, sites: &[Site], top: &Top) -> Vec<(f64, [f64; 2])> {
    let mut path: Vec<(f64, [f64; 2])> = Vec::with_capacity(KNOTS.len() + 1);
    for share in KNOTS {
        let y = share * top.payload;
        let payload_kg = loaded.payload_kg(y);
        let wanted = |loaded: &mut Loaded<'_>, site: &Site, least: f64| {
            if site.is_limp() {
                return None;
            }
            let standing = loaded.standing(site, payload_kg);
            (standing.level >= SPARE && standing.margin_w > least).then_some(standing.margin_w)
        };
        let mut best = None;
        let mut most_w = f64::NEG_INFINITY;
        for site in sites.iter().filter(|site| site.is_of_net()) {
            if let Some(margin_w) = wanted(loaded, site, most_w) {
                (most_w, best) = (margin_w, Some(site.at));
            }
        }
        loaded.put_back();
        let station = best.and_then(|at| {
            let (_, at) = searched(loaded, Aim::Margin, (y, y), y, at);
            loaded.station(at)
        });
        path.push((y, station.unwrap_or(top.full.station)));
    }
    path.push((top.payload, top.full.station));
    path
}

/// A payload below the largest: a station of a large margin that closes, computed in full, or that of the next heavier one, `last`.
fn below(loaded: &mut Loaded<'_>, sites: &[Site], path: &[(f64, [f64; 2])], last: &mut Full, y: f64) -> Told {
    let after = path.iter().position(|(at, _)| *at > y).unwrap_or(path.len() - 1).max(1);
    let (before, after) = (&path[after - 1], &path[after]);
    let share = ((y - before.0) / (after.0 - before.0).max(1e-12)).clamp(0.0, 1.0);
    let between: [f64; 2] = std::array::from_fn(|i| before.1[i] + share * (after.1[i] - before.1[i]));
    let mut best = loaded.told(last, y);
    for station in [between, before.1, after.1] {
        let Some(full) = loaded.full(station) else { continue };
        let told = loaded.told(&full, y);
        let holds = !told.cell.feasible || loaded.closes_held(&full, y * (1.0 - INSIDE));
        if holds && told.beats(&best) {
            (best, *last) = (told, full);
        }
        if best.cell.feasible {
            return best;
        }
    }
    sought(loaded, sites, best, y)
}

/// A station that holds the largest payload need not hold a lighter one, which the wind may drive: one that does is searched, from
/// the best known and from the places of the table that stand best, on the table for limits that are far off, then by slopes, the table
/// put right where each ends.
fn sought(loaded: &mut Loaded<'_>, sites: &[Site], mut best: Told, y: f64) -> Told {
    let payload_kg = loaded.payload_kg(y);
    let mut standing: Vec<(f64, usize)> =
        sites.iter().enumerate().map(|(i, site)| (loaded.standing(site, payload_kg).level, i)).collect();
    standing.sort_by(|a, b| b.0.total_cmp(&a.0));
    let placed = standing.iter().map(|(level, i)| (*level, &sites[*i]));
    let others: Vec<(f64, [f64; 2])> =
        apart(placed, SOUGHT.0).into_iter().map(|(level, site)| (level, site.at)).collect();
    let known = loaded.steps([best.unit[1], best.unit[2]]).map(|at| (best.level.min(0.0), at));
    for start in known.into_iter().chain(others) {
        best = sought_from(loaded, best, y, start);
        if best.cell.feasible {
            break;
        }
    }
    best
}

/// The same from one place, with its level.
fn sought_from(loaded: &mut Loaded<'_>, mut best: Told, y: f64, start: (f64, [f64; 2])) -> Told {
    let payload_kg = loaded.payload_kg(y);
    let mut wanted = |loaded: &mut Loaded<'_>, site: &Site, least: f64| {
        Some(loaded.standing(site, payload_kg).level).filter(|level| *level > least)
    };
    loaded.put_back();
    let (level, mut at) = climbed(loaded, &mut wanted, start, &ON_TABLE);
    if level < MAY_CLOSE {
        return best;
    }
    for _ in 0..SOUGHT.1 {
        (_, at) = searched(loaded, Aim::Margin, (y, y), y, at);
        let Some(full) = loaded.station(at).and_then(|station| loaded.full(station)) else { break };
        let told = loaded.told(&full, y);
        if told.beats(&best) && (!told.cell.feasible || loaded.closes_held(&full, y * (1.0 - INSIDE))) {
            best = told;
        }
        if best.cell.feasible {
            break;
        }
        loaded.put_right(&full, at, y);
    }
    best
}
