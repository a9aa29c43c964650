//! Stations of a column computed in full: what is told of a map, and what puts its table right.

use beamstay_tether::Near;

use super::{
    RegionCell,
    loaded::{Loaded, is_limp},
};
use crate::{
    hang,
    limit::LimitCode,
    operate::{Alone, Hanging},
    point::{OperatingPoint, TetherPoint},
    scenario::Winch,
    study::{NOTHING_COMPUTED, standing_of},
    system::{Place, Way, surroundings::Stream},
};

/// Share of a limit by which it may be broken where a drum tension is held instead of a length, for rounding: a station on
/// several limits that is hung anew by its tension.
const ROUNDING: f64 = 5e-6;

/// A station whose tether hangs.
#[derive(Debug, Clone)]
pub(super) struct Full {
    /// Coordinates of offset and slack.
    pub station: [f64; 2],
    place: Place,
    hanging: Hanging,
}

/// A payload at a station.
#[derive(Debug, Clone)]
pub(super) struct Told {
    /// Coordinates of payload, offset and slack.
    pub unit: Vec<f64>,
    /// Level of the limits, not negative where all hold.
    pub level: f64,
    /// As it is handed out.
    pub cell: RegionCell,
}

impl Told {
    /// Whether this one closes with more margin, or stands nearer to it.
    pub(super) fn beats(&self, other: &Self) -> bool {
        match (self.cell.feasible, other.cell.feasible) {
            (true, true) => self.cell.margin_w > other.cell.margin_w,
            (false, false) => self.level > other.level,
            (mine, _) => mine,
        }
    }
}

impl Full {
    /// The tethers in mean wind and gust, if they hang.
    pub(super) fn points(&self) -> Option<&(TetherPoint, TetherPoint)> {
        self.hanging.tethers().map(|tethers| &tethers.points)
    }

    fn drum_tension_n(&self) -> Option<f64> {
        self.points().map(|points| points.0.drum_tension_n)
    }
}

impl Loaded<'_> {
    /// Hangs a station from what the table has of it. None where the table has nothing, and where the winch holds a tension in the gust
    /// with which none hangs.
    pub(super) fn full(&mut self, station: [f64; 2]) -> Option<Full> {
        let place = self.place(station);
        let (_, spot) = self.table.at(self.table.steps(place.position_m.x, station[1])?)?;
        let mean = self.hang_well(&self.system.surroundings.mean, &place, place.winch?, &spot.points.0);
        let Some(mean) = mean else { return self.searched_for(station) };
        let winch = hang::winch_in_gust(self.system.gust_response, &mean.shape);
        match (self.hang_well(&self.gust, &place, winch, &spot.points.1), winch) {
            (Some(gust), _) => Some(Full { station, place, hanging: mean.with_gust(gust) }),
            (None, Winch::PaidOut { .. }) => self.searched_for(station),
            (None, Winch::DrumTension { .. }) => None,
        }
    }

    /// The same without what the table has, which takes long; where it does not hang, with the row that says why.
    pub(super) fn searched_for(&self, station: [f64; 2]) -> Option<Full> {
        let place = self.place(station);
        Some(Full { station, place, hanging: self.system.hang_for_search(&place, None).ok()? })
    }

    fn place(&self, station: [f64; 2]) -> Place {
        self.table.ground().place(self.free, self.free[1].value_at(station[0]), station[1])
    }

    /// Hangs a line as well as any that is told, from one nearby.
    fn hang_well(&self, stream: &Stream, place: &Place, winch: Winch, near: &TetherPoint) -> Option<Alone> {
        let is_limp = is_limp(near);
        let near = Near { drum_force_n: near.force_at_drum_n.into(), paid_out_m: near.paid_out_m };
        self.system.hang_alone_near(stream, place.position_m, winch, &near, is_limp)
    }

    /// Hangs a station once more with the drum tension of its line held.
    fn hang_held(&self, full: &Full) -> Option<Hanging> {
        let (mean, gust) = &full.hanging.tethers()?.points;
        let winch = Winch::DrumTension { drum_tension_n: mean.drum_tension_n };
        let mean = self.hang_well(&self.system.surroundings.mean, &full.place, winch, mean)?;
        let winch = hang::winch_in_gust(self.system.gust_response, &mean.shape);
        Some(mean.with_gust(self.hang_well(&self.gust, &full.place, winch, gust)?))
    }

    fn point(&mut self, full: &Full, payload: f64) -> Option<OperatingPoint> {
        self.system.masses.payload_kg = self.payload_kg(payload);
        self.counter.count_one();
        self.system.operate_on(&full.place, &full.hanging).ok()
    }

    /// Level of a payload at a station.
    pub(super) fn level(&mut self, full: &Full, payload: f64) -> f64 {
        let point = self.point(full, payload);
        self.level_of(full, point.as_ref())
    }

    fn level_of(&self, full: &Full, point: Option<&OperatingPoint>) -> f64 {
        let Some(point) = point else { return NOTHING_COMPUTED };
        let level = standing_of(point).level;
        let within = full.drum_tension_n().map_or(0.0, |tension_n| self.within(tension_n));
        // A drum tension beyond its bounds is no plan that may be told.
        if within < 0.0 { level.min(within) } else { level }
    }

    /// A payload at a station as it is handed out.
    pub(super) fn told(&mut self, full: &Full, payload: f64) -> Told {
        let point = self.point(full, payload);
        let level = self.level_of(full, point.as_ref());
        let standing = point.as_ref().map(standing_of);
        let tension_n = full.drum_tension_n().unwrap_or(self.free[2].span.lo);
        let cell = RegionCell {
            feasible: level >= 0.0 && point.as_ref().is_some_and(|p| p.feasible),
            margin_w: point.as_ref().and_then(|p| p.margin_w),
            margin_ratio: standing.map_or(NOTHING_COMPUTED, |s| s.level),
            tightest: standing.and_then(|s| s.code),
            station: vec![full.place.position_m.x, tension_n],
        };
        Told { unit: vec![payload, full.station[0], full.station[1]], level, cell }
    }

    /// Whether a station closes when the winch holds the drum tension of its line: of two lengths with one tension it has the
    /// shorter.
    pub(super) fn closes_held(&mut self, full: &Full, payload: f64) -> bool {
        if self.table.is_surely_short(full.place.position_m.x, full.station[1]) {
            return true;
        }
        let Some(hanging) = self.hang_held(full) else { return false };
        let held = Full { station: full.station, place: full.place, hanging };
        self.level(&held, payload) >= -ROUNDING
    }

    /// The limit that breaks first beyond a payload.
    pub(super) fn limit_beyond(&mut self, full: &Full, payload: f64) -> Option<LimitCode> {
        standing_of(&self.point(full, payload)?).code
    }

    /// Puts the table right at a place by what hangs there, and the curve of available power by a payload there.
    pub(super) fn put_right(&mut self, full: &Full, at: [f64; 2], payload: f64) {
        if let Some(tethers) = full.hanging.tethers() {
            self.table.put_right(at, &tethers.points, tethers.clearance_m);
        }
        self.off_ratios = self.ratios(full, payload).unwrap_or(self.off_ratios);
    }

    /// Takes the table as it was.
    pub(super) fn put_back(&mut self) {
        self.table.put_back();
    }

    /// What the curve of available power and the laser's setting are off by, as factors.
    fn ratios(&mut self, full: &Full, payload: f64) -> Option<(f64, f64)> {
        let point = self.point(full, payload)?;
        let (vehicle, available_w, demand_w) = (point.vehicle?, point.available_w?, point.demand_w?);
        let lit = point.light?;
        let Way::Light(light) = &self.system.way else { return None };
        let speed_m_s = light.cooling_speed_m_s(vehicle.wake_m_s, vehicle.airspeed_m_s);
        let curve_w = self.supply.available_w(speed_m_s);
        let setting_w = self.supply.laser_w(speed_m_s, demand_w / available_w.max(1e-9));
        (curve_w > 0.0 && setting_w > 0.0).then(|| (available_w / curve_w, lit.laser_w / setting_w))
    }
}
