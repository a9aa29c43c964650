//! Operating points over wind, gust and temperature, computed once; an hour of weather then costs an interpolation.

use beamstay_environment::{flow::Flow, wind::Profile};

use crate::{
    error::PlanError,
    limit::LimitCode,
    operate::Solved,
    scenario::{Scenario, Weather},
    system::{Place, System, Way, surroundings::Stream},
};

/// Mean winds, at most.
const WINDS_COUNT: usize = 41;
/// Gusts over the mean at the anemometer, m/s.
const EXCESSES_M_S: [f64; 7] = [0.0, 1.5, 3.0, 5.0, 8.0, 12.0, 18.0];
/// Strongest mean wind of the curve, m/s; whatever is stronger is held to be as bad.
const STRONGEST_M_S: f64 = 40.0;
/// Closeness under which a limit is far broken.
const FAR_BROKEN: f64 = -0.3;
/// Air temperature offsets that a site may have, K.
const OFFSETS_K: (f64, f64) = (-60.0, 40.0);
/// Limits of energy: the battery rides over them, so they bring nothing down by themselves.
const OF_ENERGY: [LimitCode; 3] = [LimitCode::Power, LimitCode::LaserPower, LimitCode::LightPeak];

/// Wind, gust over the mean (both at the anemometer, m/s) and air temperature offset (K).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Met {
    pub wind_m_s: f64,
    pub excess_m_s: f64,
    pub offset_k: f64,
}

/// What a point needs and gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Powers {
    pub demand_w: f64,
    pub available_w: f64,
    pub wall_w: f64,
}

/// One node.
#[derive(Debug, Clone)]
struct Node {
    powers: Option<Powers>,
    /// Closeness of every limit, the unknown ones not a number.
    closeness: Vec<f64>,
}

/// The operating points of a site.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    winds_m_s: Vec<f64>,
    excesses_m_s: Vec<f64>,
    offsets_k: Vec<f64>,
    nodes: Vec<Node>,
    /// Nodes whose solver did not converge.
    pub unconverged_count: u32,
}

/// Place in an axis: index of the node below and share of the way to the next.
type Spot = (usize, f64);

/// Corners of a cell with their weights.
type Corners = [(usize, f64); 8];

impl Curve {
    /// Computes the points of a scenario for winds, gusts and temperatures up to those of `most`, from `coldest_k` to the
    /// offset of `most`.
    pub fn new(scenario: &Scenario, most: Met, coldest_k: f64) -> Result<Self, PlanError> {
        let base = System::new(scenario)?;
        let place = base.place(&scenario.station)?;
        let anemometer_m = anemometer_height_m(scenario);
        let (reference_ratio, _) = ratios(&base, &place, anemometer_m);
        let strongest_m_s = most.wind_m_s.clamp(1.0, STRONGEST_M_S);
        let steps = ((strongest_m_s / 1.25).ceil() as usize).clamp(4, WINDS_COUNT - 1);
        let winds_m_s: Vec<f64> = (0..=steps).map(|i| strongest_m_s * i as f64 / steps as f64).collect();
        let reached =
            EXCESSES_M_S.iter().position(|e| *e >= most.excess_m_s).unwrap_or(EXCESSES_M_S.len() - 1);
        let excesses_m_s = EXCESSES_M_S[..=reached].to_vec();
        let offsets_k = offsets(coldest_k, most.offset_k);
        let mut curve = Self {
            nodes: Vec::with_capacity(winds_m_s.len() * excesses_m_s.len() * offsets_k.len()),
            winds_m_s,
            excesses_m_s,
            offsets_k,
            unconverged_count: 0,
        };
        for offset_k in curve.offsets_k.clone() {
            let mut warmer = scenario.clone();
            warmer.site.temperature_offset_k = offset_k;
            let mut system = System::new(&warmer)?;
            let surroundings = system.surroundings.clone();
            let mut out_of_reach = false;
            let mut first: Option<Solved> = None;
            for wind_m_s in curve.winds_m_s.clone() {
                let mut warm = first.take();
                for (i, excess_m_s) in curve.excesses_m_s.clone().into_iter().enumerate() {
                    // Far beyond a limit the solvers only cost time: what is stronger is held to be as bad.
                    let beyond =
                        if out_of_reach { Some(curve.excesses_m_s.len()) } else { (i > 0).then_some(1) };
                    if let Some(node) = beyond.and_then(|back| curve.far_broken(back)) {
                        curve.nodes.push(node);
                        continue;
                    }
                    system.surroundings = surroundings
                        .with_winds(reference_ratio * wind_m_s, reference_ratio * (wind_m_s + excess_m_s))?;
                    let solved = system.solve_for_search(&place, warm.as_ref());
                    curve.push(&solved, matches!(system.way, Way::Battery))?;
                    warm = solved.ok();
                    if i == 0 {
                        first.clone_from(&warm);
                    }
                    out_of_reach |= i == 0 && curve.far_broken(1).is_some();
                }
            }
        }
        Ok(curve)
    }

    /// The node `back` places before the end, if a limit is far broken there.
    fn far_broken(&self, back: usize) -> Option<Node> {
        let node = self.nodes.get(self.nodes.len().checked_sub(back)?)?;
        node.closeness.iter().any(|closeness| *closeness < FAR_BROKEN).then(|| node.clone())
    }

    fn push(&mut self, solved: &Result<Solved, PlanError>, battery_alone: bool) -> Result<(), PlanError> {
        let mut closeness = vec![f64::NAN; LimitCode::ALL.len()];
        let point = match solved {
            Ok(solved) => &solved.point,
            Err(PlanError::NotConverged { .. }) => {
                self.unconverged_count += 1;
                self.nodes.push(Node { powers: None, closeness });
                return Ok(());
            }
            Err(error) => return Err(error.clone()),
        };
        for row in &point.limits {
            if OF_ENERGY.contains(&row.code) {
                continue;
            }
            if let Some(index) = LimitCode::ALL.iter().position(|code| *code == row.code) {
                // A limit that holds on its very bound must not be lost to rounding.
                closeness[index] =
                    if row.ok { row.closeness().max(0.0) } else { row.closeness().min(-1e-12) };
            }
        }
        // Where nothing lies the limit has no row: how far the line is from the ground stands in, so that the weather in which it
        // begins to lie is found between two nodes.
        let index_of = |code: LimitCode| LimitCode::ALL.iter().position(|c| *c == code);
        let clearance = point.limits.iter().find(|row| row.code == LimitCode::Clearance);
        if let (Some(index), Some(clearance)) = (index_of(LimitCode::LineOnGround), clearance)
            && closeness[index].is_nan()
        {
            closeness[index] = clearance.value.max(0.0);
        }
        let powers = match (point.demand_w, point.available_w, point.wall_w) {
            // A battery alone is no supply: all that is drawn comes from it.
            (Some(demand_w), Some(available_w), Some(wall_w)) => {
                Some(Powers { demand_w, available_w: if battery_alone { 0.0 } else { available_w }, wall_w })
            }
            _ => None,
        };
        self.nodes.push(Node { powers, closeness });
        Ok(())
    }

    fn corners(&self, met: Met) -> Corners {
        let (v, fv) = spot(&self.winds_m_s, met.wind_m_s);
        let (e, fe) = spot(&self.excesses_m_s, met.excess_m_s);
        let (t, ft) = spot(&self.offsets_k, met.offset_k);
        let (nv, ne) = (self.winds_m_s.len(), self.excesses_m_s.len());
        let mut corners = [(0, 0.0); 8];
        for (i, corner) in corners.iter_mut().enumerate() {
            let (dv, de, dt) = (i & 1, (i >> 1) & 1, (i >> 2) & 1);
            let share = |d: usize, f: f64| if d == 1 { f } else { 1.0 - f };
            let at = |start: usize, d: usize, n: usize| (start + d).min(n - 1);
            let index = (at(t, dt, self.offsets_k.len()) * nv + at(v, dv, nv)) * ne + at(e, de, ne);
            *corner = (index, share(dv, fv) * share(de, fe) * share(dt, ft));
        }
        corners
    }

    /// Powers at a mean wind; none where no point near has them. Cubic in the wind where four points in a row are known,
    /// straight otherwise and between temperatures.
    pub fn powers(&self, wind_m_s: f64, offset_k: f64) -> Option<Powers> {
        let (t, ft) = spot(&self.offsets_k, offset_k);
        let cold = self.powers_at(t, wind_m_s);
        if ft <= 0.0 {
            return cold;
        }
        let warm = self.powers_at((t + 1).min(self.offsets_k.len() - 1), wind_m_s);
        match (cold, warm) {
            (Some(cold), Some(warm)) => Some(combined(&[(cold, 1.0 - ft), (warm, ft)])),
            (one, other) => one.or(other),
        }
    }

    fn powers_at(&self, temperature: usize, wind_m_s: f64) -> Option<Powers> {
        let (v, f) = spot(&self.winds_m_s, wind_m_s);
        let (winds_count, excesses_count) = (self.winds_m_s.len(), self.excesses_m_s.len());
        let at = |wind: usize| {
            let index = (temperature * winds_count + wind.min(winds_count - 1)) * excesses_count;
            self.nodes.get(index).and_then(|node| node.powers)
        };
        let (below, above) = (at(v), at(v + 1));
        if v > 0
            && v + 2 < winds_count
            && let (Some(before), Some(below), Some(above), Some(after)) =
                (at(v - 1), below, above, at(v + 2))
        {
            // Lagrange's cubic through four equally spaced points.
            let weights = [
                -f * (f - 1.0) * (f - 2.0) / 6.0,
                (f + 1.0) * (f - 1.0) * (f - 2.0) / 2.0,
                -(f + 1.0) * f * (f - 2.0) / 2.0,
                (f + 1.0) * f * (f - 1.0) / 6.0,
            ];
            let four = [before, below, above, after];
            let parts: [(Powers, f64); 4] = std::array::from_fn(|i| (four[i], weights[i]));
            return Some(combined(&parts));
        }
        match (below, above) {
            (Some(below), Some(above)) => Some(combined(&[(below, 1.0 - f), (above, f)])),
            (one, other) => one.or(other),
        }
    }

    /// The limit that is broken most, if one is.
    pub fn broken(&self, met: Met) -> Option<LimitCode> {
        let corners = self.corners(met);
        let mut worst: Option<(f64, LimitCode)> = None;
        for (i, code) in LimitCode::ALL.iter().enumerate() {
            let (mut sum, mut weight) = (0.0, 0.0);
            for (index, share) in corners {
                let closeness = self.nodes[index].closeness[i];
                if share > 0.0 && !closeness.is_nan() {
                    sum += share * closeness.clamp(-10.0, 10.0);
                    weight += share;
                }
            }
            if weight > 0.0 && sum < 0.0 && worst.is_none_or(|(least, _)| sum / weight < least) {
                worst = Some((sum / weight, *code));
            }
        }
        worst.map(|(_, code)| code)
    }
}

/// A weighted sum.
fn combined(parts: &[(Powers, f64)]) -> Powers {
    let mut sum = Powers { demand_w: 0.0, available_w: 0.0, wall_w: 0.0 };
    for (powers, weight) in parts {
        sum.demand_w += weight * powers.demand_w;
        sum.available_w += weight * powers.available_w;
        sum.wall_w += weight * powers.wall_w;
    }
    sum
}

/// Node below and share of the way to the next; held at the ends.
fn spot(axis: &[f64], value: f64) -> Spot {
    let last = axis.len() - 1;
    let upper = axis.partition_point(|node| *node <= value).min(last);
    let lower = upper.saturating_sub(1);
    if upper == lower {
        return (0, 0.0);
    }
    (lower, ((value - axis[lower]) / (axis[upper] - axis[lower])).clamp(0.0, 1.0))
}

fn offsets(coldest_k: f64, hottest_k: f64) -> Vec<f64> {
    let (lo, hi) = (coldest_k.clamp(OFFSETS_K.0, OFFSETS_K.1), hottest_k.clamp(OFFSETS_K.0, OFFSETS_K.1));
    if hi - lo < 1.0 { vec![hi] } else { vec![lo, 0.5 * (lo + hi), hi] }
}

/// Height of the anemometer of a scenario, m.
pub(super) fn anemometer_height_m(scenario: &Scenario) -> Option<f64> {
    match scenario.site.weather {
        Some(
            Weather::File { anemometer_height_m, .. } | Weather::GustPattern { anemometer_height_m, .. },
        ) => Some(anemometer_height_m),
        _ => None,
    }
}

/// Reference speed of the profile, and speed at the station, over the speed at the anemometer. Without an anemometer the
/// wind of the site itself is the measure.
fn ratios(system: &System, place: &Place, anemometer_m: Option<f64>) -> (f64, f64) {
    let Stream::Air(flow) = &system.surroundings.mean else { return (1.0, 1.0) };
    let Ok(unit): Result<Profile, _> = flow.profile().with_speed_m_s(10.0) else { return (1.0, 1.0) };
    let Ok(flow) = flow.clone().with_speed_m_s(10.0) else { return (1.0, 1.0) };
    let station_m_s = flow.at(place.position_m.z).velocity_m_s.norm();
    let anemometer_m_s = match anemometer_m {
        Some(height_m) => unit.speed_m_s(height_m),
        None => 10.0,
    };
    if anemometer_m_s > 0.0 { (10.0 / anemometer_m_s, station_m_s / anemometer_m_s) } else { (1.0, 1.0) }
}

/// Speed at the station over speed at the anemometer.
pub(super) fn station_ratio(scenario: &Scenario, system: &System, place: &Place) -> f64 {
    ratios(system, place, anemometer_height_m(scenario)).1
}
