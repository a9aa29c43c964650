//! The cautions that belong to every result. They are part of the figures, not decoration.

use crate::{
    point::OperatingPoint,
    scenario::{Delivery, Scenario, Vehicle},
};

const PLANNING: &str = "Planning figures only. The laser safety officer, the aviation authority, local codes and licensed practice decide.";
const LASER: &str = "Class 4 laser: direct, reflected and scattered light burns and blinds, also where it is invisible. A broken fiber end is a source.";
const LASER_IN_AIR: &str =
    "Class 4 laser: direct, reflected and scattered light burns and blinds, also where it is invisible.";
const BEAM: &str = "A free beam endangers people, aircraft and satellites in, beside and far behind it.";
const AIRCRAFT: &str =
    "A falling aircraft kills. Keep people out from under it and from where wind can carry it.";
const TETHER: &str = "A cut or reeling tether whips, cuts and falls; keep people and wires out of its reach.";
const NO_BATTERY: &str = "NO BATTERY: loss of power is loss of the aircraft.";
const BATTERY: &str = "Batteries burn when crushed, cold-charged or overloaded.";
const HIGH_VOLTAGE: &str = "High voltage on the line and the drum kills; lightning finds a wire.";

const FUSE: &str = "The core carries more than 1 MW/cm² (10 kW/mm²), where fuses have been seen to run through fiber, started by dirt or a tight bend (Kurokawa 2012): clean faces, and a detector that trips the laser.";
/// Mean core intensity from which on [`FUSE`] is said, W/mm².
const FUSE_W_PER_MM2: f64 = 1e4;

/// The cautions that belong to the light alone.
pub(crate) fn of_light(scenario: &Scenario) -> Vec<&'static str> {
    match scenario.delivery {
        Delivery::Fiber(_) => vec![LASER],
        Delivery::FreeBeam(_) => vec![LASER_IN_AIR, BEAM],
        Delivery::Copper(_) | Delivery::None {} => Vec::new(),
    }
}

/// The cautions for a scenario and its point, the gravest first.
pub fn cautions(scenario: &Scenario, point: &OperatingPoint) -> Vec<&'static str> {
    let flies = matches!(scenario.vehicle, Vehicle::Multirotor(_) | Vehicle::FixedWing(_));
    let mut list = Vec::new();
    if flies && scenario.battery.is_none() {
        list.push(NO_BATTERY);
    }
    match scenario.delivery {
        Delivery::Fiber(_) => list.extend([LASER, TETHER]),
        Delivery::FreeBeam(_) => list.extend(of_light(scenario)),
        Delivery::Copper(_) => list.extend([HIGH_VOLTAGE, TETHER]),
        Delivery::None {} => {}
    }
    if point
        .light
        .as_ref()
        .and_then(|light| light.core_intensity_w_per_mm2)
        .is_some_and(|i| i > FUSE_W_PER_MM2)
    {
        list.push(FUSE);
    }
    if flies {
        list.push(AIRCRAFT);
    }
    if scenario.battery.is_some() {
        list.push(BATTERY);
    }
    list.push(PLANNING);
    list
}
