//! Payloads on the tethers of one column: balance and power at any of its stations without hanging a tether. The power at the
//! bus is read from curves over the air that cools the receiver. A search on it finds where to look; what is told is
//! computed in full, see [`super::full`].

use beamstay_numerics::constants::ZERO_CELSIUS_K;

use super::{bundle::Shared, spot::Spot, supply::Supply, table::Table};
use crate::{
    System,
    limit::{LimitCode, LimitRow},
    optimise::{Problem, Trial},
    point::TetherPoint,
    scenario::Station,
    search::{Counter, Free, margins_of},
    study::{NOTHING_COMPUTED, tightest_level},
    system::{
        Way,
        craft::{Acting, Balanced},
        surroundings::Stream,
    },
};

/// What is looked for among stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// A large payload.
    Payload,
    /// A large power margin.
    Margin,
}

/// A loaded vehicle at a station.
#[derive(Debug, Clone, Copy)]
pub(super) struct Standing {
    /// Power margin, W.
    pub margin_w: f64,
    /// Level of the limits; not negative where all hold.
    pub level: f64,
    /// Whether a heavier payload would help: the limit nearest or most broken is one of a light vehicle in the wind.
    pub too_light: bool,
}

/// Limits that a heavier payload eases.
const LIGHT: [LimitCode; 4] =
    [LimitCode::AxialInflow, LimitCode::ShaftPower, LimitCode::Tilt, LimitCode::TiltInGust];

/// A place of the table.
#[derive(Debug, Clone)]
pub(super) struct Site {
    /// In steps of the net: elevation and tension at the drum.
    pub at: [f64; 2],
    downwind_m: f64,
    spot: Spot,
    /// Level of the tether alone.
    pub level: f64,
}

/// Drum tension over the tension at the vehicle below which a line is limp: it hangs all but alone from the vehicle, and takes long to
/// hang well.
const LIMP: f64 = 0.03;

/// Whether a line is limp.
pub(super) fn is_limp(point: &TetherPoint) -> bool {
    point.drum_tension_n < LIMP * point.top_tension_n
}

impl Site {
    /// Whether the line is limp.
    pub(super) fn is_limp(&self) -> bool {
        is_limp(&self.spot.points.0)
    }
}

/// The stations of one column under any payload.
#[derive(Debug, Clone)]
pub(super) struct Loaded<'a> {
    pub(super) system: System,
    pub(super) free: &'a [Free],
    pub(super) table: Table,
    pub(super) counter: &'a Counter,
    pub(super) gust: Stream,
    pub(super) supply: Supply,
    /// What the curve is off by at the station that was computed last, as a factor, and the same of the laser's setting.
    pub(super) off_ratios: (f64, f64),
    rows: Vec<LimitRow>,
    pub(super) aim: Aim,
}

impl<'a> Loaded<'a> {
    /// Hangs the tethers of a column; `free` are the payload, the offset and the drum tension. None where [`Table::hang`] has
    /// none, and for light that does not come through a fiber.
    pub(super) fn hang(
        mut system: System,
        station: &Station,
        free: &'a [Free],
        shared: &Shared,
        counter: &'a Counter,
    ) -> Option<Self> {
        let Way::Light(light) = &system.way else { return None };
        light.route.fiber_path_ratio()?;
        let place = system.place(station).ok()?;
        let gust = system.surroundings.gust_at(place.position_m.z).ok()?;
        system.masses.payload_kg = free[0].span.lo;
        let table = Table::hang(&system, &gust, &place, free, shared)?;
        let supply = Supply::new(&mut system, &table, free)?;
        let rows = Vec::with_capacity(48);
        Some(Self {
            system,
            free,
            table,
            counter,
            gust,
            supply,
            off_ratios: (1.0, 1.0),
            rows,
            aim: Aim::Margin,
        })
    }

    /// Bounds of a search: the payload between `payload`, and all of the table.
    pub(super) fn bounds(&self, payload: (f64, f64)) -> [(f64, f64); 3] {
        [payload, (0.0, 1.0), (0.0, 1.0)]
    }

    /// A payload of the map, kg.
    pub(super) fn payload_kg(&self, unit: f64) -> f64 {
        self.free[0].value_at(unit)
    }

    /// Places of the net whose tether alone stands no lower than `least_level`.
    pub(super) fn sites(&mut self, least_level: f64) -> Vec<Site> {
        let places = self.table.places();
        places.into_iter().filter_map(|at| self.site(at, least_level)).collect()
    }

    /// A place between those of the net, if its tether alone stands no lower than `least_level` and has no shorter one with its tension.
    pub(super) fn site(&mut self, at: [f64; 2], least_level: f64) -> Option<Site> {
        let (downwind_m, spot) = self.table.at(at)?;
        if spot.shrinking_ratio <= 0.0 {
            return None;
        }
        let level = self.level_of_tether(&spot).min(self.table.within(downwind_m));
        (level >= least_level).then_some(Site { at, downwind_m, spot, level })
    }

    /// A place, in steps of the net, of coordinates of offset and slack.
    pub(super) fn steps(&self, station: [f64; 2]) -> Option<[f64; 2]> {
        self.table.steps(self.free[1].value_at(station[0]), station[1])
    }

    /// Coordinates of offset and slack of a place, in steps of the net.
    pub(super) fn station(&self, at: [f64; 2]) -> Option<[f64; 2]> {
        let (downwind_m, slack_unit) = self.table.station(at)?;
        Some([self.free[1].unit(downwind_m)?.clamp(0.0, 1.0), slack_unit])
    }

    fn level_of_tether(&mut self, spot: &Spot) -> f64 {
        self.rows.clear();
        self.rows_of_tether(spot);
        let within = self.within(spot.points.0.drum_tension_n).min(spot.over_least_ratio);
        let within = within.min(self.above_ground(spot));
        tightest_level(&self.rows).map_or(within, |(level, _)| level.min(within))
    }

    /// How far no part of a line reaches the ground, of the height of the drum exit and a metre.
    fn above_ground(&self, spot: &Spot) -> f64 {
        let (mean, gust) = &spot.points;
        mean.lowest_point_m.min(gust.lowest_point_m) / (self.system.surroundings.exit_height_m + 1.0)
    }

    /// How far a drum tension is within its bounds, of the distance between them.
    pub(super) fn within(&self, tension_n: f64) -> f64 {
        let span = &self.free[2].span;
        ((tension_n - span.lo).min(span.hi - tension_n) / (span.hi - span.lo)).min(1.0)
    }

    fn rows_of_tether(&mut self, spot: &Spot) {
        if let Some(line) = self.system.line.as_deref()
            && self.system.limits_of_tether(line, &spot.points, spot.clearance_m, &mut self.rows).is_err()
        {
            self.rows.push(LimitRow::at_least(LimitCode::Clearance, -f64::MAX, 0.0, "m"));
        }
    }

    /// How a payload stands at a place.
    pub(super) fn standing(&mut self, site: &Site, payload_kg: f64) -> Standing {
        self.rows.clear();
        let margin_w = self.load(payload_kg, site.downwind_m, &site.spot);
        let tightest = tightest_level(&self.rows);
        let too_light = tightest.is_some_and(|(level, code)| level < site.level && LIGHT.contains(&code));
        let level = tightest.map_or(0.0, |(level, _)| level).min(site.level);
        match margin_w {
            Some(margin_w) => Standing { margin_w, level, too_light },
            None => Standing { margin_w: f64::NEG_INFINITY, level: level.min(0.0) - 1.0, too_light },
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
        let available_w = self.supply.available_w(speed_m_s) * self.off_ratios.0;
        self.system.limits_of_power(available_w, demand_w, gust, &mut self.rows);
        let laser_w = self.off_ratios.1 * self.supply.laser_w(speed_m_s, demand_w / available_w.max(1e-9));
        let line = self.system.line.as_deref()?;
        let wound_m = (line.total_length_m - spot.points.0.paid_out_m).max(0.0);
        let drum_temp_c = self.system.drum_temp_c(light, laser_w, wound_m).ok()?;
        if let (Some(drum_temp_c), Some(coating_k)) = (drum_temp_c, light.route.coating_limit_k()) {
            let coating_c = coating_k - ZERO_CELSIUS_K;
            self.rows.push(LimitRow::at_most(LimitCode::DrumTemperature, drum_temp_c, coating_c, "°C"));
        }
        Some(available_w - demand_w)
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
        let span = &self.free[2].span;
        let (mut margins, mut holds) = margins_of(&self.rows, Some(((span.lo, span.hi), tension_n)), None);
        margins[LimitCode::ALL.len()] = spot.shrinking_ratio;
        margins[LimitCode::DrumTension as usize] = spot.over_least_ratio.min(1.0);
        margins[LimitCode::DrumElevation as usize] =
            spot.above_ratio(self.system.limits.min_drum_elevation_deg);
        margins[LimitCode::LineOnGround as usize] = self.above_ground(spot);
        // No limit else tells how far the vehicle may stand away.
        let within = self.table.within(downwind_m);
        margins[LimitCode::TetherReach as usize] = within.min(1.0);
        holds &= self.above_ground(spot) >= 0.0;
        holds &= spot.shrinking_ratio >= 0.0 && spot.over_least_ratio >= 0.0 && within >= 0.0;
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
        match self.table.at(self.table.place([unit[1], unit[2]])) {
            Some((downwind_m, spot)) => self.trial(unit, downwind_m, &spot),
            None => Trial::missing(NOTHING_COMPUTED),
        }
    }
}
