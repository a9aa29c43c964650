//! A share of the hostile input; the whole is run by `cargo run --release -p beamstay-tests --bin hostile`.

#![allow(clippy::panic, reason = "a test fails by panicking")]

use beamstay_tests::hostile::{Kind, run};

fn none_found(kind: Kind, cases_count: u64) {
    let tally = run(kind, 0..cases_count);
    assert_eq!(tally.findings_count, 0, "{tally}");
    assert!(tally.answered_count > cases_count / 200, "hardly any case is answered: {tally}");
    assert!(tally.refused_count > 0, "{tally}");
}

#[test]
fn prop_changed_bytes_of_scenarios_are_answered_or_refused() {
    none_found(Kind::ScenarioBytes, 2000);
}

#[test]
fn prop_other_numbers_in_scenarios_are_answered_or_refused() {
    none_found(Kind::ScenarioNumbers, 1000);
}

#[test]
fn prop_scenarios_from_the_schema_are_answered_or_refused() {
    none_found(Kind::FromSchemaValid, 1000);
    for kind in [Kind::FromSchemaNearly, Kind::FromSchemaAbsurd] {
        let tally = run(kind, 0..1000);
        assert_eq!(tally.findings_count, 0, "{tally}");
    }
}

#[test]
fn prop_changed_bytes_of_weather_are_answered_or_refused() {
    none_found(Kind::WeatherBytes, 1500);
}
