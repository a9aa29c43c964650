//! One column of a map whose tethers hang once: the station of a large margin at every payload up to the largest. What is told is
//! computed in full.

use super::{
    full::{Full, Told},
    loaded::{Aim, Loaded, Site},
    slopes::{SPARE, searched, spare_after},
    summit::{INSIDE, Top, apart, largest},
};

/// Level of the tether alone from which on a place is looked at: between it and the next one a line may hold.
const LOOKED_AT: f64 = -0.3;
/// What a limit has to spare, of itself, where the table says that it holds.
const HOLDS: f64 = 2e-3;
/// Places of the table from which a payload is sought that no station known holds, and stations that are hung from each.
const SOUGHT: (usize, usize) = (4, 5);
/// Shares of the largest payload at which stations are chosen, and at which all places are looked at.
const KNOTS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 0.92];
const SCANNED: [f64; 3] = [0.0, 0.5, 0.92];
/// Places that are looked at once more between those.
const LIKELY: usize = 60;

/// A column as it is told.
pub(super) struct Chosen {
    /// The best station of each payload.
    pub told: Vec<Told>,
    /// The largest payload, and the station that holds it.
    pub top: Option<Top>,
}

/// The best station at each payload of `units`. None where the table cannot tell.
pub(super) fn chosen(loaded: &mut Loaded<'_>, units: &[f64]) -> Option<Chosen> {
    let sites = loaded.sites(LOOKED_AT);
    let Some(top) = largest(loaded, &sites) else {
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

/// The station that stands nearest to closing where none does; none if the table has none.
fn nearest(loaded: &mut Loaded<'_>, sites: &[Site], y: f64) -> Option<Full> {
    let payload_kg = loaded.payload_kg(y);
    let levels: Vec<f64> = sites.iter().map(|site| loaded.standing(site, payload_kg).level).collect();
    let best = (0..sites.len()).max_by(|a, b| levels[*a].total_cmp(&levels[*b]))?;
    let (_, at) = searched(loaded, Aim::Margin, (y, y), (y, sites[best].at), SPARE);
    let station = loaded.station(at)?;
    loaded.full(station).or_else(|| loaded.searched_for(station))
}

/// Stations of large margins at some payloads up to the largest, and that of the largest.
fn path(loaded: &mut Loaded<'_>, sites: &[Site], top: &Top) -> Vec<(f64, [f64; 2])> {
    loaded.put_back();
    let scanned: Vec<Vec<Option<f64>>> = SCANNED
        .iter()
        .map(|share| sites.iter().map(|site| margin_w(loaded, site, share * top.payload)).collect())
        .collect();
    let mut path: Vec<(f64, [f64; 2])> = Vec::with_capacity(KNOTS.len() + 1);
    for share in KNOTS {
        let y = share * top.payload;
        let mut likely: Vec<(f64, usize)> =
            (0..sites.len()).filter_map(|k| Some((between(&scanned, k, share)?, k))).collect();
        likely.sort_by(|a, b| b.0.total_cmp(&a.0));
        likely.truncate(LIKELY);
        let held = likely.iter().filter_map(|(_, k)| Some((margin_w(loaded, &sites[*k], y)?, *k)));
        let best = held.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, k)| sites[k].at);
        let station = best.and_then(|from| {
            let (_, at) = searched(loaded, Aim::Margin, (y, y), (y, from), SPARE);
            loaded.station(at)
        });
        path.push((y, station.unwrap_or(top.full.station)));
    }
    path.push((top.payload, top.full.station));
    path
}

/// Power margin at a place for a share of the largest payload, from the two that were scanned around it, W.
fn between(scanned: &[Vec<Option<f64>>], place: usize, share: f64) -> Option<f64> {
    let after = SCANNED.iter().position(|scanned| *scanned >= share)?;
    let before = SCANNED.iter().rposition(|scanned| *scanned <= share)?;
    let span = SCANNED[after] - SCANNED[before];
    let part = if span > 0.0 { (share - SCANNED[before]) / span } else { 0.0 };
    match (scanned[before][place], scanned[after][place]) {
        (Some(from_w), Some(to_w)) => Some(from_w + part * (to_w - from_w)),
        // It may hold there too, and is a start if nothing else.
        (one, other) => one.or(other),
    }
}

/// Power margin of a payload at a place that holds it with a line that is not limp, W.
fn margin_w(loaded: &mut Loaded<'_>, site: &Site, y: f64) -> Option<f64> {
    if site.is_limp() || site.level < 0.0 {
        return None;
    }
    let payload_kg = loaded.payload_kg(y);
    let standing = loaded.standing(site, payload_kg);
    (standing.level >= HOLDS).then_some(standing.margin_w)
}

/// A payload below the largest: a station of a large margin that closes, computed in full, or that of the next heavier one, `last`.
fn below(loaded: &mut Loaded<'_>, sites: &[Site], path: &[(f64, [f64; 2])], last: &mut Full, y: f64) -> Told {
    let after = path.iter().position(|(at, _)| *at > y).unwrap_or(path.len() - 1).max(1);
    let (before, after) = (&path[after - 1], &path[after]);
    let share = ((y - before.0) / (after.0 - before.0).max(1e-12)).clamp(0.0, 1.0);
    let middle: [f64; 2] = std::array::from_fn(|i| before.1[i] + share * (after.1[i] - before.1[i]));
    let known = loaded.told(last, y);
    let mut failed = None;
    if let Some(full) = loaded.full(middle) {
        let told = loaded.told(&full, y);
        if told.cell.feasible && loaded.closes_held(&full, y * (1.0 - INSIDE)) {
            if !told.beats(&known) {
                return known;
            }
            *last = full;
            return told;
        }
        failed = Some(full);
    }
    let best = match loaded.steps(middle) {
        Some(at) => sought_from(loaded, known, y, at, failed.as_ref()),
        None => known,
    };
    if best.cell.feasible { best } else { sought(loaded, sites, best, y) }
}

/// A station that holds the largest payload need not hold a lighter one, which the wind may drive: one that does is searched, from
/// the best known and from the places of the table that stand best, the table put right where each ends.
fn sought(loaded: &mut Loaded<'_>, sites: &[Site], mut best: Told, y: f64) -> Told {
    let payload_kg = loaded.payload_kg(y);
    let mut standing: Vec<(f64, &Site)> =
        sites.iter().map(|site| (loaded.standing(site, payload_kg).level, site)).collect();
    standing.sort_by(|a, b| b.0.total_cmp(&a.0));
    let others: Vec<[f64; 2]> =
        apart(standing.into_iter(), SOUGHT.0).into_iter().map(|(_, site)| site.at).collect();
    let known = loaded.steps([best.unit[1], best.unit[2]]);
    for start in known.into_iter().chain(others) {
        best = sought_from(loaded, best, y, start, None);
        if best.cell.feasible {
            break;
        }
    }
    best
}

/// The same from one place; `hung` is what hangs there, if that is known.
fn sought_from(
    loaded: &mut Loaded<'_>,
    mut best: Told,
    y: f64,
    mut at: [f64; 2],
    hung: Option<&Full>,
) -> Told {
    match hung {
        Some(full) => loaded.put_right(full, at, y),
        None => loaded.put_back(),
    }
    let mut spare = SPARE;
    for round in 0..SOUGHT.1 {
        (_, at) = searched(loaded, Aim::Margin, (y, y), (y, at), spare);
        let Some(full) = loaded.station(at).and_then(|station| loaded.full(station)) else { break };
        let told = loaded.told(&full, y);
        let (closes, level) = (told.cell.feasible, told.level);
        if told.beats(&best) && (!closes || loaded.closes_held(&full, y * (1.0 - INSIDE))) {
            best = told;
        }
        if closes {
            break;
        }
        spare = spare_after(level, round);
        loaded.put_right(&full, at, y);
    }
    best
}
