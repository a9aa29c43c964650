//! The circle at the airspeed that costs least.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{
    minimum,
    root::{Tolerance, bracketed},
};

use super::{
    FixedWing, WingLoad, check_air,
    loiter::{LEAST_GROUND_RATIO, Loiter, Orbit, lift_downwind_n},
};
use crate::error::VehicleError;

/// Airspeeds tried for the best one, from the slowest to four times that.
const SPEEDS_COUNT: u32 = 40;
/// How near the best airspeed is found, in steps of about 3.5 %: the demand is flat there.
const STEP_TOLERANCE: f64 = 1e-3;

/// The search ends where the demand has risen over so many steps, together a quarter faster: drag has one valley.
const RISING_COUNT: u32 = 6;
/// Of the points on the circle, one in so many is flown while the best airspeed is looked for: twelve give its mean to 1e-4 in any
/// wind that leaves an airspeed worth flying, and the point with the wind behind, the steepest, is among them.
const SEARCH_STRIDE: usize = 6;
/// Added to the slowest airspeed, over itself, so that the limit that it stands on holds.
const ROUNDING: f64 = 1e-12;

impl FixedWing {
    /// The circle flown at the airspeed of least mean demand that keeps all limits.
    ///
    /// # Errors
    /// As [`Self::loiter`]: if no airspeed keeps all limits, what is missing at the airspeed that comes nearest.
    ///
    /// # Examples
    /// ```
    /// # use beamstay_environment::fluid::Fluid;
    /// # let air = Fluid { temperature_k: 288.15, pressure_pa: 101_325.0, density_kg_m3: 1.225,
    /// #     dynamic_viscosity_pa_s: 1.789e-5, thermal_conductivity_w_per_m_k: 0.0253,
    /// #     specific_heat_j_per_kg_k: 1005.0, speed_of_sound_m_s: 340.3 };
    /// # use beamstay_vehicle::{FixedWing, FixedWingInputs, Orbit, Polar, Propulsion, WingLoad};
    /// # let wing = FixedWing::new(FixedWingInputs {
    /// #     empty_mass_kg: 4.0,
    /// #     wing_area_m2: 0.8,
    /// #     polar: Polar::from_span_efficiency(0.03, 12.0, 0.85, 1.3)?,
    /// #     propulsion: Propulsion::Efficiency { propeller_ratio: 0.7, drive_ratio: 0.8, max_shaft_w: Some(400.0) },
    /// #     avionics_w: 8.0,
    /// #     max_bank_deg: 45.0,
    /// #     max_load_factor: 3.0,
    /// #     stall_margin_ratio: 1.2,
    /// # })?;
    /// let orbit = Orbit { radius_m: 60.0, wind_m_s: 4.0 };
    /// let best = wing.best_loiter(&WingLoad::free(5.0), &orbit, &air)?;
    /// let faster = wing.loiter(&WingLoad::free(5.0), &orbit, best.airspeed_m_s + 2.0, &air)?;
    /// assert!(best.mean_demand_w < faster.mean_demand_w && best.least_stall_ratio >= 1.2);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn best_loiter(&self, load: &WingLoad, orbit: &Orbit, fluid: &Fluid) -> Result<Loiter, VehicleError> {
        load.check()?;
        orbit.check()?;
        check_air(1.0, fluid)?;
        let straight_m_s = self.straight_m_s(load, orbit, fluid)?;
        let slowest_m_s = self.slowest_m_s(load, orbit, fluid, straight_m_s);
        let demand_w = |stride: usize| {
            move |step: f64| self.mean_demand_w(load, orbit, speed_m_s(slowest_m_s, step), fluid, stride)
        };
        let flown = |step: f64| self.loiter(load, orbit, speed_m_s(slowest_m_s, step), fluid);
        if let Some(Ok(loiter)) = best_step(demand_w(SEARCH_STRIDE)).map(flown) {
            return Ok(loiter);
        }
        // A limit between the points that were looked at: every point counts.
        match best_step(demand_w(1)) {
            Some(step) => flown(step),
            None => Err(self.nearest_miss(load, orbit, straight_m_s, fluid)),
        }
    }

    /// The airspeed that carries the wing straight ahead with its stall margin and does not let it hang in the wind, m/s.
    fn straight_m_s(&self, load: &WingLoad, orbit: &Orbit, fluid: &Fluid) -> Result<f64, VehicleError> {
        let carried_m_s = self.stall_speed_m_s(load, fluid)? * self.inputs.stall_margin_ratio;
        Ok(carried_m_s.max(orbit.wind_m_s / (1.0 - LEAST_GROUND_RATIO)).clamp(0.1, 149.0))
    }

    /// The least airspeed that keeps the stall margin with the wind behind, where a free wing needs the most lift, m/s; found to
    /// rounding, so that a wing that flies cheapest there is on its limit, not near it. Where the turn is too tight for any, the
    /// airspeed that carries it straight ahead.
    fn slowest_m_s(&self, load: &WingLoad, orbit: &Orbit, fluid: &Fluid, straight_m_s: f64) -> f64 {
        let missing_m_s = |airspeed_m_s: f64| {
            let lift_n = lift_downwind_n(load, orbit, airspeed_m_s);
            self.airspeed_m_s(lift_n, self.usable_lift_coefficient(), fluid) - airspeed_m_s
        };
        if missing_m_s(straight_m_s) <= 0.0 {
            return straight_m_s;
        }
        (0..SPEEDS_COUNT)
            .find_map(|step| {
                let [below_m_s, above_m_s] =
                    [step, step + 1].map(|step| speed_m_s(straight_m_s, f64::from(step)));
                bracketed(missing_m_s, below_m_s, above_m_s, Tolerance::default()).ok()
            })
            .map_or(straight_m_s, |root| (root.x * (1.0 + ROUNDING)).min(149.0))
    }

    /// What is missing at the airspeed where least is missing.
    fn nearest_miss(&self, load: &WingLoad, orbit: &Orbit, straight_m_s: f64, fluid: &Fluid) -> VehicleError {
        let mut nearest: Option<(f64, VehicleError)> = None;
        for step in 0..=SPEEDS_COUNT {
            let Err(error) = self.loiter(load, orbit, speed_m_s(straight_m_s, f64::from(step)), fluid) else {
                continue;
            };
            let overload = error.overload_ratio().unwrap_or(f64::INFINITY);
            if nearest.is_none_or(|(least, _)| overload < least) {
                nearest = Some((overload, error));
            }
        }
        nearest.map_or(VehicleError::NotFinite { quantity: "mean demand" }, |(_, error)| error)
    }
}

/// Airspeed at a step from the slowest, m/s.
fn speed_m_s(slowest_m_s: f64, step: f64) -> f64 {
    (slowest_m_s * 4f64.powf(step / f64::from(SPEEDS_COUNT))).min(150.0)
}

/// Step of the least demand; `None` if every step has an infinite one.
fn best_step(demand_w: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut best_step, mut best_w) = (None, f64::INFINITY);
    let (mut last_w, mut rising_count) = (f64::INFINITY, 0);
    for step in 0..=SPEEDS_COUNT {
        let step = f64::from(step);
        let step_w = demand_w(step);
        if step_w < best_w {
            (best_step, best_w) = (Some(step), step_w);
        }
        rising_count = if step_w > last_w { rising_count + 1 } else { 0 };
        if rising_count == RISING_COUNT {
            break;
        }
        last_w = step_w;
    }
    let step = best_step?;
    let polished = minimum::brent(demand_w, (step - 1.0).max(0.0), step + 1.0, STEP_TOLERANCE);
    Some(if polished.f <= best_w { polished.x } else { step })
}
