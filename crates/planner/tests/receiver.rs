//! The receiver's mass against its power.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, OperatingPoint, PlanError, System,
    limit::LimitCode,
    load,
    receiver::{ReceiverTrade, receiver_trade},
};
use serde_json::{Value, json};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");
const MARKET: &str = include_str!("../../../scenarios/harvest-market.json");
const LOITER: &str = include_str!("../../../scenarios/free-beam-loiter.json");

fn trade(document: &Document) -> Result<ReceiverTrade, PlanError> {
    receiver_trade(document, &load(document).unwrap(), &|_, _| {})
}

#[test]
fn the_best_is_no_worse_than_the_stated_and_holds_in_the_scenario() {
    for text in [BREAKWATER, LOITER] {
        let mut document = Document::parse(text).unwrap();
        let found = trade(&document).unwrap();
        assert!(found.best.net_w >= found.stated.unwrap().net_w - 1e-9);
        for point in &found.curve {
            assert!(found.best.net_w >= point.net_w - 1e-9);
            assert!((point.net_w - (point.delivered_w - point.carrying_w)).abs() < 1e-9);
            assert!(point.carrying_w > 0.0);
        }
        assert!(
            found.curve.windows(2).all(|w| w[0].mass_kg < w[1].mass_kg && w[0].carrying_w < w[1].carrying_w)
        );
        // The receiver that is handed out, put into the scenario, does what was said of it.
        document.set("/receiver", found.receiver.clone()).unwrap();
        let scenario = load(&document).unwrap().scenario;
        let system = System::new(&scenario).unwrap();
        let point = system.operate(&system.place(&scenario.station).unwrap()).unwrap();
        assert!((system.masses.receiver_kg - found.best.mass_kg).abs() < 1e-9);
        assert!((point.available_w.unwrap() - found.best.delivered_w).abs() < 1e-6 * found.best.delivered_w);
        assert!((point.margin_w.unwrap() - found.best.margin_w).abs() < 1e-6 * found.best.delivered_w);
    }
}

#[test]
fn a_stronger_laser_never_leaves_less() {
    let found = trade(&Document::parse(BREAKWATER).unwrap()).unwrap();
    let net: Vec<f64> = found.by_laser.iter().map(|row| row.best.unwrap().net_w).collect();
    assert!(net.windows(2).all(|w| w[1] > w[0]), "{net:?}");
    assert_eq!(found.by_height.len(), 5);
}

#[test]
fn a_plan_without_light_has_no_receiver_to_trade() {
    let document = Document::parse(MARKET).unwrap();
    let error = trade(&document).unwrap_err();
    assert!(matches!(error, PlanError::Refused(_)) && error.to_string().contains("receiver"), "{error}");
}

/// The hottest cell, not the mean one, says how much light an unevenly lit receiver may have.
#[test]
fn regress_uneven_light_is_held_to_the_hottest_cell() {
    let mut document = Document::parse(BREAKWATER).unwrap();
    let light = serde_json::json!({ "shares": { "share_ratios": [0.7, 1.0, 1.0, 1.0, 1.0, 1.0] } });
    document.set("/receiver/light", light).unwrap();
    // Between the mean and the hottest cell lie some kelvin of their own way to the sink.
    document.set("/receiver/sink/junction_to_base_k_per_w", 0.05.into()).unwrap();
    let available_w = |ceiling_c: f64| {
        let mut document = document.clone();
        document.set("/receiver/cells/max_temperature_c", ceiling_c.into()).unwrap();
        let scenario = load(&document).unwrap().scenario;
        let system = System::new(&scenario).unwrap();
        system.operate(&system.place(&scenario.station).unwrap()).unwrap().available_w.unwrap()
    };
    // The hotter the cells may be, the more light: by a power that rises evenly until all the light is let in. A ceiling
    // that is held against the mean in one place and the hottest in another makes a step.
    let powers_w: Vec<f64> = (0..160).map(|i| available_w(60.0 + f64::from(i))).collect();
    let rises_w: Vec<f64> = powers_w.windows(2).map(|pair| pair[1] - pair[0]).collect();
    assert!(powers_w[0] < 0.9 * powers_w[159], "the ceiling binds in between: {powers_w:?}");
    for pair in rises_w.windows(2) {
        assert!(pair[1] >= -1e-6 && pair[1] <= pair[0] + 0.2, "{rises_w:?}");
    }
}

fn point_of(text: &str, changes: &[(&str, Value)]) -> OperatingPoint {
    let mut document = Document::parse(text).unwrap();
    for (pointer, value) in changes {
        document.set(pointer, value.clone()).unwrap();
    }
    let scenario = load(&document).unwrap().scenario;
    let system = System::new(&scenario).unwrap();
    system.operate(&system.place(&scenario.station).unwrap()).unwrap()
}

#[test]
fn the_published_models_of_the_air_are_chosen_by_name() {
    const BEAM: &str = "/delivery/free_beam";
    let arriving = |key: &str, value: Value, air: (&str, f64)| {
        let (key, air_key) = (format!("{BEAM}/{key}"), format!("{BEAM}/{}", air.0));
        point_of(LOITER, &[(&air_key, air.1.into()), (&key, value)]).light.unwrap().path_ratio
    };
    for (key, names, air) in [
        ("turbulence_model", ["andrews_phillips", "coherence_length"], ("structure_constant_m_2_3", 1e-12)),
        ("visibility_model", ["kruse", "kim"], ("visibility_km", 1.0)),
    ] {
        let of = |name: &str| arriving(key, name.into(), air);
        let (first, second, default) = (of(names[0]), of(names[1]), of("larger"));
        assert!((first / second - 1.0).abs() > 1e-5, "{key}: {first} {second}");
        assert!((default - first.min(second)).abs() < 1e-12, "{key}: the default is the worse of the two");
    }
    let gas =
        |db_per_km: f64| arriving("gas_absorption_db_per_km", db_per_km.into(), ("visibility_km", 12.0));
    let range_m = point_of(LOITER, &[]).light.unwrap().range_m.unwrap();
    let by_hand = 10_f64.powf(-2.0 * 1e-4 * range_m);
    assert!((gas(2.0) / gas(0.0) / by_hand - 1.0).abs() < 1e-9, "2 dB/km over {range_m} m");
}

#[test]
fn the_keys_of_a_cell_reach_its_model() {
    let shares = json!({ "shares": { "share_ratios": [0.2, 1.0, 1.0, 1.0, 1.0, 1.0] } });
    let available_w = |changes: &[(&str, Value)]| point_of(BREAKWATER, changes).available_w.unwrap();
    let uneven = ("/receiver/light", shares);
    let bare_w = available_w(std::slice::from_ref(&uneven));
    let bypassed_w = available_w(&[uneven, ("/receiver/cells/bypass_forward_v", 0.4.into())]);
    assert!(bypassed_w > 1.5 * bare_w, "a dim cell holds its string back: {bare_w} {bypassed_w}");
    let leaky = ("/receiver/cells/shunt_resistance_ohm_cm2", 20.0.into());
    let held_w = available_w(std::slice::from_ref(&leaky));
    let falling_w = available_w(&[leaky, ("/receiver/cells/shunt_resistance_change_per_k", (-0.02).into())]);
    assert!(falling_w < 0.999 * held_w, "{held_w} {falling_w}");
}

#[test]
fn the_irradiance_of_the_cells_is_judged_where_a_limit_is_given() {
    let row = |changes: &[(&str, Value)]| {
        let point = point_of(BREAKWATER, changes);
        point.limits.iter().find(|row| row.code == LimitCode::CellIrradiance).copied()
    };
    assert_eq!(row(&[]), None);
    let limit = |w_per_cm2: f64| ("/receiver/cells/max_irradiance_w_per_cm2", Value::from(w_per_cm2));
    let wide = row(&[limit(1e4)]).unwrap();
    let light = point_of(BREAKWATER, &[]).light.unwrap();
    assert!(wide.ok && wide.value > 0.0 && wide.value < light.arriving_w);
    assert!(!row(&[limit(0.99 * wide.value)]).unwrap().ok);
}

/// Limits hold where the least light arrives, energy is that of the mean.
#[test]
fn a_circle_is_lit_by_its_worst_place_and_its_mean() {
    for control in ["steady", "dimmed_to_demand"] {
        let laser = ("/ground/laser/control", Value::from(control));
        let point = point_of(LOITER, &[laser, ("/station/downwind_m", 200.0.into())]);
        let (light, orbit) = (point.light.unwrap(), point.light.unwrap().orbit.unwrap());
        assert_eq!(light.path_ratio, orbit.path_ratio_least);
        assert!(
            orbit.path_ratio_least < orbit.path_ratio_mean && orbit.path_ratio_mean < orbit.path_ratio_most
        );
        assert_eq!(point.wall_w, Some(orbit.wall_mean_w));
        assert!(orbit.available_mean_w >= point.available_w.unwrap());
        if control == "steady" {
            assert_eq!(orbit.laser_mean_w, light.laser_w);
        } else {
            // The same light is wanted at every place: the setting is in inverse proportion to what passes.
            let least_w = light.laser_w * orbit.path_ratio_least / orbit.path_ratio_most;
            assert!(orbit.laser_mean_w < light.laser_w && orbit.laser_mean_w > least_w);
        }
    }
    let orbit = point_of(LOITER, &[]).light.unwrap().orbit.unwrap();
    assert_eq!(orbit.path_ratio_least, orbit.path_ratio_most, "round the laser every place is alike");
    assert!(point_of(BREAKWATER, &[]).light.unwrap().orbit.is_none());
}
