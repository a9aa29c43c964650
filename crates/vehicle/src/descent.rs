//! Coming down: what a descent costs and where the vortex ring state begins.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, domain::in_range};
use beamstay_rotor::vortex_ring::boundary_ratio;

use crate::{
    defaults::DESCENT_MARGIN_RATIO, error::VehicleError, load::Load, multirotor::Multirotor, trim::Trim,
};

/// Limits on a planned descent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DescentPlan {
    /// Share of the vortex-ring boundary in calm air that may be used, 0.05 to 1.
    pub margin_ratio: f64,
    /// Fastest descent that the flight controller or the operator allows, m/s, 0.01 to 50.
    pub max_rate_m_s: f64,
}

impl Default for DescentPlan {
    /// [`DESCENT_MARGIN_RATIO`] of the boundary and no more than 5 m/s (common practice, no source).
    fn default() -> Self {
        Self { margin_ratio: DESCENT_MARGIN_RATIO, max_rate_m_s: 5.0 }
    }
}

/// A steady descent.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Descent {
    /// Rate of descent, m/s.
    pub rate_m_s: f64,
    /// Balance and powers at that rate.
    pub trim: Trim,
    /// Power to plan the descent with, W: the demand at that rate or in hover under the same load, whichever is more.
    pub planning_w: f64,
    /// Speed of the air from below through the rotor plane over the hover induced velocity; negative when the wind
    /// into which the aircraft leans outweighs the descent.
    pub descent_ratio: f64,
    /// Where the vortex ring state begins at this edgewise speed, in the same measure; `None` if the air sweeps it
    /// away.
    pub vortex_ring_from_ratio: Option<f64>,
    /// Where it ends, in the same measure.
    pub vortex_ring_to_ratio: Option<f64>,
    /// Rate at which the vortex ring state would begin if the wind dropped, m/s.
    pub calm_limit_m_s: f64,
    /// Whether the rotors are in the vortex ring state.
    pub in_vortex_ring: bool,
}

impl Descent {
    /// Energy to plan with for `height_m`, J: planning power × height / rate. `None` if it does not descend.
    pub fn energy_j(&self, height_m: f64) -> Option<f64> {
        let energy_j = self.planning_w * height_m / self.rate_m_s;
        (self.rate_m_s > 0.0 && energy_j.is_finite()).then_some(energy_j)
    }
}

impl Multirotor {
    /// The multirotor under `load`, coming down at `rate_m_s` (0 to 50). The boundary of the vortex ring state is
    /// that of W. Johnson (NASA/TP-2005-213477, pp. 23-24), for the thrust and inflow of this descent. Inside it the
    /// rotor model counts hover power at least; the thrust fluctuates there and a descent must not be planned.
    ///
    /// # Errors
    /// As [`Multirotor::trim`].
    pub fn descend(&self, load: &Load, rate_m_s: f64, fluid: &Fluid) -> Result<Descent, VehicleError> {
        let rate_m_s = in_range("rate of descent", "m/s", rate_m_s, 0.0, 50.0)?;
        let hover = self.trim(load, fluid)?;
        let mut sinking = *load;
        sinking.vehicle_velocity_m_s.z -= rate_m_s;
        let trim = self.trim(&sinking, fluid)?;
        let scale_m_s = trim.hover_velocity_m_s.max(1e-6);
        let descent_ratio = -trim.axial_inflow_m_s / scale_m_s;
        let band = boundary_ratio(trim.edgewise_m_s / scale_m_s);
        Ok(Descent {
            rate_m_s,
            planning_w: trim.demand_w.max(hover.demand_w),
            descent_ratio,
            vortex_ring_from_ratio: band.map(|(upper, _)| -upper),
            vortex_ring_to_ratio: band.map(|(_, lower)| -lower),
            calm_limit_m_s: self.calm_limit_m_s(load, trim.thrust_n, fluid),
            in_vortex_ring: band.is_some_and(|(upper, lower)| (-upper..=-lower).contains(&descent_ratio)),
            trim,
        })
    }

    /// The fastest descent that stays `plan.margin_ratio` of the way to the vortex ring state even if the wind drops
    /// and the tether goes slack: rate ≤ margin × 0.45 v_h, v_h of the weight alone or of the thrust under `load`,
    /// whichever is less. A wind moves the boundary outward; that is not used, because it may drop.
    ///
    /// # Errors
    /// As [`Multirotor::trim`].
    pub fn fastest_safe_descent(
        &self,
        load: &Load,
        plan: &DescentPlan,
        fluid: &Fluid,
    ) -> Result<Descent, VehicleError> {
        self.descend(load, self.safe_descent_rate_m_s(load, plan, fluid)?, fluid)
    }

    /// The rate of [`Self::fastest_safe_descent`] alone, m/s, whether or not the motors can hold the load.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`], or where the forces have no balance.
    pub fn safe_descent_rate_m_s(
        &self,
        load: &Load,
        plan: &DescentPlan,
        fluid: &Fluid,
    ) -> Result<f64, VehicleError> {
        let margin_ratio = in_range("descent margin", "", plan.margin_ratio, 0.05, 1.0)?;
        let max_rate_m_s = in_range("fastest descent", "m/s", plan.max_rate_m_s, 0.01, 50.0)?;
        let balance = self.balance(load, fluid)?;
        Ok((margin_ratio * self.calm_limit_m_s(load, balance.thrust_n, fluid)).min(max_rate_m_s))
    }

    /// Rate of descent in calm air at which the vortex ring state begins, m/s.
    fn calm_limit_m_s(&self, load: &Load, thrust_n: f64, fluid: &Fluid) -> f64 {
        let least_n = thrust_n.min(load.mass_kg * STANDARD_GRAVITY_M_S2);
        let onset_ratio = boundary_ratio(0.0).map_or(0.0, |(upper, _)| -upper);
        onset_ratio * self.inputs().rotors.hover_velocity_m_s(least_n, fluid)
    }
}
