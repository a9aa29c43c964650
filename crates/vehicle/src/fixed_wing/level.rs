//! Straight and level flight, the speeds that matter, and climb.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, domain::in_range};

use super::{FixedWing, WingLoad, check_air};
use crate::{
    error::VehicleError,
    limit::{Limit, LimitKind},
};

/// A wing at one airspeed with one lift.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LevelFlight {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Lift, N.
    pub lift_n: f64,
    /// Lift coefficient.
    pub lift_coefficient: f64,
    /// Drag of the aircraft, N.
    pub drag_n: f64,
    /// The part of it that comes with the lift, N.
    pub induced_drag_n: f64,
    /// Thrust, N: drag plus the backward pull of the tether. Negative if the tether pulls it along faster than the
    /// drag holds: the airspeed cannot be kept.
    pub thrust_n: f64,
    /// Thrust × airspeed, W.
    pub propulsive_w: f64,
    /// Shaft power, W.
    pub shaft_w: f64,
    /// Power of the motors from the bus, W.
    pub electrical_w: f64,
    /// What the bus has to deliver, W: motors and avionics.
    pub demand_w: f64,
    /// Airspeed at which the largest lift coefficient carries this lift, m/s.
    pub stall_speed_m_s: f64,
    /// Lift coefficient against the usable one.
    pub stall_limit: Limit,
    /// Limit of propeller and motor that is used most, if one is known.
    pub drive_limit: Option<Limit>,
}

impl LevelFlight {
    /// The limit that is used most.
    pub fn binding_limit(&self) -> Limit {
        self.drive_limit.map_or(self.stall_limit, |drive| drive.tighter(self.stall_limit))
    }

    /// The first limit that is passed, as an error: stall, then drive.
    pub fn exceeded(&self) -> Option<VehicleError> {
        self.stall_limit.exceeded().or_else(|| self.drive_limit.and_then(|l| l.exceeded()))
    }
}

impl FixedWing {
    /// Straight and level flight at `airspeed_m_s` (0.1 to 150), refused if a limit is passed. Lift carries weight
    /// and downward pull, thrust drag and backward pull (Anderson, *Introduction to Flight*, ch. 6: lift = weight,
    /// thrust = drag).
    ///
    /// # Errors
    /// [`VehicleError::Stall`], a limit of the drive, a number outside its range, or a rotor model without an answer.
    ///
    /// # Examples
    /// ```
    /// # use beamstay_environment::fluid::Fluid;
    /// # let air = Fluid { temperature_k: 288.15, pressure_pa: 101_325.0, density_kg_m3: 1.225,
    /// #     dynamic_viscosity_pa_s: 1.789e-5, thermal_conductivity_w_per_m_k: 0.0253,
    /// #     specific_heat_j_per_kg_k: 1005.0, speed_of_sound_m_s: 340.3 };
    /// use beamstay_vehicle::{FixedWing, FixedWingInputs, Polar, Propulsion, WingLoad};
    /// // Anderson's light aircraft: 13127.5 N, 16.165 m², least drag 964.8 N at 44.15 m/s.
    /// let aircraft = FixedWing::new(FixedWingInputs {
    ///     empty_mass_kg: 1000.0,
    ///     wing_area_m2: 16.165,
    ///     polar: Polar::from_span_efficiency(0.025, 7.3657, 0.8, 1.6)?,
    ///     propulsion: Propulsion::Efficiency { propeller_ratio: 0.8, drive_ratio: 1.0, max_shaft_w: Some(171_511.0) },
    ///     avionics_w: 0.0,
    ///     max_bank_deg: 60.0,
    ///     max_load_factor: 3.8,
    ///     stall_margin_ratio: 1.0,
    /// })?;
    /// let load = WingLoad::free(13127.5 / 9.80665);
    /// let speed = aircraft.least_drag_speed_m_s(&load, &air)?;
    /// assert!((speed - 44.147).abs() < 1e-2);
    /// assert!((aircraft.level(&load, speed, &air)?.drag_n - 964.8).abs() < 0.1);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn level(
        &self,
        load: &WingLoad,
        airspeed_m_s: f64,
        fluid: &Fluid,
    ) -> Result<LevelFlight, VehicleError> {
        load.check()?;
        check_air(airspeed_m_s, fluid)?;
        let lift_n = load.mass_kg * STANDARD_GRAVITY_M_S2 + load.pull_down_n;
        let flight = self.carry(lift_n, -load.pull_back_n, airspeed_m_s, fluid)?;
        match flight.exceeded() {
            Some(error) => Err(error),
            None => Ok(flight),
        }
    }

    /// The wing with a lift and a forward pull from outside, N, limits reported only.
    pub(crate) fn carry(
        &self,
        lift_n: f64,
        forward_pull_n: f64,
        airspeed_m_s: f64,
        fluid: &Fluid,
    ) -> Result<LevelFlight, VehicleError> {
        let polar = &self.inputs.polar;
        let force_per_coefficient_n =
            0.5 * fluid.density_kg_m3 * airspeed_m_s * airspeed_m_s * self.inputs.wing_area_m2;
        let lift_coefficient = lift_n / force_per_coefficient_n;
        let drag_n = force_per_coefficient_n * polar.drag_coefficient(lift_coefficient);
        let induced_drag_n = drag_n - force_per_coefficient_n * polar.drag_coefficient(0.0);
        let thrust_n = drag_n - forward_pull_n;
        let pushed = self.push(thrust_n, airspeed_m_s, fluid)?;
        Ok(LevelFlight {
            airspeed_m_s,
            lift_n,
            lift_coefficient,
            drag_n,
            induced_drag_n,
            thrust_n,
            propulsive_w: thrust_n * airspeed_m_s,
            shaft_w: pushed.shaft_w,
            electrical_w: pushed.electrical_w,
            demand_w: pushed.electrical_w + self.inputs.avionics_w,
            stall_speed_m_s: self.airspeed_m_s(lift_n.abs(), polar.largest_lift(), fluid),
            stall_limit: Limit::upper(
                LimitKind::LiftCoefficient,
                lift_coefficient.abs(),
                self.usable_lift_coefficient(),
            ),
            drive_limit: pushed.limit,
        })
    }

    /// Stall speed in straight flight, m/s.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn stall_speed_m_s(&self, load: &WingLoad, fluid: &Fluid) -> Result<f64, VehicleError> {
        self.speed_at(load, self.inputs.polar.largest_lift(), fluid)
    }

    /// Airspeed of least thrust × airspeed, m/s: lift coefficient √(3 CD0/k), or the usable one if that is less. The
    /// backward pull of a tether moves it down a little, which is not counted.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn least_power_speed_m_s(&self, load: &WingLoad, fluid: &Fluid) -> Result<f64, VehicleError> {
        self.speed_at(load, self.inputs.polar.least_power_lift().min(self.usable_lift_coefficient()), fluid)
    }

    /// Airspeed of least drag, m/s: lift coefficient √(CD0/k), or the usable one if that is less.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn least_drag_speed_m_s(&self, load: &WingLoad, fluid: &Fluid) -> Result<f64, VehicleError> {
        self.speed_at(load, self.inputs.polar.least_drag_lift().min(self.usable_lift_coefficient()), fluid)
    }

    fn speed_at(&self, load: &WingLoad, lift_coefficient: f64, fluid: &Fluid) -> Result<f64, VehicleError> {
        load.check()?;
        in_range("fluid density", "kg/m³", fluid.density_kg_m3, 1e-3, 2e3)?;
        let lift_n = load.mass_kg * STANDARD_GRAVITY_M_S2 + load.pull_down_n;
        Ok(self.airspeed_m_s(lift_n, lift_coefficient, fluid))
    }

    /// Steady rate of climb at `airspeed_m_s`, m/s: (largest thrust − thrust of level flight) × airspeed / weight,
    /// negative if the level flight cannot be kept. For shallow climbs: lift is taken as in level flight. `None` if
    /// nothing tells the largest thrust.
    ///
    /// # Errors
    /// [`VehicleError::Stall`], a number outside its range, or a rotor model without an answer.
    pub fn climb_rate_m_s(
        &self,
        load: &WingLoad,
        airspeed_m_s: f64,
        fluid: &Fluid,
    ) -> Result<Option<f64>, VehicleError> {
        load.check()?;
        check_air(airspeed_m_s, fluid)?;
        let weight_n = load.mass_kg * STANDARD_GRAVITY_M_S2;
        let flight = self.carry(weight_n + load.pull_down_n, -load.pull_back_n, airspeed_m_s, fluid)?;
        if let Some(error) = flight.stall_limit.exceeded() {
            return Err(error);
        }
        let largest_n = self.max_thrust_n(airspeed_m_s, fluid)?;
        Ok(largest_n.map(|n| (n - flight.thrust_n) * airspeed_m_s / weight_n))
    }
}
