//! How much work the solvers and studies do, counted and not timed: an algorithm that got slower is a test that fails, on any
//! machine. A count may grow by a tenth, since rounding differs between machines; one that fell by more than half is renewed
//! here, so that the gain cannot be lost unseen.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
use beamstay_planner::{
    Document, load,
    region::{RegionQuestion, region},
    remedy::remedy,
    risk::{RiskOptions, risk},
    search::{question, search},
};
use beamstay_tests::{docs::root, models::compute};
use beamstay_tether::{
    Line, NormalDrag, Options, Shape, TensionSolution, solve_for_drum_tension, solve_for_length,
};
use nalgebra::Vector3;
use serde_json::json;

/// Fails where a count is more than a tenth above or more than half below what is pinned; tells all that are.
fn as_much_as(counts: &[(&str, u64, u64)]) {
    let off: Vec<String> = counts
        .iter()
        .filter(|(_, counted, pinned)| 10 * counted > 11 * pinned || 2 * counted < *pinned)
        .map(|(what, counted, pinned)| format!("{what}: {counted}, pinned {pinned}"))
        .collect();
    assert!(off.is_empty(), "{off:#?}");
}

fn breakwater() -> Document {
    Document::parse(&std::fs::read_to_string(root().join("scenarios/breakwater-lookout.json")).unwrap())
        .unwrap()
}

#[test]
fn sweeps_and_flow_evaluations_of_a_shape() {
    // The case of `cargo bench -p beamstay-tether`.
    let law = ProfileShape::PowerLaw { speed_m_s: 8.0, reference_height_m: 10.0, exponent: 0.143 };
    let profile = Profile { veer_deg_per_m: 0.05, floor_height_m: 2.0, ..Profile::new(law).unwrap() };
    let wind = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap();
    let line = Line {
        mass_kg_per_m: 0.006,
        diameter_m: 0.002,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: Some(9e4),
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.02,
    };
    let options = Options::default();
    let (here, beside) = (Vector3::new(40.0, 25.0, 150.0), Vector3::new(40.5, 25.0, 150.0));
    let cold = solve_for_length(&line, &wind, here, 165.0, &options, None).unwrap();
    let neighbour = solve_for_length(&line, &wind, beside, 165.0, &options, None).unwrap();
    let warm = solve_for_length(&line, &wind, here, 165.0, &options, Some(&neighbour)).unwrap();
    let held = solve_for_drum_tension(&line, &wind, here, cold.drum_tension_n(), &options, None).unwrap();
    let TensionSolution::Hangs { shape: held, .. } = held else { panic!("{held:?}") };
    // A slack line in a strong wind, in which the load changes the drum tension twice as much as the length alone.
    let strong = |speed_m_s| {
        let law = ProfileShape::PowerLaw { speed_m_s, reference_height_m: 100.0, exponent: 0.11 };
        AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), Profile::new(law).unwrap()).unwrap()
    };
    let above = Vector3::new(15.0, 0.0, 100.0);
    let slack = |speed_m_s, warm: Option<&Shape>| match solve_for_drum_tension(
        &line,
        &strong(speed_m_s),
        above,
        12.0,
        &options,
        warm,
    )
    .unwrap()
    {
        TensionSolution::Hangs { shape, .. } => shape,
        none => panic!("{none:?}"),
    };
    let windy = slack(15.0, Some(&slack(14.5, None)));
    let sweeps = |shape: &Shape| u64::from(shape.iterations_count());
    let flows = |shape: &Shape| u64::from(shape.flow_evaluations_count());
    as_much_as(&[
        ("length, cold, sweeps", sweeps(&cold), 5),
        ("length, cold, flow evaluations", flows(&cold), 98),
        ("length, warm, sweeps", sweeps(&warm), 3),
        ("length, warm, flow evaluations", flows(&warm), 66),
        ("tension, cold, sweeps", sweeps(&held), 6),
        ("tension, cold, flow evaluations", flows(&held), 120),
        ("tension, strong wind, sweeps", sweeps(&windy), 9),
        ("tension, strong wind, flow evaluations", flows(&windy), 252),
    ]);
}

/// Sweeps and flow evaluations of each reference tether, asked for 1e-6 and for 1e-9.
const REFERENCE_WORK: [(&str, [(u64, u64); 2]); 13] = [
    ("air-01", [(5, 43), (6, 74)]),
    ("air-02", [(6, 48), (8, 94)]),
    ("air-03", [(5, 40), (7, 77)]),
    ("air-04", [(4, 74), (8, 224)]),
    ("air-05", [(5, 95), (10, 331)]),
    ("air-06", [(4, 44), (5, 79)]),
    ("air-07", [(5, 101), (12, 442)]),
    ("air-08", [(4, 64), (6, 154)]),
    ("air-09", [(8, 178), (12, 612)]),
    ("air-10", [(7, 152), (10, 364)]),
    ("air-11", [(10, 237), (23, 983)]),
    ("water-12", [(14, 224), (19, 581)]),
    ("water-13", [(10, 164), (19, 629)]),
];

#[test]
fn sweeps_and_flow_evaluations_of_the_reference_tethers() {
    let mut counts = Vec::new();
    for (id, pinned) in REFERENCE_WORK {
        for (model, (sweeps, flows)) in ["reference", "fine"].into_iter().zip(pinned) {
            for (what, pinned) in [("sweeps", sweeps), ("flow_evaluations", flows)] {
                let output = format!("tether.{model}.{what}");
                let counted = compute(&output, &json!({ "case": id })).unwrap();
                counts.push((format!("{id}, {output}"), counted as u64, pinned));
            }
        }
    }
    let counts: Vec<_> =
        counts.iter().map(|(what, counted, pinned)| (what.as_str(), *counted, *pinned)).collect();
    as_much_as(&counts);
}

#[test]
fn points_of_the_studies() {
    let document = breakwater();
    let loaded = load(&document).unwrap();
    let free = ["/station/height_m=20..150", "/payload/mass_kg=0..4"].map(str::to_owned);
    let two = question(&loaded, "max:/payload/mass_kg*/station/height_m", &free, 1).unwrap();
    let searched = search(&loaded, &two).unwrap();
    let (x, y) = ("/station/height_m=40..120:3", "/payload/mass_kg=0.5..1.5:3");
    let map = RegionQuestion::parse(&loaded, Some(x), Some(y), Some("5,10")).unwrap();
    let mapped = region(&document, &loaded, &map, &|_, _| {}).unwrap();
    let options = RiskOptions { draws_count: 64, samples_count: 16, seed: 1 };
    let risked = risk(&document, &loaded, &options, &|_, _| {}).unwrap();
    let remedied = remedy(&document, &loaded, &|_, _| {}).unwrap();
    as_much_as(&[
        ("search, two free inputs", searched.evaluations_count as u64, 1597),
        ("region, 3 by 3 by 2", mapped.evaluations_count as u64, 453),
        ("risk, 64 draws and 16 samples", risked.evaluations_count, 241),
        ("remedy", remedied.evaluations_count, 10272),
    ]);
}
