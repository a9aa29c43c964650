//! The way down of a multirotor: tether, wind and air by height, power by rate of descent, and the best rate.

use beamstay_environment::{flow::Flow, fluid::Fluid};
use beamstay_tether::{Shape, cut::broadside_speed_m_s};
use beamstay_vehicle::{Descent, DescentPlan, Load, Multirotor, VehicleError};
use nalgebra::Vector3;
use serde::Serialize;

use super::{Phase, ride::Leg};
use crate::{
    error::PlanError,
    hang::{Hung, Touch, hang},
    scenario::{LightLoss, Winch},
    system::{Place, System},
};

/// Legs of the way down.
const LEGS_COUNT: u32 = 24;
/// Rates tried for the curve.
const RATES_COUNT: u32 = 40;
/// Share of the speed of a falling tether that the descent may use: faster, the line streams up into the rotors.
const TETHER_FALL_SHARE: f64 = 0.8;
/// Lowest height over the drum exit at which the tether is still solved, m.
const LOWEST_M: f64 = 0.3;

/// What hangs on the vehicle on its way down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Hanging {
    /// The tether, reeled in with the drum tension it has.
    Whole,
    /// A loose piece of this length, m.
    Piece(f64),
    /// Nothing.
    Nothing,
}

/// One place on the way down.
#[derive(Debug, Clone, Copy)]
struct Spot {
    pull_n: Vector3<f64>,
    wind_m_s: Vector3<f64>,
    fluid: Fluid,
    paid_out_m: f64,
}

/// The way down, solved once; rates and masses are tried on it.
#[derive(Debug, Clone)]
pub(super) struct Way {
    spots: Vec<Spot>,
    /// Height over ground at the start, m.
    pub height_m: f64,
    /// Horizontal metres per metre of height.
    slope: Vector3<f64>,
    /// Heights at which the tether had no solution and the pull above it was kept.
    pub unsolved_count: u32,
    /// Length reeled in per metre of height, at most; 0 without a whole tether.
    pub reel_ratio: f64,
    /// Speed at which the tether itself falls broadside, m/s.
    pub tether_fall_m_s: Option<f64>,
}

/// What bounds the rate of descent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum RateBound {
    /// The share of the vortex-ring boundary.
    VortexRing,
    /// The fastest descent allowed.
    Allowed,
    /// The tether, which would stream up into the rotors.
    TetherFall,
    /// The winch.
    Winch,
    /// None of them: a slower descent costs less.
    Energy,
}

impl RateBound {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::VortexRing => "the vortex ring state",
            Self::Allowed => "the fastest descent allowed",
            Self::TetherFall => "the fall of the tether itself",
            Self::Winch => "the winch",
            Self::Energy => "least energy",
        }
    }
}

/// One rate of descent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RateRow {
    /// Rate, m/s.
    pub rate_m_s: f64,
    /// Time from station to ground, s.
    pub time_s: f64,
    /// Energy from station to ground at planning power, J: never less than hover.
    pub energy_j: f64,
    /// Whether the rotors are in the vortex ring state somewhere on the way, in the mean wind.
    pub in_vortex_ring: bool,
    /// Whether they would be if the wind dropped.
    pub in_vortex_ring_if_calm: bool,
}

/// The rate chosen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BestRate {
    /// Rate, m/s.
    pub rate_m_s: f64,
    /// What bounds it.
    pub bound: RateBound,
    /// Rate at which the vortex ring state begins in calm air, m/s.
    pub vortex_ring_from_m_s: f64,
}

impl Way {
    /// Solves the way down from a place.
    pub fn new(
        system: &System,
        place: &Place,
        shape: Option<&Shape>,
        hanging: Hanging,
    ) -> Result<Self, PlanError> {
        let exit_m = system.surroundings.exit_height_m;
        let top = place.position_m;
        let height_m = (top.z + exit_m).max(0.0);
        let whole = hanging == Hanging::Whole && shape.is_some();
        // A reeled tether leads to the drum; free of it, the way is straight down.
        let slope = if whole && top.z > 1.0 {
            Vector3::new(top.x / top.z, top.y / top.z, 0.0)
        } else {
            Vector3::zeros()
        };
        let mut way = Self {
            spots: Vec::with_capacity(LEGS_COUNT as usize),
            height_m,
            slope,
            unsolved_count: 0,
            reel_ratio: 0.0,
            tether_fall_m_s: None,
        };
        let mut warm = shape.cloned();
        for i in 0..LEGS_COUNT {
            let middle = (f64::from(i) + 0.5) / f64::from(LEGS_COUNT);
            let z_m = (height_m * (1.0 - middle) - exit_m).max(LOWEST_M);
            let at = Vector3::new(top.x + slope.x * (z_m - top.z), top.y + slope.y * (z_m - top.z), z_m);
            way.push(system, at, hanging, &mut warm)?;
        }
        if whole {
            way.reel_ratio = way.steepest_reel(shape.map_or(0.0, Shape::paid_out_m));
            let (line, fluid) = (system.line.as_ref(), way.spots.first().map(|s| s.fluid));
            way.tether_fall_m_s = line.zip(fluid).and_then(|(line, fluid)| {
                broadside_speed_m_s(&line.line, fluid.density_kg_m3, fluid.dynamic_viscosity_pa_s).ok()
            });
        }
        Ok(way)
    }

    fn push(
        &mut self,
        system: &System,
        at: Vector3<f64>,
        hanging: Hanging,
        warm: &mut Option<Shape>,
    ) -> Result<(), PlanError> {
        let mean = &system.surroundings.mean;
        let (wind_m_s, fluid) = (mean.at(at.z).velocity_m_s, mean.fluid_at(at.z));
        let mut spot = Spot { pull_n: Vector3::zeros(), wind_m_s, fluid, paid_out_m: 0.0 };
        match (hanging, system.line.as_deref(), warm.as_ref()) {
            (Hanging::Whole, Some(line), Some(last)) => {
                let winch = Winch::DrumTension { drum_tension_n: last.drum_tension_n() };
                // Down here it may lie, whatever the plan asks of the station.
                match hang(line, mean, system.under(Touch::Lies).as_ref(), at, winch, Some(last)) {
                    Ok(Hung::Holds(held)) => {
                        spot.pull_n = held.shape.force_on_vehicle_n();
                        spot.paid_out_m = held.shape.paid_out_m();
                        *warm = Some(*held.shape);
                    }
                    // Too little tension to hold what hangs down to the ground, or no solution: the pull above is more, so
                    // it is kept.
                    Ok(Hung::Broken(_)) | Err(PlanError::NotConverged { .. }) => {
                        self.unsolved_count += 1;
                        spot.pull_n = self.spots.last().map_or(last.force_on_vehicle_n(), |s| s.pull_n);
                        spot.paid_out_m = self.spots.last().map_or(last.paid_out_m(), |s| s.paid_out_m)
                            - self.height_m / f64::from(LEGS_COUNT);
                    }
                    Err(error) => return Err(error),
                }
            }
            (Hanging::Piece(length_m), Some(line), _) => {
                let hangs_m = length_m.min(at.z.max(0.0));
                let speed_m_s = wind_m_s.norm();
                let factor_m_s = line.line.normal_drag.force_factor(
                    speed_m_s,
                    fluid.density_kg_m3,
                    line.line.diameter_m,
                    fluid.dynamic_viscosity_pa_s,
                );
                let drag_n = 0.5 * fluid.density_kg_m3 * line.line.diameter_m * factor_m_s * hangs_m;
                spot.pull_n = drag_n * wind_m_s;
                spot.pull_n.z -=
                    line.line.mass_kg_per_m * hangs_m * beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
            }
            _ => {}
        }
        self.spots.push(spot);
        Ok(())
    }

    /// Most length taken in per metre of height.
    fn steepest_reel(&self, first_m: f64) -> f64 {
        let leg_m = self.height_m / f64::from(LEGS_COUNT);
        let between = self.spots.windows(2).map(|pair| (pair[0].paid_out_m - pair[1].paid_out_m) / leg_m);
        let first = self.spots.first().map(|spot| (first_m - spot.paid_out_m) / (0.5 * leg_m));
        between.chain(first).fold(0.0, f64::max)
    }

    /// The vehicle at one spot, sinking.
    fn sink(
        &self,
        model: &Multirotor,
        spot: &Spot,
        mass_kg: f64,
        rate_m_s: f64,
    ) -> Result<Descent, VehicleError> {
        let load = Load::hover(mass_kg)
            .with_external_force(spot.pull_n)
            .with_wind(spot.wind_m_s)
            .with_velocity(-self.slope * rate_m_s);
        model.descend(&load, rate_m_s, &spot.fluid)
    }

    /// The legs from the station to the ground at a rate, payload included.
    pub fn legs(
        &self,
        model: &Multirotor,
        mass_kg: f64,
        rate_m_s: f64,
        other_w: f64,
    ) -> Result<(Vec<Leg>, bool), VehicleError> {
        let leg_m = self.height_m / f64::from(LEGS_COUNT);
        let mut in_vortex_ring = false;
        let mut legs = Vec::with_capacity(self.spots.len());
        for (i, spot) in self.spots.iter().enumerate() {
            let descent = self.sink(model, spot, mass_kg, rate_m_s)?;
            in_vortex_ring |= descent.in_vortex_ring;
            let from_height_m = self.height_m - leg_m * i as f64;
            legs.push(Leg {
                phase: Phase::Descent,
                duration_s: leg_m / rate_m_s,
                power_w: descent.planning_w + other_w,
                from_height_m,
                to_height_m: (from_height_m - leg_m).max(0.0),
            });
        }
        Ok((legs, in_vortex_ring))
    }

    /// Power of a hover near the ground, W.
    pub fn landing_w(&self, model: &Multirotor, mass_kg: f64) -> Result<f64, VehicleError> {
        let Some(spot) = self.spots.last() else { return Ok(0.0) };
        Ok(self.sink(model, spot, mass_kg, 0.0)?.planning_w)
    }

    /// The descent of least energy among those that keep clear of the vortex ring state, of the tether and of the winch's
    /// bound.
    pub fn best_rate(
        &self,
        model: &Multirotor,
        mass_kg: f64,
        rules: &LightLoss,
        max_reel_m_s: Option<f64>,
    ) -> Result<BestRate, VehicleError> {
        let plan = DescentPlan { margin_ratio: rules.vortex_ring_share_ratio, max_rate_m_s: 50.0 };
        let (mut limit_m_s, mut vortex_m_s) = (f64::INFINITY, f64::INFINITY);
        for spot in &self.spots {
            let load = Load::hover(mass_kg).with_external_force(spot.pull_n).with_wind(spot.wind_m_s);
            let descent = model.fastest_safe_descent(&load, &plan, &spot.fluid)?;
            limit_m_s = limit_m_s.min(descent.rate_m_s).min(plan.margin_ratio * descent.calm_limit_m_s);
            vortex_m_s = vortex_m_s.min(descent.calm_limit_m_s);
        }
        let mut best =
            BestRate { rate_m_s: limit_m_s, bound: RateBound::VortexRing, vortex_ring_from_m_s: vortex_m_s };
        let reel_m_s = max_reel_m_s.filter(|_| self.reel_ratio > 0.0).map(|reel| reel / self.reel_ratio);
        for (rate_m_s, bound) in [
            (Some(rules.max_descent_rate_m_s), RateBound::Allowed),
            (self.tether_fall_m_s.map(|fall| TETHER_FALL_SHARE * fall), RateBound::TetherFall),
            (reel_m_s, RateBound::Winch),
        ] {
            if let Some(rate_m_s) = rate_m_s.filter(|rate| *rate < best.rate_m_s) {
                (best.rate_m_s, best.bound) = (rate_m_s, bound);
            }
        }
        // Planning power is never under hover, so faster is nearly always cheaper; look inside only where it is not.
        let at_bound_j = self.energy_j(model, mass_kg, best.rate_m_s)?;
        if self.energy_j(model, mass_kg, 0.97 * best.rate_m_s).is_ok_and(|slower_j| slower_j < at_bound_j) {
            let least = beamstay_numerics::minimum::brent(
                |rate| self.energy_j(model, mass_kg, rate).unwrap_or(f64::MAX),
                0.05 * best.rate_m_s,
                best.rate_m_s,
                1e-4 * best.rate_m_s,
            );
            if least.f < at_bound_j {
                (best.rate_m_s, best.bound) = (least.x, RateBound::Energy);
            }
        }
        Ok(best)
    }

    fn energy_j(&self, model: &Multirotor, mass_kg: f64, rate_m_s: f64) -> Result<f64, VehicleError> {
        let (legs, _) = self.legs(model, mass_kg, rate_m_s, 0.0)?;
        Ok(legs.iter().map(|leg| leg.power_w * leg.duration_s).sum())
    }

    /// Time and energy over the rate of descent, to twice the calm-air boundary; rates without a balance are left out.
    pub fn curve(&self, model: &Multirotor, mass_kg: f64, other_w: f64, boundary_m_s: f64) -> Vec<RateRow> {
        (1..=RATES_COUNT)
            .filter_map(|i| {
                let rate_m_s = 2.0 * boundary_m_s * f64::from(i) / f64::from(RATES_COUNT);
                let (legs, in_vortex_ring) = self.legs(model, mass_kg, rate_m_s, other_w).ok()?;
                Some(RateRow {
                    rate_m_s,
                    time_s: self.height_m / rate_m_s,
                    energy_j: legs.iter().map(|leg| leg.power_w * leg.duration_s).sum(),
                    in_vortex_ring,
                    in_vortex_ring_if_calm: rate_m_s >= boundary_m_s,
                })
            })
            .collect()
    }
}
