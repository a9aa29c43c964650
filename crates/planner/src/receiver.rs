//! The receiver's mass against its power: for each mass the best receiver of that mass, what it delivers, what its own mass
//! costs in the air, and what is left; the mass that leaves most, and how that moves with laser power and height.

mod sizing;

use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;
use serde::Serialize;
use serde_json::Value;

use crate::{
    Loaded, PlanError, Scenario,
    document::Document,
    scenario::{Delivery, Receiver},
    study::{Provenance, Watch, complete},
};
use sizing::{Bench, Sized};

/// Masses of the curve.
const CURVE_COUNT: usize = 25;
/// Masses of a search for the best, before it is drawn tight.
const SEARCH_COUNT: usize = 9;
/// Smallest and largest mass over the stated one.
const MASS_RATIOS: (f64, f64) = (0.1, 5.0);
/// Factors of laser power and of height at which the best is found again.
const FACTORS: [f64; 5] = [0.5, 0.75, 1.0, 1.25, 1.5];
/// Steps that draw the best tight.
const GOLDEN_STEPS: usize = 14;

/// The receiver's mass against its power.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReceiverTrade {
    /// Scenario and program.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// What vehicle and payload would draw with a receiver without mass, W.
    pub demand_without_mass_w: f64,
    /// The receiver as the scenario has it.
    pub stated: Option<ReceiverPoint>,
    /// The best receiver of each mass, the lightest first; masses at which the plan has no balance are left out.
    pub curve: Vec<ReceiverPoint>,
    /// The mass that leaves most.
    pub best: ReceiverPoint,
    /// Whether that lies on the end of the masses that were looked at.
    pub best_on_edge: bool,
    /// The best for other lasers.
    pub by_laser: Vec<MovedBest>,
    /// The best at other heights.
    pub by_height: Vec<MovedBest>,
    /// The best receiver as it stands in a scenario.
    pub receiver: Value,
    /// Points computed.
    pub evaluations_count: u64,
}

/// One receiver.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ReceiverPoint {
    /// Mass of all its parts, kg.
    pub mass_kg: f64,
    /// Most power that it puts on the bus, W.
    pub delivered_w: f64,
    /// What carrying it costs: demand less the demand without its mass, W.
    pub carrying_w: f64,
    /// Delivered less carrying, W.
    pub net_w: f64,
    /// Delivered less the whole demand, W.
    pub margin_w: f64,
    /// Net power that the next gram adds, W/g; on the curve alone.
    pub marginal_w_per_g: Option<f64>,
    /// Area of all cells, cm².
    pub cells_area_cm2: f64,
    /// Aperture, m², of a free beam.
    pub aperture_m2: Option<f64>,
    /// Fins.
    pub fins_count: u32,
    /// Their height, mm.
    pub fin_height_mm: f64,
    /// Rating of the converter, W.
    pub converter_rated_w: f64,
    /// Hottest cell with the most power drawn, °C.
    pub cell_temp_c: f64,
    /// Whether the laser must stay below its rating for the cells' sake.
    pub dimmed_for_heat: bool,
}

/// The best receiver under a changed condition.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MovedBest {
    /// Rated power of the laser, W.
    pub laser_rated_w: f64,
    /// Height of the station, m.
    pub height_m: f64,
    /// The best; none where the plan has no balance.
    pub best: Option<ReceiverPoint>,
}

/// The receiver's mass against its power.
///
/// Cells, aperture, optics, housing and the width of the heat sink grow together; the height of the fins is chosen for the
/// most net power at each mass; the converter is rated for what is delivered, at its stated mass per watt. Wiring, gap, length and thickness
/// of the fins stay.
///
/// # Errors
/// [`PlanError`] for a plan without a receiver, whose parts do not go together, or with no balance at any mass.
///
/// # Examples
/// ```
/// use beamstay_planner::{Document, load, receiver::receiver_trade};
/// let document = Document::parse(include_str!("../../../scenarios/breakwater-lookout.json")).unwrap();
/// let trade = receiver_trade(&document, &load(&document).unwrap(), &|_, _| {}).unwrap();
/// assert!(trade.best.net_w >= trade.stated.unwrap().net_w);
/// ```
pub fn receiver_trade(
    document: &Document,
    loaded: &Loaded,
    watch: Watch<'_>,
) -> Result<ReceiverTrade, PlanError> {
    trade(document, loaded, &FACTORS, watch)
}

/// As [`receiver_trade`], without the best for other lasers and heights: a tenth of the work.
///
/// # Errors
/// As [`receiver_trade`].
pub fn receiver_curve(document: &Document, loaded: &Loaded) -> Result<ReceiverTrade, PlanError> {
    trade(document, loaded, &[], &|_, _| {})
}

fn trade(
    document: &Document,
    loaded: &Loaded,
    factors: &[f64],
    watch: Watch<'_>,
) -> Result<ReceiverTrade, PlanError> {
    let scenario = Scenario { uncertainty: None, ..loaded.scenario.clone() };
    let receiver = match (&scenario.delivery, &scenario.receiver) {
        (Delivery::Copper(_), _) => {
            return Err(PlanError::excludes("/delivery/copper", "a receiver trade", "a copper line"));
        }
        (Delivery::None {}, _) => {
            return Err(PlanError::excludes("/delivery/none", "a receiver trade", "a plan without light"));
        }
        (_, Some(receiver)) => receiver.clone(),
        (_, None) => return Err(PlanError::needs("", "a receiver trade", "\"receiver\" in the scenario")),
    };
    let bench = Bench::new(&scenario, &receiver)?;
    let stated = bench.stated();
    let (least_kg, most_kg) = (MASS_RATIOS.0 * bench.stated_kg, MASS_RATIOS.1 * bench.stated_kg);
    let masses: Vec<f64> = geometric(least_kg, most_kg, CURVE_COUNT);
    let steps = (CURVE_COUNT + 2 * factors.len()) as u64;
    let done = AtomicU64::new(0);
    let step = || watch(done.fetch_add(1, Ordering::Relaxed) + 1, steps);
    let sized: Vec<Sized> = masses
        .par_iter()
        .filter_map(|mass| {
            let sized = bench.best_of_mass(*mass);
            step();
            sized
        })
        .collect();
    let best = best_of(&bench, &sized)
        .ok_or_else(|| PlanError::model("/vehicle", "no receiver of any mass leaves this plan a balance"))?;
    let moved = |changed: Scenario| {
        let found = Bench::new(&changed, &receiver).ok().and_then(|bench| {
            let masses = geometric(least_kg, most_kg, SEARCH_COUNT);
            let sized: Vec<Sized> = masses.iter().filter_map(|mass| bench.best_of_mass(*mass)).collect();
            let best = best_of(&bench, &sized);
            best.map(|best| best.point)
        });
        step();
        MovedBest {
            laser_rated_w: changed.ground.laser.as_ref().map_or(0.0, |laser| laser.rated_w),
            height_m: changed.station.height_m,
            best: found,
        }
    };
    let by_laser: Vec<MovedBest> = factors.par_iter().map(|f| moved(with_laser(&scenario, *f))).collect();
    let by_height: Vec<MovedBest> = factors.par_iter().map(|f| moved(with_height(&scenario, *f))).collect();
    let edge = |kg: f64| (best.point.mass_kg / kg - 1.0).abs() < 0.02;
    Ok(ReceiverTrade {
        provenance: Provenance::of(document, loaded),
        demand_without_mass_w: bench.demand_without_mass_w,
        stated,
        best_on_edge: edge(least_kg) || edge(most_kg),
        curve: with_marginals(sized.into_iter().map(|s| s.point).collect()),
        best: best.point,
        by_laser,
        by_height,
        receiver: receiver_value(&scenario, &best.receiver),
        evaluations_count: bench.evaluations_count(),
    })
}

fn with_laser(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    if let Some(laser) = &mut changed.ground.laser {
        laser.rated_w *= factor;
    }
    changed
}

fn with_height(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    changed.station.height_m *= factor;
    changed
}

fn receiver_value(scenario: &Scenario, receiver: &Receiver) -> Value {
    let whole = Scenario { receiver: Some(receiver.clone()), ..scenario.clone() };
    complete(&whole).get("receiver").cloned().unwrap_or(Value::Null)
}

fn geometric(low: f64, high: f64, count: usize) -> Vec<f64> {
    let steps = (count.max(2) - 1) as f64;
    (0..count).map(|i| low * (high / low).powf(i as f64 / steps)).collect()
}

/// The best of a curve, drawn tight between its neighbours by golden sections (J. Kiefer, Proceedings of the American
/// Mathematical Society 4, 502, 1953).
fn best_of(bench: &Bench, sized: &[Sized]) -> Option<Sized> {
    let place = (0..sized.len()).max_by(|a, b| sized[*a].point.net_w.total_cmp(&sized[*b].point.net_w))?;
    let mass = |place: usize| sized[place].point.mass_kg.ln();
    let (mut a, mut b) = (mass(place.saturating_sub(1)), mass((place + 1).min(sized.len() - 1)));
    let mut best = sized[place].clone();
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let net = |ln_kg: f64, best: &mut Sized| {
        let Some(sized) = bench.best_of_mass(ln_kg.exp()) else { return f64::NEG_INFINITY };
        let net_w = sized.point.net_w;
        if net_w > best.point.net_w {
            *best = sized;
        }
        net_w
    };
    let (mut c, mut d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut at_c, mut at_d) = (net(c, &mut best), net(d, &mut best));
    for _ in 0..GOLDEN_STEPS {
        if at_c > at_d {
            (b, d, at_d) = (d, c, at_c);
            c = b - GOLDEN * (b - a);
            at_c = net(c, &mut best);
        } else {
            (a, c, at_c) = (c, d, at_d);
            d = a + GOLDEN * (b - a);
            at_d = net(d, &mut best);
        }
    }
    Some(best)
}

/// The curve with the slope of the net power at each mass, from its neighbours.
fn with_marginals(mut curve: Vec<ReceiverPoint>) -> Vec<ReceiverPoint> {
    let slopes: Vec<Option<f64>> = (0..curve.len())
        .map(|i| {
            let (a, b) = (curve[i.saturating_sub(1)], curve[(i + 1).min(curve.len() - 1)]);
            let grams = 1e3 * (b.mass_kg - a.mass_kg);
            (grams > 0.0).then(|| (b.net_w - a.net_w) / grams)
        })
        .collect();
    curve.iter_mut().zip(slopes).for_each(|(point, slope)| point.marginal_w_per_g = slope);
    curve
}
