//! A scenario made ready to be computed: every model built and checked once, units converted once.

pub mod copper;
pub mod craft;
pub mod light;
pub mod line;
pub mod route;
mod store;
pub mod surroundings;

use beamstay_electrical::{
    battery::Battery,
    converter::{Converter, ConverterSpec},
};
use beamstay_vehicle::RotorsLeft;
use nalgebra::Vector3;

use crate::{
    error::{At, PlanError},
    point::Masses,
    scenario::{Delivery, Limits, Part, Parts, Scenario, Station, Vehicle, Winch},
};
use copper::CopperWay;
use craft::Craft;
use light::Light;
use line::{LineUse, TetherLine};
use surroundings::Surroundings;

/// A scenario made ready to be computed.
#[derive(Debug, Clone)]
pub struct System {
    /// Flow of the site.
    pub surroundings: Surroundings,
    /// The vehicle.
    pub craft: Craft,
    /// What lost rotors leave, if the limits ask for that.
    pub rotors_left: Option<RotorsLeft>,
    /// The way of the power.
    pub way: Way,
    /// The tether, if the vehicle hangs on one.
    pub line: Option<Box<TetherLine>>,
    /// The battery, if there is one.
    pub battery: Option<Battery>,
    /// Masses in the air.
    pub masses: Masses,
    /// Electrical power of the payload, W.
    pub payload_w: f64,
    /// Wall power of the ground station beside laser and chiller, W.
    pub housekeeping_w: f64,
    /// The planner's own limits.
    pub limits: Limits,
    /// What the winch does in a gust.
    pub gust_response: crate::scenario::GustResponse,
}

/// The way of the power.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Way {
    /// Light, through a fiber or through the air.
    Light(Box<Light>),
    /// Current through a pair of wires.
    Copper(Box<CopperWay>),
    /// Nothing but the battery.
    Battery,
}

/// Where the vehicle is and what the winch holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Position over the drum exit, m: x downwind, y to its left, z up.
    pub position_m: Vector3<f64>,
    /// What the winch holds; none without a tether.
    pub winch: Option<Winch>,
}

impl System {
    /// Builds every model of a scenario.
    ///
    /// # Errors
    /// [`PlanError::Refused`] with the pointer of what does not fit.
    pub fn new(scenario: &Scenario) -> Result<Self, PlanError> {
        check_medium(scenario)?;
        if scenario.hazard.is_some()
            && !matches!(scenario.delivery, Delivery::Fiber(_) | Delivery::FreeBeam(_))
        {
            return Err(PlanError::excludes("/hazard", "\"hazard\"", "a delivery without light"));
        }
        let surroundings = surroundings(scenario)?;
        let craft = Craft::new(&scenario.vehicle)?;
        let line = tether_line(scenario, &craft)?;
        let way = way(scenario, &surroundings, line.as_ref())?;
        let battery = scenario.battery.as_ref().map(|b| store::battery(b, &scenario.limits)).transpose()?;
        let masses = masses(scenario, &way, battery.as_ref());
        Ok(Self {
            surroundings,
            rotors_left: craft.rotors_left(&scenario.limits, None),
            craft,
            way,
            line: line.map(Box::new),
            battery,
            masses,
            payload_w: scenario.payload.power_w,
            housekeeping_w: scenario.ground.housekeeping_w,
            limits: scenario.limits.clone(),
            gust_response: gust_response(scenario),
        })
    }

    /// Builds again what stands on `parts` of a scenario of the same kinds, and tells whether a tether hangs as before at the
    /// same place. After an error some models are of before and some of after: build a new system.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub(crate) fn renew(&mut self, scenario: &Scenario, parts: Parts) -> Result<bool, PlanError> {
        let mut hangs_alike = self.renew_surroundings(scenario, parts)?;
        if parts.any(&[Part::Vehicle]) {
            self.craft = Craft::new(&scenario.vehicle)?;
        }
        if parts.any(&[Part::Site, Part::Ground, Part::Delivery, Part::Limits]) {
            let line = tether_line(scenario, &self.craft)?.map(Box::new);
            hangs_alike &= hung(line.as_deref()) == hung(self.line.as_deref());
            self.line = line;
        }
        if parts.any(&[Part::Site, Part::Ground, Part::Delivery, Part::Receiver, Part::Limits]) {
            self.way = way(scenario, &self.surroundings, self.line.as_deref())?;
        }
        if parts.any(&[Part::Battery, Part::Limits]) {
            self.battery =
                scenario.battery.as_ref().map(|b| store::battery(b, &scenario.limits)).transpose()?;
        }
        if parts.any(&[Part::Limits]) {
            let may_lie = |limits: &Limits| limits.max_length_on_ground_m > 0.0;
            hangs_alike &= may_lie(&self.limits) == may_lie(&scenario.limits);
            self.limits = scenario.limits.clone();
        }
        if parts.any(&[Part::Vehicle, Part::Limits]) {
            self.rotors_left = self.craft.rotors_left(&self.limits, self.rotors_left);
        }
        self.masses = masses(scenario, &self.way, self.battery.as_ref());
        self.payload_w = scenario.payload.power_w;
        self.housekeeping_w = scenario.ground.housekeeping_w;
        Ok(hangs_alike)
    }

    /// The flow, and whether it is as before.
    fn renew_surroundings(&mut self, scenario: &Scenario, parts: Parts) -> Result<bool, PlanError> {
        if !parts.any(&[Part::Site, Part::Ground]) {
            return Ok(true);
        }
        let (surroundings, gust_response) = (surroundings(scenario)?, gust_response(scenario));
        let alike = surroundings == self.surroundings && gust_response == self.gust_response;
        (self.surroundings, self.gust_response) = (surroundings, gust_response);
        Ok(alike)
    }

    /// The place that a station names, seen from the drum exit.
    ///
    /// # Errors
    /// [`PlanError::Refused`] if a tether has no winch setting or a winch has no tether.
    pub fn place(&self, station: &Station) -> Result<Place, PlanError> {
        let tethered = self.line.is_some();
        match (tethered, station.winch) {
            (true, None) => return Err(PlanError::needs("/station", "a tether", "\"winch\" in station")),
            (false, Some(_)) => {
                return Err(PlanError::excludes(
                    "/station/winch",
                    "\"winch\" in station",
                    "a delivery without tether",
                ));
            }
            _ => {}
        }
        let position_m = Vector3::new(
            station.downwind_m,
            station.crosswind_m,
            station.height_m - self.surroundings.exit_height_m,
        );
        Ok(Place { position_m, winch: station.winch })
    }
}

/// What of a line decides how it hangs.
fn hung(line: Option<&TetherLine>) -> Option<(beamstay_tether::Line, f64, f64)> {
    line.map(|line| (line.line, line.ground_friction_ratio, line.glass_diameter_m))
}

/// The flow of the site as the drum exit has it.
fn surroundings(scenario: &Scenario) -> Result<Surroundings, PlanError> {
    let exit_height_m = match (&scenario.site.water, &scenario.ground.drum) {
        (None, Some(drum)) => drum.exit_height_m,
        _ => 0.0,
    };
    Surroundings::new(&scenario.site, exit_height_m)
}

/// What the winch does in a gust.
fn gust_response(scenario: &Scenario) -> crate::scenario::GustResponse {
    scenario.ground.drum.as_ref().map(|d| d.gust_response).unwrap_or_default()
}

fn check_medium(scenario: &Scenario) -> Result<(), PlanError> {
    match (&scenario.vehicle, &scenario.site.water) {
        (Vehicle::Underwater(_), None) => {
            Err(PlanError::needs("/vehicle/underwater", "an underwater vehicle", "\"water\" in site"))
        }
        (Vehicle::Multirotor(_) | Vehicle::FixedWing(_), Some(_)) => {
            Err(PlanError::excludes("/site/water", "\"water\" in site", "a vehicle that flies"))
        }
        (Vehicle::FixedWing(_), None)
            if matches!(scenario.delivery, Delivery::Fiber(_) | Delivery::Copper(_)) =>
        {
            Err(PlanError::excludes("/vehicle/fixed_wing", "a circling wing", "a tether"))
        }
        _ => Ok(()),
    }
}

/// The tether that the vehicle hangs on; none for a load that stands, whose line is laid.
fn tether_line(scenario: &Scenario, craft: &Craft) -> Result<Option<TetherLine>, PlanError> {
    if !craft.is_held() {
        return Ok(None);
    }
    let in_water = scenario.site.water.is_some();
    let (tether, pointer, usage) = match &scenario.delivery {
        Delivery::Fiber(fiber) => {
            let usage = LineUse {
                glass_diameter_m: 1e-6 * fiber.cladding_diameter_um,
                proof_stress_pa: 1e6 * fiber.proof_stress_mpa,
                total_length_m: fiber.total_length_m,
                in_water,
            };
            (&fiber.tether, "/delivery/fiber/tether", usage)
        }
        Delivery::Copper(copper) => {
            let usage = LineUse::without_glass(copper.total_length_m, in_water);
            (&copper.tether, "/delivery/copper/tether", usage)
        }
        Delivery::FreeBeam(_) | Delivery::None {} => return Ok(None),
    };
    let drum = scenario
        .ground
        .drum
        .as_ref()
        .ok_or_else(|| PlanError::needs("/ground", "a tether", "\"drum\" in ground"))?;
    TetherLine::new(tether, pointer, drum, &scenario.limits, usage).map(Some)
}

fn way(
    scenario: &Scenario,
    surroundings: &Surroundings,
    line: Option<&TetherLine>,
) -> Result<Way, PlanError> {
    match &scenario.delivery {
        Delivery::Fiber(fiber) => {
            Ok(Way::Light(Box::new(Light::through_fiber(scenario, fiber, line, surroundings)?)))
        }
        Delivery::FreeBeam(beam) => {
            Ok(Way::Light(Box::new(Light::through_air(scenario, beam, surroundings)?)))
        }
        Delivery::Copper(copper) => {
            let air_k = surroundings.ground_air.temperature_k;
            let elevation_m = scenario.site.elevation_m;
            Ok(Way::Copper(Box::new(CopperWay::new(copper, line, air_k, elevation_m)?)))
        }
        Delivery::None {} => Ok(Way::Battery),
    }
}

/// Largest power per mass that the converter model takes, W/kg.
const MOST_SPECIFIC_POWER_W_PER_KG: f64 = 1e6;

/// A converter on board from what the scenario says of it.
pub(crate) fn converter(spec: &crate::scenario::Converter, pointer: &str) -> Result<Converter, PlanError> {
    // The scenario gives the whole mass; the model splits it. This is the split with the least that grows.
    let growing_kg = (spec.rated_w / MOST_SPECIFIC_POWER_W_PER_KG).min(spec.mass_kg);
    Converter::new(ConverterSpec {
        rated_output_w: spec.rated_w,
        efficiency_at_rated_ratio: spec.efficiency_ratio,
        standby_w: spec.standby_w,
        fixed_mass_kg: spec.mass_kg - growing_kg,
        specific_power_w_per_kg: MOST_SPECIFIC_POWER_W_PER_KG,
        ..ConverterSpec::airborne(spec.rated_w)
    })
    .at(pointer)
}

fn masses(scenario: &Scenario, way: &Way, battery: Option<&Battery>) -> Masses {
    let empty_kg = match &scenario.vehicle {
        Vehicle::Multirotor(v) => v.empty_mass_kg,
        Vehicle::FixedWing(v) => v.empty_mass_kg,
        Vehicle::Underwater(v) => v.empty_mass_kg,
        Vehicle::FixedLoad(_) => 0.0,
    };
    Masses {
        empty_kg,
        payload_kg: scenario.payload.mass_kg,
        battery_kg: battery.map_or(0.0, Battery::mass_kg),
        receiver_kg: match way {
            Way::Light(light) => light.receiver_mass_kg(),
            Way::Copper(copper) => copper.airborne_mass_kg(),
            Way::Battery => 0.0,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_station_is_seen_from_the_drum_exit() {
        let text = include_str!("../../../scenarios/breakwater-lookout.json");
        let mut value: serde_json::Value = serde_json::from_str(text).unwrap();
        value["ground"]["drum"]["exit_height_m"] = 1.5.into();
        let scenario = crate::from_value(&value).unwrap();
        let system = System::new(&scenario).unwrap();
        // 100 m over the ground, 15 m downwind.
        assert_eq!(system.place(&scenario.station).unwrap().position_m, Vector3::new(15.0, 0.0, 98.5));
    }
}
