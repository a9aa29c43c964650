//! Payloads on the tethers of one column: balance and power at any of its stations without hanging a tether. The power at the
//! bus is read from a curve over the air that cools the receiver. A search on it finds where to look; what is told is
//! computed afresh.

use beamstay_numerics::{constants::ZERO_CELSIUS_K, interpolate::MonotoneCubic};

use super::{
    spot::{NUMBERS_COUNT, Numbers, Spot, numbers, spot},
    table::Table,
};
use crate::{
    System,
    limit::{LimitCode, LimitRow},
    operate::Hanging,
    optimise::{Problem, Trial},
    scenario::{LaserControl, Station},
    search::{Free, margins_of},
    study::{NOTHING_COMPUTED, tightest_level},
    system::{
        Way,
        craft::{Acting, Balanced},
        light::Light,
        surroundings::Stream,
    },
};

/// Points of the curve of available power.
const CURVE_COUNT: usize = 9;

/// What is looked for among stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// A large payload.
    Payload,
    /// A large power margin.
    Margin,
}

/// What table and curve are off by at the station that was computed last.
#[derive(Debug, Clone, Copy)]
struct Off {
    numbers: Numbers,
    available_ratio: f64,
    laser_ratio: f64,
}

const NOTHING_OFF: Off = Off { numbers: [0.0; NUMBERS_COUNT], available_ratio: 1.0, laser_ratio: 1.0 };

/// A loaded vehicle at a station.
#[derive(Debug, Clone, Copy)]
pub(super) struct Standing {
    /// Power margin, W.
    pub margin_w: f64,
    /// Level of the limits; not negative where all hold.
    pub level: f64,
}

/// A station of the lattice.
#[derive(Debug, Clone)]
pub(super) struct Site {
    pub index: (usize, usize),
    /// Coordinates of offset and slack.
    pub unit: [f64; 2],
    downwind_m: f64,
    spot: Spot,
    /// Level of the tether alone.
    pub level: f64,
}

/// The stations of one column under any payload.
#[derive(Debug, Clone)]
pub(super) struct Loaded<'a> {
    system: System,
    free: &'a [Free],
    table: Table,
    gust: Stream,
    available: MonotoneCubic,
    off: Off,
    rows: Vec<LimitRow>,
    pub(super) aim: Aim,
}

impl<'a> Loaded<'a> {
    /// Hangs the tethers of a column; `free` are the payload, the offset and the drum tension. None where [`Table::hang`] has
    /// none, and for light that does not come through a fiber.
    pub(super) fn hang(mut system: System, station: &Station, free: &'a [Free]) -> Option<Self> {
        let Way::Light(light) = &system.way else { return None };
        light.route.fiber_path_ratio()?;
        let place = system.place(station).ok()?;
        let gust = system.surroundings.gust_at(place.position_m.z).ok()?;
        system.masses.payload_kg = free[0].span.lo;
        let table = Table::hang(&system, &place, free)?;
        let available = curve(&mut system, &table, free)?;
        let rows = Vec::with_capacity(48);
        Some(Self { system, free, table, gust, available, off: NOTHING_OFF, rows, aim: Aim::Margin })
    }

    /// Bounds of a search; the payload between `payload`.
    pub(super) fn bounds(&self, payload: (f64, f64)) -> [(f64, f64); 3] {
        let [offset, slack] = self.table.bounds(self.free);
        [payload, offset, slack]
    }

    /// Largest and least payload of the map, kg.
    pub(super) fn payload_kg(&self, unit: f64) -> f64 {
        self.free[0].value_at(unit)
    }

    /// Stations of a lattice whose tether alone stands no lower than `least_level`.
    pub(super) fn sites(&mut self, finer: (usize, usize), least_level: f64) -> Vec<Site> {
        let mut sites = Vec::new();
        for (index, downwind_m, slack_unit, all) in self.table.lattice(finer) {
            let Some(offset_unit) = self.free[1].unit(downwind_m) else { continue };
            if self.table.tension_falls_ratio(downwind_m, slack_unit).is_none_or(|falls| falls <= 0.0) {
                continue;
            }
            let spot = spot(&all);
            let level = self.level_of_tether(&spot);
            if level >= least_level {
                sites.push(Site { index, unit: [offset_unit, slack_unit], downwind_m, spot, level });
            }
        }
        sites
    }

    fn level_of_tether(&mut self, spot: &Spot) -> f64 {
        self.rows.clear();
        self.rows_of_tether(spot);
        let tension_n = spot.points.0.drum_tension_n;
        let span = &self.free[2].span;
        let within = ((tension_n - span.lo).min(span.hi - tension_n) / (span.hi - span.lo)).min(1.0);
        tightest_level(&self.rows).map_or(within, |(level, _)| level.min(within))
    }

    fn rows_of_tether(&mut self, spot: &Spot) {
        if let Some(line) = self.system.line.as_deref()
            && self.system.limits_of_tether(line, &spot.points, spot.clearance_m, &mut self.rows).is_err()
        {
            self.rows.push(LimitRow::at_least(LimitCode::Clearance, -f64::MAX, 0.0, "m"));
        }
    }

    /// How a payload stands at a station of the lattice.
    pub(super) fn standing(&mut self, site: &Site, payload_kg: f64) -> Standing {
        self.rows.clear();
        let margin_w = self.load(payload_kg, site.downwind_m, &site.spot);
        let level = tightest_level(&self.rows).map_or(0.0, |(level, _)| level).min(site.level);
        match margin_w {
            Some(margin_w) => Standing { margin_w, level },
            None => Standing { margin_w: f64::NEG_INFINITY, level: level.min(0.0) - 1.0 },
        }
    }

    /// Adds the limits of vehicle and power to the rows; the power margin, W, where there is a balance.
    fn load(&mut self, payload_kg: f64, downwind_m: f64, spot: &Spot) -> Option<f64> {
        let system = &mut self.system;
        system.masses.payload_kg = payload_kg;
        let ground = self.table.ground();
        let position_m = nalgebra::Vector3::new(downwind_m, ground.crosswind_m, ground.height_m);
        let mass_kg = system.masses.total_kg();
        let acting =
            |stream, pull_n: [f64; 3]| Acting { mass_kg, position_m, stream, tether_pull_n: pull_n.into() };
        let in_mean = acting(&system.surroundings.mean, spot.points.0.force_on_vehicle_n);
        let in_gust = acting(&self.gust, spot.points.1.force_on_vehicle_n);
        let (mean, gust) = system.carry(&in_mean, &in_gust, &mut self.rows).ok()?;
        self.power(&mean?, gust.as_ref(), spot)
    }

    fn power(&mut self, mean: &Balanced, gust: Option<&Balanced>, spot: &Spot) -> Option<f64> {
        let Way::Light(light) = &self.system.way else { return None };
        let demand_w = self.system.craft.demand_w(mean) + self.system.payload_w;
        let speed_m_s = light.cooling_speed_m_s(mean.point.wake_m_s, mean.point.airspeed_m_s);
        let available_w = self.available.at(speed_m_s) * self.off.available_ratio;
        self.system.limits_of_power(available_w, demand_w, gust, &mut self.rows);
        let laser_w = self.off.laser_ratio * laser_w(light, demand_w / available_w.max(1e-9));
        let line = self.system.line.as_deref()?;
        let wound_m = (line.total_length_m - spot.points.0.paid_out_m).max(0.0);
        let drum_temp_c = self.system.drum_temp_c(light, laser_w, wound_m).ok()?;
        if let (Some(drum_temp_c), Some(coating_k)) = (drum_temp_c, light.route.coating_limit_k()) {
            let coating_c = coating_k - ZERO_CELSIUS_K;
            self.rows.push(LimitRow::at_most(LimitCode::DrumTemperature, drum_temp_c, coating_c, "°C"));
        }
        Some(available_w - demand_w)
    }

    /// Computes a station in full and puts table and curve right there.
    pub(super) fn put_right(&mut self, unit: &[f64]) {
        self.off = NOTHING_OFF;
        let (payload_kg, downwind_m) = (self.free[0].value_at(unit[0]), self.free[1].value_at(unit[1]));
        let Some(of_table) = self.table.between(downwind_m, unit[2]) else { return };
        self.system.masses.payload_kg = payload_kg;
        let place = self.table.ground().place(self.free, downwind_m, unit[2]);
        let Ok(hanging) = self.system.hang_for_search(&place, None) else { return };
        let (Hanging::Free(tethers), Ok(point)) = (&hanging, self.system.operate_on(&place, &hanging)) else {
            return;
        };
        let is = numbers(&tethers.points, tethers.clearance_m);
        for (off, (is, of_table)) in self.off.numbers.iter_mut().zip(is.iter().zip(&of_table)) {
            *off = is - of_table;
        }
        let (Some(vehicle), Some(available_w), Some(demand_w), Some(lit)) =
            (point.vehicle, point.available_w, point.demand_w, point.light)
        else {
            return;
        };
        let Way::Light(light) = &self.system.way else { return };
        let curve_w = self.available.at(light.cooling_speed_m_s(vehicle.wake_m_s, vehicle.airspeed_m_s));
        let laser_w = laser_w(light, demand_w / available_w.max(1e-9));
        if curve_w > 0.0 && laser_w > 0.0 {
            self.off.available_ratio = available_w / curve_w;
            self.off.laser_ratio = lit.laser_w / laser_w;
        }
    }

    /// Leaves the table as it was made. What the curve was off by at one station is about what it is at any.
    pub(super) fn put_back(&mut self) {
        self.off.numbers = NOTHING_OFF.numbers;
    }

    fn trial(&mut self, unit: &[f64], downwind_m: f64, spot: &Spot) -> Trial {
        let payload_kg = self.free[0].value_at(unit[0]);
        self.rows.clear();
        self.rows_of_tether(spot);
        let Some(margin_w) = self.load(payload_kg, downwind_m, spot) else {
            let level = tightest_level(&self.rows).map_or(0.0, |(level, _)| level.min(0.0));
            return Trial::missing(level - 1.0);
        };
        let tension_n = spot.points.0.drum_tension_n;
        let (mut margins, mut holds) = margins_of(&self.rows, Some((&self.free[2].span, tension_n)), None);
        if let Some(falls) = self.table.tension_falls_ratio(downwind_m, unit[2]) {
            margins[LimitCode::ALL.len()] = falls.min(1.0);
            holds &= falls >= 0.0;
        }
        let level = margins.iter().copied().fold(1.0, f64::min);
        let goal = match self.aim {
            Aim::Payload => payload_kg,
            Aim::Margin => margin_w,
        };
        Trial { goal, margins, level: if holds { level.max(0.0) } else { level.min(-1e-300) } }
    }
}

impl Problem for Loaded<'_> {
    fn evaluate(&mut self, unit: &[f64]) -> Trial {
        let downwind_m = self.free[1].value_at(unit[1]);
        let Some(mut all) = self.table.between(downwind_m, unit[2]) else {
            return Trial::missing(NOTHING_COMPUTED);
        };
        for (number, off) in all.iter_mut().zip(&self.off.numbers) {
            *number += off;
        }
        self.trial(unit, downwind_m, &spot(&all))
    }
}

/// Light of the laser, W, where a share of what it makes available is drawn.
fn laser_w(light: &Light, drawn_ratio: f64) -> f64 {
    light.laser.rated_optical_w
        * match light.control {
            LaserControl::DimmedToDemand => drawn_ratio.min(1.0),
            LaserControl::Steady => 1.0,
        }
}

/// Power available over the speed of the air that cools the receiver, for every payload of the map.
fn curve(system: &mut System, table: &Table, free: &[Free]) -> Option<MonotoneCubic> {
    let ground = table.ground();
    let fluid = system.surroundings.mean.fluid_at(ground.height_m);
    let mut speeds = (f64::INFINITY, f64::NEG_INFINITY);
    for payload_kg in [free[0].span.lo, free[0].span.hi] {
        system.masses.payload_kg = payload_kg;
        let place = ground.place(free, 0.0, 0.5);
        let acting = system.acting(&place, &system.surroundings.mean, None);
        let point = system.craft.balance(&acting).ok()?.point;
        let Way::Light(light) = &system.way else { return None };
        let speed_m_s = light.cooling_speed_m_s(point.wake_m_s, point.airspeed_m_s);
        speeds = (speeds.0.min(speed_m_s), speeds.1.max(speed_m_s));
    }
    let Way::Light(light) = &system.way else { return None };
    let path_ratio = light.route.fiber_path_ratio()?;
    let (from, to) = (0.8 * speeds.0, 1.5 * speeds.1 + 0.1);
    let at = |i: usize| from + (to - from) * i as f64 / (CURVE_COUNT - 1) as f64;
    let x: Vec<f64> = (0..CURVE_COUNT).map(at).collect();
    let y = x.iter().map(|speed_m_s| {
        let cooled = light.receiver.spec().sink.cooled_by(&fluid, *speed_m_s).ok()?;
        light.available_w(&cooled, path_ratio).ok()
    });
    let y = y.collect::<Option<Vec<f64>>>()?;
    MonotoneCubic::new(x, y).ok()
}
