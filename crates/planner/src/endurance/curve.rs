//! Operating points over wind, gust and temperature, computed once; an hour of weather then costs an interpolation.

use beamstay_environment::{flow::Flow, wind::Profile};

use super::sheet::{Axes, Sheet, spot};
use crate::{
    error::PlanError,
    limit::LimitCode,
    scenario::{Scenario, Weather},
    system::{Place, System, surroundings::Stream},
};

/// Steps of mean wind for the limits, m/s.
const WIND_STEP_M_S: f64 = 1.0;
/// Gusts over the mean at the anemometer, m/s.
const EXCESSES_M_S: [f64; 12] = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0];
/// Strongest mean wind of the curve, m/s; whatever is stronger is held to be as bad.
const STRONGEST_M_S: f64 = 40.0;
/// Air temperature offsets that a site may have, K.
const OFFSETS_K: (f64, f64) = (-60.0, 40.0);
/// Between two temperatures a straight line may miss the powers by this share of them; more, and the temperature between
/// is computed too,
const NEAR_RATIO: f64 = 4e-3;
/// as often as this.
const HALVINGS_COUNT: u32 = 3;

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

impl Powers {
    /// A share `f` of the way from `self` to `other`.
    pub fn towards(&self, other: &Self, f: f64) -> Self {
        let between = |a: f64, b: f64| a + f * (b - a);
        Self {
            demand_w: between(self.demand_w, other.demand_w),
            available_w: between(self.available_w, other.available_w),
            wall_w: between(self.wall_w, other.wall_w),
        }
    }

    /// Largest difference to `other`, over the size there.
    pub fn difference_ratio(&self, other: &Self) -> f64 {
        let over = |a: f64, b: f64| (a - b).abs() / b.abs().max(1.0);
        over(self.demand_w, other.demand_w)
            .max(over(self.available_w, other.available_w))
            .max(over(self.wall_w, other.wall_w))
    }
}

/// The operating points of a site.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    axes: Axes,
    /// One per temperature, the coldest first.
    sheets: Vec<Sheet>,
    /// Points whose solver did not converge.
    pub unconverged_count: u32,
}

impl Curve {
    /// Computes the points of a scenario for winds, gusts and temperatures up to those of `most`, from `coldest_k` to the
    /// offset of `most`.
    pub fn new(scenario: &Scenario, most: Met, coldest_k: f64) -> Result<Self, PlanError> {
        let base = System::new(scenario)?;
        let place = base.place(&scenario.station)?;
        let axes = Axes {
            winds_m_s: winds_m_s(most.wind_m_s),
            excesses_m_s: excesses_m_s(most.excess_m_s),
            reference_ratio: ratios(&base, &place, anemometer_height_m(scenario)).0,
        };
        let (lo, hi) =
            (coldest_k.clamp(OFFSETS_K.0, OFFSETS_K.1), most.offset_k.clamp(OFFSETS_K.0, OFFSETS_K.1));
        let at = |offset_k: f64, near: Option<&Sheet>| Sheet::new(scenario, &place, &axes, offset_k, near);
        let mut sheets = vec![at(hi, None)?];
        if hi - lo > 1.0 {
            sheets.insert(0, at(lo, sheets.first())?);
            let mut done = 0;
            while done + 1 < sheets.len() {
                done += refine(&mut sheets, done, (hi - lo) / f64::from(1 << HALVINGS_COUNT), &at)?;
            }
        }
        let unconverged_count = sheets.iter().map(|sheet| sheet.unconverged_count).sum();
        Ok(Self { axes, sheets, unconverged_count })
    }

    /// Reference speed of the profile over the speed at the anemometer.
    #[cfg(test)]
    pub fn reference_ratio(&self) -> f64 {
        self.axes.reference_ratio
    }

    /// The sheets below and above a temperature, and the share of the way.
    fn between(&self, offset_k: f64) -> (&Sheet, &Sheet, f64) {
        let last = self.sheets.len() - 1;
        let upper = self.sheets.partition_point(|sheet| sheet.offset_k <= offset_k).min(last);
        let (below, above) = (&self.sheets[upper.saturating_sub(1)], &self.sheets[upper]);
        let span_k = above.offset_k - below.offset_k;
        let f = if span_k > 0.0 { ((offset_k - below.offset_k) / span_k).clamp(0.0, 1.0) } else { 1.0 };
        (below, above, f)
    }

    /// Powers at a mean wind; none where no point near has them.
    pub fn powers(&self, wind_m_s: f64, offset_k: f64) -> Option<Powers> {
        let (below, above, f) = self.between(offset_k);
        if f >= 1.0 {
            return above.powers(wind_m_s);
        }
        match (below.powers(wind_m_s), above.powers(wind_m_s)) {
            (Some(cold), Some(warm)) => Some(cold.towards(&warm, f)),
            (one, other) => one.or(other),
        }
    }

    /// The limit that is broken most, if one is.
    pub fn broken(&self, met: Met) -> Option<LimitCode> {
        let (v, fv) = spot(&self.axes.winds_m_s, met.wind_m_s);
        let (e, fe) = spot(&self.axes.excesses_m_s, met.excess_m_s);
        let (below, above, ft) = self.between(met.offset_k);
        let mut corners = Vec::with_capacity(8);
        for (sheet, share) in [(below, 1.0 - ft), (above, ft)] {
            for (dv, share) in [(0, share * (1.0 - fv)), (1, share * fv)] {
                for (de, share) in [(0, share * (1.0 - fe)), (1, share * fe)] {
                    if share > 0.0 {
                        corners.push((sheet.closeness(&self.axes, v + dv, e + de), share));
                    }
                }
            }
        }
        let mut worst: Option<(f64, LimitCode)> = None;
        for (i, code) in LimitCode::ALL.iter().enumerate() {
            let (mut sum, mut weight) = (0.0, 0.0);
            for (closeness, share) in &corners {
                if !closeness[i].is_nan() {
                    sum += share * closeness[i].clamp(-10.0, 10.0);
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

/// Puts a sheet between two neighbours if a straight line between them misses it; how many intervals from `index` on are done.
fn refine(
    sheets: &mut Vec<Sheet>,
    index: usize,
    least_k: f64,
    at: &impl Fn(f64, Option<&Sheet>) -> Result<Sheet, PlanError>,
) -> Result<usize, PlanError> {
    let (below, above) = (&sheets[index], &sheets[index + 1]);
    if above.offset_k - below.offset_k < 1.5 * least_k {
        return Ok(1);
    }
    let middle = at(0.5 * (below.offset_k + above.offset_k), Some(below))?;
    let near =
        middle.carried().all(|(wind_m_s, powers)| match (below.powers(wind_m_s), above.powers(wind_m_s)) {
            (Some(cold), Some(warm)) => cold.towards(&warm, 0.5).difference_ratio(&powers) <= NEAR_RATIO,
            _ => true,
        });
    sheets.insert(index + 1, middle);
    Ok(if near { 2 } else { 0 })
}

fn winds_m_s(most_m_s: f64) -> Vec<f64> {
    let strongest_m_s = most_m_s.clamp(1.0, STRONGEST_M_S);
    let steps = ((strongest_m_s / WIND_STEP_M_S).ceil() as usize).max(4);
    (0..=steps).map(|i| strongest_m_s * i as f64 / steps as f64).collect()
}

fn excesses_m_s(most_m_s: f64) -> Vec<f64> {
    let reached = EXCESSES_M_S.iter().position(|e| *e >= most_m_s).unwrap_or(EXCESSES_M_S.len() - 1);
    EXCESSES_M_S[..=reached].to_vec()
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
