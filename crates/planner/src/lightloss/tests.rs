use beamstay_vehicle::Load;
use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;
use crate::{load, system::craft::Craft};

fn report(value: &Value) -> LightLossReport {
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap_or_else(|faults| panic!("{faults:?}"));
    light_loss_report(&document, &loaded).unwrap()
}

fn scenario(name: &str) -> Value {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

const ALL: [&str; 8] = [
    "bench-hover",
    "breakwater-lookout",
    "beam-hover",
    "free-beam-loiter",
    "harvest-market",
    "reservoir-inspector",
    "ridge-relay",
    "switchyard-sensor",
];

#[test]
fn every_shipped_scenario_is_worked_through() {
    for name in ALL {
        let report = report(&scenario(name));
        assert!(!report.drills.is_empty(), "{name}");
        for drill in &report.drills {
            assert!(drill.energy_closure_ratio < 1e-9, "{name} {}", drill.energy_closure_ratio);
            let sum_s: f64 = drill.legs.iter().map(|leg| leg.duration_s).sum();
            let sum_j: f64 = drill.legs.iter().map(|leg| leg.power_w * leg.duration_s).sum();
            if drill.outcome != Outcome::Stands {
                assert!((sum_s - drill.time_s).abs() <= 1e-9 * drill.time_s, "{name}");
                assert!((sum_j - drill.needed_j).abs() <= 1e-9 * drill.needed_j, "{name}");
            }
        }
    }
}

/// Sets the capacity of the battery, with cells whose resistance goes with it.
fn with_capacity(value: &Value, capacity_ah: f64, series_count: u32) -> Value {
    let mut value = value.clone();
    let old = value["battery"].as_object().cloned().unwrap_or_default();
    let old_ah = old.get("capacity_ah").and_then(Value::as_f64);
    let old_mohm = old.get("cell_resistance_mohm").and_then(Value::as_f64);
    let resistance_mohm =
        old_ah.zip(old_mohm).map_or(30.0 / capacity_ah, |(ah, mohm)| mohm * ah / capacity_ah);
    value["battery"] = Value::Object(old);
    value["battery"]["capacity_ah"] = json!(capacity_ah);
    value["battery"]["cell_resistance_mohm"] = json!(resistance_mohm);
    value["battery"]["series_count"] = json!(series_count);
    value
}

#[test]
fn the_smallest_battery_lands_and_two_percent_less_does_not() {
    for name in [
        "bench-hover",
        "breakwater-lookout",
        "beam-hover",
        "harvest-market",
        "ridge-relay",
        "free-beam-loiter",
    ] {
        let value = scenario(name);
        let smallest = report(&value).smallest_battery.unwrap_or_else(|| panic!("{name}: none"));
        let (ah, cells) = (smallest.capacity_ah, smallest.series_count);
        let enough = report(&with_capacity(&value, ah, cells));
        assert!(enough.safe, "{name}: {ah} Ah, {}", enough.drills[0].reason);
        let short = report(&with_capacity(&value, 0.98 * ah, cells));
        assert!(!short.safe, "{name}: {ah} Ah less 2 % lands too");
    }
}

#[test]
fn the_smallest_battery_has_the_energy_of_its_charge() {
    for name in ["breakwater-lookout", "beam-hover", "free-beam-loiter"] {
        let smallest = report(&scenario(name)).smallest_battery.unwrap();
        // A cell of lithium gives its charge at 3.3 to 4.2 V.
        let cell_v = smallest.energy_wh / (smallest.capacity_ah * f64::from(smallest.series_count));
        assert!((3.3..4.2).contains(&cell_v), "{name} {cell_v}");
    }
}

#[test]
fn the_battery_must_give_the_power_of_the_gust() {
    let mut value = scenario("breakwater-lookout");
    value["site"]["wind"]["gust"] = json!({ "factor": { "ratio": 2.0 } });
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap();
    let system = System::new(&loaded.scenario).unwrap();
    let point = system.operate(&system.place(&loaded.scenario.station).unwrap()).unwrap();
    let gust = point.vehicle_in_gust.unwrap();
    let gust_w = gust.electrical_w + gust.avionics_w + loaded.scenario.payload.power_w;
    let report = light_loss_report(&document, &loaded).unwrap();
    for drill in &report.drills {
        let legs_w = drill.legs.iter().map(|leg| leg.power_w).fold(0.0, f64::max);
        assert!((drill.peak_w / gust_w.max(legs_w) - 1.0).abs() < 1e-9, "{} {gust_w} {legs_w}", drill.peak_w);
        assert!(gust_w > 1.05 * legs_w, "the gust is the hardest");
    }
}

#[test]
fn without_a_battery_the_aircraft_is_lost_and_one_is_named() {
    let mut value = scenario("breakwater-lookout");
    value.as_object_mut().unwrap().remove("battery");
    let report = report(&value);
    assert!(!report.safe);
    assert!(report.drills.iter().all(|drill| drill.outcome == Outcome::Lost));
    assert!(report.worst().unwrap().outcome.words().starts_with("NO BATTERY"));
    assert!(report.smallest_battery.is_some());
}

#[test]
fn the_descent_keeps_clear_of_the_vortex_ring_state() {
    let value = scenario("breakwater-lookout");
    let report = report(&value);
    for drill in &report.drills {
        let rate = drill.rate.unwrap();
        assert!(!drill.in_vortex_ring);
        assert!(rate.rate_m_s <= 0.8 * rate.vortex_ring_from_m_s + 1e-9);
    }
    assert!(report.rates.iter().any(|row| row.in_vortex_ring_if_calm), "the curve shows where it begins");
}

#[test]
fn a_slow_winch_bounds_the_descent_and_costs_energy() {
    let mut value = scenario("breakwater-lookout");
    value["light_loss"] = json!({ "cause": "source_trip" });
    let free = report(&value);
    value["ground"]["drum"]["max_reel_speed_m_s"] = json!(0.5);
    let slow = report(&value);
    let (free, slow) = (free.worst().unwrap(), slow.worst().unwrap());
    assert_eq!(slow.rate.unwrap().bound, RateBound::Winch);
    assert!(slow.reel_speed_m_s.unwrap() <= 0.5 + 1e-9 && free.reel_speed_m_s.unwrap() > 0.5);
    assert!(slow.needed_j > free.needed_j && slow.time_s > free.time_s);
}

#[test]
fn a_cut_near_the_drum_lets_the_light_out_and_leaves_the_vehicle_a_long_piece() {
    let mut value = scenario("breakwater-lookout");
    value["light_loss"] = json!({ "cause": { "line_cut": { "at_m": 3.0 } } });
    value["hazard"] = json!({ "shut_off_ms": 200.0 });
    let report = report(&value);
    let drill = report.worst().unwrap();
    assert!(!drill.cause.line_holds && drill.cause.piece_m > 90.0);
    assert!(drill.cause.escaping_w > 1400.0 && drill.cause.escaping_w <= 1600.0);
    assert!((drill.cause.escaping_j.unwrap() - 0.2 * drill.cause.escaping_w).abs() < 1e-9);
    let tether = drill.reach.tether.unwrap();
    assert!((tether.attached_m - 3.0).abs() < 1e-9 && tether.loose_m > 100.0);
}

#[test]
fn a_tiny_battery_falls_and_the_place_is_told() {
    let value = with_capacity(&scenario("breakwater-lookout"), 0.6, 6);
    let report = report(&value);
    let worst = report.worst().unwrap();
    assert_eq!(worst.outcome, Outcome::Falls, "{}", worst.reason);
    let end = worst.gave_up.unwrap();
    assert!(end.height_m > 0.0 && worst.reason.contains("m above ground"), "{}", worst.reason);
}

#[test]
fn a_cause_that_the_delivery_does_not_have_is_refused() {
    for (name, cause) in
        [("breakwater-lookout", json!("beam_lost")), ("beam-hover", json!({"line_cut": {"at_m": 1}}))]
    {
        let mut value = scenario(name);
        value["light_loss"] = json!({ "cause": cause });
        let document = Document::parse(&value.to_string()).unwrap();
        let loaded = load(&document).unwrap();
        assert!(matches!(light_loss_report(&document, &loaded), Err(PlanError::Refused(_))), "{name}");
    }
}

#[test]
fn hover_and_descent_agree_with_the_vehicle_alone() {
    let mut value = scenario("beam-hover");
    value["light_loss"] = json!({ "cause": "source_trip", "decision_time_s": 10.0 });
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap();
    let system = System::new(&loaded.scenario).unwrap();
    let report = light_loss_report(&document, &loaded).unwrap();
    let drill = report.worst().unwrap();
    let Craft::Multirotor(model) = &system.craft else { panic!("a multirotor") };
    let z_m = 80.0;
    let mean = &system.surroundings.mean;
    let wind = beamstay_environment::flow::Flow::at(mean, z_m).velocity_m_s;
    let load = Load::hover(system.masses.total_kg()).with_wind(wind);
    let hover_w = model.trim(&load, &mean.fluid_at(z_m)).unwrap().demand_w + 15.0;
    assert!((drill.legs[0].power_w / hover_w - 1.0).abs() < 1e-9);
    assert!(
        drill.legs.iter().filter(|leg| leg.phase == Phase::Descent).all(|leg| leg.power_w >= 0.9 * hover_w)
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, ..ProptestConfig::default() })]

    /// Times of the legs sum to the time, powers over times to the energy, and what the battery gave to both, whatever is lost.
    #[test]
    fn prop_energy_and_time_close(
        height_m in 40.0..160.0_f64,
        wind_m_s in 2.0..9.0_f64,
        payload_kg in 0.2..1.2_f64,
        capacity_ah in 1.0..9.0_f64,
        cause in 0..6_usize,
        cut_ratio in 0.0..1.0_f64,
    ) {
        let mut value = with_capacity(&scenario("breakwater-lookout"), capacity_ah, 6);
        value["station"]["height_m"] = json!(height_m);
        value["delivery"]["fiber"]["total_length_m"] = json!(250.0);
        value["site"]["wind"]["profile"]["power_law"]["speed_m_s"] = json!(wind_m_s);
        value["payload"]["mass_kg"] = json!(payload_kg);
        let causes = [
            json!("source_trip"),
            json!("converter_fault"),
            json!({ "connector": { "end": "ground" } }),
            json!({ "connector": { "end": "vehicle" } }),
            json!({ "line_cut": { "at_m": cut_ratio * height_m } }),
            json!({ "line_cut": { "at_m": 0.0 } }),
        ];
        value["light_loss"] = json!({ "cause": causes[cause] });
        let document = Document::parse(&value.to_string()).unwrap();
        let loaded = load(&document).unwrap();
        // A line that does not hang in this wind is no case.
        let report = light_loss_report(&document, &loaded);
        prop_assume!(report.is_ok());
        let report = report.unwrap();
        for drill in &report.drills {
            let sum_s: f64 = drill.legs.iter().map(|leg| leg.duration_s).sum();
            let sum_j: f64 = drill.legs.iter().map(|leg| leg.power_w * leg.duration_s).sum();
            prop_assert!((sum_s - drill.time_s).abs() <= 1e-9 * drill.time_s);
            prop_assert!((sum_j - drill.needed_j).abs() <= 1e-9 * drill.needed_j);
            prop_assert!(drill.energy_closure_ratio < 1e-9, "{}", drill.energy_closure_ratio);
        }
    }
}
