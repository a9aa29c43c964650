//! The receiver's mass against its power.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, PlanError, System, load,
    receiver::{ReceiverTrade, receiver_trade},
};

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
