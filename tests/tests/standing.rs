//! What the report says of a model's standing is what the table of published checks holds.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::{collections::BTreeSet, fs};

use beamstay_planner::{
    formula::{Formula, Standing, formulas},
    from_value,
};
use beamstay_tests::{case, docs};
use serde_json::{Value, json};

/// Every shipped scenario, and the choices that none of them takes.
fn scenarios() -> Vec<Value> {
    let mut list: Vec<Value> = fs::read_dir(docs::root().join("scenarios"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "json"))
        .map(|path| serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap())
        .collect();
    let base =
        list.iter().find(|value| value.pointer("/vehicle/multirotor/rotor/disk").is_some()).unwrap().clone();
    for (pointer, choice) in [
        ("/site/wind/profile", json!({ "uniform": { "speed_m_s": 5 } })),
        ("/site/wind/profile", json!({ "power_law": { "speed_m_s": 5 } })),
        ("/site/wind/profile", json!({ "logarithmic": { "speed_m_s": 5, "roughness_m": 0.03 } })),
        (
            "/site/wind/gust",
            json!({ "extreme_operating_gust": { "wind_class": "two", "turbulence_class": "b" } }),
        ),
        ("/site/wind/gust", json!({ "dryden": { "deviations_count": 2.5 } })),
    ] {
        let mut value = base.clone();
        *value.pointer_mut(pointer).unwrap() = choice;
        list.push(value);
    }
    let mut pairs = base;
    pairs["vehicle"]["multirotor"]["arrangement"] = json!({ "coaxial_pairs": { "spacing_ratio": 0.2 } });
    list.push(pairs);
    list
}

fn every_formula() -> Vec<Formula> {
    scenarios().iter().flat_map(|value| formulas(&from_value(value).unwrap())).collect()
}

#[test]
fn val_a_checked_model_has_rows_in_the_table() {
    let known: BTreeSet<String> = case::load_all().unwrap().into_iter().map(|case| case.model).collect();
    let mut groups_count = 0;
    for formula in every_formula() {
        for group in formula.checks {
            let held = known.iter().any(|model| model == group || model.starts_with(&format!("{group}.")));
            assert!(held, "{}: no row of the table is of {group}", formula.model);
            groups_count += 1;
        }
    }
    assert!(groups_count > 20, "{groups_count}");
}

#[test]
fn val_only_a_checked_model_names_checks() {
    for formula in every_formula() {
        let names_some = !formula.checks.is_empty();
        assert_eq!(names_some, formula.standing == Standing::Checked, "{formula:?}");
    }
}
