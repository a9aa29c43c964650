//! The drill for the loss of light: from the instant it is lost to the vehicle on the ground, or not.
//!
//! The vehicle rides on its battery while the loss is noticed, comes down at the best rate that keeps clear of the vortex
//! ring state and of its own tether, and hovers a while for the landing. Each power is that of flight in the mean wind at
//! its height, never less than hover; the battery must also be able to give the power of the gust at its weakest moment.

mod battery;
mod cause;
mod descent;
mod reach;
mod ride;
mod unpowered;

use beamstay_electrical::Battery;
use beamstay_environment::flow::Flow;
use beamstay_tether::Shape;
use beamstay_vehicle::{Load, Multirotor, VehicleError};
use nalgebra::Vector3;
use serde::Serialize;

pub use battery::SmallestBattery;
pub use cause::CauseRow;
pub use descent::{BestRate, RateBound, RateRow};
pub use reach::{Reach, TetherReach};
pub use ride::{BatteryEnd, GaveUp, Leg, RideRow};

use crate::{
    Loaded,
    caution::cautions,
    digest::digest,
    document::Document,
    error::{At, PlanError},
    operate::Solved,
    point::OperatingPoint,
    scenario::Scenario,
    system::{
        Place, System,
        craft::{Craft, Wing},
        surroundings::Stream,
    },
};
use descent::Way;
use ride::ride;

/// What is done at a moment of the drill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Holds its place while the loss is noticed and the light is waited for.
    Hold,
    /// Comes down (of a swimmer: up).
    Descent,
    /// Hovers or circles for the landing.
    Landing,
}

/// How it ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Lands with everything that was asked for.
    Lands,
    /// Reaches the ground, but only on the part of the battery or of the landing time that was to stay untouched.
    LandsOnReserve,
    /// The battery ends in the air.
    Falls,
    /// No battery is on board.
    Lost,
    /// Comes to the surface by its own buoyancy.
    Floats,
    /// Sinks, and is held and hauled up by its tether.
    Hauled,
    /// Does not fly: it stands without power once its battery is empty.
    Stands,
}

impl Outcome {
    /// Whether the vehicle comes back as it should.
    pub fn is_safe(self) -> bool {
        matches!(self, Self::Lands | Self::Floats | Self::Hauled | Self::Stands)
    }

    /// In words, for a verdict.
    pub fn words(self) -> &'static str {
        match self {
            Self::Lands => "LANDS",
            Self::LandsOnReserve => "DOES NOT LAND SAFELY: it lands only on what was to stay untouched",
            Self::Falls => "DOES NOT LAND: IT FALLS",
            Self::Lost => "NO BATTERY: LOSS OF LIGHT IS LOSS OF THE AIRCRAFT",
            Self::Floats => "COMES UP BY ITSELF",
            Self::Hauled => "SINKS AND IS HAULED UP BY ITS TETHER",
            Self::Stands => "STANDS WITHOUT POWER",
        }
    }
}

/// One cause worked through.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drill {
    /// The cause.
    pub cause: CauseRow,
    /// How it ends.
    pub outcome: Outcome,
    /// Why it does not end well, in words; empty if it does.
    pub reason: String,
    /// Rate of descent, of a vehicle that flies.
    pub rate: Option<BestRate>,
    /// Whether the rotors are in the vortex ring state somewhere on the way: never planned, told if limits force it.
    pub in_vortex_ring: bool,
    /// Speed at which the winch must reel in so that the tether stays clear of the rotors, m/s; none without one to reel.
    pub reel_speed_m_s: Option<f64>,
    /// Time from the loss to the ground, landing hover included, s.
    pub time_s: f64,
    /// Energy that takes at the terminals of the battery, J.
    pub needed_j: f64,
    /// Energy that the battery gives at the mean of that power from the charge it starts with down to the part left untouched,
    /// J; 0 without a battery.
    pub usable_j: f64,
    /// Power of the gust, which the battery must give at its weakest moment, W.
    pub peak_w: f64,
    /// What it can give then, W.
    pub peak_available_w: f64,
    /// Charge at the end, over full.
    pub end_charge_ratio: Option<f64>,
    /// Charge to be left untouched.
    pub floor_ratio: Option<f64>,
    /// Lowest voltage at the terminals, V, and the lowest allowed.
    pub least_voltage_v: Option<f64>,
    /// Lowest voltage allowed, V.
    pub cutoff_v: Option<f64>,
    /// Where the battery gives up with nothing left untouched; none if it does not.
    pub gave_up: Option<GaveUp>,
    /// The stretches of time.
    pub legs: Vec<Leg>,
    /// The battery over time.
    pub rows: Vec<RideRow>,
    /// Energy drawn less energy of the legs, over the latter; 0 if it closes.
    pub energy_closure_ratio: f64,
    /// Where vehicle and tether can come down.
    pub reach: Reach,
}

/// The drill of a scenario.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightLossReport {
    /// Title of the scenario.
    pub title: String,
    /// Whether every cause ends well.
    pub safe: bool,
    /// The causes, the worst first.
    pub drills: Vec<Drill>,
    /// Time and energy over the rate of descent for the worst cause; empty for what does not hover.
    pub rates: Vec<RateRow>,
    /// The smallest battery with which every cause ends well; none if none does or none is needed.
    pub smallest_battery: Option<SmallestBattery>,
    /// Whether the operating point itself closes.
    pub point_closes: bool,
    /// Cautions, the gravest first.
    pub cautions: Vec<&'static str>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

impl LightLossReport {
    /// The worst cause.
    pub fn worst(&self) -> Option<&Drill> {
        self.drills.first()
    }
}

/// Works through the loss of light.
///
/// # Errors
/// [`PlanError`]: a delivery that cannot be lost, a cause that it does not have, parts that do not go together.
pub fn light_loss_report(document: &Document, loaded: &Loaded) -> Result<LightLossReport, PlanError> {
    let scenario = &loaded.scenario;
    let system = System::new(scenario)?;
    let place = system.place(&scenario.station)?;
    let solved = system.solve(&place, None)?;
    let gust = system.surroundings.gust_at(place.position_m.z)?;
    let scene = Scene { scenario, system: &system, place, solved: &solved, gust };
    let worked = scene.work_through()?;
    let mut drills: Vec<Drill> = worked.drills;
    drills.sort_by(|a, b| severity(b).total_cmp(&severity(a)));
    Ok(LightLossReport {
        title: scenario.title.clone(),
        safe: drills.iter().all(|drill| drill.outcome.is_safe()),
        rates: worked.rates,
        smallest_battery: worked.smallest,
        drills,
        point_closes: solved.point.feasible,
        cautions: cautions(scenario, &solved.point),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// How bad a drill ends; the larger, the worse.
fn severity(drill: &Drill) -> f64 {
    let rank = match drill.outcome {
        Outcome::Lost => 4.0,
        Outcome::Falls => 3.0,
        Outcome::LandsOnReserve => 2.0,
        _ => 1.0,
    };
    // Of equals, the one that takes most energy, then the one that lets most light out.
    1e9 * rank + drill.needed_j + 1e-6 * drill.cause.escaping_w
}

/// What the drill of one scenario works on.
struct Scene<'a> {
    scenario: &'a Scenario,
    system: &'a System,
    place: Place,
    solved: &'a Solved,
    gust: Stream,
}

/// The drills and what belongs to all of them.
struct Worked {
    drills: Vec<Drill>,
    rates: Vec<RateRow>,
    smallest: Option<SmallestBattery>,
}

/// A flight to the ground as powers over time.
struct Flight {
    legs: Vec<Leg>,
    peak_w: f64,
    rate: Option<BestRate>,
    in_vortex_ring: bool,
    reel_speed_m_s: Option<f64>,
}

/// A drill without its battery.
enum Prepared<'a> {
    /// Rotors: mass and rate can be tried again.
    Rotors { model: &'a Multirotor, way: Way },
    /// A wing.
    Wing(&'a Wing),
}

impl Scene<'_> {
    fn point(&self) -> &OperatingPoint {
        &self.solved.point
    }

    fn work_through(&self) -> Result<Worked, PlanError> {
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
    fn payload_w(&self) -> f64 {
        if self.scenario.light_loss.sheds_payload { 0.0 } else { self.system.payload_w }
    }

    /// Power drawn in the gust, as far as the point has a balance there, W.
    fn point_gust_w(&self) -> f64 {
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
    fn fly(&self, model: &Multirotor, way: &Way, mass_kg: f64) -> Result<Flight, VehicleError> {
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
    fn drill(&self, cause: &CauseRow, flight: Flight, battery: Option<&Battery>) -> Result<Drill, PlanError> {
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

    /// Rides the drill on a battery and says how it ends.
    fn judge(&self, drill: &mut Drill, battery: &Battery) -> Result<(), PlanError> {
        let verdict = judge(battery, self.scenario.light_loss.start_charge_ratio, &drill.legs, drill.peak_w)?;
        drill.outcome = verdict.outcome;
        drill.reason = verdict.reason;
        drill.peak_available_w = verdict.peak_available_w;
        drill.end_charge_ratio = Some(verdict.ride.end_charge_ratio);
        drill.floor_ratio = Some(battery.spec().floor_ratio);
        drill.least_voltage_v = Some(verdict.ride.least_voltage_v);
        drill.cutoff_v = Some(battery.spec().cutoff_v * f64::from(battery.spec().series_count));
        drill.gave_up = verdict.ride.gave_up;
        let asked_j: f64 = drill.legs.iter().map(|leg| leg.power_w * leg.duration_s).sum();
        if verdict.ride.gave_up.is_none() && asked_j > 0.0 {
            drill.energy_closure_ratio = (verdict.ride.delivered_j - asked_j).abs() / asked_j;
        }
        let closes_j = verdict.ride.delivered_j + verdict.ride.heat_j - verdict.ride.stored_j;
        drill.energy_closure_ratio =
            drill.energy_closure_ratio.max(closes_j.abs() / verdict.ride.stored_j.max(f64::MIN_POSITIVE));
        if drill.time_s > 0.0 && asked_j > 0.0 {
            let mean_w = (asked_j / drill.time_s).max(1e-6);
            let start = verdict.start_ratio;
            drill.usable_j = battery.usable_j(start, mean_w).at("/battery")?;
        }
        drill.rows = verdict.ride.rows;
        Ok(())
    }

    /// A drill of a vehicle that finds no balance on its way.
    fn without_balance(&self, cause: &CauseRow, error: &VehicleError) -> Result<Drill, PlanError> {
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

/// How a ride ends.
struct Verdict {
    outcome: Outcome,
    reason: String,
    ride: ride::Ride,
    start_ratio: f64,
    peak_available_w: f64,
}

/// Rides legs on a battery: first with what must stay untouched left alone, then, if that fails, with all it has.
fn judge(battery: &Battery, start_ratio: f64, legs: &[Leg], peak_w: f64) -> Result<Verdict, PlanError> {
    let start_ratio = start_ratio.min(battery.full_ratio());
    let whole = battery::emptied(battery)?;
    let kept = ride(battery, start_ratio, legs)?;
    let peak_available_w = whole.max_discharge_w(kept.end_charge_ratio);
    if kept.gave_up.is_none() {
        let enough = peak_available_w >= peak_w;
        let reason = if enough {
            String::new()
        } else {
            "at its weakest the battery cannot give the power of the gust".into()
        };
        let outcome = if enough { Outcome::Lands } else { Outcome::LandsOnReserve };
        return Ok(Verdict { outcome, reason, ride: kept, start_ratio, peak_available_w });
    }
    let all = ride(&whole, start_ratio, legs)?;
    let peak_available_w = whole.max_discharge_w(all.end_charge_ratio);
    let (outcome, reason) = match all.gave_up {
        Some(end) if end.height_m > 0.0 => (
            Outcome::Falls,
            format!("{} after {:.0} s, {:.0} m above ground", end.by.words(), end.time_s, end.height_m),
        ),
        Some(_) => (Outcome::LandsOnReserve, "the battery ends during the landing hover".to_owned()),
        None => (
            Outcome::LandsOnReserve,
            format!(
                "{:.0} % of the charge is left where {:.0} % were to stay untouched",
                100.0 * all.end_charge_ratio,
                100.0 * battery.spec().floor_ratio
            ),
        ),
    };
    Ok(Verdict { outcome, reason, ride: all, start_ratio, peak_available_w })
}

#[cfg(test)]
mod tests;
