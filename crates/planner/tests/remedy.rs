//! What would close a plan: every stated value, set in the scenario, turns the verdict; one percent short of it does not.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, Scenario, System, from_value, load,
    remedy::{Lever, RemedyReport, remedy},
    study::complete,
};
use serde_json::{Value, json};

const SCENARIOS: [(&str, &str); 5] = [
    ("beam-hover", include_str!("../../../scenarios/beam-hover.json")),
    ("bench-hover", include_str!("../../../scenarios/bench-hover.json")),
    ("breakwater-lookout", include_str!("../../../scenarios/breakwater-lookout.json")),
    ("free-beam-loiter", include_str!("../../../scenarios/free-beam-loiter.json")),
    ("switchyard-sensor", include_str!("../../../scenarios/switchyard-sensor.json")),
];

/// The document with values changed, those that are left out written out first.
fn changed(document: &Document, changes: &[(&str, f64, bool)]) -> Scenario {
    let mut value = complete(&load(document).unwrap().scenario);
    for (pointer, number, whole) in changes {
        let number = if *whole { json!(*number as i64) } else { json!(number) };
        *value.pointer_mut(pointer).unwrap() = number;
    }
    from_value(&value).unwrap()
}

/// The verdict from the beginning, as `point` has it.
fn closes(document: &Document, changes: &[(&str, f64, bool)]) -> bool {
    let scenario = changed(document, changes);
    let Ok(system) = System::new(&scenario) else { return false };
    let Ok(place) = system.place(&scenario.station) else { return false };
    system.operate(&place).is_ok_and(|point| point.feasible)
}

fn is_whole(document: &Document, pointer: &str) -> bool {
    complete(&load(document).unwrap().scenario).pointer(pointer).unwrap().is_u64()
}

fn report(document: &Document) -> RemedyReport {
    remedy(document, &load(document).unwrap(), &|_, _| {}).unwrap()
}

fn broken(text: &str, changes: &[(&str, Value)]) -> Document {
    let mut document = Document::parse(text).unwrap();
    for (pointer, value) in changes {
        document.set(pointer, value.clone()).unwrap();
    }
    document
}

/// One percent back from `value` towards the present one, or one whole thing; not beyond the present one.
fn short_of(lever: &Lever, value: f64, whole: bool) -> f64 {
    let back = if whole { 1.0 } else { 0.01 * value.abs() };
    let short = value - (value - lever.from).signum() * back;
    if (short - lever.from) * (value - lever.from) < 0.0 { lever.from } else { short }
}

fn check_remedies(name: &str, document: &Document) -> RemedyReport {
    let report = report(document);
    assert!(!report.closes && report.drifts.is_empty(), "{name}");
    for remedy in &report.remedies {
        let pointer = remedy.lever.pointer.as_str();
        let whole = is_whole(document, pointer);
        for value in [Some(remedy.closes_at), remedy.other_side].into_iter().flatten() {
            assert!(
                closes(document, &[(pointer, value, whole)]),
                "{name}: {pointer} = {value} does not close"
            );
            let short = short_of(&remedy.lever, value, whole);
            assert!(!closes(document, &[(pointer, short, whole)]), "{name}: {pointer} = {short} closes too");
        }
    }
    if let Some(pair) = &report.pair {
        let (first, second) = (pair.first.pointer.as_str(), pair.second.pointer.as_str());
        let (a, b) = (
            (first, pair.first_closes_at, is_whole(document, first)),
            (second, pair.second_closes_at, is_whole(document, second)),
        );
        assert!(closes(document, &[a, b]), "{name}: {a:?} and {b:?} do not close");
        assert!(
            !closes(document, &[a]) && !closes(document, &[b]),
            "{name}: one of {a:?} and {b:?} is enough"
        );
    }
    report
}

fn text_of(name: &str) -> &'static str {
    SCENARIOS.iter().find(|(known, _)| *known == name).unwrap().1
}

#[test]
fn stated_remedies_turn_the_verdict() {
    let cases: [(&str, &[(&str, Value)]); 5] = [
        ("breakwater-lookout", &[("/payload/mass_kg", json!(2.4))]),
        ("free-beam-loiter", &[("/delivery/free_beam/visibility_km", json!(1.0))]),
        ("free-beam-loiter", &[("/ground/laser/rated_w", json!(400.0))]),
        ("beam-hover", &[("/site/wind/profile/power_law/speed_m_s", json!(25.0))]),
        ("switchyard-sensor", &[("/ground/laser/rated_w", json!(0.5))]),
    ];
    for (name, changes) in cases {
        let found = check_remedies(&format!("{name} with {changes:?}"), &broken(text_of(name), changes));
        assert!(!found.remedies.is_empty(), "{name} with {changes:?}: no remedy at all");
    }
}

#[test]
fn two_broken_limits_need_two_changes() {
    let changes = [("/delivery/fiber/total_length_m", json!(98.0)), ("/payload/mass_kg", json!(1.5))];
    let document = broken(text_of("breakwater-lookout"), &changes);
    let report = check_remedies("breakwater-lookout, twice broken", &document);
    assert!(report.pair.is_some());
    assert!(
        report.remedies.iter().all(|r| r.lever.pointer != changes[0].0 && r.lever.pointer != changes[1].0)
    );
}

/// A motor too weak for a balance hides that the air is too thick for the light: the pair is found through the stage that is
/// missing.
#[test]
fn a_weak_motor_in_haze_needs_two_changes() {
    let changes =
        [("/vehicle/fixed_wing/max_shaft_w", json!(60.0)), ("/delivery/free_beam/visibility_km", json!(1.0))];
    let document = broken(text_of("free-beam-loiter"), &changes);
    let plan = load(&document).unwrap().scenario;
    let system = System::new(&plan).unwrap();
    let point = system.operate(&system.place(&plan.station).unwrap()).unwrap();
    assert!(point.vehicle.is_none(), "{:?}", point.vehicle);
    let report = check_remedies("free-beam-loiter, weak in haze", &document);
    assert!(report.pair.is_some(), "{:?}", report.remedies);
}

#[test]
fn stated_drifts_turn_the_verdict() {
    let mut closing = 0;
    for name in ["bench-hover", "breakwater-lookout", "free-beam-loiter", "switchyard-sensor"] {
        let document = Document::parse(text_of(name)).unwrap();
        if !closes(&document, &[]) {
            check_remedies(name, &document);
            continue;
        }
        closing += 1;
        let report = report(&document);
        assert!(report.closes && report.remedies.is_empty() && report.pair.is_none());
        for drift in &report.drifts {
            let pointer = drift.lever.pointer.as_str();
            let whole = is_whole(&document, pointer);
            for end in [drift.down, drift.up].into_iter().flatten() {
                assert!(
                    closes(&document, &[(pointer, end.closes_to, whole)]),
                    "{name}: {pointer} = {}",
                    end.closes_to
                );
                assert!(
                    !closes(&document, &[(pointer, end.breaks_at, whole)]),
                    "{name}: {pointer} = {}",
                    end.breaks_at
                );
                let gap = (end.breaks_at - end.closes_to).abs();
                assert!(
                    gap <= if whole { 1.0 } else { 0.006 * end.breaks_at.abs() },
                    "{name}: {pointer} {end:?}"
                );
            }
        }
    }
    assert!(closing >= 3, "only {closing} scenarios close");
}
