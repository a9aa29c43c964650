//! The coupled operating point: tether, vehicle and light of one place, solved in the order in which each needs the one
//! before, and every limit on the way.

mod hanging;
mod power;

use beamstay_tether::Shape;
use beamstay_vehicle::VehicleError;
use nalgebra::Vector3;

pub(crate) use hanging::Alone;
pub use hanging::{Hanging, Tethers};

use crate::{
    error::PlanError,
    hang,
    ledger::Ledger,
    limit::{LimitCode, LimitRow},
    point::{OperatingPoint, TetherPoint},
    system::{
        Place, System, Way,
        craft::{Acting, Balanced},
        line::TetherLine,
        surroundings::Stream,
    },
};

/// A solved operating point with the shapes of the tether, for plots and as a warm start.
#[derive(Debug, Clone)]
pub struct Solved {
    /// The point as it is handed out.
    pub point: OperatingPoint,
    /// The tether in the mean wind.
    pub shape: Option<Box<Shape>>,
    /// The tether in the gust.
    pub shape_in_gust: Option<Box<Shape>>,
}

impl Solved {
    /// The point with the closure of the tether's forces counted too. That sums the load along the line once more: it is for
    /// what is handed out, not for a search.
    pub fn checked(mut self) -> OperatingPoint {
        let tethers = [&self.shape, &self.shape_in_gust].into_iter().flatten();
        let of_tethers = tethers.map(|shape| hang::closure_ratio(shape)).fold(0.0, f64::max);
        self.point.force_closure_ratio = self.point.force_closure_ratio.map(|ratio| ratio.max(of_tethers));
        self.point
    }
}

impl System {
    /// The operating point at a place.
    ///
    /// # Errors
    /// [`PlanError`]; a plan that does not close is not one.
    pub fn operate(&self, place: &Place) -> Result<OperatingPoint, PlanError> {
        Ok(self.solve(place, None)?.point)
    }

    /// The operating point at a place, from a neighbouring solution if there is one.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn solve(&self, place: &Place, warm: Option<&Solved>) -> Result<Solved, PlanError> {
        let hanging = self.hang(place, warm.and_then(|w| w.shape.as_deref()))?;
        self.solve_on(place, hanging)
    }

    /// As [`Self::solve`] on a tether hung by [`Self::hang_for_search`].
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn solve_for_search(&self, place: &Place, warm: Option<&Solved>) -> Result<Solved, PlanError> {
        let hanging = self.hang_for_search(place, warm.and_then(|w| w.shape.as_deref()))?;
        self.solve_on(place, hanging)
    }

    fn solve_on(&self, place: &Place, hanging: Hanging) -> Result<Solved, PlanError> {
        let point = self.operate_on(place, &hanging)?;
        let (shape, shape_in_gust) = match hanging {
            Hanging::Free(tethers) => (Some(tethers.mean), Some(tethers.gust)),
            Hanging::Without | Hanging::Broken(_) => (None, None),
        };
        Ok(Solved { point, shape, shape_in_gust })
    }

    /// The operating point at a place whose tether hangs already.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn operate_on(&self, place: &Place, hanging: &Hanging) -> Result<OperatingPoint, PlanError> {
        let tethers = match hanging {
            Hanging::Broken(row) => return Ok(self.unsolved(vec![*row], None)),
            Hanging::Free(tethers) => self.line.as_deref().map(|line| (line, tethers.as_ref())),
            Hanging::Without => None,
        };
        let mut rows = Vec::with_capacity(32);
        if let Some((line, tethers)) = tethers {
            self.limits_of_tether(line, &tethers.points, tethers.clearance_m, &mut rows)?;
        }
        let tethers = tethers.map(|(_, tethers)| tethers);
        let gust_stream = self.surroundings.gust_at(place.position_m.z)?;
        let in_mean = self.acting(place, &self.surroundings.mean, tethers.map(|t| t.mean.as_ref()));
        let in_gust = self.acting(place, &gust_stream, tethers.map(|t| t.gust.as_ref()));
        match self.carry(&in_mean, &in_gust, &mut rows)? {
            (Some(mean), gust) => self.finish(place, rows, tethers, &mean, gust.as_ref()),
            (None, _) => Ok(self.unsolved(rows, tethers)),
        }
    }

    /// Balances the vehicle in mean wind and gust, with its limits, before any power is looked at. What has no balance is
    /// none, with a row that says why.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub(crate) fn carry(
        &self,
        in_mean: &Acting<'_>,
        in_gust: &Acting<'_>,
        rows: &mut Vec<LimitRow>,
    ) -> Result<(Option<Balanced>, Option<Balanced>), PlanError> {
        let mean = match self.craft.balance(in_mean) {
            Ok(mean) => mean,
            Err(error) => {
                rows.push(missing(error)?);
                return Ok((None, None));
            }
        };
        let gust = match self.craft.balance_in_gust(in_gust) {
            Ok(gust) => Some(gust),
            Err(error) => {
                rows.push(missing(error)?);
                None
            }
        };
        self.craft.limits(&mean, gust.as_ref(), self.limits.thrust_reserve_ratio, rows);
        self.craft.asked_limits(in_gust, &self.limits, self.rotors_left, rows)?;
        Ok((Some(mean), gust))
    }

    /// What acts on the vehicle at a place in a stream, with the tether that hangs in it.
    pub(crate) fn acting<'a>(&self, place: &Place, stream: &'a Stream, shape: Option<&Shape>) -> Acting<'a> {
        Acting {
            mass_kg: self.masses.total_kg(),
            position_m: place.position_m,
            stream,
            tether_pull_n: shape.map_or(Vector3::zeros(), Shape::force_on_vehicle_n),
        }
    }

    /// Limits of the tether; the ground is one in air only.
    pub(crate) fn limits_of_tether(
        &self,
        line: &TetherLine,
        points: &(TetherPoint, TetherPoint),
        clearance_m: f64,
        rows: &mut Vec<LimitRow>,
    ) -> Result<(), PlanError> {
        hang::limits(line, &self.limits, &points.0, &points.1, rows)?;
        if matches!(self.surroundings.mean, Stream::Air(_)) {
            let least_m = self.limits.min_clearance_m;
            rows.push(LimitRow::at_least(LimitCode::Clearance, clearance_m, least_m, "m"));
        }
        Ok(())
    }

    /// A point whose later steps have no solution.
    fn unsolved(&self, limits: Vec<LimitRow>, tethers: Option<&Tethers>) -> OperatingPoint {
        OperatingPoint {
            feasible: false,
            margin_w: None,
            demand_w: None,
            available_w: None,
            wall_w: None,
            laser_setting_w: None,
            battery_min: None,
            tether: tethers.map(|t| t.points.0),
            tether_in_gust: tethers.map(|t| t.points.1),
            vehicle: None,
            vehicle_in_gust: None,
            light: None,
            line: None,
            masses: self.masses,
            power: Vec::new(),
            limits,
            energy_closure_ratio: None,
            force_closure_ratio: None,
        }
    }

    fn finish(
        &self,
        place: &Place,
        mut rows: Vec<LimitRow>,
        tethers: Option<&Tethers>,
        mean: &Balanced,
        gust: Option<&Balanced>,
    ) -> Result<OperatingPoint, PlanError> {
        let demand_w = self.craft.demand_w(mean) + self.payload_w;
        let mut ledger = Ledger::default();
        let power = self.power(place, tethers, mean, demand_w, &mut ledger, &mut rows)?;
        self.limits_of_power(power.available_w, demand_w, gust, &mut rows);
        ledger.vehicle(mean, self.payload_w, demand_w);
        let force_closure_ratio = mean.residual_ratio.max(gust.map_or(0.0, |g| g.residual_ratio));
        Ok(OperatingPoint {
            feasible: rows.iter().all(|row| row.ok),
            margin_w: Some(power.available_w - demand_w),
            demand_w: Some(demand_w),
            available_w: Some(power.available_w),
            wall_w: Some(power.wall_mean_w.unwrap_or(ledger.wall_w())),
            laser_setting_w: power.setting_w,
            battery_min: self.battery_min(demand_w)?,
            tether: tethers.map(|t| t.points.0),
            tether_in_gust: tethers.map(|t| t.points.1),
            vehicle: Some(mean.point),
            vehicle_in_gust: gust.map(|g| g.point),
            light: power.light,
            line: power.line,
            masses: self.masses,
            energy_closure_ratio: Some(ledger.closure_ratio()),
            power: ledger.into_rows(),
            limits: rows,
            force_closure_ratio: Some(force_closure_ratio),
        })
    }

    /// Power at the bus against the demand, in the mean wind and in the gust.
    pub(crate) fn limits_of_power(
        &self,
        available_w: f64,
        demand_w: f64,
        gust: Option<&Balanced>,
        rows: &mut Vec<LimitRow>,
    ) {
        let reserved_w = demand_w * (1.0 + self.limits.power_reserve_ratio);
        rows.push(LimitRow::at_least(LimitCode::Power, available_w, reserved_w, "W"));
        // What a half-used battery can give: full it could more, at its floor it may not.
        let store_w = self
            .battery
            .as_ref()
            .map_or(0.0, |b| b.max_discharge_w(0.5 * (b.spec().floor_ratio + b.full_ratio())));
        let with_store_w = match self.way {
            Way::Battery => available_w,
            _ => available_w + store_w,
        };
        if let Some(gust) = gust {
            let gust_demand_w = self.craft.demand_w(gust) + self.payload_w;
            rows.push(LimitRow::at_least(LimitCode::PowerInGust, with_store_w, gust_demand_w, "W"));
        }
    }
}

/// A balance that does not exist, as a row; a number that a model refuses, as an error.
fn missing(error: VehicleError) -> Result<LimitRow, PlanError> {
    match error {
        VehicleError::ThrustShort { needed_n, available_n } => {
            Ok(LimitRow::at_most(LimitCode::Thrust, needed_n, available_n, "N"))
        }
        VehicleError::NoThruster { needed_n, .. } => {
            Ok(LimitRow::at_most(LimitCode::Thrust, needed_n, 0.0, "N"))
        }
        VehicleError::TiltExceeded { tilt_deg, max_tilt_deg } => {
            Ok(LimitRow::at_most(LimitCode::Tilt, tilt_deg, max_tilt_deg, "°"))
        }
        VehicleError::BankExceeded { bank_deg, max_bank_deg } => {
            Ok(LimitRow::at_most(LimitCode::Tilt, bank_deg, max_bank_deg, "°"))
        }
        VehicleError::LoadFactorExceeded { load_factor, max_load_factor } => {
            Ok(LimitRow::at_most(LimitCode::LoadFactor, load_factor, max_load_factor, ""))
        }
        VehicleError::PowerShort { needed_w, available_w } => {
            Ok(LimitRow::at_most(LimitCode::MotorPower, needed_w, available_w, "W"))
        }
        VehicleError::CurrentExceeded { needed_a, available_a } => {
            Ok(LimitRow::at_most(LimitCode::MotorCurrent, needed_a, available_a, "A"))
        }
        VehicleError::VoltageShort { needed_v, available_v } => {
            Ok(LimitRow::at_most(LimitCode::BusVoltage, needed_v, available_v, "V"))
        }
        VehicleError::WindingTooHot { winding_k, max_winding_k, .. } => {
            let (winding_c, max_c) = (celsius(winding_k), celsius(max_winding_k));
            Ok(LimitRow::at_most(LimitCode::WindingTemperature, winding_c, max_c, "°C"))
        }
        VehicleError::Stall { needed, available } => {
            Ok(LimitRow::at_least(LimitCode::Stall, (available / needed).max(0.0).sqrt(), 1.0, ""))
        }
        VehicleError::WindTooStrong { wind_m_s, airspeed_m_s, .. } => {
            Ok(LimitRow::at_least(LimitCode::Headway, airspeed_m_s, wind_m_s / 0.95, "m/s"))
        }
        VehicleError::NotConverged { .. } => {
            Err(PlanError::NotConverged { stage: "balance of the vehicle", detail: error.to_string() })
        }
        other => Err(PlanError::model("/vehicle", other)),
    }
}

fn celsius(temperature_k: f64) -> f64 {
    temperature_k - beamstay_numerics::constants::ZERO_CELSIUS_K
}
