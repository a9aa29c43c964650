//! Scenarios to begin with: one for each kind of vehicle and way of the power that go together.

use serde_json::{Value, json};

use crate::args::{Kind, Way};

const BREAKWATER: &str = include_str!("../../../../../scenarios/breakwater-lookout.json");
const BEAM_HOVER: &str = include_str!("../../../../../scenarios/beam-hover.json");
const MARKET: &str = include_str!("../../../../../scenarios/harvest-market.json");
const LOITER: &str = include_str!("../../../../../scenarios/free-beam-loiter.json");
const INSPECTOR: &str = include_str!("../../../../../scenarios/reservoir-inspector.json");
const SENSOR: &str = include_str!("../../../../../scenarios/switchyard-sensor.json");

/// The scenario for a vehicle and a way of the power.
///
/// # Errors
/// Why the two do not go together, and what to try.
pub fn template(kind: Kind, way: Way) -> Result<String, &'static str> {
    match (kind, way) {
        (Kind::Multirotor, Way::Fiber) => Ok(BREAKWATER.into()),
        (Kind::Multirotor, Way::Beam) => Ok(BEAM_HOVER.into()),
        (Kind::Multirotor, Way::Copper) => Ok(MARKET.into()),
        (Kind::Multirotor, Way::None) => {
            composed("A multirotor on its battery alone", BREAKWATER, on_battery)
        }
        (Kind::FixedWing, Way::Beam) => Ok(LOITER.into()),
        (Kind::FixedWing, Way::None) => composed("A wing on its battery alone", LOITER, on_battery),
        (Kind::FixedWing, Way::Fiber | Way::Copper) => {
            Err("a circling wing winds up any line; try --delivery beam, or --delivery none")
        }
        (Kind::Underwater, Way::Fiber) => Ok(INSPECTOR.into()),
        (Kind::Underwater, Way::Copper) => composed("A swimmer on a pair of wires", INSPECTOR, |plan| {
            on_copper(plan, 0.5, 120);
        }),
        (Kind::Underwater, Way::None) => composed("A swimmer on its battery alone", INSPECTOR, on_battery),
        (Kind::Underwater, Way::Beam) => {
            Err("the models of a free beam are those of air, not of water; try --delivery fiber")
        }
        (Kind::Load, Way::Fiber) => Ok(SENSOR.into()),
        (Kind::Load, Way::Copper) => composed("A load that stands, on a pair of wires", SENSOR, |plan| {
            on_copper(plan, 0.2, 60);
        }),
        (Kind::Load, Way::Beam) => composed("A load that stands, lit by a beam", SENSOR, on_beam),
        (Kind::Load, Way::None) => composed("A load that stands, on its battery alone", SENSOR, on_battery),
    }
}

/// A shipped scenario with another way of the power.
fn composed(title: &str, base: &str, change: impl FnOnce(&mut Value)) -> Result<String, &'static str> {
    // The shipped scenarios are part of the program and tested as such.
    let mut plan = serde_json::from_str(base).unwrap_or(Value::Null);
    change(&mut plan);
    if let Some(object) = plan.as_object_mut() {
        // It speaks of parts that this plan does not have.
        object.shift_remove("uncertainty");
    }
    plan["title"] = title.into();
    plan["note"] = "A plan to begin with, our own invention: put your own numbers in place of these.".into();
    serde_json::to_string_pretty(&plan).map_err(|_| "the template cannot be written")
}

/// Takes away what only light and line need.
fn strip(plan: &mut Value) {
    for (part, keys) in
        [("", ["receiver", "delivery"]), ("/ground", ["laser", "drum"]), ("/station", ["winch", ""])]
    {
        if let Some(object) = plan.pointer_mut(part).and_then(Value::as_object_mut) {
            keys.iter().for_each(|key| {
                object.shift_remove(*key);
            });
        }
    }
}

fn on_battery(plan: &mut Value) {
    strip(plan);
    plan["delivery"] = json!({"none": {}});
    if plan["battery"].is_null() {
        plan["battery"] = json!({"series_count": 6, "capacity_ah": 10, "cell_resistance_mohm": 3});
    }
}

fn on_copper(plan: &mut Value, conductor_area_mm2: f64, total_length_m: u32) {
    let winch = plan["station"]["winch"].take();
    let drum = plan["ground"]["drum"].take();
    strip(plan);
    plan["delivery"] = part(MARKET, "delivery");
    let copper = &mut plan["delivery"]["copper"];
    copper["conductor_area_mm2"] = conductor_area_mm2.into();
    copper["total_length_m"] = total_length_m.into();
    if !winch.is_null() {
        plan["station"]["winch"] = winch;
        plan["ground"]["drum"] = drum;
    }
}

fn on_beam(plan: &mut Value) {
    strip(plan);
    plan["delivery"] = part(BEAM_HOVER, "delivery");
    plan["receiver"] = part(BEAM_HOVER, "receiver");
    plan["receiver"]["cooling"] = json!({"still": {}});
    plan["ground"]["laser"] = part(BEAM_HOVER, "ground")["laser"].take();
    plan["ground"]["laser"]["rated_w"] = 200.into();
}

fn part(scenario: &str, key: &str) -> Value {
    serde_json::from_str::<Value>(scenario).map(|mut plan| plan[key].take()).unwrap_or(Value::Null)
}
