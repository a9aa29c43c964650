//! A fixed wing that circles over its station.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::Drive;
use beamstay_vehicle::{
    DriveLimits, FixedWing, FixedWingInputs, Limit, LimitKind, Loiter, Orbit, Polar, Propulsion,
    VehicleError, WingLoad,
};

use super::{Balanced, UPRIGHT, WingLimits, rotors::drive};
use crate::{
    error::{At, PlanError},
    point::VehiclePoint,
    scenario,
};

/// Largest bank, °, and load factor of the structure (common practice, no source).
const MAX_BANK_DEG: f64 = 60.0;
const MAX_LOAD_FACTOR: f64 = 2.5;

/// A wing with its circle.
#[derive(Debug, Clone, PartialEq)]
pub struct Wing {
    model: FixedWing,
    radius_m: f64,
    airspeed_m_s: Option<f64>,
    max_shaft_w: f64,
}

impl Wing {
    pub(super) fn new(inputs: &scenario::FixedWing) -> Result<Self, PlanError> {
        let here = "/vehicle/fixed_wing";
        let aspect_ratio = inputs.wing_span_m * inputs.wing_span_m / inputs.wing_area_m2;
        let polar = Polar::from_span_efficiency(
            inputs.zero_lift_drag_coefficient,
            aspect_ratio,
            inputs.span_efficiency_ratio,
            inputs.max_lift_coefficient,
        )
        .at(&format!("{here}/wing_span_m"))?;
        let (drive_ratio, max_shaft_w) = match drive(&inputs.drive).at(&format!("{here}/drive"))? {
            (Drive::Efficiency(drive), _) => {
                let max_shaft_w = drive.max_shaft_w.map_or(inputs.max_shaft_w, |w| w.min(inputs.max_shaft_w));
                (drive.motor_ratio * drive.controller_ratio, max_shaft_w)
            }
            _ => {
                return Err(PlanError::excludes(
                    "/vehicle/fixed_wing/drive",
                    "a motor given by its constants",
                    "a propeller given by its efficiency",
                ));
            }
        };
        let model = FixedWing::new(FixedWingInputs {
            empty_mass_kg: inputs.empty_mass_kg,
            wing_area_m2: inputs.wing_area_m2,
            polar,
            propulsion: Propulsion::Efficiency {
                propeller_ratio: inputs.propeller_efficiency_ratio,
                drive_ratio,
                max_shaft_w: Some(max_shaft_w),
            },
            avionics_w: inputs.avionics_w,
            max_bank_deg: MAX_BANK_DEG,
            max_load_factor: MAX_LOAD_FACTOR,
            stall_margin_ratio: inputs.stall_margin_ratio,
        })
        .at(here)?;
        Ok(Self { model, radius_m: inputs.loiter_radius_m, airspeed_m_s: inputs.airspeed_m_s, max_shaft_w })
    }

    /// Radius of the circle, m.
    pub fn radius_m(&self) -> f64 {
        self.radius_m
    }

    /// The model.
    pub fn model(&self) -> &FixedWing {
        &self.model
    }

    pub(super) fn balance(
        &self,
        mass_kg: f64,
        wind_m_s: f64,
        fluid: &Fluid,
    ) -> Result<Balanced, VehicleError> {
        let load = WingLoad::free(mass_kg);
        let orbit = Orbit { radius_m: self.radius_m, wind_m_s };
        let loiter = match self.airspeed_m_s {
            Some(airspeed_m_s) => self.model.loiter_beyond_limits(&load, &orbit, airspeed_m_s, fluid)?,
            None => self.model.best_loiter(&load, &orbit, fluid)?,
        };
        Ok(self.handed_out(&loiter))
    }

    fn power_limit(&self, loiter: &Loiter) -> Limit {
        let (value, bound) = (loiter.largest_shaft_w, self.max_shaft_w);
        Limit { kind: LimitKind::Power, value, bound, used_ratio: value / bound }
    }

    fn handed_out(&self, loiter: &Loiter) -> Balanced {
        let avionics_w = self.model.inputs().avionics_w;
        let point = VehiclePoint {
            thrust_n: loiter.largest_thrust_n,
            tilt_deg: loiter.largest_bank_deg,
            airspeed_m_s: loiter.airspeed_m_s,
            induced_w: loiter.mean_induced_w,
            profile_w: loiter.mean_profile_w,
            propeller_loss_w: loiter.mean_shaft_w - loiter.mean_induced_w - loiter.mean_profile_w,
            electrical_w: loiter.mean_demand_w - avionics_w,
            avionics_w,
            shaft_w: loiter.mean_shaft_w,
            wake_m_s: loiter.airspeed_m_s,
            ..VehiclePoint::default()
        };
        Balanced {
            point,
            residual_ratio: 0.0,
            drive_limits: DriveLimits { power: Some(self.power_limit(loiter)), ..DriveLimits::default() },
            thrust_limit: None,
            max_tilt_deg: MAX_BANK_DEG,
            wing_limits: Some(WingLimits {
                stall_ratio: loiter.least_stall_ratio,
                min_stall_ratio: self.model.inputs().stall_margin_ratio,
                load_factor: loiter.largest_load_factor,
                max_load_factor: MAX_LOAD_FACTOR,
            }),
            up: UPRIGHT,
        }
    }
}
