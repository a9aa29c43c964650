//! The drill of one scenario worked through: the causes, and for each the flight to the ground.

use beamstay_electrical::Battery;
use beamstay_environment::flow::Flow;
use beamstay_tether::Shape;
use beamstay_vehicle::{Load, Multirotor, VehicleError};
use nalgebra::Vector3;

use super::{
    BestRate, CauseRow, Drill, Leg, Outcome, Phase, RateRow, SmallestBattery, cause, descent::Way, severity,
};
use crate::{
    error::PlanError,
    operate::Solved,
    point::OperatingPoint,
    scenario::Scenario,
    system::{
        Place, System,
        craft::{Craft, Wing},
        surroundings::Stream,
    },
};

/// What the drill of one scenario works on.
pub(super) struct Scene<'a> {
    pub scenario: &'a Scenario,
    pub system: &'a System,
    pub place: Place,
    pub solved: &'a Solved,
    pub gust: Stream,
}

/// The drills and what belongs to all of them.
pub(super) struct Worked {
    pub drills: Vec<Drill>,
    pub rates: Vec<RateRow>,
    pub smallest: Option<SmallestBattery>,
}

/// A flight to the ground as powers over time.
pub(super) struct Flight {
    pub legs: Vec<Leg>,
    pub peak_w: f64,
    pub rate: Option<BestRate>,
    pub in_vortex_ring: bool,
    pub reel_speed_m_s: Option<f64>,
}

/// A drill without its battery.
pub(super) enum Prepared<'a> {
    /// Rotors: mass and rate can be tried again.
    Rotors { model: &'a Multirotor, way: Way },
    /// A wing.
    Wing(&'a Wing),
}

impl Scene<'_> {
    pub(super) fn point(&self) -> &OperatingPoint {
        &self.solved.point
    }

    pub(super) fn work_through(&self) -> Result<Worked, PlanError> {
        let causes = cause::causes(self.scenario, self.system, self.point())?;
        let mut worked = Worked { drills: Vec::new(), rates: Vec::new(), smallest: None };
        let mut prepared = Vec::with_capacity(causes.len());
        for cause in &causes {
            let (drill, way) = match &self.system.craft {
                Craft::Multirotor(model) => self.rotors(cause, model)?,
                Craft::FixedWing(wing) => self.wing(cause, wing)?,
                Craft::Underwater(_) | Craft::FixedLoad(_) => (self.unpowered(cause)?, None),
            };
            worked.drills.push(drill);
            prepared.extend(way);
        }
        if let Craft::Multirotor(model) = &self.system.craft {
            worked.rates = self.rates(model, &prepared, &worked.drills);
        }
        worked.smallest = self.smallest_battery(&prepared)?;
        Ok(worked)
    }

    /// Power of the payload on the way down, W.
    pub(super) fn payload_w(&self) -> f64 {
        if self.scenario.light_loss.sheds_payload { 0.0 } else { self.system.payload_w }
    }

    /// Power drawn in the gust, as far as the point has a balance there, W.
    pub(super) fn point_gust_w(&self) -> f64 {
        let point = self.point();
        let gust = point.vehicle_in_gust.map(|v| v.electrical_w + v.avionics_w + self.system.payload_w);
        gust.or(point.demand_w).unwrap_or(0.0).max(point.demand_w.unwrap_or(0.0))
    }

    fn rotors<'a>(
        &'a self,
        cause: &CauseRow,
        model: &'a Multirotor,
    ) -> Result<(Drill, Option<Prepared<'a>>), PlanError> {
        let hanging = cause.hanging(self.system.line.is_some());
        let way = Way::new(self.system, &self.place, self.solved.shape.as_deref(), hanging)?;
        let flight = self.fly(model, &way, self.system.masses.total_kg());
        let drill = match flight {
            Ok(flight) => self.drill(cause, flight, self.system.battery.as_ref())?,
            Err(error) => self.without_balance(cause, &error)?,
        };
        Ok((drill, Some(Prepared::Rotors { model, way })))
    }

    /// The way down with a mass in the air.
    pub(super) fn fly(&self, model: &Multirotor, way: &Way, mass_kg: f64) -> Result<Flight, VehicleError> {
        let rules = &self.scenario.light_loss;
        let max_reel_m_s = self.scenario.ground.drum.as_ref().and_then(|d| d.max_reel_speed_m_s);
        let best = way.best_rate(model, mass_kg, rules, max_reel_m_s)?;
        let (down, in_vortex_ring) = way.legs(model, mass_kg, best.rate_m_s, self.payload_w())?;
        let hold_w = self.hold_w(model, mass_kg)?;
        let mut legs = vec![Leg {
            phase: Phase::Hold,
            duration_s: rules.decision_time_s,
            power_w: hold_w,
            from_height_m: way.height_m,
            to_height_m: way.height_m,
        }];
        legs.extend(down);
        legs.push(Leg {
            phase: Phase::Landing,
            duration_s: rules.landing_hover_s,
            power_w: way.landing_w(model, mass_kg)? + self.payload_w(),
            from_height_m: 0.0,
            to_height_m: 0.0,
        });
        let most_w = legs.iter().map(|leg| leg.power_w).fold(0.0, f64::max);
        Ok(Flight {
            peak_w: most_w.max(self.gust_w(model, mass_kg)?),
            legs,
            rate: Some(best),
            in_vortex_ring,
            reel_speed_m_s: (way.reel_ratio > 0.0).then_some(way.reel_ratio * best.rate_m_s),
        })
    }

    /// Power at the station with a mass in the air, W, payload included: the light may come back, so the payload stays on.
    fn hold_w(&self, model: &Multirotor, mass_kg: f64) -> Result<f64, VehicleError> {
        self.trim_w(model, mass_kg, &self.system.surroundings.mean, self.solved.shape.as_deref())
    }

    /// Power at the station in the gust with a mass in the air, W, payload included.
    fn gust_w(&self, model: &Multirotor, mass_kg: f64) -> Result<f64, VehicleError> {
        self.trim_w(model, mass_kg, &self.gust, self.solved.shape_in_gust.as_deref())
    }

    fn trim_w(
        &self,
        model: &Multirotor,
        mass_kg: f64,
        stream: &Stream,
        shape: Option<&Shape>,
    ) -> Result<f64, VehicleError> {
        let z_m = self.place.position_m.z;
        let load = Load::hover(mass_kg)
            .with_external_force(shape.map_or(Vector3::zeros(), Shape::force_on_vehicle_n))
            .with_wind(stream.at(z_m).velocity_m_s);
        Ok(model.trim_beyond_limits(&load, &stream.fluid_at(z_m))?.demand_w + self.system.payload_w)
    }

    /// A drill from a flight and a battery.
    pub(super) fn drill(
        &self,
        cause: &CauseRow,
        flight: Flight,
        battery: Option<&Battery>,
    ) -> Result<Drill, PlanError> {
        let reach = self.reach(cause)?;
        let time_s = flight.legs.iter().map(|leg| leg.duration_s).sum();
        let needed_j: f64 = flight.legs.iter().map(|leg| leg.power_w * leg.duration_s).sum();
        let mut drill = Drill {
            cause: cause.clone(),
            outcome: Outcome::Lost,
            reason: String::new(),
            rate: flight.rate,
            in_vortex_ring: flight.in_vortex_ring,
            reel_speed_m_s: flight.reel_speed_m_s,
            time_s,
            needed_j,
            usable_j: 0.0,
            peak_w: flight.peak_w,
            peak_available_w: 0.0,
            end_charge_ratio: None,
            floor_ratio: None,
            least_voltage_v: None,
            cutoff_v: None,
            gave_up: None,
            legs: flight.legs,
            rows: Vec::new(),
            energy_closure_ratio: 0.0,
            reach,
        };
        match battery {
            Some(battery) => self.judge(&mut drill, battery)?,
            None => drill.reason = "nothing on board gives power once the light is gone".into(),
        }
        Ok(drill)
    }

    /// A drill of a vehicle that finds no balance on its way.
    pub(super) fn without_balance(&self, cause: &CauseRow, error: &VehicleError) -> Result<Drill, PlanError> {
        let flight = Flight {
            legs: Vec::new(),
            peak_w: self.point_gust_w(),
            rate: None,
            in_vortex_ring: false,
            reel_speed_m_s: None,
        };
        let mut drill = self.drill(cause, flight, None)?;
        if self.system.battery.is_some() {
            drill.outcome = Outcome::Falls;
            drill.reason = format!("it finds no balance on the way down: {error}");
        }
        Ok(drill)
    }

    fn rates(&self, model: &Multirotor, prepared: &[Prepared<'_>], drills: &[Drill]) -> Vec<RateRow> {
        let worst = (0..drills.len()).max_by(|a, b| severity(&drills[*a]).total_cmp(&severity(&drills[*b])));
        match worst.and_then(|i| prepared.get(i).zip(drills[i].rate)) {
            Some((Prepared::Rotors { way, .. }, rate)) => {
                way.curve(model, self.system.masses.total_kg(), self.payload_w(), rate.vortex_ring_from_m_s)
            }
            _ => Vec::new(),
        }
    }
}
