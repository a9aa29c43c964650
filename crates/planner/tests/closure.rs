//! Properties of the whole operating point over random scenarios: forces and energy close, nothing is NaN, and more of a
//! good thing never hurts where physics says so.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_numerics::random::Random;
use beamstay_planner::{
    Document, OperatingPoint, PlanError, System, from_value, limit::LimitCode, load, schema,
};
use rayon::prelude::*;
use serde_json::{Value, json};

const BASE: &str = include_str!("../../../scenarios/breakwater-lookout.json");

fn set(value: &mut Value, pointer: &str, new: impl Into<Value>) {
    *value.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = new.into();
}

/// A scenario that a user could have meant.
fn random_scenario(random: &mut Random) -> Value {
    let mut value: Value = serde_json::from_str(BASE).unwrap();
    let height_m = random.between(20.0, 250.0);
    set(&mut value, "/site/elevation_m", random.between(-100.0, 3500.0));
    set(&mut value, "/site/wind/profile/power_law/speed_m_s", random.between(0.0, 16.0));
    set(&mut value, "/site/wind/profile/power_law/exponent", random.between(0.0, 0.4));
    set(&mut value, "/station/height_m", height_m);
    set(&mut value, "/station/downwind_m", random.between(-0.5, 0.9) * height_m);
    value["station"]["crosswind_m"] = json!(random.between(-0.4, 0.4) * height_m);
    value["site"]["wind"]["veer_deg_per_m"] = json!(random.between(-0.1, 0.1));
    set(&mut value, "/station/winch/drum_tension/drum_tension_n", random.between(1.0, 80.0));
    set(&mut value, "/payload/mass_kg", random.between(0.0, 4.0));
    set(&mut value, "/ground/laser/rated_w", random.between(100.0, 5000.0));
    let measured = "/delivery/fiber/tether/construction/measured";
    set(&mut value, &format!("{measured}/mass_g_per_m"), random.between(1.0, 20.0));
    set(&mut value, &format!("{measured}/diameter_mm"), random.between(0.7, 5.0));
    set(&mut value, "/delivery/fiber/total_length_m", random.between(100.0, 1500.0));
    value
}

fn operate(value: &Value) -> Result<OperatingPoint, PlanError> {
    let scenario = from_value(value).unwrap();
    let system = System::new(&scenario)?;
    Ok(system.solve(&system.place(&scenario.station)?, None)?.checked())
}

/// Every number of a result is finite: JSON writes what is not as null, so a null where a number belongs is found.
fn assert_finite(point: &OperatingPoint, seed: u64) {
    for row in &point.limits {
        assert!(row.value.is_finite() && row.limit.is_finite() && row.margin.is_finite(), "{seed}: {row:?}");
    }
    for row in &point.power {
        assert!(row.in_w.is_finite() && row.out_w.is_finite() && row.loss_w.is_finite(), "{seed}: {row:?}");
    }
    for number in [point.margin_w, point.demand_w, point.wall_w, point.laser_setting_w].into_iter().flatten()
    {
        assert!(number.is_finite(), "{seed}: {point:?}");
    }
}

/// How a plan ended.
enum End {
    Solved { hangs: bool },
    Unsolved { hangs: bool },
    NotConverged,
}

fn end_of(seed: u64) -> End {
    match operate(&random_scenario(&mut Random::new(seed))) {
        Ok(point) => {
            assert_finite(&point, seed);
            assert_eq!(point.feasible, point.limits.iter().all(|row| row.ok));
            let hangs = point.tether.is_some();
            let (Some(energy), Some(force)) = (point.energy_closure_ratio, point.force_closure_ratio) else {
                return End::Unsolved { hangs };
            };
            assert!(energy < 1e-9, "{seed}: energy {energy:e}");
            assert!(force < 1e-9, "{seed}: force {force:e}");
            End::Solved { hangs }
        }
        Err(PlanError::Refused(fault)) => panic!("{seed}: {fault} at {}", fault.pointer),
        Err(_) => End::NotConverged,
    }
}

#[test]
fn prop_forces_and_energy_close_over_ten_thousand_scenarios() {
    let ends: Vec<(u64, End)> = (1..=10_000_u64).into_par_iter().map(|seed| (seed, end_of(seed))).collect();
    let count = |is: fn(&End) -> bool| ends.iter().filter(|(_, end)| is(end)).count();
    let solved = count(|end| matches!(end, End::Solved { .. }));
    let hung = count(|end| matches!(end, End::Solved { hangs: true } | End::Unsolved { hangs: true }));
    let lost: Vec<u64> =
        ends.iter().filter(|(_, end)| matches!(end, End::NotConverged)).map(|(seed, _)| *seed).collect();
    println!("{solved} solved to the end, {hung} hung, not converged: {lost:?}");
    assert!(lost.is_empty(), "these did not converge: {lost:?}");
    assert!(solved > 5_000, "only {solved} of 10,000 were solved to the end, {hung} had a tether that hangs");
}

#[test]
fn prop_more_payload_asks_for_more_power() {
    for seed in 1..200_u64 {
        let mut value = random_scenario(&mut Random::new(seed));
        let mut last = 0.0;
        for mass_kg in [0.0, 0.5, 1.0, 2.0, 4.0] {
            set(&mut value, "/payload/mass_kg", mass_kg);
            let Some(demand_w) = operate(&value).unwrap().demand_w else { break };
            assert!(demand_w > last, "{seed}: {mass_kg} kg {demand_w} W after {last} W");
            last = demand_w;
        }
    }
}

#[test]
fn prop_less_attenuation_never_hurts() {
    for seed in 1..100_u64 {
        let mut value = random_scenario(&mut Random::new(seed));
        let mut last = 0.0;
        for db_per_km in [12.0, 6.0, 3.0, 2.0] {
            set(&mut value, "/delivery/fiber/attenuation/measured/attenuation_db_per_km", db_per_km);
            let Some(available_w) = operate(&value).unwrap().available_w else { break };
            assert!(
                available_w >= last * (1.0 - 1e-9),
                "{seed}: {db_per_km} dB/km {available_w} W after {last} W"
            );
            last = available_w;
        }
    }
}

#[test]
fn prop_more_rated_laser_never_hurts_a_laser_that_is_dimmed() {
    for seed in 1..100_u64 {
        let mut value = random_scenario(&mut Random::new(seed));
        let mut last = 0.0;
        for rated_w in [200.0, 500.0, 1000.0, 3000.0, 10_000.0] {
            set(&mut value, "/ground/laser/rated_w", rated_w);
            let Some(available_w) = operate(&value).unwrap().available_w else { break };
            assert!(
                available_w >= last * (1.0 - 1e-6),
                "{seed}: {rated_w} W gives {available_w} W after {last} W"
            );
            last = available_w;
        }
    }
}

#[test]
fn demand_falls_with_a_breeze_and_rises_with_a_wind() {
    // Translational lift first, then drag: feasibility is not monotone in the wind.
    let demand_w = |speed_m_s: f64| {
        let mut value: Value = serde_json::from_str(BASE).unwrap();
        set(&mut value, "/site/wind/profile/power_law/speed_m_s", speed_m_s);
        set(&mut value, "/station/downwind_m", 0.0);
        operate(&value).unwrap().demand_w.unwrap()
    };
    let (calm, breeze, wind) = (demand_w(0.5), demand_w(6.0), demand_w(14.0));
    assert!(breeze < calm && wind > breeze, "{calm} {breeze} {wind}");
}

#[test]
fn a_steady_laser_on_a_hot_receiver_can_be_too_strong() {
    let mut value: Value = serde_json::from_str(BASE).unwrap();
    set(&mut value, "/ground/laser/control", "steady");
    value["receiver"]["cooling"] = json!({ "still": {} });
    let mut available = Vec::new();
    for rated_w in [300.0, 1000.0, 3000.0, 8000.0] {
        set(&mut value, "/ground/laser/rated_w", rated_w);
        available.push(operate(&value).unwrap().available_w.unwrap());
    }
    assert!(available[3] < available[2].max(available[1]), "{available:?}");
}

#[test]
fn every_number_of_the_schema_has_range_and_unit() {
    fn walk(node: &Value, path: &str, faults: &mut Vec<String>) {
        match node {
            Value::Object(object) => {
                if let Some(Value::Object(properties)) = object.get("properties") {
                    for (key, property) in properties {
                        let text = property.to_string();
                        let number =
                            text.contains("\"format\":\"double\"") || text.contains("\"format\":\"uint32\"");
                        let own = property.get("properties").is_none() && property.get("oneOf").is_none();
                        if number && own && property.get("items").is_none() {
                            let pure = [
                                "_ratio",
                                "_count",
                                "exponent",
                                "ideality",
                                "aperture",
                                "coefficient",
                                "_m2",
                                "factor",
                                "ratio",
                                "merit",
                                "performance",
                            ];
                            // A distribution is in the unit of the number that it is of.
                            let has_unit =
                                property.get("x-unit").is_some() || path.contains("/InputDistribution/");
                            if !has_unit && !pure.iter().any(|ending| key.ends_with(ending)) {
                                faults.push(format!("{path}/{key} has no unit"));
                            }
                            if property.get("minimum").is_none() || property.get("maximum").is_none() {
                                faults.push(format!("{path}/{key} has no range"));
                            }
                            if property.get("description").is_none() {
                                faults.push(format!("{path}/{key} has no description"));
                            }
                        }
                        walk(property, &format!("{path}/{key}"), faults);
                    }
                }
                for (key, inner) in object {
                    if key != "properties" {
                        walk(inner, &format!("{path}/{key}"), faults);
                    }
                }
            }
            Value::Array(array) => array.iter().for_each(|inner| walk(inner, path, faults)),
            _ => {}
        }
    }
    let mut faults = Vec::new();
    walk(schema::scenario_schema(), "", &mut faults);
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn shipped_scenarios_load_and_survive_a_round_trip() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenarios");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        // The weather years stand in a folder beside the scenarios.
        if path.is_dir() {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let document = Document::parse(&text).unwrap();
        let loaded = load(&document).unwrap_or_else(|faults| panic!("{}: {faults:#?}", path.display()));
        let again = from_value(&serde_json::to_value(&loaded.scenario).unwrap()).unwrap();
        assert_eq!(again, loaded.scenario, "{}", path.display());
        count += 1;
    }
    assert!(count >= 3);
}

#[test]
fn rotors_farther_apart_disturb_each_other_less() {
    let text = include_str!("../../../scenarios/harvest-market.json");
    let mut value: Value = serde_json::from_str(text).unwrap();
    let mut demand_w = |spacing_ratio: f64| {
        set(&mut value, "/vehicle/multirotor/arrangement/coaxial_pairs/spacing_ratio", spacing_ratio);
        operate(&value).unwrap().demand_w.unwrap()
    };
    assert!(demand_w(0.6) < demand_w(0.05));
}

#[test]
fn the_voltage_of_a_fixed_load_gives_its_current() {
    let text = include_str!("../../../scenarios/switchyard-sensor.json");
    let mut value: Value = serde_json::from_str(text).unwrap();
    set(&mut value, "/vehicle/fixed_load/voltage_v", 24.0);
    let current_a = operate(&value).unwrap().vehicle.unwrap().load_current_a.unwrap();
    assert!((current_a - 10.0 / 24.0).abs() < 1e-12, "{current_a}");
}

#[test]
fn regress_no_laser_power_closes_is_told_in_watts_that_mean_something() {
    let mut value: Value = serde_json::from_str(BASE).unwrap();
    set(&mut value, "/receiver/cells/series_resistance_ohm_cm2", 0.08);
    let point = operate(&value).unwrap();
    assert!(!point.feasible && point.laser_setting_w.is_none());
    let row = point.limits.iter().find(|row| row.code == LimitCode::LightPeak).unwrap();
    assert!(!row.ok && row.limit == point.demand_w.unwrap());
    assert!(row.value >= point.available_w.unwrap() - 1e-6, "{} {:?}", row.value, point.available_w);
    assert!(point.limits.iter().all(|row| row.value.abs() < 1e9 && row.margin.abs() < 1e9));
}
