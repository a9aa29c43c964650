use serde_json::Value;

use super::*;
use crate::load;

fn scenario(name: &str) -> Value {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn report(value: &Value) -> CompareReport {
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap_or_else(|faults| panic!("{faults:?}"));
    compare_report(&document, &loaded, 8.0).unwrap()
}

fn of(report: &CompareReport, kind: Kind) -> &Alternative {
    report.alternatives.iter().find(|a| a.kind == kind).unwrap()
}

#[test]
fn low_and_hungry_is_for_copper_and_it_is_said() {
    let report = report(&scenario("harvest-market"));
    let (copper, fiber) = (of(&report, Kind::Copper), of(&report, Kind::Fiber));
    assert!(copper.feasible && copper.lifted_kg() < fiber.lifted_kg(), "{copper:?} {fiber:?}");
    assert!(copper.wall_w < 0.5 * fiber.wall_w, "copper wastes least");
    let chosen = copper.copper.unwrap();
    assert!(chosen.voltage_v > 100.0 && !chosen.conductor_bound.is_empty());
}

#[test]
fn copper_has_a_height_limit_that_no_fiber_has() {
    let report = report(&scenario("breakwater-lookout"));
    let height = |kind| of(&report, kind).height_limit_m.unwrap();
    assert!(height(Kind::Fiber) > height(Kind::Copper), "{} {}", height(Kind::Fiber), height(Kind::Copper));
    assert!(of(&report, Kind::Copper).height_limited_by.contains("thrust"));
}

#[test]
fn a_battery_alone_ends_and_does_not_win_a_working_day() {
    let report = report(&scenario("breakwater-lookout"));
    let battery = of(&report, Kind::Battery);
    assert!(battery.endurance_min.unwrap() > 5.0 && battery.endurance_min.unwrap() < 120.0);
    assert!(report.map.cells.iter().all(|cell| cell.least_mass != Some(Kind::Battery)));
    assert!(report.map.cells.iter().any(|cell| cell.least_wall == Some(Kind::Copper)));
}

#[test]
fn the_loop_of_mass_and_demand_is_closed() {
    let value = scenario("breakwater-lookout");
    let document = Document::parse(&value.to_string()).unwrap();
    let loaded = load(&document).unwrap();
    let bench = Bench::new(&loaded.scenario).unwrap();
    for kind in Kind::ALL {
        let a = bench.size(kind, 100.0, 25.0).unwrap();
        assert!(a.reason.is_empty(), "{kind:?}: {}", a.reason);
        assert!(a.demand_w > 200.0 && a.demand_w < 3000.0 && a.wall_w > a.demand_w, "{kind:?} {a:?}");
    }
    let light = bench.size(Kind::Fiber, 100.0, 25.0).unwrap();
    let heavy = bench.size(Kind::Fiber, 100.0, 400.0).unwrap();
    assert!(heavy.source_mass_kg > light.source_mass_kg, "a larger receiver for more power");
}

#[test]
fn a_line_that_hangs_straight_is_pulled_by_the_wind_of_every_height() {
    let document = Document::parse(&scenario("breakwater-lookout").to_string()).unwrap();
    let loaded = load(&document).unwrap();
    let system = crate::System::new(&loaded.scenario).unwrap();
    let (height_m, diameter_m) = (100.0, 2e-3);
    let pull_n = super::ways::pull_n(&system.surroundings.mean, height_m, (3.4e-3, diameter_m));
    // The wind of the plan as it stands there: 8 m/s at 100 m, a power of 0.11, from the drum exit at 0.5 m on; half of the drag.
    let (pieces, kinematic_m2_s) = (20_000, 1.48e-5);
    let drag_n: f64 = (0..pieces)
        .map(|i| {
            let z_m = 0.5 + height_m * (f64::from(i) + 0.5) / f64::from(pieces);
            let wind_m_s = 8.0 * (z_m / 100.0).powf(0.11);
            let reynolds = wind_m_s * diameter_m / kinematic_m2_s;
            let coefficient = 1.0 + 10.0 * reynolds.powf(-2.0 / 3.0);
            0.5 * 1.22 * wind_m_s * wind_m_s * coefficient * diameter_m * height_m / f64::from(pieces)
        })
        .sum();
    // Density and viscosity are those of a standard day to a hundredth.
    assert!((pull_n.x / (0.5 * drag_n) - 1.0).abs() < 0.02, "{pull_n:?} {drag_n}");
    assert!((pull_n.z + 3.4e-3 * 105.0 * 9.806_65).abs() < 1e-9);
}

#[test]
fn what_is_not_held_by_rotors_is_refused() {
    let document = Document::parse(&scenario("free-beam-loiter").to_string()).unwrap();
    let loaded = load(&document).unwrap();
    assert!(compare_report(&document, &loaded, 8.0).is_err());
}
