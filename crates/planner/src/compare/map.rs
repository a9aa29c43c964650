//! Who wins where: height and payload power.

use serde::Serialize;

use super::{
    Kind,
    ways::{Bench, HIGHEST_M},
};
use crate::error::PlanError;

/// Cells each way.
const HEIGHTS_COUNT: u32 = 14;
const POWERS_COUNT: u32 = 12;
/// Payload powers, W.
const POWERS_W: (f64, f64) = (10.0, 3000.0);
/// Least height, m.
const LOWEST_M: f64 = 10.0;

/// One cell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Cell {
    /// Height over ground, m.
    pub height_m: f64,
    /// Power of the payload, W.
    pub payload_w: f64,
    /// The way that puts least mass on the aircraft; none where none holds.
    pub least_mass: Option<Kind>,
    /// Mass of the second over mass of the first; none without a second.
    pub mass_lead_ratio: Option<f64>,
    /// The way that draws least from the wall.
    pub least_wall: Option<Kind>,
    /// Wall power of the second over wall power of the first.
    pub wall_lead_ratio: Option<f64>,
}

/// Height and power, and who wins. A free beam lifts no line, so it leads in mass wherever its receiver is no heavier; its hazards
/// are in no number here.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CrossoverMap {
    /// Heights, m.
    pub heights_m: Vec<f64>,
    /// Payload powers, W.
    pub payloads_w: Vec<f64>,
    /// Cells, height by height.
    pub cells: Vec<Cell>,
}

/// The map around a plan.
pub(super) fn crossover(bench: &Bench, height_m: f64, mission_h: f64) -> Result<CrossoverMap, PlanError> {
    let highest_m = (8.0 * height_m).clamp(200.0, HIGHEST_M);
    let spread = |lo: f64, hi: f64, count: u32| -> Vec<f64> {
        (0..count).map(|i| lo * (hi / lo).powf(f64::from(i) / f64::from(count - 1))).collect()
    };
    let heights_m = spread(LOWEST_M, highest_m, HEIGHTS_COUNT);
    let payloads_w = spread(POWERS_W.0, POWERS_W.1, POWERS_COUNT);
    let mut cells = Vec::with_capacity(heights_m.len() * payloads_w.len());
    for height_m in &heights_m {
        for payload_w in &payloads_w {
            cells.push(cell(bench, *height_m, *payload_w, mission_h)?);
        }
    }
    Ok(CrossoverMap { heights_m, payloads_w, cells })
}

fn cell(bench: &Bench, height_m: f64, payload_w: f64, mission_h: f64) -> Result<Cell, PlanError> {
    let (mut masses, mut walls) = (Vec::with_capacity(4), Vec::with_capacity(4));
    for kind in Kind::ALL {
        let sized = bench.size(kind, height_m, payload_w)?;
        let lasts = sized.endurance_min.is_none_or(|minutes| minutes >= 60.0 * mission_h);
        if sized.reason.is_empty() && lasts {
            masses.push((kind, sized.source_mass_kg + sized.line_mass_kg));
            walls.push((kind, sized.wall_w));
        }
    }
    let lead = |mut list: Vec<(Kind, f64)>| {
        list.sort_by(|a, b| a.1.total_cmp(&b.1));
        let first = list.first().copied();
        let ratio = first.zip(list.get(1)).map(|(first, second)| second.1 / first.1.max(f64::MIN_POSITIVE));
        (first.map(|(kind, _)| kind), ratio)
    };
    let ((least_mass, mass_lead_ratio), (least_wall, wall_lead_ratio)) = (lead(masses), lead(walls));
    Ok(Cell { height_m, payload_w, least_mass, mass_lead_ratio, least_wall, wall_lead_ratio })
}
