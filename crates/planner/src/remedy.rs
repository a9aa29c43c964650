//! What would close a plan that does not, and how far a plan that does may drift: each input by itself, and the cheapest
//! pair. Every stated value was tried.

mod inputs;
mod pair;
mod scan;

use rayon::prelude::*;
use serde::Serialize;

pub use inputs::{Group, Lever};
pub use pair::PairRemedy;

use crate::{
    Loaded, PlanError, Scenario,
    document::Document,
    limit::LimitCode,
    study::{Provenance, Study, Watch, standing},
};
use inputs::levers;
use pair::cheapest_pair;
use scan::{Crossing, Scan};

/// Every number of a scenario.
#[cfg(test)]
pub(crate) fn scenario_inputs(scenario: &Scenario) -> Vec<crate::study::Input> {
    levers(scenario).into_iter().map(|lever| lever.input).collect()
}

/// What each input by itself does to the verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RemedyReport {
    /// Scenario and program.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// Whether the plan closes as it stands.
    pub closes: bool,
    /// Power available less the demand, W, as it stands.
    pub margin_w: Option<f64>,
    /// Least margin of all limits over its bound, as it stands; below 0 on the scale that ends at -1 for each missing stage.
    pub least_margin_ratio: f64,
    /// Limits that are broken as it stands.
    pub broken: Vec<LimitCode>,
    /// For a plan that does not close: inputs of which another value by itself closes it, the smallest relative change first.
    pub remedies: Vec<Remedy>,
    /// For a plan that does not close: inputs that by themselves do not, the one that comes nearest first.
    pub no_remedy: Vec<NoRemedy>,
    /// For a plan that does not close: the two inputs whose relative changes together are smallest, found among those that
    /// can be chosen; often not better than one alone.
    pub pair: Option<PairRemedy>,
    /// For a plan that closes: how far each input may go, the nearest end first.
    pub drifts: Vec<Drift>,
    /// Points computed.
    pub evaluations_count: u64,
}

/// A value that by itself closes the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// Which input.
    #[serde(flatten)]
    pub lever: Lever,
    /// The nearest value that closes the plan, in the input's unit.
    pub closes_at: f64,
    /// Change over the present value; of a temperature over its value in kelvin, of an offset over the height where that is
    /// more. None where the present value is 0.
    pub change_ratio: Option<f64>,
    /// The value on the other side, if one closes the plan too.
    pub other_side: Option<f64>,
}

/// An input that by itself does not close the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NoRemedy {
    /// Which input.
    #[serde(flatten)]
    pub lever: Lever,
    /// The value at which the plan comes nearest, in the input's unit.
    pub nearest_at: f64,
    /// Least margin there.
    pub least_margin_ratio: f64,
    /// The limit that still breaks there; none if nothing could be computed.
    pub still_breaks: Option<LimitCode>,
}

/// How far an input may go by itself.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drift {
    /// Which input.
    #[serde(flatten)]
    pub lever: Lever,
    /// Downwards; none if the plan closes down to the end of the input's range.
    pub down: Option<DriftEnd>,
    /// Upwards; none if the plan closes up to the end of the input's range.
    pub up: Option<DriftEnd>,
}

/// Where a plan stops closing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DriftEnd {
    /// The last value that was found to close, in the input's unit.
    pub closes_to: f64,
    /// The first that was found not to.
    pub breaks_at: f64,
    /// Change to that over the present value, as in [`Remedy::change_ratio`].
    pub change_ratio: Option<f64>,
    /// The limit that breaks; none if nothing can be computed there.
    pub limit: Option<LimitCode>,
}

/// What each input by itself does to the verdict, over the whole range that the scenario allows it. The least margin is not
/// monotone in an input, so that each side is scanned outwards from the present value, steps growing from a thousandth to two
/// fifths of it, and every bulge between steps is searched; a window narrower than that may be missed.
///
/// # Errors
/// [`PlanError`] if the parts of the scenario do not go together or its point does not converge.
///
/// # Examples
/// ```
/// use beamstay_planner::{Document, load, remedy::remedy};
/// let text = include_str!("../../../scenarios/breakwater-lookout.json");
/// let mut document = Document::parse(text).unwrap();
/// document.set("/payload/mass_kg", 2.5.into()).unwrap();
/// let report = remedy(&document, &load(&document).unwrap(), &|_, _| {}).unwrap();
/// assert!(!report.closes);
/// let payload = report.remedies.iter().find(|r| r.lever.pointer == "/payload/mass_kg").unwrap();
/// assert!(payload.closes_at < 2.5);
/// ```
pub fn remedy(document: &Document, loaded: &Loaded, watch: Watch<'_>) -> Result<RemedyReport, PlanError> {
    let scenario = Scenario { uncertainty: None, ..loaded.scenario.clone() };
    let levers = levers(&scenario);
    let study = Study::new(&scenario, levers.iter().map(|lever| lever.input.clone()).collect())?;
    let mut worker = study.worker();
    let stated = worker.evaluate(&[])?;
    let standing = standing(&Ok(stated.clone()));
    let done = std::sync::atomic::AtomicU64::new(0);
    let scans: Vec<Scan> = (0..levers.len())
        .into_par_iter()
        .map(|place| {
            let scan = Scan::of(&worker, &levers, place, standing);
            let before = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
            watch(before + 1, levers.len() as u64);
            scan
        })
        .collect();
    let mut evaluations_count = 1 + scans.iter().map(|scan| scan.evaluations_count).sum::<u64>();
    let mut report = RemedyReport {
        provenance: Provenance::of(document, loaded),
        closes: stated.feasible,
        margin_w: stated.margin_w,
        least_margin_ratio: standing.level,
        broken: stated.limits.iter().filter(|row| !row.ok).map(|row| row.code).collect(),
        remedies: Vec::new(),
        no_remedy: Vec::new(),
        pair: None,
        drifts: Vec::new(),
        evaluations_count: 0,
    };
    if stated.feasible {
        report.drifts = drifts(&levers, &scans);
    } else {
        (report.remedies, report.no_remedy) = remedies(&levers, &scans);
        let (pair, more_count) = cheapest_pair(&worker, &levers, &scans, standing);
        report.pair = pair;
        evaluations_count += more_count;
    }
    report.evaluations_count = evaluations_count;
    Ok(report)
}

fn remedies(levers: &[Lever], scans: &[Scan]) -> (Vec<Remedy>, Vec<NoRemedy>) {
    let (mut remedies, mut none) = (Vec::new(), Vec::new());
    for (lever, scan) in levers.iter().zip(scans) {
        let size = |crossing: &Crossing| (crossing.beyond - lever.from).abs();
        let mut found: Vec<&Crossing> =
            [&scan.down.crossing, &scan.up.crossing].into_iter().flatten().collect();
        found.sort_by(|a, b| size(a).total_cmp(&size(b)));
        match found.split_first() {
            Some((nearest, rest)) => remedies.push(Remedy {
                lever: lever.clone(),
                closes_at: nearest.beyond,
                change_ratio: lever.change_ratio(nearest.beyond),
                other_side: rest.first().map(|crossing| crossing.beyond),
            }),
            None => none.push(NoRemedy {
                lever: lever.clone(),
                nearest_at: scan.best.0,
                least_margin_ratio: scan.best.1.level,
                still_breaks: scan.best.1.code,
            }),
        }
    }
    let rank = |ratio: Option<f64>| ratio.map_or(f64::INFINITY, f64::abs);
    remedies.sort_by(|a, b| rank(a.change_ratio).total_cmp(&rank(b.change_ratio)));
    none.sort_by(|a: &NoRemedy, b: &NoRemedy| b.least_margin_ratio.total_cmp(&a.least_margin_ratio));
    (remedies, none)
}

fn drifts(levers: &[Lever], scans: &[Scan]) -> Vec<Drift> {
    let mut drifts: Vec<Drift> = levers
        .iter()
        .zip(scans)
        .map(|(lever, scan)| {
            let end = |crossing: &Option<Crossing>| {
                crossing.map(|crossing| DriftEnd {
                    closes_to: crossing.before,
                    breaks_at: crossing.beyond,
                    change_ratio: lever.change_ratio(crossing.beyond),
                    limit: crossing.limit,
                })
            };
            Drift { lever: lever.clone(), down: end(&scan.down.crossing), up: end(&scan.up.crossing) }
        })
        .collect();
    let size =
        |end: &Option<DriftEnd>| end.map_or(f64::INFINITY, |e| e.change_ratio.map_or(f64::MAX, f64::abs));
    let rank = |drift: &Drift| size(&drift.down).min(size(&drift.up));
    drifts.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    drifts
}
