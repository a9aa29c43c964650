//! Fixed wing: mass, airspeed and pull of the tether in; lift, drag, power and margins out.

mod best;
mod level;
mod loiter;
mod polar;

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;
use beamstay_rotor::Inflow;

pub use level::LevelFlight;
pub use loiter::{Loiter, Orbit};
pub use polar::Polar;

use crate::{
    error::{VehicleError, finite},
    limit::{Limit, LimitKind},
    rotor_set::RotorSet,
};

/// What turns electrical power into thrust.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Propulsion {
    /// Known by efficiencies.
    Efficiency {
        /// Thrust × airspeed over shaft power, 0.05 to 1.
        propeller_ratio: f64,
        /// Shaft power over power from the bus, motor and controller together, 0.05 to 1.
        drive_ratio: f64,
        /// Largest continuous shaft power, W, if one is known.
        max_shaft_w: Option<f64>,
    },
    /// Known by rotor and drive models.
    Rotors(Box<RotorSet>),
}

/// Inputs of a [`FixedWing`].
#[derive(Debug, Clone, PartialEq)]
pub struct FixedWingInputs {
    /// Airframe with motors, without payload, receiver and battery, kg, above 0 to 1e5.
    pub empty_mass_kg: f64,
    /// Reference area of the polar, m², 0.01 to 1000.
    pub wing_area_m2: f64,
    /// Drag polar.
    pub polar: Polar,
    /// Propeller and motor.
    pub propulsion: Propulsion,
    /// Power of everything on board that is not a motor and not payload, W, 0 to 1e5.
    pub avionics_w: f64,
    /// Largest bank, degrees, 1 to 80.
    pub max_bank_deg: f64,
    /// Largest lift over weight that the structure carries, 1 to 20.
    pub max_load_factor: f64,
    /// Least airspeed over stall speed at the same lift, 1 to 3; 1.2 to 1.3 is common practice (no source).
    pub stall_margin_ratio: f64,
}

/// A fixed wing, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct FixedWing {
    inputs: FixedWingInputs,
}

/// Mass and tether pull of a fixed wing, in the axes of its path over the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WingLoad {
    /// Flying mass, kg.
    pub mass_kg: f64,
    /// Downward part of the tether pull, N.
    pub pull_down_n: f64,
    /// Part toward the centre of the turn, N; no part in straight flight.
    pub pull_inward_n: f64,
    /// Part against the direction of travel, N.
    pub pull_back_n: f64,
}

impl WingLoad {
    /// No tether.
    pub fn free(mass_kg: f64) -> Self {
        Self { mass_kg, pull_down_n: 0.0, pull_inward_n: 0.0, pull_back_n: 0.0 }
    }

    pub(crate) fn check(&self) -> Result<(), VehicleError> {
        in_range("flying mass", "kg", self.mass_kg, 1e-6, 1e5)?;
        for pull_n in [self.pull_down_n, self.pull_inward_n, self.pull_back_n] {
            in_range("tether pull", "N", pull_n, -1e6, 1e6)?;
        }
        Ok(())
    }
}

/// What the propulsion makes of a thrust.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Pushed {
    pub shaft_w: f64,
    pub electrical_w: f64,
    pub limit: Option<Limit>,
}

impl FixedWing {
    /// Checks the inputs.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_vehicle::{FixedWing, FixedWingInputs, Polar, Propulsion};
    /// let glider = FixedWing::new(FixedWingInputs {
    ///     empty_mass_kg: 4.0,
    ///     wing_area_m2: 0.8,
    ///     polar: Polar::from_span_efficiency(0.03, 12.0, 0.85, 1.3)?,
    ///     propulsion: Propulsion::Efficiency { propeller_ratio: 0.7, drive_ratio: 0.8, max_shaft_w: Some(400.0) },
    ///     avionics_w: 8.0,
    ///     max_bank_deg: 45.0,
    ///     max_load_factor: 3.0,
    ///     stall_margin_ratio: 1.2,
    /// })?;
    /// assert!(glider.inputs().polar.largest_lift_to_drag() > 15.0);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn new(inputs: FixedWingInputs) -> Result<Self, VehicleError> {
        in_range("empty mass", "kg", inputs.empty_mass_kg, 1e-6, 1e5)?;
        in_range("wing area", "m²", inputs.wing_area_m2, 0.01, 1e3)?;
        in_range("avionics power", "W", inputs.avionics_w, 0.0, 1e5)?;
        in_range("largest bank", "°", inputs.max_bank_deg, 1.0, 80.0)?;
        in_range("largest load factor", "", inputs.max_load_factor, 1.0, 20.0)?;
        in_range("stall margin", "", inputs.stall_margin_ratio, 1.0, 3.0)?;
        if let Propulsion::Efficiency { propeller_ratio, drive_ratio, max_shaft_w } = inputs.propulsion {
            in_range("propeller efficiency", "", propeller_ratio, 0.05, 1.0)?;
            in_range("drive efficiency", "", drive_ratio, 0.05, 1.0)?;
            in_range("largest shaft power", "W", max_shaft_w.unwrap_or(1.0), 1e-3, 1e7)?;
        }
        Ok(Self { inputs })
    }

    /// The inputs it was made from.
    pub fn inputs(&self) -> &FixedWingInputs {
        &self.inputs
    }

    /// Largest lift coefficient that may be used in steady flight: the largest one over the stall margin squared.
    pub fn usable_lift_coefficient(&self) -> f64 {
        self.inputs.polar.largest_lift() / (self.inputs.stall_margin_ratio * self.inputs.stall_margin_ratio)
    }

    /// Airspeed, m/s, at which `lift_n` takes `lift_coefficient`.
    pub(crate) fn airspeed_m_s(&self, lift_n: f64, lift_coefficient: f64, fluid: &Fluid) -> f64 {
        (2.0 * lift_n.max(0.0) / (fluid.density_kg_m3 * self.inputs.wing_area_m2 * lift_coefficient)).sqrt()
    }

    /// Shaft and electrical power for `thrust_n` at `airspeed_m_s`. Without thrust the propeller is taken to cost and
    /// give nothing.
    pub(crate) fn push(
        &self,
        thrust_n: f64,
        airspeed_m_s: f64,
        fluid: &Fluid,
    ) -> Result<Pushed, VehicleError> {
        let thrust_n = finite("thrust", thrust_n)?.max(0.0);
        match &self.inputs.propulsion {
            Propulsion::Efficiency { propeller_ratio, drive_ratio, max_shaft_w } => {
                let shaft_w = thrust_n * airspeed_m_s / propeller_ratio;
                let limit = max_shaft_w.map(|max_w| Limit::upper(LimitKind::Power, shaft_w, max_w));
                Ok(Pushed { shaft_w, electrical_w: shaft_w / drive_ratio, limit })
            }
            Propulsion::Rotors(rotors) => {
                let at = rotors.operate(thrust_n, Inflow::axial(airspeed_m_s), fluid)?;
                let thrust_limit =
                    at.thrust_bound_n.map(|max_n| Limit::upper(LimitKind::Thrust, thrust_n, max_n));
                let limit = match (thrust_limit, at.drive_limit) {
                    (Some(thrust), Some(drive)) => Some(thrust.tighter(drive)),
                    (thrust, drive) => thrust.or(drive),
                };
                Ok(Pushed { shaft_w: at.shaft_w, electrical_w: at.electrical_w, limit })
            }
        }
    }

    /// Largest thrust at `airspeed_m_s`, N, if something tells it.
    pub(crate) fn max_thrust_n(&self, airspeed_m_s: f64, fluid: &Fluid) -> Result<Option<f64>, VehicleError> {
        match &self.inputs.propulsion {
            Propulsion::Efficiency { propeller_ratio, max_shaft_w, .. } => {
                Ok(max_shaft_w.map(|max_w| max_w * propeller_ratio / airspeed_m_s))
            }
            Propulsion::Rotors(rotors) => {
                Ok(rotors.max_thrust(Inflow::axial(airspeed_m_s), fluid)?.map(|(thrust_n, _)| thrust_n))
            }
        }
    }
}

/// Airspeed and fluid inside what the wing model is meant for.
pub(crate) fn check_air(airspeed_m_s: f64, fluid: &Fluid) -> Result<(), VehicleError> {
    in_range("airspeed", "m/s", airspeed_m_s, 0.1, 150.0)?;
    in_range("fluid density", "kg/m³", fluid.density_kg_m3, 1e-3, 2e3)?;
    Ok(())
}
