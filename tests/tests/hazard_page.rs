//! Every number on the hazard page is one that the table of published checks holds: its model has rows with a status, and
//! the model gives the page's number from the page's own inputs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_planner::{Document, HazardStudy, hazard::DistanceFigure, hazard_study, load};
use beamstay_tests::{
    case::{Case, load_all},
    docs::root,
    models::compute,
};
use serde_json::{Value, json};

/// Scenarios with light and what is changed in them, so that each kind of source and each band of wavelengths is on a page.
fn studies() -> Vec<(String, HazardStudy)> {
    let shut_off = ("/hazard", json!({"shut_off_ms": 10.0, "working_area_radius_m": 200.0}));
    let single_mode = [
        ("/delivery/fiber/core_diameter_um", json!(8.2)),
        ("/delivery/fiber/cladding_diameter_um", json!(125.0)),
        ("/delivery/fiber/numerical_aperture", json!(0.12)),
        ("/delivery/fiber/launch/spot_diameter_um", json!(10.4)),
        ("/delivery/fiber/launch/source", json!({"gaussian": {"beam_quality_m2": 1.1}})),
        ("/ground/laser/wavelength_nm", json!(1550.0)),
        ("/ground/laser/rated_w", json!(2.0)),
    ];
    let at = |nm: f64| [("/ground/laser/wavelength_nm", json!(nm)), shut_off.clone()];
    let mut found = Vec::new();
    let mut add = |name: &str, changes: &[(&str, Value)]| {
        let path = root().join("scenarios").join(format!("{name}.json"));
        let mut document = Document::parse(&std::fs::read_to_string(path).unwrap()).unwrap();
        for (pointer, value) in changes {
            document.set(pointer, value.clone()).unwrap();
        }
        let study = hazard_study(&document, &load(&document).unwrap())
            .unwrap_or_else(|e| panic!("{name} {changes:?}: {e}"));
        found.push((format!("{name} {changes:?}"), study));
    };
    for name in [
        "breakwater-lookout",
        "bench-hover",
        "quarry-watch",
        "reservoir-inspector",
        "ridge-relay",
        "beam-hover",
        "free-beam-loiter",
    ] {
        add(name, &[]);
        add(name, std::slice::from_ref(&shut_off));
    }
    for nm in [980.0, 1064.0, 1250.0, 1320.0, 1450.0, 1550.0] {
        add("breakwater-lookout", &at(nm));
        add("beam-hover", &at(nm));
    }
    add("breakwater-lookout", &single_mode);
    add("beam-hover", &[("/delivery/free_beam/focus", json!("at_aperture"))]);
    found
}

/// A number on the page: what it is called in the table of checks, the inputs it follows from, its value.
type Claim = (String, Value, f64);

fn merged(inputs: impl serde::Serialize, more: Value) -> Value {
    let mut inputs = serde_json::to_value(inputs).unwrap();
    for (key, value) in more.as_object().unwrap() {
        inputs[key] = value.clone();
    }
    inputs
}

fn claims(study: &HazardStudy) -> Vec<Claim> {
    let nm = study.wavelength_nm;
    let mut claims: Vec<Claim> = Vec::new();
    for limit in &study.exposure_limits {
        let inputs = json!({"wavelength_nm": nm, "exposure_s": limit.exposure_s});
        claims.push((limit.check.clone(), inputs.clone(), limit.irradiance_w_m2));
        claims.push((format!("hazard.aperture_mm.{}", limit.organ), inputs.clone(), limit.basis.aperture_mm));
        let energy = format!("hazard.radiant_exposure_j_m2.{}", limit.organ);
        claims.push((energy, inputs, limit.radiant_exposure_j_m2));
    }
    let class = &study.class;
    let number = match class.class {
        "1" => 1.0,
        "3R" => 3.0,
        "3B" => 3.5,
        _ => 4.0,
    };
    let values = [class.class_1_w, class.class_3r_w, class.class_3b_w, number];
    for (check, value) in class.checks.iter().zip(values) {
        claims.push(((*check).into(), json!({"wavelength_nm": nm, "power_w": study.power_w}), value));
    }
    for source in &study.sources {
        let shut_off = source.with_shut_off.iter().map(|d| (d, study.shut_off_s));
        for (distances, shut_off_s) in [(&source.without_shut_off, None)].into_iter().chain(shut_off) {
            let base_s = source.without_shut_off.exposure_s;
            for (_, figure) in distances.figures() {
                let mut more = json!({"time_base_s": base_s, "exposure_s": distances.exposure_s});
                if let Some(shut_off_s) = shut_off_s {
                    more["shut_off_s"] = json!(shut_off_s);
                }
                of_distance(source, figure, &more, &mut claims);
            }
        }
    }
    claims
}

fn of_distance(
    source: &beamstay_planner::hazard::SourceHazard,
    figure: &DistanceFigure,
    more: &Value,
    claims: &mut Vec<Claim>,
) {
    // The longest over the lights is the distance; the limit is the same for all.
    let longest = source
        .lights
        .iter()
        .map(|light| merged(light.inputs, more.clone()))
        .max_by(|a, b| {
            let of = |inputs: &Value| compute(&figure.check, inputs).unwrap_or(f64::NAN);
            of(a).total_cmp(&of(b))
        })
        .unwrap();
    claims.push((figure.check.clone(), longest.clone(), figure.distance_m));
    let mut for_limit = longest.clone();
    let light_w = longest["power_w"].as_f64().unwrap()
        * (1.0 - longest.get("captured_share").and_then(Value::as_f64).unwrap_or(0.0))
        * longest.get("reflectance").and_then(Value::as_f64).unwrap_or(1.0);
    if figure.limit_check.contains("skin") && light_w >= 5.0 {
        for_limit["exposed_area_m2"] = json!(0.1);
    }
    claims.push((figure.limit_check.into(), for_limit, figure.limit_w_m2));
    // A form of the eye behind optics goes down to the limit over the gain of the optics.
    let gain = if figure.check.contains("optics") { (50.0_f64 / 7.0).powi(2) } else { 1.0 };
    for form in &figure.forms {
        let light = source.lights.iter().find(|l| l.name == form.light).unwrap();
        let inputs = merged(light.inputs, json!({"limit_w_m2": figure.limit_w_m2 / gain}));
        claims.push((form.check.clone(), inputs, form.distance_m));
    }
}

#[test]
fn every_number_on_the_page_traces_to_the_table() {
    let cases: Vec<Case> = load_all().unwrap();
    let known: std::collections::BTreeSet<&str> = cases.iter().map(|case| case.model.as_str()).collect();
    let mut used = std::collections::BTreeSet::new();
    let mut claims_count = 0;
    for (name, study) in studies() {
        for (model, inputs, value) in claims(&study) {
            assert!(known.contains(model.as_str()), "{name}: no row holds {model}");
            let computed = compute(&model, &inputs).unwrap_or_else(|| panic!("{name}: {model} of {inputs}"));
            let close = (computed - value).abs() <= 1e-9 * value.abs();
            assert!(close, "{name}: the page says {value}, {model} of {inputs} says {computed}");
            used.insert(model);
            claims_count += 1;
        }
    }
    assert!(claims_count > 1000 && used.len() > 20, "{claims_count} numbers of {} models", used.len());
}

#[test]
fn what_is_known_from_memory_never_shortens_a_distance() {
    for (name, study) in studies() {
        for source in &study.sources {
            for distances in
                [Some(&source.without_shut_off), source.with_shut_off.as_ref()].into_iter().flatten()
            {
                for (organ, figure) in distances.figures() {
                    let seen = figure.forms.iter().filter(|f| f.status != "from memory");
                    let without_memory_m = seen.map(|f| f.distance_m).fold(0.0, f64::max);
                    assert!(figure.distance_m >= without_memory_m, "{name} {organ}");
                    if figure.basis.status == "from memory" {
                        // Only the limit for large areas of skin is: it lies below the one that was seen.
                        assert!(figure.limit_w_m2 < 1000.0, "{name} {organ}");
                    }
                }
            }
        }
    }
}
