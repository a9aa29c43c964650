//! Stations of a column computed in full: what is told of a map, and what puts its table right.

use beamstay_tether::{Options, Shape};
use nalgebra::Vector3;

use super::{RegionCell, loaded::Loaded, table::InGust};
use crate::{
    hang,
    limit::{LimitCode, LimitRow},
    operate::{Alone, Hanging},
    point::OperatingPoint,
    scenario::Winch,
    study::{NOTHING_COMPUTED, standing_of},
    system::{Place, Way, surroundings::Stream},
};

/// Share of a limit by which it may be broken where a drum tension is held instead of a length, for rounding: a station on
/// several limits that is hung anew by its tension.
const ROUNDING: f64 = 5e-6;

/// Drum tension over the least in the gust, less 1, within which the least itself has to be looked for.
const NEXT_TO_LEAST: f64 = 2e-3;
/// Lines that are hung on the way to a drum tension.
const STEPS: usize = 8;
/// Share of a drum tension to which it is held.
const HELD: f64 = 1e-8;
/// Longest step on the way, in coordinates of the slack.
const FARTHEST: f64 = 0.05;

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
    fn drum_tension_n(&self) -> Option<f64> {
        self.hanging.tethers().map(|tethers| tethers.points.0.drum_tension_n)
    }
}

impl Loaded<'_> {
    /// Hangs a station.
    pub(super) fn full(&mut self, station: [f64; 2]) -> Option<Full> {
        let downwind_m = self.free[1].value_at(station[0]);
        let place = self.table.ground().place(self.free, downwind_m, station[1]);
        let hanging = self.hang_near(station).or_else(|| self.system.hang_for_search(&place, None).ok())?;
        Some(Full { station, place, hanging })
    }

    /// Hangs a station from what the table has of it. None where that does not lead to it.
    pub(super) fn hang_near(&self, station: [f64; 2]) -> Option<Hanging> {
        let downwind_m = self.free[1].value_at(station[0]);
        let (position_m, paid_out_m) = self.table.ground().line(self.free, downwind_m, station[1]);
        let mean = self.hang_well(&self.system.surroundings.mean, (position_m, paid_out_m), None)?;
        match hang::winch_in_gust(self.system.gust_response, &mean.shape) {
            Winch::PaidOut { paid_out_m } => {
                let gust = self.hang_well(&self.gust, (position_m, paid_out_m), Some(&mean.shape))?;
                Some(mean.with_gust(gust))
            }
            Winch::DrumTension { drum_tension_n } => {
                let near = self.table.held_in_gust(downwind_m, drum_tension_n)?;
                if near.over_least_ratio < -NEXT_TO_LEAST {
                    let least_n = near.least_n;
                    let row = LimitRow::at_least(LimitCode::DrumTension, drum_tension_n, least_n, "N");
                    return Some(Hanging::Broken(row));
                }
                let gust = self.held_in_gust(downwind_m, drum_tension_n, &near)?;
                Some(mean.with_gust(gust))
            }
        }
    }

    /// Hangs a line as well as any that is told, if the quick sweeps reach it.
    fn hang_well(&self, stream: &Stream, line: (Vector3<f64>, f64), warm: Option<&Shape>) -> Option<Alone> {
        let options = Options { most_evaluations_count: 0, ..Options::default() };
        self.system.hang_alone(stream, line.0, line.1, &options, warm)
    }

    /// The line in the gust with a drum tension, from the one that the table has: every length hangs, so it is found by its length.
    fn held_in_gust(&self, downwind_m: f64, drum_tension_n: f64, near: &InGust) -> Option<Alone> {
        if near.over_least_ratio < NEXT_TO_LEAST {
            return None;
        }
        let mut before: Option<(f64, f64)> = None;
        let mut at = near.slack_unit;
        let mut warm: Option<Alone> = None;
        for _ in 0..STEPS {
            let line = self.table.ground().line(self.free, downwind_m, at);
            let alone = self.hang_well(&self.gust, line, warm.as_ref().map(|alone| alone.shape.as_ref()))?;
            let over_ratio = (alone.point.drum_tension_n / drum_tension_n).ln();
            if over_ratio.abs() <= HELD {
                return Some(alone);
            }
            // A taut line has a tension that falls with the root of its slack; then by the straight through the last two.
            let slope = match before {
                Some((at_before, over_before)) => (over_ratio - over_before) / (at - at_before),
                None => near.falls_by,
            };
            before = Some((at, over_ratio));
            at -= (over_ratio / slope.min(-1e-3)).clamp(-FARTHEST, FARTHEST);
            warm = Some(alone);
        }
        None
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
        let Some(drum_tension_n) = full.drum_tension_n() else { return false };
        let winch = Some(Winch::DrumTension { drum_tension_n });
        let place = Place { winch, ..full.place };
        let Ok(hanging) = self.system.hang_for_search(&place, None) else { return false };
        let held = Full { station: full.station, place, hanging };
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
