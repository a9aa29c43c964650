//! The way of the power at one place: what it delivers with the demand drawn, and its limits.

use beamstay_optics::{OpticsError, fiber::FiberRun, receiver::CooledSink};

use super::{Tethers, celsius};
use crate::{
    error::PlanError,
    ledger::Ledger,
    limit::{LimitCode, LimitRow},
    point::{LightPoint, LinePoint, OrbitLight},
    scenario::{self, LaserControl},
    system::{
        Place, System, Way,
        copper::CopperWay,
        craft::Balanced,
        light::{Light, Lit, Setting},
        route::{OrbitShares, Passes, Route},
    },
};

/// Longest endurance that is told, min: a year.
const MOST_MINUTES: f64 = 525_960.0;

/// What the delivery does for a demand.
pub(super) struct Power {
    pub available_w: f64,
    pub setting_w: Option<f64>,
    /// Wall power as mean over a circle, where it is not that of the ledger.
    pub wall_mean_w: Option<f64>,
    pub light: Option<LightPoint>,
    pub line: Option<LinePoint>,
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

impl System {
    /// The delivery with the demand drawn.
    pub(super) fn power(
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
    pub(super) fn battery_min(&self, demand_w: f64) -> Result<Option<f64>, PlanError> {
        let Some(battery) = &self.battery else { return Ok(None) };
        let discharge =
            battery.discharge(battery.full_ratio(), demand_w).map_err(|e| PlanError::model("/battery", e))?;
        Ok(Some((discharge.duration_s / 60.0).min(MOST_MINUTES)))
    }
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
