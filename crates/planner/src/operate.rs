//! The coupled operating point: tether, vehicle and light of one place, solved in the order in which each needs the one
//! before, and every limit on the way.

use beamstay_optics::{OpticsError, fiber::FiberRun, receiver::CooledSink};
use beamstay_tether::{Ground, Shape};
use beamstay_vehicle::VehicleError;
use nalgebra::Vector3;

use crate::{
    error::PlanError,
    hang::{self, Hung, Touch, Under},
    ledger::Ledger,
    limit::{LimitCode, LimitRow},
    point::{LightPoint, LinePoint, OperatingPoint, OrbitLight, TetherPoint},
    scenario::{self, LaserControl},
    system::{
        Place, System, Way,
        copper::CopperWay,
        craft::{Acting, Balanced},
        light::{Light, Lit, Setting},
        line::TetherLine,
        route::{OrbitShares, Passes, Route},
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

/// The tether of a place, hung in the mean wind and in the gust, or why it does not hang. It depends on site, line, winch
/// and place alone: payload, vehicle, laser, receiver and limits may change under it.
#[derive(Debug, Clone)]
pub enum Hanging {
    /// Nothing hangs here.
    Without,
    /// It hangs.
    Free(Box<Tethers>),
    /// It has no solution, with the row that says why.
    Broken(LimitRow),
}

/// A tether in mean wind and gust.
#[derive(Debug, Clone)]
pub struct Tethers {
    /// In the mean wind.
    pub mean: Box<Shape>,
    /// In the gust.
    pub gust: Box<Shape>,
    /// As they are handed out, mean wind and gust.
    pub points: (TetherPoint, TetherPoint),
    /// Lowest point of both over ground beyond the first metres, m.
    pub clearance_m: f64,
}

impl Hanging {
    /// The tether, if it hangs.
    pub fn tethers(&self) -> Option<&Tethers> {
        match self {
            Self::Free(tethers) => Some(tethers),
            Self::Without | Self::Broken(_) => None,
        }
    }

    /// The shape in the mean wind, if it hangs.
    pub(crate) fn into_mean(self) -> Option<Box<Shape>> {
        match self {
            Self::Free(tethers) => Some(tethers.mean),
            Self::Without | Self::Broken(_) => None,
        }
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
        self.craft.asked_limits(in_gust, &self.limits, rows)?;
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

    /// Hangs the tether of a place in the mean wind and in the gust, from a neighbouring shape if there is one. What reaches
    /// the ground lies on it.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn hang(&self, place: &Place, warm: Option<&Shape>) -> Result<Hanging, PlanError> {
        self.hang_over(place, self.under(Touch::LiesOrThrough), warm)
    }

    /// As [`Self::hang`], for searches: where the plan lets no line lie, one that would hangs through the ground, which is many
    /// times cheaper. Verdict and limits agree; of a plan that fails for that reason, forces and lengths do not.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn hang_for_search(&self, place: &Place, warm: Option<&Shape>) -> Result<Hanging, PlanError> {
        self.hang_over(place, self.under(Touch::Through), warm)
    }

    /// The ground under the tether, in air; `touch` counts where the plan lets no line lie.
    pub(crate) fn under(&self, touch: Touch) -> Option<Under> {
        let line = self.line.as_deref().filter(|_| matches!(self.surroundings.mean, Stream::Air(_)))?;
        let ground = Ground::new(-self.surroundings.exit_height_m, line.ground_friction_ratio).ok()?;
        let touch = if self.limits.max_length_on_ground_m > 0.0 { Touch::Lies } else { touch };
        Some(Under { ground, touch })
    }

    fn hang_over(
        &self,
        place: &Place,
        under: Option<Under>,
        warm: Option<&Shape>,
    ) -> Result<Hanging, PlanError> {
        let (Some(line), Some(winch)) = (self.line.as_deref(), place.winch) else {
            return Ok(Hanging::Without);
        };
        let under = under.as_ref();
        let (exit_height_m, at_m) = (self.surroundings.exit_height_m, place.position_m);
        let mean = match hang::hang(line, &self.surroundings.mean, under, at_m, winch, warm)? {
            Hung::Holds(held) => held,
            Hung::Broken(row) => return Ok(Hanging::Broken(row)),
        };
        let point = hang::tether_point(line, &mean, under, exit_height_m);
        self.hang_in_gust(place, line, under, mean.shape, point)
    }

    /// As [`Self::hang_for_search`] where only the gust is another: the tether in the mean wind is that of `tethers`.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub(crate) fn hang_in_other_gust(&self, place: &Place, tethers: &Tethers) -> Result<Hanging, PlanError> {
        self.hang_in_gust_for_search(place, &tethers.mean, tethers.points.0)
    }

    /// As [`Self::hang_for_search`] in the mean wind alone: its shape, its numbers and its clearance, m. None where nothing hangs.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub(crate) fn hang_in_mean_for_search(
        &self,
        place: &Place,
        warm: Option<&Shape>,
    ) -> Result<Option<(Box<Shape>, TetherPoint, f64)>, PlanError> {
        let (Some(line), Some(winch)) = (self.line.as_deref(), place.winch) else { return Ok(None) };
        let under = self.under(Touch::Through);
        let exit_height_m = self.surroundings.exit_height_m;
        let (stream, at_m) = (&self.surroundings.mean, place.position_m);
        Ok(match hang::hang(line, stream, under.as_ref(), at_m, winch, warm)? {
            Hung::Holds(held) => {
                let point = hang::tether_point(line, &held, under.as_ref(), exit_height_m);
                let clearance_m = hang::clearance_m(&held.shape, exit_height_m);
                Some((held.shape, point, clearance_m))
            }
            Hung::Broken(_) => None,
        })
    }

    /// As [`Self::hang_for_search`] in the gust, given the shape in the mean wind and its numbers.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub(crate) fn hang_in_gust_for_search(
        &self,
        place: &Place,
        mean: &Shape,
        mean_point: TetherPoint,
    ) -> Result<Hanging, PlanError> {
        let Some(line) = self.line.as_deref() else { return Ok(Hanging::Without) };
        let under = self.under(Touch::Through);
        self.hang_in_gust(place, line, under.as_ref(), Box::new(*mean), mean_point)
    }

    /// Hangs the tether in the gust, given that in the mean wind.
    fn hang_in_gust(
        &self,
        place: &Place,
        line: &TetherLine,
        under: Option<&Under>,
        mean: Box<Shape>,
        mean_point: TetherPoint,
    ) -> Result<Hanging, PlanError> {
        let (exit_height_m, at_m) = (self.surroundings.exit_height_m, place.position_m);
        let winch = hang::winch_in_gust(self.gust_response, &mean);
        let gust_stream = self.surroundings.gust_at(at_m.z)?;
        let gust = match hang::hang(line, &gust_stream, under, at_m, winch, Some(&mean))? {
            Hung::Holds(held) => held,
            Hung::Broken(row) => return Ok(Hanging::Broken(row)),
        };
        let points = (mean_point, hang::tether_point(line, &gust, under, exit_height_m));
        let gust = gust.shape;
        let clearance_m =
            hang::clearance_m(&mean, exit_height_m).min(hang::clearance_m(&gust, exit_height_m));
        Ok(Hanging::Free(Box::new(Tethers { mean, gust, points, clearance_m })))
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

    /// The delivery with the demand drawn.
    fn power(
        &self,
        place: &Place,
        tethers: Option<&Tethers>,
        mean: &Balanced,
        demand_w: f64,
        ledger: &mut Ledger,
        rows: &mut Vec<LimitRow>,
    ) -> Result<Power, PlanError> {
        let paid_out_m = tethers.map_or(0.0, |t| t.mean.paid_out_m());
        match &self.way {
            Way::Light(light) => {
                let fluid = self.surroundings.mean.fluid_at(place.position_m.z);
                let cooled = light
                    .cooled(&fluid, mean.point.wake_m_s, mean.point.airspeed_m_s)
                    .map_err(|e| PlanError::model("/receiver/sink", e))?;
                let bank_rad = mean.point.tilt_deg.to_radians();
                let passes = light
                    .route
                    .passes(place, &self.craft, mean.up, bank_rad)
                    .map_err(|e| PlanError::model("/delivery", e))?;
                let lit = light
                    .meet(demand_w, &cooled, passes.path_ratio)
                    .map_err(|e| PlanError::model("/receiver", e))?;
                let orbit = OrbitLit::of(light, &passes, &lit, demand_w, &cooled)
                    .map_err(|e| PlanError::model("/receiver", e))?;
                let wound_m = self.line.as_ref().map_or(0.0, |l| (l.total_length_m - paid_out_m).max(0.0));
                let drum_temp_c = self.drum_temp_c(light, lit.laser.optical_w, wound_m)?;
                let brightest = orbit.map_or(lit, |orbit| orbit.brightest);
                limits_of_light(light, &lit, &brightest, &passes, drum_temp_c, &self.limits, rows)?;
                ledger.light(light, &lit, &passes, self.housekeeping_w, wound_m)?;
                let orbit = orbit.map(|orbit| orbit.point(self.housekeeping_w));
                Ok(Power {
                    available_w: lit.available_w,
                    setting_w: lit.setting.laser_w(),
                    wall_mean_w: orbit.map(|orbit| orbit.wall_mean_w),
                    light: Some(LightPoint { orbit, ..light_point(light, &lit, &passes, drum_temp_c) }),
                    line: None,
                })
            }
            Way::Copper(copper) => {
                let wind_m_s = self.surroundings.mean.speed_m_s(0.5 * place.position_m.z);
                let air_k = self.surroundings.mean.fluid_at(0.5 * place.position_m.z).temperature_k;
                let fed = copper.feed(demand_w, paid_out_m, air_k, wind_m_s)?;
                copper.limits(&fed, rows);
                ledger.copper(&fed, self.housekeeping_w);
                Ok(Power {
                    available_w: fed.available_w,
                    setting_w: None,
                    wall_mean_w: None,
                    light: None,
                    line: CopperWay::point(&fed),
                })
            }
            Way::Battery => {
                let available_w = self.battery.as_ref().map_or(0.0, |b| b.max_discharge_w(b.full_ratio()));
                ledger.battery(self.housekeeping_w);
                Ok(Power { available_w, setting_w: None, wall_mean_w: None, light: None, line: None })
            }
        }
    }

    /// Hottest layer of the wound fiber, °C; none without a drum.
    pub(crate) fn drum_temp_c(
        &self,
        light: &Light,
        laser_w: f64,
        wound_m: f64,
    ) -> Result<Option<f64>, PlanError> {
        let (Some(line), Route::Fiber { path, run, .. }) = (&self.line, &light.route) else {
            return Ok(None);
        };
        let run = FiberRun { wound_length_m: wound_m, ..*run };
        let heat = path
            .drum_heat(laser_w, &run, &line.wound_pack(light.ambient_temp_k))
            .map_err(|e| PlanError::model("/ground/drum", e))?;
        Ok(Some(celsius(heat.hottest_temp_k)))
    }

    /// How long the full battery alone meets the demand, min.
    fn battery_min(&self, demand_w: f64) -> Result<Option<f64>, PlanError> {
        let Some(battery) = &self.battery else { return Ok(None) };
        let discharge =
            battery.discharge(battery.full_ratio(), demand_w).map_err(|e| PlanError::model("/battery", e))?;
        Ok(Some((discharge.duration_s / 60.0).min(MOST_MINUTES)))
    }
}

/// Longest endurance that is told, min: a year.
const MOST_MINUTES: f64 = 525_960.0;

/// What the delivery does for a demand.
struct Power {
    available_w: f64,
    setting_w: Option<f64>,
    /// Wall power as mean over a circle, where it is not that of the ledger.
    wall_mean_w: Option<f64>,
    light: Option<LightPoint>,
    line: Option<LinePoint>,
}

/// The light along a circle besides its worst place.
#[derive(Debug, Clone, Copy)]
struct OrbitLit {
    shares: OrbitShares,
    /// Where the most light arrives: the cells are hottest there.
    brightest: Lit,
    /// With the light that arrives in the mean.
    mean: Lit,
}

impl OrbitLit {
    fn of(
        light: &Light,
        passes: &Passes,
        worst: &Lit,
        demand_w: f64,
        cooled: &CooledSink,
    ) -> Result<Option<Self>, OpticsError> {
        let Some(shares) = passes.orbit else { return Ok(None) };
        let mean_ratio = match light.control {
            LaserControl::Steady => shares.mean_ratio,
            LaserControl::DimmedToDemand => shares.harmonic_ratio,
        };
        let at = |ratio: f64| {
            if ratio > passes.path_ratio { light.meet(demand_w, cooled, ratio) } else { Ok(*worst) }
        };
        Ok(Some(Self { shares, brightest: at(shares.most_ratio)?, mean: at(mean_ratio)? }))
    }

    fn point(&self, housekeeping_w: f64) -> OrbitLight {
        OrbitLight {
            path_ratio_least: self.shares.least_ratio,
            path_ratio_mean: self.shares.mean_ratio,
            path_ratio_most: self.shares.most_ratio,
            laser_mean_w: self.mean.laser.optical_w,
            available_mean_w: self.mean.available_w,
            wall_mean_w: self.mean.laser.electrical_w + self.mean.chiller_w + housekeeping_w,
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

fn limits_of_light(
    light: &Light,
    lit: &Lit,
    brightest: &Lit,
    passes: &Passes,
    drum_temp_c: Option<f64>,
    limits: &scenario::Limits,
    rows: &mut Vec<LimitRow>,
) -> Result<(), PlanError> {
    let rated_w = light.laser.rated_optical_w;
    rows.push(match lit.setting {
        Setting::Found { laser_w } => LimitRow::at_most(LimitCode::LaserPower, laser_w, rated_w, "W"),
        Setting::NoneCloses { best_bus_w, demand_w } => {
            LimitRow::at_least(LimitCode::LightPeak, best_bus_w, demand_w, "W")
        }
    });
    let limiting_temp_k = lit.limiting_temp_k.max(brightest.limiting_temp_k);
    let (hottest_c, allowed_c) = (celsius(limiting_temp_k), celsius(light.max_cell_temp_k));
    rows.push(LimitRow::at_most(LimitCode::CellTemperature, hottest_c, allowed_c, "°C"));
    if let Some(allowed_w_per_m2) = light.max_irradiance_w_per_m2 {
        let brightest_w_per_cm2 = 1e-4 * brightest.drawn.brightest_cell_w_per_m2;
        let allowed_w_per_cm2 = 1e-4 * allowed_w_per_m2;
        rows.push(LimitRow::at_most(
            LimitCode::CellIrradiance,
            brightest_w_per_cm2,
            allowed_w_per_cm2,
            "W/cm²",
        ));
    }
    // The cell is coldest, its edge shortest, before the light comes.
    let coldest_k = lit.drawn.cell_temp_k.min(light.ambient_temp_k);
    rows.push(LimitRow::at_least(LimitCode::BandEdge, light.band_edge_ratio(coldest_k), 1.0, ""));
    let converter_w = light.receiver.spec().converter.rated_output_w();
    rows.push(LimitRow::at_most(LimitCode::ConverterPower, brightest.drawn.bus_w, converter_w, "W"));
    if let Some(sight) = passes.sight {
        rows.push(LimitRow::at_most(
            LimitCode::SpillOver,
            sight.spill_ratio,
            limits.max_spill_over_ratio,
            "",
        ));
    }
    if let Some((budget, length_m)) = &light.data_link {
        rows.push(LimitRow::at_most(LimitCode::DataLinkLoss, budget.loss_db, budget.allowance.loss_db, "dB"));
        rows.push(LimitRow::at_most(LimitCode::DataLinkLength, *length_m, budget.longest_m, "m"));
    }
    let Route::Fiber { path, run, .. } = &light.route else { return Ok(()) };
    if let Some(drum_temp_c) = drum_temp_c {
        let coating_c = celsius(path.parts().fiber.coating_temp_limit_k);
        rows.push(LimitRow::at_most(LimitCode::DrumTemperature, drum_temp_c, coating_c, "°C"));
    }
    let thresholds = path
        .power_limits(run, light.laser.linewidth_m)
        .map_err(|e| PlanError::model("/delivery/fiber", e))?;
    let in_fiber_w = lit.laser.optical_w * passes.launch_ratio;
    rows.push(LimitRow::at_most(LimitCode::RamanThreshold, in_fiber_w, thresholds.raman_threshold_w, "W"));
    rows.push(LimitRow::at_most(
        LimitCode::BrillouinThreshold,
        in_fiber_w,
        thresholds.brillouin_threshold_w,
        "W",
    ));
    Ok(())
}

fn light_point(light: &Light, lit: &Lit, passes: &Passes, drum_temp_c: Option<f64>) -> LightPoint {
    let mass_kg = light.receiver_mass_kg();
    let launched_w = lit.laser.optical_w * passes.launch_ratio;
    LightPoint {
        control: light.control.into(),
        laser_w: lit.laser.optical_w,
        launched_w,
        arriving_w: lit.drawn.arriving_w,
        path_ratio: passes.path_ratio,
        wavelength_nm: 1e9 * lit.laser.wavelength_m,
        cell_temp_c: celsius(lit.drawn.cell_temp_k),
        cell_temp_max_power_c: celsius(lit.most.cell_temp_k),
        cell_temp_load_lost_c: celsius(lit.lost.cell_temp_k),
        cells_w: lit.drawn.cells_w,
        bus_w: lit.drawn.bus_w,
        cell_efficiency_ratio: lit.most.efficiency_ratio,
        receiver_specific_power_w_per_kg: if mass_kg > 0.0 { lit.available_w / mass_kg } else { 0.0 },
        range_m: passes.sight.map(|s| s.range_m),
        incidence_deg: passes.sight.map(|s| s.incidence_rad.to_degrees()),
        beam_elevation_deg: passes.sight.map(|s| s.elevation_rad.to_degrees()),
        spill_over_w: passes.sight.map(|s| s.spill_ratio * lit.laser.optical_w),
        orbit: None,
        drum_temp_c,
        core_intensity_w_per_mm2: match &light.route {
            Route::Fiber { path, .. } => Some(1e-6 * launched_w / path.parts().fiber.core_area_m2()),
            Route::Beam { .. } => None,
        },
    }
}
